"""Stage 9c: the chance that a plan brings every number inside its tolerance at the first try."""

from __future__ import annotations

import numpy as np

from fitprofile.geometry.vectors import Real
from fitprofile.stages import moves
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.misfit import INSIDE, turned_reading
from fitprofile.stages.plan import Plan
from fitprofile.stages.plans import built
from fitprofile.stages.posture import Sides, numbers_on
from fitprofile.stages.spread import Tried, misses_of, share_inside
from fitprofile.stages.survey import BikePoints


def chance_of(job: Job, plan: Plan, tried: Tried) -> float:
    """Probability, 0 to 1, to be inside every tolerance once a plan is carried out as printed.

    Parameters
    ----------
    job : Job
        What the plan was made for.
    tried : Tried
        The same rider and bike drawn from the spreads of everything measured.

    Returns
    -------
    float
        0 where the plan itself leaves a number outside: parts are what they are. Else the share
        of draws inside; tilt, sweep and reach are the hardware's and are not drawn.

    Notes
    -----
    Propagation of distributions (JCGM 101:2008) with the plan's parts and settings held fast. On
    a new bar the perches are set by straightedge, so their slope is the plan's own.
    """
    if not all(abs(value) <= INSIDE for value in plan.deviations.values()):
        return 0.0
    points = built(job, plan, tried.points, tried.rake)
    lean = np.add(tried.sat.lean_deg, plan.after.lean_deg - job.target.lean_deg)
    after = numbers_on(tried.sat.linkage, lean, points, _readings(job, plan, tried, points))
    return share_inside(misses_of(tried.wish, after, job))


def _readings(job: Job, plan: Plan, tried: Tried, points: BikePoints) -> Sides:
    """Lever angles after the plan, (n,) each."""
    slopes: list[Real] = []
    for side in SIDES:
        turn = float(getattr(plan.lever_rotation_deg, side))
        reading = getattr(tried.lever_angle, side)
        carried = reading if job.clip_on else reading - plan.roll_deg
        if np.isnan(turn):
            slopes.append(getattr(plan.after.lever_angle_deg, side))
        elif turn == 0.0:
            slopes.append(carried)
        else:
            slopes.append(turned_reading(moves.grip_axis(points), carried, turn))
    return Sides(*slopes)
