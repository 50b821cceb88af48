"""The contract's formulas written out anew, one rider on one bike at a time, for use as an oracle.

Plain Python on tuples, degrees and mm; nothing of the package is used. Turns in space are left
to scipy. ``side`` is +1 for the left half of rider and bike and -1 for the right one.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import acos, asin, atan2, cos, degrees, hypot, isnan, nan, radians, sin, sqrt
from typing import Any

import numpy as np
from scipy.spatial.transform import Rotation

Triple = tuple[float, float, float]
Points = Mapping[str, Triple]
Body = Mapping[str, float]


def add(a: Triple, b: Triple, share: float = 1.0) -> Triple:
    return (a[0] + share * b[0], a[1] + share * b[1], a[2] + share * b[2])


def less(a: Triple, b: Triple) -> Triple:
    return add(a, b, -1.0)


def dot(a: Triple, b: Triple) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Triple, b: Triple) -> Triple:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def size(a: Triple) -> float:
    return sqrt(dot(a, a))


def along(a: Triple) -> Triple:
    return add((0.0, 0.0, 0.0), a, 1.0 / size(a))


def included(first: float, second: float, opposite: float) -> float:
    """Angle between two sides of a triangle, law of cosines; past straight it is ``nan``."""
    cosine = (first**2 + second**2 - opposite**2) / (2.0 * first * second)
    return degrees(acos(cosine)) if abs(cosine) <= 1.0 else nan


def trunk(body: Body, seat: Triple, lean: float, part: str, half: float = 0.0) -> Triple:
    """Navel, or shoulder at ``half`` from the middle: u up and f forward of the hip when erect."""
    u, f, t = body[f"{part}_up_mm"], body[f"{part}_forward_mm"], radians(lean)
    hip = seat[2] + body["hip_height_mm"]
    return (seat[0] + u * sin(t) + f * cos(t), half, hip + u * cos(t) - f * sin(t))


def arm(body: Body, lean: float, points: Points, side: int = 1) -> tuple[Triple, Triple]:
    """Shoulder and hand."""
    joint = trunk(body, points["seat"], lean, "shoulder", side * 0.5 * body["shoulder_spacing_mm"])
    end, inner = points["grip_end"], points["grip_inner"]
    return joint, add(inner, less(end, inner), 0.5)


def elbow(body: Body, joint: Triple, grip: Triple, side: int = 1) -> Triple | None:
    """Elbow in space; ``None`` out of reach."""
    upper, fore, reach = body["upper_arm_mm"], body["forearm_grip_mm"], size(less(grip, joint))
    if not abs(upper - fore) <= reach <= upper + fore:
        return None
    e = along(less(grip, joint))
    hanging = (0.0, 0.0, -1.0)
    down = along(add(hanging, e, -dot(hanging, e)))
    left = cross(e, down)
    out = (side * left[0], side * left[1], side * left[2])
    swivel = radians(body["elbows_out_deg"])
    bend = radians(included(upper, reach, fore))
    off = add(
        (down[0] * cos(swivel), down[1] * cos(swivel), down[2] * cos(swivel)), out, sin(swivel)
    )
    return add(add(joint, e, upper * cos(bend)), off, upper * sin(bend))


def slope(a: Triple, b: Triple) -> float:
    """Degrees below horizontal from a to b, side view."""
    return degrees(atan2(a[2] - b[2], b[0] - a[0]))


def forearm_angle(body: Body, lean: float, points: Points, side: int = 1) -> float:
    """The forearm's own axis passes 22 mm above the grip's centre."""
    joint, grip = arm(body, lean, points, side)
    bend = elbow(body, joint, grip, side)
    if bend is None:
        return nan
    return slope(bend, grip) - degrees(asin(22.0 / body["forearm_grip_mm"]))


def navel_to_bar(body: Body, lean: float, points: Points) -> float:
    navel, end = trunk(body, points["seat"], lean, "navel"), points["grip_end"]
    return hypot(navel[0] - end[0], navel[2] - end[2])


def leg(body: Body, points: Points, side: int = 1) -> tuple[Triple, Triple]:
    """Hip joint and ankle."""
    seat, peg = points["seat"], points["peg"]
    joint = (seat[0], side * 0.5 * body["hip_spacing_mm"], seat[2] + body["hip_height_mm"])
    return joint, (peg[0] - body["ankle_back_mm"], peg[1], peg[2] + body["ankle_up_mm"])


def knee_angle(body: Body, points: Points, side: int = 1) -> float:
    joint, foot = leg(body, points, side)
    return included(body["thigh_mm"], body["shank_mm"], size(less(foot, joint)))


def numbers(body: Body, lean: float, points: Points, side: int = 1) -> dict[str, float]:
    """Everything that a rider shows on a bike, by the names of the contract."""
    joint, grip = arm(body, lean, points, side)
    end, inner = points["grip_end"], points["grip_inner"]
    axis = along(less(end, inner))
    return {
        "bar_width_mm": 2.0 * side * end[1],
        "navel_to_bar_mm": navel_to_bar(body, lean, points),
        "grip_tilt_deg": degrees(asin(axis[2])),
        "grip_sweep_deg": degrees(atan2(-axis[0], side * axis[1])),
        "forearm_angle_deg": forearm_angle(body, lean, points, side),
        "knee_angle_deg": knee_angle(body, points, side),
        "elbow_angle_deg": included(
            body["upper_arm_mm"], body["forearm_grip_mm"], size(less(grip, joint))
        ),
    }


def blade(axis: Triple, reading: float) -> Triple:
    """Straightedge square to a grip, seen from the side at ``reading`` degrees below horizontal."""
    down = radians(reading)
    flat = (cos(down), 0.0, -sin(down))
    return along((flat[0], -dot(axis, flat) / axis[1], flat[2]))


def turned(point: Triple, axis: Triple, angle: float, pivot: Triple = (0.0, 0.0, 0.0)) -> Triple:
    """Right-handed turn by scipy, degrees."""
    vector = np.multiply(radians(angle), axis)
    x, y, z = Rotation.from_rotvec(vector).apply(np.subtract(point, pivot)) + np.array(pivot)
    return float(x), float(y), float(z)


def changed(
    points: Points, changes: Mapping[str, float], rake: float, side: int = 1
) -> dict[str, Triple]:
    """Points after changes named as in the contract; those that are ``nan`` are not made.

    Order: turn of a clip-on about its tube, slide along the grip, roll about the clamp, riser
    (or slide and offset); pegs. The right half mirrors: turns about an upright axis reverse.
    """
    made = {name: 0.0 if isnan(value) else value for name, value in changes.items()}
    made = {name: made.get(name, 0.0) for name in CHANGES}
    moved = dict(points)
    r = radians(rake)
    up, back = (-sin(r), 0.0, cos(r)), (-cos(r), 0.0, -sin(r))
    ends = ("grip_end", "grip_inner")
    if "tube" in moved:
        for name in ends:
            moved[name] = turned(moved[name], up, side * made["clip_turn_deg"], moved["tube"])
    axis = along(less(moved["grip_end"], moved["grip_inner"]))
    for name in ends:
        moved[name] = add(moved[name], axis, made["grip_slide_mm"])
        # Top rearward is a left-handed turn about +y.
        moved[name] = turned(moved[name], (0.0, 1.0, 0.0), -made["bar_roll_deg"], moved["clamp"])
    for name in (*ends, "clamp", "tube"):
        if name in moved:
            moved[name] = add(moved[name], up, made["riser_height_mm"] + made["clip_slide_mm"])
            moved[name] = add(moved[name], back, made["riser_pullback_mm"] + made["clip_offset_mm"])
    moved["peg"] = add(moved["peg"], (made["peg_x_mm"], 0.0, made["peg_z_mm"]))
    return moved


CHANGES = (
    "grip_slide_mm",
    "bar_roll_deg",
    "riser_height_mm",
    "riser_pullback_mm",
    "clip_turn_deg",
    "clip_slide_mm",
    "clip_offset_mm",
    "peg_x_mm",
    "peg_z_mm",
)


def lever_after(
    points: Points, reading: float, changes: Mapping[str, float], rotation: float, rake: float
) -> float:
    """Lever angle after roll, turn and its own rotation, degrees below horizontal; left side."""
    r = radians(rake)
    axis = along(less(points["grip_end"], points["grip_inner"]))
    edge = blade(axis, reading)
    moves: list[tuple[Triple, float]] = [
        ((0.0, 1.0, 0.0), -changes.get("bar_roll_deg", 0.0)),
        ((-sin(r), 0.0, cos(r)), changes.get("clip_turn_deg", 0.0)),
    ]
    for about, angle in moves:
        axis, edge = turned(axis, about, angle), turned(edge, about, angle)
    # A blade points forward, a left grip to the left: lifting is a left-handed turn about it.
    edge = turned(edge, axis, -rotation)
    return degrees(atan2(-edge[2], edge[0]))


def as_plain(thing: Any, names: tuple[str, ...]) -> dict[str, Triple]:
    """Points of one bike as tuples of floats."""
    found: dict[str, Triple] = {}
    for name in names:
        point = getattr(thing, name)
        if point is not None:
            x, y, z = (float(v) for v in point)
            found[name] = (x, y, z)
    return found


def mirrored(points: Points) -> dict[str, Triple]:
    """The right half."""
    return {name: (x, -y, z) for name, (x, y, z) in points.items()}
