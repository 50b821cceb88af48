"""Whether a bike's points can be a motorcycle's at all: no answer is computed on nonsense."""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees

from fitprofile.errors import ERROR, WARNING, Problem
from fitprofile.geometry.vectors import Vec, elevation, norm, rearward
from fitprofile.model.bike import CLIP_ON, Bike

SHORTEST_GRIP, LONGEST_GRIP = 60.0, 200.0
"""mm, end to inner end: the range of ``handlebar.grip_length``."""

MOST_SWEEP = 60.0
"""Degrees that a grip points back or slopes: the range of ``grip_sweep`` and ``grip_tilt``."""

SEAT_HEIGHT = (300.0, 1200.0)
"""mm above the floor; from minibikes to the tallest. Common practice, no source."""

AXLE_DISTANCE = (700.0, 2500.0)
"""mm, rear axle to front one; from minibikes to the longest. Common practice, no source."""

_Said = tuple[str, str, str]
"""Key, sentence, level."""


def impossible(bike: Bike, points: dict[str, Vec]) -> tuple[Problem, ...]:
    """What of a surveyed bike cannot be, or is odd enough to be looked at.

    Parameters
    ----------
    bike : Bike
    points : dict of str to Vec
        Left side, scalars, mm, the floor at z = 0.

    Returns
    -------
    tuple of Problem
        Errors where numbers computed from these points would mean nothing, warnings where they are
        merely odd.
    """
    parts = (_grips, _tubes, _pegs, _seat, _axles, _sizes)
    return tuple(
        Problem(text, key, bike.file, level=level)
        for part in parts
        for key, text, level in part(bike, points)
    )


def _grips(bike: Bike, points: dict[str, Vec]) -> Iterator[_Said]:
    end, inner = points["grip_end"], points["grip_inner"]
    wide, between = 2.0 * float(end.y), 2.0 * float(inner.y)
    length = float(norm(end.minus(inner)))
    both = f"the grip ends are {wide:.0f} mm apart and the inner ends of the grips {between:.0f}"
    key = "widths.grip_inner" if "grip_inner" in bike.widths else "widths.grip_end"
    if between <= 0.0 or wide <= 0.0:
        text = (
            f"{both}: that leaves no bar between them; tape the bar width again, from the outer "
            f"centre of the left grip to the outer centre of the right one"
        )
        yield "widths.grip_end", text, ERROR
        return
    if between >= wide:
        text = f"{both}: the inner ends lie inside the outer ones; tape both again"
        yield key, text, ERROR
        return
    if length < SHORTEST_GRIP:
        text = (
            f"the grip is {length:.0f} mm from end to inner end, which holds no hand: tape both "
            f"ends again, at the rubber's own ends and without its flange"
        )
        yield key, text, ERROR
        return
    if length > LONGEST_GRIP:
        text = f"the grip is {length:.0f} mm from end to inner end: tape both ends again"
        yield key, text, WARNING
    yield from _grip_axis(end, inner)
    if float(end.x) <= float(points["seat"].x):
        text = (
            "the grip ends lie behind the sit point: look at ahead.grip_end, ahead.seat and the "
            "spans between them, and tape them again"
        )
        yield "ahead.grip_end", text, ERROR
    elif float(points["clamp"].x) <= float(points["seat"].x):
        text = "the bar clamp lies behind the sit point: tape heights.clamp and ahead.clamp again"
        yield "ahead.clamp", text, WARNING


def _grip_axis(end: Vec, inner: Vec) -> Iterator[_Said]:
    along = end.minus(inner)
    back, slope = abs(degrees(float(rearward(along)))), abs(degrees(float(elevation(along))))
    for angle, what, name in ((back, "points back or ahead", "sweep"), (slope, "slopes", "tilt")):
        if angle > MOST_SWEEP:
            text = (
                f"the grip {what} by {angle:.0f} degrees: tape its inner end again, or read "
                f"handlebar.grip_{name} itself"
            )
            yield f"handlebar.grip_{name}", text, WARNING


def _tubes(bike: Bike, points: dict[str, Vec]) -> Iterator[_Said]:
    if bike.handlebar.kind != CLIP_ON or "tube" not in points:
        return
    tube = 2.0 * float(points["tube"].y)
    ends, inner = 2.0 * float(points["grip_end"].y), 2.0 * float(points["grip_inner"].y)
    if tube <= 0.0 or tube >= ends:
        text = (
            f"the fork tubes are {tube:.0f} mm apart and the grip ends {ends:.0f}: tape from the "
            f"middle of the left tube to the middle of the right one again"
        )
        yield "widths.tube", text, ERROR
    elif tube >= inner:
        text = (
            f"the fork tubes are {tube:.0f} mm apart, wider than the inner ends of the grips "
            f"({inner:.0f}): tape both again, or leave them if they are right"
        )
        yield "widths.tube", text, WARNING


def _pegs(_: Bike, points: dict[str, Vec]) -> Iterator[_Said]:
    peg, seat = points["peg"], points["seat"]
    if float(peg.y) <= 0.0:
        text = (
            f"the pegs are {2.0 * float(peg.y):.0f} mm apart: tape from the middle of the left "
            f"rubber to the middle of the right one"
        )
        yield "widths.peg", text, ERROR
    if float(peg.z) >= float(seat.z):
        text = (
            f"the pegs stand {float(peg.z):.0f} mm above the floor, no lower than the sit point "
            f"({float(seat.z):.0f}): tape heights.peg and heights.seat again, they may be swapped"
        )
        yield "heights.peg", text, ERROR


def _seat(_: Bike, points: dict[str, Vec]) -> Iterator[_Said]:
    height = float(points["seat"].z)
    low, high = SEAT_HEIGHT
    for name, what in (("seat", "sit point"), ("peg", "peg"), ("grip_end", "grip end")):
        if float(points[name].z) <= 0.0:
            text = f"the {what} is not above the floor: tape its height again"
            yield f"heights.{name}", text, ERROR
    if 0.0 < height < low or height > high:
        text = (
            f"the sit point stands {height:.0f} mm above the floor, where motorcycles have "
            f"{low:.0f} to {high:.0f}: tape it again, or leave it if it is right"
        )
        yield "heights.seat", text, WARNING


def _axles(_: Bike, points: dict[str, Vec]) -> Iterator[_Said]:
    front, rear = points.get("front_axle"), points.get("rear_axle")
    if front is None:
        return
    apart = float(front.x) - (float(rear.x) if rear is not None else 0.0)
    low, high = AXLE_DISTANCE
    if apart <= 0.0:
        text = (
            f"the front axle lies {abs(apart):.0f} mm behind the rear one: tape how far it lies "
            f"ahead of it along the floor"
            if apart
            else "the axles stand at the same place: tape how far the front one lies ahead of the "
            "rear one along the floor"
        )
        yield "ahead.front_axle", text, ERROR
    elif not low <= apart <= high:
        text = (
            f"the axles are {apart:.0f} mm apart, where motorcycles have {low:.0f} to {high:.0f}: "
            f"tape it again, or leave it if it is right"
        )
        yield "ahead.front_axle", text, WARNING


def _sizes(bike: Bike, points: dict[str, Vec]) -> Iterator[_Said]:
    bar, wide = bike.handlebar, 2.0 * float(points["grip_end"].y)
    if bar.overall_width is not None and bar.overall_width.value < wide:
        text = (
            f"the overall width ({bar.overall_width.value:.0f} mm) counts bar-end weights and "
            f"mirrors and cannot be less than the bar width ({wide:.0f}): they may be swapped"
        )
        yield "handlebar.overall_width", text, WARNING
    if bar.bar_diameter and bar.grip_diameter and bar.grip_diameter.value < bar.bar_diameter.value:
        text = (
            f"the grip ({bar.grip_diameter.value:g} mm) is thinner than the bar in it "
            f"({bar.bar_diameter.value:g}): measure both with a calliper"
        )
        yield "handlebar.grip_diameter", text, WARNING
