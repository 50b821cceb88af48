"""A rider who stands on the pegs: balance by published masses, and a hip found anew by scipy."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.stages import linkage as body
from fitprofile.stages.stance import (
    SEGMENTS,
    balanced,
    hip_to_grip,
    holding,
    stander,
)
from fitprofile.stages.survey import BikePoints
from tests.stages import stands
from tests.stages.invented import BODY
from tests.stages.jobs import points_of
from tests.stages.taped import TRUE

HIGH = {**TRUE, "grip_end": (930.0, 400.0, 1110.0), "grip_inner": (962.0, 281.0, 1105.0)}
"""A bike with grips 720 mm above the pegs and 370 ahead: one to stand on."""

POINTS = points_of(HIGH)
leans = st.floats(20.0, 45.0)
moves = st.floats(-60.0, 60.0)


def moved(ahead: float, up: float) -> tuple[BikePoints, dict[str, tuple[float, float, float]]]:
    """The high bike with its grips elsewhere, both ways of writing."""
    plain = dict(HIGH)
    for name in ("grip_end", "grip_inner"):
        x, y, z = HIGH[name]
        plain[name] = (x + ahead, y, z + up)
    return points_of(plain), plain


def test_the_masses_are_those_published() -> None:
    """De Leva (1996), table 4; every body adds up to 1, and the trunk to its three parts."""
    for name, segment in SEGMENTS.items():
        men, women, centre_men, centre_women, count = stands.MASSES[name]
        assert segment.men == pytest.approx((count * men, centre_men))
        assert segment.women == pytest.approx((count * women, centre_women))
    for sex in ("men", "women"):
        total = sum(getattr(segment, sex)[0] for segment in SEGMENTS.values())
        assert total == pytest.approx(1.0, abs=2e-4)
    parts = stands.MASSES["trunk_of_men"].values()
    assert SEGMENTS["trunk"].men[0] == pytest.approx(sum(parts))


@given(lean=leans, ahead=moves, up=moves)
def test_the_balanced_hip_is_where_scipy_finds_it(lean: float, ahead: float, up: float) -> None:
    """A pose built of triangles in plain Python, its centre of mass by hand; 1e-6 mm."""
    points, plain = moved(ahead, up)
    one = stands.standing_man(lean)
    found = balanced(one, points)
    if not np.isfinite(body.elbow_angle(one.rider, found.shoulder, body.hand(points))):
        return  # the oracle is for arms that reach
    expected = stands.balanced_hip(plain, lean)
    assert tuple(float(c) for c in found.hip) == pytest.approx(expected, abs=1e-6)
    assert stands.mass_centre(expected, plain, lean) == pytest.approx(plain["peg"][0], abs=1e-6)
    assert float(hip_to_grip(one, found, points)) == pytest.approx(
        stands.to_grips(expected, plain), abs=1e-6
    )


def test_a_centre_of_mass_by_hand() -> None:
    """A man like a gallows: legs and trunk one upright line, arms straight ahead out of reach.

    Ahead of that line, men: upper arms 0.0542 x 0.5772 x 300 = 9.385272, forearms
    0.0324 x (300 + 0.4574 x 230) = 13.128545, hands 0.0122 x 600 = 7.32, feet
    0.0274 x (0.4415 - 0.25) x 260 = 1.364246; the line is 60 behind the pegs, the masses add up
    to 1: 31.198063 - 60 = -28.801937.
    """
    upright = evolve(
        BODY,
        shoulder_forward_mm=0.0,
        shoulder_spacing_mm=BODY.hip_spacing_mm,
        upper_arm_mm=300.0,
        forearm_grip_mm=300.0,
        ankle_back_mm=60.0,
    )
    one = evolve(stands.standing_man(0.0, 180.0), rider=upright, foot_mm=260.0, neck_up_mm=560.0)
    side = 0.5 * BODY.hip_spacing_mm
    shoulder = BODY.ankle_up_mm + BODY.thigh_mm + BODY.shank_mm + BODY.shoulder_up_mm
    far = Vec(1500.0, side, shoulder)
    points = evolve(POINTS, peg=Vec(60.0, side, 0.0), grip_end=far, grip_inner=far)
    reach = float(np.hypot(np.hypot(1500.0, BODY.shoulder_up_mm), one.knob_mm))
    found = holding(one, points, reach)
    assert float(found.hip.x) == pytest.approx(0.0, abs=1e-6)
    assert float(found.ahead_mm) == pytest.approx(-28.801937, abs=1e-5)


@given(lean=leans, ahead=moves, up=moves, off=st.floats(-40.0, 40.0))
def test_balance_and_grip_tell_the_same_pose(
    lean: float, ahead: float, up: float, off: float
) -> None:
    """Hold on at the distance that a balanced stand shows, and the same balance comes back."""
    points, _ = moved(ahead, up)
    one = stands.standing_man(lean)
    found = balanced(one, points, off)
    assert float(found.ahead_mm) == pytest.approx(off, abs=1e-6)
    back = holding(one, points, hip_to_grip(one, found, points))
    assert float(back.ahead_mm) == pytest.approx(off, abs=1e-5)
    for pose in (found, back):
        leg = np.array(body.ankle(one.rider, points.peg)) - np.array(pose.hip)
        thigh, shank = float(one.rider.thigh_mm), float(one.rider.shank_mm)
        # Law of cosines at a knee of 150 degrees.
        span = np.sqrt(thigh**2 + shank**2 - 2.0 * thigh * shank * np.cos(np.radians(150.0)))
        assert np.linalg.norm(leg.astype(float)) == pytest.approx(span, abs=1e-9)


def test_the_held_hip_to_fifty_digits() -> None:
    """Two circles, about ankle and grips, met in mpmath's arithmetic."""
    one, reach = stands.standing_man(), 540.0
    found = holding(one, POINTS, reach)
    with mpmath.workdps(50):
        man = {name: mpmath.mpf(value) for name, value in stands.body().items()}
        thigh, shank = man["thigh_mm"], man["shank_mm"]
        leg = mpmath.sqrt(thigh**2 + shank**2 - 2 * thigh * shank * mpmath.cos(mpmath.radians(150)))
        out = mpmath.mpf(230) - man["hip_spacing_mm"] / 2
        leg = mpmath.sqrt(leg**2 - out**2)
        arm = mpmath.sqrt(mpmath.mpf(reach) ** 2 - mpmath.mpf(stands.KNOB) ** 2)
        foot = (mpmath.mpf(560) - man["ankle_back_mm"], mpmath.mpf(390) + man["ankle_up_mm"])

        def circles(x: mpmath.mpf, z: mpmath.mpf) -> list[mpmath.mpf]:
            return [
                (x - foot[0]) ** 2 + (z - foot[1]) ** 2 - leg**2,
                (x - 930) ** 2 + (z - 1110) ** 2 - arm**2,
            ]

        x, z = mpmath.findroot(circles, (foot[0] - 60, foot[1] + 700))
    assert (float(found.hip.x), float(found.hip.z)) == pytest.approx((float(x), float(z)), abs=1e-9)


def test_a_batch_equals_its_singles() -> None:
    """Two bikes at once."""
    one = stands.standing_man()
    pair = [moved(*by)[0] for by in ((0.0, 0.0), (25.0, -15.0))]
    both = evolve(
        pair[0],
        grip_end=Vec(*(np.array(c) for c in zip(*(p.grip_end for p in pair), strict=True))),
        grip_inner=Vec(*(np.array(c) for c in zip(*(p.grip_inner for p in pair), strict=True))),
    )
    hips = np.asarray(balanced(one, both).hip.x)
    for index, single in enumerate(pair):
        assert float(hips[index]) == pytest.approx(float(balanced(one, single).hip.x))


def test_what_cannot_be_is_not_made_up() -> None:
    """Grips further than leg and reach allow: no held pose. Pegs wider than legs are long: none."""
    assert np.isnan(holding(stands.standing_man(), POINTS, 100.0).ahead_mm)
    wide = evolve(POINTS, peg=Vec(560.0, 1200.0, 390.0))
    assert np.isnan(balanced(stands.standing_man(), wide).ahead_mm)


def test_more_lean_puts_the_hip_further_back() -> None:
    """The head and shoulders go ahead, so the hip has to go behind."""
    places = [float(balanced(stands.standing_man(lean), POINTS).hip.x) for lean in (20, 35, 50)]
    assert places == sorted(places, reverse=True)


def test_a_woman_stands_on_her_own_masses() -> None:
    """Thighs heavier, trunk lighter: the two sexes' hips differ, and a half lies between."""
    hips = [
        float(balanced(evolve(stands.standing_man(), male_share=share), POINTS).hip.x)
        for share in (0.0, 0.5, 1.0)
    ]
    assert min(hips[0], hips[2]) < hips[1] < max(hips[0], hips[2])


def test_the_foot_stands_at_its_arch() -> None:
    """The ankle lies half as far behind the peg as with the ball of the foot on it."""
    made = stander(BODY, stands.WHOLE)
    assert made.rider.ankle_back_mm == pytest.approx(0.5 * BODY.ankle_back_mm)
