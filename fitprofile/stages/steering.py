"""Stage 8l: the steering axis as well as it is known, and how far the bar turns about it.

Millimetres, angles in degrees.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fitprofile.geometry.rotations import turn_about
from fitprofile.geometry.vectors import Vec
from fitprofile.stages import moves
from fitprofile.stages.job import Job

USUAL_LOCK = 35.0
"""Degrees to one side where the lock was not taped (estimate)."""

YOKE_OFFSET = 30.0
"""mm by which clip-ons' fork tubes stand ahead of the steering axis (estimate)."""

AXIS_DOUBT = 15.0
"""mm by which the assumed steering axis may lie ahead or behind the true one (estimate)."""


class Axis(NamedTuple):
    """The steering axis, mm: a point on it, the unit direction up along it."""

    pivot: Vec
    up: Vec


def steering_axis(job: Job, fitted_pullback: float = 0.0) -> Axis:
    """Steering axis, as well as it is known.

    Parameters
    ----------
    fitted_pullback : float, mm
        Of the riser that is on the bike already, by which its clamp stands behind the yoke's own.

    Returns
    -------
    Axis
        A one-piece bar's yoke is taken to hold it on the axis, clip-ons' tubes to stand
        `YOKE_OFFSET` ahead of it (both estimates). Where the axis is d mm elsewhere, a point at
        a lock of t is 2 d sin(t / 2) elsewhere: `axis_doubt`.
    """
    up, back = moves.clamp_axes(job.rake)
    behind = YOKE_OFFSET if job.clip_on else -fitted_pullback
    return Axis(job.points.clamp.plus(back.times(behind)), up)


def axis_doubt(lock: float) -> float:
    """How far a point at ``lock`` degrees may be off because the axis is guessed, mm."""
    return float(2.0 * AXIS_DOUBT * np.sin(0.5 * np.radians(lock)))


def lock_of(job: Job) -> float | None:
    """Lock to one side, degrees; ``None`` where it was not taped."""
    lock = job.bike.steering.lock
    return None if lock is None else lock.value


def turned(point: Vec, axis: Axis, lock: float) -> Vec:
    """Point of the bar with the steering turned by ``lock`` degrees, to the left positive."""
    return turn_about(point, np.radians(lock), axis.up, axis.pivot)
