"""Stage 3: a body as a linkage, and where its joints lie on a bike.

Landmarks become joints by offsets that have their one home here. The functions below are the
kernel that calibration, posture and transfer share: closed forms on arrays, mm and degrees in
and out, ``nan`` where a limb cannot reach.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from attrs import evolve

from fitprofile.geometry.angles import from_opposite
from fitprofile.geometry.links import hanging_hinge, hinge_angle
from fitprofile.geometry.rotations import roll
from fitprofile.geometry.vectors import Floats, Real, Vec, middle, norm, slope_below
from fitprofile.stages.complete import Completed
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

GRIP_BELOW_FOREARM = 22.0
"""mm; the forearm's axis passes this far above the grip's centre (sd 5, estimate)."""

BALL_FROM_HEEL = 0.736
"""Ball of the foot from the heel over foot length (computed from the body survey)."""

ANKLE_FROM_HEEL = 0.25
"""Ankle from the heel over foot length (from memory)."""

ELBOWS_OUT = 15.0
"""Degrees the elbows are taken out before a sit-on says better (estimate, sd 15)."""


@frozen(kw_only=True)
class Linkage:
    """Joints of one body, or of a batch of them: each field (...) float, mm, angles in degrees.

    ``*_up`` and ``*_forward`` are from the hip, trunk erect; ``ankle_up`` and ``ankle_back``
    from the peg contact; spacings are from left to right joint.
    """

    hip_height_mm: Real
    hip_spacing_mm: Real
    navel_up_mm: Real
    navel_forward_mm: Real
    shoulder_up_mm: Real
    shoulder_forward_mm: Real
    shoulder_spacing_mm: Real
    upper_arm_mm: Real
    forearm_grip_mm: Real
    thigh_mm: Real
    shank_mm: Real
    ankle_up_mm: Real
    ankle_back_mm: Real
    elbows_out_deg: Real = ELBOWS_OUT


@frozen
class Offset:
    """How a linkage value hangs on landmarks: its mean, mm, and its standard deviation, mm."""

    mean: float
    sd: float


def prior(body: Completed) -> tuple[Linkage, Mapping[str, float]]:
    """Most probable linkage of a body before any sit-on, and the spread of each value.

    Parameters
    ----------
    body : Completed
        Every landmark with its standard deviation.

    Returns
    -------
    linkage : Linkage
        Scalars; foot at the ball.
    spreads : mapping of str to float
        Standard deviation by field name, mm or degrees: root sum of squares of the offset's
        and the landmark's.

    References
    ----------
    Offsets: hip height three routes agreeing on 90 (SD 15), after Drillis & Contini in Winter and
    published hip-joint models (estimate); shoulder 51 below the acromion: Dempster, second-hand;
    hip spacing 170: X-ray and model values (estimate); knee 62 and 45 below the top of the knee:
    computed from the body survey; the others are estimates.
    """
    m = {name: figure.value for name, figure in body.measurements.items()}
    s = {name: figure.sd for name, figure in body.measurements.items()}
    knee_below_top = 45.0 + 17.0 * body.male_share if body.male_share in (0.0, 1.0) else 54.0
    hip = Offset(90.0, 15.0)
    parts: dict[str, tuple[float, float]] = {
        "hip_height_mm": (hip.mean, hip.sd),
        "hip_spacing_mm": (170.0, 12.0),
        "navel_up_mm": (m["navel_height_sitting"] - hip.mean, s["navel_height_sitting"]),
        "navel_forward_mm": (
            m["abdominal_depth_sitting"] - 130.0 + 20.0,
            np.hypot(s["abdominal_depth_sitting"], 25.0),
        ),
        "shoulder_up_mm": (
            m["acromial_height_sitting"] - 51.0 - 35.0 - hip.mean,
            np.hypot(s["acromial_height_sitting"], 20.0),
        ),
        "shoulder_forward_mm": (40.0, 30.0),
        "shoulder_spacing_mm": (
            0.92 * m["biacromial_breadth"],
            np.hypot(0.92 * s["biacromial_breadth"], 0.05 * 0.92 * m["biacromial_breadth"]),
        ),
        "upper_arm_mm": (
            m["shoulder_elbow_length"] - 51.0 - 20.0,
            np.hypot(s["shoulder_elbow_length"], 8.0),
        ),
        "forearm_grip_mm": (
            m["forearm_grip_length"] - 20.0,
            np.hypot(s["forearm_grip_length"], 6.0),
        ),
        "thigh_mm": (
            m["buttock_knee_length"] - 130.0 - 58.0,
            np.hypot(s["buttock_knee_length"], 15.0),
        ),
        "shank_mm": (
            m["knee_height_sitting"] - knee_below_top - m["ankle_height"],
            np.sqrt(s["knee_height_sitting"] ** 2 + s["ankle_height"] ** 2 + 10.0**2),
        ),
        "ankle_up_mm": (
            m["ankle_height"] + m["sole"],
            np.sqrt(s["ankle_height"] ** 2 + s["sole"] ** 2 + 4.0**2),
        ),
        "ankle_back_mm": (
            (BALL_FROM_HEEL - ANKLE_FROM_HEEL) * m["foot_length"],
            np.hypot((BALL_FROM_HEEL - ANKLE_FROM_HEEL) * s["foot_length"], 8.0),
        ),
        "elbows_out_deg": (ELBOWS_OUT, 15.0),
    }
    linkage = Linkage(**{name: float(mean) for name, (mean, _) in parts.items()})
    return linkage, {name: float(sd) for name, (_, sd) in parts.items()}


SHARED_HIP_SD = 15.0
"""mm; hip ahead of the rear-most buttock is guessed once and enters both the navel's place
and the thigh's length (estimate)."""


def with_hip_height(linkage: Linkage, hip_height: Real) -> Linkage:
    """The same body with its hip elsewhere above the sit point; the navel stays where it was."""
    navel = np.add(linkage.navel_up_mm, np.subtract(linkage.hip_height_mm, hip_height))
    return evolve(linkage, hip_height_mm=hip_height, navel_up_mm=navel)


def at_mid_foot(linkage: Linkage) -> Linkage:
    """The same body with the peg under the middle of the foot: the ankle half as far behind it."""
    return evolve(linkage, ankle_back_mm=np.multiply(linkage.ankle_back_mm, 0.5))


def at_ball(mid_foot: Linkage) -> Linkage:
    """Inverse of `at_mid_foot`."""
    return evolve(mid_foot, ankle_back_mm=np.multiply(mid_foot.ankle_back_mm, 2.0))


def hip(linkage: Linkage, seat: Vec) -> Vec:
    """Hip centre in the mid-plane, mm, bike frame."""
    return Vec(seat.x, 0.0, np.add(seat.z, linkage.hip_height_mm))


def trunk_point(linkage: Linkage, seat: Vec, lean: Real, up: Real, ahead: Real) -> Vec:
    """Point of the trunk in the mid-plane, mm: ``up`` and ``ahead`` of the hip when erect.

    ``lean`` (...) float, degrees, forward positive.
    """
    centre = hip(linkage, seat)
    from_hip = roll(Vec(ahead, 0.0, up), np.negative(np.radians(lean)), Vec(0.0, 0.0, 0.0))
    return centre.plus(from_hip)


def navel(linkage: Linkage, seat: Vec, lean: Real) -> Vec:
    """Navel in the mid-plane, mm, bike frame."""
    return trunk_point(linkage, seat, lean, linkage.navel_up_mm, linkage.navel_forward_mm)


def shoulder(linkage: Linkage, seat: Vec, lean: Real) -> Vec:
    """Left shoulder joint, mm, bike frame."""
    mid = trunk_point(linkage, seat, lean, linkage.shoulder_up_mm, linkage.shoulder_forward_mm)
    return Vec(mid.x, np.multiply(linkage.shoulder_spacing_mm, 0.5), mid.z)


def hand(points: BikePoints) -> Vec:
    """Left hand: the middle of the grip, mm."""
    return middle(points.grip_end, points.grip_inner)


def bar_point(points: BikePoints) -> Vec:
    """Middle between the two grip ends, mm."""
    return Vec(points.grip_end.x, 0.0, points.grip_end.z)


def navel_to_bar(linkage: Linkage, lean: Real, points: BikePoints) -> Floats:
    """Navel to the middle between the grip ends, (...) float, mm."""
    return norm(bar_point(points).minus(navel(linkage, points.seat, lean)))


def forearm_axis_turn(forearm: Real) -> Floats:
    """Degrees by which the line elbow to grip centre is steeper than the forearm's own axis."""
    return np.asarray(np.degrees(from_opposite(GRIP_BELOW_FOREARM, forearm)))


def elbow_to_hand(linkage: Linkage, from_shoulder: Vec, to_hand: Vec) -> Vec:
    """Vector from the left elbow to the left hand, mm; ``nan`` where the arm cannot reach."""
    return hanging_hinge(
        linkage.upper_arm_mm,
        linkage.forearm_grip_mm,
        np.radians(linkage.elbows_out_deg),
        from_shoulder,
        to_hand,
        1.0,
    )


def forearm_angle(linkage: Linkage, from_shoulder: Vec, to_hand: Vec) -> Floats:
    """Slope of the forearm's own axis below horizontal, side view, (...) float, degrees.

    ``nan`` where the hand is out of the arm's reach.
    """
    line = elbow_to_hand(linkage, from_shoulder, to_hand)
    slope = np.degrees(slope_below(Vec(0.0, 0.0, 0.0), line))
    return np.asarray(slope - forearm_axis_turn(linkage.forearm_grip_mm))


def elbow_angle(linkage: Linkage, from_shoulder: Vec, to_hand: Vec) -> Floats:
    """Included angle at the elbow, (...) float, degrees; 180 is straight, ``nan`` out of reach."""
    reach = norm(to_hand.minus(from_shoulder))
    return np.asarray(np.degrees(hinge_angle(linkage.upper_arm_mm, linkage.forearm_grip_mm, reach)))


def out_of_reach(linkage: Linkage, from_shoulder: Vec, to_hand: Vec) -> Floats:
    """How far the hand lies outside the arm's reach, (...) float, mm.

    Positive: too far; negative: too near; 0: within reach.
    """
    reach = norm(to_hand.minus(from_shoulder))
    longest = np.add(linkage.upper_arm_mm, linkage.forearm_grip_mm)
    shortest = np.abs(np.subtract(linkage.upper_arm_mm, linkage.forearm_grip_mm))
    return np.asarray(np.maximum(reach - longest, 0.0) + np.minimum(reach - shortest, 0.0))


def hip_joint(linkage: Linkage, seat: Vec) -> Vec:
    """Left hip joint, mm, bike frame."""
    centre = hip(linkage, seat)
    return Vec(centre.x, np.multiply(linkage.hip_spacing_mm, 0.5), centre.z)


def ankle(linkage: Linkage, peg: Vec) -> Vec:
    """Left ankle, mm, bike frame; sole level, straight behind and above the peg contact."""
    return Vec(np.subtract(peg.x, linkage.ankle_back_mm), peg.y, np.add(peg.z, linkage.ankle_up_mm))


def knee_angle(linkage: Linkage, seat: Vec, peg: Vec) -> Floats:
    """Included angle hip joint, knee, ankle, (...) float, degrees; ``nan`` out of reach."""
    span = norm(ankle(linkage, peg).minus(hip_joint(linkage, seat)))
    return np.asarray(np.degrees(hinge_angle(linkage.thigh_mm, linkage.shank_mm, span)))
