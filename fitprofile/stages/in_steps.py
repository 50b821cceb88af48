"""Stage 8i: a plan as steps in the order of work, each with what it alone changes.

Figures lead on from one step to the next: what a step begins with is how the step before it left
the bike, so that a mechanic can tick one off and measure before the next.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fitprofile.geometry.vectors import Real, elevation, rearward
from fitprofile.stages import moves
from fitprofile.stages.bar_rows import SEEN
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.placement import clip_found, drawn_bar, drawn_clip, with_bar, with_clip
from fitprofile.stages.plan import Choice, Plan, PlanStep
from fitprofile.stages.survey import BikePoints

DEG, MM = "deg", "mm"


def with_parts(job: Job, points: BikePoints, choice: Choice, rake: Real) -> BikePoints:
    """The bike with a choice's bar or clip-ons on it as drawn, clip-ons turned as asked for.

    Parameters
    ----------
    points : BikePoints
        Components (...) float, mm.
    rake : (...) float, degrees
    """
    turn = job.bike.clip_turn
    made = moves.turn_clips(points, turn.value if job.clip_on and turn is not None else 0.0, rake)
    if choice.bar is not None:
        made = with_bar(made, drawn_bar(choice.bar))
    found = clip_found(made, rake)
    if choice.clip_on is not None and found is not None:
        made = with_clip(made, drawn_clip(choice.clip_on, found), rake)
    return made


def steps_of(job: Job, plan: Plan) -> Iterator[PlanStep]:
    """Every change of a plan in the order of work; nothing that stays as it is."""
    yield from _under_the_rider(job, plan)
    yield from _bar_steps(job, plan)
    yield from _control_steps(job, plan)


def _under_the_rider(job: Job, plan: Plan) -> Iterator[PlanStep]:
    """Seat and peg plates."""
    was, will, choice = job.points, plan.points, plan.choice
    (seat_x, seat_z), (peg_x, peg_z) = plan.seat_move_mm, plan.peg_move_mm
    if choice.seat is not None:
        name = choice.seat.name
        yield _point("seat", (was, will), "seat.z", seat_z, name)
        if seat_x:
            yield _point("seat_ahead", (was, will), "seat.x", seat_x, name)
    if choice.peg_plate is not None:
        name = choice.peg_plate.name
        yield _point("pegs_up", (was, will), "peg.z", peg_z, name)
        yield _point("pegs_ahead", (was, will), "peg.x", peg_x, name)


def _bar_steps(job: Job, plan: Plan) -> Iterator[PlanStep]:
    """Riser, new bar or clip-ons as drawn, extenders, turn, slide, roll, grips along the bar."""
    choice, slide = plan.choice, plan.grip_slide_mm
    high = moves.raise_bar(job.points, *plan.riser_move_mm, job.rake)
    if choice.riser is not None:
        name, (up, back) = choice.riser.name, plan.riser_move_mm
        yield _point("riser_height", (job.points, high), "clamp.z", up, name)
        if back:
            yield _point("riser_pullback", (job.points, high), "clamp.x", back, name)
    at = with_parts(job, high, choice, job.rake)
    head, key = (choice.bar, "bar") if choice.clip_on is None else (choice.clip_on, "clip_on")
    turn = 0.0 if job.bike.clip_turn is None or not job.clip_on else job.bike.clip_turn.value
    if head is not None:
        up = float(at.grip_end.z) - float(high.grip_end.z)
        yield _point(key, (high, at), "grip_end.z", up, head.name)
    elif turn:
        yield PlanStep("clip_turn", _sweep(high), _sweep(at), turn, DEG)
    widths = _width(at), _width(moves.slide_grips(at, slide))
    if choice.extender is not None:
        yield PlanStep("extender", *widths, widths[1] - widths[0], MM, choice.extender.name)
        at = moves.slide_grips(at, slide)
    if job.clip_on and plan.clip_slide_mm:
        slid = moves.raise_bar(at, plan.clip_slide_mm, 0.0, job.rake)
        yield _point("clip_slide", (at, slid), "grip_end.z", plan.clip_slide_mm)
    if not job.clip_on and (plan.roll_deg or choice.bar is not None):
        tilts = _tilt(at), _tilt(moves.roll_bar(at, plan.roll_deg))
        yield PlanStep("bar_roll", *tilts, plan.roll_deg, DEG)
    if choice.extender is None and abs(slide) > SEEN:
        yield PlanStep("bar_width", *widths, widths[1] - widths[0], MM)


def _control_steps(job: Job, plan: Plan) -> Iterator[PlanStep]:
    """Perches as the bar's roll left them, and reaches, each side."""
    new = plan.choice.bar is not None or plan.choice.clip_on is not None
    rolled = 0.0 if job.clip_on else plan.roll_deg
    for side in SIDES:
        turn = float(getattr(plan.lever_rotation_deg, side))
        found, end = (
            float(getattr(numbers.lever_angle_deg, side)) for numbers in (job.now, plan.after)
        )
        if np.isfinite(end) and (new or turn):
            start = np.nan if new else found - rolled
            yield PlanStep(f"lever_rotation.{side}", start, end, turn, DEG)
    for side in SIDES:
        change = float(getattr(plan.lever_reach_change_mm, side))
        levers = plan.choice.levers_of(side)
        part = None if levers is None else levers.name
        if np.isfinite(change) and (change or part is not None):
            start, end = (
                float(getattr(numbers.lever_reach_mm, side)) for numbers in (job.now, plan.after)
            )
            yield PlanStep(f"lever_reach.{side}", start, end, change, MM, part)


def _point(
    what: str,
    both: tuple[BikePoints, BikePoints],
    seen: str,
    change: float,
    part: str | None = None,
) -> PlanStep:
    """A step that a tape shows by one coordinate of a point, as in ``"clamp.z"``."""
    point, _, axis = seen.partition(".")
    start, end = (float(getattr(getattr(at, point), axis)) for at in both)
    return PlanStep(what, start, end, change, MM, part)


def _width(points: BikePoints) -> float:
    """Bar width, mm."""
    return 2.0 * float(points.grip_end.y)


def _tilt(points: BikePoints) -> float:
    """Grip tilt, degrees."""
    return float(np.degrees(elevation(moves.grip_axis(points))))


def _sweep(points: BikePoints) -> float:
    """Grip sweep, degrees."""
    return float(np.degrees(rearward(moves.grip_axis(points))))
