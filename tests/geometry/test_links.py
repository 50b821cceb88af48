"""Two links at a hinge: against 50-digit arithmetic and against a construction in space."""

from __future__ import annotations

from typing import Any

import mpmath
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fitprofile.geometry.links import hanging_hinge, hinge_angle, hinge_offsets, hinge_span
from fitprofile.geometry.vectors import Vec
from tests import by_hand
from tests.shapes import SHAPES

LINK = st.floats(1.0, 1000.0)
SHARE = st.one_of(st.floats(0.0, 1.0), st.sampled_from([1e-12, 1e-9, 1.0 - 1e-9, 1.0 - 1e-12]))
"""How far the hinge is open, the ends visited on purpose."""


def span_of(upper: float, lower: float, share: float) -> float:
    short, long = abs(upper - lower), upper + lower
    return short + share * (long - short)


def exactly(upper: float, lower: float, span: float) -> tuple[Any, Any, Any]:
    """Hinge angle, place along and off the line, by the law of cosines with 50 digits."""
    a, b, c = (mpmath.mpf(side) for side in (upper, lower, span))
    cosine = (a * a + b * b - c * c) / (2 * a * b)
    place = (a * a - b * b + c * c) / (2 * c)
    return mpmath.acos(cosine), place, mpmath.sqrt(a * a - place * place)


@given(upper=LINK, lower=LINK, share=SHARE)
def test_the_hinge_agrees_with_50_digits(upper: float, lower: float, share: float) -> None:
    """Angle to 1e-14 of itself, also a breath from straight or folded."""
    span = span_of(upper, lower, share)
    assume(span > 1e-6)  # ends that coincide have no line between them
    with mpmath.workdps(50):
        angle, along, off = exactly(upper, lower, span)
        closes = mpmath.im(angle) == 0 and mpmath.im(off) == 0
        expected = [float(mpmath.re(value)) for value in (angle, along, off)]
    if not closes:
        return
    assert float(hinge_angle(upper, lower, span)) == pytest.approx(expected[0], rel=1e-14)
    found = hinge_offsets(upper, lower, span)
    scale = (upper + lower) ** 2 / span
    assert float(found[0]) == pytest.approx(expected[1], abs=1e-15 * scale)
    assert float(found[1]) == pytest.approx(expected[2], rel=2e-14, abs=1e-150)


@given(upper=LINK, lower=LINK, degrees=st.floats(0.0, 180.0))
def test_span_and_angle_are_inverse(upper: float, lower: float, degrees: float) -> None:
    """A span made from an angle gives the angle back, and agrees with 50 digits."""
    angle = float(np.radians(degrees))
    span = float(hinge_span(upper, lower, angle))
    with mpmath.workdps(50):
        a, b = mpmath.mpf(upper), mpmath.mpf(lower)
        square = a * a + b * b - 2 * a * b * mpmath.cos(mpmath.mpf(angle))
        assert span == pytest.approx(float(mpmath.sqrt(abs(square))), rel=1e-14, abs=1e-20)
    # The span of a straight or folded hinge hardly feels the angle: 1e-16 of it is 1e-8 rad.
    if 1.0 < degrees < 179.0:
        assert float(hinge_angle(upper, lower, span)) == pytest.approx(angle, abs=1e-11)


@given(upper=LINK, lower=LINK)
def test_the_rounded_sum_of_both_links_is_straight_and_more_is_nothing(
    upper: float, lower: float
) -> None:
    """Reach compared with ``upper + lower`` in floating point must never find nan inside it."""
    whole, apart = upper + lower, abs(upper - lower)
    assert np.isfinite(hinge_angle(upper, lower, np.array([whole, apart]))).all()
    assert np.isfinite(hinge_offsets(upper, lower, whole)[1])
    assert np.isnan(hinge_angle(upper, lower, np.nextafter(whole, np.inf)))
    assert np.isnan(hinge_offsets(upper, lower, whole + 1.0)[1])
    if apart > 0.0:
        assert np.isnan(hinge_angle(upper, lower, np.nextafter(apart, -np.inf)))


@given(
    upper=st.floats(150.0, 400.0),
    lower=st.floats(150.0, 400.0),
    share=st.floats(0.01, 0.99),
    degrees=st.floats(-170.0, 170.0),
    bearing=st.floats(-180.0, 180.0),
    rise=st.floats(-80.0, 80.0),
    side=st.sampled_from([1, -1]),
)
def test_the_hanging_hinge_is_where_a_construction_puts_it(
    upper: float,
    lower: float,
    share: float,
    degrees: float,
    bearing: float,
    rise: float,
    side: int,
) -> None:
    """Built from a plumb line and a turn about the line start-end by scipy's rotations.

    The hinge's ends keep their lengths, it hangs in the upright plane at swivel 0, and turning
    it outward moves it to the body's own side.
    """
    span = span_of(upper, lower, share)
    about, up = np.radians(bearing), np.radians(rise)
    line = (np.cos(up) * np.cos(about), np.cos(up) * np.sin(about), np.sin(up))
    start = (10.0, 20.0, 30.0)
    end = tuple(s + span * u for s, u in zip(start, line, strict=True))
    found = hanging_hinge(upper, lower, np.radians(degrees), Vec(*start), Vec(*end), float(side))
    place = (upper**2 - lower**2 + span**2) / (2.0 * span)
    plumb = np.array([0.0, 0.0, -1.0]) - np.dot([0.0, 0.0, -1.0], line) * np.array(line)
    drop = np.sqrt(upper**2 - place**2) * plumb / np.linalg.norm(plumb)
    # e x down points to the left of the line; outward on the left side is a right-handed turn.
    swung = by_hand.turned(tuple(drop), line, side * degrees)
    hinge = np.add(start, np.multiply(place, line)) + swung
    assert np.array([float(v) for v in found]) == pytest.approx(np.array(end) - hinge, abs=1e-8)


def test_outward_is_left_for_the_left_arm() -> None:
    """Arm straight ahead, elbow swung out by 90 degrees: it lies to the left, level."""
    start, end = Vec(0.0, 0.0, 0.0), Vec(600.0, 0.0, 0.0)
    to_end = hanging_hinge(500.0, 500.0, np.pi / 2, start, end, 1.0)
    hinge = end.minus(to_end)
    assert [float(v) for v in hinge] == pytest.approx([300.0, 400.0, 0.0], abs=1e-9)


@pytest.mark.parametrize("shape", SHAPES)
def test_shapes_and_gaps(shape: tuple[int, ...]) -> None:
    """Broadcast together; nan only where no triangle closes."""
    upper = np.full(shape, 300.0)
    assert hinge_angle(upper, 400.0, 500.0).shape == shape
    assert hinge_span(upper, 400.0, 1.0).shape == shape
    start, end = Vec(0.0, 0.0, 0.0), Vec(upper * 4.0, 0.0, 0.0)
    for part in hanging_hinge(upper, 400.0, 0.0, start, end, 1.0):
        assert np.shape(part) == shape
        assert np.isnan(part).all()
