"""Stage 8c: how far numbers lie from the wish, in units of their tolerance, for whole arrays.

A misfit of 1 is just inside. `fitprofile.stages.job` judges one rider on one bike by the same
rules in mm and degrees.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from fitprofile.geometry.vectors import Floats, Real, Vec, elevation, norm, rearward
from fitprofile.stages import linkage as body
from fitprofile.stages import moves
from fitprofile.stages.job import SIDES, Job, Stands, arm_apart
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.posture import Sides
from fitprofile.stages.survey import BikePoints

INSIDE = 1.0 + 1e-9
"""Largest misfit that counts as inside; the rest is rounding."""

OUTSIDE = 10.0
"""Weight of a misfit's square beyond the first tolerance, against the square of the whole: what
is outside weighs more, without the others being driven to their edges for it (estimate)."""

UNREACHABLE = 90.0
"""Degrees that a forearm counts as off where the arm cannot reach, and one more for each mm: more
than any forearm that can."""

NO_LEG = 1e3
"""Misfit of a knee angle where the leg cannot reach the peg."""


class Torso(NamedTuple):
    """Navel and left shoulder joint of a rider who sits and leans in one way, mm."""

    navel: Vec
    shoulder: Vec

    @classmethod
    def of(cls, rider: Linkage, seat: Vec, lean: Real) -> Torso:
        """The torso on a sit point, at a lean in degrees; components (...)."""
        return cls(body.navel(rider, seat, lean), body.shoulder(rider, seat, lean))


def bar_misfits(job: Job, points: BikePoints, torso: Torso) -> dict[str, Floats]:
    """Misfits that the place and shape of the bar decide, each (...) float.

    Parameters
    ----------
    job : Job
        Rider, target, tolerances.
    points : BikePoints
        Grips, components (...), mm.
    torso : Torso
        Components that broadcast against the points'.

    Returns
    -------
    dict of str to (...) float
        ``navel_to_bar``, ``forearm_angle``, ``grip_tilt`` and ``grip_sweep``. A number that is not
        wished is left out, and on clip-ons the tilt: they droop by design. Of a standing use the
        place of the grips against the peg stands for the first two, and a forearm that is always
        as wished.
    """
    rider, target, allowed = job.rider, job.target, job.tolerances
    if job.stands is not None:
        place = _standing_misfits(job.stands, points, allowed["navel_to_bar"])
        return place | bend_misfits(job, points)
    hand = body.hand(points)
    forearm = body.forearm_angle(rider, torso.shoulder, hand)
    off = forearm - target.forearm_angle_deg
    if np.isnan(forearm).any():
        beyond = UNREACHABLE + np.abs(body.out_of_reach(rider, torso.shoulder, hand))
        off = np.where(np.isnan(forearm), beyond, off)
    distance = norm(body.bar_point(points).minus(torso.navel)) - target.navel_to_bar_mm
    found = {
        "navel_to_bar": distance / allowed["navel_to_bar"],
        "forearm_angle": off / allowed["forearm_angle"],
    }
    return found | bend_misfits(job, points)


def _standing_misfits(stands: Stands, points: BikePoints, allowed: float) -> dict[str, Floats]:
    """Misfits of the grips' place against the peg; see `bar_misfits`."""
    bar = body.bar_point(points)
    above = np.asarray(np.subtract(bar.z, stands.peg.z) - stands.above_mm)
    ahead = np.asarray(np.subtract(bar.x, stands.peg.x) - stands.ahead_mm)
    return {
        "grip_above_peg": above / allowed,
        "grip_ahead_of_peg": ahead / allowed,
        "forearm_angle": np.zeros(np.broadcast_shapes(above.shape, ahead.shape)),
    }


def bend_misfits(job: Job, points: BikePoints) -> dict[str, Floats]:
    """Misfits of tilt and sweep, as far as they are wished, each (...) float."""
    grip = points.grip_end.minus(points.grip_inner)
    return {
        name: (np.degrees(shown(grip)) - wish) / job.tolerances[name]
        for name, wish, shown in (
            ("grip_tilt", job.target.grip_tilt_deg, elevation),
            ("grip_sweep", job.target.grip_sweep_deg, rearward),
        )
        if np.isfinite(wish) and not (job.clip_on and name == "grip_tilt")
    }


def forearm_of(job: Job, misfit: Real) -> Floats:
    """Forearm angle, degrees, from its misfit."""
    return np.asarray(
        np.multiply(misfit, job.tolerances["forearm_angle"]) + job.target.forearm_angle_deg
    )


def score(misfit: Real) -> Floats:
    """What one misfit adds to how far a plan is off, (...) float: its square, more if outside."""
    size = np.abs(misfit)
    return np.asarray(size * size + OUTSIDE * np.square(np.maximum(size - 1.0, 0.0)))


def between(wishes: Sequence[Real], weights: Sequence[float], allowed: float) -> Floats:
    """The one figure that serves several wishes best, (...) float: least weighted `score`.

    Parameters
    ----------
    wishes : sequence of (...) float
        One for each use; those that are ``nan`` have no say.
    weights : sequence of float
        Above 0, in the order of the wishes.
    allowed : float
        Tolerance of the figure.

    Notes
    -----
    The slope of the sum is a rising line, broken where some wish's tolerance ends. So its root
    lies between two neighbouring breaks, straight between them.
    """
    if len(wishes) == 1:
        return np.asarray(wishes[0], dtype=np.float64)
    kept = [(np.asarray(w), share) for w, share in zip(wishes, weights, strict=True)]
    kept = [(w, share) for w, share in kept if not np.isnan(w).all()]
    if not kept:
        return np.asarray(np.nan)
    shape = np.broadcast_shapes(*(w.shape for w, _ in kept))
    breaks = [np.broadcast_to(w + way, shape) for w, _ in kept for way in (-allowed, allowed)]
    at = np.sort(np.stack(breaks), axis=0)
    slope = np.zeros_like(at)
    for wish, share in kept:
        off = (at - wish) / allowed
        beyond = np.sign(off) * np.maximum(np.abs(off) - 1.0, 0.0)
        slope = slope + share * (off + OUTSIDE * beyond)
    low = np.clip(np.sum(slope <= 0.0, axis=0) - 1, 0, len(at) - 2)[None]
    left, right = (np.take_along_axis(at, low + step, axis=0)[0] for step in (0, 1))
    under, over = (np.take_along_axis(slope, low + step, axis=0)[0] for step in (0, 1))
    return np.asarray(left - under * (right - left) / np.where(over > under, over - under, 1.0))


def width_misfit(job: Job, width: Real) -> Floats:
    """Misfit of a bar width, (...) float; 0 where none is wished."""
    off = np.subtract(width, job.target.bar_width_mm) / job.tolerances["bar_width"]
    return np.asarray(np.where(np.isnan(off), 0.0, off))


def knee_misfit(job: Job, points: BikePoints) -> Floats:
    """Misfit of the knee angle, (...) float; more open is fine up to the rider's limit.

    0 for a standing use.
    """
    if job.stands is not None:
        return np.zeros(np.shape(points.peg.z))
    knee = body.knee_angle(job.rider, points.seat, points.peg)
    off = knee - job.target.knee_angle_deg
    allowed, band = job.tolerances["knee_angle"], job.limits.knee_angle
    room = allowed if band is None else max(allowed, band[1] - float(job.target.knee_angle_deg))
    misfit = np.where(off > 0.0, off / room, off / allowed)
    return np.where(np.isnan(misfit), NO_LEG, misfit)


def lever_misfit(job: Job, side: str, reading: Real, forearm: Real) -> Floats:
    """How far a lever is out of line with its own arm, (...) float; both in degrees.

    ``forearm`` is the mean of both arms; see `fitprofile.stages.job.in_line`.
    """
    off = np.subtract(reading, forearm) - arm_apart(job.target, side)
    return np.asarray(off / job.tolerances["lever_angle"])


def lever_aims(jobs: Sequence[tuple[Job, float]], forearms: Sequence[Real]) -> Sides:
    """The slope for each lever that serves every use's forearm best, (...) float, degrees.

    Parameters
    ----------
    jobs : sequence of (Job, float)
        One rider on one bike, once for each use with its weight.
    forearms : sequence of (...) float
        As each use shows it, degrees, the mean of both arms.
    """
    weights, allowed = [weight for _, weight in jobs], jobs[0][0].tolerances["lever_angle"]
    made: dict[tuple[float, ...], Floats] = {}
    aims = []
    for side in SIDES:
        apart = tuple(float(arm_apart(job.target, side)) for job, _ in jobs)
        if apart not in made:
            wishes = [np.add(one, off) for one, off in zip(forearms, apart, strict=True)]
            made[apart] = between(wishes, weights, allowed)
        aims.append(made[apart])
    return Sides(*aims)


def reach_misfit(job: Job, side: str, reach: Real) -> Floats:
    """Misfit of a lever's reach, (...) float; 0 where none is wished."""
    wish = float(getattr(job.target.lever_reach_mm, side))
    off = np.subtract(reach, wish) / job.tolerances["lever_reach"]
    return np.where(np.isfinite(off), off, 0.0)


def perch_turn(axis: Vec, reading: Real, aim: Real) -> Floats:
    """Turn of a perch about its grip that takes a straightedge from one slope to another, deg."""
    return np.asarray(moves.blade_angle(axis, reading) - moves.blade_angle(axis, aim))


def turned_reading(axis: Vec, reading: Real, turn: Real) -> Floats:
    """Slope that a straightedge shows after its perch turned, degrees."""
    return moves.blade_slope(axis, moves.blade_angle(axis, reading) - turn)
