"""Stage 8p: what a plan asks of each hand lever: its perch, its reservoir, and its pull."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fitprofile.geometry.rotations import cross
from fitprofile.geometry.vectors import Vec, dot, elevation, norm
from fitprofile.model.bike import PINNED, Lever
from fitprofile.model.quantity import Band
from fitprofile.stages import moves
from fitprofile.stages.check import DEG, Check, held, to_look_at
from fitprofile.stages.controls import UNSEEN
from fitprofile.stages.job import SIDES, Job, in_line
from fitprofile.stages.limits import BAR_RADIUS, PIN
from fitprofile.stages.plan import Plan
from fitprofile.stages.survey import BikePoints

CAP_LIMIT = 12.0
"""Degrees that a reservoir may tip from where it was found, where nothing was said (common
practice, no source)."""

FINGER = 18.0
"""mm; thickness of a gloved finger that stays round the grip (estimate)."""

FREE_AIR = 2.0
"""mm between such a finger and the blade at full pull (estimate)."""

PIN_OUT = (
    "take the pin out of the housing or file it flush, the housing's before the bar's, and never "
    "slot the bar tube"
)


def lever_checks(job: Job, plan: Plan) -> tuple[Check, ...]:
    """Perch, reservoir, full pull and free play of each lever that the bike has."""
    return tuple(check for side in SIDES for check in _side(job, plan, side))


def _side(job: Job, plan: Plan, side: str) -> Iterator[Check]:
    lever: Lever | None = getattr(job.bike.levers, side)
    if lever is None:
        return
    pinned = lever.perch == PINNED
    perch = _pinned(job, plan, side, lever) if pinned else _free(plan, side, lever)
    if perch is not None:
        yield perch
    if side == "brake" or lever.cap_limit is not None:
        yield _reservoir(job, plan, side, lever)
    yield _pull(plan, side, lever)
    free_play = _free_play(job, plan, side)
    if free_play is not None:
        yield free_play


def _free(plan: Plan, side: str, lever: Lever) -> Check | None:
    """A free perch's turn against its room; ``None`` where it is set afresh on a new bar."""
    turn = _figure(plan.lever_rotation_deg, side)
    what, words = f"perch.{side}", f"{side} lever's perch: turn on the bar"
    if np.isnan(turn):
        return None
    room: Band | None = lever.rotation
    if abs(turn) <= UNSEEN:
        return held(what, words, 0.0, 0.0 if room is None else max(room[1], 0.0), "stays", unit=DEG)
    if room is None:
        why = "its room to turn was not taped: turn it and look that nothing touches or kinks"
        return to_look_at(what, words, why, value=turn, unit=DEG)
    limit = room[1] if turn > 0.0 else room[0]
    why = f"positive lifts the blade; it may turn from {room[0]:.0f} to {room[1]:.0f} degrees"
    return held(what, words, turn, limit, why, unit=DEG, least=turn < 0.0)


def _pinned(job: Job, plan: Plan, side: str, lever: Lever) -> Check | None:
    """What a pinned perch would have to turn on the bar to be in line with the forearm."""
    what, words = f"perch.{side}", f"{side} lever's pinned perch: turn that its pin forbids"
    if plan.choice.bar is not None or plan.choice.clip_on is not None:
        why = f"the new bar has no hole for its pin: {PIN_OUT}, and set the lever by straightedge"
        return to_look_at(what, words, why, unit=DEG)
    asked = asked_turn(job, plan, side)
    if np.isnan(asked):
        why = "the lever's angle was not read: lay a straightedge over grip and blade, read it"
        return to_look_at(what, words, why, unit=DEG)
    turned = abs(np.nan_to_num(_figure(plan.lever_rotation_deg, side))) > UNSEEN
    limit = UNSEEN if turned else job.tolerances["lever_angle"]
    why = "in line with the forearm inside the tolerance, so the pin stays"
    if abs(asked) > limit:
        length = slot_length(job, lever, asked)
        why = (
            f"to be in line with the forearm it should turn {abs(asked):.0f} "
            f"degrees, {turning(asked)}; "
            f"{_rolled(job, plan, asked)}else {PIN_OUT}; where the pin stands in the bar, lengthen "
            f"its hole in the housing to {length:.1f} mm, {turning(-asked)}"
        )
    return held(what, words, abs(asked), limit, why, unit=DEG)


def _rolled(job: Job, plan: Plan, turn: float) -> str:
    """What rolling the whole bar instead would give, for a one-piece bar."""
    if job.clip_on:
        return ""
    rolled = moves.roll_bar(plan.points, turn)
    step = rolled.grip_end.minus(plan.points.grip_end)
    tilt_change = np.degrees(
        elevation(moves.grip_axis(rolled)) - elevation(moves.grip_axis(plan.points))
    )
    back, up = round(-float(step.x)), round(float(step.z))
    text = (
        f"rolling the bar {abs(turn):.0f} degrees the same way gives that too, and carries the "
        f"grip ends {abs(back)} mm {'back' if back >= 0 else 'ahead'} and {abs(up)} mm "
        f"{'up' if up >= 0 else 'down'}, outer ends tilted {abs(float(tilt_change)):.0f} degrees "
        f"{'up' if tilt_change >= 0.0 else 'down'}"
    )
    room, total = job.bike.handlebar.roll, float(np.nan_to_num(plan.roll_deg)) + turn
    if room is not None and plan.choice.bar is None and not room[0] <= total <= room[1]:
        text += ", but there is no room to roll so far"
    return f"{text}; "


def asked_turn(job: Job, plan: Plan, side: str) -> float:
    """Turn of a perch from as found that puts its lever in line with the forearm, degrees.

    What the plan turns it already, and what is still missing then; positive lifts the blade.
    ``nan`` where the lever's angle or the forearm's is not there.
    """
    shown = _figure(plan.after.lever_angle_deg, side)
    wish = float(plan.after.forearm_angle_deg)
    if not np.isfinite(wish):
        wish = float(job.target.forearm_angle_deg)
    wish = float(getattr(in_line(job.target, wish), side))
    axis = moves.grip_axis(plan.points)
    rest = moves.lever_rotation(axis, moves.straightedge(axis, shown), wish)
    return float(np.nan_to_num(_figure(plan.lever_rotation_deg, side)) + rest)


def slot_length(job: Job, lever: Lever, turn: float) -> float:
    """Length of the slot that lets a pinned perch turn, mm: bar radius x turn + pin."""
    taped = job.bike.handlebar.bar_diameter
    radius = BAR_RADIUS if taped is None else 0.5 * taped.value
    pin = PIN if lever.pin is None else lever.pin.value
    return float(radius * np.radians(abs(turn)) + pin)


def turning(turn: float) -> str:
    """Which way round the bar, in words; a turn that lifts the blade carries the top rearward."""
    if turn > 0.0:
        return "top toward the rider (clockwise seen from the bike's left)"
    return "top away from the rider (anticlockwise seen from the bike's left)"


def _reservoir(job: Job, plan: Plan, side: str, lever: Lever) -> Check:
    """How far the reservoir tips, all changes of the bar and its perch together."""
    what, words = f"reservoir.{side}", f"{side} reservoir: tilt from as found"
    limit = CAP_LIMIT if lever.cap_limit is None else lever.cap_limit.value
    before, after = (_figure(n.lever_angle_deg, side) for n in (job.now, plan.after))
    if np.isnan(before) or np.isnan(after):
        why = "the lever's angle is not there before or after: set the cap level and look"
        return to_look_at(what, words, why, unit=DEG)
    tipped = tilt(job.points, before, plan.points, after)
    said = "the usual limit" if lever.cap_limit is None else "the limit that was given"
    why = (
        f"roll, perch and grip together, against {said}; the cap stays near level, and a banjo is "
        "never turned without new washers and bleeding"
    )
    return held(what, words, tipped, limit, why, unit=DEG)


def tilt(start: BikePoints, before: float, end: BikePoints, after: float) -> float:
    """How far something fixed to a perch tips from upright, degrees, 0 to 180.

    Parameters
    ----------
    start, end : BikePoints
        Whose grips the perch sits on.
    before, after : float, degrees
        The lever's slope below horizontal on each.

    Notes
    -----
    The perch's frame is the grip's axis, the straightedge and what is square to both. What was
    straight up in the first is carried over to the second.
    """
    old, new = _frame(start, before), _frame(end, after)
    up = Vec(0.0, 0.0, 1.0)
    carried = Vec(0.0, 0.0, 0.0)
    for was, now in zip(old, new, strict=True):
        carried = carried.plus(now.times(dot(was, up)))
    return float(np.degrees(np.arctan2(norm(cross(carried, up)), dot(carried, up))))


def _frame(points: BikePoints, slope: float) -> tuple[Vec, Vec, Vec]:
    axis = moves.grip_axis(points)
    edge = moves.straightedge(axis, slope)
    return axis, edge, cross(edge, axis)


def _pull(plan: Plan, side: str, lever: Lever) -> Check:
    """Room left between blade and grip at full pull, for the fingers that hold on."""
    what, words = f"lever.{side}", f"{side} lever at full pull: blade to grip"
    reach, limit = _figure(plan.after.lever_reach_mm, side), FINGER + FREE_AIR
    why = f"a gloved finger round the grip takes {FINGER:.0f} mm, and {FREE_AIR:.0f} mm stay free"
    if lever.pull is None or np.isnan(reach):
        rest = "its pull or reach was not taped" if lever.pull is None else "its reach is not known"
        return to_look_at(what, words, f"{rest}: pull it fully and look; {why}")
    why = f"reach {reach:.0f} mm less a pull of {lever.pull.value:.0f} mm; {why}"
    return held(what, words, reach - lever.pull.value, limit, why, least=True)


def _free_play(job: Job, plan: Plan, side: str) -> Check | None:
    """A word where the lever's free play may have changed."""
    change = np.nan_to_num(_figure(plan.lever_reach_change_mm, side))
    moved = float(norm(plan.points.grip_inner.minus(job.points.grip_inner)))
    fitted = plan.choice.levers_of(side) is not None
    if abs(change) <= UNSEEN and moved <= UNSEEN and not fitted:
        return None
    what, words = f"lever.{side}.free_play", f"{side} lever: free play"
    why = (
        "the reach or the way of its hose or cable has changed: set free play to the maker's "
        "figure at both locks, and see that the brake does not drag or the clutch slip"
    )
    return to_look_at(what, words, why)


def _figure(sides: object, side: str) -> float:
    """One side's figure as a float."""
    return float(getattr(sides, side))
