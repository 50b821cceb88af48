"""Stage 8i: widths at which a bar comes inside that does so neither as it is nor at the wish.

A bar's width is moved inside its own tolerance alone, where that brings the others inside theirs.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.minima import smallest_in_box
from fitprofile.geometry.vectors import Floats, Vec
from fitprofile.model.parts import Catalogue
from fitprofile.stages.bar_grids import (
    COARSE,
    ROUGH,
    Coarse,
    Free,
    bends_can_be_inside,
    coarse_of,
    free_of,
)
from fitprofile.stages.bar_rows import SEEN, BarRows, at_widths
from fitprofile.stages.bar_search import Lead, groups_of, pinned_of, seat_table
from fitprofile.stages.bar_setting import Bars, Uses, far_of, over_of, worst_of
from fitprofile.stages.misfit import INSIDE

A_MM = 0.08
"""Tolerances by which 1 mm of slide moves any misfit at most, of the arms and bars that there are
(estimate; with widths tried one by one the tests find nothing that it leaves out)."""

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
    never = np.zeros((len(rows.new), len(seats)), dtype=bool)
    # What is inside nowhere with its pins freed is so nowhere with them in.
    for every, freed in sorted(groups_of(rows, pinned_of(jobs)), key=lambda one: -len(one[1])):
        index = every[rows.instead[every] < 0]
        row, seat = np.tile(index, len(seats)), np.repeat(np.arange(len(seats)), len(index))
        open_ = rows.room[1, row] - rows.room[0, row] > SEEN
        open_ &= ~lead.inside(freed)[row, seat] & ~never[row, seat]
        # Where pegs or levers cannot be inside no bar makes a fit; free adjustments are apart.
        open_ &= (lead.rest.price[seat] < np.inf) | (rows.own[row] & (seat == 0))
        if not open_.any():
            continue
        bars = Bars(jobs, rows, row[open_], seat[open_], table, catalogue.labour, freed=freed)
        bars = bars.some(np.flatnonzero(lead.may_beat(bars) & ~_slid_inside(bars, lead)))
        never[bars.row, bars.seat] = True
        bars = bars.some(_near(bars))
        if len(bars.row):
            slid, hit = _slides(bars)
            found += slid
            never[bars.row[hit], bars.seat[hit]] = False
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
    # And again with each misfit as small as a slide inside the room makes it.
    some = bars.some(kept)
    coarse = coarse_of(some, free, COARSE)
    here, _ = some.shown(*free.read(coarse.places[:, None, :]))
    low, high = ([misfit for misfit, _ in here] for _ in range(2))
    for end in some.rows.room[:, some.row]:
        by = (end - some.rows.slide_mm[some.row])[:, None]
        there, _ = some.slid(by).shown(*free.read(coarse.places[:, None, :]))
        low = [np.minimum(was, now) for was, (now, _) in zip(low, there, strict=True)]
        high = [np.maximum(was, now) for was, (now, _) in zip(high, there, strict=True)]
    least = np.zeros_like(coarse.worst)
    for down, up in zip(low, high, strict=True):
        least = np.maximum(least, np.maximum(np.maximum(down, -up), 0.0))
    return kept[coarse.least(least) <= INSIDE]


def _slides(bars: Bars) -> tuple[list[tuple[int, float, bool]], NDArray[np.bool_]]:
    """Row and slide of each bar that is inside at another width; outward, if it is so that way.

    And whether that is a free adjustment: the bike's own bar under its own seat, no pin freed. Also
    which of the bars these are, (n,) bool.
    """
    free = free_of(bars, bars.jobs[0][0].limits.lean)
    ways, count = _Ways.of(bars, free), len(bars.row)
    shares = np.stack(
        [line.ravel() for line in np.meshgrid(*[np.linspace(0, 1, FIRST)] * ways.sides)]
    )
    places = ways.low[..., None] + shares[:, None, :] * (ways.high - ways.low)[..., None]
    far, worst = ways.off(places)
    coarse = Coarse(free, shares, worst, far)
    kept = np.flatnonzero(coarse.may_be_inside() & (ways.low < ways.high)[0])
    if not len(kept):
        return [], np.zeros(count, dtype=bool)
    best = np.take_along_axis(places, np.argmin(coarse.over(), axis=1)[None, :, None], axis=2)
    cell = (ways.high - ways.low) / (FIRST - 1)
    some, best, cell = ways.some(kept), best[:, kept, 0], cell[:, kept]
    place, _ = smallest_in_box(
        lambda q: over_of(*some.off(q)),
        np.maximum(best - cell, some.low),
        np.minimum(best + cell, some.high),
        first=LATER,
        later=LATER,
        zooms=ZOOMS - 1,
    )
    slide, inside = np.zeros(2 * count), np.zeros(2 * count, dtype=bool)
    slide[kept], inside[kept] = place[0], some.off(place[..., None])[1][:, 0] <= INSIDE
    inside[count:] &= ~inside[:count]
    both = ways.bars
    own = bars.rows.own[both.row] & (both.seat == 0) & (not bars.freed)
    slid = list(zip(*(one[inside].tolist() for one in (both.row, slide, own)), strict=True))
    return slid, inside[:count] | inside[count:]


class _Ways(NamedTuple):
    """Bars twice, their grips to be slid outward and inward, and the box of each, (sides, 2 n)."""

    bars: Bars
    free: Free
    low: Floats
    high: Floats

    @classmethod
    def of(cls, bars: Bars, free: Free) -> _Ways:
        low, high = bars.rows.room[:, bars.row]
        ways = (
            np.concatenate([np.maximum(low, 0.0), low]),
            np.concatenate([high, np.minimum(high, 0.0)]),
        )
        ends = [ways, *((np.full_like(ways[0], a), np.full_like(ways[0], b)) for a, b in free.ends)]
        lower = np.array([one[0] for one in ends])
        upper = np.array([np.maximum(*one) for one in ends])
        return cls(bars.some(np.tile(np.arange(len(bars.row)), 2)), free, lower, upper)

    @property
    def sides(self) -> int:
        """How many things are free."""
        return len(self.low)

    def some(self, kept: NDArray[np.int_]) -> _Ways:
        """Fewer of them."""
        return self._replace(
            bars=self.bars.some(kept), low=self.low[:, kept], high=self.high[:, kept]
        )

    def off(self, places: Floats) -> tuple[Floats, Floats]:
        """Score and worst misfit at slides, settings and leans (sides, 2 n, k), (2 n, k) each."""
        at = self.bars.rows.slide_mm[self.bars.row][:, None]
        misfits, _ = self.bars.slid(places[0] - at).shown(*self.free.read(places[1:]))
        return far_of(misfits), worst_of(misfits)
