"""Turning points in the side view and about any axis. Angles in radians."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fitprofile.geometry.vectors import Floats, Real, Vec, dot


def roll(point: Vec, angle: Real, pivot: Vec) -> Vec:
    """Point turned in the side view (x-z plane) about ``pivot``; positive carries the top back.

    Parameters
    ----------
    point, pivot : triples of (...) float
        Same unit of length; y is left as it is.
    angle : (...) float, rad
        Turns (x, z) into (x cos - z sin, x sin + z cos).

    Examples
    --------
    >>> turned = roll(Vec(0.0, 0.0, 1.0), np.pi / 2, Vec(0.0, 0.0, 0.0))
    >>> float(turned.x.round(12))
    -1.0
    """
    return rolled((point,), angle, pivot)[0]


def rolled(points: Sequence[Vec], angle: Real, pivot: Vec) -> tuple[Vec, ...]:
    """Several points turned in the side view by one angle about one pivot; see `roll`."""
    c, s = np.cos(angle), np.sin(angle)
    made = []
    for point in points:
        x, z = np.subtract(point.x, pivot.x), np.subtract(point.z, pivot.z)
        made.append(Vec(pivot.x + (x * c - z * s), point.y, pivot.z + (x * s + z * c)))
    return tuple(made)


def turn_about(point: Vec, angle: Real, axis: Vec, pivot: Vec) -> Vec:
    """Point turned by ``angle`` about the line through ``pivot`` along the unit ``axis``.

    Right-handed about ``axis``. Rodrigues' formula.

    References
    ----------
    O. Rodrigues, Journal de Mathematiques 5 (1840), 380-440; as in any text on rigid motion.

    Examples
    --------
    >>> turned = turn_about(
    ...     Vec(0.0, 1.0, 0.0), np.pi / 2, Vec(0.0, 0.0, 1.0), Vec(0.0, 0.0, 0.0)
    ... )
    >>> float(turned.x.round(12))
    -1.0
    """
    arm = point.minus(pivot)
    c, s = np.cos(angle), np.sin(angle)
    along = dot(axis, arm) * (1.0 - c)
    side = cross(axis, arm)
    return Vec(
        *(p + a * c + b * s + u * along for p, a, b, u in zip(pivot, arm, side, axis, strict=True))
    )


def cross(a: Vec, b: Vec) -> Vec:
    """Vector product, right-handed."""
    ax, ay, az = (np.asarray(v) for v in a)
    bx, by, bz = (np.asarray(v) for v in b)
    return Vec(ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx)


def angle_about(axis: Vec, start: Vec, end: Vec) -> Floats:
    """Angle that carries ``start`` to ``end`` about a unit ``axis`` square to both.

    Returns
    -------
    (...) float, rad
        From -pi to pi, right-handed about ``axis``.
    """
    return np.asarray(np.arctan2(dot(axis, cross(start, end)), dot(start, end)))
