"""Stage 8a: one rider on one bike as found, and how far each number is from the wish."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from fitprofile.geometry.vectors import Real, Vec
from fitprofile.model.bike import Bike
from fitprofile.model.rider import RiderLimits
from fitprofile.stages import moves
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.moves import Changes
from fitprofile.stages.posture import Numbers, Sides, numbers_on
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

SIDES = ("brake", "clutch")


class Stands(NamedTuple):
    """A standing use: peg it is counted from, and the wished place of the grips against it, mm."""

    peg: Vec
    above_mm: float
    ahead_mm: float


@frozen(kw_only=True)
class Job:
    """One rider on one bike as found: what both answers are worked out from; mm and degrees.

    ``reach_sd`` is the standard deviation of each lever's reach as taped, ``arms_sd`` that of half
    the difference between arms that are wished differently; ``fitted_pullback_mm`` the pullback
    of the riser that is on the bike already, where the shelves tell. ``stands`` is set where plans
    are weighed with a standing use: of the target, width and forearm (there the slope of the
    levers) count alone.
    """

    rider: Linkage
    target: Numbers
    now: Numbers
    points: BikePoints
    rake: float
    clip_on: bool
    bike: Bike
    limits: RiderLimits
    tolerances: Mapping[str, float]
    reach_sd: Sides = Sides(0.0, 0.0)
    arms_sd: float = 0.0
    stands: Stands | None = None
    fitted_pullback_mm: float = 0.0


def numbers_after(job: Job, changes: Changes) -> Numbers:
    """The rider's numbers once the changes are made, mm and degrees."""
    points = moves.done_to(job.points, changes, job.rake)
    reach = changes.lever_reach_change_mm
    return numbers_on(
        job.rider,
        job.target.lean_deg,
        points,
        moves.levers_after(job.points, job.now.lever_angle_deg, changes, job.rake),
        Sides(
            job.now.lever_reach_mm.brake + np.nan_to_num(reach.brake),
            job.now.lever_reach_mm.clutch + np.nan_to_num(reach.clutch),
        ),
    )


def deviations(target: Numbers, shown: Numbers) -> dict[str, float]:
    """Shown less wished for every number that has a tolerance, mm and degrees.

    Shown but not wished is left out; wished but not there at all is ``nan``. A lever that the
    bike lacks, or whose angle was not read, is left out as well.
    """
    pairs = {
        "bar_width": (shown.bar_width_mm, target.bar_width_mm),
        "navel_to_bar": (shown.navel_to_bar_mm, target.navel_to_bar_mm),
        "forearm_angle": (shown.forearm_angle_deg, target.forearm_angle_deg),
        "grip_tilt": (shown.grip_tilt_deg, target.grip_tilt_deg),
        "grip_sweep": (shown.grip_sweep_deg, target.grip_sweep_deg),
        "knee_angle": (shown.knee_angle_deg, target.knee_angle_deg),
    }
    for side in SIDES:
        for number, have, want in (
            ("lever_angle", shown.lever_angle_deg, target.lever_angle_deg),
            ("lever_reach", shown.lever_reach_mm, target.lever_reach_mm),
        ):
            if np.isfinite(getattr(have, side)):
                pairs[f"{number}.{side}"] = (getattr(have, side), getattr(want, side))
    return {name: float(a) - float(b) for name, (a, b) in pairs.items() if np.isfinite(b)}


def within(job: Job, name: str, deviation: float) -> bool:
    """Whether a deviation is inside its tolerance; the knee may open up to the rider's limit."""
    tolerance = job.tolerances[name.split(".", maxsplit=1)[0]]
    if name == "knee_angle" and deviation > 0.0:
        widest = job.limits.knee_angle
        wished = float(job.target.knee_angle_deg)
        return deviation <= max(tolerance, (widest[1] if widest else wished) - wished)
    return abs(deviation) <= tolerance


def missed(job: Job, shown: Numbers) -> tuple[str, ...]:
    """Numbers outside their tolerance, or not there at all.

    A lever misses where it is not in line with the forearm as shown: that, and not an angle of
    its own, is the wish.
    """
    off = {**deviations(job.target, shown), **out_of_line(job.target, shown)}
    return tuple(name for name, deviation in off.items() if not within(job, name, deviation))


def in_line(target: Numbers, forearm: Real) -> Sides:
    """Slope of a lever in line with its own arm where the forearm shows an angle, degrees.

    Parameters
    ----------
    target : Numbers
        What is wished: arms that differ keep their distance from the mean of both.
    forearm : (...) float, degrees
        As shown, the mean of both arms.
    """
    return Sides(*(np.add(forearm, arm_apart(target, side)) for side in SIDES))


def arm_apart(target: Numbers, side: str) -> Real:
    """How much steeper than the mean of both the arm at one lever is wished, degrees; mostly 0."""
    lever: Real = getattr(target.lever_angle_deg, side)
    return np.subtract(lever, target.forearm_angle_deg)


def out_of_line(target: Numbers, shown: Numbers) -> dict[str, float]:
    """Each lever's angle less its own forearm's, degrees; empty where either is not there."""
    aim = in_line(target, shown.forearm_angle_deg)
    off = {
        f"lever_angle.{side}": float(getattr(shown.lever_angle_deg, side) - getattr(aim, side))
        for side in SIDES
    }
    return {name: value for name, value in off.items() if np.isfinite(value)}
