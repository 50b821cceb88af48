"""Stage 9c: the transfer as a plan leaves it, and the checks of the bike as it was found."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from attrs import evolve

from fitprofile.errors import WARNING, Problem
from fitprofile.model.rider import BALL
from fitprofile.stages import linkage as body
from fitprofile.stages.check import Check
from fitprofile.stages.clearance import workshop_checks
from fitprofile.stages.linkage import at_ball
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.moves import Changes, PegMove, SeatRaise
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Choice, Plan
from fitprofile.stages.plans import bare_plan
from fitprofile.stages.posture import calf_contact
from fitprofile.stages.practical import Practical
from fitprofile.stages.work_findings import STILL, apart, find_of_plan, find_of_work


def as_planned(transfer: Transfer, plan: Plan) -> Transfer:
    """The same transfer with a plan in place of the practical answer.

    Parameters
    ----------
    transfer : Transfer
    plan : Plan
        One of its own.

    Returns
    -------
    Transfer
        ``practical`` is what the plan leads to (its ``at_limit`` is empty: parts have no stops),
        ``contact_after`` the room between calf and hamstring once it is done, ``chance`` the
        plan's own; of the problems, those that speak of the practical answer are told anew of
        the plan, or left to its workshop checks. The exact answer stays.
    """
    ball = transfer.linkage if transfer.cockpit.foot == BALL else at_ball(transfer.linkage)
    outside = tuple(name for name, misfit in plan.deviations.items() if abs(misfit) > INSIDE)
    planned = evolve(
        transfer,
        practical=Practical(
            changes=_changes(transfer, plan),
            after=plan.after,
            points=plan.points,
            leave=tuple(name for name in plan.leave if name not in outside),
            missed=outside,
            found_outside=transfer.practical.found_outside,
        ),
        contact_after=calf_contact(ball, plan.points, transfer.body.girth_excess_mm),
        chance=float(plan.chance),
    )
    return evolve(planned, problems=_problems(transfer, planned, plan))


def _problems(transfer: Transfer, planned: Transfer, plan: Plan) -> tuple[Problem, ...]:
    """The same problems, but those of the work are the plan's; what stays keeps its line."""
    new_bar = plan.choice.bar is not None or plan.choice.clip_on is not None
    told = (*_still(transfer, plan), *find_of_plan(planned, new_bar=new_bar))
    texts = {one.text for one in told}
    old = {one.text for one in find_of_work(transfer)} - texts
    kept = [one for one in transfer.problems if one.text not in old]
    known = {one.text for one in kept}
    return (*kept, *(one for one in told if one.text not in known))


def _still(transfer: Transfer, plan: Plan) -> Iterator[Problem]:
    """Hands that do not reach the grips even when a plan is done."""
    joint = body.shoulder(transfer.linkage, plan.points.seat, plan.after.lean_deg)
    far = float(body.out_of_reach(transfer.linkage, joint, body.hand(plan.points)))
    if far:
        yield Problem(
            f"after this work the grips are still {apart(far)} for the rider's arms: no listed "
            "part brings them to the rider",
            STILL,
            transfer.bike.file,
            level=WARNING,
        )


def checks_as_found(transfer: Transfer) -> tuple[Check, ...]:
    """Workshop checks of the bike before anything is done to it; no law is looked at."""
    still = bare_plan(transfer.job, Choice())
    return workshop_checks(transfer.job, transfer.body, still, None)


def _changes(transfer: Transfer, plan: Plan) -> Changes:
    """A plan's settings under the names of changes; a new bar's own roll is none of the bike's."""
    ahead, up = plan.peg_move_mm
    height, pullback = (np.nan, np.nan) if transfer.clip_on else plan.riser_move_mm
    new = plan.choice.bar is not None or plan.choice.clip_on is not None
    return Changes(
        bar_width_change_mm=float(plan.after.bar_width_mm) - float(transfer.now.bar_width_mm),
        grip_slide_mm=plan.grip_slide_mm,
        bar_roll_deg=0.0 if new and not transfer.clip_on else plan.roll_deg,
        riser_height_mm=height,
        riser_pullback_mm=pullback,
        clip_turn_deg=transfer.exact.clip_turn_deg,
        clip_slide_mm=plan.clip_slide_mm,
        clip_offset_mm=0.0 if transfer.clip_on else np.nan,
        lever_rotation_deg=plan.lever_rotation_deg,
        lever_reach_change_mm=plan.lever_reach_change_mm,
        peg_move_mm=PegMove(x=ahead, z=up),
        with_seat_raise=SeatRaise(seat_raise_mm=np.nan),
    )
