"""Stage 8n: which parts, not made yet, bring the numbers of a plan inside; mm and degrees."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Vec
from fitprofile.model.parts import Bar, Catalogue, ClipOn, Riser
from fitprofile.model.quantity import Reading
from fitprofile.stages.bar_rows import BarRows, bar_rows
from fitprofile.stages.bar_search import can_be_set
from fitprofile.stages.job import Job
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.options import Options, options_of
from fitprofile.stages.part_range import Grid
from fitprofile.stages.placement import BarShape
from fitprofile.stages.plan import Plan

CLAMP = 22.2
"""mm; clamp diameter where the bike's file gives none: then no bar is refused by it."""

BAR_NUMBERS = (
    *("navel_to_bar", "forearm_angle", "grip_above_peg", "grip_ahead_of_peg"),
    *("grip_tilt", "grip_sweep", "lever_angle"),
)
"""Numbers that the bar decides, sitting and standing."""


def risers_fit(job: Job, plan: Plan, grid: Grid) -> NDArray[np.bool_]:
    """Which moves of the bar, height and pullback, bring the bar's numbers inside."""
    bar = plan.choice.bar
    family = tuple(
        Riser(
            name="",
            height=Reading(float(h)),
            pullback=Reading(float(b)),
            clamp_diameter=None if bar is None else bar.clamp_diameter,
        )
        for h, b in grid
    )
    return _inside(job, plan, risers=family, bars=() if bar is None else (bar,))


def bars_fit(job: Job, plan: Plan, shape: BarShape, grid: Grid) -> NDArray[np.bool_]:
    """Which bars, rise and pullback, bring the bar's numbers inside."""
    width, sweep, tilt = (
        Reading(float(one)) for one in (2.0 * np.asarray(shape.out), shape.sweep, shape.tilt)
    )
    clamp = job.bike.handlebar.clamp_diameter or Reading(CLAMP)
    family = tuple(
        Bar(
            name="",
            width=width,
            rise=Reading(float(rise)),
            pullback=Reading(float(back)),
            backsweep=sweep,
            upsweep=tilt,
            clamp_diameter=clamp,
        )
        for rise, back in grid
    )
    return _inside(job, plan, risers=_moved_riser(plan), bars=family)


def clips_fit(job: Job, plan: Plan, grid: Grid, sweep: float, length: float) -> NDArray[np.bool_]:
    """Which clip-ons, offset and drop, bring the bar's numbers inside."""
    family = tuple(
        ClipOn(
            name="",
            offset=Reading(float(offset)),
            drop=Reading(float(drop)),
            sweep=Reading(sweep),
            length=Reading(length),
        )
        for offset, drop in grid
    )
    return _inside(job, plan, clip_ons=family)


def seats_fit(job: Job, plan: Plan, seats: Sequence[Vec]) -> NDArray[np.bool_]:
    """Under which seats the plan's own bar can be set so that what is inside stays so."""
    missing = {name.partition(".")[0] for name, off in plan.deviations.items() if abs(off) > INSIDE}
    if missing & set(BAR_NUMBERS):
        return np.ones(len(seats), dtype=bool)
    choice = plan.choice
    rows, own = _laid_out(
        job,
        plan,
        risers=_moved_riser(plan),
        bars=() if choice.bar is None else (choice.bar,),
        clip_ons=() if choice.clip_on is None else (choice.clip_on,),
    )
    return np.asarray(can_be_set(((job, 1.0),), rows, seats, own).any(axis=0))


def _inside(
    job: Job,
    plan: Plan,
    *,
    risers: tuple[Riser, ...] = (),
    bars: tuple[Bar, ...] = (),
    clip_ons: tuple[ClipOn, ...] = (),
) -> NDArray[np.bool_]:
    """Which of a family of parts bring the bar's numbers inside at some setting and lean.

    Rows are the family in its order; parts given beside it stand in every row. A width that is
    inside in the plan has to stay so.
    """
    rows, own = _laid_out(job, plan, risers=risers, bars=bars, clip_ons=clip_ons)
    width = abs(plan.deviations.get("bar_width", 0.0)) <= INSIDE
    seats = [plan.points.seat]
    return can_be_set(((job, 1.0),), rows, seats, own, width=width)[:, 0]


def _laid_out(
    job: Job,
    plan: Plan,
    *,
    risers: tuple[Riser, ...] = (),
    bars: tuple[Bar, ...] = (),
    clip_ons: tuple[ClipOn, ...] = (),
) -> tuple[BarRows, Sequence[int]]:
    """Rows of bars with the plan's extender, and those with a part of each family given."""
    ends = () if plan.choice.extender is None else (plan.choice.extender,)
    options = _bare_options(job)._replace(
        risers=(None, *risers), bars=(None, *bars), clip_ons=(None, *clip_ons)
    )
    options = options._replace(extenders=(*ends, *options.extenders)[:1])
    rows = bar_rows(((job, 1.0),), options, Catalogue())
    own = [
        index
        for index, (one, bar, clip, _) in enumerate(rows.parts)
        if rows.instead[index] < 0
        and (one is not None) == bool(risers)
        and (bar is not None) == bool(bars)
        and (clip is not None) == bool(clip_ons)
    ]
    return rows, own


def _moved_riser(plan: Plan) -> tuple[Riser, ...]:
    """The plan's riser as the move that it makes; empty where it fits none."""
    up, back = (Reading(move) for move in plan.riser_move_mm)
    fitted = plan.choice.riser is not None
    return (Riser(name="", height=up, pullback=back),) if fitted else ()


def _bare_options(job: Job) -> Options:
    """Nothing on offer."""
    return options_of(job.bike, Catalogue(), tube_taped=job.points.tube is not None)
