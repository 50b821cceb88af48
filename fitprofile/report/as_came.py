"""A bike as it came: points, angles, reaches and parts, and the work in reverse order."""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees

from attrs import fields

from fitprofile.geometry.vectors import elevation, rearward
from fitprofile.model.bike import CLIP_ON, ON_STAND, PINNED, Bike, Lever
from fitprofile.model.quantity import Reading
from fitprofile.report.as_found import FOUND_POINTS
from fitprofile.report.plan_words import KINDS
from fitprofile.report.wording import DEG, MM, joined
from fitprofile.stages.survey import ASSUMED, Surveyed
from fitprofile.values import frozen

SIDES = ("brake", "clutch")


@frozen(kw_only=True)
class FoundPoint:
    """A point as found, mm: on its wheels, and as the tape read it on a stand."""

    name: str
    words: str
    up: float
    ahead: float
    across: float
    stand_up: Reading | None = None
    stand_ahead: Reading | None = None


@frozen(kw_only=True)
class FoundFigure:
    """An angle, reach or length as found; ``stand`` is what was read on a stand."""

    key: str
    words: str
    unit: str
    value: float
    stand: float | None = None
    assumed: bool = False


def found_points(bike: Bike, surveyed: Surveyed) -> tuple[FoundPoint, ...]:
    """Points that work on the bike can move, in the order of the sheet."""
    points, on_stand = surveyed.points, bike.state == ON_STAND
    found = []
    left_out = "clamp" if points.tube is not None else None
    for name, words in FOUND_POINTS:
        at = points.others.get(name) or getattr(points, name, None)
        if at is None or name == left_out:
            continue
        found.append(
            FoundPoint(
                name=name,
                words=words,
                up=float(at.z),
                ahead=float(at.x),
                across=2.0 * float(at.y),
                stand_up=bike.heights.get(name) if on_stand else None,
                stand_ahead=bike.ahead.get(name) if on_stand else None,
            )
        )
    return tuple(found)


def found_figures(bike: Bike, surveyed: Surveyed) -> tuple[FoundFigure, ...]:
    """Angles, reaches and lengths as found, on the wheels."""
    return (*_levers(bike, surveyed), *_bar(bike, surveyed))


def _levers(bike: Bike, surveyed: Surveyed) -> Iterator[FoundFigure]:
    for side in SIDES:
        lever: Lever | None = getattr(bike.levers, side)
        if lever is None:
            continue
        angle = surveyed.lever_angle.get(side)
        if angle is not None and lever.angle is not None:
            on_stand = lever.angle.value if bike.state == ON_STAND else None
            words = f"{side.capitalize()} lever below level"
            yield FoundFigure(
                key=f"levers.{side}.angle", words=words, unit=DEG, value=angle.value, stand=on_stand
            )
        if lever.reach is not None:
            words = f"{side.capitalize()} lever's reach"
            value = lever.reach.value
            yield FoundFigure(key=f"levers.{side}.reach", words=words, unit=MM, value=value)


def _bar(bike: Bike, surveyed: Surveyed) -> Iterator[FoundFigure]:
    grip = surveyed.points.grip_end.minus(surveyed.points.grip_inner)
    status = {one.key: one.status for one in surveyed.observations}
    for name, words, angle in (
        ("grip_tilt", "Grip tilt, outer end up", degrees(float(elevation(grip)))),
        ("grip_sweep", "Grip sweep, rearward", degrees(float(rearward(grip)))),
    ):
        key = f"handlebar.{name}"
        guess = status.get(key) == ASSUMED
        yield FoundFigure(key=key, words=words, unit=DEG, value=angle, assumed=guess)
    overall = bike.handlebar.overall_width
    if overall is not None:
        words = "Overall width, weights and mirrors"
        key = "handlebar.overall_width"
        yield FoundFigure(key=key, words=words, unit=MM, value=overall.value)


def order_back(bike: Bike) -> tuple[str, ...]:
    """What to undo, in the reverse order of work: controls first, feet and seat last."""
    clip_on = bike.handlebar.kind == CLIP_ON
    pinned = [s for s in SIDES if (lever := getattr(bike.levers, s)) and lever.perch == PINNED]
    perches = "Perches to their marks by straightedge"
    if pinned:
        perches += f"; the pin of the {joined(pinned)} perch back in its hole"
    pins = ", pins back in their holes" if bike.handlebar.pins else ""
    bar = (
        "Clip-ons to their marks on the fork tubes, tabs in the yokes, fully engaged."
        if clip_on
        else "Added packers or risers out, its own bar in, mark at the clamp's line, even gaps."
    )
    return (
        "Photograph it as it stands now, both sides and the cockpit.",
        "Mirrors and bar-end weights off as far as they are in the way.",
        "Lever reach back by its clicks; free play.",
        f"{perches}.",
        f"Throttle housing and switches back to their marks{pins}.",
        "Grips back to their marks along the bar.",
        bar,
        "Hoses, cables and wiring on their old way, clips and ties as in the photographs.",
        "Brake pedal and gear lever back, then pegs, then the seat.",
        "Every part and bolt that came off is on the bike or in the owner's hands.",
        "Measure again and fill in the boxes, then torque and stop checks.",
    )


def fitted_parts(bike: Bike) -> tuple[str, ...]:
    """Parts of the catalogue that it came with, each with its kind."""
    named = ((one.name, getattr(bike.fitted, one.name)) for one in fields(type(bike.fitted)))
    return tuple(f"{name} ({KINDS[kind]})" for kind, name in named if name is not None)
