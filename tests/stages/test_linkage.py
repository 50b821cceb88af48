"""Landmarks to joints, figure by figure of the contract's table, and joints on a bike."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest
from attrs import asdict, evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.stages import linkage as body
from fitprofile.stages.complete import MEASURED, Completed, Measurement
from fitprofile.stages.linkage import Linkage, prior
from tests import by_hand
from tests.shapes import SHAPES
from tests.strategies import BIKE, BODY, bikes, leans, linkages, make_points, scattered

NAMES = ("seat", "peg", "clamp", "grip_end", "grip_inner")

LANDMARKS: Mapping[str, tuple[float, float]] = {
    "navel_height_sitting": (215.0, 6.0),
    "abdominal_depth_sitting": (240.0, 20.0),
    "acromial_height_sitting": (590.0, 12.0),
    "biacromial_breadth": (400.0, 10.0),
    "shoulder_elbow_length": (360.0, 6.0),
    "forearm_grip_length": (340.0, 8.0),
    "buttock_knee_length": (600.0, 8.0),
    "knee_height_sitting": (540.0, 24.0),
    "ankle_height": (70.0, 3.0),
    "sole": (30.0, 0.0),
    "foot_length": (250.0, 25.0),
}
"""Value and spread, mm; round figures, nobody's."""


def completed(male_share: float) -> Completed:
    figures = {name: Measurement(value, sd, MEASURED) for name, (value, sd) in LANDMARKS.items()}
    return Completed(measurements=figures, male_share=male_share, girth_excess_mm=0.0)


@pytest.mark.parametrize(("male_share", "knee_below_top"), [(1.0, 62.0), (0.0, 45.0), (0.7, 54.0)])
def test_joints_are_the_offsets_of_the_contract(male_share: float, knee_below_top: float) -> None:
    """Worked out by hand from section 4: men, women, and sex unsaid."""
    found, spreads = prior(completed(male_share))
    expected = {
        "hip_height_mm": (90.0, 15.0),
        "hip_spacing_mm": (170.0, 12.0),
        "navel_up_mm": (215.0 - 90.0, 6.0),
        "navel_forward_mm": (240.0 - 130.0 + 20.0, np.sqrt(25.0**2 + 20.0**2)),
        "shoulder_up_mm": (590.0 - 51.0 - 35.0 - 90.0, np.sqrt(20.0**2 + 12.0**2)),
        "shoulder_forward_mm": (40.0, 30.0),
        "shoulder_spacing_mm": (368.0, np.sqrt(9.2**2 + 18.4**2)),
        "upper_arm_mm": (360.0 - 51.0 - 20.0, 10.0),
        "forearm_grip_mm": (320.0, 10.0),
        "thigh_mm": (600.0 - 130.0 - 58.0, 17.0),
        "shank_mm": (540.0 - knee_below_top - 70.0, np.sqrt(10.0**2 + 24.0**2 + 3.0**2)),
        "ankle_up_mm": (100.0, 5.0),
        "ankle_back_mm": (0.486 * 250.0, np.sqrt(8.0**2 + (0.486 * 25.0) ** 2)),
        "elbows_out_deg": (15.0, 15.0),
    }
    assert asdict(found) == pytest.approx({name: mean for name, (mean, _) in expected.items()})
    assert spreads == pytest.approx({name: sd for name, (_, sd) in expected.items()})


@given(rider=linkages(), up=st.floats(50.0, 150.0), seat=st.floats(600.0, 900.0))
def test_moving_the_hip_leaves_the_navel_where_it_was(
    rider: Linkage, up: float, seat: float
) -> None:
    """Navel height sitting is measured; only its share above the hip changes."""
    moved = body.with_hip_height(rider, up)
    at = Vec(300.0, 0.0, seat)
    assert moved.hip_height_mm == up
    assert float(body.navel(moved, at, 0.0).z) == pytest.approx(float(body.navel(rider, at, 0.0).z))


@given(rider=linkages(), bike=bikes(), lean=leans())
def test_joints_lie_where_the_formulas_put_them(
    rider: Linkage, bike: dict[str, float], lean: float
) -> None:
    """Section 6 written out in plain Python."""
    points = make_points(bike)
    plain, figures = by_hand.as_plain(points, NAMES), asdict(rider)
    joint, grip = by_hand.arm(figures, lean, plain)
    hip, foot = by_hand.leg(figures, plain)
    navel = by_hand.trunk(figures, plain["seat"], lean, "navel")
    for found, expected in (
        (body.shoulder(rider, points.seat, lean), joint),
        (body.hand(points), grip),
        (body.hip_joint(rider, points.seat), hip),
        (body.ankle(rider, points.peg), foot),
        (body.navel(rider, points.seat, lean), navel),
        (body.bar_point(points), (plain["grip_end"][0], 0.0, plain["grip_end"][2])),
    ):
        assert [float(v) for v in found] == pytest.approx(expected, abs=1e-9)


@given(rider=linkages(), bike=bikes(), lean=leans())
def test_out_of_reach_says_by_how_much(rider: Linkage, bike: dict[str, float], lean: float) -> None:
    """Zero exactly where forearm and elbow angle exist, else what the arm lacks or has too much."""
    points = make_points(bike)
    joint, grip = body.shoulder(rider, points.seat, lean), body.hand(points)
    lacking = float(body.out_of_reach(rider, joint, grip))
    exists = bool(np.isfinite(body.forearm_angle(rider, joint, grip)))
    assert exists == (lacking == 0.0) == bool(np.isfinite(body.elbow_angle(rider, joint, grip)))
    if lacking > 0.0:
        longer = evolve(rider, upper_arm_mm=rider.upper_arm_mm + lacking + 1e-6)
        assert float(body.elbow_angle(longer, joint, grip)) == pytest.approx(180.0, abs=0.1)


def test_hands_too_near_are_out_of_reach_as_well() -> None:
    """Upper arm 300, forearm 240, hand 50 from the shoulder: 10 too near."""
    rider = Linkage(**dict.fromkeys(BODY, 300.0) | {"forearm_grip_mm": 240.0})
    joint, grip = Vec(0.0, 180.0, 0.0), Vec(50.0, 180.0, 0.0)
    assert float(body.out_of_reach(rider, joint, grip)) == pytest.approx(-10.0)
    assert np.isnan(body.forearm_angle(rider, joint, grip))


@given(linkages())
def test_mid_foot_halves_the_ankle_behind_the_peg(rider: Linkage) -> None:
    """And the ball of the foot is its inverse."""
    half = body.at_mid_foot(rider)
    assert half.ankle_back_mm == pytest.approx(0.5 * np.asarray(rider.ankle_back_mm))
    assert body.at_ball(half) == rider


@pytest.mark.parametrize("degrees", [0.0, 20.0, 45.0])
def test_lean_carries_the_shoulder_forward_and_down(degrees: float) -> None:
    """A trunk of 400 straight up the hip: sine ahead, cosine up (ISO 11226's inclination)."""
    rider = Linkage(**dict.fromkeys(BODY, 0.0) | {"shoulder_up_mm": 400.0})
    at = body.shoulder(rider, Vec(0.0, 0.0, 0.0), degrees)
    turned = np.radians(degrees)
    assert float(at.x) == pytest.approx(400.0 * np.sin(turned))
    assert float(at.z) == pytest.approx(400.0 * np.cos(turned))


def test_the_forearm_is_flatter_than_the_line_from_elbow_to_grip() -> None:
    """The rod in the fist lies 22 mm below the forearm's axis: 4.2 degrees of a 300 mm forearm."""
    assert float(body.forearm_axis_turn(300.0)) == pytest.approx(4.2054, abs=1e-4)


@pytest.mark.parametrize("shape", SHAPES)
def test_a_batch_equals_its_singles(shape: tuple[int, ...]) -> None:
    """Riders x bikes in arrays of any shape."""
    rng = np.random.default_rng(4)
    figures, bike = scattered(rng, BODY, shape), scattered(rng, BIKE, shape)
    rider, points = Linkage(**figures), make_points(bike)
    joint, grip = body.shoulder(rider, points.seat, 12.0), body.hand(points)
    found = (
        body.forearm_angle(rider, joint, grip),
        body.elbow_angle(rider, joint, grip),
        body.knee_angle(rider, points.seat, points.peg),
        body.navel_to_bar(rider, 12.0, points),
    )
    for place in np.ndindex(shape):
        one = {name: float(value[place]) for name, value in figures.items()}
        plain = by_hand.as_plain(make_points({n: float(v[place]) for n, v in bike.items()}), NAMES)
        shown = by_hand.numbers(one, 12.0, plain)
        names = ("forearm_angle", "elbow_angle", "knee_angle")
        expected = [*(shown[f"{name}_deg"] for name in names), shown["navel_to_bar_mm"]]
        assert [float(f[place]) for f in found] == pytest.approx(expected, abs=1e-6, nan_ok=True)
    assert {np.shape(f) for f in found} == {shape}
