"""Smallest values in boxes, against scipy's brute force and bounded search."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brute, fmin, minimize_scalar

from fitprofile.geometry.minima import smallest_in_box

Array = np.ndarray[Any, np.dtype[np.float64]]


@given(
    bottom=st.floats(-3.0, 3.0),
    steep=st.floats(0.1, 20.0),
    skew=st.floats(-0.9, 0.9),
    low=st.floats(-2.0, -0.1),
    high=st.floats(0.1, 2.0),
)
def test_one_side_finds_what_scipy_s_bounded_search_finds(
    bottom: float, steep: float, skew: float, low: float, high: float
) -> None:
    """A lop-sided valley whose bottom may lie outside the box; scipy's `minimize_scalar`."""

    def valley(x: Any) -> Any:
        off = x - bottom
        return steep * off**2 * (1.0 + skew * np.tanh(off))

    place, value = smallest_in_box(
        lambda q: valley(q[0]), np.array([low]), np.array([high]), first=13, later=7, zooms=16
    )
    found = minimize_scalar(valley, bounds=(low, high), method="bounded", options={"xatol": 1e-9})
    assert low <= float(place[0]) <= high
    assert float(value) <= found.fun + 1e-9
    assert float(value) == pytest.approx(float(valley(float(place[0]))), abs=1e-12)


@given(seed=st.integers(0, 10_000))
def test_two_sides_find_what_scipy_s_brute_force_finds(seed: int) -> None:
    """A tilted bowl; scipy's `brute` on a grid, polished by `fmin`."""
    rng = np.random.default_rng(seed)
    x0, y0 = rng.uniform(-1.0, 1.0, 2)
    a, c = rng.uniform(0.5, 4.0, 2)
    b = rng.uniform(-0.5, 0.5) * np.sqrt(a * c)

    def bowl(x: Any, y: Any) -> Any:
        return a * (x - x0) ** 2 + 2.0 * b * (x - x0) * (y - y0) + c * (y - y0) ** 2 + 1.0

    _, value = smallest_in_box(
        lambda q: bowl(q[0], q[1]),
        np.array([-2.0, -2.0]),
        np.array([2.0, 2.0]),
        first=9,
        later=5,
        zooms=20,
    )
    _, least, _, _ = brute(
        lambda q: bowl(*q), ((-2.0, 2.0), (-2.0, 2.0)), Ns=41, full_output=True, finish=fmin
    )
    assert float(value) == pytest.approx(float(least), abs=1e-5)


def test_each_function_of_an_array_gets_its_own_box() -> None:
    """As one at a time; the box of one may be a single point."""
    bottoms, low, high = (
        np.array([[0.3, -5.0, 0.9], [0.0, 2.0, 0.25]]),
        np.array([[-1.0, -1.0, 0.5], [0.5, -1.0, -1.0]]),
        np.array([[1.0, 1.0, 0.5], [1.0, 1.0, 1.0]]),
    )

    def valley(q: Array, bottom: Array) -> Array:
        return np.asarray((q[0] - bottom[..., None]) ** 2)

    place, value = smallest_in_box(
        lambda q: valley(q, bottoms), low[None], high[None], first=9, later=7, zooms=14
    )
    assert place.shape == (1, 2, 3)
    assert place[0] == pytest.approx(np.clip(bottoms, low, high), abs=1e-6)
    for at in np.ndindex(2, 3):
        alone, least = smallest_in_box(
            lambda q, at=at: valley(q, bottoms[at]),  # type: ignore[misc]
            low[at][None],
            high[at][None],
            first=9,
            later=7,
            zooms=14,
        )
        assert float(alone[0]) == float(place[0][at])
        assert float(least) == float(value[at])


def test_nan_is_never_the_smallest() -> None:
    """Where nothing is there the place lies in the box and the value is infinite."""
    low, high = np.array([0.0]), np.array([1.0])
    place, _ = smallest_in_box(
        lambda q: np.where(q[0] < 0.5, np.nan, q[0]), low, high, first=9, later=7, zooms=12
    )
    assert float(place[0]) == pytest.approx(0.5, abs=1e-6)
    place, value = smallest_in_box(
        lambda q: np.full_like(q[0], np.nan), low, high, first=9, later=7, zooms=2
    )
    assert 0.0 <= float(place[0]) <= 1.0
    assert float(value) == np.inf
