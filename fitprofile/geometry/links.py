"""Two links joined at a hinge: the hinge's angle, its place, and the span it leaves."""

from __future__ import annotations

import numpy as np

from fitprofile.geometry.vectors import Floats, Real, Vec, norm


def hinge_angle(upper: Real, lower: Real, span: Real) -> Floats:
    """Interior angle at the hinge of two links whose far ends lie ``span`` apart.

    Parameters
    ----------
    upper, lower : (...) float
        Lengths of the two links, each above zero.
    span : (...) float
        Distance between the ends that do not meet, same unit.

    Returns
    -------
    (...) float, rad
        From 0 (folded) to pi (straight). ``nan`` where no triangle closes.

    Notes
    -----
    Half-angle form of the law of cosines with Kahan's bracketing; `tests/geometry/test_links.py`
    holds it against 50-digit arithmetic.

    References
    ----------
    W. Kahan, "Miscalculating Area and Angles of a Needle-like Triangle", lecture notes, Berkeley.

    Examples
    --------
    >>> float(np.degrees(hinge_angle(300.0, 400.0, 500.0)).round(9))
    90.0
    >>> hinge_angle(300.0, 400.0, [700.0, 701.0])
    array([3.14159265,        nan])
    """
    opposite, adjacent = _half_angle(upper, lower, span)
    angle: Floats = 2.0 * np.arctan2(opposite, adjacent)
    return angle


def _half_angle(upper: Real, lower: Real, span: Real) -> tuple[Floats, Floats]:
    """Sides of a right triangle that holds half the hinge's angle; ``nan`` where none closes.

    A span equal to the sum or the difference of the links as rounded still closes.
    """
    a, b, c = (np.asarray(side, dtype=np.float64) for side in (upper, lower, span))
    long, short = np.maximum(a, b), np.minimum(a, b)
    apart, whole = long - short, long + short
    folded = np.where(c < short, c - apart, short - (long - c))
    straight = (long - c) + short
    folded = np.where(c >= apart, np.maximum(folded, 0.0), folded)
    straight = np.where(c <= whole, np.maximum(straight, 0.0), straight)
    with np.errstate(invalid="ignore"):
        return np.sqrt(folded * (c + apart)), np.sqrt(straight * (whole + c))


def hinge_span(upper: Real, lower: Real, angle: Real) -> Floats:
    """Distance between the far ends of two links that enclose ``angle`` (rad) at their hinge.

    Law of cosines written as ``(upper - lower)^2 + 4 upper lower sin^2(angle / 2)``, which loses
    no digits near the folded end.

    Examples
    --------
    >>> float(hinge_span(3.0, 4.0, np.pi / 2).round(12))
    5.0
    """
    a, b = np.asarray(upper, dtype=np.float64), np.asarray(lower, dtype=np.float64)
    half = np.sin(np.multiply(angle, 0.5))
    return np.asarray(np.sqrt((a - b) ** 2 + 4.0 * a * b * half * half))


def hinge_offsets(upper: Real, lower: Real, span: Real) -> tuple[Floats, Floats]:
    """Where the hinge lies: along the line between the far ends, and off it.

    Returns
    -------
    along, off : (...) float
        From the upper link's far end toward the other one, and square to that line, ``off`` >= 0.
        ``off`` is ``nan`` where no triangle closes.

    Notes
    -----
    ``off`` is the triangle's height, twice its area over ``span``, with the area from the same
    bracketing as `hinge_angle`; so it exists wherever the angle does, down to a straight hinge.
    """
    a, b, c = (np.asarray(side, dtype=np.float64) for side in (upper, lower, span))
    opposite, adjacent = _half_angle(a, b, c)
    with np.errstate(invalid="ignore", divide="ignore"):
        along = ((a - b) * (a + b) / c + c) * 0.5
        off = opposite * adjacent / (2.0 * c)
    return along, off


def hanging_hinge(upper: Real, lower: Real, swivel: Real, start: Vec, end: Vec, side: Real) -> Vec:
    """From the hinge of two links to ``end``, the hinge hanging below the line start-end.

    Parameters
    ----------
    upper, lower : (...) float
        Links from ``start`` to the hinge and from the hinge to ``end``.
    swivel : (...) float, rad
        Turn of the hinge about the line, 0 hanging straight down, positive outward.
    start, end : triples of (...) float
        z points up. The line between them must not be vertical.
    side : (...) float
        +1 where outward is left (+y), -1 where it is right.

    Returns
    -------
    triple of (...) float
        Vector from the hinge to ``end``; ``nan`` where no triangle closes.

    Notes
    -----
    With e the unit vector from ``start`` to ``end`` and up = (0, 0, 1):
    down = (-up + e_z e) / n, n = hypot(e_x, e_y); out = e x down = (-e_y, e_x, 0) / n.
    """
    line = end.minus(start)
    span = norm(line)
    along, off = hinge_offsets(upper, lower, span)
    with np.errstate(invalid="ignore", divide="ignore"):
        ex, ey, ez = line.times(1.0 / span)
        level = np.hypot(ex, ey)
        down, out = off * np.cos(swivel), off * np.sin(swivel) * side
        rest = span - along
        return Vec(
            rest * ex - (down * ez * ex - out * ey) / level,
            rest * ey - (down * ez * ey + out * ex) / level,
            rest * ez + down * level,
        )
