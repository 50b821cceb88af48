"""Stage 11b: the measurement after the work, held against the target, and what is left to change.

The exact transfer from the bike as it now is (`fitprofile.stages.as_it_is`) is what is left. A
number that was not measured has nothing left to say (``nan``), and counts as wished where another
hangs on it: so one of navel-to-bar and forearm angle is enough for riser and pullback, with a note.
The lean is taken as wished: measured it is known to 10 degrees only, which would move the bar by
more than what is looked for.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from attrs import evolve

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.model.log import Entry
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import HELP
from fitprofile.model.shop import Shop
from fitprofile.stages.adjust import exact
from fitprofile.stages.as_it_is import as_it_is, limits_left, rolled_too_far, value_of
from fitprofile.stages.entries import log_file, readings_apart
from fitprofile.stages.job import SIDES, Job, arm_apart, within
from fitprofile.stages.limits import Limit
from fitprofile.stages.moves import Changes, PegMove, SeatRaise
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import Numbers, Sides
from fitprofile.stages.siton import COVERAGE, Reported, distance_of, reported
from fitprofile.values import frozen

WORDS: Mapping[str, str] = {
    "bar_width": "bar width",
    "navel_to_bar": "navel-to-bar",
    "forearm_angle": "forearm angle",
    "knee_angle": "knee angle",
    "grip_tilt": "grip tilt",
}
"""Numbers that something is left to say of, in words."""

OF_NO_ARM = (
    "the arms are wished differently, so this lever angle counts as the mean of both and says "
    "nothing of the {0} lever; record --lever-angle-{0} as well"
)
"""Said of a lever angle of no side where each arm has its own."""

PLACING = ("navel_to_bar", "forearm_angle")
"""Numbers that place the bar together."""


@frozen(kw_only=True)
class Held:
    """One measured number held against the target; mm or degrees.

    Parameters
    ----------
    number : str
        As `fitprofile.stages.job.deviations` names it, or ``lean``.
    measured, target, difference : float
        Measured is the mean where several readings were taken; difference is measured less target.
    tolerance : float
        ``nan`` where the number has none.
    inside : bool or None
        ``None`` where there is no tolerance and no band.
    give_or_take : float
        What the tape leaves open of the difference: k = 2, sitting down again included where the
        rider was on, of the mean of the readings. The wish is taken as it is.
    explained : bool
        Whether the difference is no larger than that.
    """

    number: str
    measured: float
    target: float
    difference: float
    tolerance: float
    inside: bool | None
    give_or_take: float
    explained: bool


@frozen(kw_only=True)
class Verification:
    """What the measurement after the work says.

    ``inside``: every measured number that has a tolerance is inside it. ``left`` are the exact
    changes from the bike as it now is; ``nan`` where nothing was measured that would say.
    ``limits`` are those of them that lie outside what the bike still allows, and what no change
    brings. ``pedals_left`` are moves of the pedals by name, mm, for a standing use; ``None`` for a
    seated one.
    """

    transfer: Transfer
    use: str
    entry: Entry
    numbers: tuple[Held, ...]
    inside: bool
    left: Changes
    limits: tuple[Limit, ...]
    problems: tuple[Problem, ...]
    pedals_left: Mapping[str, float] | None = None


def verify(made: Transfer, entry: Entry, shop: Shop) -> Verification:
    """Hold an entry taken after the work against the target.

    Parameters
    ----------
    made : Transfer
        To this bike as its file has it, for the same use, calibrated without this entry: a number
        held against a target that it helped to make would look better than it is.
    entry : Entry
    shop : Shop
        Spreads of readings that carry none.
    """
    told, problems = readings(made, entry, shop)
    job = made.job
    numbers = tuple(
        _held(job, name, seen, target)
        for name, seen in told.items()
        if np.isfinite(target := _of(made.target, name))
    )
    left, limits, doubts = _left(job, made, told, entry)
    return Verification(
        transfer=made,
        use=made.use,
        entry=entry,
        numbers=numbers,
        inside=all(one.inside is not False for one in numbers),
        left=left,
        limits=limits,
        problems=(*problems, *readings_apart(made.rider, entry, shop), *doubts),
    )


def readings(
    made: Transfer, entry: Entry, shop: Shop
) -> tuple[dict[str, Reported], tuple[Problem, ...]]:
    """What was measured, by number in the order of a sheet, with the spread of its mean.

    A lever angle said of no side is that of every lever of the bike, and, being in line, of the
    forearm where that was not measured itself. Where the arms are wished differently it is the
    mean of both, and says nothing of either lever.
    """
    spread = {name: pair[HELP.index(entry.tape)] for name, pair in shop.spreads.items()}
    again = spread["resit_angle"]
    width = made.target.bar_width_mm if entry.bar_width is None else entry.bar_width.value
    file = log_file(made.rider)
    distance, problems = distance_of(entry, float(width), spread, "navel_to_grip_ends", file)
    sided = dict.fromkeys(side for side in SIDES if getattr(made.bike.levers, side) is not None)
    forearm, row = entry.forearm_angle, "forearm_angle"
    if forearm is None:
        forearm, row = entry.lever_angle, "lever_angle"
    rows: list[tuple[str, Reading | None, str, float]] = [
        ("bar_width", entry.bar_width, "bar_width", 0.0),
        ("forearm_angle", forearm, row, again),
    ]
    for side in SIDES:
        own: Reading | None = getattr(entry, f"lever_angle_{side}")
        if own is not None:
            rows.append((f"lever_angle.{side}", own, "lever_angle", 0.0))
        elif side in sided:
            rows.append((f"lever_angle.{side}", _own(made, entry, side), "lever_angle", again))
            if entry.lever_angle is not None and rows[-1][1] is None:
                problems += (Problem(OF_NO_ARM.format(side), "lever_angle", file, level=NOTE),)
    rows.append(("knee_angle", entry.knee_angle, "knee_angle", again))
    rows += [
        (f"lever_reach.{side}", getattr(entry, f"lever_reach_{side}"), "lever_reach", 0.0)
        for side in SIDES
    ]
    rows.append(("grip_tilt", entry.grip_tilt, "grip_tilt", 0.0))
    rows.append(("lean", entry.lean, "lean", again))
    found = {
        name: reported(reading, spread[row], resit)
        for name, reading, row, resit in rows
        if reading is not None
    }
    if distance is not None and distance.told():
        width_first = {name: found[name] for name in ("bar_width",) if name in found}
        found = width_first | {"navel_to_bar": distance} | found
    return found, tuple(
        evolve(one, line=entry.line, level=NOTE if one.level == NOTE else WARNING)
        for one in problems
    )


def _own(made: Transfer, entry: Entry, side: str) -> Reading | None:
    """One lever's angle out of a reading that names no lever, ``None`` where it says nothing."""
    seen = entry.lever_angle
    if seen is not None and seen.sides is not None:
        own: float = getattr(Sides.of_hands(*seen.sides), side)
        return evolve(seen, value=own, count=1, sides=None)
    return None if arm_apart(made.target, side) else seen


def _of(numbers: Numbers, name: str) -> float:
    """One number by its name in `Held`."""
    part, _, side = name.partition(".")
    length = part in ("bar_width", "navel_to_bar", "lever_reach")
    value = getattr(numbers, f"{part}_{'mm' if length else 'deg'}")
    return float(getattr(value, side) if side else value)


def _held(job: Job, name: str, seen: Reported, target: float) -> Held:
    """One number."""
    measured = float(seen.value)
    difference, give = measured - target, COVERAGE * seen.sd
    inside: bool | None = None
    band = job.limits.lean
    if name != "lean":
        inside = within(job, name, difference)
    elif band is not None:
        inside = band[0] <= measured <= band[1]
    return Held(
        number=name,
        measured=measured,
        target=target,
        difference=difference,
        tolerance=job.tolerances.get(name.partition(".")[0], np.nan),
        inside=inside,
        give_or_take=give,
        explained=abs(difference) <= give,
    )


def _left(
    job: Job, made: Transfer, told: Mapping[str, Reported], entry: Entry
) -> tuple[Changes, tuple[Limit, ...], tuple[Problem, ...]]:
    """Exact changes from the bike as it now is, which it does not allow, what they suppose."""
    now, stands = as_it_is(job, told)

    def taped(part: str) -> Sides:
        return Sides(*(value_of(told, f"{part}.{side}", np.nan) for side in SIDES))

    left = exact(
        job.rider,
        job.target,
        now,
        job.rake,
        taped("lever_angle"),
        taped("lever_reach"),
        clip_on=job.clip_on,
    )
    file = log_file(made.rider)
    problems = []
    placed = any(name in told for name in PLACING)
    if placed and not stands:
        text = (
            "navel-to-bar and forearm angle as measured cannot go together for this body, so no "
            "riser or pullback is given; measure both again"
        )
        problems.append(Problem(text, "navel_to_bar", file, entry.line, WARNING))
    for other in PLACING:
        if placed and other not in told:
            text = (
                f"{WORDS[other]} was not measured, so what is left takes it as wished; measure it "
                f"to be sure"
            )
            problems.append(Problem(text, other, file, entry.line, NOTE))
    missing = [
        words
        for name, words in WORDS.items()
        if name not in told and not (placed and name in PLACING)
    ]
    if missing:
        text = f"not measured after the work, so nothing is said of: {', '.join(missing)}"
        problems.append(Problem(text, None, file, entry.line, NOTE))
    rolled = rolled_too_far(job, told)
    if rolled:
        problems.append(Problem(rolled, "grip_tilt", file, entry.line, WARNING))
    spoken = _only_measured(left, told, placed=placed and stands)
    return spoken, limits_left(job, now, spoken, told), tuple(problems)


def _only_measured(left: Changes, told: Mapping[str, Reported], *, placed: bool) -> Changes:
    """Changes without those that no measured number speaks of."""
    none = np.nan
    if "bar_width" not in told:
        left = evolve(left, bar_width_change_mm=none, grip_slide_mm=none)
    if "grip_tilt" not in told:
        left = evolve(left, bar_roll_deg=none)
    if not placed:
        left = evolve(
            left,
            riser_height_mm=none,
            riser_pullback_mm=none,
            clip_slide_mm=none,
            clip_offset_mm=none,
        )
    raised = left.with_seat_raise
    if "knee_angle" not in told:
        raised = SeatRaise(seat_raise_mm=none)
        left = evolve(left, peg_move_mm=PegMove(none, none))
    elif not placed:
        raised = SeatRaise(seat_raise_mm=raised.seat_raise_mm)
    return evolve(left, with_seat_raise=raised)
