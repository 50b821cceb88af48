"""Stage 11d: what is left to change on the bike as it now is.

As `fitprofile.stages.practical` does for the transfer: a number inside its tolerance is left alone,
and every other change is worked out for the bike as it then stands. So the list can be followed to
the letter: nothing in it supposes a roll or a slide that is not in it. Where the parts on the bike
are known, settings alone come first (`fitprofile.stages.put_right`), and only where none does it
another riser or other clip-ons.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from attrs import evolve

from fitprofile.geometry.vectors import Real
from fitprofile.stages import moves
from fitprofile.stages.adjust import peg_move, riser, seat_raise
from fitprofile.stages.as_it_is import value_of
from fitprofile.stages.job import SIDES, Job, deviations, in_line, within
from fitprofile.stages.moves import Changes, PegMove, SeatRaise
from fitprofile.stages.posture import Numbers, Sides, numbers_on
from fitprofile.stages.put_right import put_right
from fitprofile.stages.siton import Reported
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

PLACING = ("navel_to_bar", "forearm_angle")
"""Numbers that place the bar together."""


SET = {"bar_width", "grip_tilt"}
"""Numbers that tell how the bar is set."""


@frozen
class _Bar:
    """What is left to do to the bar, and the forearm angle that then shows, degrees."""

    changes: Changes
    forearm_deg: float


def left_to_do(
    job: Job,
    now: BikePoints,
    told: Mapping[str, Reported],
    *,
    stands: bool,
    parts_known: bool = False,
) -> Changes:
    """Changes from the bike as it now is that bring every measured number inside its tolerance.

    Parameters
    ----------
    now, stands
        From `fitprofile.stages.as_it_is.as_it_is`.
    told : mapping
        Measured numbers, by name.
    parts_known : bool
        Whether the job has the parts on it that are fitted.

    Returns
    -------
    Changes
        mm and degrees. Zero where a number is left alone, ``nan`` where nothing was measured that
        would say.
    """
    bar = _bar(job, now, told, stands=stands)
    if parts_known and stands and told.keys() >= SET and _takes_parts(bar.changes):
        bar = _put_right(job, now, told) or bar
    changes = evolve(
        bar.changes,
        lever_rotation_deg=_levers(job, now, told, bar),
        lever_reach_change_mm=_reaches(job, told),
    )
    knee = job.target.knee_angle_deg
    pegs, seat = PegMove(0.0, 0.0), 0.0
    if not _fine(job, told, "knee_angle"):
        pegs, seat = peg_move(job.rider, now, knee), float(seat_raise(job.rider, now, knee))
    raised = moves.with_seat(changes, seat, job.rake)
    return _only_measured(evolve(changes, peg_move_mm=pegs, with_seat_raise=raised), told)


def forearm_shown(job: Job, told: Mapping[str, Reported]) -> float:
    """Forearm angle that levers are held against: as measured, else as wished, degrees."""
    return value_of(told, "forearm_angle", job.target.forearm_angle_deg)


def _bar(job: Job, now: BikePoints, told: Mapping[str, Reported], *, stands: bool) -> _Bar:
    """Slide, roll and riser (or slide and offset), in this order."""
    wider = slide = roll = 0.0
    if not _fine(job, told, "bar_width"):
        wider = float(job.target.bar_width_mm) - 2.0 * float(now.grip_end.y)
        slide = wider / (2.0 * float(moves.grip_axis(now).y))
    slid = moves.slide_grips(now, slide)
    if not job.clip_on and not _fine(job, told, "grip_tilt"):
        roll = float(moves.levelling_roll(moves.grip_axis(slid), job.target.grip_tilt_deg))
    shaped = moves.roll_bar(slid, np.nan_to_num(roll))
    height = pullback = np.nan
    forearm = forearm_shown(job, told)
    if stands and any(name in told for name in PLACING):
        off = _off_once_shaped(job, now, shaped, told)
        height = pullback = 0.0
        if not all(within(job, name, off[name]) for name in PLACING):
            places = riser(job.rider, job.target, shaped, job.rake)
            height, pullback = (float(part) for part in places)
        raised = height != 0.0 or pullback != 0.0
        forearm = float(job.target.forearm_angle_deg) + (0.0 if raised else off["forearm_angle"])
    changes = moves.bar_changes(
        clip_on=job.clip_on,
        width_change=wider,
        slide=slide,
        roll=roll,
        turn=0.0,
        height=height,
        pullback=pullback,
    )
    return _Bar(changes, forearm)


def _takes_parts(changes: Changes) -> bool:
    """Whether the bar is to be moved where no roll carries it."""
    place = (
        *(changes.riser_height_mm, changes.riser_pullback_mm),
        *(changes.clip_slide_mm, changes.clip_offset_mm),
    )
    return any(np.nan_to_num(change) != 0.0 for change in place)


def _put_right(job: Job, now: BikePoints, told: Mapping[str, Reported]) -> _Bar | None:
    """Settings alone, where they bring every number of the bar inside."""
    changes = put_right(job, now, told)
    if changes is None:
        return None
    after = moves.done_to(now, changes, job.rake)
    shown = numbers_on(job.rider, job.target.lean_deg, after)
    return _Bar(changes, float(shown.forearm_angle_deg))


def _off_once_shaped(
    job: Job, now: BikePoints, shaped: BikePoints, told: Mapping[str, Reported]
) -> dict[str, float]:
    """How far navel-to-bar and forearm angle are off once the grips are slid and rolled.

    As measured, and moved by as much as the body says: unshaped it is what was measured.
    """
    before, after = (numbers_on(job.rider, job.target.lean_deg, bar) for bar in (now, shaped))
    start, end = deviations(job.target, before), deviations(job.target, after)
    return {name: _off(job, told, name) + end[name] - start[name] for name in PLACING}


def _off(job: Job, told: Mapping[str, Reported], name: str) -> float:
    """Measured less wished; zero where it was not measured, as it then counts as wished."""
    wish = _wish(job.target, name)
    return value_of(told, name, wish) - wish


def _fine(job: Job, told: Mapping[str, Reported], name: str) -> bool:
    """Whether a number that no change was made for yet is left alone."""
    return within(job, name, _off(job, told, name)) or not np.isfinite(_wish(job.target, name))


def _wish(target: Numbers, name: str) -> float:
    unit = "mm" if name in ("bar_width", "navel_to_bar") else "deg"
    return float(getattr(target, f"{name}_{unit}"))


def _levers(job: Job, now: BikePoints, told: Mapping[str, Reported], bar: _Bar) -> Sides:
    """Turn of each perch that puts its lever in line with the forearm as it then will be.

    None where it then is in line already.
    """
    read = _sides(told, "lever_angle")
    aim = in_line(job.target, bar.forearm_deg)
    shown = moves.levers_after(now, read, bar.changes, job.rake)
    turns = moves.lever_turns(now, read, bar.changes, aim, job.rake)
    made: list[Real] = []
    for side in SIDES:
        off = float(getattr(shown, side) - getattr(aim, side))
        alone = within(job, f"lever_angle.{side}", off)
        made.append(0.0 if alone else float(getattr(turns, side)))
    return Sides(*made)


def _reaches(job: Job, told: Mapping[str, Reported]) -> Sides:
    """Change of each lever's reach."""
    read, wish = _sides(told, "lever_reach"), job.target.lever_reach_mm
    made: list[Real] = []
    for side in SIDES:
        change = float(getattr(wish, side) - getattr(read, side))
        made.append(0.0 if within(job, f"lever_reach.{side}", change) else change)
    return Sides(*made)


def _sides(told: Mapping[str, Reported], part: str) -> Sides:
    """A lever's figure as measured, ``nan`` where it was not."""
    return Sides(*(value_of(told, f"{part}.{side}", np.nan) for side in SIDES))


def _only_measured(left: Changes, told: Mapping[str, Reported]) -> Changes:
    """Changes without those that no measured number speaks of."""
    none = np.nan
    if "bar_width" not in told:
        left = evolve(left, bar_width_change_mm=none, grip_slide_mm=none)
    if "grip_tilt" not in told:
        left = evolve(left, bar_roll_deg=none)
    raised = left.with_seat_raise
    if "knee_angle" not in told:
        raised = SeatRaise(seat_raise_mm=none)
        left = evolve(left, peg_move_mm=PegMove(none, none))
    return evolve(left, with_seat_raise=raised)
