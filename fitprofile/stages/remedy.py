"""Stage 8j: which part, listed or not, would bring a number inside that every plan leaves out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from attrs import evolve
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Floats, Vec
from fitprofile.model.parts import Bar, Catalogue, ClipOn, Riser
from fitprofile.model.quantity import Band, Reading
from fitprofile.stages import moves
from fitprofile.stages.adjust import riser
from fitprofile.stages.bar_rows import bar_rows
from fitprofile.stages.bar_search import can_be_set
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.misfit import INSIDE, knee_misfit
from fitprofile.stages.options import Options, kept_kinds, options_of
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
from fitprofile.stages.survey import BikePoints

RISERS = (-40.0, 80.0)
PULLBACKS = (-20.0, 40.0)
PLATES = (-60.0, 60.0)
SEATS = (-60.0, 80.0)
"""mm looked through where the bike's file sets no band: what is sold for any bike (estimate)."""

RISES, BAR_PULLBACKS = (-60.0, 300.0), (-30.0, 350.0)
OFFSETS, DROPS = (-60.0, 60.0), (-60.0, 60.0)
"""mm of bars and clip-ons beyond which none is made (estimate)."""

CLAMP = 22.2
"""mm; clamp diameter where the bike's file gives none: then no bar is refused by it."""

ROOM = 40.0
"""mm round the exact answer that a part's figure is looked through."""

FINE, ROUGH = 1.0, 5.0
"""mm between two figures looked at: the one that is told as a range, and the other."""


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


BAR_NUMBERS = ("navel_to_bar", "forearm_angle", "grip_tilt", "grip_sweep", "lever_angle")


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
    if bar:
        found.append(_bar(job, plan, options, bar))
    if "bar_width" in groups:
        found.append(_width(job, plan))
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
    allows, (height, pullback) = job.bike.allows, plan.riser_move_mm
    up, back = _exact(job, moves.raise_bar(plan.points, -height, -pullback, job.rake))
    pullback = _kept(_step(back), allows.pullback or PULLBACKS)
    heights = _steps(_near(up, allows.riser or RISERS), FINE)
    span = _range(heights, _risers_fit(job, plan, [(h, pullback) for h in heights]))
    if span is None:
        return None
    fitted = options.fitted_riser
    own = (0.0, 0.0) if fitted is None else (fitted.height.value, fitted.pullback.value)
    figures = {"height": _plus(span, own[0]), "pullback": _plus((pullback, pullback), own[1])}
    return Remedy(kind="riser", figures=figures, mends=mends)


def _exact(job: Job, points: BikePoints) -> tuple[float, float]:
    """Riser height and pullback (or slide and offset) from these points; 0 where there is none."""
    up, back = riser(job.rider, job.target, points, job.rake)
    return float(np.nan_to_num(up)), float(np.nan_to_num(back))


def _step(value: float) -> float:
    """The nearest whole step."""
    return round(value / ROUGH) * ROUGH


def _kept(value: float, band: Band) -> float:
    """The nearest figure inside a band."""
    return min(max(value, band[0]), band[1])


def _near(value: float, band: Band) -> Band:
    """What of a band lies round a figure; its nearer end where nothing does."""
    return _kept(value - ROOM, band), _kept(value + ROOM, band)


def _risers_fit(job: Job, plan: Plan, grid: Sequence[tuple[float, float]]) -> NDArray[np.bool_]:
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


def _bend(job: Job, plan: Plan, mends: tuple[str, ...]) -> Remedy | None:
    """A bar with the wished sweep and tilt: rises, at the pullback of the exact answer."""
    if "bar" in job.bike.allows.keep:
        return None
    target, shape = job.target, bar_as_drawn(plan.points)
    if plan.choice.bar is not None:
        shape = drawn_bar(plan.choice.bar)
    wished = BarShape(
        ahead=shape.ahead,
        out=0.5 * float(target.bar_width_mm),
        up=shape.up,
        tilt=float(target.grip_tilt_deg),
        sweep=float(shape.sweep if np.isnan(target.grip_sweep_deg) else target.grip_sweep_deg),
    )
    moved = evolve(job.points, seat=plan.points.seat, clamp=plan.points.clamp)
    bare = with_bar(moved, wished)
    up, back = _exact(job, bare)
    c, s = np.cos(np.radians(job.rake)), np.sin(np.radians(job.rake))
    rise = float(wished.up + up * c - back * s)
    pullback = _kept(_step(float(-wished.ahead + up * s + back * c)), BAR_PULLBACKS)
    rises = _steps(_near(rise, RISES), FINE)
    span = _range(rises, _bars_fit(job, plan, wished, [(r, pullback) for r in rises]))
    if span is None:
        return None
    figures = {
        "rise": span,
        "pullback": (pullback, pullback),
        "backsweep": (float(wished.sweep),) * 2,
        "upsweep": (float(wished.tilt),) * 2,
        "width": (2.0 * float(wished.out),) * 2,
    }
    return Remedy(kind="bar", figures=figures, mends=mends)


def _bars_fit(
    job: Job, plan: Plan, shape: BarShape, grid: Sequence[tuple[float, float]]
) -> NDArray[np.bool_]:
    """Which bars, rise and pullback, bring the bar's numbers inside."""
    family = tuple(
        Bar(
            name="",
            width=Reading(2.0 * float(shape.out)),
            rise=Reading(float(rise)),
            pullback=Reading(float(back)),
            backsweep=Reading(float(shape.sweep)),
            upsweep=Reading(float(shape.tilt)),
            clamp_diameter=job.bike.handlebar.clamp_diameter or Reading(CLAMP),
        )
        for rise, back in grid
    )
    up, back = (Reading(move) for move in plan.riser_move_mm)
    fitted = plan.choice.riser is not None
    risers = (Riser(name="", height=up, pullback=back),) if fitted else ()
    return _inside(job, plan, risers=risers, bars=family)


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
    length = float(shape.length) + float(slide_to_width(plan.points, job.target.bar_width_mm))
    bent = ClipShape(shape.offset, shape.drop, shape.droop, sweep, length)
    up, back = _exact(job, with_clip(plan.points, bent, job.rake))
    offset, drop = float(shape.offset) + back, _kept(_step(float(shape.drop) - up), DROPS)
    offsets = _steps(_near(offset, OFFSETS), FINE)
    span = _range(offsets, _clips_fit(job, plan, [(o, drop) for o in offsets], sweep, length))
    if span is None:
        return None
    figures = {
        "offset": span,
        "drop": (drop, drop),
        "sweep": (sweep, sweep),
        "length": (length, length),
    }
    return Remedy(kind="clip_on", figures=figures, mends=mends)


def _clips_fit(
    job: Job, plan: Plan, grid: Sequence[tuple[float, float]], sweep: float, length: float
) -> NDArray[np.bool_]:
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


def _inside(
    job: Job,
    plan: Plan,
    *,
    risers: tuple[Riser, ...] = (),
    bars: tuple[Bar, ...] = (),
    clip_ons: tuple[ClipOn, ...] = (),
) -> NDArray[np.bool_]:
    """Which of a family of parts bring the bar's numbers inside at some setting and lean.

    Rows are the family in its order; parts given beside it stand in every row.
    """
    ends = () if plan.choice.extender is None else (plan.choice.extender,)
    options = _bare_options(job)._replace(
        risers=(None, *risers), bars=(None, *bars), clip_ons=(None, *clip_ons)
    )
    options = options._replace(extenders=(*ends, *options.extenders)[:1])
    rows = bar_rows(((job, 1.0),), options, Catalogue())
    wanted = [
        index
        for index, (one, bar, clip, _) in enumerate(rows.parts)
        if (one is not None) == bool(risers)
        and (bar is not None) == bool(bars)
        and (clip is not None) == bool(clip_ons)
    ]
    return can_be_set(((job, 1.0),), rows, plan.points.seat, wanted)


def _bare_options(job: Job) -> Options:
    """Nothing on offer."""
    return options_of(job.bike, Catalogue(), tube_taped=job.points.tube is not None)


def _width(job: Job, plan: Plan) -> Remedy | None:
    """Lengths of extenders, or widths of a bar, that bring the bar width inside."""
    short = float(job.target.bar_width_mm) - float(plan.after.bar_width_mm)
    band = job.bike.allows.bar_width
    if short < 0.0 or (band is not None and band[1] < plan.after.bar_width_mm + 1.0):
        return None
    slack = job.tolerances["bar_width"]
    axis = plan.points.grip_end.minus(plan.points.grip_inner)
    share = float(axis.y) / float(np.sqrt(axis.x**2 + axis.y**2 + axis.z**2))
    own = 0.0 if plan.choice.extender is None else plan.choice.extender.length.value
    span = ((short - slack) / (2.0 * share) + own, short / (2.0 * share) + own)
    return Remedy(kind="extender", figures={"length": span}, mends=("bar_width",))


def _knee(job: Job, plan: Plan, options: Options) -> Remedy | None:
    """Heights of peg plates, or else of a seat, that bring the knee angle inside."""
    allows, points = job.bike.allows, job.points
    if "peg_plate" not in allows.keep:
        ups = _steps(allows.peg_up or PLATES, FINE)
        for ahead in sorted(_steps(allows.peg_ahead or PLATES, ROUGH), key=abs):
            peg = points.peg.plus(Vec(float(ahead), 0.0, ups))
            span = _range(ups, _knees_fit(job, evolve(points, seat=plan.points.seat, peg=peg)))
            if span is not None:
                plate = options.fitted_peg_plate
                x, z = (0.0, 0.0) if plate is None else (plate.x.value, plate.z.value)
                figures = {"z": _plus(span, z), "x": _plus((float(ahead), float(ahead)), x)}
                return Remedy(kind="peg_plate", figures=figures, mends=("knee_angle",))
    if "seat" not in allows.keep:
        ups = _steps(allows.seat or SEATS, FINE)
        seat = points.seat.plus(Vec(0.0, 0.0, ups))
        span = _range(ups, _knees_fit(job, evolve(points, seat=seat, peg=plan.points.peg)))
        if span is not None:
            own = 0.0 if options.fitted_seat is None else options.fitted_seat.z.value
            return Remedy(kind="seat", figures={"z": _plus(span, own)}, mends=("knee_angle",))
    return None


def _plus(span: tuple[float, float], own: float) -> tuple[float, float]:
    """A range of moves as figures of a part, what is fitted counted in."""
    return span[0] + own, span[1] + own


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


def _steps(band: Band, step: float) -> Floats:
    """Figures from one end of a band to the other, whole steps from zero and both ends."""
    inner = np.arange(np.ceil(band[0] / step), np.floor(band[1] / step) + 1.0) * step
    return np.array(sorted({*inner.tolist(), *map(float, band)}))


def _range(values: Floats, fits: NDArray[np.bool_]) -> tuple[float, float] | None:
    """Longest run of values that fit; ``None`` where none does."""
    best: tuple[int, int] | None = None
    for start, end in _runs(fits):
        if best is None or end - start > best[1] - best[0]:
            best = start, end
    return None if best is None else (float(values[best[0]]), float(values[best[1]]))


def _runs(fits: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """First and last index of each run of fits."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], fits, [False]]).astype(int)))
    for start, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        yield start, end - 1
