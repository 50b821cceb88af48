"""Stage 8f: every bar that a bike can have from the catalogue, a row each, grips at their width.

Rows are risers x bars x extenders, or clip-ons x extenders, as arrays; mm and degrees.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np
from attrs import evolve
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Floats, Real, Vec
from fitprofile.model.parts import Bar, Catalogue, ClipOn, Extender, Riser
from fitprofile.model.quantity import Band
from fitprofile.stages import moves
from fitprofile.stages.job import Job
from fitprofile.stages.limits import USUAL
from fitprofile.stages.misfit import INSIDE, between, score, width_misfit
from fitprofile.stages.options import Options, bar_fits, riser_shift
from fitprofile.stages.placement import (
    BarShape,
    ClipShape,
    clip_found,
    drawn_bar,
    drawn_clip,
    slide_to_width,
    with_bar,
    with_clip,
)
from fitprofile.stages.survey import BikePoints

ROOM_TO_ROLL = (-USUAL["bar_roll"], USUAL["bar_roll"])
"""Degrees that a bar is rolled at most where its bike's file sets no band."""

ROOM_TO_SLIDE = (0.0, 30.0)
"""mm that clip-ons slide up their tubes where the bike's file sets no band (common practice)."""

Priced = Riser | Bar | ClipOn | Extender

SEEN = 0.5
"""mm of slide below which no grip is moved."""


class BarRows(NamedTuple):
    """Every combination of bar parts, fields (rows,); the first row is what is on the bike.

    ``points`` stand at setting 0 with the grips slid by ``slide_mm`` (from the ends of a new bar);
    ``table`` (9, rows) holds grip end, grip inner and clamp of them, x, y and z of each in turn.
    ``width`` is the largest misfit of the bar width among the uses, ``width_far`` their score
    together. ``own`` marks rows without a part, ``new`` those with another bar or clip-on; ``undo``
    counts what cannot be taken back. A width inside tolerance is left alone; ``instead`` names the
    row that one stands in for whose grips are slid to the wish all the same, -1 for all others.
    ``room`` (2, rows) are the least and largest slide with which the width is inside every
    tolerance, as far as tube and bike allow; ``nan`` where there is none.
    """

    parts: tuple[tuple[Riser | None, Bar | None, ClipOn | None, Extender | None], ...]
    points: BikePoints
    table: Floats
    slide_mm: Floats
    room: Floats
    width: Floats
    width_far: Floats
    own: NDArray[np.bool_]
    new: NDArray[np.bool_]
    instead: NDArray[np.int_]
    price: Floats
    minutes: Floats
    pieces: Floats
    undo: Floats
    band: Band


def bar_rows(jobs: Sequence[tuple[Job, float]], options: Options, catalogue: Catalogue) -> BarRows:
    """Rows for one bike with the grips at the wished width where the bar allows it.

    Parameters
    ----------
    jobs : sequence of (Job, float)
        One for each use with its weight, adding up to 1.

    Notes
    -----
    An extender that does not make the bar wider, nearer to the wish, is no row: the same numbers
    come cheaper without it. One in place of a fitted one counts by what it is longer. A new bar
    narrower than the bike takes is no row either.
    """
    job = jobs[0][0]
    base, heads = as_asked(job), options.clip_ons if job.clip_on else options.bars
    ri, bi, ei = _combinations(job, options)
    points = _lifted(_shaped(job, base, heads, bi), job, options, ri)
    longer = np.array([0.0 if one is None else one.length.value for one in options.extenders])
    on_it = np.where((bi == 0) & (ei > 0), fitted_length(job, catalogue), 0.0)
    longer_by = longer[ei] - on_it
    slide, full, room = _slides(jobs, base, points, bi > 0, longer_by)
    wide = 2.0 * np.asarray(moves.slide_grips(points, slide).grip_end.y)
    width, far = _widths(jobs, wide)
    bare = ei == 0
    less_far, wider = (np.repeat(one[bare], len(longer)) for one in (far, wide))
    allows = job.bike.allows.bar_width
    narrow = (bi > 0) & (wide < (allows[0] if allows else 0.0) - SEEN)
    kept = np.flatnonzero((bare | ((far < less_far) & (wide > wider))) & ~narrow)
    spare = np.flatnonzero(np.abs(full - slide)[kept] > SEEN)
    slide = np.concatenate([slide[kept], full[kept[spare]]])
    instead = np.concatenate([np.full(len(kept), -1), spare])
    kept = np.concatenate([kept, kept[spare]])
    room = room[:, kept]
    points = moves.slide_grips(_rows_of(points, kept), slide)
    width, far = _widths(jobs, 2.0 * np.asarray(points.grip_end.y))
    chosen = ri, bi, ei = (ri[kept], bi[kept], ei[kept])
    new = bi > 0
    parts: list[Sequence[Priced | None]] = [options.risers, heads, options.extenders]
    labour, undo = _work(job, catalogue, slide, new, ei == 0)
    return BarRows(
        parts=tuple(
            (
                options.risers[i],
                None if job.clip_on else options.bars[j],
                options.clip_ons[j] if job.clip_on else None,
                options.extenders[k],
            )
            for i, j, k in zip(ri.tolist(), bi.tolist(), ei.tolist(), strict=True)
        ),
        points=points,
        table=_table(points, len(ri)),
        slide_mm=slide,
        room=room,
        width=width,
        width_far=far,
        own=(ri == 0) & (bi == 0) & (ei == 0),
        new=new,
        instead=instead,
        price=_sum(parts, chosen, lambda part: part.price.value),
        minutes=_sum(parts, chosen, lambda part: part.minutes.value) + labour,
        pieces=_sum(parts, chosen, lambda _: 1.0),
        undo=undo,
        band=setting_band(job),
    )


def at_widths(
    jobs: Sequence[tuple[Job, float]],
    rows: BarRows,
    catalogue: Catalogue,
    instead: NDArray[np.int_],
    slide: Floats,
    own: NDArray[np.bool_],
) -> BarRows:
    """The same rows and more: some of them once more with the grips slid by other amounts, mm.

    ``own``: whether it is a free adjustment of the bike's own bar.
    """
    job = jobs[0][0]
    end, inner, clamp = (Vec(*rows.table[k : k + 3, instead]) for k in (0, 3, 6))
    points = evolve(rows.points, grip_end=end, grip_inner=inner, clamp=clamp)
    points = moves.slide_grips(points, slide - rows.slide_mm[instead])
    width, far = _widths(jobs, 2.0 * np.asarray(points.grip_end.y))
    bare = np.array([rows.parts[index][3] is None for index in instead])
    was, _ = _work(job, catalogue, rows.slide_mm[instead], rows.new[instead], bare)
    labour, undo = _work(job, catalogue, slide, rows.new[instead], bare)
    more: dict[str, Any] = {
        "slide_mm": slide,
        "width": width,
        "width_far": far,
        "minutes": rows.minutes[instead] - was + labour,
        "undo": undo,
        "instead": instead,
        "table": _table(points, len(instead)),
        "own": own,
        **{name: getattr(rows, name)[..., instead] for name in ("room", "new", "price")},
        "pieces": rows.pieces[instead],
    }
    table = np.concatenate([rows.table, more["table"]], axis=1)
    joined: dict[str, Any] = {
        name: np.concatenate([getattr(rows, name), add], axis=-1) for name, add in more.items()
    }
    ends = [Vec(*table[k : k + 3]) for k in (0, 3, 6)]
    return rows._replace(
        parts=(*rows.parts, *(rows.parts[index] for index in instead)),
        points=evolve(rows.points, grip_end=ends[0], grip_inner=ends[1], clamp=ends[2]),
        **joined,
    )


def _table(points: BikePoints, count: int) -> Floats:
    """(9, rows): see `BarRows`."""
    return np.stack(
        [
            np.broadcast_to(np.asarray(part, dtype=np.float64), (count,))
            for point in (points.grip_end, points.grip_inner, points.clamp)
            for part in point
        ]
    )


def _work(
    job: Job,
    catalogue: Catalogue,
    slide: Floats,
    new: NDArray[np.bool_],
    bare: NDArray[np.bool_],
) -> tuple[Floats, Floats]:
    """Minutes of sliding the grips, and what that and a new bar undo, (rows,) each."""
    moved = np.abs(slide) > SEEN
    labour = np.where(moved & ~new & bare, catalogue.labour.slide.value, 0.0)
    pins = ((moved & ~new) | new) & job.bike.handlebar.pins
    return labour, (slide < -SEEN).astype(float) + pins


def fitted_length(job: Job, catalogue: Catalogue) -> float:
    """Length of the extender that is on the bike's own bar, mm."""
    name = job.bike.fitted.extender
    return next((one.length.value for one in catalogue.extenders if one.name == name), 0.0)


def _widths(jobs: Sequence[tuple[Job, float]], width: Floats) -> tuple[Floats, Floats]:
    """Largest misfit of a bar width over the uses, and their weighted score, (rows,) each."""
    misfits = [width_misfit(job, width) for job, _ in jobs]
    far = sum(weight * score(misfit) for misfit, (_, weight) in zip(misfits, jobs, strict=True))
    worst = misfits[0]
    for misfit in misfits[1:]:
        worst = np.where(np.abs(misfit) > np.abs(worst), misfit, worst)
    return worst, np.asarray(far)


def _combinations(
    job: Job, options: Options
) -> tuple[NDArray[np.int_], NDArray[np.int_], NDArray[np.int_]]:
    """Index of riser, bar (or clip-on) and extender of each row; those on the bike first."""
    if job.clip_on:
        pairs = [(0, index) for index in range(len(options.clip_ons))]
    else:
        pairs = [
            (r, b)
            for r, riser in enumerate(options.risers)
            for b, bar in enumerate(options.bars)
            if (r == 0 and b == 0) or bar_fits(job.bike, riser, bar, options.fitted_riser)
        ]
    table = np.array(pairs)
    ends = np.arange(len(options.extenders))
    ri, bi = np.repeat(table, len(ends), axis=0).T
    return ri, bi, np.tile(ends, len(table))


def setting_band(job: Job) -> Band:
    """Band of the free setting: roll of a bar, degrees, or slide of clip-ons, mm."""
    if job.clip_on:
        return job.bike.allows.clip_slide or ROOM_TO_SLIDE
    return job.bike.handlebar.roll or ROOM_TO_ROLL


def as_asked(job: Job) -> BikePoints:
    """The bike as found, its clip-ons turned where its file asks for that; mm."""
    turn = 0.0 if job.bike.clip_turn is None else job.bike.clip_turn.value
    return moves.turn_clips(job.points, turn if job.clip_on else 0.0, job.rake)


def set_to(job: Job, points: BikePoints, setting: Real) -> BikePoints:
    """Bar rolled by ``setting`` degrees, or clip-ons slid up their tubes by as many mm."""
    if job.clip_on:
        return moves.raise_bar(points, setting, 0.0, job.rake)
    return moves.roll_bar(points, setting)


def _shaped(
    job: Job,
    base: BikePoints,
    heads: Sequence[Bar | ClipOn | None],
    index: NDArray[np.int_],
) -> BikePoints:
    """Grips of each row's bar or clip-on in the clamps as found; the first is on the bike."""
    found = clip_found(base, job.rake)
    bars = [drawn_bar(head) for head in heads if isinstance(head, Bar)]
    clips = [drawn_clip(head, found) for head in heads if isinstance(head, ClipOn) and found]
    made = [base]
    if bars:
        made.append(with_bar(base, BarShape(*np.array(bars).T)))
    if clips:
        made.append(with_clip(base, ClipShape(*np.array(clips, dtype=np.float64).T), job.rake))
    return evolve(
        base,
        grip_end=_picked([one.grip_end for one in made], index),
        grip_inner=_picked([one.grip_inner for one in made], index),
    )


def _picked(points: Sequence[Vec], index: NDArray[np.int_]) -> Vec:
    """One point a row, from points whose components are numbers or arrays of them."""
    return Vec(
        *(
            np.concatenate([np.atleast_1d(np.asarray(part, dtype=np.float64)) for part in parts])[
                index
            ]
            for parts in zip(*points, strict=True)
        )
    )


def _rows_of(points: BikePoints, kept: NDArray[np.int_]) -> BikePoints:
    """Some rows of the bar's points."""
    end, inner, clamp = (
        Vec(*(part[kept] if isinstance(part, np.ndarray) and part.ndim else part for part in point))
        for point in (points.grip_end, points.grip_inner, points.clamp)
    )
    return evolve(points, grip_end=end, grip_inner=inner, clamp=clamp, tube=None)


def _lifted(points: BikePoints, job: Job, options: Options, index: NDArray[np.int_]) -> BikePoints:
    """Each row's bar on its riser."""
    shifts = np.array([riser_shift(one, options.fitted_riser) for one in options.risers])[index]
    return moves.raise_bar(points, shifts[:, 0], shifts[:, 1], job.rake)


def _slides(
    jobs: Sequence[tuple[Job, float]],
    base: BikePoints,
    points: BikePoints,
    new: NDArray[np.bool_],
    longer: Floats,
) -> tuple[Floats, Floats, Floats]:
    """Slide of the grips to the width that serves the uses best, as far as tube and bike allow.

    First as it is done, 0 where the width is inside every tolerance already; then in any case;
    then the least and largest that leave it inside. Where no use wishes a width, only what the
    bike does not take is cut off.
    """
    job = jobs[0][0]
    wishes = [float(one.target.bar_width_mm) for one, _ in jobs]
    width = between(wishes, [weight for _, weight in jobs], job.tolerances["bar_width"])
    allows = job.bike.allows.bar_width
    axis = np.asarray(moves.grip_axis(points).y)
    here = 2.0 * np.asarray(points.grip_end.y)
    tube = np.where(new, here, max(2.0 * float(base.grip_end.y), allows[1] if allows else 0.0))
    widest = tube + 2.0 * longer * axis
    if allows is not None:
        widest = np.minimum(widest, np.maximum(allows[1], np.where(new, 0.0, here)))
    width = np.where(np.isnan(width), here, width)
    wished = np.minimum(np.maximum(width, allows[0] if allows else 0.0), widest)
    inside = np.all([np.abs(width_misfit(one, here)) <= INSIDE for one, _ in jobs], axis=0)
    stays = inside & (longer == 0.0) & (~new | (here <= widest))
    full = np.asarray(slide_to_width(points, wished))
    slack, asked = job.tolerances["bar_width"], [wish for wish in wishes if np.isfinite(wish)]
    least = max([allows[0] if allows else 0.0, *(wish - slack for wish in asked)])
    most = np.minimum(widest, min((wish + slack for wish in asked), default=-np.inf))
    ends = np.where(least <= most, [np.full_like(most, least), most], np.nan)
    return np.where(stays, 0.0, full), full, np.asarray(slide_to_width(points, ends))


def _sum(
    kinds: list[Sequence[Priced | None]],
    chosen: Sequence[NDArray[np.int_]],
    figure: Callable[[Priced], float],
) -> Floats:
    """Sum over the kinds of a figure of each row's parts."""
    total = np.zeros(len(chosen[0]))
    for parts, index in zip(kinds, chosen, strict=True):
        total += np.array([0.0 if part is None else figure(part) for part in parts])[index]
    return total
