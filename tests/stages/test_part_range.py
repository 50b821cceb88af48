"""Ranges of a part's figure: all that fits, looked for as far as it goes, in whole figures."""

from __future__ import annotations

from math import ceil, floor

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from fitprofile.stages.part_range import (
    ROOM,
    Figure,
    Fits,
    Grid,
    kept,
    longest_run,
    plus,
    span_of,
    steps,
)

BAND = (-200.0, 300.0)
ANY = (-1e6, 1e6)


def both_in(one: tuple[float, float], other: tuple[float, float] = ANY) -> Fits:
    """Parts fit where each figure lies in its own band."""

    def fits(grid: Grid) -> NDArray[np.bool_]:
        return np.array(
            [one[0] <= a <= one[1] and other[0] <= b <= other[1] for a, b in grid], dtype=bool
        )

    return fits


@given(
    exact=st.floats(-150.0, 250.0), low=st.floats(-190.0, 250.0), long=st.floats(6.0, 400.0),
)  # fmt: skip
def test_a_run_is_found_to_its_ends(exact: float, low: float, long: float) -> None:
    """However long it is and wherever it lies: every whole figure in it that the band holds."""
    high = low + long
    found = span_of(Figure(exact, BAND), Figure(3.0, BAND), both_in((low, high)))
    first, last = ceil(max(low, BAND[0])), floor(min(high, BAND[1]))
    assert found == ((first, last), 5.0)


def test_the_other_figure_is_another_where_the_exact_one_fits_nowhere() -> None:
    """The whole step with which most fit; none at all where nothing does."""
    figures = Figure(10.0, BAND), Figure(0.0, (-20.0, 40.0))
    assert span_of(*figures, both_in((8.0, 12.0), (9.0, 16.0))) == ((8.0, 12.0), 10.0)
    assert span_of(*figures, both_in((8.0, 12.0), (50.0, 60.0))) is None
    assert span_of(*figures, both_in((400.0, 500.0))) is None


@pytest.mark.parametrize(
    ("band", "step", "found"),
    [
        ((-3.5, 2.9), 1.0, [-3.0, -2.0, -1.0, 0.0, 1.0, 2.0]),
        ((-3.0, -1.0), 1.0, [-3.0, -2.0, -1.0]),
        ((-7.0, 12.0), 5.0, [-5.0, 0.0, 5.0, 10.0]),
        ((1.2, 1.7), 1.0, [1.2, 1.7]),
        ((1.2, 1.2), 5.0, [1.2]),
    ],
)
def test_steps_are_whole_figures(
    band: tuple[float, float], step: float, found: list[float]
) -> None:
    """Printed as they are; the ends where a band holds no whole one."""
    assert steps(band, step).tolist() == found


def test_figures_count_what_is_fitted_in() -> None:
    """A move of 10 to 20 from a riser of 25 is a riser of 35 to 45."""
    made = Figure.of_move(10.0, (-5.0, 20.0), 25.0)
    assert made == Figure(35.0, (20.0, 45.0))
    assert plus((-5.0, 20.0), 25.0) == made.band
    assert made.near == (20.0, 45.0)
    assert Figure(-300.0, BAND).near == (BAND[0], BAND[0])
    assert Figure(50.0, BAND).near == (50.0 - ROOM, 50.0 + ROOM)
    assert [Figure(exact, (-12.0, 43.0)).rough for exact in (-60.0, 12.4, 12.6, 99.0)] == [
        -10.0,
        10.0,
        15.0,
        40.0,
    ]
    assert [kept(value, (0.0, 9.0)) for value in (-1.0, 5.0, 10.0)] == [0.0, 5.0, 9.0]


def test_the_longest_run_counts() -> None:
    """Of several the first that is longest; of none nothing."""
    values = np.arange(8.0)
    fits = np.array([1, 0, 1, 1, 0, 1, 1, 0], dtype=bool)
    assert longest_run(values, fits) == (2.0, 3.0)
    assert longest_run(values, np.zeros(8, dtype=bool)) is None
    assert longest_run(values, np.ones(8, dtype=bool)) == (0.0, 7.0)
