"""Stage 11e: the measurement after the work, held against the target, and what is left to change.

A lever is held against the forearm as measured, as it is in every plan: in line is the wish, not an
angle of its own. A number that was not measured has nothing left to say (``nan``), and counts as
wished where another hangs on it: so one of navel-to-bar and forearm angle is enough for riser and
pullback, with a note.
The lean is taken as wished: measured it is known to 10 degrees only, which would move the bar by
more than what is looked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from attrs import evolve

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.model.log import Entry
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import HELP
from fitprofile.model.shop import Shop
from fitprofile.stages.as_it_is import as_it_is, freed_pins, limits_left, rolled_too_far
from fitprofile.stages.entries import log_file, readings_apart
from fitprofile.stages.job import SIDES, Job, arm_apart, in_line, within
from fitprofile.stages.left_to_do import PLACING, forearm_shown, left_to_do
from fitprofile.stages.limits import UNSEEN, Limit
from fitprofile.stages.moves import Changes
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
    "grip_sweep": "grip sweep",
}
"""Numbers that something is left to say of, in words."""

LEVER_WORDS: Mapping[str, tuple[str, str]] = {
    "lever_angle": ("lever angles", "{} lever angle"),
    "lever_reach": ("lever reaches", "{} lever reach"),
}
"""The same of the levers, both of them and one."""

OF_NO_ARM = (
    "the arms are wished differently, so this lever angle counts as the mean of both and says "
    "nothing of the {0} lever; record --lever-angle-{0} as well"
)
"""Said of a lever angle of no side where each arm has its own."""


PARTS_UNKNOWN = (
    "this record does not say which parts were fitted, so what is left counts from those that the "
    "bike was taped with; name them in the record (fitprofile record --plan or --fitted)"
)
OUTDATED = (
    "{} was taped again on {}, after this record, so what is left counts from a bike that this "
    "record has not seen; sit on it once more and record that"
)
FREED = (
    "the {} perch was pinned when the bike was taped and has been turned by {:.0f} degrees, so its "
    "pin is taken to be free; where it is not, read the lever again"
)
OR_NEW_BAR = "; or name the bar that was fitted in the record (fitprofile record --fitted)"


@frozen(kw_only=True)
class Held:
    """One measured number held against the target; mm or degrees.

    Parameters
    ----------
    number : str
        As `fitprofile.stages.job.deviations` names it, or ``lean``.
    measured, target, difference : float
        Measured is the mean where several readings were taken; difference is measured less target.
        A lever's target is its own arm's slope: as measured, else as wished.
    tolerance : float
        ``nan`` where the number has none.
    inside : bool or None
        ``None`` where there is no tolerance and no band, and of the tilt of clip-ons, which droop
        by design.
    give_or_take : float
        What the tape leaves open of the difference: k = 2, sitting down again included where the
        rider was on, of the mean of the readings. The wish is taken as it is, a forearm that was
        measured as its own tape has it.
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
    brings. ``missing`` names in words what is wished and was not measured, so that nothing is said
    of it. ``pedals_left`` are moves of the pedals by name, mm, for a standing use; ``None`` for a
    seated one. ``fitted`` names the parts that the log says were fitted since the bike was taped;
    ``None`` where it does not say.
    """

    transfer: Transfer
    use: str
    entry: Entry
    numbers: tuple[Held, ...]
    inside: bool
    left: Changes
    limits: tuple[Limit, ...]
    problems: tuple[Problem, ...]
    missing: tuple[str, ...] = ()
    pedals_left: Mapping[str, float] | None = None
    fitted: tuple[str, ...] | None = None


def verify(
    made: Transfer,
    entry: Entry,
    shop: Shop,
    fitted: tuple[str, ...] | None = None,
    unknown: str = "",
) -> Verification:
    """Hold an entry taken after the work against the target.

    Parameters
    ----------
    made : Transfer
        To this bike as its file has it, for the same use, calibrated without this entry: a number
        held against a target that it helped to make would look better than it is.
    entry : Entry
    shop : Shop
        Spreads of readings that carry none.
    fitted : tuple of str, optional
        Names of the parts that were fitted since the bike was taped; the transfer's job is then on
        the bike with them (`fitprofile.stages.as_fitted.with_fitted`).
    unknown : str
        Why the parts are not known where they were named.

    Notes
    -----
    A number is judged as it is printed, in whole mm and degrees.
    """
    told, problems = readings(made, entry, shop)
    seen = {name: tolerance + UNSEEN for name, tolerance in made.job.tolerances.items()}
    judged = evolve(made, job=evolve(made.job, tolerances=seen))
    numbers = tuple(_numbers(judged, told, entry))
    missing = _missing(made, told, entry)
    left, limits, doubts = _left(judged, told, entry, parts_known=fitted is not None)
    inside = all(one.inside is not False for one in numbers)
    doubts += unknown_work(made, entry, fitted, unknown, inside=inside)
    if missing:
        text = f"not measured after the work, so nothing is said of: {', '.join(missing)}"
        doubts += (Problem(text, None, log_file(made.rider), entry.line, NOTE),)
    return Verification(
        transfer=made,
        use=made.use,
        entry=entry,
        numbers=numbers,
        inside=inside,
        left=left,
        limits=limits,
        problems=(*problems, *readings_apart(made.rider, entry, shop), *doubts),
        missing=missing,
        fitted=fitted,
    )


def unknown_work(
    made: Transfer, entry: Entry, fitted: tuple[str, ...] | None, unknown: str, *, inside: bool
) -> tuple[Problem, ...]:
    """That the bike was taped again since, or that what is left takes its own parts for granted."""
    file = log_file(made.rider)
    if entry.date[:10] < (made.bike.date or ""):
        text = OUTDATED.format(made.bike.file, made.bike.date)
        return (Problem(text, "date", file, entry.line, WARNING),)
    if fitted is None and not inside:
        return (Problem(unknown or PARTS_UNKNOWN, "fitted", file, entry.line, NOTE),)
    return ()


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
            apart = bool(arm_apart(made.target, side))
            seen = of_one_arm(entry.lever_angle, side, apart=apart)
            rows.append((f"lever_angle.{side}", seen, "lever_angle", again))
            if entry.lever_angle is not None and rows[-1][1] is None:
                problems += (Problem(OF_NO_ARM.format(side), "lever_angle", file, level=NOTE),)
    rows.append(("knee_angle", entry.knee_angle, "knee_angle", again))
    rows += [
        (f"lever_reach.{side}", getattr(entry, f"lever_reach_{side}"), "lever_reach", 0.0)
        for side in SIDES
    ]
    rows += [(name, getattr(entry, name), name, 0.0) for name in ("grip_tilt", "grip_sweep")]
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


def of_one_arm(seen: Reading | None, side: str, *, apart: bool) -> Reading | None:
    """One lever's angle out of a reading that names no lever, ``None`` where it says nothing.

    ``apart``: the arms are wished differently.
    """
    if seen is not None and seen.sides is not None:
        own: float = getattr(Sides.of_hands(*seen.sides), side)
        return evolve(seen, value=own, count=1, sides=None)
    return None if apart else seen


def _of(numbers: Numbers, name: str) -> float:
    """One number by its name in `Held`."""
    part, _, side = name.partition(".")
    length = part in ("bar_width", "navel_to_bar", "lever_reach")
    value = getattr(numbers, f"{part}_{'mm' if length else 'deg'}")
    return float(getattr(value, side) if side else value)


def _numbers(made: Transfer, told: Mapping[str, Reported], entry: Entry) -> Iterator[Held]:
    """What was measured and is wished.

    A lever is held against its own arm as measured, which leaves the tape of both open; where one
    reading is said of both there is only that one.
    """
    forearm = told.get("forearm_angle")
    line = in_line(made.target, forearm_shown(made.job, told))
    for name, seen in told.items():
        part, _, side = name.partition(".")
        target, doubt = _of(made.target, name), 0.0
        if part == "lever_angle":
            target = float(getattr(line, side))
            own = entry.lever_angle is None or getattr(entry, f"lever_angle_{side}") is not None
            doubt = forearm.sd if forearm is not None and own else 0.0
        if np.isfinite(target):
            tolerance = made.tolerances.get(part, np.nan)
            yield _held(made.job, name, seen, target, doubt, tolerance)


def _held(
    job: Job, name: str, seen: Reported, target: float, doubt: float, tolerance: float
) -> Held:
    """One number; ``doubt`` is the standard deviation of what it is held against.

    ``tolerance`` is the one that is shown, the job's are those that it is judged by.
    """
    measured = float(seen.value)
    difference, give = measured - target, COVERAGE * float(np.hypot(seen.sd, doubt))
    inside: bool | None = None
    band = job.limits.lean
    if name == "lean":
        inside = None if band is None else band[0] <= measured <= band[1]
    elif not (name == "grip_tilt" and job.clip_on):
        inside = within(job, name, difference)
    return Held(
        number=name,
        measured=measured,
        target=target,
        difference=difference,
        tolerance=tolerance,
        inside=inside,
        give_or_take=give,
        explained=abs(difference) <= give,
    )


def _missing(made: Transfer, told: Mapping[str, Reported], entry: Entry) -> tuple[str, ...]:
    """What is wished and was not measured, in words; of the bar's place one number is enough.

    A lever angle of no side that says nothing of either lever is a note of its own.
    """
    placed = any(name in told for name in PLACING)
    found = [
        words
        for name, words in WORDS.items()
        if name not in told and not (placed and name in PLACING)
    ]
    for part, (both, each) in LEVER_WORDS.items():
        if part == "lever_angle" and entry.lever_angle is not None:
            continue
        here = [side for side in SIDES if getattr(made.bike.levers, side) is not None]
        here = [side for side in here if np.isfinite(_of(made.target, f"{part}.{side}"))]
        bare = [side for side in here if f"{part}.{side}" not in told]
        found += [both] if len(bare) == len(SIDES) else [each.format(side) for side in bare]
    return tuple(found)


def _left(
    made: Transfer, told: Mapping[str, Reported], entry: Entry, *, parts_known: bool
) -> tuple[Changes, tuple[Limit, ...], tuple[Problem, ...]]:
    """Changes from the bike as it now is, which of them it does not allow, what they suppose."""
    job = made.job
    now, stands = as_it_is(job, told, parts_known=parts_known)
    left = left_to_do(job, now, told, stands=stands, parts_known=parts_known)
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
    for side, turn in freed_pins(job, told).items():
        text = FREED.format(side, abs(turn))
        problems.append(Problem(text, f"lever_angle_{side}", file, entry.line, NOTE))
    rolled = rolled_too_far(job, told)
    if rolled:
        rolled += "" if parts_known else OR_NEW_BAR
        problems.append(Problem(rolled, "grip_tilt", file, entry.line, WARNING))
    return left, limits_left(job, now, left, told), tuple(problems)
