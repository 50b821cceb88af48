"""What of a plan can be tried without its parts, each with the figure a tape shows."""

from __future__ import annotations

from math import cos, radians, sin
from typing import Any

import pytest
from attrs import evolve

from fitprofile.model.parts import LeverSet
from fitprofile.report.shopping import Chosen, choose
from fitprofile.report.trials import Trial, trials
from fitprofile.stages.posture import Sides
from tests.report import samples
from tests.report.cards import SPORT, TWIN, planned


def chosen(bike: object = TWIN, *, tall: bool = False, plan: str | None = None) -> Chosen:
    return choose(planned(bike, tall=tall), plan)  # type: ignore[arg-type]


def plain(told: str) -> str:
    return told.replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-")


def trial(one: Chosen, what: str) -> Trial:
    return next(found for found in trials(one) if found.what == what)


def test_packers_are_as_high_as_the_riser() -> None:
    """Block 20: 20 mm along the steering axis and 10 back, seen at the clamp by the bike's rake."""
    one = chosen(samples.GOOD, tall=True, plan="closest")
    found = trial(one, "Bar clamp")
    assert plain(found.how) == (
        "stack packers 20 mm high, square to the steering axis, bar held 10 mm toward the rider"
    )
    rake = radians(25.0)
    assert found.end - found.start == pytest.approx(20.0 * cos(rake) - 10.0 * sin(rake), abs=0.05)


def test_a_seat_is_packed_and_a_new_bar_is_a_rod() -> None:
    """Each with the figure that a tape shows before and after."""
    seat = trial(chosen(samples.GOOD, tall=True, plan="closest"), "Seat")
    assert "20 mm up when sat upon" in plain(seat.how)
    assert seat.end - seat.start == pytest.approx(20.0)
    one = chosen()
    ends = trial(one, "Grip ends")
    assert "straight rod" in ends.how
    assert ends.end == pytest.approx(float(one.plan.points.grip_end.z))
    width = trials(one)[2]
    assert (round(width.start), round(width.end)) == (742, 800)


def test_grips_that_go_inward_are_only_marked() -> None:
    """Nothing is cut for a trial."""
    grips = trial(chosen(samples.GOOD, tall=True, plan="closest"), "Grips")
    assert plain(grips.how).startswith("tape round the bar 53 mm in on each side")


def changed(**fields: Any) -> Chosen:
    """The good bike's free plan with other figures."""
    one = chosen(samples.GOOD, plan="free")
    return evolve(one, offer=evolve(one.offer, plan=evolve(one.plan, **fields)))


def test_ways_down_and_settings_have_their_words() -> None:
    """Lower pegs are blocks, a lower seat cannot be packed, a riser comes out."""
    low = changed(
        seat_move_mm=(-10.0, -15.0),
        peg_move_mm=(20.0, -12.0),
        riser_move_mm=(-25.0, 0.0),
        roll_deg=-6.0,
    )
    how = {one.what: plain(one.how) for one in trials(low) if one.what}
    assert how["Seat"].startswith("sit point 15 mm down and 10 mm back: cannot be packed")
    assert how["Pegs"].startswith("feet on blocks at the new place, 12 mm down and 20 mm ahead")
    assert how["Bar clamp"] == "25 mm lower: take packers or the riser out"
    assert how["Bar roll"] == "6°, its top away from the rider"
    back = trial(changed(riser_move_mm=(0.0, 15.0)), "Bar clamp")
    assert plain(back.how) == "bar held 15 mm toward the rider on longer studs"


def test_levers_that_are_bought_are_judged_at_full_pull() -> None:
    """Each side that the set has, though nothing of it can be mocked up; the other by its click."""
    plan = chosen(samples.GOOD, plan="free").plan
    short = LeverSet(name="Short", side="brake", reach_range=(40.0, 60.0))
    one = changed(
        choice=evolve(plan.choice, lever_sets=(short,)), lever_reach_change_mm=Sides(0.0, -8.0)
    )
    told = {made.what: made for made in trials(one)}
    assert "at full pull it meets neither grip nor finger" in told["Brake lever"].how
    assert told["Brake lever"].seen == "lever reach"
    assert told["Clutch reach"].how == "by its adjuster; count the clicks"


def test_a_perch_is_turned_from_where_the_roll_left_it() -> None:
    """3 degrees of roll lower the reading by 3."""
    one = changed(roll_deg=3.0, lever_rotation_deg=Sides(-5.0, 0.0))
    found = float(one.transfer.now.lever_angle_deg.brake)
    assert trial(one, "Brake perch").start == pytest.approx(found - 3.0)


def test_clip_ons_slide_for_the_trial() -> None:
    """As far as the free plan says."""
    one = chosen(SPORT, plan="free")
    slide = trial(one, "Clip-ons")
    assert plain(slide.how) == f"{round(one.plan.clip_slide_mm)} mm up the tubes"
