"""Misfits in tolerances: against the judgement in mm and degrees, and the formulas by hand."""

from __future__ import annotations

from math import hypot

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from fitprofile.geometry.vectors import Vec
from fitprofile.stages import moves
from fitprofile.stages.job import Job, deviations, missed
from fitprofile.stages.misfit import (
    INSIDE,
    NO_LEG,
    UNREACHABLE,
    Torso,
    bar_misfits,
    bend_misfits,
    forearm_of,
    knee_misfit,
    lever_aims,
    lever_misfit,
    perch_turn,
    reach_misfit,
    score,
    turned_reading,
    width_misfit,
)
from fitprofile.stages.posture import Sides
from tests import by_hand
from tests.stages import jobs
from tests.stages.by_force import NAMES, body_of
from tests.stages.shelves import KINDS, a_job

SEED = st.integers(0, 2**32 - 1)


def drawn(seed: int, kind: str) -> Job:
    return a_job(np.random.default_rng(seed), **KINDS[kind])


def all_of(job: Job) -> dict[str, float]:
    """Every misfit of the bike as found."""
    shown = job.now
    torso = Torso.of(job.rider, job.points.seat, job.target.lean_deg)
    forearm = float(shown.forearm_angle_deg)
    return {
        **{name: float(value) for name, value in bar_misfits(job, job.points, torso).items()},
        "bar_width": float(width_misfit(job, shown.bar_width_mm)),
        "knee_angle": float(knee_misfit(job, job.points)),
        **{
            f"lever_angle.{side}": float(
                lever_misfit(job, side, getattr(shown.lever_angle_deg, side), forearm)
            )
            for side in ("brake", "clutch")
        },
        **{
            f"lever_reach.{side}": float(
                reach_misfit(job, side, getattr(shown.lever_reach_mm, side))
            )
            for side in ("brake", "clutch")
        },
    }


@given(seed=SEED, kind=st.sampled_from(sorted(KINDS)))
def test_what_misses_is_what_lies_beyond_one_tolerance(seed: int, kind: str) -> None:
    """The same numbers as `missed` finds in mm and degrees; a clip-on's tilt is left out."""
    job = drawn(seed, kind)
    outside = {name for name, misfit in all_of(job).items() if abs(misfit) > INSIDE}
    judged = set(missed(job, job.now))
    if job.clip_on:
        judged.discard("grip_tilt")
    assert outside == judged


@given(seed=SEED, kind=st.sampled_from(sorted(KINDS)))
def test_misfits_are_the_deviations_over_their_tolerances(seed: int, kind: str) -> None:
    """The knee's only where it is too closed: more open counts against the rider's limit."""
    job = drawn(seed, kind)
    found, off = all_of(job), deviations(job.target, job.now)
    for name, misfit in found.items():
        number = name.partition(".")[0]
        if number == "lever_angle" or (number == "knee_angle" and misfit > 0.0):
            continue
        if name == "forearm_angle" and np.isnan(off[name]):
            assert misfit >= UNREACHABLE / job.tolerances[name]
            continue
        assert misfit == pytest.approx(off[name] / job.tolerances[number], abs=1e-9)


@given(seed=SEED, kind=st.sampled_from(sorted(KINDS)), lean=st.floats(0.0, 30.0))
def test_the_bar_s_misfits_are_the_formulas_by_hand(seed: int, kind: str, lean: float) -> None:
    job = drawn(seed, kind)
    points = by_hand.as_plain(job.points, NAMES)
    shown = by_hand.numbers(body_of(job), lean, points)
    found = bar_misfits(job, job.points, Torso.of(job.rider, job.points.seat, lean))
    distance = shown["navel_to_bar_mm"] - float(job.target.navel_to_bar_mm)
    assert float(found["navel_to_bar"]) == pytest.approx(
        distance / job.tolerances["navel_to_bar"], abs=1e-9
    )
    if not np.isnan(shown["forearm_angle_deg"]):
        back = float(forearm_of(job, found["forearm_angle"]))
        assert back == pytest.approx(shown["forearm_angle_deg"], abs=1e-9)
    assert ("grip_tilt" in found) is not job.clip_on


def test_an_arm_too_short_misses_by_more_the_farther_the_grip_is() -> None:
    """Beyond any forearm that can reach, and one degree more for each mm."""
    near, far = jobs.job(jobs.bar(400.0, 0.0)), jobs.job(jobs.bar(410.0, 0.0))
    values = []
    for job in (near, far):
        torso = Torso.of(job.rider, job.points.seat, job.target.lean_deg)
        values.append(float(bar_misfits(job, job.points, torso)["forearm_angle"]))
    allowed = near.tolerances["forearm_angle"]
    assert values[0] * allowed > UNREACHABLE
    hands = [
        by_hand.arm(body_of(job), float(job.target.lean_deg), by_hand.as_plain(job.points, NAMES))
        for job in (near, far)
    ]
    reach = [by_hand.size(by_hand.less(grip, joint)) for joint, grip in hands]
    assert (values[1] - values[0]) * allowed == pytest.approx(reach[1] - reach[0], abs=1e-6)


def test_a_wish_that_is_not_there_has_no_misfit() -> None:
    """No sweep wished: none counted; no reach wished: nothing to miss."""
    job = jobs.job()
    bare = evolve(
        job,
        target=evolve(job.target, grip_sweep_deg=np.nan, lever_reach_mm=Sides(np.nan, 60.0)),
    )
    assert set(bend_misfits(job, job.points)) == {"grip_tilt", "grip_sweep"}
    assert set(bend_misfits(bare, bare.points)) == {"grip_tilt"}
    assert float(reach_misfit(bare, "brake", 90.0)) == 0.0
    assert float(reach_misfit(bare, "clutch", 65.0)) == pytest.approx(1.0)


def test_the_knee_may_open_to_the_rider_s_limit_and_close_by_its_tolerance() -> None:
    """Wished 78, limit 98, tolerance 3: at 88 half way there, at 75 just inside."""
    job = jobs.job()
    low, high = 3.0, 20.0
    wish = float(job.now.knee_angle_deg)
    for shift, expected in ((-10.0, 0.5), (3.0, -1.0), (0.0, 0.0)):
        target = evolve(job.target, knee_angle_deg=wish + shift)
        limits = evolve(job.limits, knee_angle=(wish + shift - low, wish + shift + high))
        moved = evolve(job, target=target, limits=limits)
        assert float(knee_misfit(moved, moved.points)) == pytest.approx(expected, abs=1e-9)
    without = evolve(job, target=evolve(job.target, knee_angle_deg=wish - 6.0))
    assert float(knee_misfit(without, without.points)) == pytest.approx(2.0, abs=1e-9)


def test_a_leg_that_cannot_reach_the_peg_misses_by_far() -> None:
    job = jobs.job()
    below = evolve(job.points, peg=Vec(560.0, 230.0, -900.0))
    assert float(knee_misfit(job, below)) == NO_LEG


def test_a_score_is_the_square_and_ten_times_more_beyond_the_tolerance() -> None:
    """0.5 and 1 by their squares; 3 by 9 + 10 x 2²; the sign does not matter."""
    assert score(np.array([0.0, 0.5, 1.0, -3.0])) == pytest.approx([0.0, 0.25, 1.0, 49.0])


@given(
    bike=SEED, reading=st.floats(-20.0, 50.0), aim=st.floats(-20.0, 50.0), share=st.floats(0.0, 1.0)
)
def test_a_perch_turned_as_asked_shows_the_slope_aimed_at(
    bike: int, reading: float, aim: float, share: float
) -> None:
    """The whole turn meets the aim, none leaves the reading; positive lifts the blade."""
    axis = moves.grip_axis(drawn(bike, "one-piece").points)
    turn = float(perch_turn(axis, reading, aim))
    assert (turn > 0.0) == (reading > aim) or abs(turn) < 1e-9
    assert float(turned_reading(axis, reading, turn)) == pytest.approx(aim, abs=1e-9)
    part = float(turned_reading(axis, reading, share * turn))
    assert min(reading, aim) - 1e-9 <= part <= max(reading, aim) + 1e-9


def test_a_torso_is_where_the_rider_s_navel_and_shoulder_are() -> None:
    """On a seat at (450, 800), erect: 138 ahead and 88 + 127 up; shoulders 362 apart."""
    job = jobs.job()
    torso = Torso.of(job.rider, job.points.seat, 0.0)
    assert [float(v) for v in torso.navel] == pytest.approx([450.0 + 138.0, 0.0, 800.0 + 215.0])
    assert [float(v) for v in torso.shoulder] == pytest.approx([492.0, 181.0, 800.0 + 498.0])
    bar = float(bar_misfits(job, job.points, torso)["navel_to_bar"])
    distance = hypot(900.0 - 588.0, 1030.0 - 1015.0) - float(job.target.navel_to_bar_mm)
    assert bar == pytest.approx(distance / 10.0, abs=1e-9)


def test_one_use_sets_each_lever_to_its_own_arm() -> None:
    """The mean of both, 5 up and 5 down; a lever is off by what is left over."""
    job = drawn(3, "arms that differ")
    aims = lever_aims([(job, 1.0)], [np.array([10.0, 12.0])])
    assert np.asarray(aims.brake) == pytest.approx([15.0, 17.0])
    assert np.asarray(aims.clutch) == pytest.approx([5.0, 7.0])
    allowed = job.tolerances["lever_angle"]
    assert float(lever_misfit(job, "brake", 15.0, 10.0)) == pytest.approx(0.0, abs=1e-9)
    assert float(lever_misfit(job, "clutch", 15.0, 10.0)) == pytest.approx(10.0 / allowed)


@given(share=st.floats(0.05, 0.95), first=st.floats(-20.0, 40.0), second=st.floats(-20.0, 40.0))
def test_several_uses_share_each_lever(share: float, first: float, second: float) -> None:
    """Each side alone, against scipy: only one of the uses wishes its arms apart."""
    even = drawn(3, "one-piece")
    uneven = drawn(3, "arms that differ")
    allowed = even.tolerances["lever_angle"]
    aims = lever_aims([(even, share), (uneven, 1.0 - share)], [first, second])
    for side, off in (("brake", 5.0), ("clutch", -5.0)):
        wishes = ((first, share), (second + off, 1.0 - share))

        def cost(at: float, wishes: tuple[tuple[float, float], ...] = wishes) -> float:
            return sum(w * float(score((at - wish) / allowed)) for wish, w in wishes)

        low, high = min(first, second + off) - 1.0, max(first, second + off) + 1.0
        best = minimize_scalar(cost, bounds=(low, high), method="bounded", options={"xatol": 1e-9})
        assert cost(float(getattr(aims, side))) <= float(best.fun) + 1e-6
