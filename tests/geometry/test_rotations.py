"""Turns in the side view and about any axis, against matrix exponentials and scipy's rotations."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fitprofile.geometry.rotations import angle_about, cross, roll, rolled, turn_about
from fitprofile.geometry.vectors import Vec, dot, norm
from tests.shapes import SHAPES

PLACE = st.tuples(*(st.floats(-2000.0, 2000.0) for _ in range(3)))
ANGLE = st.floats(-180.0, 180.0)


def values(point: Vec) -> list[float]:
    return [float(v) for v in point]


@given(point=PLACE, pivot=PLACE, degrees=ANGLE, rake=st.floats(0.0, 60.0))
def test_a_turn_about_the_raked_axis_is_the_exponential_of_its_cross_matrix(
    point: tuple[float, ...], pivot: tuple[float, ...], degrees: float, rake: float
) -> None:
    """mpmath's expm at 30 digits, and scipy's rotation vector, to 1e-9 mm."""
    angle = float(np.radians(degrees))
    s, c = float(np.sin(np.radians(rake))), float(np.cos(np.radians(rake)))
    axis = Vec(-s, 0.0, c)
    found = values(turn_about(Vec(*point), angle, axis, Vec(*pivot)))
    with mpmath.workdps(30):
        k = mpmath.matrix([[0, -c, 0], [c, 0, s], [0, -s, 0]]) * mpmath.mpf(angle)
        arm = mpmath.matrix([p - q for p, q in zip(point, pivot, strict=True)])
        turned = mpmath.expm(k) * arm
        expected = [float(t) + q for t, q in zip(turned, pivot, strict=True)]
    assert found == pytest.approx(expected, abs=1e-9)
    by_scipy = Rotation.from_rotvec(angle * np.array(axis)).apply(np.subtract(point, pivot))
    assert found == pytest.approx(by_scipy + np.array(pivot), abs=1e-9)


@given(point=PLACE, pivot=PLACE, degrees=ANGLE)
def test_roll_is_a_left_handed_turn_about_the_left_axis(
    point: tuple[float, ...], pivot: tuple[float, ...], degrees: float
) -> None:
    """The contract turns (x, z) into (x cos - z sin, x sin + z cos): the top goes back."""
    found = values(roll(Vec(*point), np.radians(degrees), Vec(*pivot)))
    turn = Rotation.from_euler("y", -degrees, degrees=True)
    expected = turn.apply(np.subtract(point, pivot)) + np.array(pivot)
    assert found == pytest.approx(expected, abs=1e-9)
    assert found[1] == point[1]


@given(
    axis=st.tuples(*(st.floats(-1.0, 1.0) for _ in range(3))),
    other=st.tuples(*(st.floats(-1.0, 1.0) for _ in range(3))),
    degrees=st.floats(-179.0, 179.0),
)
def test_the_angle_about_an_axis_is_the_turn_that_was_made(
    axis: tuple[float, ...], other: tuple[float, ...], degrees: float
) -> None:
    """Turn any direction square to the axis; the angle comes back."""
    raw = np.array(axis)
    assume(np.linalg.norm(raw) > 0.1)
    about = Vec(*(raw / np.linalg.norm(raw)))
    square = cross(about, Vec(*other))
    assume(float(norm(square)) > 0.05)
    end = turn_about(square, np.radians(degrees), about, Vec(0.0, 0.0, 0.0))
    assert float(np.degrees(angle_about(about, square, end))) == pytest.approx(degrees, abs=1e-9)


@given(a=PLACE, b=PLACE)
def test_the_vector_product_agrees_with_numpy(a: tuple[float, ...], b: tuple[float, ...]) -> None:
    """And is square to both."""
    found = cross(Vec(*a), Vec(*b))
    assert values(found) == pytest.approx(np.cross(a, b), abs=1e-6)
    assert float(dot(found, Vec(*a))) == pytest.approx(0.0, abs=1e-2)


@pytest.mark.parametrize("shape", SHAPES)
def test_shapes(shape: tuple[int, ...]) -> None:
    """One point turned by many angles."""
    angles = np.linspace(0.0, 1.0, int(np.prod(shape))).reshape(shape)
    origin, point = Vec(0.0, 0.0, 0.0), Vec(1.0, 2.0, 3.0)
    turned = turn_about(point, angles, Vec(0.0, 1.0, 0.0), origin)
    in_view = roll(point, -angles, origin)
    for one, other in zip(turned, in_view, strict=True):
        assert np.broadcast_shapes(np.shape(one), shape) == shape
        assert np.broadcast_to(one, shape) == pytest.approx(np.broadcast_to(other, shape))


@given(first=PLACE, second=PLACE, pivot=PLACE, degrees=ANGLE)
def test_several_points_rolled_at_once_are_each_turned_left_handed_about_y(
    first: tuple[float, ...], second: tuple[float, ...], pivot: tuple[float, ...], degrees: float
) -> None:
    """scipy's rotation about +y by the negative angle; y stays what it was to the last bit."""
    angle = float(np.radians(degrees))
    found = rolled((Vec(*first), Vec(*second)), angle, Vec(*pivot))
    assert len(found) == 2
    for point, turned in zip((first, second), found, strict=True):
        arm = np.subtract(point, pivot)
        expected = Rotation.from_euler("y", -degrees, degrees=True).apply(arm) + np.array(pivot)
        assert (values(turned)[0], values(turned)[2]) == pytest.approx(
            (expected[0], expected[2]), abs=1e-9
        )
        assert values(turned)[1] == point[1]


def test_rolling_no_point_gives_none() -> None:
    assert rolled((), 0.3, Vec(0.0, 0.0, 0.0)) == ()
