"""Smallest values inside boxes, for whole arrays of functions at once."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from fitprofile.geometry.vectors import Floats


def smallest_in_box(
    cost: Callable[[Floats], Floats],
    low: Floats,
    high: Floats,
    *,
    first: int,
    later: int,
    zooms: int,
) -> tuple[Floats, Floats]:
    """Place of the smallest value of many functions, each inside its own box, by zooming grids.

    Parameters
    ----------
    cost : callable
        From places (d, ..., k) to values (..., k); ``nan`` counts as infinite.
    low, high : (d, ...) float
        Ends of each box, both belonging to it.
    first, later : int
        Points a side of the first grid, and of each later one that covers two cells of the one
        before.
    zooms : int
        How many later grids.

    Returns
    -------
    place : (d, ...) float
    value : (...) float
        The smallest value met, at ``place``.

    Notes
    -----
    Finds the minimum of every function that has one valley wider than two cells of the first
    grid; each zoom narrows the place by ``(later - 1) / 2``.

    Examples
    --------
    >>> low, high = np.array([0.0]), np.array([1.0])
    >>> place, value = smallest_in_box(
    ...     lambda x: (x[0] - 0.3) ** 2, low, high, first=9, later=7, zooms=20
    ... )
    >>> float(place[0].round(6))
    0.3
    """
    sides, shape = len(low), low.shape[1:]
    best, value = low, np.full(shape, np.inf)
    start, end = low, high
    for zoom in range(zooms + 1):
        count = later if zoom else first
        shares = _grid(sides, count)
        places = (
            start[..., None]
            + shares.reshape(sides, *[1] * len(shape), -1) * ((end - start)[..., None])
        )
        values = cost(places)
        values = np.where(np.isnan(values), np.inf, values)
        where = np.argmin(values, axis=-1)[..., None]
        found = np.take_along_axis(values, where, axis=-1)[..., 0]
        here = np.minimum(np.take_along_axis(places, where[None], axis=-1)[..., 0], end)
        better = found < value
        best, value = np.where(better, here, best), np.where(better, found, value)
        cell = (end - start) / (count - 1)
        start, end = np.maximum(best - cell, low), np.minimum(best + cell, high)
    return best, value


@lru_cache(maxsize=16)
def _grid(sides: int, count: int) -> Floats:
    """(sides, count ** sides) float: every combination of evenly spaced shares from 0 to 1."""
    line = np.linspace(0.0, 1.0, count)
    if sides == 1:
        return line[None]
    return np.stack([axis.ravel() for axis in np.meshgrid(*[line] * sides, indexing="ij")])
