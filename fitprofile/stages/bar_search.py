"""Stage 8g: every bar of a bike set as well as it goes, under one seat.

A bar is rolled in its clamps, clip-ons slid up their tubes; levers follow the forearm as far as
their perches turn; the rider leans inside the band that suits. Arrays of rows x places.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from attrs import evolve
from numpy.typing import NDArray

from fitprofile.geometry.minima import smallest_in_box
from fitprofile.geometry.vectors import Floats, Real, Vec
from fitprofile.model.bike import PINNED, Lever
from fitprofile.model.parts import Labour
from fitprofile.model.quantity import Band
from fitprofile.stages import moves
from fitprofile.stages.bar_rows import BarRows, set_to
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.limits import perch_band
from fitprofile.stages.misfit import (
    INSIDE,
    Torso,
    bar_misfits,
    bend_misfits,
    forearm_of,
    lever_misfit,
    perch_turn,
    score,
    turned_reading,
)
from fitprofile.stages.survey import BikePoints

Uses = Sequence[tuple[Job, float]]
"""One rider on one bike, once for each use, with weights that add up to 1."""

WORTH_IT = 0.01
"""Score (see `score`) by which a setting has to better a bar before it is touched."""

OVER = 1e3
"""Price of each tolerance that the worst misfit lies beyond the first, where a fit is sought."""

CHUNK = 4_000
"""Rows worked on at once: keeps the arrays in the processor's cache."""

FEW = 40
"""Rows up to which one wide grid costs less than several narrow ones."""

Grid = tuple[int, int, int]

ALONE: tuple[Grid, Grid] = (33, 17, 2), (13, 7, 4)
BOTH: tuple[Grid, Grid] = (17, 9, 2), (9, 5, 5)
"""Grids over the setting alone, and over setting and lean together, for few and for many rows:
points of the first, points of the later ones, how many later ones. To 0.03 of 16 degrees, which
`polished` makes exact for what is chosen."""

NEAR = 0.5
"""Degrees or mm round a chosen setting within which it is found again exactly."""

COARSE = 9
"""Points a side of the grid that tells which bars cannot be inside at all."""


class SetBars(NamedTuple):
    """Bars at one kind of setting, fields (n,): row, seat, setting, lean, what comes of it.

    ``far`` sums what the misfits are off, ``worst`` is the largest; ``minutes`` and ``undo`` are
    those of setting it, the row's own not counted.
    """

    row: NDArray[np.int_]
    seat: NDArray[np.int_]
    setting: Floats
    lean: Floats
    far: Floats
    worst: Floats
    minutes: Floats
    undo: Floats
    freed: bool


def set_bars(jobs: Uses, rows: BarRows, seats: Sequence[Vec], labour: Labour) -> Iterator[SetBars]:
    """Every row under every seat: as it stands, set, set to be inside, and leaned to be inside.

    Parameters
    ----------
    seats : sequence of triples of float
        Sit points, mm.
    """
    pinned = any(
        lever is not None and lever.perch == PINNED
        for lever in (jobs[0][0].bike.levers.brake, jobs[0][0].bike.levers.clutch)
    )
    table = np.array([[float(part) for part in seat] for seat in seats])
    own, others = np.flatnonzero(~rows.new), np.flatnonzero(rows.new)
    for index, freed in ((own, False), (own, True), (others, False)):
        if freed and not pinned:
            continue
        row, seat = np.tile(index, len(seats)), np.repeat(np.arange(len(seats)), len(index))
        for start in range(0, len(row), CHUNK):
            part = slice(start, start + CHUNK)
            bars = _Bars(jobs, rows, row[part], seat[part], table, labour, freed=freed)
            yield from _settings(bars)


def can_be_set(jobs: Uses, rows: BarRows, seat: Vec, wanted: Sequence[int]) -> NDArray[np.bool_]:
    """Whether each wanted row can be set, and leaned on, so that all but its width is inside.

    Pins count as freed.
    """
    seats = np.array([[float(part) for part in seat]])
    row = np.asarray(wanted, dtype=np.int_)
    bars = _Bars(jobs, rows, row, np.zeros_like(row), seats, Labour(), freed=True)
    inside = np.zeros(len(rows.new), dtype=bool)
    for made in _brought_inside(bars):
        inside[made.row] |= made.worst <= INSIDE
    return inside[row]


def _settings(bars: _Bars) -> Iterator[SetBars]:
    """Bars as they stand, set as near to the wish as they go, and set so that they are inside."""
    size = len(bars.row)
    own = np.full(size, bars.own_lean)
    setting, far = _best(bars, bars.far)
    if not bars.is_new:
        standing = bars.at(np.zeros(size), own)
        yield standing
        setting = np.where(standing.far - far < WORTH_IT, 0.0, setting)
    made = bars.at(setting, own)
    yield made
    left = np.flatnonzero(made.worst > INSIDE)
    if len(left):
        yield from _brought_inside(bars.some(left))


def _brought_inside(bars: _Bars) -> Iterator[SetBars]:
    """Bars that the nearest setting leaves outside: set, then leaned, so that they are inside."""
    bars = bars.some(np.flatnonzero(_bends_can_be_inside(bars)))
    if not len(bars.row):
        return
    near = np.flatnonzero(_can_be_inside(bars, None))
    inside = np.zeros(len(bars.row), dtype=bool)
    if len(near):
        some = bars.some(near)
        setting, _ = _best(some, some.over)
        made = some.at(setting, np.full(len(near), bars.own_lean))
        yield made
        inside[near] = made.worst <= INSIDE
    band = bars.jobs[0][0].limits.lean
    left = np.flatnonzero(~inside)
    if band is None or not len(left):
        return
    left = left[_can_be_inside(bars.some(left), band)]
    if not len(left):
        return
    bars = bars.some(left)
    ends = [
        np.stack([np.full(len(left), bars.rows.band[which]), np.full(len(left), band[which])])
        for which in (0, 1)
    ]
    first, later, zooms = BOTH[len(left) > FEW]
    place, _ = smallest_in_box(
        lambda q: bars.over(q[0], q[1]), *ends, first=first, later=later, zooms=zooms
    )
    fits = np.flatnonzero(bars.at(place[0], place[1]).worst <= INSIDE)
    if len(fits):
        yield bars.some(fits).at(place[0][fits], place[1][fits])


def _can_be_inside(bars: _Bars, lean: Band | None) -> NDArray[np.bool_]:
    """(n,) bool: whether some setting, and some lean in a band, may be inside; none is missed.

    On a coarse grid the largest misfit cannot fall lower between two points than it falls from
    one to the next; measured against finer grids in the tests.
    """
    settings = np.linspace(*bars.rows.band, COARSE)
    leans = np.array([bars.own_lean]) if lean is None else np.linspace(*lean, COARSE)
    used = None if lean is None else np.repeat(leans, COARSE)[None, :]
    misfits, _ = bars.shown(np.tile(settings, len(leans))[None, :], used)
    worst = np.broadcast_to(_worst(misfits), (len(bars.row), leans.size * COARSE))
    return _may_fall_inside(worst.reshape(-1, len(leans), COARSE))


def _bends_can_be_inside(bars: _Bars) -> NDArray[np.bool_]:
    """(n,) bool: whether tilt and sweep may be inside at some setting; no body in here."""
    settings = np.linspace(*bars.rows.band, COARSE)[None, :]
    points = set_to(bars.jobs[0][0], bars.points, settings)
    worst = np.zeros((len(bars.row), COARSE))
    for job, _ in bars.jobs:
        for misfit in bend_misfits(job, points).values():
            worst = np.maximum(worst, np.abs(misfit))
    return _may_fall_inside(worst[:, None, :])


def _may_fall_inside(worst: Floats) -> NDArray[np.bool_]:
    """(n,) bool: whether the largest misfit (n, leans, settings) may be inside between points."""
    fall = np.zeros_like(worst)
    for axis in (1, 2):
        step = np.abs(np.diff(worst, axis=axis))
        if step.shape[axis]:
            pad = [(0, 0)] * 3
            for side in ((1, 0), (0, 1)):
                pad[axis] = side
                fall = np.maximum(fall, np.pad(step, pad))
    return np.asarray((worst - fall).reshape(len(worst), -1).min(axis=1) <= INSIDE)


def _best(bars: _Bars, cost: Callable[[Floats], Floats]) -> tuple[Floats, Floats]:
    """Setting of each row with the smallest cost, and that cost; (n,) each."""
    size = len(bars.row)
    ends = [np.full((1, size), end) for end in bars.rows.band]
    first, later, zooms = ALONE[size > FEW]
    place, far = smallest_in_box(lambda q: cost(q[0]), *ends, first=first, later=later, zooms=zooms)
    return place[0], far


def polished(
    jobs: Uses, rows: BarRows, row: int, seat: Vec, setting: float, lean: float, *, freed: bool
) -> float:
    """A row's setting found again to a millionth, without leaving the tolerances it is inside."""
    if setting == 0.0:
        return 0.0
    seats = np.array([[float(part) for part in seat]])
    bars = _Bars(jobs, rows, np.array([row]), np.array([0]), seats, Labour(), freed=freed)
    used = None if lean == bars.own_lean else np.array([[lean]])
    inside = bars.at(np.array([setting]), np.array([lean])).worst[0] <= INSIDE
    cost = bars.over if inside else bars.far
    ends = [np.clip(np.array([[setting + way]]), *rows.band) for way in (-NEAR, NEAR)]
    place, _ = smallest_in_box(lambda q: cost(q[0], used), *ends, first=61, later=61, zooms=2)
    return float(place[0, 0])


class _Bars:
    """Some rows under some seats; the bar's misfits as functions of setting and lean."""

    def __init__(
        self,
        jobs: Uses,
        rows: BarRows,
        row: NDArray[np.int_],
        seat: NDArray[np.int_],
        seats: Floats,
        labour: Labour,
        *,
        freed: bool,
    ) -> None:
        self.jobs, self.rows, self.row, self.seat = jobs, rows, row, seat
        self.seats, self.freed, self.labour = seats, freed, labour
        self.own_lean = float(jobs[0][0].target.lean_deg)
        self.is_new = bool(len(row)) and bool(rows.new[row[0]])
        self._torsos: dict[int, Torso] = {}
        at = rows.points
        end, inner, clamp = (
            Vec(*(np.broadcast_to(part, (len(rows.new),))[row][:, None] for part in point))
            for point in (at.grip_end, at.grip_inner, at.clamp)
        )
        here = Vec(*(seats[seat][:, axis : axis + 1] for axis in range(3)))
        self.points = evolve(at, seat=here, grip_end=end, grip_inner=inner, clamp=clamp, tube=None)

    def some(self, kept: NDArray[np.int_]) -> _Bars:
        """Fewer of the rows."""
        return _Bars(
            self.jobs,
            self.rows,
            self.row[kept],
            self.seat[kept],
            self.seats,
            self.labour,
            freed=self.freed,
        )

    def torso(self, job: Job, lean: Real | None) -> Torso:
        """The rider of one use; ``lean`` ``None`` is that use's own."""
        if lean is not None:
            return Torso.of(job.rider, self.points.seat, lean)
        key = id(job)
        if key not in self._torsos:
            self._torsos[key] = Torso.of(job.rider, self.points.seat, job.target.lean_deg)
        return self._torsos[key]

    def shown(
        self, setting: Floats, lean: Real | None
    ) -> tuple[list[tuple[Floats, float]], list[Floats]]:
        """Each misfit (n, k) with its use's weight, and each use's forearm angle, degrees."""
        points = set_to(self.jobs[0][0], self.points, setting)
        found: list[tuple[Floats, float]] = []
        forearms: list[Floats] = []
        for job, weight in self.jobs:
            misfits = bar_misfits(job, points, self.torso(job, lean))
            forearms.append(forearm_of(job, misfits["forearm_angle"]))
            found += [(misfit, weight) for misfit in misfits.values()]
        weights = [weight for _, weight in self.jobs]
        aim = sum(w * forearm for w, forearm in zip(weights, forearms, strict=True))
        for side in SIDES:
            readings = self.lever(side, points, setting, np.asarray(aim))
            if readings is not None:
                for forearm, (job, weight) in zip(forearms, self.jobs, strict=True):
                    found.append((lever_misfit(job, readings, forearm), weight))
        return found, forearms

    def lever(self, side: str, points: BikePoints, setting: Floats, aim: Floats) -> Floats | None:
        """Slope of a lever turned as near to the aim as its perch goes.

        ``None`` where there is no lever, or one that always follows and one use alone.
        """
        job = self.jobs[0][0]
        reading = float(getattr(job.now.lever_angle_deg, side))
        if not np.isfinite(reading):
            return None
        band = self.perch(side)
        if band is None:
            return None if len(self.jobs) == 1 else aim
        carried = reading if job.clip_on else reading - setting
        if band == (0.0, 0.0):
            return np.broadcast_to(np.asarray(carried), aim.shape)
        axis = moves.grip_axis(points)
        turn = perch_turn(axis, carried, aim)
        held = np.clip(turn, *band)
        return np.where(held == turn, aim, turned_reading(axis, carried, held))

    def perch(self, side: str) -> Band | None:
        """Band of a perch's turn, degrees; ``None``: free, as on every new bar."""
        lever: Lever | None = getattr(self.jobs[0][0].bike.levers, side)
        if lever is None or self.is_new:
            return None
        if self.freed and lever.perch == PINNED:
            return lever.rotation
        return perch_band(lever)

    def far(self, setting: Floats, lean: Real | None = None) -> Floats:
        """How far off the misfits are together, (n, k); see `score`."""
        misfits, _ = self.shown(setting, lean)
        return _far(misfits)

    def over(self, setting: Floats, lean: Real | None = None) -> Floats:
        """The same with the worst misfit priced high beyond its tolerance, (n, k)."""
        misfits, _ = self.shown(setting, lean)
        return _far(misfits) + OVER * np.maximum(_worst(misfits) - 1.0, 0.0)

    def at(self, setting: Floats, lean: Floats) -> SetBars:
        """Candidates at a setting and lean, (n,) each."""
        used = None if np.all(lean == self.own_lean) else lean[:, None]
        misfits, forearms = self.shown(setting[:, None], used)
        turned, freed = self._perches(setting, [forearm[:, 0] for forearm in forearms])
        labour = self.labour
        own = (labour.clip_slide if self.jobs[0][0].clip_on else labour.roll).value
        rolled = np.where((setting != 0.0) & (not self.is_new), own, 0.0)
        return SetBars(
            row=self.row,
            seat=self.seat,
            setting=setting,
            lean=lean,
            far=_far(misfits)[:, 0],
            worst=_worst(misfits)[:, 0],
            minutes=rolled + labour.perch.value * turned,
            undo=freed,
            freed=self.freed,
        )

    def _perches(self, setting: Floats, forearms: Sequence[Floats]) -> tuple[Floats, Floats]:
        """How many perches are turned, and how many pins freed for that, (n,) each."""
        first = self.jobs[0][0]
        turned, freed = np.zeros(len(self.row)), np.zeros(len(self.row))
        for side in SIDES:
            lever: Lever | None = getattr(first.bike.levers, side)
            reading = float(getattr(first.now.lever_angle_deg, side))
            if lever is None or not np.isfinite(reading):
                continue
            pinned = lever.perch == PINNED
            if self.is_new:
                freed = freed + pinned
                continue
            carried = reading - (0.0 if first.clip_on else setting)
            out = np.zeros(len(self.row), dtype=bool)
            for (job, _), forearm in zip(self.jobs, forearms, strict=True):
                out = out | (np.abs(lever_misfit(job, carried, forearm)) > 1.0)
            if not pinned or self.freed:
                turned, freed = turned + out, freed + (out & pinned)
        return turned, freed


def _far(misfits: Sequence[tuple[Floats, float]]) -> Floats:
    """Weighed sum of what the misfits are off, (n, k)."""
    return np.asarray(sum(weight * score(misfit) for misfit, weight in misfits))


def _worst(misfits: Sequence[tuple[Floats, float]]) -> Floats:
    """Largest misfit, (n, k)."""
    worst = np.abs(misfits[0][0])
    for misfit, _ in misfits[1:]:
        worst = np.maximum(worst, np.abs(misfit))
    return worst
