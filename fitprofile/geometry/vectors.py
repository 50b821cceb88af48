"""Triples of arrays: points and directions whose three axes cannot be confused.

Axes follow ISO 8855: x forward, y left, z up. The components of one `Vec` broadcast against
each other, so the same formula serves one point and a thousand of them.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""An array (...) float."""

Real = float | Floats
"""One float or an array (...) of them."""


class Vec(NamedTuple):
    """A point or direction, components (...) float in one unit of length.

    Examples
    --------
    >>> float(Vec(1.0, 2.0, 3.0).plus(Vec(1.0, 0.0, 0.0)).x)
    2.0
    """

    x: Real
    y: Real
    z: Real

    def plus(self, other: Vec) -> Vec:
        """Sum, component by component."""
        return Vec(np.add(self.x, other.x), np.add(self.y, other.y), np.add(self.z, other.z))

    def minus(self, other: Vec) -> Vec:
        """Difference, component by component; from ``other`` to this point."""
        return Vec(
            np.subtract(self.x, other.x), np.subtract(self.y, other.y), np.subtract(self.z, other.z)
        )

    def times(self, factor: Real) -> Vec:
        """Product with a number (...) float."""
        return Vec(
            np.multiply(self.x, factor), np.multiply(self.y, factor), np.multiply(self.z, factor)
        )


def dot(a: Vec, b: Vec) -> Floats:
    """Scalar product (...) float."""
    return np.asarray(a.x * b.x + a.y * b.y + a.z * b.z)


def norm(a: Vec) -> Floats:
    """Length (...) float, unit of the components."""
    length: Floats = np.sqrt(dot(a, a))
    return length


def unit(a: Vec) -> Vec:
    """Direction of ``a``; ``nan`` where its length is zero."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return a.times(np.divide(1.0, norm(a)))


def middle(a: Vec, b: Vec) -> Vec:
    """Point half-way between two points."""
    return a.plus(b).times(0.5)


def side_distance(a: Vec, b: Vec) -> Floats:
    """Distance between two points seen from the side (x-z plane), (...) float."""
    return np.asarray(np.hypot(np.subtract(b.x, a.x), np.subtract(b.z, a.z)))


def slope_below(a: Vec, b: Vec) -> Floats:
    """How far the line from ``a`` to ``b`` falls below horizontal, seen from the side.

    Returns
    -------
    (...) float, rad
        From -pi to pi; zero points straight ahead, positive falls.

    Examples
    --------
    >>> float(np.degrees(slope_below(Vec(0.0, 5.0, 1.0), Vec(1.0, 0.0, 0.0))).round(9))
    45.0
    """
    return np.asarray(np.arctan2(np.subtract(a.z, b.z), np.subtract(b.x, a.x)))


def elevation(axis: Vec) -> Floats:
    """Angle of a direction above the x-y plane, (...) float, rad, -pi/2 to pi/2."""
    return np.asarray(np.arctan2(axis.z, np.hypot(axis.x, axis.y)))


def rearward(axis: Vec) -> Floats:
    """How far a direction that points left turns back, seen from above; (...) float, rad.

    Zero points straight left (+y), positive turns toward the rear (-x).
    """
    return np.asarray(np.arctan2(np.negative(axis.x), axis.y))


def leftward_axis(tilt: Real, back: Real) -> Vec:
    """Unit direction to the left with ``tilt`` above the x-y plane and turned ``back``; both rad.

    Inverse of `elevation` and `rearward`.
    """
    return Vec(
        -np.cos(tilt) * np.sin(back),
        np.cos(tilt) * np.cos(back),
        np.sin(tilt) * np.ones_like(np.asarray(back, dtype=np.float64)),
    )
