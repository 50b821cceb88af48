"""A bike after the work: what a plan did, written into the bike as it now is found."""

from __future__ import annotations

from math import isnan

from attrs import evolve

from fitprofile.model.bike import PART_KINDS, Allows, Fitted, Lever, Levers
from fitprofile.model.quantity import Band
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.plan import Plan


def applied(job: Job, plan: Plan) -> Job:
    """The same rider on the bike with a plan carried out."""
    bike, bar = job.bike, job.bike.handlebar
    return evolve(
        job,
        points=plan.points,
        now=plan.after,
        bike=evolve(
            bike,
            fitted=_fitted(bike.fitted, plan),
            handlebar=bar if job.clip_on else evolve(bar, roll=_moved(bar.roll, plan.roll_deg)),
            allows=_allows(job, plan),
            levers=Levers(
                **{side: _lever(getattr(bike.levers, side), plan, side) for side in SIDES}
            ),
        ),
    )


def _moved(band: Band | None, by: float) -> Band | None:
    """A band of change, counted from where things are now."""
    return None if band is None else (band[0] - by, band[1] - by)


def _fitted(fitted: Fitted, plan: Plan) -> Fitted:
    """Names of what is on the bike now; a new bar came without the old one's extender."""
    now: dict[str, str | None] = {}
    if plan.choice.bar is not None or plan.choice.clip_on is not None:
        now["extender"] = None
    for kind in PART_KINDS:
        # A file names one set alone, so two that are bought are told by their levers' figures.
        sets = plan.choice.lever_sets
        only = sets[0] if len(sets) == 1 else None
        part = only if kind == "lever_set" else getattr(plan.choice, kind)
        if part is not None:
            now[kind] = None if part.name.startswith("without ") else part.name
    return evolve(fitted, **now)


def _allows(job: Job, plan: Plan) -> Allows:
    """Bands of change from where things are now; a new bar ends where it ends."""
    allows, choice = job.bike.allows, plan.choice
    width = allows.bar_width
    if width is not None and (choice.bar or choice.clip_on or choice.extender) is not None:
        width = (width[0], max(width[0], min(width[1], 2.0 * float(plan.points.grip_end.y))))
    return evolve(
        allows,
        bar_width=width,
        riser=_moved(allows.riser, plan.riser_move_mm[0]),
        pullback=_moved(allows.pullback, plan.riser_move_mm[1]),
        clip_slide=_moved(allows.clip_slide, plan.clip_slide_mm),
        peg_ahead=_moved(allows.peg_ahead, plan.peg_move_mm[0]),
        peg_up=_moved(allows.peg_up, plan.peg_move_mm[1]),
        seat=_moved(allows.seat, plan.seat_move_mm[1]),
    )


def _lever(lever: Lever | None, plan: Plan, side: str) -> Lever | None:
    """A lever with what is left of its perch's band, and the adjuster it now has."""
    if lever is None:
        return None
    turn, bought = float(getattr(plan.lever_rotation_deg, side)), plan.choice.levers_of(side)
    if not isnan(turn):
        lever = evolve(lever, rotation=_moved(lever.rotation, turn))
    if bought is not None:
        lever = evolve(lever, reach_range=bought.reach_range)
    return lever
