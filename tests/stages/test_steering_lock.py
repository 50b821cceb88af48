"""Fists, bar ends and thumbs at lock, against a sweep with scipy's rotations on both sides."""

from __future__ import annotations

import math

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Steering
from fitprofile.model.quantity import Reading
from fitprofile.stages.job import Job
from fitprofile.stages.steering_lock import BAR_END, GLOVE, lock_checks
from tests.stages import plans
from tests.stages.plans import BODY

SHOULDER = plans.obstacle("tank, left shoulder", 760.0, 130.0, 960.0)
SCREEN = plans.obstacle("screen bracket", 1130.0, 290.0, 1090.0)
BREADTH = BODY.measurements["hand_breadth"].value


def bike(lock: float | None = 35.0, **more: object) -> Job:
    taped = None if lock is None else Reading(lock)
    given_more = {"obstacles": (SHOULDER, SCREEN), **more}
    return plans.job(steering=Steering(lock=taped), **given_more)


def swept(one: Job, point: Vec, thing: tuple[float, float, float], lock: float) -> float:
    """Nearest of either hand's point to a thing on either side, 2,001 turns, by scipy; mm."""
    rake = np.radians(one.rake)
    turns = np.linspace(-lock, lock, 2001)
    axis = np.array([-np.sin(rake), 0.0, np.cos(rake)])
    by_scipy = Rotation.from_rotvec(np.outer(turns, axis), degrees=True)
    clamp = plans.array(one.points.clamp)
    nearest = math.inf
    for hand in (1.0, -1.0):
        for side in (1.0, -1.0):
            own = by_scipy.apply(plans.array(point) * [1.0, hand, 1.0] - clamp) + clamp
            off = own - np.array(thing) * [1.0, side, 1.0]
            nearest = min(nearest, float(np.linalg.norm(off, axis=1).min()))
    return nearest


@given(
    lock=st.floats(0.0, 60.0),
    ahead=st.floats(600.0, 1300.0),
    offset=st.floats(0.0, 350.0),
    height=st.floats(800.0, 1200.0),
    up=st.floats(-60.0, 60.0),
    back=st.floats(-60.0, 60.0),
)
def test_the_nearest_of_the_whole_swing_is_the_figure(
    lock: float, ahead: float, offset: float, height: float, up: float, back: float
) -> None:
    """Fist and bar end, both hands, both sides, to 0.01 mm; the axis stays when the bar rises."""
    one = bike(lock, obstacles=(plans.obstacle("horn", ahead, offset, height),))
    plan = plans.plan(one, plans.risen(one, up, back))
    found = lock_checks(one, BODY, plan)
    p = plan.points
    fist = Vec(*(0.5 * (plans.array(p.grip_end) + plans.array(p.grip_inner))))
    for what, point, radius in (
        ("lock.fist.horn", fist, 0.5 * BREADTH + GLOVE),
        ("lock.bar_end.horn", p.grip_end, BAR_END),
    ):
        expected = swept(one, point, (ahead, offset, height), lock) - radius
        assert plans.only(found, what).value == pytest.approx(expected, abs=0.02)


def test_thumbs_lie_behind_the_grip_s_inner_end() -> None:
    """A level grip straight out: 30 mm toward the rider, 14 mm thick, by hand."""
    one = bike(1e-9, obstacles=(plans.obstacle("tank", 800.0, 255.0, 1025.0),))
    level = evolve(one.points, grip_end=Vec(931.0, 375.0, 1025.0))
    found = lock_checks(one, BODY, plans.plan(one, level))
    assert plans.only(found, "thumb.tank").value == pytest.approx(131.0 - 30.0 - 14.0, abs=1e-6)


@given(first=st.floats(5.0, 80.0), second=st.floats(5.0, 80.0))
def test_more_lock_never_leaves_more_room(first: float, second: float) -> None:
    """The wider swing holds the narrower one."""
    narrow, wide = (
        lock_checks(bike(lock), BODY, plans.plan(bike(lock))) for lock in sorted((first, second))
    )
    for a, b in zip(narrow, wide, strict=True):
        assert a.what == b.what
        assert b.value <= a.value + 1e-9


@given(side=st.sampled_from([1.0, -1.0]), offset=st.floats(0.0, 300.0))
def test_left_and_right_are_mirror_images(side: float, offset: float) -> None:
    """An obstacle taped on the other side leaves just as much room."""
    values = []
    for sign in (1.0, side):
        one = bike(obstacles=(plans.obstacle("horn", 1100.0, sign * offset, 1000.0),))
        values.append([c.value for c in lock_checks(one, BODY, plans.plan(one))])
    assert values[0] == pytest.approx(values[1], abs=1e-9)


def test_an_unchanged_bike_shows_what_it_had() -> None:
    """Its own room, and the sentence says the same figure as found."""
    one = bike()
    for check in lock_checks(one, BODY, plans.plan(one)):
        assert f"as found it was {check.value:.0f} mm" in check.why


def test_less_than_20_mm_is_too_little() -> None:
    """A thing 19 mm from the fist fails, one 21 mm away does not."""
    for gap, ok in ((19.0, False), (21.0, True)):
        one = bike(1e-9)
        fist = 0.5 * (plans.array(one.points.grip_end) + plans.array(one.points.grip_inner))
        height = float(fist[2]) + 0.5 * BREADTH + GLOVE + gap
        one = bike(1e-9, obstacles=(plans.obstacle("horn", fist[0], fist[1], height),))
        check = plans.only(lock_checks(one, BODY, plans.plan(one)), "lock.fist.horn")
        assert (check.ok, check.limit, check.least) == (ok, 20.0, True)
        assert check.value == pytest.approx(gap, abs=1e-6)


def test_without_a_lock_only_what_is_far_away_is_judged() -> None:
    """35 degrees are assumed and said; what clears 50 as well is fine."""
    one = bike(None, obstacles=(SHOULDER, plans.obstacle("lamp", 1300.0, 0.0, 700.0)))
    found = lock_checks(one, BODY, plans.plan(one))
    assert plans.only(found, "lock.fist.lamp").ok is True
    near = plans.only(found, "thumb.tank, left shoulder")
    assert near.ok is None
    assert "the lock was not taped and is taken as 35 degrees" in near.why


def test_the_middle_of_the_tank_says_nothing_of_its_sides() -> None:
    """Room enough to the mid-plane point is not judged until a side was taped; too little is."""
    tank = {"tank": Vec(750.0, 0.0, 950.0)}
    one = bike(obstacles=(), others=tank)
    check = plans.only(lock_checks(one, BODY, plans.plan(one)), "lock.fist.tank")
    assert (check.ok, check.value > 20.0) == (None, True)
    assert "tape the tank's side" in check.why
    one = bike(others=tank)
    assert plans.only(lock_checks(one, BODY, plans.plan(one)), "lock.fist.tank").ok is True
    one = bike(obstacles=(), others={"tank": Vec(900.0, 300.0, 1020.0)})
    assert plans.only(lock_checks(one, BODY, plans.plan(one)), "lock.fist.tank").ok is False


def test_two_things_of_one_name_are_told_apart() -> None:
    """A surveyed tank and an obstacle that is called tank as well."""
    more = (plans.obstacle("tank", 760.0, 130.0, 960.0),)
    one = bike(obstacles=more, others={"tank": Vec(750.0, 0.0, 950.0)})
    found = [c.what for c in lock_checks(one, BODY, plans.plan(one))]
    assert {"lock.fist.tank", "lock.fist.tank (2)"} <= set(found)
    assert len(found) == len(set(found))


def test_thumbs_are_not_held_against_the_screen() -> None:
    """They point at the tank."""
    one = bike(obstacles=(), others={"screen": Vec(1180.0, 0.0, 1200.0)})
    assert {c.what for c in lock_checks(one, BODY, plans.plan(one))} == {
        "lock.fist.screen",
        "lock.bar_end.screen",
    }


def test_nothing_taped_says_what_to_do() -> None:
    """One line to look at; and one for an obstacle that has no place."""
    one = bike(obstacles=())
    (check,) = lock_checks(one, BODY, plans.plan(one))
    assert (check.ok, math.isnan(check.value)) == (None, True)
    assert "[[obstacle]]" in check.why
    one = bike(ahead={})
    assert [c.what for c in lock_checks(one, BODY, plans.plan(one))] == [
        "lock.tank, left shoulder",
        "lock.screen bracket",
    ]
