"""How far off bars are at a setting and a lean, and what setting them costs; by hand one by one."""

from __future__ import annotations

from math import isnan

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Lever, Levers
from fitprofile.model.parts import Catalogue, Labour
from fitprofile.model.quantity import Reading
from fitprofile.stages.bar_rows import bar_rows
from fitprofile.stages.bar_setting import OVER, Bars, far_of, over_of, worst_of
from fitprofile.stages.bar_setting import Levers as Freed
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.options import options_of
from tests.stages import jobs
from tests.stages.by_force import Combo, Force, score
from tests.stages.shelves import cases

PERCH, ROLL, SLIDE = 10.0, 15.0, 20.0
FREED = st.sampled_from([(), ("brake",), ("clutch",), SIDES])

LABOUR = Labour(perch=Reading(PERCH), roll=Reading(ROLL), clip_slide=Reading(SLIDE))


def bars(job: Job, shop: Catalogue, *, new: bool, freed: Freed, seat: Vec | None = None) -> Bars:
    """All rows of one kind, the bike's own bar or others, under one seat."""
    made = bar_rows(((job, 1.0),), options_of(job.bike, shop, tube_taped=True), shop)
    kept = np.flatnonzero(made.new == new)
    seats = np.array([[float(part) for part in seat or job.points.seat]])
    return Bars(((job, 1.0),), made, kept, 0 * kept, seats, LABOUR, freed=freed)


@given(
    case=cases(),
    share=st.floats(0.0, 1.0),
    lean=st.none() | st.floats(4.0, 20.0),
    new=st.booleans(),
    freed=FREED,
)
def test_misfits_are_those_of_each_bar_by_hand(
    case: tuple[Job, Catalogue], share: float, lean: float | None, new: bool, freed: Freed
) -> None:
    """Against plain Python one bar at a time; a lever that reaches its aim counts as in line."""
    job, shop = case
    some = bars(job, shop, new=new, freed=freed)
    if not len(some.row):
        return
    low, high = some.rows.band
    setting, force = low + share * (high - low), Force(job, shop)
    used = some.own_lean if lean is None else lean
    misfits, _ = some.shown(
        np.full((len(some.row), 1), setting), None if lean is None else np.array([[lean]])
    )
    far, worst = far_of(misfits)[:, 0], worst_of(misfits)[:, 0]
    for index, row in enumerate(some.row):
        riser, bar, clip, extender = some.rows.parts[row]
        slid = bool(some.rows.instead[row] >= 0)
        combo = Combo(riser, clip if job.clip_on else bar, extender, slid=slid)
        expected = force.bar_misfits(combo, setting, used, (), freed)
        del expected["bar_width"]
        assert far[index] == pytest.approx(score(expected), rel=1e-6, abs=1e-6)
        assert worst[index] == pytest.approx(max(map(abs, expected.values())), abs=1e-6)


@given(case=cases(), share=st.floats(0.0, 1.0), freed=FREED)
def test_minutes_count_the_setting_and_each_perch_that_is_out_of_line(
    case: tuple[Job, Catalogue], share: float, freed: Freed
) -> None:
    """Free perches, and pinned ones where their pins are freed; each of those cannot be undone."""
    job, shop = case
    some = bars(job, shop, new=False, freed=freed)
    low, high = some.rows.band
    setting, force = low + share * (high - low), Force(job, shop)
    made = some.at(np.full(len(some.row), setting), np.full(len(some.row), some.own_lean))
    for index, row in enumerate(some.row):
        riser, _, _, extender = some.rows.parts[row]
        combo = Combo(riser, None, extender, slid=bool(some.rows.instead[row] >= 0))
        carried = force.bar_misfits(combo, setting, some.own_lean, SIDES, freed)
        minutes, pins = (SLIDE if job.clip_on else ROLL) if setting else 0.0, 0
        for side in SIDES:
            lever = getattr(job.bike.levers, side)
            out = abs(carried[f"lever_angle.{side}"]) > 1.0
            if out and (side in freed or lever.perch == "free"):
                minutes += PERCH
                pins += lever.perch == "pinned"
        assert (made.minutes[index], made.undo[index]) == (minutes, pins)


@given(case=cases(), freed=FREED)
def test_a_new_bar_is_set_without_extra_minutes_and_frees_every_pinned_perch(
    case: tuple[Job, Catalogue], freed: Freed
) -> None:
    job, shop = case
    some = bars(job, shop, new=True, freed=freed)
    made = some.at(np.full(len(some.row), 2.0), np.full(len(some.row), some.own_lean))
    pinned = sum(getattr(job.bike.levers, side).perch == "pinned" for side in SIDES)
    assert not made.minutes.any()
    assert np.all(made.undo == pinned)


def test_levers_that_are_held_stay_as_the_bar_carries_them() -> None:
    """A free perch 6 degrees off and held misses by 2 tolerances; let go it is in line."""
    job = jobs.job(lever=float(jobs.WISH.forearm_angle_deg) + 6.0)
    some = bars(job, Catalogue(), new=False, freed=())
    at = np.zeros((1, 1))
    assert worst_of(some.shown(at, None)[0])[0, 0] == pytest.approx(0.0, abs=1e-9)
    held = some.some(np.array([0]), np.array([[True, False]]))
    assert worst_of(held.shown(at, None)[0])[0, 0] == pytest.approx(2.0, abs=1e-9)


def test_groups_are_of_levers_that_can_be_turned() -> None:
    """Both, one where the other is pinned, both again once pins are freed, none on a new bar."""
    free, pinned = Lever(perch="free"), Lever(perch="pinned")
    job = jobs.job(levers=Levers(brake=pinned, clutch=free))
    both = jobs.job()
    shop = Catalogue()
    none, brake, clutch, two = (False, False), (True, False), (False, True), (True, True)

    def groups(one: Job, *, freed: Freed) -> list[tuple[bool, ...]]:
        made = bars(one, shop, new=False, freed=freed).groups()
        return [tuple(bool(held) for held in group) for group in made]

    assert groups(both, freed=())[0] == none
    assert set(groups(both, freed=())) == {none, brake, clutch, two}
    assert groups(job, freed=()) == [none, clutch]
    assert len(groups(job, freed=SIDES)) == 4
    bare = evolve(job, bike=evolve(job.bike, levers=Levers()))
    assert groups(bare, freed=SIDES) == [none]


def test_a_perch_that_cannot_turn_the_way_it_should_takes_no_minutes() -> None:
    """The blade is to be lifted, the band only lowers it: nothing to turn."""
    forearm = float(jobs.WISH.forearm_angle_deg)
    lowers = Lever(perch="free", rotation=(-10.0, 0.0))
    for reading, minutes in ((forearm + 6.0, 0.0), (forearm - 6.0, 2.0 * PERCH)):
        job = jobs.job(lever=reading, levers=Levers(brake=lowers, clutch=lowers))
        some = bars(job, Catalogue(), new=False, freed=())
        assert some.at(np.zeros(1), np.full(1, some.own_lean)).minutes[0] == minutes


@given(far=st.floats(0.0, 20.0), inside=st.floats(0.0, 1.0), outside=st.floats(1.001, 50.0))
def test_outside_always_costs_more_than_inside(far: float, inside: float, outside: float) -> None:
    """However near to the wish it is otherwise: up to eight numbers inside score eight."""
    best, worst = over_of(np.array([far, 0.0]), np.array([inside, outside]))
    assert best == far < worst
    assert worst >= OVER
    assert over_of(np.array(1.0), np.array(INSIDE)) == 1.0


def test_a_lever_that_was_not_read_has_no_say() -> None:
    job = jobs.job()
    unread = evolve(
        job, now=evolve(job.now, lever_angle_deg=evolve(job.now.lever_angle_deg, brake=np.nan))
    )
    some = bars(unread, Catalogue(), new=False, freed=())
    assert isnan(unread.now.lever_angle_deg.brake)
    assert some.groups().tolist() == [[False, False], [False, True]]
    assert np.isfinite(some.far(np.zeros((1, 1)))).all()
