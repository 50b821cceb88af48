"""Extra hose length, against a dense sweep of steering and fork with scipy's rotations."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import HOLDS, Hoses, Steering
from fitprofile.model.quantity import Reading
from fitprofile.stages import moves
from fitprofile.stages.hose_length import hose_checks
from fitprofile.stages.job import Job
from fitprofile.stages.survey import BikePoints
from tests.stages import plans

SIDE = {"front_brake": (-1.0,), "clutch": (1.0,), "throttle": (-1.0,), "wiring": (1.0, -1.0)}


def bike(
    lock: float | None = 35.0, out: float | None = 40.0, into: float = 90.0, **h: object
) -> Job:
    steering = Steering(
        lock=None if lock is None else Reading(lock),
        fork_extension=None if out is None else Reading(out),
        fork_compression=Reading(into),
    )
    return plans.job(steering=steering, hoses=Hoses(**h))  # type: ignore[arg-type]


def longest(one: Job, points: BikePoints, side: float, at: tuple[float, ...], by: str) -> float:
    """Worst of 1,801 turns and 41 fork positions, every one of them made with scipy, mm."""
    rake = np.radians(one.rake)
    up = np.array([-np.sin(rake), 0.0, np.cos(rake)])
    steering, clamp = one.bike.steering, plans.array(one.points.clamp)
    assert steering.lock is not None
    assert steering.fork_extension is not None
    assert steering.fork_compression is not None
    turns = np.linspace(-steering.lock.value, steering.lock.value, 1801)
    by_scipy = Rotation.from_rotvec(np.outer(turns, up), degrees=True)
    bar = by_scipy.apply(plans.array(points.grip_inner) * [1.0, side, 1.0] - clamp) + clamp
    worst = 0.0
    for slide in np.linspace(-steering.fork_extension.value, steering.fork_compression.value, 41):
        far = np.array(at) + (up * slide if by == "fork" else 0.0)
        if by != "frame":
            far = by_scipy.apply(far - clamp) + clamp
        worst = max(worst, float(np.linalg.norm(bar - far, axis=1).max()))
    return worst


@given(
    name=st.sampled_from(sorted(SIDE)),
    by=st.sampled_from(HOLDS),
    at=st.tuples(st.floats(850.0, 1400.0), st.floats(-250.0, 250.0), st.floats(350.0, 1000.0)),
    lock=st.floats(1.0, 75.0),
    fork=st.tuples(st.floats(0.0, 200.0), st.floats(0.0, 200.0)),
    move=st.tuples(st.floats(-60.0, 80.0), st.floats(-40.0, 80.0)),
    width=st.floats(-40.0, 40.0),
    roll=st.floats(-15.0, 15.0),
)
def test_a_dense_sweep_asks_for_the_same_length(
    name: str,
    by: str,
    at: tuple[float, float, float],
    lock: float,
    fork: tuple[float, float],
    move: tuple[float, float],
    width: float,
    roll: float,
) -> None:
    """Every hose, held by frame, yoke or fork: to 0.01 mm."""
    one = bike(lock, *fork, **{name: plans.hose(20.0, at, by)})  # type: ignore[arg-type]
    end = moves.raise_bar(
        moves.roll_bar(moves.slide_grips(one.points, width), roll), *move, one.rake
    )
    check = plans.only(hose_checks(one, plans.plan(one, end)), f"hose.{name}")
    expected = max(
        longest(one, end, side, at, by) - longest(one, one.points, side, at, by)
        for side in SIDE[name]
    )
    assert check.value == pytest.approx(expected, abs=0.01)
    assert check.ok is (check.value <= 20.0)
    assert check.limit == 20.0


@given(
    at=st.tuples(st.floats(850.0, 1400.0), st.floats(-250.0, 250.0), st.floats(350.0, 1000.0)),
    by=st.sampled_from(HOLDS),
    move=st.tuples(st.floats(-60.0, 80.0), st.floats(-40.0, 80.0)),
)
def test_no_hose_needs_more_than_its_end_moves(
    at: tuple[float, float, float], by: str, move: tuple[float, float]
) -> None:
    """The figure without a holding point bounds the one with it."""
    known = bike(front_brake=plans.hose(20.0, at, by))
    unknown = bike(front_brake=plans.hose(20.0))
    values = [
        plans.only(hose_checks(one, plans.plan(one, plans.risen(one, *move))), "hose.front_brake")
        for one in (known, unknown)
    ]
    assert values[0].value <= values[1].value + 1e-9
    assert values[1].value == pytest.approx(float(np.hypot(*move)), abs=0.06)


def test_without_a_holding_point_only_enough_is_judged() -> None:
    """15 mm of move inside 20 of spare is fine; 30 may still be fine, so somebody has to look."""
    one = bike(clutch=plans.hose(20.0))
    for up, ok in ((15.0, True), (30.0, None)):
        check = plans.only(
            hose_checks(one, plans.plan(one, plans.risen(one, up, 0.0))), "hose.clutch"
        )
        assert (check.ok, check.limit) == (ok, 20.0)
        assert check.why.startswith("at most")


@pytest.mark.parametrize(("by", "at"), list(itertools.product(HOLDS, [None, (1000.0, 0.0, 700.0)])))
def test_no_move_asks_for_nothing(by: str, at: tuple[float, float, float] | None) -> None:
    """Whatever holds it."""
    one = bike(front_brake=plans.hose(0.0, at, by), throttle=plans.hose())
    brake, throttle = hose_checks(one, plans.plan(one))
    assert (brake.value, brake.ok) == (0.0, True)
    assert (throttle.value, throttle.ok) == (0.0, None)


def test_a_hose_to_the_yoke_stretches_with_neither_steering_nor_fork() -> None:
    """Straight up from 300 mm below: 30 mm of riser, 30 mm of hose; by hand."""
    x, y, z = plans.array(bike().points.grip_inner)
    rake = np.radians(25.0)
    at = (x + 300.0 * np.sin(rake), -y, z - 300.0 * np.cos(rake))
    one = bike(front_brake=plans.hose(20.0, at, "yoke"))
    check = plans.only(
        hose_checks(one, plans.plan(one, plans.risen(one, 30.0, 0.0))), "hose.front_brake"
    )
    assert check.value == pytest.approx(30.0, abs=1e-9)
    assert check.ok is False


def test_a_guessed_lock_or_fork_is_not_judged() -> None:
    """Unless the whole move fits into the spare."""
    at = (1100.0, 0.0, 600.0)
    for spare, ok in ((5.0, None), (80.0, True)):
        for one in (
            bike(None, front_brake=plans.hose(spare, at)),
            bike(35.0, None, front_brake=plans.hose(spare, at, "fork")),
        ):
            check = plans.only(
                hose_checks(one, plans.plan(one, plans.risen(one, 40.0, 20.0))), "hose.front_brake"
            )
            assert check.ok is ok
            assert "guess, tape it" in check.why


def test_a_bike_that_says_nothing_of_hoses() -> None:
    """One line once the bar moves, with the move as the most that any needs; none if it stays."""
    one = plans.job()
    assert hose_checks(one, plans.plan(one)) == ()
    (check,) = hose_checks(one, plans.plan(one, plans.risen(one, 30.0, 0.0)))
    assert (check.what, check.ok) == ("hose", None)
    assert check.value == pytest.approx(30.0)


def test_mirrored_holding_points_mirror_the_hoses() -> None:
    """A clutch hose held to the left needs what a brake hose held to the right does."""
    left = bike(clutch=plans.hose(20.0, (1100.0, 150.0, 650.0)))
    right = bike(front_brake=plans.hose(20.0, (1100.0, -150.0, 650.0)))
    values = [
        hose_checks(one, plans.plan(one, plans.risen(one, 30.0, 20.0)))[0].value
        for one in (left, right)
    ]
    assert values[0] == pytest.approx(values[1], abs=1e-9)


def test_the_worst_may_lie_between_the_stops() -> None:
    """A throttle cable held across the bike is longest near 51 degrees, short of a lock of 75."""
    at = (900.0, 150.0, 700.0)
    one = bike(75.0, throttle=plans.hose(20.0, at))
    end = evolve(one.points, grip_inner=Vec(975.0, 200.0, 1040.0))
    narrow = bike(51.4)
    at_stop, at_crest, found = (
        longest(each, end, -1.0, at, "frame") for each in (bike(40.0), narrow, one)
    )
    assert at_stop < at_crest - 1.0
    assert found == pytest.approx(at_crest, abs=0.01)
    check = hose_checks(one, plans.plan(one, end))[0]
    before = longest(one, one.points, -1.0, at, "frame")
    assert check.value == pytest.approx(found - before, abs=0.01)
