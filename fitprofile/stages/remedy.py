"""Stage 8k: which part, listed or not, would bring a number inside that every plan leaves out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from attrs import evolve
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Real, Vec
from fitprofile.model.parts import Catalogue
from fitprofile.stages import moves
from fitprofile.stages.adjust import riser
from fitprofile.stages.bar_rows import fitted_length
from fitprofile.stages.job import SIDES, Job, Stands
from fitprofile.stages.misfit import INSIDE, knee_misfit
from fitprofile.stages.options import Options, kept_kinds, options_of
from fitprofile.stages.part_range import (
    FINE,
    ROUGH,
    Figure,
    kept,
    longest_run,
    plus,
    span_of,
    steps,
)
from fitprofile.stages.placement import (
    BarShape,
    ClipShape,
    bar_as_drawn,
    clip_found,
    drawn_bar,
    slide_to_width,
    with_bar,
    with_clip,
)
from fitprofile.stages.plan import Plan
from fitprofile.stages.search import on_pegs
from fitprofile.stages.survey import BikePoints
from fitprofile.stages.tried_parts import BAR_NUMBERS, bars_fit, clips_fit, risers_fit, seats_fit

RISERS = (-40.0, 80.0)
PULLBACKS = (-20.0, 40.0)
PLATES = (-60.0, 60.0)
SEATS = (-60.0, 80.0)
"""mm looked through where the bike's file sets no band: what is sold for any bike (estimate)."""

WIDTHS = (400.0, 1200.0)
"""mm; every bar that there is."""

LONGEST = 150.0
"""mm; the longest extender that there is. A longer one than is needed is not slid out so far."""

RISES, BAR_PULLBACKS = (-60.0, 300.0), (-30.0, 350.0)
OFFSETS, DROPS = (-60.0, 60.0), (-60.0, 60.0)
"""mm of bars and clip-ons beyond which none is made (estimate)."""


class Remedy(NamedTuple):
    """A part that would mend some numbers.

    Parameters
    ----------
    kind : str
        Of `fitprofile.model.bike.PART_KINDS`.
    figures : mapping of str to (float, float)
        Ranges of its figures by the catalogue's names, mm and degrees; both ends mend it.
    mends : tuple of str
        Numbers that come inside.
    """

    kind: str
    figures: Mapping[str, tuple[float, float]]
    mends: tuple[str, ...]


def remedies(job: Job, plan: Plan, catalogue: Catalogue) -> tuple[Remedy, ...]:
    """Parts that would bring inside what a plan leaves outside, each on its own.

    Parameters
    ----------
    plan : Plan
        The closest one; its other parts stay as they are.
    catalogue : Catalogue
        Where the parts that are fitted already are looked up.

    Returns
    -------
    tuple of Remedy
        One for each group of numbers that misses and that one part this bike takes can mend;
        empty where there is none, or where nothing misses.

    Notes
    -----
    Hypothetical parts round the exact answer, judged by the search itself: settings and lean are
    free. Of a part with two figures one is told as a range, the other as the exact answer has it.
    """
    missing = [name for name, value in plan.deviations.items() if abs(value) > INSIDE]
    groups = {name.partition(".")[0] for name in missing}
    options = options_of(job.bike, catalogue, tube_taped=job.points.tube is not None)
    found: list[Remedy | None] = []
    bar = tuple(name for name in missing if name.partition(".")[0] in BAR_NUMBERS)
    allows = evolve(job.bike.allows, keep=tuple(sorted(kept_kinds(job.bike, catalogue))))
    job = evolve(job, bike=evolve(job.bike, allows=allows))
    job = on_pegs(((job, 1.0),), plan.peg_move_mm)[0][0]
    if bar:
        found.append(_bar(job, plan, options, bar))
    if "bar_width" in groups:
        found.append(_width(job, plan, catalogue))
    if "knee_angle" in groups:
        found.append(_knee(job, plan, options))
    found += [_reach(job, side) for side in SIDES if f"lever_reach.{side}" in missing]
    return tuple(one for one in found if one is not None and one.kind not in allows.keep)


def _bar(job: Job, plan: Plan, options: Options, mends: tuple[str, ...]) -> Remedy | None:
    """A riser, or else a bar of another bend; on clip-ons, other clip-ons."""
    if job.clip_on:
        return _clip_on(job, plan, mends)
    made = None
    if "riser" not in job.bike.allows.keep:
        made = _riser(job, plan, options, mends)
    return made or _bend(job, plan, mends)


def _riser(job: Job, plan: Plan, options: Options, mends: tuple[str, ...]) -> Remedy | None:
    """Heights of a riser, at the pullback of the exact answer in whole steps."""
    allows, fitted, (height, pullback) = job.bike.allows, options.fitted_riser, plan.riser_move_mm
    own = (0.0, 0.0) if fitted is None else (fitted.height.value, fitted.pullback.value)
    up, back = _exact(job, moves.raise_bar(plan.points, -height, -pullback, job.rake))
    found = span_of(
        Figure.of_move(up, allows.riser or RISERS, own[0]),
        Figure.of_move(back, allows.pullback or PULLBACKS, own[1]),
        lambda grid: risers_fit(job, plan, [(h - own[0], b - own[1]) for h, b in grid]),
    )
    if found is None:
        return None
    figures = {"height": found[0], "pullback": (found[1], found[1])}
    return Remedy(kind="riser", figures=figures, mends=mends)


def _exact(job: Job, points: BikePoints) -> tuple[float, float]:
    """Riser height and pullback (or slide and offset) from these points; 0 where there is none."""
    if job.stands is not None:
        return _to_place(job.stands, points, job.rake)
    up, back = riser(job.rider, job.target, points, job.rake)
    return float(np.nan_to_num(up)), float(np.nan_to_num(back))


def _to_place(stands: Stands, points: BikePoints, rake: float) -> tuple[float, float]:
    """The same for grips that are wanted at a place above the pegs."""
    ahead = float(stands.peg.x + stands.ahead_mm - points.grip_end.x)
    above = float(stands.peg.z + stands.above_mm - points.grip_end.z)
    up, back = moves.clamp_axes(rake)
    return ahead * float(up.x) + above * float(up.z), ahead * float(back.x) + above * float(back.z)


def _bend(job: Job, plan: Plan, mends: tuple[str, ...]) -> Remedy | None:
    """A bar with the wished sweep and tilt: rises, at the pullback of the exact answer."""
    if "bar" in job.bike.allows.keep:
        return None
    target, shape = job.target, bar_as_drawn(plan.points)
    if plan.choice.bar is not None:
        shape = drawn_bar(plan.choice.bar)
    width = _wished(target.bar_width_mm, plan.after.bar_width_mm)
    # Whole figures, as they are told.
    wished = BarShape(
        ahead=shape.ahead,
        out=0.5 * round(kept(width, job.bike.allows.bar_width or WIDTHS)),
        up=shape.up,
        tilt=float(round(_wished(target.grip_tilt_deg, shape.tilt))),
        sweep=float(round(_wished(target.grip_sweep_deg, shape.sweep))),
    )
    moved = evolve(job.points, seat=plan.points.seat, clamp=plan.points.clamp)
    bare = with_bar(moved, wished)
    up, back = _exact(job, bare)
    c, s = np.cos(np.radians(job.rake)), np.sin(np.radians(job.rake))
    rise = float(wished.up + up * c - back * s)
    pullback = float(-wished.ahead + up * s + back * c)
    found = span_of(
        Figure(rise, RISES),
        Figure(pullback, BAR_PULLBACKS),
        lambda grid: bars_fit(job, plan, wished, grid),
    )
    if found is None:
        return None
    figures = {
        "rise": found[0],
        "pullback": (found[1], found[1]),
        "backsweep": (float(wished.sweep),) * 2,
        "upsweep": (float(wished.tilt),) * 2,
        "width": (2.0 * float(wished.out),) * 2,
    }
    return Remedy(kind="bar", figures=figures, mends=mends)


def _wished(wish: Real, own: Real) -> float:
    """What is wished, or what is there where nothing is."""
    return float(own if np.isnan(wish) else wish)


def _clip_on(job: Job, plan: Plan, mends: tuple[str, ...]) -> Remedy | None:
    """Offsets of clip-ons with the wished sweep, at the drop of the exact answer."""
    found = clip_found(job.points, job.rake)
    if found is None or "clip_on" in job.bike.allows.keep:
        return None
    shape = clip_found(plan.points, job.rake) or found
    sweep = float(shape.sweep)
    wish = float(job.target.grip_sweep_deg)
    if np.isfinite(wish):
        sweep += wish - float(plan.after.grip_sweep_deg)
    width = _wished(job.target.bar_width_mm, plan.after.bar_width_mm)
    longer = float(slide_to_width(plan.points, width))
    sweep, length = float(round(sweep)), float(round(float(shape.length) + longer))
    bent = ClipShape(shape.offset, shape.drop, shape.droop, sweep, length)
    up, back = _exact(job, with_clip(plan.points, bent, job.rake))
    span = span_of(
        Figure(float(shape.offset) + back, OFFSETS),
        Figure(float(shape.drop) - up, DROPS),
        lambda grid: clips_fit(job, plan, grid, sweep, length),
    )
    if span is None:
        return None
    figures = {
        "offset": span[0],
        "drop": (span[1], span[1]),
        "sweep": (sweep, sweep),
        "length": (length, length),
    }
    return Remedy(kind="clip_on", figures=figures, mends=mends)


def _width(job: Job, plan: Plan, catalogue: Catalogue) -> Remedy | None:
    """Lengths of extenders, in place of the ones that are on it, that bring the width inside."""
    target, slack = float(job.target.bar_width_mm), job.tolerances["bar_width"]
    short = target - float(plan.after.bar_width_mm)
    band = job.bike.allows.bar_width
    if short < 0.0 or (band is not None and band[1] < target - slack):
        return None
    axis = plan.points.grip_end.minus(plan.points.grip_inner)
    share = float(axis.y) / float(np.sqrt(axis.x**2 + axis.y**2 + axis.z**2))
    own = 0.0
    if plan.choice.extender is not None:
        own = plan.choice.extender.length.value
    if plan.choice.bar is None and plan.choice.clip_on is None:
        own += fitted_length(job, catalogue)
    least = float(np.ceil((short - slack) / (2.0 * share) + own))
    return Remedy(kind="extender", figures={"length": (least, LONGEST)}, mends=("bar_width",))


def _knee(job: Job, plan: Plan, options: Options) -> Remedy | None:
    """Heights of peg plates, or else of a seat, that bring the knee angle inside."""
    allows, points = job.bike.allows, job.points
    if "peg_plate" not in allows.keep:
        plate = options.fitted_peg_plate
        x, z = (0.0, 0.0) if plate is None else (plate.x.value, plate.z.value)
        ups = steps(plus(allows.peg_up or PLATES, z), FINE)
        aheads = steps(plus(allows.peg_ahead or PLATES, x), ROUGH)
        for ahead in sorted(aheads.tolist(), key=lambda one: abs(one - x)):
            peg = points.peg.plus(Vec(ahead - x, 0.0, ups - z))
            span = longest_run(ups, _knees_fit(job, evolve(points, seat=plan.points.seat, peg=peg)))
            if span is not None:
                figures = {"z": span, "x": (ahead, ahead)}
                return Remedy(kind="peg_plate", figures=figures, mends=("knee_angle",))
    if "seat" not in allows.keep:
        own = 0.0 if options.fitted_seat is None else options.fitted_seat.z.value
        ahead = 0.0 if options.fitted_seat is None else options.fitted_seat.x.value
        ups = steps(plus(allows.seat or SEATS, own), FINE)
        seat = points.seat.plus(Vec(-ahead, 0.0, ups - own))
        fits = _knees_fit(job, evolve(points, seat=seat, peg=plan.points.peg))
        some = np.flatnonzero(fits)
        each = [Vec(seat.x, 0.0, float(np.asarray(seat.z)[index])) for index in some]
        fits[some] = seats_fit(job, plan, each) if len(some) else fits[some]
        span = longest_run(ups, fits)
        if span is not None:
            return Remedy(kind="seat", figures={"z": span}, mends=("knee_angle",))
    return None


def _knees_fit(job: Job, points: BikePoints) -> NDArray[np.bool_]:
    return np.abs(knee_misfit(job, points)) <= INSIDE


def _reach(job: Job, side: str) -> Remedy:
    """Reaches that an adjuster has to come to, at least one of them."""
    wish = float(getattr(job.target.lever_reach_mm, side))
    slack = job.tolerances["lever_reach"]
    return Remedy(
        kind="lever_set",
        figures={"reach": (wish - slack, wish + slack)},
        mends=(f"lever_reach.{side}",),
    )
