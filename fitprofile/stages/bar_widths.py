"""Stage 8i: widths at which a bar comes inside that does so neither as it is nor at the wish.

A bar's width is moved inside its own tolerance alone, where that brings the others inside theirs.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.minima import smallest_in_box
from fitprofile.geometry.vectors import Floats, Vec
from fitprofile.model.parts import Catalogue
from fitprofile.stages.bar_grids import (
    COARSE,
    ROUGH,
    bends_can_be_inside,
    coarse_of,
    free_of,
)
from fitprofile.stages.bar_rows import SEEN, BarRows, at_widths
from fitprofile.stages.bar_search import Lead, groups_of, pinned_of, seat_table
from fitprofile.stages.bar_setting import Bars, Uses, far_of, over_of, worst_of
from fitprofile.stages.misfit import INSIDE

A_MM = 0.08
"""Tolerances by which 1 mm of slide moves any misfit at most, of the arms and bars that there are:
measured against widths tried one by one in the tests."""

FIRST, LATER, ZOOMS = 7, 5, 5
"""Grids over width, setting and lean: points a side; how many later ones, each twice as fine."""


def with_widths(
    jobs: Uses,
    rows: BarRows,
    seats: Sequence[Vec],
    catalogue: Catalogue,
    lead: Lead,
) -> BarRows:
    """The same rows, and with them bars at a width that brings them inside.

    Parameters
    ----------
    seats : sequence of triples of float
        Sit points, mm.
    lead : Lead
        What was found of these rows: only bars that are inside in no way yet, and that may be as
        cheap or as quick as the best so far, are looked at.

    Notes
    -----
    Over width, setting and lean together; grips that go outward, which undoes nothing, first.
    """
    table, found = seat_table(seats), list[tuple[int, float, bool]]()
    for every, freed in groups_of(rows, pinned_of(jobs)):
        index = every[rows.instead[every] < 0]
        row, seat = np.tile(index, len(seats)), np.repeat(np.arange(len(seats)), len(index))
        open_ = rows.room[1, row] - rows.room[0, row] > SEEN
        open_ &= ~lead.inside(freed)[row, seat]
        # Where pegs or levers cannot be inside no bar makes a fit; free adjustments are apart.
        open_ &= (lead.rest.price[seat] < np.inf) | (rows.own[row] & (seat == 0))
        if not open_.any():
            continue
        bars = Bars(jobs, rows, row[open_], seat[open_], table, catalogue.labour, freed=freed)
        bars = bars.some(np.flatnonzero(lead.may_beat(bars) & ~_slid_inside(bars, lead)))
        bars = bars.some(_near(bars))
        if len(bars.row):
            found += _slides(bars)
    if not found:
        return rows
    instead, slides, own = (np.array(one) for one in zip(*sorted(set(found)), strict=True))
    return at_widths(jobs, rows, catalogue, instead, slides, own)


def _slid_inside(bars: Bars, lead: Lead) -> NDArray[np.bool_]:
    """(n,) bool: bars of which one that stands in for them was inside."""
    spare = np.flatnonzero(bars.rows.instead >= 0)
    inside = np.zeros_like(lead.inside(bars.freed))
    np.logical_or.at(inside, bars.rows.instead[spare], lead.inside(bars.freed)[spare])
    return np.asarray(inside[bars.row, bars.seat])


def _reach(bars: Bars) -> Floats:
    """How far each bar's grips may be slid, in tolerances of what that moves, (n,)."""
    rows = bars.rows
    return np.asarray(A_MM * np.abs(rows.room[:, bars.row] - rows.slide_mm[bars.row]).max(axis=0))


def _near(bars: Bars) -> NDArray[np.int_]:
    """Bars that a slide inside their room may bring inside."""
    if not len(bars.row):
        return np.arange(0)
    kept = np.flatnonzero(bends_can_be_inside(bars))
    free = free_of(bars, bars.jobs[0][0].limits.lean)
    for count in (ROUGH, COARSE) if len(free.ends) > 1 else (COARSE,):
        if len(kept):
            some = bars.some(kept)
            coarse = coarse_of(some, free, count)
            kept = kept[coarse.least(coarse.worst) <= INSIDE + _reach(some)]
    if not len(kept):
        return kept
    # And again with what a slide to either end of the room moves each misfit.
    some = bars.some(kept)
    coarse = coarse_of(some, free, COARSE)
    here, _ = some.shown(*free.read(coarse.places[:, None, :]))
    moved = np.zeros_like(coarse.worst)
    for end in some.rows.room[:, some.row]:
        by = (end - some.rows.slide_mm[some.row])[:, None]
        there, _ = some.slid(by).shown(*free.read(coarse.places[:, None, :]))
        for (was, _), (now, _) in zip(here, there, strict=True):
            moved = np.maximum(moved, np.abs(now - was))
    return kept[coarse.least(coarse.worst - moved) <= INSIDE]


def _slides(bars: Bars) -> list[tuple[int, float, bool]]:
    """Row and slide of each bar that is inside at another width; outward, if it is so that way.

    And whether that is a free adjustment: the bike's own bar under its own seat, no pin freed.
    """
    low, high = bars.rows.room[:, bars.row]
    out, count = np.maximum(low, 0.0), len(bars.row)
    low, high = np.concatenate([out, low]), np.concatenate([high, np.minimum(high, 0.0)])
    free = free_of(bars, bars.jobs[0][0].limits.lean)
    both = bars.some(np.tile(np.arange(count), 2))
    at = bars.rows.slide_mm[both.row][:, None]

    def off(places: Floats) -> tuple[Floats, Floats]:
        misfits, _ = both.slid(places[0] - at).shown(*free.read(places[1:]))
        return far_of(misfits), worst_of(misfits)

    ends = [(low, high), *((np.full_like(low, a), np.full_like(low, b)) for a, b in free.ends)]
    place, _ = smallest_in_box(
        lambda q: over_of(*off(q)),
        np.array([one[0] for one in ends]),
        np.array([np.maximum(*one) for one in ends]),
        first=FIRST,
        later=LATER,
        zooms=ZOOMS,
    )
    inside = (off(place[:, :, None])[1][:, 0] <= INSIDE) & (low < high)
    inside[count:] &= ~inside[:count]
    own = bars.rows.own[both.row] & (both.seat == 0) & (not bars.freed)
    found = (both.row, place[0], own)
    return list(zip(*(one[inside].tolist() for one in found), strict=True))
