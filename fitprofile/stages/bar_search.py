"""Stage 8h: every bar of a bike set as well as it goes, under one seat.

A bar is rolled in its clamps, clip-ons slid up their tubes; levers follow the forearm as far as
their perches turn; the rider leans inside the band that suits. Arrays of rows x places.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.minima import smallest_in_box
from fitprofile.geometry.vectors import Floats, Vec
from fitprofile.model.bike import PINNED
from fitprofile.model.parts import Labour
from fitprofile.model.quantity import Band
from fitprofile.stages.bar_grids import (
    COARSE,
    ROUGH,
    Coarse,
    bends_can_be_inside,
    coarse_of,
    free_of,
    zoomed,
)
from fitprofile.stages.bar_rows import BarRows
from fitprofile.stages.bar_setting import GROUPS, Bars, Levers, SetBars, Uses
from fitprofile.stages.job import SIDES
from fitprofile.stages.misfit import INSIDE

WORTH_IT = 0.01
"""Score (see `score`) by which a setting has to better a bar before it is touched."""

CHUNK = 4_000
"""Rows worked on at once: keeps the arrays in the processor's cache."""

NEAR = 1.0
"""Degrees or mm round a chosen setting within which it is found again exactly."""

POLISH = 65
"""Points of each of the two grids of that."""


def set_bars(
    jobs: Uses,
    rows: BarRows,
    seats: Sequence[Vec],
    labour: Labour,
    lead: Lead | None = None,
    first: int = 0,
) -> Iterator[SetBars]:
    """Every row under every seat: as it stands, set, set to be inside, and leaned to be inside.

    Parameters
    ----------
    seats : sequence of triples of float
        Sit points, mm.
    lead : Lead, optional
        Told what is found; with what a plan under each seat comes to besides, bars that can be
        neither in the cheapest nor in the quickest are left out.
    first : int
        Rows before this one were set already.
    """
    table = seat_table(seats)
    never = np.full(len(seats), -np.inf)
    lead = Lead(rows, Rest(never, never)) if lead is None else lead
    for every, freed in groups_of(rows, pinned_of(jobs)):
        index = every[every >= first]
        row, seat = np.tile(index, len(seats)), np.repeat(np.arange(len(seats)), len(index))
        needed = np.flatnonzero(lead.needed(row, seat, freed))
        for start in range(0, len(needed), CHUNK):
            part = needed[start : start + CHUNK]
            bars = Bars(jobs, rows, row[part], seat[part], table, labour, freed=freed)
            for made in _settings(bars, lead):
                lead.saw(made)
                kept = with_pins_out(made)
                lead.note(kept)
                yield kept


def seat_table(seats: Sequence[Vec]) -> Floats:
    """(seats, 3) float, mm."""
    return np.array([[float(part) for part in seat] for seat in seats])


def with_pins_out(made: SetBars) -> SetBars:
    """Those on which every pin said to be freed is.

    One that holds a lever in line is not: that is the bar with it pinned.
    """
    return made.some(np.flatnonzero(made.undo == len(made.freed))) if made.freed else made


def groups_of(rows: BarRows, pinned: Sequence[Levers]) -> Iterator[tuple[NDArray[np.int_], Levers]]:
    """Rows that are looked at together, with the pins freed on them.

    Those that stand in for others come last: see `Lead.needed`.
    """
    for first in (rows.instead < 0, rows.instead >= 0):
        yield from kinds_of(rows, pinned, first)


def kinds_of(
    rows: BarRows, pinned: Sequence[Levers], which: NDArray[np.bool_]
) -> Iterator[tuple[NDArray[np.int_], Levers]]:
    """Some rows with the pins freed on them: own bars in every way, new ones, which need none."""
    own, others = np.flatnonzero(which & ~rows.new), np.flatnonzero(which & rows.new)
    yield own, ()
    yield from ((own, freed) for freed in pinned)
    yield others, ()


class Rest(NamedTuple):
    """Least that a seat, its pegs and the levers come to while they are inside; (seats,) each.

    ``inf`` where they cannot be inside.
    """

    price: Floats
    minutes: Floats


class Lead:
    """What was found so far: the least cost of what is inside, and which bars are so at all."""

    def __init__(self, rows: BarRows, rest: Rest) -> None:
        self.rows, self.rest = rows, rest
        self.best = Rest(np.array(np.inf), np.array(np.inf))
        self._inside: dict[Levers, NDArray[np.bool_]] = {}

    def inside(self, freed: Levers) -> NDArray[np.bool_]:
        """Whether each bar was inside in some way, its width apart, (rows, seats)."""
        if freed not in self._inside:
            shape = (len(self.rows.new), len(self.rest.price))
            self._inside[freed] = np.zeros(shape, dtype=bool)
        return self._inside[freed]

    def widened(self, rows: BarRows) -> None:
        """Go on with the same rows and more at their end."""
        more = len(rows.new) - len(self.rows.new)
        self._inside = {key: np.pad(one, ((0, more), (0, 0))) for key, one in self._inside.items()}
        self.rows = rows

    def needed(
        self, row: NDArray[np.int_], seat: NDArray[np.int_], freed: Levers
    ) -> NDArray[np.bool_]:
        """(n,) bool: all but rows that stand in for one that was inside with these pins freed."""
        instead = self.rows.instead[row]
        return np.asarray((instead < 0) | ~self.inside(freed)[instead, seat])

    def saw(self, made: SetBars) -> None:
        """Count in for each bar what it was set to, its pins freed in vain too."""
        np.logical_or.at(self.inside(made.freed), (made.row, made.seat), made.worst <= INSIDE)

    def note(self, made: SetBars) -> None:
        """Count in for the combinations what may be in one."""
        rows, rest = self.rows, self.rest
        inside = (made.worst <= INSIDE) & (np.abs(rows.width[made.row]) <= INSIDE)
        row, seat = made.row[inside], made.seat[inside]
        if len(row):
            found = (
                rows.price[row] + rest.price[seat],
                rows.minutes[row] + made.minutes[inside] + rest.minutes[seat],
            )
            pairs = zip(self.best, found, strict=True)
            self.best = Rest(*(np.minimum(best, one.min()) for best, one in pairs))

    def may_beat(self, bars: Bars) -> NDArray[np.bool_]:
        """(n,) bool: which bars may still be in a plan: as cheap or as quick as the best.

        The bike's own bar always is, and every one where nothing is inside yet; but none under a
        seat where pegs or levers cannot be inside.
        """
        row, seat, rows, rest = bars.row, bars.seat, self.rows, self.rest
        beats = rows.price[row] + rest.price[seat] <= self.best.price
        beats |= rows.minutes[row] + rest.minutes[seat] <= self.best.minutes
        return np.asarray((beats & (rest.price[seat] < np.inf)) | rows.own[row])


def pinned_of(jobs: Uses) -> Sequence[Levers]:
    """Every group of levers with pinned perches, all of them last; none where there is none."""
    levers = jobs[0][0].bike.levers
    pinned = [
        side
        for side, lever in zip(SIDES, (levers.brake, levers.clutch), strict=True)
        if lever is not None and lever.perch == PINNED
    ]
    return [one for size in range(len(pinned)) for one in combinations(pinned, size + 1)]


def can_be_set(
    jobs: Uses,
    rows: BarRows,
    seats: Sequence[Vec],
    wanted: Sequence[int],
    *,
    width: bool = False,
) -> NDArray[np.bool_]:
    """Whether each wanted row can be set, and leaned on, so that it is inside, (wanted, seats).

    Its width counts only where ``width``. Pins count as freed, and a row that stands in for a
    wanted one as that one.
    """
    row = np.concatenate(
        [np.asarray(wanted, dtype=np.int_), np.flatnonzero(np.isin(rows.instead, wanted))]
    )
    freed = max(pinned_of(jobs), key=len, default=())
    where = np.repeat(row, len(seats)), np.tile(np.arange(len(seats)), len(row))
    bars = Bars(jobs, rows, *where, seat_table(seats), Labour(), freed=freed)
    inside = inside_at_all(bars).reshape(len(row), len(seats))
    inside &= (np.abs(rows.width[row]) <= INSIDE)[:, None] | (not width)
    can = np.zeros((len(rows.new), len(seats)), dtype=bool)
    np.logical_or.at(can, np.where(np.isin(row, wanted), row, rows.instead[row]), inside)
    return can[np.asarray(wanted, dtype=np.int_)]


def inside_at_all(bars: Bars) -> NDArray[np.bool_]:
    """(n,) bool: whether some setting, and some lean in the rider's band, brings a bar inside."""
    inside = np.zeros(len(bars.row), dtype=bool)
    left = np.flatnonzero(bends_can_be_inside(bars))
    band = bars.jobs[0][0].limits.lean
    for lean in (None,) if band is None else (None, band):
        if len(left):
            kept, _ = _set_inside(bars.some(left), lean)
            inside[left[kept]] = True
            left = left[~inside[left]]
    return inside


def _settings(bars: Bars, lead: Lead) -> Iterator[SetBars]:
    """Bars as they stand, set as near to the wish as they go, and set so that they are inside."""
    bars = bars.some(np.flatnonzero(lead.may_beat(bars)))
    if not len(bars.row):
        return
    size = len(bars.row)
    own = np.full(size, bars.own_lean)
    near, inside = np.zeros(size, dtype=bool), np.zeros(size, dtype=bool)
    coarse = coarse_of(bars, free_of(bars, None), COARSE)
    kept = np.flatnonzero(coarse.may_be_inside()) if bars.is_new else np.arange(size)
    if len(kept):
        some = bars.some(kept)
        setting, far = _nearest(some, coarse.some(kept))
        if not bars.is_new:
            standing = bars.at(np.zeros(size), own)
            yield standing
            inside = standing.worst <= INSIDE
            still = bars.far(np.zeros((size, 1)))[:, 0]
            setting = np.where(still - far < WORTH_IT, 0.0, setting)
        made = some.at(setting, own[kept])
        yield made
        near[kept] = made.worst <= INSIDE
    yield from _brought_inside(bars, near, inside | near, lead)


def _brought_inside(
    bars: Bars, near: NDArray[np.bool_], inside: NDArray[np.bool_], lead: Lead
) -> Iterator[SetBars]:
    """Bars set, and where the rider's own lean does not do, leaned, so that they are inside.

    Each with every group of levers left as the bar carries them: that may lie farther from the
    wish, but saves a mechanic's minutes. ``near`` marks bars that are inside set as near as they
    go, ``inside`` those that are so in any way.
    """
    can = np.arange(len(near)) if len(bars.groups()) > 1 else np.flatnonzero(~near)
    if len(can):
        can = can[bends_can_be_inside(bars.some(can))]
    bars, near, inside = bars.some(can), near[can], inside[can]
    groups = bars.groups()
    left = np.flatnonzero(~near)
    kept, made = _set_inside(bars.some(left), None)
    if made is not None:
        inside[left[kept]] = True
        yield made
    row, held = _each_held(np.flatnonzero(inside), groups)
    _, made = _set_inside(bars.some(row, held), None)
    if made is not None:
        yield made
    band = bars.jobs[0][0].limits.lean
    left = np.flatnonzero(~inside)
    if band is None or not len(left):
        return
    if not bars.is_new:
        yield from bars.some(left).as_sat()
    for still in (False,) if bars.is_new else (True, False):
        left = left[lead.may_beat(bars.some(left))]
        if not len(left):
            return
        kept, made = _set_inside(bars.some(left), band, still=still)
        if made is None:
            continue
        yield made
        # What is inside with a lever held is so with it let go.
        row, held = _each_held(left[kept], groups)
        _, made = _set_inside(bars.some(row, held), band, still=still)
        if made is not None:
            yield made


def _each_held(
    row: NDArray[np.int_], groups: NDArray[np.bool_]
) -> tuple[NDArray[np.int_], NDArray[np.bool_]]:
    """Rows once for each group of levers but the empty one, and the levers held in each."""
    return np.tile(row, len(groups) - 1), np.repeat(groups[1:], len(row), axis=0)


def _set_inside(
    bars: Bars, lean: Band | None, *, still: bool = False
) -> tuple[NDArray[np.int_], SetBars | None]:
    """Which bars some setting, and some lean in a band, brings inside, and these bars."""
    free = free_of(bars, lean, still=still)
    kept = np.arange(len(bars.row))
    for count in (ROUGH, COARSE) if len(free.ends) > 1 else (COARSE,):
        if not len(kept):
            return kept, None
        coarse = coarse_of(bars.some(kept), free, count)
        may = np.flatnonzero(coarse.may_be_inside())
        kept, coarse = kept[may], coarse.some(may)
    if not len(kept):
        return kept, None
    some = bars.some(kept)
    place, _ = zoomed(coarse, coarse.over(), lambda q: some.over(*free.read(q)))
    setting, used = free.read(place)
    leans = np.full(len(kept), bars.own_lean) if used is None else used
    fits = np.flatnonzero(some.at(setting, leans).worst <= INSIDE)
    if not len(fits):
        return fits, None
    let_go = np.zeros((len(fits), 2), dtype=bool)
    return kept[fits], some.some(fits, let_go).at(setting[fits], leans[fits])


def _nearest(bars: Bars, coarse: Coarse) -> tuple[Floats, Floats]:
    """Setting of each row with the smallest score, and that score; (n,) each."""
    place, far = zoomed(coarse, coarse.far, lambda q: bars.far(q[0]))
    return place[0], far


def polished(bars: Bars, setting: float, lean: float, trued: Levers = ()) -> float:
    """The setting of one bar found again to a thousandth, under the lean it has.

    What is inside stays so, and no lever is turned that was not. What is left at 0 stays there.
    """
    if setting == 0.0:
        return setting
    group = np.array([GROUPS.index(trued)])
    chosen = bars.at(np.array([setting]), np.array([lean]), group)
    inside = chosen.worst[0] <= INSIDE

    def cost(places: Floats) -> Floats:
        settings = places[0].ravel()
        many = bars.some(np.zeros(settings.size, dtype=int))
        made = many.at(settings, np.full_like(settings, lean), np.repeat(group, settings.size))
        kept = (made.minutes <= chosen.minutes) & (made.undo == chosen.undo)
        kept &= (made.worst <= INSIDE) | (not inside)
        return np.where(kept, made.far, np.inf).reshape(places[0].shape)

    low, high = bars.rows.band
    at = np.array([[setting]])
    place, far = smallest_in_box(
        cost,
        np.maximum(at - NEAR, low),
        np.minimum(at + NEAR, high),
        first=POLISH,
        later=POLISH,
        zooms=1,
    )
    return float(place[0, 0]) if far[0] < chosen.far[0] else setting
