"""Stage 8d: pegs for legs that differ: a knee angle wished left and right, a move for each peg."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from attrs import evolve

from fitprofile.model.rider import Cockpit
from fitprofile.stages import linkage as body
from fitprofile.stages.adjust import peg_move
from fitprofile.stages.job import Job
from fitprofile.stages.moves import PegMove
from fitprofile.stages.practical import peg_kept

EVEN = 0.05
"""Degrees by which the two knee wishes may differ and still be one."""


class PegSide(NamedTuple):
    """One leg, mm and degrees.

    ``exact`` brings the knee to ``wished_deg``; ``practical`` leaves alone what is inside its
    tolerance and keeps the bike's bands, and gives ``after_deg``.
    """

    wished_deg: float
    exact: PegMove
    practical: PegMove
    after_deg: float


class PegSides(NamedTuple):
    """Left and right leg."""

    left: PegSide
    right: PegSide


def peg_sides(job: Job, cockpit: Cockpit) -> PegSides | None:
    """A move for each peg, ``None`` where both knees are wished alike.

    Notes
    -----
    The body is one and the same on both sides; what differs is the wish. Calibration makes one
    knee angle of the pair, so each side keeps its distance from the pair's mean.
    """
    sides = cockpit.knee_angle.sides
    if sides is None or abs(sides[0] - sides[1]) <= EVEN:
        return None
    return PegSides(*(_leg(job, one - cockpit.knee_angle.value) for one in sides))


def _leg(job: Job, off: float) -> PegSide:
    """One leg whose knee is wished ``off`` degrees from the pair's mean."""
    wished = float(job.target.knee_angle_deg) + off
    one = evolve(job, target=evolve(job.target, knee_angle_deg=wished))
    move = peg_move(one.rider, one.points, wished)
    exact = PegMove(float(move.x), float(move.z))
    done = peg_kept(one, exact, [], [])
    peg = one.points.peg._replace(
        x=float(one.points.peg.x) + float(done.x), z=float(one.points.peg.z) + float(done.z)
    )
    after = float(np.asarray(body.knee_angle(one.rider, one.points.seat, peg)))
    return PegSide(wished, exact, done, after)
