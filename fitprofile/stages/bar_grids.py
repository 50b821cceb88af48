"""Stage 8h: grids of settings and leans of many bars, and what they leave out.

Arrays of rows x places.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.minima import smallest_in_box
from fitprofile.geometry.vectors import Floats
from fitprofile.model.quantity import Band
from fitprofile.stages.bar_rows import set_to
from fitprofile.stages.bar_setting import Bars, far_of, over_of, worst_of
from fitprofile.stages.misfit import INSIDE, bend_misfits, score

FEW = 40
"""Rows up to which one wide grid costs less than several narrow ones."""

Grid = tuple[int, int, int]

ALONE: tuple[Grid, Grid] = (17, 17, 1), (7, 7, 2)
BOTH: tuple[Grid, Grid] = (9, 9, 1), (5, 5, 3)
"""Grids round the best point of a coarse one, over one thing alone and over setting and lean
together, for few and for many rows: points of the first, points of the later ones, how many later
ones. To 0.1 of 16 degrees, which `polished` makes exact for what is chosen."""

COARSE = 9
"""Points a side of the first grid, which also tells which bars cannot be inside at all."""

ROUGH = 5
"""Points a side of a grid before that one where setting and lean are both free."""


class Free(NamedTuple):
    """What is free: a band each, and how to read setting and lean (own: ``None``) of a place."""

    ends: Sequence[Band]
    read: Callable[[Floats], tuple[Floats, Floats | None]]


def free_of(bars: Bars, lean: Band | None, *, still: bool = False) -> Free:
    """Setting, lean or both, as asked for."""
    if lean is None:
        return Free((bars.rows.band,), lambda q: (q[0], None))
    if still:
        return Free((lean,), lambda q: (0.0 * q[0], q[0]))
    return Free((bars.rows.band, lean), lambda q: (q[0], q[1]))


class Coarse(NamedTuple):
    """A coarse grid: places (sides, k), and of each row there (n, k) worst misfit and score."""

    free: Free
    places: Floats
    worst: Floats
    far: Floats

    def some(self, kept: NDArray[np.int_]) -> Coarse:
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
            along, falls = np.moveaxis(grid, axis, 0), np.moveaxis(fall, axis, 0)
            step = np.abs(along[1:] - along[:-1])
            for side in (falls[1:], falls[:-1]):
                np.maximum(side, step, out=side)
        return np.asarray((grid - fall).min(axis=tuple(range(1, sides + 1))))


def coarse_of(bars: Bars, free: Free, count: int) -> Coarse:
    """Worst misfit and score of every row on a grid of ``count`` points a side."""
    lines = np.meshgrid(*(np.linspace(*ends, count) for ends in free.ends), indexing="ij")
    places = np.stack([line.ravel() for line in lines])
    misfits, _ = bars.shown(*free.read(places[:, None, :]))
    shape = (len(bars.row), places.shape[1])
    worst, far = (np.broadcast_to(one, shape) for one in (worst_of(misfits), far_of(misfits)))
    return Coarse(free, places, worst, far)


def bends_can_be_inside(bars: Bars) -> NDArray[np.bool_]:
    """(n,) bool: whether tilt and sweep may be inside at some setting; no body in here."""
    free = free_of(bars, None)
    settings = np.linspace(*bars.rows.band, COARSE)[None, :]
    points = set_to(bars.jobs[0][0], bars.points, settings)
    worst = np.zeros((len(bars.row), COARSE))
    for job, _ in bars.jobs:
        for misfit in bend_misfits(job, points).values():
            worst = np.maximum(worst, np.abs(misfit))
    return Coarse(free, settings, worst, worst).may_be_inside()


def least_bend(bars: Bars) -> Floats:
    """Score that tilt and sweep alone come to at least, whatever setting and lean; (n,)."""
    settings = np.linspace(*bars.rows.band, COARSE)[None, :]
    points = set_to(bars.jobs[0][0], bars.points, settings)
    total = np.zeros((len(bars.row), COARSE))
    for job, weight in bars.jobs:
        for misfit in bend_misfits(job, points).values():
            total = total + weight * score(misfit)
    return Coarse(free_of(bars, None), settings, total, total).least(total)


def zoomed(
    coarse: Coarse, values: Floats, cost: Callable[[Floats], Floats]
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
