"""A standing rider put together anew in plain Python: joints by triangles, masses as published."""

from __future__ import annotations

import tomllib
from math import cos, hypot, radians, sin, sqrt
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import brentq

from fitprofile.stages.complete import complete
from fitprofile.stages.stance import Stander, stander
from tests import by_hand
from tests.by_hand import Points, Triple
from tests.stages.invented import BODY, SHOP, rider

REFERENCE = Path(__file__).parents[1] / "references" / "de_leva_1996.toml"
MASSES: dict[str, Any] = tomllib.loads(REFERENCE.read_text(encoding="utf-8"))
WHOLE = complete(rider({}, sex="male"), SHOP)[0]

FOOT = WHOLE.measurements["foot_length"].value
STATURE = WHOLE.measurements["stature"].value
SITTING = WHOLE.measurements["sitting_height"].value
KNOB = 0.45 * WHOLE.measurements["hip_breadth_sitting"].value


def standing_man(lean: float = 30.0, knee: float = 150.0) -> Stander:
    """The invented body as it stands."""
    return stander(BODY, WHOLE, lean, knee)


def body() -> dict[str, float]:
    """Joints of the invented body with the arch of the foot on the peg."""
    from attrs import asdict

    made = {name: float(value) for name, value in asdict(BODY).items()}
    made["ankle_back_mm"] *= 0.5
    return made


def leg_length(knee: float = 150.0) -> float:
    """Hip joint to ankle, law of cosines."""
    a, b = body()["thigh_mm"], body()["shank_mm"]
    return sqrt(a * a + b * b - 2.0 * a * b * cos(radians(knee)))


def mass_centre(hip: Triple, points: Points, lean: float = 30.0) -> float:
    """Centre of mass of the man ahead of the bike's origin, mm, from the left joints."""
    man, t = body(), radians(lean)
    seat = (hip[0], 0.0, hip[2] - man["hip_height_mm"])
    here = {**points, "seat": seat}
    joint, grip = by_hand.arm(man, lean, here)
    elbow = by_hand.elbow(man, joint, grip)
    assert elbow is not None, "the oracle is for arms that reach"
    _, ankle = by_hand.leg(man, here)
    head = 0.1395 * STATURE
    neck = hip[0] + (SITTING - man["hip_height_mm"] - head) * sin(t)
    fore = 1.0 - 70.0 / man["forearm_grip_mm"]
    heel = ankle[0] - 0.25 * FOOT
    spans = {
        "head": (neck, neck),
        "trunk": (joint[0], hip[0]),
        "upper_arm": (joint[0], elbow[0]),
        "forearm": (elbow[0], elbow[0] + fore * (grip[0] - elbow[0])),
        "hand": (grip[0], grip[0]),
        "thigh": (hip[0], _knee(hip, ankle)[0]),
        "shank": (_knee(hip, ankle)[0], ankle[0]),
        "foot": (heel, heel + FOOT),
    }
    total = moment = 0.0
    for name, (start, end) in spans.items():
        mass, _, centre, _, count = MASSES[name]
        total += count * mass
        moment += count * mass * ((1.0 - centre) * start + centre * end)
    return moment / total


def _knee(hip: Triple, ankle: Triple) -> Triple:
    """The knee: in the plane of the leg's line and straight ahead, found as a point of two
    spheres."""
    man = body()
    down = by_hand.less(ankle, hip)
    length = by_hand.size(down)
    along = (man["thigh_mm"] ** 2 - man["shank_mm"] ** 2 + length**2) / (2.0 * length)
    e = by_hand.along(down)
    ahead = by_hand.along(by_hand.add((1.0, 0.0, 0.0), e, -e[0]))
    high = sqrt(man["thigh_mm"] ** 2 - along**2)
    return by_hand.add(by_hand.add(hip, e, along), ahead, high)


def hip_at(angle: float, points: Points, knee: float = 150.0) -> Triple:
    """Hip joint with the leg leaned rearward by an angle, rad, seen from the side."""
    man, peg = body(), points["peg"]
    out = 0.5 * man["hip_spacing_mm"]
    side = sqrt(leg_length(knee) ** 2 - (peg[1] - out) ** 2)
    foot = (peg[0] - man["ankle_back_mm"], peg[2] + man["ankle_up_mm"])
    return (foot[0] - side * sin(angle), out, foot[1] + side * cos(angle))


def balanced_hip(points: Points, lean: float = 30.0, knee: float = 150.0) -> Triple:
    """Hip of the pose that balances, by scipy's root finder from inside the arms' reach."""
    peg = points["peg"][0]

    def off(angle: float) -> float:
        return mass_centre(hip_at(angle, points, knee), points, lean) - peg

    reached = [
        a for a in np.linspace(-0.2, 0.9, 111) if _reaches(hip_at(a, points, knee), points, lean)
    ]
    return hip_at(float(brentq(off, reached[0], reached[-1], xtol=1e-13)), points, knee)


def _reaches(hip: Triple, points: Points, lean: float) -> bool:
    man = body()
    seat = (hip[0], 0.0, hip[2] - man["hip_height_mm"])
    joint, grip = by_hand.arm(man, lean, {**points, "seat": seat})
    return by_hand.elbow(man, joint, grip) is not None


def to_grips(hip: Triple, points: Points) -> float:
    """Bony knob of the hip to the middle between the grip ends, mm."""
    end = points["grip_end"]
    return hypot(hip[0] - end[0], KNOB, hip[2] - end[2])
