"""Normal deviates: their distribution, and that a seed fixes them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fitprofile.geometry.draws import Deviates


def test_deviates_are_standard_normal() -> None:
    """Kolmogorov-Smirnov against scipy's normal distribution, 100,000 draws, fixed seed."""
    assert stats.kstest(Deviates(3).standard_normal(100_000), "norm").pvalue > 0.01


def test_deviates_of_one_call_and_of_two_are_uncorrelated() -> None:
    """The pairs of the transform and successive calls are independent, within 4 spreads."""
    draws = Deviates(5)
    first, second = draws.standard_normal(20_000), draws.standard_normal(20_000)
    for a, b in ((first, second), (first[:10_000], first[10_000:])):
        assert abs(np.corrcoef(a, b)[0, 1]) < 4.0 / np.sqrt(len(a))


def test_a_seed_fixes_the_draws() -> None:
    """The same seed draws the same, another draws others, all finite."""
    one, same, other = (Deviates(seed).standard_normal((7, 3)) for seed in (1, 1, 2))
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)
    assert np.isfinite(one).all()


@pytest.mark.parametrize("size", [0, 1, 5, (3,), (4, 1), (2, 3), (0,)])
def test_any_shape_can_be_asked_for(size: int | tuple[int, ...]) -> None:
    """The shape asked for is the shape that comes, in double precision."""
    drawn = Deviates(1).standard_normal(size)
    assert drawn.shape == ((size,) if isinstance(size, int) else size)
    assert drawn.dtype == np.float64
