"""Stage 11a: a bike with the parts that were fitted to it since it was taped.

The log names them, in the words of the catalogue. What they move is what the plans say they move:
so a measurement after the work is read with the bar, the seat and the pegs that are on the bike,
and what is left is held against what these parts leave of the bike's bands.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from attrs import evolve

from fitprofile.model.bike import FREE, Bike, Lever
from fitprofile.model.parts import (
    WITHOUT,
    Catalogue,
    LeverSet,
    Part,
    PegPlate,
    Riser,
    Seat,
    made_for,
)
from fitprofile.stages.entries import Work
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.limits import bands_left, rest_of
from fitprofile.stages.moves import NO_CHANGES, PegMove
from fitprofile.stages.options import (
    options_of,
    peg_shift,
    riser_shift,
    seat_shift,
    without,
)
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.placement import clip_found
from fitprofile.stages.plan import Choice, Plan
from fitprofile.stages.plans import bare_plan, built
from fitprofile.stages.posture import Sides, numbers_on
from fitprofile.stages.survey import BikePoints


def choice_of(
    names: Sequence[str], bike: Bike, catalogue: Catalogue
) -> tuple[Choice, tuple[str, ...]]:
    """The parts that a log names as fitted.

    Parameters
    ----------
    names : sequence of str
        In the order in which they were fitted; a later part of a kind takes an earlier one's
        place. ``"without NAME"`` takes a riser, plates or a seat off, back to the maker's own; of
        another kind it says that what was taped is on the bike again.

    Returns
    -------
    choice : Choice
        ``None`` of a kind: what was on the bike as taped.
    lost : tuple of str
        Names that the catalogue does not list, or lists as made for the other kind of bar.
    """
    choice, lost = Choice(), []
    for name in names:
        listed = catalogue.named(name.removeprefix(WITHOUT))
        if listed is None or not made_for(listed[0], bike.handlebar.kind):
            lost.append(name)
            continue
        kind, part = listed
        off = name.startswith(WITHOUT)
        if isinstance(part, LeverSet):
            choice = evolve(choice, lever_sets=_levers_on(choice.lever_sets, part, off=off))
        else:
            on_it: dict[str, Any] = {kind: _taken_off(part) if off else part}
            choice = evolve(choice, **on_it)
    return choice, tuple(lost)


def _taken_off(part: Part) -> Part | None:
    """What stands for a part that was taken off; ``None``: what was taped is on the bike again."""
    return without(part) if isinstance(part, Riser | PegPlate | Seat) else None


def _levers_on(there: tuple[LeverSet, ...], new: LeverSet, *, off: bool) -> tuple[LeverSet, ...]:
    """Lever sets once one more is fitted or taken off, the newest first: it has the last word."""
    others = tuple(one for one in there if one.name != new.name)
    return others if off else (new, *others)


class Fitted(NamedTuple):
    """A transfer on the bike with the parts that a log names, and which those are.

    ``parts`` are the names of what the work left on the bike, ``None`` where it is not known;
    ``why_not`` says in a sentence why that is so although parts were named.
    """

    transfer: Transfer
    parts: tuple[str, ...] | None
    why_not: str = ""


NO_TUBE = (
    "where the new clip-ons stand cannot be told, as the spacing of the fork tubes was not taped; "
    "what is left counts from those that the bike was taped with: tape widths.tube"
)


def with_fitted(made: Transfer, work: Work, catalogue: Catalogue) -> Fitted:
    """A transfer whose job is on the bike with the parts that a log names as fitted.

    Its target has the lean that the plan carried out asks for. Neither is changed where nothing is
    said of the parts, or a name cannot be told.
    """
    if work.parts is None:
        return Fitted(made, None)
    choice, lost = choice_of(work.parts, made.bike, catalogue)
    if lost:
        return Fitted(made, None)
    if choice.clip_on is not None and made.points.tube is None:
        return Fitted(made, None, NO_TUBE)
    target = made.target
    if np.isfinite(work.lean_deg):
        target = evolve(target, lean_deg=work.lean_deg)
    job = as_fitted(evolve(made.job, target=target), choice, catalogue)
    made = evolve(made, job=job, target=target)
    return Fitted(made, tuple(part.name for part in choice.parts()))


def as_fitted(job: Job, choice: Choice, catalogue: Catalogue) -> Job:
    """The rider on the bike with parts fitted, nothing set yet; mm and degrees.

    Parameters
    ----------
    job : Job
        On the bike as taped.
    choice : Choice
        From `choice_of`.

    Returns
    -------
    Job
        A new bar stands as drawn with the grips at its ends, perches on it are free and turned
        nowhere yet. The bike's bands count from there; a turn of the clip-ons that its file asks
        for counts as made.
    """
    options = options_of(job.bike, catalogue, tube_taped=job.points.tube is not None)
    plan = bare_plan(
        job,
        choice,
        seat=seat_shift(choice.seat, options.fitted_seat),
        pegs=peg_shift(choice.peg_plate, options.fitted_peg_plate),
        riser=riser_shift(choice.riser, options.fitted_riser),
    )
    points = built(job, plan, job.points, job.rake)
    new_bar = choice.bar is not None or choice.clip_on is not None
    angles = Sides(np.nan, np.nan) if new_bar else job.now.lever_angle_deg
    return evolve(
        job,
        points=points,
        now=numbers_on(job.rider, job.target.lean_deg, points, angles, job.now.lever_reach_mm),
        bike=_bike(job, choice, plan, points, new_bar=new_bar),
    )


def _bike(job: Job, choice: Choice, plan: Plan, points: BikePoints, *, new_bar: bool) -> Bike:
    """What the parts leave of the bike's bands, and what they bring of their own."""
    height, pullback = plan.riser_move_mm
    ahead, up = plan.peg_move_mm
    moved = evolve(
        NO_CHANGES,
        riser_height_mm=height,
        riser_pullback_mm=pullback,
        clip_offset_mm=_offset_change(job, points) if choice.clip_on is not None else 0.0,
        peg_move_mm=PegMove(ahead, up),
    )
    bike = bands_left(job.bike, moved)
    levers = {
        side: _lever(getattr(bike.levers, side), choice.levers_of(side), new_bar=new_bar)
        for side in SIDES
    }
    return evolve(
        bike,
        allows=evolve(bike.allows, seat=rest_of(bike.allows.seat, plan.seat_move_mm[1])),
        levers=evolve(bike.levers, **levers),
        clip_turn=None,
    )


def _offset_change(job: Job, points: BikePoints) -> float:
    """How much further behind the fork tubes the axes of new clip-ons pass, mm."""
    before, after = (clip_found(at, job.rake) for at in (job.points, points))
    return 0.0 if before is None or after is None else float(after.offset - before.offset)


def _lever(lever: Lever | None, fitted: LeverSet | None, *, new_bar: bool) -> Lever | None:
    """A lever as it is on the new bar, with the adjuster of a new set."""
    if lever is None:
        return None
    if new_bar:
        lever = evolve(lever, perch=FREE, rotation=None)
    return lever if fitted is None else evolve(lever, reach_range=fitted.reach_range)
