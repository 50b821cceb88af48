"""Nearest and farthest of a swinging point, against a dense sweep with scipy's rotations."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fitprofile.geometry.swings import swing
from fitprofile.geometry.vectors import Vec
from tests.shapes import SHAPES

PLACE = st.tuples(*(st.floats(-900.0, 900.0) for _ in range(3)))


@given(
    point=PLACE, fixed=PLACE, pivot=PLACE, reach=st.floats(0.0, 180.0), rake=st.floats(0.0, 60.0)
)
def test_a_dense_sweep_finds_the_same(
    point: tuple[float, ...],
    fixed: tuple[float, ...],
    pivot: tuple[float, ...],
    reach: float,
    rake: float,
) -> None:
    """8,001 turns by scipy: never past the closed form, and to 0.01 mm the same."""
    s, c = float(np.sin(np.radians(rake))), float(np.cos(np.radians(rake)))
    found = swing(Vec(*point), Vec(*fixed), Vec(-s, 0.0, c), Vec(*pivot), np.radians(reach))
    turns = np.linspace(-reach, reach, 8001)
    by_scipy = Rotation.from_rotvec(np.outer(turns, [-s, 0.0, c]), degrees=True)
    swept = by_scipy.apply(np.subtract(point, pivot)) + np.array(pivot)
    distance = np.linalg.norm(swept - np.array(fixed), axis=1)
    assert distance.min() >= found.least - 1e-5
    assert distance.max() <= found.greatest + 1e-5
    assert float(found.greatest) == pytest.approx(distance.max(), abs=0.01)
    # Through a point itself the distance has a corner: half a step of the sweep is seen there.
    step = np.radians(reach) / 8000.0 * np.linalg.norm(np.subtract(point, pivot))
    assert float(found.least) == pytest.approx(distance.min(), abs=max(0.01, step))


@pytest.mark.parametrize("shape", SHAPES)
def test_shapes(shape: tuple[int, ...]) -> None:
    """One code for one point and for many."""
    rng = np.random.default_rng(3)
    point = Vec(*(rng.uniform(-1.0, 1.0, shape) for _ in range(3)))
    found = swing(point, Vec(2.0, 0.0, 0.0), Vec(0.0, 0.0, 1.0), Vec(0.0, 0.0, 0.0), 0.6)
    for part in found:
        assert np.shape(part) == shape
    for index in np.ndindex(shape):
        one = Vec(*(float(c[index]) for c in map(np.asarray, point)))
        alone = swing(one, Vec(2.0, 0.0, 0.0), Vec(0.0, 0.0, 1.0), Vec(0.0, 0.0, 0.0), 0.6)
        assert [float(part[index]) for part in found] == [float(part) for part in alone]
