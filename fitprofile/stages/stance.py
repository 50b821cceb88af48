"""Stage 5b: a rider who stands on the pegs: where the hip goes, and what the hands hold back.

Side view of both halves together, mm and degrees; arrays broadcast. No seat in here.

Notes
-----
Foot level with its arch on the peg, knees soft, trunk at the rider's own lean, hands on the grips.
The hip then lies on a circle about the ankle, and one thing more says where. Standing in balance
it is the body's centre of mass, straight above the pegs: the hands could let go. Holding on, it
is the distance from hip to grip that the rider likes.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fitprofile.geometry.links import hinge_offsets, hinge_span
from fitprofile.geometry.roots import bracketed_root
from fitprofile.geometry.vectors import Floats, Real, Vec, norm, side_distance, unit
from fitprofile.stages import linkage as body
from fitprofile.stages.complete import Completed
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

SOFT_KNEE = 150.0
"""Degrees included at the knees of somebody who stands on the pegs, knees soft (estimate)."""

STANDING_LEAN = 30.0
"""Degrees of trunk inclination standing, where none was written (estimate)."""

UPRIGHT, SQUAT = np.radians(-45.0), np.radians(75.0)
"""How far the line from ankle to hip leans rearward at least and at most where balance is
looked for."""

WRIST_BEFORE_GRIP = 70.0
"""mm from the wrist to the middle of the grip (estimate)."""

HIP_KNOB = 0.45
"""Bony knob of the hip from the mid-plane over hip breadth sitting (estimate): that is where the
tape to the grips starts."""

HEAD_HEIGHT = 0.1395
"""Top of the head above the seventh neck vertebra over stature (from memory: 242.9 of 1741 mm in
de Leva's men)."""


class Segment(NamedTuple):
    """Share of the body's mass (both sides together), and its centre from the proximal end."""

    men: tuple[float, float]
    women: tuple[float, float]


SEGMENTS = {
    "head": Segment((0.0694, 0.5002), (0.0668, 0.4841)),
    "trunk": Segment((0.4346, 0.4310), (0.4257, 0.3782)),
    "upper_arm": Segment((2.0 * 0.0271, 0.5772), (2.0 * 0.0255, 0.5754)),
    "forearm": Segment((2.0 * 0.0162, 0.4574), (2.0 * 0.0138, 0.4559)),
    "hand": Segment((2.0 * 0.0061, 0.7900), (2.0 * 0.0056, 0.7474)),
    "thigh": Segment((2.0 * 0.1416, 0.4095), (2.0 * 0.1478, 0.3612)),
    "shank": Segment((2.0 * 0.0433, 0.4395), (2.0 * 0.0481, 0.4352)),
    "foot": Segment((2.0 * 0.0137, 0.4415), (2.0 * 0.0129, 0.4014)),
}
"""P. de Leva, "Adjustments to Zatsiorsky-Seluyanov's segment inertia parameters", Journal of
Biomechanics 29 (1996), 1223-1230, table 4, read second-hand. Head from its top, trunk from
mid-shoulder to mid-hip, foot from the heel; the hand's is taken to lie in the grip."""


@frozen(kw_only=True)
class Stander:
    """What of a body standing needs beyond its joints; each field (...) float, mm.

    Parameters
    ----------
    rider : Linkage
        Calibrated, peg under the middle of the foot.
    lean_deg, knee_deg : float
        Trunk inclination and included knee angle.
    neck_up_mm : float
        Seventh neck vertebra above the hip, trunk erect.
    head_mm : float
        Its distance to the top of the head; the head stays upright.
    foot_mm : float
        Length of the foot.
    knob_mm : float
        Bony knob of the hip, where the tape starts, from the mid-plane; as high as the joint.
    male_share : float
        0 to 1: how the two columns of `SEGMENTS` are mixed.
    """

    rider: Linkage
    lean_deg: Real
    knee_deg: Real
    neck_up_mm: Real
    head_mm: Real
    foot_mm: Real
    knob_mm: Real
    male_share: float


class Stance(NamedTuple):
    """A rider standing on one bike; ``nan`` where there is no such pose.

    ``hip`` and ``shoulder`` are the left joints, mm; ``ahead_mm`` is the centre of mass ahead of
    the pegs.
    """

    hip: Vec
    shoulder: Vec
    ahead_mm: Floats


def stander(
    rider: Linkage, whole: Completed, lean: Real = STANDING_LEAN, knee: Real = SOFT_KNEE
) -> Stander:
    """The body as it stands.

    Parameters
    ----------
    rider : Linkage
        Calibrated, peg under the ball of the foot.
    whole : Completed
        Landmarks: stature, sitting height, foot length.
    lean, knee : (...) float, degrees
        The rider's own, where known.
    """
    height = {name: figure.value for name, figure in whole.measurements.items()}
    head = HEAD_HEIGHT * height["stature"]
    return Stander(
        rider=body.at_mid_foot(rider),
        lean_deg=lean,
        knee_deg=knee,
        neck_up_mm=height["sitting_height"] - np.asarray(rider.hip_height_mm) - head,
        head_mm=head,
        foot_mm=height["foot_length"],
        knob_mm=HIP_KNOB * height["hip_breadth_sitting"],
        male_share=whole.male_share,
    )


def balanced(one: Stander, points: BikePoints, ahead: Real = 0.0) -> Stance:
    """The pose whose centre of mass stands ``ahead`` of the pegs, mm: the hands could let go."""
    leg = _Leg.of(one, points.peg)

    def off(angle: Floats) -> Floats:
        return _posed(one, leg.hip(angle), points).ahead_mm - ahead

    shape = np.broadcast_shapes(
        *(np.shape(part) for part in (leg.span, points.grip_end.x, one.lean_deg, ahead))
    )
    low, high = np.full(shape, UPRIGHT), np.full(shape, SQUAT)
    return _posed(one, leg.hip(bracketed_root(off, low, high, 1e-12)), points)


def holding(one: Stander, points: BikePoints, hip_to_grip: Real) -> Stance:
    """The pose with the hip's knob so far from the middle between the grip ends, mm, behind it."""
    leg, bar = _Leg.of(one, points.peg), body.bar_point(points)
    with np.errstate(invalid="ignore"):
        reach = np.sqrt(np.square(hip_to_grip) - np.square(one.knob_mm))
    along, off = hinge_offsets(leg.span, reach, side_distance(leg.ankle, bar))
    line = unit(Vec(bar.x - leg.ankle.x, 0.0, bar.z - leg.ankle.z))
    hip = Vec(
        leg.ankle.x + along * line.x - off * line.z,
        leg.joint_y,
        leg.ankle.z + along * line.z + off * line.x,
    )
    return _posed(one, hip, points)


def hip_to_grip(one: Stander, stance: Stance, points: BikePoints) -> Floats:
    """Bony knob of the hip to the middle between the grip ends, (...) float, mm."""
    return np.asarray(
        np.hypot(side_distance(stance.hip, body.bar_point(points)), np.asarray(one.knob_mm))
    )


@frozen
class _Leg:
    """Ankle, and the leg's span in the side view, mm."""

    ankle: Vec
    joint_y: Floats
    span: Floats

    @classmethod
    def of(cls, one: Stander, peg: Vec) -> _Leg:
        """The soft leg on a peg; span ``nan`` where pegs stand wider than the leg is long."""
        foot = body.ankle(one.rider, peg)
        out = np.asarray(np.multiply(one.rider.hip_spacing_mm, 0.5))
        whole = hinge_span(one.rider.thigh_mm, one.rider.shank_mm, np.radians(one.knee_deg))
        with np.errstate(invalid="ignore"):
            span = np.sqrt(np.square(whole) - np.square(foot.y - out))
        return cls(foot, out, np.asarray(span))

    def hip(self, angle: Floats) -> Vec:
        """Left hip joint with the leg's line leaned rearward by an angle, rad."""
        return Vec(
            self.ankle.x - self.span * np.sin(angle),
            self.joint_y,
            self.ankle.z + self.span * np.cos(angle),
        )


def _posed(one: Stander, hip: Vec, points: BikePoints) -> Stance:
    """The whole pose with the hip in one place."""
    rider = one.rider
    seat = Vec(hip.x, 0.0, np.subtract(hip.z, rider.hip_height_mm))
    joint = body.shoulder(rider, seat, one.lean_deg)
    neck = body.trunk_point(rider, seat, one.lean_deg, one.neck_up_mm, 0.0)
    elbow, hand = _arm(rider, joint, body.hand(points))
    ankle = body.ankle(rider, points.peg)
    knee = _knee(rider, hip, ankle)
    heel = ankle.x - body.ANKLE_FROM_HEEL * np.asarray(one.foot_mm)
    wrist = 1.0 - WRIST_BEFORE_GRIP / np.asarray(rider.forearm_grip_mm)
    ends: dict[str, tuple[Real, Real]] = {
        "head": (neck.x, neck.x),
        "trunk": (joint.x, hip.x),
        "upper_arm": (joint.x, elbow.x),
        "forearm": (elbow.x, elbow.x + wrist * (hand.x - elbow.x)),
        "hand": (hand.x, hand.x),
        "thigh": (hip.x, knee.x),
        "shank": (knee.x, ankle.x),
        "foot": (heel, heel + np.asarray(one.foot_mm)),
    }
    total: Real = 0.0
    moment: Real = 0.0
    for name, (start, end) in ends.items():
        share, centre = (
            one.male_share * m + (1.0 - one.male_share) * w
            for m, w in zip(SEGMENTS[name].men, SEGMENTS[name].women, strict=True)
        )
        total = np.add(total, share)
        moment = np.add(moment, share * (start + centre * np.subtract(end, start)))
    return Stance(hip, joint, np.asarray(np.divide(moment, total) - points.peg.x))


def _arm(rider: Linkage, joint: Vec, grip: Vec) -> tuple[Vec, Vec]:
    """Left elbow and hand; the arm straight toward a grip that is out of its reach."""
    away = grip.minus(joint)
    arm = np.add(rider.upper_arm_mm, rider.forearm_grip_mm)
    hand = joint.plus(away.times(np.minimum(arm / norm(away), 1.0)))
    bent = grip.minus(body.elbow_to_hand(rider, joint, grip))
    straight = joint.plus(unit(away).times(rider.upper_arm_mm))
    elbow = Vec(*(np.where(np.isnan(b), s, b) for b, s in zip(bent, straight, strict=True)))
    return elbow, hand


def _knee(rider: Linkage, hip: Vec, ankle: Vec) -> Vec:
    """Left knee, bent straight forward as far as the line of the leg lets it."""
    down = ankle.minus(hip)
    along, off = hinge_offsets(rider.thigh_mm, rider.shank_mm, norm(down))
    line = unit(down)
    forward = unit(Vec(1.0, 0.0, 0.0).minus(line.times(line.x)))
    return hip.plus(line.times(along)).plus(forward.times(off))
