"""Perches, reservoirs and levers at full pull, by hand and against rotation matrices."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Handlebar, Lever, Levers
from fitprofile.model.parts import LeverSet
from fitprofile.model.quantity import Reading
from fitprofile.stages import moves
from fitprofile.stages.hand_levers import lever_checks, tilt
from fitprofile.stages.job import Job
from fitprofile.stages.plan import Choice
from fitprofile.stages.posture import Sides
from fitprofile.stages.survey import BikePoints
from tests.stages import plans
from tests.stages.test_controls import bar


def bike(lever: float | None = None, clutch: Lever | None = None, **brake: Any) -> Job:
    return plans.job(
        lever=lever,
        levers=Levers(brake=Lever(**brake), clutch=clutch),
        handlebar=Handlebar(bar_diameter=Reading(22.2), roll=(-8.0, 8.0)),
    )


def straight(one: Job) -> BikePoints:
    """Level grips straight out, so that a turn is the change of the reading."""
    end = one.points.grip_end
    return evolve(one.points, grip_inner=Vec(end.x, 255.0, end.z))


def off_line(by: float, **brake: Any) -> Job:
    """A lever that reads so many degrees steeper than the forearm, on level straight grips."""
    one = bike(**brake)
    one = evolve(one, points=straight(one))
    forearm = plans.plan(one).after.forearm_angle_deg
    return evolve(one, now=evolve(one.now, lever_angle_deg=Sides(forearm + by, np.nan)))


def test_a_pinned_perch_says_its_slot_and_which_way_round() -> None:
    """10 degrees on a 22.2 mm bar: 11.1 x 0.174533 = 1.937 mm, and a 4 mm pin; the blade goes up,
    so the top goes toward the rider; the pin's hole grows the other way round."""
    one = off_line(10.0, perch="pinned", pin=Reading(4.0))
    check = plans.only(lever_checks(one, plans.plan(one)), "perch.brake")
    assert (check.ok, check.unit, check.limit) == (False, "deg", 3.0)
    assert check.value == pytest.approx(10.0, abs=1e-6)
    assert (
        "turn 10 degrees, top toward the rider (clockwise seen from the bike's left)" in check.why
    )
    assert (
        "to 5.9 mm, top away from the rider (anticlockwise seen from the bike's left)" in check.why
    )
    assert "the housing's before the bar's, and never slot the bar tube" in check.why
    assert "no room to roll so far" in check.why
    steep = off_line(-10.0, perch="pinned", pin=Reading(4.0))
    why = plans.only(lever_checks(steep, plans.plan(steep)), "perch.brake").why
    assert "turn 10 degrees, top away from the rider" in why


def test_a_turn_that_lifts_the_blade_carries_the_top_toward_the_rider() -> None:
    """The words against a rotation: blade ahead of the bar, seen from the left (x to the left)."""
    edge = moves.rotate_lever(Vec(0.0, 1.0, 0.0), Vec(1.0, 0.0, 0.0), 10.0)
    top = moves.rotate_lever(Vec(0.0, 1.0, 0.0), Vec(0.0, 0.0, 1.0), 10.0)
    assert edge.z > 0.0
    assert top.x < 0.0
    rolled = moves.roll_bar(_bar_with_a_top(), 10.0)
    assert rolled.grip_end.x < 0.0


def _bar_with_a_top() -> BikePoints:
    zero = Vec(0.0, 0.0, 0.0)
    return BikePoints(seat=zero, peg=zero, clamp=zero, grip_end=Vec(0.0, 1.0, 1.0), grip_inner=zero)


def test_rolling_the_bar_gives_the_same_turn() -> None:
    """The reading falls by exactly the roll, and the words say where the grips go, by numpy."""
    one = off_line(6.0, perch="pinned")
    plan = plans.plan(one)
    check = plans.only(lever_checks(one, plan), "perch.brake")
    arm = plans.array(one.points.grip_end) - plans.array(one.points.clamp)
    c, s = np.cos(np.radians(6.0)), np.sin(np.radians(6.0))
    ahead, up = c * arm[0] - s * arm[2] - arm[0], s * arm[0] + c * arm[2] - arm[2]
    assert (
        f"carries the grip ends {abs(ahead):.0f} mm {'ahead' if ahead > 0 else 'back'}" in check.why
    )
    assert f"and {abs(up):.0f} mm {'up' if up > 0 else 'down'}" in check.why
    assert "no room" not in check.why
    done = plans.plan(one, moves.roll_bar(one.points, check.value), roll_deg=check.value)
    shown = float(done.after.lever_angle_deg.brake)
    assert shown == pytest.approx(float(plan.after.forearm_angle_deg), abs=1e-6)


def test_a_pinned_perch_in_line_stays_and_a_turned_one_does_not() -> None:
    """Inside the tolerance the pin stays; a plan that turns it anyway frees it."""
    one = off_line(2.0, perch="pinned")
    assert plans.only(lever_checks(one, plans.plan(one)), "perch.brake").ok is True
    turned = plans.plan(one, lever_rotation_deg=Sides(2.0, np.nan))
    check = plans.only(lever_checks(one, turned), "perch.brake")
    assert check.ok is False
    assert check.value == pytest.approx(2.0, abs=1e-6)


def test_a_new_bar_has_no_hole_for_a_pin() -> None:
    """Somebody has to look; a free perch is just set by straightedge."""
    for perch, there in (("pinned", True), ("free", False)):
        one = bike(perch=perch)
        plan = plans.plan(one, choice=Choice(bar=bar()), lever_rotation_deg=Sides(np.nan, np.nan))
        found = [c for c in lever_checks(one, plan) if c.what == "perch.brake"]
        assert bool(found) is there
        assert all(c.ok is None for c in found)


@pytest.mark.parametrize(
    ("turn", "room", "ok"),
    [
        (9.0, (-10.0, 10.0), True),
        (11.0, (-10.0, 10.0), False),
        (-11.0, (-10.0, 10.0), False),
        (-9.0, (-10.0, 10.0), True),
        (5.0, None, None),
        (0.0, None, True),
    ],
)
def test_a_free_perch_has_its_room(
    turn: float, room: tuple[float, float] | None, ok: bool | None
) -> None:
    """Its band where one was given, an eye where none was."""
    one = bike(rotation=room)
    plan = plans.plan(one, lever_rotation_deg=Sides(turn, np.nan))
    check = plans.only(lever_checks(one, plan), "perch.brake")
    assert check.ok is ok
    assert check.value == turn


@given(
    before=st.floats(-10.0, 45.0),
    roll=st.floats(-15.0, 15.0),
    turn=st.floats(-20.0, 20.0),
    width=st.floats(-30.0, 30.0),
)
def test_the_reservoir_tips_as_scipy_turns_it(
    before: float, roll: float, turn: float, width: float
) -> None:
    """Roll about the left axis, then a turn about the grip, carried out on the cap's own normal."""
    one = bike(lever=before)
    end = moves.roll_bar(moves.slide_grips(one.points, width), roll)
    plan = plans.plan(one, end, roll_deg=roll, lever_rotation_deg=Sides(turn, np.nan))
    rolled = Rotation.from_euler("y", -roll, degrees=True)
    grip = plans.array(end.grip_end) - plans.array(end.grip_inner)
    turned = Rotation.from_rotvec(-turn * grip / np.linalg.norm(grip), degrees=True)
    cap = (turned * rolled).apply([0.0, 0.0, 1.0])
    expected = float(np.degrees(np.arctan2(np.hypot(cap[0], cap[1]), cap[2])))
    check = plans.only(lever_checks(one, plan), "reservoir.brake")
    assert check.value == pytest.approx(expected, abs=1e-6)


def test_the_reservoir_has_its_limit() -> None:
    """12 degrees where nothing was said; the clutch's only where one was given."""
    one = bike(perch="free")
    check = plans.only(lever_checks(one, plans.plan(one)), "reservoir.brake")
    assert (check.limit, check.ok) == (12.0, True)
    assert check.value == pytest.approx(0.0, abs=1e-9)
    one = bike(cap_limit=Reading(8.0), clutch=Lever(cap_limit=Reading(20.0)))
    found = lever_checks(one, plans.plan(one))
    assert plans.only(found, "reservoir.brake").limit == 8.0
    assert plans.only(found, "reservoir.clutch").limit == 20.0
    one = bike(lever=float("nan"))
    assert plans.only(lever_checks(one, plans.plan(one)), "reservoir.brake").ok is None


def test_tilting_the_grip_tips_the_reservoir_sideways() -> None:
    """The same lever slope, grips 10 degrees up at the outer end: 10 degrees; by hand."""
    start = straight(bike())
    length = 120.0
    inner = start.grip_inner
    up = evolve(
        start,
        grip_end=Vec(
            inner.x,
            inner.y + length * np.cos(np.radians(10.0)),
            inner.z + length * np.sin(np.radians(10.0)),
        ),
    )
    assert tilt(start, 0.0, up, 0.0) == pytest.approx(10.0, abs=1e-9)


@pytest.mark.parametrize(("reach", "pull", "ok"), [(60.0, 39.0, True), (60.0, 41.0, False)])
def test_a_pulled_lever_leaves_room_for_a_finger(reach: float, pull: float, ok: bool) -> None:
    """60 less 39 is 21, more than 18 for a gloved finger and 2 of air; 60 less 41 is not."""
    one = bike(pull=Reading(pull))
    one = evolve(one, now=evolve(one.now, lever_reach_mm=Sides(reach, np.nan)))
    check = plans.only(lever_checks(one, plans.plan(one)), "lever.brake")
    assert (check.value, check.limit, check.ok) == (reach - pull, 20.0, ok)


def test_without_a_pull_somebody_has_to_pull_it() -> None:
    """Nothing is guessed."""
    one = bike()
    check = plans.only(lever_checks(one, plans.plan(one)), "lever.brake")
    assert check.ok is None
    assert "pull it fully and look" in check.why


def test_free_play_is_looked_at_where_something_changed() -> None:
    """A turned adjuster, a new lever, or a bar that moved."""
    one = bike()
    key = "lever.brake.free_play"
    assert key not in [c.what for c in lever_checks(one, plans.plan(one))]
    levers = LeverSet(name="invented", reach_range=(50.0, 80.0), side="brake")
    for plan in (
        plans.plan(one, lever_reach_change_mm=Sides(-4.0, np.nan)),
        plans.plan(one, plans.risen(one, 10.0, 0.0)),
        plans.plan(one, choice=Choice(lever_sets=(levers,))),
    ):
        assert plans.only(lever_checks(one, plan), key).ok is None


def test_a_bike_without_levers_is_not_asked_about_them() -> None:
    """No lever, no check."""
    one = plans.job(levers=Levers())
    assert lever_checks(one, plans.plan(one)) == ()


def test_a_pinned_perch_is_asked_to_follow_its_own_arm() -> None:
    """Level with the mean of both arms, while its own is wished 7 degrees steeper."""
    one = off_line(0.0, perch="pinned", pin=Reading(4.0))
    mean = float(one.target.forearm_angle_deg)
    apart = evolve(one, target=evolve(one.target, lever_angle_deg=Sides(mean + 7.0, mean - 7.0)))
    check = plans.only(lever_checks(apart, plans.plan(apart)), "perch.brake")
    assert check.value == pytest.approx(7.0, abs=1e-6)
    assert not check.ok
    assert "top away from the rider" in check.why
