"""Triples: sums, lengths and the two angles that name a grip's direction."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.geometry.vectors import (
    Vec,
    dot,
    elevation,
    leftward_axis,
    middle,
    norm,
    rearward,
    side_distance,
    slope_below,
    unit,
)
from tests.shapes import SHAPES

PLACE = st.tuples(*(st.floats(-1e4, 1e4) for _ in range(3)))


def values(point: Vec) -> list[float]:
    return [float(v) for v in point]


@given(a=PLACE, b=PLACE)
def test_sums_and_lengths_agree_with_numpy(a: tuple[float, ...], b: tuple[float, ...]) -> None:
    """The same figures as on plain arrays."""
    p, q = Vec(*a), Vec(*b)
    assert values(p.plus(q)) == pytest.approx(np.add(a, b))
    assert values(p.minus(q)) == pytest.approx(np.subtract(a, b))
    assert values(p.times(2.5)) == pytest.approx(np.multiply(a, 2.5))
    assert values(middle(p, q)) == pytest.approx(np.add(a, b) / 2)
    assert float(dot(p, q)) == pytest.approx(float(np.dot(a, b)), abs=1e-6)
    assert float(norm(p)) == pytest.approx(float(np.linalg.norm(a)))
    flat = np.subtract(a, b)[[0, 2]]
    assert float(side_distance(p, q)) == pytest.approx(float(np.linalg.norm(flat)))


@given(tilt=st.floats(-89.0, 89.0), back=st.floats(-89.0, 89.0))
def test_tilt_and_sweep_name_a_direction(tilt: float, back: float) -> None:
    """There and back; the direction has length one."""
    axis = leftward_axis(np.radians(tilt), np.radians(back))
    assert float(norm(axis)) == pytest.approx(1.0)
    assert float(np.degrees(elevation(axis))) == pytest.approx(tilt, abs=1e-9)
    assert float(np.degrees(rearward(axis))) == pytest.approx(back, abs=1e-9)


def test_signs() -> None:
    """Outer end up is positive tilt, pointing back is positive sweep, falling is positive slope."""
    assert values(leftward_axis(0.0, 0.0)) == pytest.approx([0.0, 1.0, 0.0])
    assert float(leftward_axis(0.1, 0.0).z) > 0.0
    assert float(leftward_axis(0.0, 0.1).x) < 0.0
    assert float(slope_below(Vec(0.0, 9.0, 0.0), Vec(1.0, 0.0, -1.0))) == pytest.approx(np.pi / 4)


def test_a_zero_length_has_no_direction() -> None:
    """nan, and no warning."""
    assert np.isnan(unit(Vec(0.0, 0.0, 0.0)).x)


@pytest.mark.parametrize("shape", SHAPES)
def test_shapes(shape: tuple[int, ...]) -> None:
    """A triple with one array component broadcasts."""
    many = Vec(np.full(shape, 3.0), 0.0, np.full(shape, 4.0))
    assert norm(many).shape == shape
    assert norm(many) == pytest.approx(5.0)
    assert np.shape(unit(many).x) == shape
    assert np.shape(leftward_axis(0.1, np.zeros(shape)).z) == shape
    assert elevation(many).shape == shape
