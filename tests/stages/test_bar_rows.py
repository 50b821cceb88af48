"""Every bar of a bike as a row: places and costs against the same bars made one at a time."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Allows, Fitted, Handlebar
from fitprofile.model.parts import Bar, Catalogue, Extender, Labour, Riser
from fitprofile.model.quantity import Reading
from fitprofile.stages.bar_rows import (
    ROOM_TO_ROLL,
    ROOM_TO_SLIDE,
    BarRows,
    bar_rows,
    set_to,
    setting_band,
)
from fitprofile.stages.job import Job
from fitprofile.stages.options import options_of
from tests import by_hand
from tests.stages import jobs
from tests.stages.by_force import SLIDE_SEEN, Combo, Force, nearer, slide_of
from tests.stages.shelves import cases
from tests.stages.taped import TRUE

R = Reading
SHOP = Catalogue(labour=Labour(slide=R(20.0)))


def rows(job: Job, shop: Catalogue) -> BarRows:
    return bar_rows(((job, 1.0),), options_of(job.bike, shop, tube_taped=True), shop)


def at(made: BarRows, points: Any, row: int) -> list[float]:
    """One point of one row."""
    return [float(np.broadcast_to(part, len(made.new))[row]) for part in points]


@given(case=cases(), setting=st.floats(-5.0, 5.0))
def test_every_row_stands_where_the_same_parts_put_it_one_at_a_time(
    case: tuple[Job, Catalogue], setting: float
) -> None:
    """Places against `by_force`, which turns and leans drawings by scipy; costs by addition."""
    job, shop = case
    made, force = rows(job, shop), Force(job, shop)
    moved = set_to(job, made.points, setting)
    for row, (riser, bar, clip, extender) in enumerate(made.parts):
        head = clip if job.clip_on else bar
        slid = bool(made.instead[row] >= 0)
        combo = Combo(riser, head, extender, slid=slid)
        placed = force.placed(combo, setting)
        for name in ("grip_end", "grip_inner", "clamp"):
            assert at(made, getattr(moved, name), row) == pytest.approx(placed[name], abs=1e-7)
        slide = slide_of(job, force.placed_head(head), force.was, head, extender, slid=slid)
        assert made.slide_mm[row] == pytest.approx(slide, abs=1e-9)
        parts = [part for part in (riser, head, extender) if part is not None]
        shifted = head is None and extender is None and abs(slide) > SLIDE_SEEN
        minutes = sum(part.minutes.value for part in parts)
        minutes += shop.labour.slide.value if shifted else 0.0
        assert made.price[row] == pytest.approx(sum(part.price.value for part in parts))
        assert made.minutes[row] == pytest.approx(minutes)
        assert made.pieces[row] == len(parts)
        assert made.new[row] == (head is not None)
        assert made.own[row] == (not parts)
        off = (2.0 * placed["grip_end"][1] - float(job.target.bar_width_mm)) / 10.0
        assert made.width[row] == pytest.approx(off, abs=1e-9)


@given(case=cases())
def test_the_rows_are_every_combination_once_and_what_is_on_the_bike_first(
    case: tuple[Job, Catalogue],
) -> None:
    """But for extenders that bring the width no nearer; those that stand in for others last."""
    job, shop = case
    made, force = rows(job, shop), Force(job, shop)
    assert made.parts[0] == (None, None, None, None)
    heads = shop.clip_ons if job.clip_on else shop.bars
    expected = [
        (riser, head, extender)
        for riser in (None, *shop.risers)
        for head in (None, *heads)
        for extender in (None, *shop.extenders)
        if extender is None or nearer(force, Combo(riser, head, extender))
    ]
    found = [(riser, clip if job.clip_on else bar, ends) for riser, bar, clip, ends in made.parts]
    first = [one for one, instead in zip(found, made.instead, strict=True) if instead < 0]
    assert sorted(map(repr, first)) == sorted(map(repr, expected))
    for row in np.flatnonzero(made.instead >= 0).tolist():
        other = int(made.instead[row])
        assert made.parts[row] == made.parts[other]
        assert made.slide_mm[other] == 0.0
        assert abs(made.slide_mm[row]) > SLIDE_SEEN
        assert abs(made.width[row]) < abs(made.width[other])
        assert row >= len(first)


def one_bar(**more: Any) -> Bar:
    figures = {"width": 760.0, "rise": 60.0, "pullback": 90.0, "backsweep": 0.0, **more}
    read: dict[str, Any] = {name: R(value) for name, value in figures.items()}
    return Bar(name="Bar", clamp_diameter=R(28.6), **read)


def wide_job(width: float, **more: Any) -> Job:
    """Grips straight out, ends at this width; 750 is wished."""
    points = dict(TRUE)
    for name, half in (("grip_end", 0.5 * width), ("grip_inner", 0.5 * width - 120.0)):
        points[name] = (900.0, half, 1030.0)
    return jobs.job(points, **more)


def test_grips_inside_the_tolerance_are_left_where_they_are() -> None:
    assert rows(wide_job(758.0), SHOP).slide_mm[0] == 0.0
    assert rows(wide_job(762.0), SHOP).slide_mm[0] == pytest.approx(-6.0)


def test_a_bar_is_cut_but_never_grows_without_an_extender_or_room_on_it() -> None:
    """Half of 30 mm is missing on each side: 0 without room, 10 to the widest the bike takes."""
    assert rows(wide_job(720.0), SHOP).slide_mm[0] == 0.0
    room = wide_job(720.0, allows=Allows(bar_width=(650.0, 740.0)))
    assert rows(room, SHOP).slide_mm[0] == pytest.approx(10.0)
    ends = evolve(SHOP, extenders=(Extender(name="12", length=R(12.0)),))
    made = rows(wide_job(720.0), ends)
    assert made.slide_mm.tolist() == pytest.approx([0.0, 12.0])
    assert made.width.tolist() == pytest.approx([-3.0, -0.6])
    assert made.undo.tolist() == [0.0, 0.0]
    assert rows(wide_job(800.0), SHOP).undo.tolist() == [1.0]


def test_an_extender_that_would_be_cut_off_again_is_no_row() -> None:
    ends = evolve(SHOP, extenders=(Extender(name="12", length=R(12.0)),))
    for width, names in ((754.0, [None, None]), (746.0, [None, "12"])):
        made = rows(wide_job(width), ends)
        assert [parts[3] and parts[3].name for parts in made.parts] == names


def test_an_extender_in_place_of_a_fitted_one_counts_by_what_it_is_longer() -> None:
    """10 mm are on already: the one of 25 takes each grip out by 15."""
    ends = tuple(Extender(name=f"{size}", length=R(float(size))) for size in (10, 25))
    shop = evolve(SHOP, extenders=ends)
    job = wide_job(700.0, fitted=Fitted(extender="10"))
    made = rows(job, shop)
    assert [parts[3].name for parts in made.parts if parts[3] is not None] == ["25"]
    assert made.slide_mm.tolist() == pytest.approx([0.0, 15.0])


def test_a_new_bar_is_cut_to_what_the_bike_takes() -> None:
    """820 wide, of which the bike takes 755: the grips come in to the wish, not to the limit."""
    shop = evolve(SHOP, bars=(one_bar(width=820.0),))
    job = wide_job(750.0, allows=Allows(bar_width=(650.0, 755.0)))
    made = rows(job, shop)
    assert made.slide_mm.tolist() == pytest.approx([0.0, -35.0])
    assert made.undo.tolist() == [0.0, 1.0]


def test_pins_of_the_housing_are_freed_for_a_new_bar_and_for_moved_grips() -> None:
    """A new bar 755 wide needs no cut, and may be; the old one 800 wide does; all have a pin."""
    shop = evolve(SHOP, bars=(one_bar(width=755.0),))
    made = rows(wide_job(800.0, handlebar=Handlebar(pins=True)), shop)
    assert made.undo.tolist() == [2.0, 1.0, 2.0]


def test_the_band_of_the_setting_is_the_bike_s_or_a_stated_one() -> None:
    assert setting_band(jobs.job()) == ROOM_TO_ROLL
    assert setting_band(jobs.job(handlebar=Handlebar(roll=(-4.0, 6.0)))) == (-4.0, 6.0)
    assert setting_band(jobs.job(clip_on=True)) == ROOM_TO_SLIDE
    held = jobs.job(clip_on=True, allows=Allows(clip_slide=(-5.0, 5.0)))
    assert setting_band(held) == (-5.0, 5.0)


def test_a_riser_s_bar_turns_about_the_clamp_where_the_riser_put_it() -> None:
    """Rake 25: 30 up the axis; rolled by 10 degrees about there, by the turn of `by_hand`."""
    riser = Riser(name="Riser", height=R(30.0))
    made = rows(jobs.job(), evolve(SHOP, risers=(riser,)))
    moved = set_to(jobs.job(), made.points, 10.0)
    expected = by_hand.changed(TRUE, {"riser_height_mm": 30.0, "bar_roll_deg": 10.0}, 25.0)
    assert at(made, moved.grip_end, 1) == pytest.approx(expected["grip_end"], abs=1e-9)
    assert at(made, Vec(*moved.clamp), 1) == pytest.approx(expected["clamp"], abs=1e-9)
