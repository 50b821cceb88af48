"""Bracketed roots against scipy's brentq and mpmath, in batches and alone."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from fitprofile.geometry.roots import bracketed_root
from fitprofile.geometry.vectors import Floats
from tests.shapes import SHAPES

Function = Callable[[Floats], Floats]

CASES: list[tuple[Function, Callable[[Any], Any], float, float]] = [
    (lambda x: np.cos(x) - x, lambda x: mpmath.cos(x) - x, 0.0, 1.0),
    (lambda x: x**3 - 2 * x - 5, lambda x: x**3 - 2 * x - 5, 2.0, 3.0),
    (lambda x: np.exp(-x) - 1e-3, lambda x: mpmath.exp(-x) - mpmath.mpf(1e-3), 0.0, 20.0),
    (lambda x: np.sqrt(x) - 0.3, lambda x: mpmath.sqrt(x) - mpmath.mpf(0.3), 0.0, 1.0),
    (lambda x: x**9, lambda x: x, -1.0, 0.7),
    (lambda x: np.arctan(50 * (x - 0.3)), lambda x: x - mpmath.mpf(0.3), -2.0, 9.0),
    (lambda x: np.where(x < 0.4, -1.0, 1.0), lambda x: x - mpmath.mpf(0.4), 0.0, 1.0),
]
"""Chandrupatla's kind of functions: easy, stiff, flat, with a vertical start, with a jump."""


@pytest.mark.parametrize("case", CASES)
def test_roots_agree_with_mpmath_and_brentq(
    case: tuple[Function, Callable[[Any], Any], float, float],
) -> None:
    """To 1e-11; the ninth power, flat at its root, to what bisection can tell there."""
    function, exact, low, high = case
    found = float(bracketed_root(function, np.array(low), np.array(high)))
    with mpmath.workdps(30):
        root = float(mpmath.findroot(exact, (low, high), solver="bisect", maxsteps=120))
    flat = abs(float(function(np.array(root + 1e-3)))) < 1e-20
    assert found == pytest.approx(root, abs=1e-4 if flat else 1e-11)
    scipys = brentq(lambda x: float(function(np.array(x))), low, high, xtol=1e-14, maxiter=1000)
    assert found == pytest.approx(scipys, abs=1e-4 if flat else 1e-11)


@given(st.lists(st.floats(-0.95, 0.95), min_size=1, max_size=12))
def test_a_batch_equals_its_singles(levels: list[float]) -> None:
    """Each element on its own: not a bit of difference."""
    level = np.array(levels)

    def off(x: Floats, wanted: Floats) -> Floats:
        return np.asarray(np.tanh(x) - wanted)

    ends = np.full_like(level, -3.0), np.full_like(level, 4.0)
    batch = bracketed_root(lambda x: off(x, level), *ends)
    singles = [
        float(bracketed_root(partial(off, wanted=w), np.array(-3.0), np.array(4.0))) for w in level
    ]
    assert batch.tolist() == singles
    assert batch == pytest.approx(np.arctanh(level), abs=1e-12)


def test_no_sign_change_is_no_root() -> None:
    """nan where both ends have one sign or no value; the others are found."""
    level = np.array([0.5, 2.0, -2.0, np.nan])
    found = bracketed_root(lambda x: x - level, np.zeros(4), np.ones(4))
    assert found[0] == pytest.approx(0.5)
    assert np.isnan(found[1:]).all()


@pytest.mark.parametrize("end", [0.0, 1.0])
def test_a_root_at_an_end_is_found(end: float) -> None:
    """Exactly."""
    assert float(bracketed_root(lambda x: x - end, np.array(0.0), np.array(1.0))) == end


@pytest.mark.parametrize("shape", SHAPES)
def test_shapes(shape: tuple[int, ...]) -> None:
    """Any shape, also none at all."""
    found = bracketed_root(lambda x: x - 0.25, np.zeros(shape), np.ones(shape))
    assert found.shape == shape
    assert found == pytest.approx(0.25)
