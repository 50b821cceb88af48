"""Stage 8h: every bar of a bike set as well as it goes, under one seat.

A bar is rolled in its clamps, clip-ons slid up their tubes; levers follow the forearm as far as
their perches turn; the rider leans inside the band that suits. Arrays of rows x places.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.minima import smallest_in_box
from fitprofile.geometry.vectors import Floats, Vec
from fitprofile.model.bike import PINNED
from fitprofile.model.parts import Labour
from fitprofile.model.quantity import Band
from fitprofile.stages.bar_rows import BarRows, set_to
from fitprofile.stages.bar_setting import Bars, Levers, SetBars, Uses, far_of, over_of, worst_of
from fitprofile.stages.job import SIDES
from fitprofile.stages.misfit import INSIDE, bend_misfits, score

WORTH_IT = 0.01
"""Score (see `score`) by which a setting has to better a bar before it is touched."""

CHUNK = 4_000
"""Rows worked on at once: keeps the arrays in the processor's cache."""

FEW = 40
"""Rows up to which one wide grid costs less than several narrow ones."""

Grid = tuple[int, int, int]

ALONE: tuple[Grid, Grid] = (17, 17, 1), (7, 7, 2)
BOTH: tuple[Grid, Grid] = (9, 9, 1), (5, 5, 3)
"""Grids round the best point of a coarse one, over one thing alone and over setting and lean
together, for few and for many rows: points of the first, points of the later ones, how many later
ones. To 0.1 of 16 degrees, which `polished` makes exact for what is chosen."""

NEAR = 1.0
"""Degrees or mm round a chosen setting within which it is found again exactly."""

COARSE = 9
"""Points a side of the first grid, which also tells which bars cannot be inside at all."""

ROUGH = 5
"""Points a side of a grid before that one where setting and lean are both free."""

CLOSE = 0.25
"""Score within which a bar may still turn out the closest, or as close and cheaper."""


def set_bars(
    jobs: Uses, rows: BarRows, seats: Sequence[Vec], labour: Labour, rest: Rest | None = None
) -> Iterator[SetBars]:
    """Every row under every seat: as it stands, set, set to be inside, and leaned to be inside.

    Parameters
    ----------
    seats : sequence of triples of float
        Sit points, mm.
    rest : Rest, optional
        What else a plan under each seat comes to; with it, bars that can be in none are left out.
    """
    table = np.array([[float(part) for part in seat] for seat in seats])
    own, others = np.flatnonzero(~rows.new), np.flatnonzero(rows.new)
    pins = [(own, freed) for freed in _pinned(jobs)]
    never = np.full(len(seats), -np.inf)
    lead = Lead(rows, Rest(never, never, never) if rest is None else rest)
    for index, freed in ((own, ()), *pins, (others, ())):
        row, seat = np.tile(index, len(seats)), np.repeat(np.arange(len(seats)), len(index))
        for start in range(0, len(row), CHUNK):
            part = slice(start, start + CHUNK)
            bars = Bars(jobs, rows, row[part], seat[part], table, labour, freed=freed)
            for made in _settings(bars, lead):
                # A pin that holds a lever in line is not freed: that is the bar with it pinned.
                kept = made.some(np.flatnonzero(made.undo == len(freed))) if freed else made
                lead.note(kept)
                yield kept


class Rest(NamedTuple):
    """Least that a seat, its pegs and the levers come to while they are inside; (seats,) each.

    ``inf`` where they cannot be inside.
    """

    price: Floats
    minutes: Floats
    far: Floats


class Lead:
    """The best figures of a combination that is inside every tolerance, as far as one was found."""

    def __init__(self, rows: BarRows, rest: Rest) -> None:
        self.rows, self.rest = rows, rest
        self.best = Rest(np.array(np.inf), np.array(np.inf), np.array(np.inf))

    def note(self, made: SetBars) -> None:
        """Count in what was found."""
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
        far = _least_bend(bars) + rows.width_far[row] + rest.far[seat]
        return np.asarray(
            (rows.price[row] + rest.price[seat] <= self.best.price)
            | (rows.minutes[row] + rest.minutes[seat] <= self.best.minutes)
            | (far <= self.best.far + CLOSE)
            | (row == 0)
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

    Pins count as freed.
    """
    seats = np.array([[float(part) for part in seat]])
    row = np.asarray(wanted, dtype=np.int_)
    freed = max(_pinned(jobs), key=len, default=())
    bars = Bars(jobs, rows, row, np.zeros_like(row), seats, Labour(), freed=freed)
    inside = np.zeros(len(row), dtype=bool)
    left = np.flatnonzero(_bends_can_be_inside(bars))
    for lean in (None, jobs[0][0].limits.lean):
        if len(left):
            kept, _ = _set_inside(bars.some(left), lean)
            inside[left[kept]] = True
            left = left[~inside[left]]
        if jobs[0][0].limits.lean is None:
            break
    return inside


def _settings(bars: Bars, lead: Lead) -> Iterator[SetBars]:
    """Bars as they stand, set as near to the wish as they go, and set so that they are inside."""
    bars = bars.some(np.flatnonzero(lead.may_beat(bars)))
    if not len(bars.row):
        return
    size = len(bars.row)
    own = np.full(size, bars.own_lean)
    near, inside = np.zeros(size, dtype=bool), np.zeros(size, dtype=bool)
    coarse = _coarse(bars, _free(bars, None), COARSE)
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
        can = can[_bends_can_be_inside(bars.some(can))]
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
    free = _free(bars, lean, still=still)
    kept = np.arange(len(bars.row))
    for count in (ROUGH, COARSE) if len(free.ends) > 1 else (COARSE,):
        if not len(kept):
            return kept, None
        coarse = _coarse(bars.some(kept), free, count)
        may = np.flatnonzero(coarse.may_be_inside())
        kept, coarse = kept[may], coarse.some(may)
    if not len(kept):
        return kept, None
    some = bars.some(kept)
    place, _ = _zoomed(coarse, coarse.over(), lambda q: some.over(*free.read(q)))
    setting, used = free.read(place)
    leans = np.full(len(kept), bars.own_lean) if used is None else used
    fits = np.flatnonzero(some.at(setting, leans).worst <= INSIDE)
    if not len(fits):
        return fits, None
    let_go = np.zeros((len(fits), 2), dtype=bool)
    return kept[fits], some.some(fits, let_go).at(setting[fits], leans[fits])


class _Free(NamedTuple):
    """What is free: a band each, and how to read setting and lean (own: ``None``) of a place."""

    ends: Sequence[Band]
    read: Callable[[Floats], tuple[Floats, Floats | None]]


def _free(bars: Bars, lean: Band | None, *, still: bool = False) -> _Free:
    """Setting, lean or both, as asked for."""
    if lean is None:
        return _Free((bars.rows.band,), lambda q: (q[0], None))
    if still:
        return _Free((lean,), lambda q: (0.0 * q[0], q[0]))
    return _Free((bars.rows.band, lean), lambda q: (q[0], q[1]))


class _Coarse(NamedTuple):
    """A coarse grid: places (sides, k), and of each row there (n, k) worst misfit and score."""

    free: _Free
    places: Floats
    worst: Floats
    far: Floats

    def some(self, kept: NDArray[np.int_]) -> _Coarse:
        """Fewer of the rows."""
        return self._replace(worst=self.worst[kept], far=self.far[kept])

    def over(self) -> Floats:
        """As `Bars.over`."""
        return over_of(self.far, self.worst)

    def may_be_inside(self) -> NDArray[np.bool_]:
        """(n,) bool: whether a row may be inside at some place; none is missed."""
        return np.asarray(self.least(self.worst) <= INSIDE)

    def least(self, values: Floats) -> Floats:
        """Below what each row cannot fall anywhere, (n,).

        Between two points of the grid nothing falls lower than it falls from one to the next;
        measured against finer grids in the tests.
        """
        sides = len(self.places)
        count = round(self.places.shape[1] ** (1.0 / sides))
        grid = values.reshape(len(values), *[count] * sides)
        fall = np.zeros_like(grid)
        for axis in range(1, sides + 1):
            step = np.abs(np.diff(grid, axis=axis))
            for first, last in ((1, 0), (0, 1)):
                pad = [(0, 0)] * (sides + 1)
                pad[axis] = (first, last)
                fall = np.maximum(fall, np.pad(step, pad))
        return np.asarray((grid - fall).min(axis=tuple(range(1, sides + 1))))


def _coarse(bars: Bars, free: _Free, count: int) -> _Coarse:
    """Worst misfit and score of every row on a grid of ``count`` points a side."""
    lines = np.meshgrid(*(np.linspace(*ends, count) for ends in free.ends), indexing="ij")
    places = np.stack([line.ravel() for line in lines])
    misfits, _ = bars.shown(*free.read(places[:, None, :]))
    shape = (len(bars.row), places.shape[1])
    worst, far = (np.broadcast_to(one, shape) for one in (worst_of(misfits), far_of(misfits)))
    return _Coarse(free, places, worst, far)


def _in_the_running(bars: Bars, coarse: _Coarse) -> NDArray[np.bool_]:
    """(n,) bool: which bars may be inside in the rider's own lean, or the closest of their seat."""
    wide = bars.rows.width_far[bars.row]
    least, most = coarse.least(coarse.far) + wide, coarse.far.min(axis=1) + wide
    best = np.full(len(bars.seats), np.inf)
    np.minimum.at(best, bars.seat, most)
    return coarse.may_be_inside() | (least <= best[bars.seat] + CLOSE)


def _bends_can_be_inside(bars: Bars) -> NDArray[np.bool_]:
    """(n,) bool: whether tilt and sweep may be inside at some setting; no body in here."""
    free = _free(bars, None)
    settings = np.linspace(*bars.rows.band, COARSE)[None, :]
    points = set_to(bars.jobs[0][0], bars.points, settings)
    worst = np.zeros((len(bars.row), COARSE))
    for job, _ in bars.jobs:
        for misfit in bend_misfits(job, points).values():
            worst = np.maximum(worst, np.abs(misfit))
    return _Coarse(free, settings, worst, worst).may_be_inside()


def _least_bend(bars: Bars) -> Floats:
    """Score that tilt and sweep alone come to at least, whatever setting and lean; (n,)."""
    settings = np.linspace(*bars.rows.band, COARSE)[None, :]
    points = set_to(bars.jobs[0][0], bars.points, settings)
    total = np.zeros((len(bars.row), COARSE))
    for job, weight in bars.jobs:
        for misfit in bend_misfits(job, points).values():
            total = total + weight * score(misfit)
    return _Coarse(_free(bars, None), settings, total, total).least(total)


def _nearest(bars: Bars, coarse: _Coarse) -> tuple[Floats, Floats]:
    """Setting of each row with the smallest score, and that score; (n,) each."""
    place, far = _zoomed(coarse, coarse.far, lambda q: bars.far(q[0]))
    return place[0], far


def _zoomed(
    coarse: _Coarse, values: Floats, cost: Callable[[Floats], Floats]
) -> tuple[Floats, Floats]:
    """Place (sides, n) of each row's smallest cost round the best point of the grid, and it."""
    low, high = (np.array([ends[which] for ends in coarse.free.ends])[:, None] for which in (0, 1))
    sides, points = coarse.places.shape
    cell = (high - low) / (round(points ** (1.0 / sides)) - 1)
    best = coarse.places[:, np.argmin(values, axis=1)]
    first, later, zooms = (ALONE, BOTH)[sides - 1][len(values) > FEW]
    return smallest_in_box(
        cost,
        np.maximum(best - cell, low),
        np.minimum(best + cell, high),
        first=first,
        later=later,
        zooms=zooms,
    )


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
    """
    if setting == 0.0:
        return setting, lean
    seats = np.array([[float(part) for part in seat]])
    bars = Bars(jobs, rows, np.array([row]), np.array([0]), seats, labour, freed=freed)
    chosen = bars.at(np.array([setting]), np.array([lean]))
    inside = chosen.worst[0] <= INSIDE

    def cost(settings: Floats, leans: Floats) -> Floats:
        many = bars.some(np.zeros(settings.size, dtype=int))
        made = many.at(settings.ravel(), np.broadcast_to(leans, settings.shape).ravel())
        kept = (made.minutes <= chosen.minutes) & (made.undo == chosen.undo)
        kept &= (made.worst <= INSIDE) | (not inside)
        return np.where(kept, made.far, np.inf).reshape(settings.shape)

    ends = (
        np.array([[min(max(setting + way, rows.band[0]), rows.band[1])]]) for way in (-NEAR, NEAR)
    )
    place, far = smallest_in_box(
        lambda q: cost(q[0], np.array([[lean]])), *ends, first=65, later=65, zooms=1
    )
    return (setting if far[0] >= chosen.far[0] else float(place[0, 0])), lean
