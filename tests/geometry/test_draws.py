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


@pytest.mark.parametrize("sizes", [[(5, 40), 40, (3, 2, 40)], [7, 7, 7], [(20, 200), (150, 200)]])
def test_rows_have_mean_0_spread_1_and_no_correlation(sizes: list[int | tuple[int, ...]]) -> None:
    """Exactly, over several calls and beside another set of deviates; by numpy's own cov."""
    draws = Deviates(2)
    first = [draws.standard_normal(size) for size in sizes[:-1]]
    last = Deviates(3, beside=draws).standard_normal(sizes[-1])
    rows = np.concatenate([one.reshape(-1, one.shape[-1]) for one in (*first, last)])
    assert np.abs(rows.mean(axis=1)).max() < 1e-12
    assert np.cov(rows, bias=True) == pytest.approx(np.eye(len(rows)), abs=1e-12)


def test_rows_drawn_are_still_normal() -> None:
    """A hundred rows of 200, Kolmogorov-Smirnov on all of them together against scipy's normal."""
    rows = Deviates(4).standard_normal((100, 200))
    assert stats.kstest(rows.ravel(), "norm").pvalue > 0.01


def test_more_rows_than_draws_stay_as_they_were_drawn() -> None:
    """There is no room for so many without correlation; none is lost or made a nan."""
    rows = Deviates(6).standard_normal((30, 10))
    assert np.isfinite(rows).all()
    assert 0.8 < rows.std() < 1.2


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
