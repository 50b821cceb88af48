"""Stage 9b: what gives one bike a rider's standing numbers: exact, and what a workshop does.

The bar is not rolled, pegs stay where they are, pedals go to their height above them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from attrs import evolve, field

from fitprofile.model.bike import Bike
from fitprofile.model.quantity import Band
from fitprofile.model.rider import Standing
from fitprofile.stages import linkage as body
from fitprofile.stages import moves
from fitprofile.stages.job import SIDES
from fitprofile.stages.limits import Limit, beyond_bands, of_change, perch_band
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.moves import Changes, PegMove
from fitprofile.stages.posture import Sides
from fitprofile.stages.standing import (
    PEDALS,
    StandingNumbers,
    Stood,
    numbers_on_each,
    pedal_heights,
    standing_misfits,
)
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

PLACE = ("grip_above_peg", "grip_ahead_of_peg")
"""Numbers that place the bar together."""


@frozen(kw_only=True)
class StandingChanges:
    """Changes from as found: those of the bar under their usual names, and both pedals, mm."""

    bar: Changes
    brake_pedal_mm: float = float("nan")
    gear_lever_mm: float = float("nan")


@frozen(kw_only=True)
class StandingOn:
    """One standing use on one bike.

    Parameters
    ----------
    now, target, exact_after, after : StandingNumbers
        As found; as wished; after the exact and after the practical changes.
    deviations : mapping of str to float
        As found less wished, in tolerances.
    leave, at_limit, missed : tuple of str
        Numbers left alone, changes that stop at what the bike allows, and numbers that are still
        outside afterwards.
    limits : tuple of Limit
        What of the exact answer lies outside what the bike allows.
    """

    use: str
    wish: Standing
    now: StandingNumbers
    target: StandingNumbers
    exact: StandingChanges
    exact_after: StandingNumbers
    practical: StandingChanges
    after: StandingNumbers
    deviations: Mapping[str, float]
    leave: tuple[str, ...] = field(factory=tuple)
    at_limit: tuple[str, ...] = field(factory=tuple)
    missed: tuple[str, ...] = field(factory=tuple)
    limits: tuple[Limit, ...] = field(factory=tuple)


def standing_on(
    one: Stood, bike: Bike, points: BikePoints, rake: float, lever_angle: Sides, *, clip_on: bool
) -> StandingOn:
    """One standing use on one bike: as found, what to change exactly, and what to do."""
    on = _Bike(bike, points, rake, lever_angle, clip_on)
    found = _place(one, on)
    off = standing_misfits(one, found)
    leave = _inside(one, found)
    exact = _changes(one, on, found, (), None)
    stops: list[str] = []
    done = _changes(one, on, found, leave, stops)
    states = [points, *(moves.done_to(points, made.bar, rake) for made in (exact, done))]
    levers = [
        lever_angle,
        *(moves.levers_after(points, lever_angle, made.bar, rake) for made in (exact, done)),
    ]
    now, right, after = numbers_on_each(one, states, levers, points.peg)
    right, after = _with_pedals(right, exact), _with_pedals(after, done)
    return StandingOn(
        use=one.use,
        wish=one.wish,
        now=now,
        target=one.target,
        exact=exact,
        exact_after=right,
        practical=done,
        after=after,
        deviations=off,
        leave=leave,
        at_limit=tuple(stops),
        missed=tuple(n for n, v in standing_misfits(one, after).items() if abs(v) > INSIDE),
        limits=beyond_bands(bike, exact.bar, float(found.bar_width_mm)),
    )


def standing_exact(
    one: Stood, bike: Bike, points: BikePoints, rake: float, lever_angle: Sides, *, clip_on: bool
) -> StandingChanges:
    """Grips to their place above the pegs, levers to the standing slope, pedals to their height."""
    on = _Bike(bike, points, rake, lever_angle, clip_on)
    return _changes(one, on, _place(one, on), (), None)


def standing_left(
    one: Stood, bike: Bike, points: BikePoints, rake: float, lever_angle: Sides, *, clip_on: bool
) -> StandingChanges:
    """What brings every number inside its tolerance; zero where a number is left alone.

    Every change is worked out for the bike as the others leave it, and no band is kept.
    """
    on = _Bike(bike, points, rake, lever_angle, clip_on)
    found = _place(one, on)
    return _changes(one, on, found, _inside(one, found), None)


class _Bike(NamedTuple):
    """A bike as found."""

    bike: Bike
    points: BikePoints
    rake: float
    lever_angle: Sides
    clip_on: bool


def _place(one: Stood, on: _Bike) -> StandingNumbers:
    """What needs no pose: the grips against the peg, levers as read, pedals."""
    points = on.points
    bar = body.bar_point(points)
    return StandingNumbers(
        grip_above_peg_mm=float(bar.z - points.peg.z),
        grip_ahead_of_peg_mm=float(bar.x - points.peg.x),
        bar_width_mm=2.0 * float(points.grip_end.y),
        lever_angle_deg=on.lever_angle,
        lean_deg=one.stander.lean_deg,
        **pedal_heights(points, points.peg),
    )


def _with_pedals(shown: StandingNumbers, done: StandingChanges) -> StandingNumbers:
    """Numbers with the pedals moved."""
    return evolve(
        shown,
        brake_pedal_mm=shown.brake_pedal_mm + np.nan_to_num(done.brake_pedal_mm),
        gear_lever_mm=shown.gear_lever_mm + np.nan_to_num(done.gear_lever_mm),
    )


def _inside(one: Stood, found: StandingNumbers) -> tuple[str, ...]:
    """Numbers that are inside their tolerance."""
    off = standing_misfits(one, found)
    return tuple(name for name, value in off.items() if abs(value) <= INSIDE)


def _bar(one: Stood, on: _Bike, wider: float) -> Changes:
    """Width and place of the grips, the bar not rolled."""
    points = on.points
    slide = wider / (2.0 * float(moves.grip_axis(points).y))
    bar = body.bar_point(moves.slide_grips(points, slide))
    ahead = float(points.peg.x + one.target.grip_ahead_of_peg_mm - bar.x)
    above = float(points.peg.z + one.target.grip_above_peg_mm - bar.z)
    up, back = moves.clamp_axes(on.rake)
    return moves.bar_changes(
        clip_on=on.clip_on,
        width_change=wider,
        slide=slide,
        roll=0.0,
        turn=0.0,
        height=float(ahead * up.x + above * up.z),
        pullback=float(ahead * back.x + above * back.z),
    )


def _changes(
    one: Stood, on: _Bike, now: StandingNumbers, leave: tuple[str, ...], stops: list[str] | None
) -> StandingChanges:
    """Changes to the wish, with the numbers of ``leave`` left alone.

    ``stops`` gains each change that its band stops short; ``None``: no band is kept. Height and
    pullback are square to each other and both numbers share one tolerance, so each kept inside its
    own band is the nearest place that the bike allows.
    """
    allows, wider = on.bike.allows, 0.0
    if np.isfinite(one.target.bar_width_mm) and "bar_width" not in leave:
        room = of_change(allows.bar_width, float(now.bar_width_mm))
        wanted = float(one.target.bar_width_mm - now.bar_width_mm)
        wider = _kept("bar_width_change", wanted, room, stops)
    bar = _bar(one, on, wider)
    pairs = (
        (("clip_slide", allows.clip_slide), ("clip_offset", allows.clip_offset))
        if on.clip_on
        else (("riser_height", allows.riser), ("riser_pullback", allows.pullback))
    )
    settled = set(PLACE) <= set(leave) and _placed(one, on, float(bar.grip_slide_mm))
    place: dict[str, float] = {}
    for name, band in pairs:
        wanted = float(getattr(bar, f"{name}_mm"))
        place[f"{name}_mm"] = 0.0 if settled else _kept(name, wanted, band, stops)
    bar = evolve(bar, **place)  # type: ignore[arg-type]  # lengths by their own names
    pedals = {
        f"{name}_mm": 0.0
        if name in leave
        else float(getattr(one.target, f"{name}_mm") - getattr(now, f"{name}_mm"))
        for name in PEDALS
    }
    turns = _perches(one, on, bar, leave, stops)
    bar = evolve(bar, lever_rotation_deg=turns, peg_move_mm=PegMove(0.0, 0.0))
    return StandingChanges(bar=bar, **pedals)


def _placed(one: Stood, on: _Bike, slide: float) -> bool:
    """Whether the grips stand inside their place once they are slid along the bar, mm."""
    slid = on._replace(points=moves.slide_grips(on.points, slide))
    return set(PLACE) <= set(_inside(one, _place(one, slid)))


def _perches(
    one: Stood, on: _Bike, bar: Changes, leave: tuple[str, ...], stops: list[str] | None
) -> Sides:
    """Turn of each perch as far as it goes; 0 where the lever is right as it is."""
    aim = one.target.lever_angle_deg
    wanted = moves.lever_turns(on.points, on.lever_angle, bar, aim, on.rake)
    turns = []
    for side in SIDES:
        turn, lever = float(getattr(wanted, side)), getattr(on.bike.levers, side)
        if f"lever_angle.{side}" in leave:
            turn = 0.0
        elif lever is not None:
            turn = _kept(f"lever_rotation.{side}", turn, perch_band(lever), stops)
        turns.append(turn)
    return Sides(*turns)


def _kept(name: str, change: float, band: Band | None, stops: list[str] | None) -> float:
    """The change kept inside its band; where it stopped short is noted."""
    if stops is None or band is None or not np.isfinite(change):
        return change
    inside = min(max(change, band[0]), band[1])
    if inside != change:
        stops.append(name)
    return inside
