"""Stage 8i: bars set as near to the wish as they go, of those that may be in the closest plan.

What is inside its tolerance may still be set all the way to the wish: levers are turned, grips
slid and the rider leans where that is nearer. Arrays of rows x places.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.minima import smallest_in_box
from fitprofile.geometry.vectors import Floats, Vec
from fitprofile.model.parts import Labour
from fitprofile.stages.bar_grids import COARSE, FEW, ROUGH, coarse_of, free_of, least_bend
from fitprofile.stages.bar_rows import BarRows
from fitprofile.stages.bar_search import (
    Lead,
    inside_at_all,
    kinds_of,
    pinned_of,
    seat_table,
    with_pins_out,
)
from fitprofile.stages.bar_setting import Bars, Levers, SetBars, Uses, far_of, over_of, worst_of
from fitprofile.stages.misfit import INSIDE

STEP = 0.1
"""Score that no rider feels: what is farther than the least by no more counts as equally close."""

CHUNK = 1_000
"""Rows worked on at once: with a grid over setting and lean they fill the processor's cache."""

ROUNDING = 1e-3
"""Score that a smallest value found on grids may lie above the true one."""

FEW_AT_ONCE = 16
"""Bars that are set at once: what these come to may rule out the others."""

ZOOMS = 3
"""Grids after the first, each four times as fine as the one before: to 0.03 of 16 degrees."""

BEFORE_ANY_PRICE = 1e9
"""Price of what cannot be undone: it decides before any price of parts."""


class Sought(NamedTuple):
    """What is looked for: the best by the keys of all that comes within `STEP` of the least score.

    Parameters
    ----------
    rest : (seats,) float
        Least score of all but the bar under each seat; ``inf`` where it cannot be.
    paid, free : (seats,) float
        Price of what has that score, and the least price that there is under each seat.
    fits : bool
        Whether only what is inside every tolerance counts.
    """

    rest: Floats
    paid: Floats
    free: Floats
    fits: bool


class _Running(NamedTuple):
    """Bars that may still be in the plan, and below what the score of each cannot fall.

    ``place`` (sides, n) is where the smallest score of each is looked for, ``key`` (n,) what it
    costs at least: what cannot be undone, then the price.
    """

    bars: Bars
    bound: Floats
    place: Floats
    key: Floats

    def some(self, kept: NDArray[np.int_]) -> _Running:
        return _Running(self.bars.some(kept), self.bound[kept], self.place[:, kept], self.key[kept])


class NearestBars:
    """Candidates for the closest plan, and for free adjustments where none is inside.

    Parameters
    ----------
    seats : sequence of triples of float
        Sit points, mm.
    lead : Lead
        What `set_bars` found.
    known : sequence of SetBars
        The same: candidates that there are already.

    Notes
    -----
    First `reached`, then `near`, told the least score of any plan. Nothing that cannot be undone
    is done for a number that is inside its tolerance: no pin is freed, and no bar cut, for less.
    """

    def __init__(
        self,
        jobs: Uses,
        rows: BarRows,
        seats: Sequence[Vec],
        labour: Labour,
        lead: Lead,
        sought: Sought,
        known: Sequence[SetBars],
    ) -> None:
        self.jobs, self.rows, self.labour = jobs, rows, labour
        self.table, self.lead, self.sought = seat_table(seats), lead, sought
        self.least = np.inf
        self._running: list[_Running] = []
        self._seen: list[tuple[Floats, Floats]] = []
        for one in known:
            self._note(one)

    def reached(self) -> Iterator[SetBars]:
        """What may have the least score of all, all its levers set and the rider free to lean."""
        rows, count = self.rows, len(self.table)
        for index, freed in kinds_of(rows, pinned_of(self.jobs), np.ones_like(rows.new)):
            row, seat = np.tile(index, count), np.repeat(np.arange(count), len(index))
            offered = np.flatnonzero(self._offered(row, seat, freed))
            for start in range(0, len(offered), CHUNK):
                part = offered[start : start + CHUNK]
                bars = Bars(
                    self.jobs, rows, row[part], seat[part], self.table, self.labour, freed=freed
                )
                self._running.append(self._narrowed(bars))
        for number, one in enumerate(self._running):
            left, exact, size = np.argsort(one.bound, kind="stable"), one.bound.copy(), FEW_AT_ONCE
            while len(left := left[one.bound[left] <= self.least]):
                kept, left, size = left[:size], left[size:], 2 * size
                made = self._deepened(one.some(kept))
                yield with_pins_out(made)
                exact[kept] = np.maximum(one.bound[kept], self._totals(made) - ROUNDING)
            self._running[number] = one._replace(bound=exact)

    def near(self, least: float) -> Iterator[SetBars]:
        """What comes within `STEP` of the least and may cost as little as what is known to.

        Each bar in every way: as it stands and set; in the rider's own lean and leaned; and on the
        bike's own bar with each group of levers left as the bar carries them, the others being
        turned to the wish.
        """
        self.least = least
        for one in self._running:
            order = np.argsort(one.key, kind="stable")
            order = order[self._wanted(one.some(order))]
            for start in range(0, len(order), FEW_AT_ONCE):
                part = order[start : start + FEW_AT_ONCE]
                part = part[self._wanted(one.some(part))]
                if len(part):
                    yield from self._settled(one.some(part).bars)

    def _offered(
        self, row: NDArray[np.int_], seat: NDArray[np.int_], freed: Levers
    ) -> NDArray[np.bool_]:
        """(n,) bool: bars that may be in the plan; slid for nearness alone they undo no more."""
        rows, needed = self.rows, self.lead.needed(row, seat, freed)
        no_more = rows.undo[row] <= rows.undo[rows.instead[row]]
        fine = (np.abs(rows.width[row]) <= INSIDE) | (not self.sought.fits) | rows.own[row]
        return np.asarray((needed | no_more) & fine)

    def _beside(self, row: NDArray[np.int_], seat: NDArray[np.int_]) -> Floats:
        """Score of a bar's width and of all but the bar, (n,)."""
        return np.asarray(self.rows.width_far[row] + self.sought.rest[seat])

    def _totals(self, made: SetBars) -> Floats:
        """Score of each candidate with the nearest of all else, (n,); ``inf``: not in a plan."""
        far = made.far + self._beside(made.row, made.seat)
        inside = (made.worst <= INSIDE) & (np.abs(self.rows.width[made.row]) <= INSIDE)
        return np.where(inside | (not self.sought.fits), far, np.inf)

    def _note(self, made: SetBars) -> None:
        """Count candidates in."""
        if not len(made.row):
            return
        total = self._totals(made)
        self.least = min(self.least, float(total.min()))
        price = self.rows.price[made.row] + self.sought.paid[made.seat]
        undo = self.rows.undo[made.row] + made.undo
        self._seen.append((total, undo * BEFORE_ANY_PRICE + price))

    def _wanted(self, one: _Running) -> NDArray[np.bool_]:
        """(n,) bool: bars that may lie near enough and cost no more than what is known to."""
        best = min(
            float(np.min(key[total <= self.least + STEP], initial=np.inf))
            for total, key in self._seen
        )
        near = (one.bound <= self.least + STEP) & (one.key <= best)
        return np.asarray(near | self._own_free(one.bars))

    def _own_free(self, bars: Bars) -> NDArray[np.bool_]:
        """(n,) bool: the bike's own bar under its own seat, where that is inside in no way.

        Free adjustments are then the nearest that there are, whatever is on the shelf.
        """
        own = self.rows.own[bars.row] & (bars.seat == 0) & (not bars.freed)
        return np.asarray(own & ~self._in_any_way(bars))

    def _in_any_way(self, bars: Bars) -> NDArray[np.bool_]:
        return np.asarray(self.lead.inside(bars.freed)[bars.row, bars.seat])

    def _bounded(self, bars: Bars) -> NDArray[np.bool_]:
        """(n,) bool: what has to be inside; the bike's own bar as near as it goes, if it cannot."""
        own = self.rows.own[bars.row] & ~self._in_any_way(bars)
        return np.asarray(~own & self.sought.fits)

    def _narrowed(self, bars: Bars) -> _Running:
        """Bars that may come within `STEP` of the least score."""
        rows, fits = self.rows, self.sought.fits
        # On a new bar every pin is freed.
        freed = max(pinned_of(bars.jobs), key=len, default=()) if bars.is_new else bars.freed
        key = rows.undo[bars.row] + len(freed)
        key = key * BEFORE_ANY_PRICE + rows.price[bars.row] + self.sought.free[bars.seat]
        bound = least_bend(bars) + self._beside(bars.row, bars.seat)
        one = _Running(bars, bound, np.zeros((1, len(bound))), key)
        band = bars.jobs[0][0].limits.lean
        rough = band is not None and len(bars.row) > FEW
        for count in (ROUGH, COARSE) if rough else (COARSE,):
            near = (one.bound <= self.least + STEP) | self._own_free(one.bars)
            one = one.some(np.flatnonzero(near))
            if not len(one.bound):
                break
            coarse = coarse_of(one.bars, free_of(one.bars, band), count)
            beside = self._beside(one.bars.row, one.bars.seat)
            bound, reached = coarse.least(coarse.far) + beside, coarse.far
            if fits:
                bound = np.where(coarse.may_be_inside(), bound, np.inf)
                reached = np.where(coarse.worst <= INSIDE, coarse.far, np.inf)
            bound = np.where(self._cut_in_vain(one.bars, bound), np.inf, bound)
            if not one.bars.freed:
                within = ((np.abs(rows.width[one.bars.row]) <= INSIDE) | (not fits)) & (
                    bound < np.inf
                )
                total = reached.min(axis=1) + beside
                self.least = min(self.least, float(np.min(total[within], initial=np.inf)))
            values = np.where(self._bounded(one.bars)[:, None], coarse.over(), coarse.far)
            one = one._replace(bound=bound, place=coarse.places[:, np.argmin(values, axis=1)])
        return one

    def _cut_in_vain(self, bars: Bars, bound: Floats) -> NDArray[np.bool_]:
        """(n,) bool: bars that undo more than left as wide as they are, and are inside so too.

        Of those that are near enough; what `set_bars` left out is set here.
        """
        rows, instead = self.rows, self.rows.instead[bars.row]
        more = (instead >= 0) & (rows.undo[bars.row] > rows.undo[instead])
        doubt = np.flatnonzero(more & (bound <= self.least + STEP))
        vain = np.zeros(len(bound), dtype=bool)
        if len(doubt):
            vain[doubt] = inside_at_all(bars.others(instead[doubt], bars.seat[doubt]))
        return vain

    def _deepened(self, one: _Running) -> SetBars:
        """Every bar where its score is smallest, all levers set and the rider free to lean."""
        bars = one.bars
        ends = np.array(free_of(bars, bars.jobs[0][0].limits.lean).ends)
        cell = np.diff(ends) / (COARSE - 1)
        low = np.maximum(one.place - cell, ends[:, :1])
        high = np.minimum(one.place + cell, ends[:, 1:])
        made = _with(bars, *_smallest(bars, self._bounded(bars), low, high, ZOOMS - 1))
        self._note(with_pins_out(made))
        return made

    def _settled(self, bars: Bars) -> Iterator[SetBars]:
        """Bars in every way: what is free set to the smallest score, inside where it has to be."""
        groups = bars.groups()
        if bars.freed:
            # What is freed is turned: with its lever left alone it is the bar with the pin in.
            groups = groups[[not bars.holds_freed(group) for group in groups]]
        row = np.tile(np.arange(len(bars.row)), len(groups))
        bars = bars.some(row, np.repeat(groups, len(bars.row), axis=0))
        band, still = bars.jobs[0][0].limits.lean, (0.0, 0.0)
        own, settings = (bars.own_lean, bars.own_lean), bars.rows.band
        if not bars.is_new:
            stands = _with(bars, np.zeros(len(bars.row)), np.full(len(bars.row), own[0]))
            self._note(with_pins_out(stands))
            yield with_pins_out(stands)
        ways = [(settings, own)]
        if band is not None:
            ways += [(settings, band), *([] if bars.is_new else [(still, band)])]
        count = len(bars.row)
        bars = bars.some(np.tile(np.arange(count), len(ways)))
        sides = 1 if band is None else 2
        low, high = np.repeat(np.array(ways), count, axis=0).T[:, :sides]
        made = with_pins_out(_with(bars, *_smallest(bars, self._bounded(bars), low, high, ZOOMS)))
        self._note(made)
        yield made


def _smallest(
    bars: Bars, inside: NDArray[np.bool_], low: Floats, high: Floats, zooms: int
) -> tuple[Floats, Floats]:
    """Setting and lean of each bar with the smallest score in its own box, (sides, n) each."""

    def cost(places: Floats) -> Floats:
        misfits, _ = bars.shown(places[0], places[1] if len(places) > 1 else None)
        far = far_of(misfits)
        return np.where(inside[:, None], over_of(far, worst_of(misfits)), far)

    place, _ = smallest_in_box(cost, low, high, first=COARSE, later=COARSE, zooms=zooms)
    return place[0], place[1] if len(place) > 1 else np.full(len(bars.row), bars.own_lean)


def _with(bars: Bars, setting: Floats, lean: Floats) -> SetBars:
    """Bars at a setting and lean, levers turned that are not held."""
    return bars.at(setting, lean, (~bars.held) @ np.array([1, 2]))
