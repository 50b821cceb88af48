"""An invented bike of known points, and exact tapes laid on it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from fitprofile.model.bike import Bike
from fitprofile.model.quantity import Reading
from fitprofile.stages.survey import BikePoints, Surveyed

Point = tuple[float, float, float]

TRUE: Mapping[str, Point] = {
    "rear_axle": (0.0, 0.0, 310.0),
    "front_axle": (1420.0, 0.0, 300.0),
    "seat": (450.0, 0.0, 800.0),
    "peg": (560.0, 230.0, 390.0),
    "clamp": (985.0, 0.0, 1000.0),
    "grip_end": (900.0, 375.0, 1030.0),
    "grip_inner": (931.0, 255.0, 1025.0),
}
"""Left side, mm, on the wheels."""

BODY = ("seat", "peg", "clamp", "grip_end", "grip_inner")
TRIANGLE = (("seat", "peg"), ("seat", "grip_end"), ("peg", "grip_end"))


def tapes(
    points: Mapping[str, Point] = TRUE,
    heights: Iterable[str] = (),
    ahead: Iterable[str] = (),
    spans: Iterable[tuple[str, str]] = (),
    widths: Iterable[str] = ("grip_end", "peg"),
) -> dict[str, Any]:
    """Exact readings of the points named, as keywords of `Bike`."""
    return {
        "heights": {n: Reading(points[n][2]) for n in heights},
        "ahead": {n: Reading(points[n][0]) for n in ahead},
        "spans": {
            (a, b): Reading(float(np.linalg.norm(np.subtract(points[a], points[b]))))
            for a, b in spans
        },
        "widths": {n: Reading(2.0 * points[n][1]) for n in widths},
    }


def bike(**fields: Any) -> Bike:
    return Bike(key="invented", file="bikes/invented.toml", name="Invented", **fields)


def quick(points: Mapping[str, Point] = TRUE) -> Bike:
    """Three heights, three spans, two widths."""
    return bike(**tapes(points, ("seat", "peg", "grip_end"), (), TRIANGLE))


def full(points: Mapping[str, Point] = TRUE, **more: Any) -> Bike:
    """Heights and distances ahead of everything, and three spans that check them."""
    everything = tapes(points, points, points, TRIANGLE, ("grip_end", "grip_inner", "peg"))
    del everything["ahead"]["rear_axle"]
    return bike(**{**everything, **more})


def changed(readings: Mapping[Any, Reading], key: Any, by: float) -> dict[Any, Reading]:
    """The readings with one of them off by ``by``."""
    return {**readings, key: Reading(readings[key].value + by)}


def named(surveyed: Surveyed) -> dict[str, Point]:
    """Points by name."""
    return {n: at(surveyed.points, n) for n in surveyed.names}


def at(points: BikePoints, name: str) -> Point:
    x, y, z = points.others[name] if name in points.others else getattr(points, name)
    return float(x), float(y), float(z)
