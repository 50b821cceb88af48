"""Stage 8n: how much longer each hose and cable must be once the bar has moved.

A hose is taken to be just as long as its worst case needed as found, plus the spare that was
taped; steering turns lock to lock, the fork goes out and in. Millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from fitprofile.geometry.swings import swing
from fitprofile.geometry.vectors import Vec, norm
from fitprofile.model.bike import FORK, FRAME, YOKE, Hose
from fitprofile.stages.check import Check, held, to_look_at
from fitprofile.stages.fixed_points import on_wheels
from fitprofile.stages.job import Job
from fitprofile.stages.plan import Plan
from fitprofile.stages.steering import USUAL_LOCK, Axis, lock_of, steering_axis
from fitprofile.stages.survey import BikePoints

LEFT, RIGHT = 1.0, -1.0

HOSES = {
    "front_brake": ("front brake hose", (RIGHT,)),
    "clutch": ("clutch hose or cable", (LEFT,)),
    "throttle": ("throttle cables", (RIGHT,)),
    "wiring": ("switch wiring", (LEFT, RIGHT)),
}
"""Words for each, and the sides of the bar it comes from."""

FORK_OUT, FORK_IN = 40.0, 100.0
"""mm that a fork goes out and in from where the bike was taped, where neither was (estimate)."""

UNMOVED = 0.05
"""mm below which the place a hose leaves the bar has not moved."""

NOTHING_SAID = (
    "nothing was said of the hoses: stack packers under the bar, steer lock to lock with the fork "
    "extended and compressed, and write what is left of each under [hoses]"
)


class Range(NamedTuple):
    """How far steering and fork go: degrees to each lock, mm out and in; ``taped``: not guessed."""

    lock: float
    out: float
    into: float
    lock_taped: bool
    fork_taped: bool


def hose_checks(job: Job, plan: Plan, fitted_pullback: float = 0.0) -> tuple[Check, ...]:
    """The least extra length the plan asks of each hose, held against its spare.

    Returns
    -------
    tuple of Check
        ``value`` is negative where a hose gets slack. Without a holding point it is the move of
        the place where the hose leaves the bar, which no hose ever needs more than; then, and
        where lock or fork are guessed, it is judged only if it is enough.
    """
    shift = norm(plan.points.grip_inner.minus(job.points.grip_inner))
    if job.bike.hoses is None:
        if shift <= UNMOVED:
            return ()
        words = "hoses and cables, extra length at most"
        return (to_look_at("hose", words, NOTHING_SAID, value=float(shift)),)
    axis, moving = steering_axis(job, fitted_pullback), range_of(job)
    return tuple(
        _check(name, hose, job, plan, _Steering(axis, moving))
        for name in HOSES
        if (hose := getattr(job.bike.hoses, name)) is not None
    )


def range_of(job: Job) -> Range:
    """How far steering and fork go, guessed where it was not taped."""
    lock, steering = lock_of(job), job.bike.steering
    out, into = steering.fork_extension, steering.fork_compression
    return Range(
        lock=USUAL_LOCK if lock is None else lock,
        out=FORK_OUT if out is None else out.value,
        into=FORK_IN if into is None else into.value,
        lock_taped=lock is not None,
        fork_taped=out is not None and into is not None,
    )


def exits(points: BikePoints, name: str) -> Iterator[Vec]:
    """Where a hose leaves the bar: the grip's inner end of its side, of both for the wiring."""
    x, y, z = points.grip_inner
    return (Vec(x, side * np.asarray(y), z) for side in HOSES[name][1])


def longest(place: Vec, held_at: Vec, held_by: str, axis: Axis, moving: Range) -> float:
    """Greatest straight distance from the bar to a holding point over steering and fork, mm.

    Parameters
    ----------
    place, held_at : Vec
        With the steering straight and the fork as it was taped.
    held_by : str
        ``"frame"``: only the bar turns. ``"yoke"``: both turn. ``"fork"``: both turn, and the
        holding point slides along the axis; the distance is convex in that slide, so an end is
        the worst.
    """
    if held_by == FRAME:
        turn = np.radians(moving.lock)
        return float(swing(place, held_at, axis.up, axis.pivot, turn).greatest)
    slides = (0.0,) if held_by == YOKE else (-moving.out, moving.into)
    return max(float(norm(place.minus(held_at.plus(axis.up.times(s))))) for s in slides)


class _Steering(NamedTuple):
    """The axis and how far things move about and along it."""

    axis: Axis
    moving: Range


def _check(name: str, hose: Hose, job: Job, plan: Plan, steering: _Steering) -> Check:
    words, key = f"{HOSES[name][0]}: extra length", f"hose.{name}"
    spare = np.nan if hose.spare is None else hose.spare.value
    most = float(norm(plan.points.grip_inner.minus(job.points.grip_inner)))
    held_at = on_wheels(job, hose)
    if most <= UNMOVED:
        return held(key, words, 0.0, spare, "the bar's end of it does not move")
    if held_at is None:
        why = f"at most: the place where it leaves the bar moves by this much; {_last(spare)}"
        return held(key, words, most, spare, why, sure=most <= spare)
    extra = max(
        longest(after, held_at, hose.held_by, steering.axis, steering.moving)
        - longest(before, held_at, hose.held_by, steering.axis, steering.moving)
        for before, after in zip(exits(job.points, name), exits(plan.points, name), strict=True)
    )
    guess = _guessed(hose.held_by, steering.moving)
    why = f"{_over(hose.held_by, steering.moving)}; {guess}{_last(spare)}"
    return held(key, words, extra, spare, why, sure=not guess or most <= spare)


def _over(held_by: str, moving: Range) -> str:
    """What the worst case was looked for over."""
    if held_by == FRAME:
        return f"longest way to the frame, lock to lock ({moving.lock:.0f} degrees to each side)"
    if held_by == YOKE:
        return "it turns with the yokes, so steering and fork do not stretch it"
    return f"longest way to the fork, {moving.out:.0f} mm extended to {moving.into:.0f} compressed"


def _guessed(held_by: str, moving: Range) -> str:
    """What to tape where the range is a guess that matters, else nothing."""
    if held_by == FRAME and not moving.lock_taped:
        return "the lock is a guess, tape it; "
    if held_by == FORK and not moving.fork_taped:
        return "the fork's way is a guess, tape it; "
    return ""


def _last(spare: float) -> str:
    """What to do about the spare."""
    if np.isnan(spare):
        return "its spare was not taped: dry-fit on packers and tape what is left at full lock"
    return "dry-fit on packers and steer lock to lock before it is ordered or cut"
