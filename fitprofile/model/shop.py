"""The shop's own figures: tolerances and how far a tape can be trusted."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import field

from fitprofile.values import frozen

TOLERANCES: Mapping[str, float] = {
    "bar_width": 10.0,
    "navel_to_bar": 10.0,
    "forearm_angle": 3.0,
    "lever_angle": 3.0,
    "grip_tilt": 4.0,
    "grip_sweep": 4.0,
    "knee_angle": 3.0,
    "lever_reach": 5.0,
}
"""Half-widths to start from, mm or degrees: common practice, no source. The knee's holds only
toward more bent; more open is fine up to the rider's limit."""

SPREADS: Mapping[str, tuple[float, float]] = {
    "bar_width": (2.0, 1.0),
    "axle_height": (2.0, 1.0),
    "height": (4.0, 2.0),
    "ahead": (6.0, 3.0),
    "span": (5.0, 3.0),
    "seat_height": (10.0, 5.0),
    "seat_ahead": (20.0, 12.0),
    "clamp": (3.0, 2.0),
    "rake": (1.0, 0.7),
    "lever_angle": (2.0, 1.5),
    "lever_reach": (2.0, 1.5),
    "grip_tilt": (1.0, 0.7),
    "grip_sweep": (2.0, 1.5),
    "hose": (10.0, 5.0),
    "stature": (5.0, 3.0),
    "inseam": (8.0, 6.0),
    "foot": (3.0, 2.0),
    "sitting_height": (10.0, 6.0),
    "navel_height": (10.0, 5.0),
    "shoulder": (12.0, 7.0),
    "arm": (8.0, 5.0),
    "buttock_knee": (8.0, 5.0),
    "knee_height": (6.0, 3.0),
    "girth": (8.0, 6.0),
    "weight": (1.5, 1.5),
    "navel_to_bar": (12.0, 6.0),
    "navel_to_grip_ends": (8.0, 5.0),
    "forearm_angle": (4.0, 2.5),
    "knee_angle": (6.0, 4.0),
    "lean": (6.0, 4.0),
    "resit_length": (8.0, 8.0),
    "resit_angle": (3.0, 3.0),
}
"""Standard deviations of one reading (alone, with a helper), mm, degrees or kg. ``resit_*`` is
what sitting down again adds to a figure taken with the rider on. Common practice, no source."""


@frozen(kw_only=True)
class Shop:
    """Tolerances and tape spreads in force, every name of `TOLERANCES` and `SPREADS` present.

    ``place`` names where the bikes are ridden, for the dated examples of law; ``None``: no law is
    looked at.
    """

    tolerances: Mapping[str, float] = field(factory=lambda: dict(TOLERANCES))
    spreads: Mapping[str, tuple[float, float]] = field(factory=lambda: dict(SPREADS))
    place: str | None = None
    file: str | None = None
