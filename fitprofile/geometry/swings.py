"""How near and how far a point swinging about an axis comes to a fixed one. Angles in radians."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fitprofile.geometry.rotations import cross
from fitprofile.geometry.vectors import Floats, Real, Vec, dot


class Swing(NamedTuple):
    """Least and greatest distance over a swing, and the angle of each, all (...) float."""

    least: Floats
    nearest_at: Floats
    greatest: Floats
    farthest_at: Floats


def swing(point: Vec, fixed: Vec, axis: Vec, pivot: Vec, reach: Real) -> Swing:
    """Least and greatest distance of a point that turns from ``-reach`` to ``reach``.

    Parameters
    ----------
    point, fixed : triples of (...) float
        Where the swinging point stands at zero, and the one that stays; any unit of length.
    axis : triple of float
        Unit direction of the axis, right-handed.
    pivot : triple of float
        A point on the axis.
    reach : (...) float, rad
        From 0 to pi.

    Returns
    -------
    Swing
        Distances in the unit of the points, angles from ``-reach`` to ``reach``.

    Notes
    -----
    By Rodrigues' formula the squared distance is a - b cos t - c sin t: one trough at
    atan2(c, b), one crest half a turn away. Inside the swing they are the answer, else an end is.

    Examples
    --------
    >>> origin, up = Vec(0.0, 0.0, 0.0), Vec(0.0, 0.0, 1.0)
    >>> found = swing(Vec(1.0, 0.0, 0.0), Vec(0.0, 2.0, 0.0), up, origin, np.pi / 2)
    >>> float(found.least.round(12)), float(np.degrees(found.nearest_at).round(9))
    (1.0, 90.0)
    """
    arm, other = point.minus(pivot), fixed.minus(pivot)
    along = dot(axis, arm) * dot(axis, other)
    b = 2.0 * (dot(other, arm) - along)
    c = 2.0 * dot(other, cross(axis, arm))
    a = dot(arm, arm) + dot(other, other) - 2.0 * along
    near, far = np.arctan2(c, b), np.arctan2(-c, -b)
    # At an end the nearer of the two has the smaller turn to the trough, the farther to the crest.
    inside = np.clip(near, -reach, reach)
    outside = np.clip(far, -reach, reach)
    end = np.where(c >= 0.0, 1.0, -1.0) * reach
    nearest_at = np.where(np.abs(near) <= reach, inside, end)
    farthest_at = np.where(np.abs(far) <= reach, outside, -end)
    least, greatest = (
        np.sqrt(np.maximum(a - b * np.cos(t) - c * np.sin(t), 0.0))
        for t in (nearest_at, farthest_at)
    )
    return Swing(least, nearest_at, greatest, farthest_at)
