"""Angles from the sides of right triangles, without the digits that arcsin and arccos lose."""

from __future__ import annotations

import numpy as np

from fitprofile.geometry.vectors import Floats, Real


def from_opposite(opposite: Real, longest: Real) -> Floats:
    """Angle of a right triangle from its opposite and longest side, (...) float, rad.

    From -pi/2 to pi/2; ``nan`` where the opposite side is longer than the longest.

    Examples
    --------
    >>> float(np.degrees(from_opposite(1.0, 2.0)).round(9))
    30.0
    """
    with np.errstate(invalid="ignore"):
        return np.asarray(np.arctan2(opposite, _third(opposite, longest)))


def from_adjacent(adjacent: Real, longest: Real) -> Floats:
    """Angle of a right triangle from its adjacent and longest side, (...) float, rad.

    From 0 to pi; ``nan`` where the adjacent side is longer than the longest.

    Examples
    --------
    >>> float(np.degrees(from_adjacent(1.0, 2.0)).round(9))
    60.0
    """
    with np.errstate(invalid="ignore"):
        return np.asarray(np.arctan2(_third(adjacent, longest), adjacent))


def _third(side: Real, longest: Real) -> Floats:
    """Remaining side of a right triangle; ``nan`` where ``side`` is the longer one."""
    return np.asarray(np.sqrt(np.subtract(longest, side) * np.add(longest, side)))


def nearest_zero(angle: Real) -> Floats:
    """Same angle between -pi and pi, (...) float, rad."""
    return np.asarray(np.remainder(np.add(angle, np.pi), 2.0 * np.pi) - np.pi)
