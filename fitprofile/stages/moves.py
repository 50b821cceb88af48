"""Stage 7a: changes to a bike and what each of them moves. No rider in here.

Every function works on arrays of bikes, mm and degrees. Points are the left side's; the right
side mirrors it.
"""

from __future__ import annotations

import numpy as np
from attrs import evolve

from fitprofile.geometry.angles import from_adjacent, from_opposite, nearest_zero
from fitprofile.geometry.rotations import angle_about, roll, rolled, turn_about
from fitprofile.geometry.vectors import Floats, Real, Vec, elevation, unit
from fitprofile.stages.posture import NO_SIDES, Sides
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

LEVEL_TILT = 0.1
"""Degrees of wished tilt that still count as level."""

LEVEL_GRIP = np.sin(np.radians(LEVEL_TILT))
"""A grip whose side-view length is below this share of its own points straight out: level."""

STRAIGHT_BAR = np.sin(np.radians(2.0))
"""Share of fore-and-aft direction below which rolling a bar hardly tilts its grips."""

ON_THE_WISH = 1e-3
"""Degrees within which a tilt counts as wished."""


@frozen
class PegMove:
    """Move of both pegs, mm: x forward, z up."""

    x: Real
    z: Real


@frozen(kw_only=True)
class SeatRaise:
    """The alternative to moving the pegs: raise the seat, and the bar with it, mm.

    ``nan`` where no seat height gives the knee angle; names of the other bar kind are ``nan``.
    """

    seat_raise_mm: Real
    riser_height_mm: Real = np.nan
    riser_pullback_mm: Real = np.nan
    clip_slide_mm: Real = np.nan
    clip_offset_mm: Real = np.nan


@frozen(kw_only=True)
class Changes:
    """Changes to a bike, each (...) float, mm and degrees, from as found; ``nan``: no such change.

    Names of the other bar kind are ``nan``. ``grip_slide_mm`` is along each grip's own axis,
    outward positive; roll carries the top toward the rider; ``riser_height_mm`` is along the
    clamp axis, ``riser_pullback_mm`` square to it and rearward; ``lever_rotation_deg`` lifts the
    blade.
    """

    bar_width_change_mm: Real
    grip_slide_mm: Real
    bar_roll_deg: Real
    riser_height_mm: Real
    riser_pullback_mm: Real
    clip_turn_deg: Real
    clip_slide_mm: Real
    clip_offset_mm: Real
    lever_rotation_deg: Sides = NO_SIDES
    lever_reach_change_mm: Sides = NO_SIDES
    peg_move_mm: PegMove = PegMove(np.nan, np.nan)
    with_seat_raise: SeatRaise = SeatRaise(seat_raise_mm=np.nan)


NO_CHANGES = Changes(
    bar_width_change_mm=np.nan,
    grip_slide_mm=np.nan,
    bar_roll_deg=np.nan,
    riser_height_mm=np.nan,
    riser_pullback_mm=np.nan,
    clip_turn_deg=np.nan,
    clip_slide_mm=np.nan,
    clip_offset_mm=np.nan,
)
"""Nothing done."""


def grip_axis(points: BikePoints) -> Vec:
    """Unit direction of the left grip, outward."""
    return unit(points.grip_end.minus(points.grip_inner))


def slide_grips(points: BikePoints, slide: Real) -> BikePoints:
    """Both ends of each grip moved along its axis, outward positive, mm."""
    step = grip_axis(points).times(slide)
    return evolve(
        points, grip_end=points.grip_end.plus(step), grip_inner=points.grip_inner.plus(step)
    )


def roll_bar(points: BikePoints, angle: Real) -> BikePoints:
    """One-piece bar turned in its clamps, degrees, top toward the rider positive."""
    end, inner = rolled((points.grip_end, points.grip_inner), np.radians(angle), points.clamp)
    return evolve(points, grip_end=end, grip_inner=inner)


def clamp_axes(rake: Real) -> tuple[Vec, Vec]:
    """Unit directions up the steering axis and square to it rearward, side view; rake in deg."""
    s, c = np.sin(np.radians(rake)), np.cos(np.radians(rake))
    zero = np.zeros_like(s)
    return Vec(-s, zero, c), Vec(-c, zero, -s)


def turn_clips(points: BikePoints, angle: Real, rake: Real) -> BikePoints:
    """Clip-ons turned about the fork tubes, degrees, positive carries the grip ends rearward.

    Points stay where they are where no tube was taped and the turn is zero.
    """
    if points.tube is None:
        return points
    up, _ = clamp_axes(rake)
    turn = np.radians(angle)
    return evolve(
        points,
        grip_end=turn_about(points.grip_end, turn, up, points.tube),
        grip_inner=turn_about(points.grip_inner, turn, up, points.tube),
    )


def raise_bar(points: BikePoints, height: Real, pullback: Real, rake: Real) -> BikePoints:
    """Bar moved up the steering axis and square to it rearward, mm (riser, or slide and offset)."""
    up, back = clamp_axes(rake)
    step = up.times(height).plus(back.times(pullback))
    return evolve(
        points,
        clamp=points.clamp.plus(step),
        grip_end=points.grip_end.plus(step),
        grip_inner=points.grip_inner.plus(step),
        tube=None if points.tube is None else points.tube.plus(step),
    )


def levelling_roll(axis: Vec, tilt: Real) -> Floats:
    """Roll nearest zero that brings a grip's axis to the wished tilt, (...) float, degrees.

    Parameters
    ----------
    axis : triple of (...) float
        Unit direction of the left grip, outward.
    tilt : (...) float, degrees
        Wished, outer end up positive.

    Returns
    -------
    (...) float, degrees
        Zero where the grip already has the tilt. ``nan`` where rolling cannot give it: the grip
        points straight out of the side view, or the bar is so straight that roll hardly tilts it.
    """
    rise = np.sin(np.radians(tilt))
    reach = np.hypot(axis.x, axis.z)
    off = np.abs(np.degrees(elevation(axis)) - tilt)
    start, aim = np.arctan2(axis.z, axis.x), from_opposite(rise, reach)
    first, second = (nearest_zero(aim - start), nearest_zero(np.pi - aim - start))
    roots = np.degrees(np.where(np.abs(first) <= np.abs(second), first, second))
    straight = np.abs(axis.x) < STRAIGHT_BAR
    level = ((reach < LEVEL_GRIP) & (np.abs(tilt) < LEVEL_TILT)) | (straight & (off <= ON_THE_WISH))
    return np.where(level, 0.0, np.where(straight, np.nan, roots))


def levelling_turn(axis: Vec, tilt: Real, rake: Real) -> Floats:
    """Turn of a clip-on about its tube, nearest zero, that gives the wished tilt, degrees.

    ``nan`` where no turn does. The tilt of a turned axis is
    a + b cos psi + c sin psi with a, b, c from Rodrigues' formula.
    """
    up, _ = clamp_axes(rake)
    along = np.add(axis.x * np.asarray(up.x), axis.z * np.asarray(up.z))
    fixed = along * up.z
    cosine = axis.z - fixed
    sine = np.asarray(up.x) * np.asarray(axis.y)
    size = np.hypot(cosine, sine)
    aim = from_adjacent(np.sin(np.radians(tilt)) - fixed, size)
    middle = np.arctan2(sine, cosine)
    first, second = nearest_zero(middle + aim), nearest_zero(middle - aim)
    return np.degrees(np.where(np.abs(first) <= np.abs(second), first, second))


def straightedge(axis: Vec, slope: Real) -> Vec:
    """Unit direction of a straightedge square to a grip whose side view falls by ``slope``, deg."""
    down = np.radians(slope)
    c, s = np.cos(down), np.sin(down)
    return unit(Vec(c, (-axis.x * c + axis.z * s) / axis.y, -s))


def lever_reading(edge: Vec) -> Floats:
    """Slope of a straightedge below horizontal, side view, (...) float, degrees."""
    return np.asarray(np.degrees(np.arctan2(np.negative(edge.z), edge.x)))


def lever_rotation(axis: Vec, edge: Vec, wish: Real) -> Floats:
    """Turn of a perch about its grip's axis that brings the straightedge to the wished slope.

    Parameters
    ----------
    axis : triple of (...) float
        Unit direction of the left grip after roll or turn.
    edge : triple of (...) float
        The straightedge after roll or turn, square to ``axis``.
    wish : (...) float, degrees
        Slope below horizontal.

    Returns
    -------
    (...) float, degrees
        Positive lifts the blade.
    """
    return np.asarray(-np.degrees(angle_about(axis, edge, straightedge(axis, wish))))


def rotate_lever(axis: Vec, edge: Vec, rotation: Real) -> Vec:
    """Straightedge after its perch turned by ``rotation`` degrees, positive lifting the blade."""
    return turn_about(edge, -np.radians(rotation), axis, Vec(0.0, 0.0, 0.0))


def blade_angle(axis: Vec, slope: Real) -> Floats:
    """Angle round the grip, (...) float, degrees, at which a straightedge shows a slope.

    Counts from the straightedge that is level in the side view, positive lowers the blade; the
    difference of two is the turn of the perch between them. Closed form of `lever_rotation`.
    """
    down = np.radians(slope)
    c, s = np.cos(down), np.sin(down)
    flat = np.square(axis.x) + np.square(axis.y)
    return np.asarray(np.degrees(np.arctan2(s * axis.y, c * flat - s * axis.x * axis.z)))


def blade_slope(axis: Vec, angle: Real) -> Floats:
    """Slope that a straightedge shows at an angle round the grip, degrees; see `blade_angle`."""
    turn = np.radians(angle)
    c, s = np.cos(turn), np.sin(turn)
    flat = np.square(axis.x) + np.square(axis.y)
    return np.asarray(np.degrees(np.arctan2(flat * s, axis.y * c + axis.x * axis.z * s)))


def carried_axis(axis: Vec, roll_deg: Real, turn_deg: Real, rake: Real) -> Vec:
    """Direction fixed to the left grip after the bar rolled or the clip-on turned."""
    origin = Vec(0.0, 0.0, 0.0)
    up, _ = clamp_axes(rake)
    return turn_about(roll(axis, np.radians(roll_deg), origin), np.radians(turn_deg), up, origin)


def carried_edge(axis: Vec, reading: Real, roll_deg: Real, turn_deg: Real, rake: Real) -> Vec:
    """Straightedge read at ``reading`` degrees on a grip, after the bar rolled or a clip turned."""
    return carried_axis(straightedge(axis, reading), roll_deg, turn_deg, rake)


def bar_changes(
    *,
    clip_on: bool,
    width_change: Real,
    slide: Real,
    roll: Real,
    turn: Real,
    height: Real,
    pullback: Real,
) -> Changes:
    """Changes to the bar under the names of its kind, mm and degrees; no levers or pegs yet."""
    none = np.nan
    return Changes(
        bar_width_change_mm=width_change,
        grip_slide_mm=slide,
        bar_roll_deg=none if clip_on else roll,
        riser_height_mm=none if clip_on else height,
        riser_pullback_mm=none if clip_on else pullback,
        clip_turn_deg=turn if clip_on else none,
        clip_slide_mm=height if clip_on else none,
        clip_offset_mm=pullback if clip_on else none,
    )


def lever_turns(
    points: BikePoints, readings: Sides, changes: Changes, aim: Sides, rake: Real
) -> Sides:
    """Turn of each perch that brings its lever to the aimed slope once the bar is changed, deg."""
    start = grip_axis(points)
    roll_deg, turn_deg = _made(changes.bar_roll_deg), _made(changes.clip_turn_deg)
    end = carried_axis(start, roll_deg, turn_deg, rake)
    turns = (
        lever_rotation(end, carried_edge(start, reading, roll_deg, turn_deg, rake), wish)
        for reading, wish in ((readings.brake, aim.brake), (readings.clutch, aim.clutch))
    )
    return Sides(*turns)


def with_seat(changes: Changes, seat: Real, rake: Real) -> SeatRaise:
    """The alternative that raises the seat by ``seat`` mm: the rider, and so the bar, go up."""
    by_rake = np.radians(rake)
    up, back = seat * np.cos(by_rake), -seat * np.sin(by_rake)
    return SeatRaise(
        seat_raise_mm=seat,
        riser_height_mm=changes.riser_height_mm + up,
        riser_pullback_mm=changes.riser_pullback_mm + back,
        clip_slide_mm=changes.clip_slide_mm + up,
        clip_offset_mm=changes.clip_offset_mm + back,
    )


def done_to(points: BikePoints, changes: Changes, rake: Real) -> BikePoints:
    """The bike's points after the changes, peg move and not seat raise taken; mm.

    A change that is ``nan`` counts as not made.
    """
    moved = turn_clips(points, _made(changes.clip_turn_deg), rake)
    moved = slide_grips(moved, _made(changes.grip_slide_mm))
    moved = roll_bar(moved, _made(changes.bar_roll_deg))
    height = np.add(_made(changes.riser_height_mm), _made(changes.clip_slide_mm))
    pullback = np.add(_made(changes.riser_pullback_mm), _made(changes.clip_offset_mm))
    moved = raise_bar(moved, height, pullback, rake)
    step = Vec(_made(changes.peg_move_mm.x), 0.0, _made(changes.peg_move_mm.z))
    return evolve(moved, peg=moved.peg.plus(step))


def levers_after(points: BikePoints, readings: Sides, changes: Changes, rake: Real) -> Sides:
    """Lever angles after the changes, degrees below horizontal; ``nan`` where none was read."""
    start = grip_axis(points)
    roll_deg, turn_deg = _made(changes.bar_roll_deg), _made(changes.clip_turn_deg)
    end = carried_axis(start, roll_deg, turn_deg, rake)
    after = (
        lever_reading(
            rotate_lever(end, carried_edge(start, reading, roll_deg, turn_deg, rake), _made(turn))
        )
        for reading, turn in (
            (readings.brake, changes.lever_rotation_deg.brake),
            (readings.clutch, changes.lever_rotation_deg.clutch),
        )
    )
    return Sides(*after)


def _made(change: Real) -> Floats:
    """The change, zero where there is none."""
    made = np.asarray(change, dtype=np.float64)
    return np.where(np.isnan(made), 0.0, made)
