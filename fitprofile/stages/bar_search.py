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
    FEW,
    ROUGH,
    Coarse,
    Free,
    Grid,
    bends_can_be_inside,
    coarse_of,
    free_of,
    least_bend,
    zoomed,
)
from fitprofile.stages.bar_rows import BarRows
from fitprofile.stages.bar_setting import Bars, Levers, SetBars, Uses
from fitprofile.stages.job import SIDES
from fitprofile.stages.misfit import INSIDE

WORTH_IT = 0.01
"""Score (see `score`) by which a setting has to better a bar before it is touched."""

CHUNK = 4_000
"""Rows worked on at once: keeps the arrays in the processor's cache."""

NEAR = 1.0
"""Degrees or mm round a chosen setting within which it is found again exactly."""

POLISH: tuple[Grid, Grid] = (65, 65, 1), (17, 9, 3)
"""Grids of that, over the setting alone and over setting and lean: as `ALONE` has them."""

CLOSE = 0.25
"""Score within which a bar may still turn out the closest, or as close and cheaper."""


def set_bars(
    jobs: Uses, rows: BarRows, seats: Sequence[Vec], labour: Labour, rest: Rest | None = None
) -> Iterator[SetBars]:
    """Every row under every seat: as it stands, set, set to be inside, and leaned to be inside.

    Where nothing is inside, and for the bike's own bar where that is not, also leaned as near to
    the wish as the rider's band allows.

    Parameters
    ----------
    seats : sequence of triples of float
        Sit points, mm.
    rest : Rest, optional
        What else a plan under each seat comes to; with it, bars that can be in none are left out.
    """
    table = np.array([[float(part) for part in seat] for seat in seats])
    never = np.full(len(seats), -np.inf)
    lead = Lead(rows, Rest(never, never, never) if rest is None else rest)
    for settings in (_settings, _leaned):
        for index, freed in _groups(rows, _pinned(jobs)):
            row, seat = np.tile(index, len(seats)), np.repeat(np.arange(len(seats)), len(index))
            needed = np.flatnonzero(lead.needed(row, seat, freed))
            for start in range(0, len(needed), CHUNK):
                part = needed[start : start + CHUNK]
                bars = Bars(jobs, rows, row[part], seat[part], table, labour, freed=freed)
                for made in settings(bars, lead):
                    lead.saw(made)
                    # A pin that holds a lever in line is not freed: that is the bar with it pinned.
                    kept = made.some(np.flatnonzero(made.undo == len(freed))) if freed else made
                    lead.note(kept)
                    yield kept


def _groups(rows: BarRows, pinned: Sequence[Levers]) -> Iterator[tuple[NDArray[np.int_], Levers]]:
    """Rows that are looked at together, with the pins freed on them.

    Those that stand in for others come last: see `Lead.needed`.
    """
    for first in (rows.instead < 0, rows.instead >= 0):
        own, others = np.flatnonzero(first & ~rows.new), np.flatnonzero(first & rows.new)
        yield own, ()
        yield from ((own, freed) for freed in pinned)
        yield others, ()


class Rest(NamedTuple):
    """Least that a seat, its pegs and the levers come to while they are inside; (seats,) each.

    ``inf`` where they cannot be inside.
    """

    price: Floats
    minutes: Floats
    far: Floats


class Lead:
    """The best of what was found so far: of combinations that are inside, and of each bar."""

    def __init__(self, rows: BarRows, rest: Rest) -> None:
        self.rows, self.rest = rows, rest
        self.best = Rest(np.array(np.inf), np.array(np.inf), np.array(np.inf))
        self._bars: dict[Levers, tuple[Floats, NDArray[np.bool_]]] = {}

    def bars(self, freed: Levers) -> tuple[Floats, NDArray[np.bool_]]:
        """Least score of every bar, and whether it was inside at all, (rows, seats) each.

        Its width apart; ``inf`` where it was not set.
        """
        if freed not in self._bars:
            shape = (len(self.rows.new), len(self.rest.far))
            self._bars[freed] = np.full(shape, np.inf), np.zeros(shape, dtype=bool)
        return self._bars[freed]

    def needed(
        self, row: NDArray[np.int_], seat: NDArray[np.int_], freed: Levers
    ) -> NDArray[np.bool_]:
        """(n,) bool: all but rows that stand in for one that was inside with these pins freed."""
        _, inside = self.bars(freed)
        instead = self.rows.instead[row]
        return np.asarray((instead < 0) | ~inside[instead, seat])

    def nearest(self) -> Floats:
        """Least score of any bar under each seat, its width counted in, (seats,)."""
        least = [far for far, _ in self._bars.values()]
        return np.asarray((np.min(least, axis=0) + self.rows.width_far[:, None]).min(axis=0))

    def saw(self, made: SetBars) -> None:
        """Count in for each bar what it was set to, its pins freed in vain too."""
        far, once = self.bars(made.freed)
        np.minimum.at(far, (made.row, made.seat), made.far)
        np.logical_or.at(once, (made.row, made.seat), made.worst <= INSIDE)

    def note(self, made: SetBars) -> None:
        """Count in for the combinations what may be in one."""
        rows, rest = self.rows, self.rest
        inside = (made.worst <= INSIDE) & (np.abs(rows.width[made.row]) <= INSIDE)
        row, seat = made.row[inside], made.seat[inside]
        if len(row):
            found = (
                rows.price[row] + rest.price[seat],
                rows.minutes[row] + made.minutes[inside] + rest.minutes[seat],
                made.far[inside] + rows.width_far[row] + rest.far[seat],
            )
            pairs = zip(self.best, found, strict=True)
            self.best = Rest(*(np.minimum(best, one.min()) for best, one in pairs))

    def may_beat(self, bars: Bars) -> NDArray[np.bool_]:
        """(n,) bool: which bars may still be in a plan: cheaper, quicker or closer than the best.

        The bike's own bar always is, and every one where nothing is inside yet.
        """
        row, seat, rows, rest = bars.row, bars.seat, self.rows, self.rest
        if np.isinf(self.best.price):
            return np.ones(len(row), dtype=bool)
        far = least_bend(bars) + rows.width_far[row] + rest.far[seat]
        return np.asarray(
            (rows.price[row] + rest.price[seat] <= self.best.price)
            | (rows.minutes[row] + rest.minutes[seat] <= self.best.minutes)
            | (far <= self.best.far + CLOSE)
            | rows.own[row]
        )


def _pinned(jobs: Uses) -> Sequence[Levers]:
    """Every group of levers with pinned perches, all of them last; none where there is none."""
    levers = jobs[0][0].bike.levers
    pinned = [
        side
        for side, lever in zip(SIDES, (levers.brake, levers.clutch), strict=True)
        if lever is not None and lever.perch == PINNED
    ]
    return [one for size in range(len(pinned)) for one in combinations(pinned, size + 1)]


def can_be_set(jobs: Uses, rows: BarRows, seat: Vec, wanted: Sequence[int]) -> NDArray[np.bool_]:
    """Whether each wanted row can be set, and leaned on, so that all but its width is inside.

    Pins count as freed, and a row that stands in for a wanted one as that one.
    """
    seats = np.array([[float(part) for part in seat]])
    spare = np.flatnonzero(np.isin(rows.instead, wanted))
    row = np.concatenate([np.asarray(wanted, dtype=np.int_), spare])
    freed = max(_pinned(jobs), key=len, default=())
    bars = Bars(jobs, rows, row, np.zeros_like(row), seats, Labour(), freed=freed)
    inside = np.zeros(len(row), dtype=bool)
    left = np.flatnonzero(bends_can_be_inside(bars))
    for lean in (None, jobs[0][0].limits.lean):
        if len(left):
            kept, _ = _set_inside(bars.some(left), lean)
            inside[left[kept]] = True
            left = left[~inside[left]]
        if jobs[0][0].limits.lean is None:
            break
    can = set(row[inside].tolist()) | set(rows.instead[row[inside]].tolist())
    return np.array([one in can for one in wanted], dtype=bool)


def _settings(bars: Bars, lead: Lead) -> Iterator[SetBars]:
    """Bars as they stand, set as near to the wish as they go, and set so that they are inside."""
    bars = bars.some(np.flatnonzero(lead.may_beat(bars)))
    if not len(bars.row):
        return
    size = len(bars.row)
    own = np.full(size, bars.own_lean)
    near, inside = np.zeros(size, dtype=bool), np.zeros(size, dtype=bool)
    coarse = coarse_of(bars, free_of(bars, None), COARSE)
    kept = np.flatnonzero(_in_the_running(bars, coarse)) if bars.is_new else np.arange(size)
    if len(kept):
        some = bars.some(kept)
        setting, far = _nearest(some, coarse.some(kept))
        if not bars.is_new:
            standing = bars.at(np.zeros(size), own)
            yield standing
            inside = standing.worst <= INSIDE
            setting = np.where(standing.far - far < WORTH_IT, 0.0, setting)
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


def _leaned(bars: Bars, lead: Lead) -> Iterator[SetBars]:
    """Bars that are inside in no way, set and leaned as near to the wish as the band allows.

    Only where no combination is inside; the bike's own bar, which every free plan keeps, always.
    """
    band = bars.jobs[0][0].limits.lean
    if band is None:
        return
    own = lead.rows.own[bars.row]
    _, inside = lead.bars(bars.freed)
    wanted = ~inside[bars.row, bars.seat] & (np.isinf(lead.best.price) | own)
    bars = bars.some(np.flatnonzero(wanted))
    if not len(bars.row):
        return
    wide, nearest = lead.rows.width_far[bars.row], lead.nearest()[bars.seat] + CLOSE
    own = lead.rows.own[bars.row]
    bars = bars.some(np.flatnonzero(own | (least_bend(bars) + wide <= nearest)))
    made = _nearest_leaned(bars, lead, free_of(bars, band))
    if made is not None:
        yield made


def _nearest_leaned(bars: Bars, lead: Lead, free: Free) -> SetBars | None:
    """Bars at the place with the smallest score, as far as that betters what was found of them.

    The bike's own are not touched for less than `WORTH_IT`, only leaned.
    """
    coarse = None
    for count in (ROUGH, COARSE) if len(bars.row) > FEW else (COARSE,):
        if not len(bars.row):
            return None
        coarse = coarse_of(bars, free, count)
        least = coarse.least(coarse.far) + lead.rows.width_far[bars.row]
        own = lead.rows.own[bars.row]
        kept = np.flatnonzero(own | (least <= lead.nearest()[bars.seat] + CLOSE))
        bars, coarse = bars.some(kept), coarse.some(kept)
    if coarse is None or not len(bars.row):
        return None
    (setting, lean), least = zoomed(coarse, coarse.far, lambda q: bars.far(*free.read(q)))
    if not bars.is_new:
        still = bars.far(np.zeros((len(lean), 1)), lean[:, None])[:, 0]
        setting = np.where(still - least < WORTH_IT, 0.0, setting)
        least = np.where(setting == 0.0, still, least)
    far, _ = lead.bars(bars.freed)
    better = np.flatnonzero(far[bars.row, bars.seat] - least > WORTH_IT)
    return bars.some(better).at(setting[better], lean[better]) if len(better) else None


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


def _in_the_running(bars: Bars, coarse: Coarse) -> NDArray[np.bool_]:
    """(n,) bool: which bars may be inside in the rider's own lean, or the closest of their seat."""
    wide = bars.rows.width_far[bars.row]
    least, most = coarse.least(coarse.far) + wide, coarse.far.min(axis=1) + wide
    best = np.full(len(bars.seats), np.inf)
    np.minimum.at(best, bars.seat, most)
    return coarse.may_be_inside() | (least <= best[bars.seat] + CLOSE)


def _nearest(bars: Bars, coarse: Coarse) -> tuple[Floats, Floats]:
    """Setting of each row with the smallest score, and that score; (n,) each."""
    place, far = zoomed(coarse, coarse.far, lambda q: bars.far(q[0]))
    return place[0], far


def polished(
    jobs: Uses,
    rows: BarRows,
    row: int,
    seat: Vec,
    setting: float,
    lean: float,
    labour: Labour,
    *,
    freed: Levers,
) -> tuple[float, float]:
    """A row's setting found again to a thousandth, under the lean it has.

    What is inside stays so, and no lever is turned that was not. What is left at 0 stays there.
    Where nothing is inside, a lean other than the rider's own is found again with it.
    """
    if setting == 0.0:
        return setting, lean
    seats = np.array([[float(part) for part in seat]])
    bars = Bars(jobs, rows, np.array([row]), np.array([0]), seats, labour, freed=freed)
    chosen = bars.at(np.array([setting]), np.array([lean]))
    inside = chosen.worst[0] <= INSIDE

    def cost(places: Floats) -> Floats:
        settings, leans = places[0], places[1] if len(places) > 1 else np.full_like(places[0], lean)
        many = bars.some(np.zeros(settings.size, dtype=int))
        made = many.at(settings.ravel(), leans.ravel())
        kept = (made.minutes <= chosen.minutes) & (made.undo == chosen.undo)
        kept &= (made.worst <= INSIDE) | (not inside)
        return np.where(kept, made.far, np.inf).reshape(settings.shape)

    bands, suits = [rows.band], jobs[0][0].limits.lean
    if not inside and lean != bars.own_lean and suits is not None:
        bands.append(suits)
    low, high = (np.array(one)[:, None] for one in zip(*bands, strict=True))
    at, grid = np.array([[setting], [lean]])[: len(bands)], POLISH[len(bands) - 1]
    place, far = smallest_in_box(
        cost,
        np.maximum(at - NEAR, low),
        np.minimum(at + NEAR, high),
        first=grid[0],
        later=grid[1],
        zooms=grid[2],
    )
    if far[0] >= chosen.far[0]:
        return setting, lean
    return float(place[0, 0]), float(place[1, 0]) if len(bands) > 1 else lean
