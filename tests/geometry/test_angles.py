"""Angles from sides, against 50-digit arithmetic."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.geometry.angles import from_adjacent, from_opposite, nearest_zero
from tests.shapes import SHAPES

SIDES = st.floats(-1.0, 1.0)


@given(share=SIDES, longest=st.floats(1e-3, 1e4))
def test_right_triangles_agree_with_50_digits(share: float, longest: float) -> None:
    """Arcsine and arccosine by mpmath, to 4 units in the last place or 1e-15 rad."""
    side = share * longest
    with mpmath.workdps(50):
        ratio = mpmath.mpf(side) / mpmath.mpf(longest)
        sine, cosine = float(mpmath.asin(ratio)), float(mpmath.acos(ratio))
    assert float(from_opposite(side, longest)) == pytest.approx(sine, rel=1e-15, abs=1e-15)
    assert float(from_adjacent(side, longest)) == pytest.approx(cosine, rel=1e-15, abs=1e-15)


@pytest.mark.parametrize("gap", [1e-4, 1e-8, 1e-12])
def test_digits_survive_next_to_a_flat_triangle(gap: float) -> None:
    """Near 90 degrees the plain arcsine of a rounded quotient is off by 1e-8."""
    with mpmath.workdps(50):
        expected = float(mpmath.acos(mpmath.mpf(1.0 - gap)))
    assert float(from_adjacent(1.0 - gap, 1.0)) == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize("function", [from_opposite, from_adjacent])
def test_a_side_longer_than_the_longest_is_no_triangle(function: type) -> None:
    """One element without a triangle leaves the others alone."""
    found = function(np.array([1.0, -2.0, 2.0]), 1.5)
    assert np.isnan(found).tolist() == [False, True, True]


@given(st.floats(-50.0, 50.0))
def test_nearest_zero_is_the_same_direction_within_half_a_turn(angle: float) -> None:
    """Same sine and cosine, size at most pi."""
    found = float(nearest_zero(angle))
    assert abs(found) <= np.pi
    assert np.exp(1j * found) == pytest.approx(np.exp(1j * angle), abs=1e-12)


@pytest.mark.parametrize("shape", SHAPES)
def test_shapes(shape: tuple[int, ...]) -> None:
    """Elementwise, whatever the shape."""
    half = np.full(shape, 0.5)
    for function, degrees in ((from_opposite, 30.0), (from_adjacent, 60.0)):
        found = np.degrees(function(half, np.ones(shape)))
        assert found.shape == shape
        assert found == pytest.approx(degrees)
    assert nearest_zero(half).shape == shape
