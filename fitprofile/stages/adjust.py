"""Stage 7b: the exact transfer, the changes that give a bike the rider's own numbers.

Every function works on arrays of riders x bikes, mm and degrees. Each change answers one target:
pegs the knee angle, sliding grips the bar width, roll the grip tilt, risers (or the clip-ons'
slide and offset) navel-to-bar and forearm angle together, perches the lever angle.
"""

from __future__ import annotations

import numpy as np
from attrs import evolve

from fitprofile.geometry.links import hinge_angle, hinge_span
from fitprofile.geometry.roots import bracketed_root
from fitprofile.geometry.vectors import Floats, Real, Vec, norm, side_distance
from fitprofile.stages import linkage as body
from fitprofile.stages import moves
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.moves import Changes, PegMove
from fitprofile.stages.posture import Numbers, Sides
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

LOWEST_BAR = np.radians(-60.0)
HIGHEST_BAR = np.radians(60.0)
"""Elevation of the bar seen from the navel within which a riser is looked for."""

RIGHT = 1e-9
"""mm by which elbow and hand may be off the wished slope in a bar that counts as right."""

LOWER_ENDS = (0.9, 0.8, 0.7, 0.6, 0.5)
"""Shares of the bracket where its end is looked for when the whole of it turns the forearm by more
than half a turn: seen on stooping riders with the bar close and high."""


def leg_span(rider: Linkage, knee: Real) -> Floats:
    """Hip joint to ankle, (...) float, mm, at an included knee angle in degrees."""
    return hinge_span(rider.thigh_mm, rider.shank_mm, np.radians(knee))


def peg_move(rider: Linkage, points: BikePoints, knee: Real) -> PegMove:
    """Move of the pegs along the hip-ankle line, side view, that gives the knee angle."""
    joint, foot = body.hip_joint(rider, points.seat), body.ankle(rider, points.peg)
    line = foot.minus(joint)
    wanted = leg_span(rider, knee)
    with np.errstate(invalid="ignore", divide="ignore"):
        factor = np.sqrt((wanted - line.y) * (wanted + line.y)) / side_distance(joint, foot) - 1.0
    return PegMove(factor * line.x, factor * line.z)


def seat_raise(rider: Linkage, points: BikePoints, knee: Real) -> Floats:
    """Raise of the seat that gives the knee angle with the pegs where they are, (...) float, mm.

    ``nan`` where the pegs are so far ahead or apart that no height does.
    """
    line = body.ankle(rider, points.peg).minus(body.hip_joint(rider, points.seat))
    wanted = leg_span(rider, knee)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.sqrt(wanted**2 - line.y**2 - line.x**2) + line.z)


def place_bar(
    rider: Linkage, lean: Real, points: BikePoints, distance: Real, forearm: Real
) -> tuple[Floats, Floats]:
    """Move of the bar, side view, that gives navel-to-bar and forearm angle together.

    Parameters
    ----------
    rider : Linkage
        Calibrated body, fields (...).
    lean : (...) float, degrees
    points : BikePoints
        With width and roll already as they will be.
    distance, forearm : (...) float, mm and degrees
        Wished navel-to-bar and forearm angle.

    Returns
    -------
    ahead, up : (...) float, mm
        ``nan`` where no place of the bar gives both; `steepest_forearm` and
        `largest_navel_to_bar` say why.

    Notes
    -----
    The bar point runs on the circle of radius ``distance`` round the navel; its elevation starts
    where the arm is straight (not below -60 degrees) and ends at +60 degrees, and the forearm
    angle falls throughout, but for very short forearms. So the search goes up or down from the bar
    as found, which also keeps a bar that is right where it is. The slope is infinite at a straight
    arm, so the root is sought in the square root of the elevation above the start.
    """
    search = _BarCircle.of(rider, lean, points, distance)
    wish = np.radians(np.add(forearm, body.forearm_axis_turn(rider.forearm_grip_mm)))
    sine, cosine = np.sin(wish), np.cos(wish)

    def too_steep(root: Floats) -> Floats:
        ahead, up = search.elbow_to_hand(search.start + root * root)
        return np.asarray(-up * cosine - ahead * sine)

    at, bar = body.navel(rider, points.seat, lean), points.grip_end
    top = np.sqrt(HIGHEST_BAR - search.start)
    as_found = np.arctan2(bar.z - at.z, bar.x - at.x)
    here = np.sqrt(np.clip(as_found - search.start, 0.0, top * top))
    off = too_steep(here)
    steep = off > 0.0
    high = np.where(steep, top, here)
    for share in LOWER_ENDS:
        # A forearm half a turn past the wish points back over the shoulder and seems too steep.
        wrapped = steep & (too_steep(high) > 0.0)
        if not wrapped.any():
            break
        high = np.where(wrapped, share * top, high)
    low = np.where(steep & (here < high), here, 0.0 * here)
    root = bracketed_root(too_steep, low, high, 1e-12)
    root = np.where(np.abs(off) < RIGHT, here, root)
    angle = search.start + root * root
    return (
        np.asarray(at.x + distance * np.cos(angle) - bar.x),
        np.asarray(at.z + distance * np.sin(angle) - bar.z),
    )


@frozen(eq=False)
class _BarCircle:
    """The hand on its circle, seen from the shoulder; every field (...) float, mm and radians."""

    upper: Real
    fore: Real
    down: Floats
    out: Floats
    ahead: Floats
    across: Floats
    above: Floats
    radius: Real
    start: Floats
    reaches: Floats

    @classmethod
    def of(cls, rider: Linkage, lean: Real, points: BikePoints, distance: Real) -> _BarCircle:
        """Centre, radius and start of the circle for a bar that keeps its shape."""
        at = body.navel(rider, points.seat, lean)
        joint = body.shoulder(rider, points.seat, lean)
        centre = at.plus(body.hand(points).minus(points.grip_end)).minus(joint)
        across = np.asarray(body.hand(points).y - joint.y)
        away, bearing = np.hypot(centre.x, centre.z), np.arctan2(centre.z, centre.x)
        arm = np.add(rider.upper_arm_mm, rider.forearm_grip_mm)
        with np.errstate(invalid="ignore"):
            reach = np.sqrt((arm - across) * (arm + across))
        straight = bearing + np.pi - hinge_angle(away, distance, reach)
        everywhere = reach >= away + distance
        start = np.where(everywhere, LOWEST_BAR, np.maximum(straight, LOWEST_BAR))
        reaches = start < HIGHEST_BAR
        start = np.where(reaches, start, np.nan)
        swivel = np.radians(rider.elbows_out_deg)
        return cls(
            rider.upper_arm_mm,
            rider.forearm_grip_mm,
            np.asarray(np.cos(swivel)),
            np.asarray(np.sin(swivel)),
            np.asarray(centre.x),
            across,
            np.asarray(centre.z),
            distance,
            start,
            reaches,
        )

    def elbow_to_hand(self, angle: Floats) -> tuple[Floats, Floats]:
        """Side view of the line elbow to hand, bar at elevation ``angle`` (rad); mm.

        As `fitprofile.geometry.links.hanging_hinge`, left out what the side view does not need;
        beyond reach by rounding counts as a straight arm.
        """
        x = self.ahead + self.radius * np.cos(angle)
        z = self.above + self.radius * np.sin(angle)
        level2 = x * x + self.across * self.across
        span2 = level2 + z * z
        span, level = np.sqrt(span2), np.sqrt(level2)
        difference = np.subtract(np.square(self.upper), np.square(self.fore))
        along = (difference / span + span) * 0.5
        off = np.sqrt(np.maximum(np.square(self.upper) - along * along, 0.0))
        rest = 1.0 - along / span
        drop = off * self.down / span
        return (
            rest * x - (drop * z * x - off * self.out * self.across) / level,
            rest * z + drop * level,
        )


def steepest_forearm(rider: Linkage, lean: Real, points: BikePoints, distance: Real) -> Floats:
    """Steepest forearm angle that a bar at this navel-to-bar allows, (...) float, degrees.

    At the low end of the bar's circle, where the arm is straight; ``nan`` where no place of the
    bar is within reach.
    """
    search = _BarCircle.of(rider, lean, points, distance)
    ahead, up = search.elbow_to_hand(search.start)
    slope = np.degrees(np.arctan2(-up, ahead)) - body.forearm_axis_turn(rider.forearm_grip_mm)
    return np.where(search.reaches, slope, np.nan)


def largest_navel_to_bar(rider: Linkage, lean: Real, points: BikePoints, forearm: Real) -> Floats:
    """Largest navel-to-bar at which the forearm angle can be had, (...) float, mm.

    There the arm is straight and slopes as the forearm does; ``nan`` where the grips are too far
    apart for the arms.
    """
    at, joint = body.navel(rider, points.seat, lean), body.shoulder(rider, points.seat, lean)
    to_hand = body.hand(points)
    reach = np.square(np.add(rider.upper_arm_mm, rider.forearm_grip_mm))
    with np.errstate(invalid="ignore"):
        flat = np.sqrt(reach - np.square(to_hand.y - joint.y))
    slope = np.radians(np.add(forearm, body.forearm_axis_turn(rider.forearm_grip_mm)))
    straight = Vec(joint.x + flat * np.cos(slope), 0.0, joint.z - flat * np.sin(slope))
    offset = to_hand.minus(points.grip_end)
    return norm(Vec(straight.x - offset.x - at.x, 0.0, straight.z - offset.z - at.z))


def exact(
    rider: Linkage,
    target: Numbers,
    points: BikePoints,
    rake: Real,
    lever_angle: Sides,
    lever_reach: Sides,
    *,
    clip_on: bool,
    clip_turn: Real = 0.0,
) -> Changes:
    """Changes that give the bike every target, whatever the bike allows.

    Parameters
    ----------
    rider : Linkage
        Calibrated body, fields (...).
    target : Numbers
        What the body shows in its right-feeling sit-on, fields (...), mm and degrees.
    points : BikePoints
        As found, left side, mm, components (...).
    rake : (...) float, degrees
    lever_angle, lever_reach : Sides
        As found, degrees and mm; ``nan`` where there is no lever.
    clip_on : bool
        Clip-ons: slide and offset instead of risers, no roll.
    clip_turn : (...) float, degrees
        Turn of the clip-ons asked for. Where no tube was taped a turn is not worked out: ``nan``,
        and everything else is for clip-ons that stay as they are.

    Returns
    -------
    Changes
        Shapes broadcast together. Each change that does not exist is ``nan``.
    """
    turn = clip_turn if clip_on else 0.0
    if clip_on and points.tube is None:
        turn = np.where(np.equal(turn, 0.0), 0.0, np.nan)
    slid, slide, wider = _to_width(moves.turn_clips(points, turn, rake), target.bar_width_mm)
    roll = 0.0 if clip_on else moves.levelling_roll(moves.grip_axis(slid), target.grip_tilt_deg)
    height, pullback = riser(rider, target, moves.roll_bar(slid, np.nan_to_num(roll)), rake)
    changes = moves.bar_changes(
        clip_on=clip_on,
        width_change=wider,
        slide=slide,
        roll=roll,
        turn=turn,
        height=height,
        pullback=pullback,
    )
    raised = seat_raise(rider, points, target.knee_angle_deg)
    return evolve(
        changes,
        lever_rotation_deg=moves.lever_turns(
            points, lever_angle, changes, target.lever_angle_deg, rake
        ),
        lever_reach_change_mm=Sides(
            target.lever_reach_mm.brake - lever_reach.brake,
            target.lever_reach_mm.clutch - lever_reach.clutch,
        ),
        peg_move_mm=peg_move(rider, points, target.knee_angle_deg),
        with_seat_raise=moves.with_seat(changes, raised, rake),
    )


def _to_width(points: BikePoints, width: Real) -> tuple[BikePoints, Floats, Floats]:
    """Points with the grips slid to a bar width; the slide along each grip; the change; mm."""
    wider = np.subtract(width, np.multiply(points.grip_end.y, 2.0))
    slide = wider / (2.0 * np.asarray(moves.grip_axis(points).y))
    return moves.slide_grips(points, slide), slide, wider


def riser(rider: Linkage, target: Numbers, points: BikePoints, rake: Real) -> tuple[Floats, Floats]:
    """Riser height and pullback (or slide and offset) for a bar already slid and rolled, mm."""
    ahead, up = place_bar(
        rider, target.lean_deg, points, target.navel_to_bar_mm, target.forearm_angle_deg
    )
    axis, back = moves.clamp_axes(rake)
    return ahead * axis.x + up * axis.z, ahead * back.x + up * back.z
