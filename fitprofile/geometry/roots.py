"""Roots in brackets, for whole arrays at once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from fitprofile.geometry.vectors import Floats

MOST_STEPS = 60
"""Bisection alone would need 53 halvings for double precision; more is never useful."""


def bracketed_root(
    function: Callable[[Floats], Floats], low: Floats, high: Floats, tolerance: float = 1e-14
) -> Floats:
    """Root of ``function`` between ``low`` and ``high``, each element on its own.

    Parameters
    ----------
    function : callable
        Takes and returns (...) float of the shape of the brackets.
    low, high : (...) float
        Ends of the bracket, finite.
    tolerance : float
        Stop where the bracket is narrower than this, absolute.

    Returns
    -------
    (...) float
        ``nan`` where the function has the same sign, or no value, at both ends.

    Notes
    -----
    Inverse quadratic interpolation where Chandrupatla's test trusts it, else bisection. Elements
    that have converged keep their root while the rest go on.

    References
    ----------
    T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a
    nonlinear function without using derivatives", Advances in Engineering Software 28 (1997),
    145-149.

    Examples
    --------
    >>> bracketed_root(lambda x: x * x - 2.0, np.array([0.0]), np.array([2.0])).round(12)
    array([1.41421356])
    """
    a, b = np.array(high, dtype=np.float64), np.array(low, dtype=np.float64)
    fa, fb = function(a), function(b)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        enclosed = fa * fb <= 0.0
        root = np.where(np.abs(fa) < np.abs(fb), a, b)
        done = ~enclosed | (fa == 0.0) | (fb == 0.0)
        share = np.full_like(a, 0.5)
        for _ in range(MOST_STEPS):
            if done.all():
                break
            x = a + share * (b - a)
            fx = function(x)
            same = (fx < 0.0) == (fa < 0.0)
            c, fc = np.where(same, a, b), np.where(same, fa, fb)
            b, fb = np.where(same, b, a), np.where(same, fb, fa)
            a, fa = x, fx
            root = np.where(done, root, np.where(np.abs(fa) < np.abs(fb), a, b))
            width = np.abs(b - a)
            done = done | (width <= tolerance) | (fa == 0.0)
            share = _next_share(a, b, c, fa, fb, fc)
            least = np.minimum(0.5 * tolerance / width, 0.5)
            share = np.clip(share, least, 1.0 - least)
    return np.where(enclosed, root, np.nan)


def _next_share(a: Floats, b: Floats, c: Floats, fa: Floats, fb: Floats, fc: Floats) -> Floats:
    """Fraction of the way from ``a`` to ``b`` to look next; one half means bisection."""
    xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
    trusted = (phi * phi < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
    inverse = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    return np.where(trusted & np.isfinite(inverse), inverse, 0.5)
