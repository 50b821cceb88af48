"""Weighted least squares: a textbook network, an independent optimiser, and planted errors."""

from __future__ import annotations

from collections.abc import Sequence
from math import asin, atan, degrees, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import least_squares

from fitprofile.geometry.vectors import Floats
from fitprofile.stages.network import (
    AHEAD,
    HEIGHT,
    LENGTH,
    SPACING,
    SWEEP,
    TILT,
    WEAKEST,
    Network,
    Row,
    adjust,
    lay_out,
    predict,
    root,
    spread_of,
)

NAMES = ("a", "b", "c", "d")
START = np.array([[0.0, 0.0, 300.0], [400.0, 200.0, 400.0], [700.0, 350.0, 900.0], [0, 0, 800.0]])
TRUTH = START + np.array([[0.0, 0, 4], [12, -3, 9], [-15, 5, 11], [0, 0, -14.0]])


def by_hand(row: Row, points: dict[str, Floats]) -> float:
    """What a row would read, written out anew."""
    line = points[row.end] - (points[row.start] if row.start else np.zeros(3))
    x, y, z = (float(v) for v in line + np.array([0.0, 0.0, row.lift]))
    length = sqrt(x * x + y * y + z * z)
    if row.kind in (TILT, SWEEP):
        return degrees(asin(z / length)) if row.kind == TILT else -degrees(atan(x / y))
    return {AHEAD: x, SPACING: 2 * y, HEIGHT: z, LENGTH: length}[row.kind]


def rows_of(noise: Sequence[float]) -> list[Row]:
    """A network with four rows to spare, its readings off by ``noise`` spreads."""
    plan: list[tuple[int, str, str | None, float, float]] = [
        (HEIGHT, "a", None, 2.0, 0.0),
        (HEIGHT, "b", None, 4.0, 0.0),
        (HEIGHT, "c", None, 4.0, 16.5),
        (HEIGHT, "d", None, 10.0, 0.0),
        (AHEAD, "b", None, 6.0, 0.0),
        (AHEAD, "c", None, 6.0, 0.0),
        (SPACING, "b", None, 2.0, 0.0),
        (SPACING, "c", None, 2.0, 0.0),
        (LENGTH, "b", "d", 5.0, 0.0),
        (LENGTH, "c", "d", 5.0, 16.5),
        (LENGTH, "c", "b", 5.0, 0.0),
        (TILT, "c", "b", 1.0, 0.0),
        (SWEEP, "c", "b", 2.0, 0.0),
    ]
    points = dict(zip(NAMES, TRUTH, strict=True))
    rows = []
    for i, (kind, end, start, sd, lift) in enumerate(plan):
        exact = by_hand(Row("", kind, end, start, 0.0, sd, lift), points)
        rows.append(Row(f"row{i}", kind, end, start, exact + noise[i] * sd, sd, lift))
    return rows


def network(noise: Sequence[float] = (0.0,) * 13) -> Network:
    return lay_out(rows_of(noise), NAMES, {"b", "c"}, {"a", "d"})


def oracle(net: Network) -> Any:
    """The same problem put to a general optimiser with numeric slopes."""

    def misfit(free: Floats) -> list[float]:
        points = np.array(START)
        points[net.free] = free
        named = dict(zip(NAMES, points, strict=True))
        return [(r.value - by_hand(r, named)) / r.sd for r in net.rows]

    return least_squares(misfit, START[net.free], xtol=1e-15, ftol=1e-15, gtol=1e-12, jac="3-point")


noises = st.lists(st.floats(-3.0, 3.0), min_size=13, max_size=13)


def test_a_textbook_levelling_net_comes_out_as_printed() -> None:
    """C. D. Ghilani and P. R. Wolf, Adjustment Computations, 4th ed., Wiley 2006, Example 12.1.

    Benchmark A at 437.596 m; adjusted B 448.1087, C 453.4685, D 444.9436 m, three degrees of
    freedom, weighted sum of squares 1.26976 from residuals rounded to 0.1 mm.
    """
    legs = [
        ("B", None, 437.596 + 10.509, 0.006),
        ("C", "B", 5.360, 0.004),
        ("D", "C", -8.523, 0.005),
        ("D", None, 437.596 + 7.348, 0.003),
        ("D", "B", -3.167, 0.004),
        ("C", None, 437.596 + 15.881, 0.012),
    ]
    rows = [Row(f"leg{i}", HEIGHT, *leg[:2], *leg[2:]) for i, leg in enumerate(legs)]
    rows = [Row(r.key, r.kind, r.end, r.start, 1000 * r.value, 1000 * r.sd) for r in rows]
    net = lay_out(rows, ("B", "C", "D"), set(), {"B", "C", "D"})
    fit = adjust(net, np.zeros((3, 3)))
    assert fit.points[:, 2] / 1000.0 == pytest.approx([448.1087, 453.4685, 444.9436], abs=6e-5)
    assert ((fit.residuals / net.sd) ** 2).sum() == pytest.approx(1.26976, rel=3e-3)
    assert fit.redundancy.sum() == pytest.approx(3.0)


@given(noises)
def test_the_adjustment_agrees_with_a_general_optimiser(noise: list[float]) -> None:
    """Points to 0.002 mm of those of scipy, covariance to the digits of its numeric slopes."""
    net = network(noise)
    fit, found = adjust(net, START), oracle(net)
    assert fit.points[net.free] == pytest.approx(found.x, abs=2e-3)
    free = np.flatnonzero(net.free.ravel())
    expected = np.linalg.inv(found.jac.T @ found.jac)
    assert fit.covariance[np.ix_(free, free)] == pytest.approx(expected, rel=1e-3, abs=1e-3)


@given(noises)
def test_redundancy_and_residuals_follow_their_definitions(noise: list[float]) -> None:
    """r = 1 - (J C J^T W)_ii and v / (sd sqrt r), from numpy's inverse of the normal equations."""
    net = network(noise)
    fit = adjust(net, START)
    slopes = predict(net, fit.points)[1]
    weight = np.diag(net.sd**-2.0)
    hat = slopes @ np.linalg.inv(slopes.T @ weight @ slopes) @ slopes.T @ weight
    assert fit.redundancy == pytest.approx(1.0 - np.diag(hat), abs=1e-8)
    assert fit.redundancy.sum() == pytest.approx(len(net.rows) - net.free.sum())
    checked = fit.redundancy >= 0.01
    expected = fit.residuals[checked] / (net.sd * np.sqrt(fit.redundancy))[checked]
    assert fit.normalised[checked] == pytest.approx(expected, abs=1e-4)
    assert np.isnan(fit.normalised[~checked]).all()


@given(st.lists(st.floats(-80.0, 80.0), min_size=12, max_size=12))
def test_slopes_are_those_of_the_readings(shift: list[float]) -> None:
    """Central differences of every kind of row."""
    net = network()
    points = START + np.reshape(shift, (4, 3))
    slopes = predict(net, points)[1]
    for k, (i, j) in enumerate(np.argwhere(net.free)):
        step = np.zeros_like(points)
        step[i, j] = 1e-3
        ahead, behind = predict(net, points + step)[0], predict(net, points - step)[0]
        assert slopes[:, k] == pytest.approx((ahead - behind) / 2e-3, abs=1e-6)


def test_the_best_points_so_far_are_kept_when_steps_run_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One step is nearer than the start, and not there yet."""
    monkeypatch.setattr("fitprofile.stages.network.STEPS", 1)
    off = np.abs(adjust(network(), START).points - TRUTH).max()
    assert 1e-6 < off < np.abs(START - TRUTH).max() / 3.0


def test_exact_readings_give_the_points_back() -> None:
    """From 20 mm away, to a millionth of a millimetre."""
    fit = adjust(network(), START)
    assert fit.points == pytest.approx(TRUTH, abs=1e-6)


@pytest.mark.parametrize("planted", [4, 10, 11])
def test_a_planted_blunder_has_the_largest_normalised_residual(planted: int) -> None:
    """Ten spreads on one reading; the others exact."""
    noise = [0.0] * 13
    noise[planted] = 10.0
    fit = adjust(network(noise), START)
    size = np.abs(np.nan_to_num(fit.normalised))
    assert size.argmax() == planted
    assert size[planted] > 3.29


def test_normalised_residuals_of_sound_readings_have_unit_spread() -> None:
    """Root mean square 1 over 300 simulated bikes: the test of Baarda rests on it."""
    rng = np.random.default_rng(5)
    drawn = np.array(
        [adjust(network(rng.normal(size=13).tolist()), START).normalised for _ in range(300)]
    )
    rms = np.sqrt(np.mean(drawn**2, axis=0))
    assert rms[np.isfinite(rms)] == pytest.approx(1.0, abs=0.15)


def test_an_assumption_that_is_far_off_makes_no_measurement_suspect() -> None:
    """A span and an assumed distance for one point: the span alone is unchecked."""
    rows = [
        Row("height", HEIGHT, "p", None, 0.0, 1.0),
        Row("span", LENGTH, "p", None, 300.0, 5.0),
        Row("assumed", AHEAD, "p", None, 90.0, 40.0),
    ]
    net = lay_out(rows, ("p",), set(), set())
    fit = adjust(net, np.array([[90.0, 0.0, 0.0]]), np.array([True, True, False]))
    assert np.isnan(fit.normalised).all()
    assert fit.redundancy == pytest.approx(0.0, abs=1e-12)
    assert fit.points[0, 0] == pytest.approx((300 / 25 + 90 / 1600) / (1 / 25 + 1 / 1600))


def test_a_direction_that_nothing_holds_has_a_spread_without_bound() -> None:
    """One row on two unknowns: the sum is held, the difference is not."""
    spread = spread_of(np.array([[0.5, 0.5]]))
    assert np.array([1.0, 1.0]) @ spread @ np.array([1.0, 1.0]) == pytest.approx(4.0, rel=1e-3)
    assert np.array([1.0, -1.0]) @ spread @ np.array([1.0, -1.0]) == pytest.approx(2 * WEAKEST**-2)


@given(st.lists(st.floats(-5.0, 5.0), min_size=12, max_size=12))
def test_the_root_of_a_singular_covariance_multiplies_back(figures: list[float]) -> None:
    """Four coordinates that three or fewer draws make."""
    factor = np.reshape(figures, (4, 3))
    covariance = factor @ factor.T
    lower = root(covariance)
    assert lower @ lower.T == pytest.approx(covariance, abs=1e-4)
    assert np.triu(lower, 1) == pytest.approx(0.0)
