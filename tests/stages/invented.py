"""An invented rider and invented bikes with exact tapes, for tests that need whole stages."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from attrs import asdict, evolve

from fitprofile.model.bike import Bike, Handlebar, Lever, Levers, Steering
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Cockpit, Rider
from fitprofile.model.shop import Shop
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.survey import BikePoints
from tests import by_hand
from tests.stages.taped import TRUE, Point, full

SHOP = Shop()

MIDDLING: Mapping[str, float] = {
    "stature": 1720.0,
    "sitting_height": 900.0,
    "navel_height_sitting": 215.0,
    "acromial_height_sitting": 590.0,
    "shoulder_elbow_length": 360.0,
    "forearm_grip_length": 345.0,
    "buttock_knee_length": 600.0,
    "knee_height_sitting": 535.0,
    "biacromial_breadth": 395.0,
    "abdominal_depth_sitting": 250.0,
    "foot_length": 260.0,
}
"""Round figures, nobody's; mm."""

BODY = Linkage(
    hip_height_mm=88.0,
    hip_spacing_mm=172.0,
    navel_up_mm=127.0,
    navel_forward_mm=138.0,
    shoulder_up_mm=410.0,
    shoulder_forward_mm=42.0,
    shoulder_spacing_mm=362.0,
    upper_arm_mm=290.0,
    forearm_grip_mm=324.0,
    thigh_mm=413.0,
    shank_mm=410.0,
    ankle_up_mm=96.0,
    ankle_back_mm=125.0,
    elbows_out_deg=18.0,
)
"""What that rider may really be like."""

LEVERS = Levers(
    brake=Lever(angle=Reading(20.0), reach=Reading(70.0), reach_range=(55.0, 85.0)),
    clutch=Lever(angle=Reading(26.0), reach=Reading(64.0), reach_range=(55.0, 85.0)),
)


def readings(figures: Mapping[str, float]) -> dict[str, Reading]:
    return {name: Reading(float(value)) for name, value in figures.items()}


def rider(cockpits: Mapping[str, Cockpit], **more: Any) -> Rider:
    body = readings(more.pop("body", MIDDLING))
    return Rider(
        key="ida", file="profiles/ida.toml", name="Ida", body=body, cockpits=cockpits, **more
    )


def cockpit(**figures: Any) -> Cockpit:
    """Figures as numbers; text and pairs of readings pass."""
    given: dict[str, Any] = {
        n: Reading(v) if isinstance(v, float) else v for n, v in figures.items()
    }
    return Cockpit(**given)


def bike(key: str, points: Mapping[str, Point] = TRUE, **more: Any) -> Bike:
    """Every point taped exactly; levers, rake 25 and a one-piece bar unless said."""
    fields = {
        "levers": LEVERS,
        "steering": Steering(rake=Reading(25.0)),
        "handlebar": Handlebar(),
        **more,
    }
    return evolve(full(points), key=key, file=f"bikes/{key}.toml", **fields)


def moved(**by: tuple[float, float]) -> dict[str, Point]:
    """The true points with some of them moved, (ahead, up) in mm."""
    made = dict(TRUE)
    for name, (x, z) in by.items():
        made[name] = by_hand.add(made[name], (x, 0.0, z))
    return made


def sat(
    points: Mapping[str, Point] = TRUE, body: Linkage = BODY, lean: float = 12.0, **more: Any
) -> Cockpit:
    """The cockpit that this body shows on these points, read without error."""
    shown = by_hand.numbers(asdict(body), lean, points)
    given = {
        "bar_width": shown["bar_width_mm"],
        "navel_to_bar": shown["navel_to_bar_mm"],
        "forearm_angle": shown["forearm_angle_deg"],
        "knee_angle": shown["knee_angle_deg"],
        "lean": lean,
    }
    return cockpit(**(given | more))


def plain(points: BikePoints) -> dict[str, Point]:
    return by_hand.as_plain(points, ("seat", "peg", "clamp", "grip_end", "grip_inner", "tube"))
