"""Weighted least squares on tape readings: points, covariance, and what checks each reading.

Nothing here knows a bike: points have names, readings are equations, and a point that nothing
holds shows by a standard deviation without bound.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Floats
from fitprofile.values import frozen

AHEAD, SPACING, HEIGHT, LENGTH, TILT, SWEEP = range(6)
"""What a row measures on the vector d from its start to its end: d_x, 2 d_y, d_z, |d|, mm; the
slope of d, asin(d_z / |d|), and how far it points back, atan2(-d_x, d_y), degrees."""

LEAST_SD = 0.01
"""mm or degrees; a spread of 0 counts as this much, so that every weight stays finite."""

WEAKEST = 1e-5
"""1/mm; a design whose singular value lies below holds its direction nowhere (spread 100 m)."""

LEAST_REDUNDANCY = 0.01
"""Below it a reading's residual says nothing about the reading."""

STEPS = 60
HALVINGS = 20
STILL = 1e-8
NO_GAIN = 1e-10
"""The adjustment stands when no coordinate moves by more than `STILL` mm, or the sum of squares
falls by less than this share."""

_TINY = 1e-9  # mm; keeps directions finite where two points coincide


@frozen
class Row:
    """One reading as an equation on the vector from ``start`` to ``end``.

    Parameters
    ----------
    key : str
        Where it was written, dotted.
    kind : int
        `AHEAD`, `SPACING`, `HEIGHT`, `LENGTH`, `TILT` or `SWEEP`.
    end, start : str
        Names of points; ``start`` ``None`` is the origin.
    value, sd : float
        mm or degrees; ``sd`` is that of the mean where readings were repeated.
    lift : float
        mm added to the vector's z: a tape that ends on top of a round thing.
    """

    key: str
    kind: int
    end: str
    start: str | None
    value: float
    sd: float
    lift: float = 0.0


@frozen(eq=False)
class Network:
    """Rows on points, laid out as arrays.

    ``free`` (n, 3) bool marks the unknown coordinates of ``names``; the others keep the value
    they start with. ``kind``, ``end``, ``start`` (m,) int, ``lift``, ``value``, ``sd`` (m,)
    float follow ``rows``; ``start`` is n where a row starts at the origin.
    """

    names: tuple[str, ...]
    free: NDArray[np.bool_]
    rows: tuple[Row, ...]
    kind: NDArray[np.intp]
    end: NDArray[np.intp]
    start: NDArray[np.intp]
    lift: Floats
    value: Floats
    sd: Floats


@frozen(eq=False)
class Fit:
    """An adjusted network.

    Parameters
    ----------
    points : (n, 3) float, mm
    covariance : (3 n, 3 n) float, mm^2
        Of x, y, z of each point in turn, zero for coordinates that were held.
    residuals : (m,) float, mm or degrees
        Measured less fitted.
    redundancy : (m,) float
        Share of an error in the reading that shows in its residual, 0 to 1.
    normalised : (m,) float
        Residual over its own standard deviation; ``nan`` where the redundancy is below
        `LEAST_REDUNDANCY`.
    """

    points: Floats
    covariance: Floats
    residuals: Floats
    redundancy: Floats
    normalised: Floats


def lay_out(
    rows: Sequence[Row], names: Sequence[str], pairs: Collection[str], held: Collection[str]
) -> Network:
    """Network of ``rows`` on ``names``; y is free for ``pairs``, x is not for ``held``."""
    place = {name: i for i, name in enumerate(names)}
    free = np.array([[n not in held, n in pairs, True] for n in names], dtype=bool)
    table = [(r.kind, place[r.end], place[r.start] if r.start else len(names)) for r in rows]
    kind, end, start = np.array(table, dtype=np.intp).reshape(-1, 3).T
    figures = [(r.lift, r.value, max(r.sd, LEAST_SD)) for r in rows]
    lift, value, sd = np.array(figures, dtype=np.float64).reshape(-1, 3).T
    free = free.reshape(-1, 3)
    return Network(tuple(names), free, tuple(rows), kind, end, start, lift, value, sd)


def predict(network: Network, points: Floats) -> tuple[Floats, Floats]:
    """Readings that the points would give, and their slopes.

    Parameters
    ----------
    network : Network
    points : (n, 3) float, mm

    Returns
    -------
    readings : (m,) float, mm or degrees
    slopes : (m, k) float, 1 or degrees/mm
        Along the k free coordinates, in the order of ``points.ravel()``.
    """
    count, some = len(network.names), np.arange(len(network.rows))
    ends = np.vstack([points, np.zeros((1, 3))])
    line = ends[network.end] - ends[network.start]
    line[:, 2] += network.lift
    readings, turns = _measure(line.T)
    slope = turns[network.kind, :, some]
    slopes = np.zeros((len(some), count + 1, 3))
    slopes[some, network.end] = slope
    slopes[some, network.start] -= slope
    flat = slopes[:, :count].reshape(len(some), 3 * count)
    return readings[network.kind, some], flat[:, network.free.ravel()]


def _measure(line: Floats) -> tuple[Floats, Floats]:
    """All six kinds of reading (6, m) on vectors (3, m), and their gradients (6, 3, m)."""
    x, y, z = line
    level = np.maximum(np.hypot(x, y), _TINY)
    length = np.hypot(level, z)
    degrees = 180.0 / np.pi
    none, one = np.zeros_like(x), np.ones_like(x)
    tilt, sweep = degrees / (level * length * length), degrees / (level * level)
    readings = np.array(
        [x, 2.0 * y, z, length, degrees * np.arctan2(z, level), degrees * np.arctan2(-x, y)]
    )
    gradients = np.array(
        [
            [one, none, none],
            [none, 2.0 * one, none],
            [none, none, one],
            [x / length, y / length, z / length],
            [-x * z * tilt, -y * z * tilt, level * level * tilt],
            [-y * sweep, x * sweep, none],
        ]
    )
    return readings, gradients


def spread_of(design: Floats) -> Floats:
    """Covariance (k, k) of what a weighted design (m, k) determines, mm^2.

    Directions that it does not hold get the variance ``WEAKEST ** -2`` instead of infinity, so
    that they can be seen, and compared, in the same matrix.
    """
    _, size, directions = np.linalg.svd(design, full_matrices=True)
    full = np.zeros(design.shape[1])
    full[: len(size)] = size
    scaled = directions / np.maximum(full, WEAKEST)[:, None]
    return np.asarray(scaled.T @ scaled)


def held_by(design: Floats) -> Floats:
    """Orthonormal columns (m, rank) that span what a weighted design (m, k) can follow."""
    sides, size, _ = np.linalg.svd(design, full_matrices=False)
    return np.asarray(sides[:, size > WEAKEST])


def adjust(network: Network, start: Floats, measured: NDArray[np.bool_] | None = None) -> Fit:
    """Points that fit all rows best, each weighted by its spread.

    Parameters
    ----------
    network : Network
        Every free coordinate held by its rows.
    start : (n, 3) float, mm
        Where the search begins; coordinates that are not free keep these values.
    measured : (m,) bool, optional
        Rows that were measured (default: all). The others, assumed, take part in the fit, and
        check nothing: they have redundancy 0 and normalised residual ``nan``, and an assumption
        that is far off does not make a measurement look wrong.

    Returns
    -------
    Fit

    Notes
    -----
    Gauss-Newton with step halving. Covariance (J^T W J)^-1, redundancy 1 - (J C J^T W)_ii.

    References
    ----------
    W. Baarda, A testing procedure for use in geodetic networks, Netherlands Geodetic Commission,
    Publications on Geodesy 2/5, Delft 1968: redundancy numbers and normalised residuals.
    """
    points = _descend(network, start)
    readings, slopes = predict(network, points)
    design = slopes / network.sd[:, None]
    misfit = (network.value - readings) / network.sd
    free = np.flatnonzero(network.free.ravel())
    covariance = np.zeros((points.size, points.size))
    covariance[np.ix_(free, free)] = spread_of(design)
    real = np.ones(len(misfit), dtype=bool) if measured is None else measured
    redundancy, normalised = _checks(design, misfit, real)
    return Fit(points, covariance, misfit * network.sd, redundancy, normalised)


def _checks(design: Floats, misfit: Floats, real: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Redundancy and normalised residual (m,), of the measured rows by themselves."""
    basis = held_by(design[real])
    redundancy, normalised = np.zeros_like(misfit), np.full_like(misfit, np.nan)
    share = 1.0 - np.einsum("ij,ij->i", basis, basis)
    redundancy[real] = np.clip(share, 0.0, 1.0)
    own = misfit[real] - basis @ (basis.T @ misfit[real])
    checked = share >= LEAST_REDUNDANCY
    normalised[np.flatnonzero(real)[checked]] = own[checked] / np.sqrt(share[checked])
    return redundancy, normalised


def _descend(network: Network, start: Floats) -> Floats:
    """Points (n, 3), mm, of least cost; after `STEPS` the best found."""
    points = np.array(start, dtype=np.float64)
    readings, slopes = predict(network, points)
    misfit = (network.value - readings) / network.sd
    for _ in range(STEPS):
        step = np.zeros_like(points)
        step[network.free] = np.linalg.lstsq(slopes / network.sd[:, None], misfit)[0]
        before, cost = points, float(misfit @ misfit)
        for halving in range(HALVINGS):
            points = before + step * 0.5**halving
            readings, slopes = predict(network, points)
            misfit = (network.value - readings) / network.sd
            gain = cost - float(misfit @ misfit)
            if gain >= 0.0:
                break
        if gain < NO_GAIN * cost or np.max(np.abs(points - before), initial=0.0) < STILL:
            break
    return points


def root(covariance: Floats) -> Floats:
    """Lower triangle L (k, k) with L L^T equal to a covariance that may be singular.

    Parameters
    ----------
    covariance : (k, k) float
        Symmetric, no negative variances. A row that others determine gets a zero column.

    Notes
    -----
    Outer-product Cholesky that passes over vanishing pivots. Unlike eigenvectors its signs are
    fixed, so samples drawn with it are the same on every machine to rounding.

    Examples
    --------
    >>> root(np.array([[4.0, 4.0, 0.0], [4.0, 4.0, 0.0], [0.0, 0.0, 9.0]]))
    array([[2., 0., 0.],
           [2., 0., 0.],
           [0., 0., 3.]])
    """
    left = np.array(covariance, dtype=np.float64)
    factor, least = np.zeros_like(left), 1e-10 * np.diag(covariance)
    for k, bound in enumerate(least):
        if left[k, k] > bound:
            factor[k:, k] = left[k:, k] / np.sqrt(left[k, k])
            left -= np.outer(factor[:, k], factor[:, k])
    return factor
