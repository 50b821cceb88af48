"""Stage 8s: everything a workshop looks at before it follows a plan. No check ever blocks one."""

from __future__ import annotations

from math import isfinite, nan
from typing import TYPE_CHECKING

from fitprofile.stages.check import Check, held
from fitprofile.stages.complete import Completed
from fitprofile.stages.controls import diameter_checks, pin_checks
from fitprofile.stages.feet import pedal_checks, straddle_check
from fitprofile.stages.hand_levers import lever_checks
from fitprofile.stages.hose_length import hose_checks
from fitprofile.stages.job import Job
from fitprofile.stages.linkage import hand
from fitprofile.stages.plan import Plan
from fitprofile.stages.steering_lock import lock_checks

if TYPE_CHECKING:
    from fitprofile.data.places import Place

LIGHT, LIGHTER = 30.0, 40.0
"""mm that the hands go up and back together from where the front end may get light, and from
where it is to be expected (common practice, no source)."""


SAME = 1e-6
"""mm over a limit that arithmetic alone may bring."""


def workshop_checks(
    job: Job, body: Completed, plan: Plan, place: Place | None
) -> tuple[Check, ...]:
    """Every workshop check of one plan, in the order in which they are done.

    Parameters
    ----------
    job : Job
        Rider and bike as found.
    body : Completed
        For hand breadth, inseam and sole.
    plan : Plan
    place : Place or None
        Where it is ridden; ``None``: no law is looked at.

    Returns
    -------
    tuple of Check
        Never raises for what was not taped: such a check is not judged and says what is missing.
    """
    lock = lock_checks(job, body, plan, job.fitted_pullback_mm)
    return (
        *lock,
        *hose_checks(job, plan, job.fitted_pullback_mm),
        *diameter_checks(job, plan),
        *pin_checks(job, plan),
        *lever_checks(job, plan),
        *pedal_checks(job, plan),
        straddle_check(job, body, plan),
        front_end_check(job, plan),
        *_law(job, plan, place, lock),
    )


def _law(job: Job, plan: Plan, place: Place | None, lock: tuple[Check, ...]) -> tuple[Check, ...]:
    """Nothing, and nothing imported, unless somebody named a place."""
    if place is None:
        return ()
    from fitprofile.stages.law import law_checks

    return law_checks(job, plan, place, least_room(lock))


def least_room(lock: tuple[Check, ...]) -> float:
    """The least of the lock checks, mm; ``nan`` where none has a figure."""
    return min((one.value for one in lock if isfinite(one.value)), default=nan)


def front_end_check(job: Job, plan: Plan) -> Check:
    """How far the hands go up and back at once, which takes weight off the front wheel."""
    step = hand(plan.points).minus(hand(job.points))
    up, back = float(step.z), -float(step.x)
    both = max(min(up, back), 0.0)
    moved = f"hands {round(up)} mm up and {round(back)} back"
    still = both <= LIGHT + SAME
    why = (
        f"{moved}; from 30 to 40 of both the front gets light"
        if still
        else f"{moved}: weight leaves the front wheel; ride it gently first, and let somebody "
        "check sag and damping"
    )
    return held(
        "front_end",
        "front end: hands up and back at once",
        min(both, LIGHT) if still else both,
        LIGHT,
        why,
        sure=still or both > LIGHTER,
    )
