"""Stage 11f: a standing measurement after the work, held against the standing target.

Everything counts from the top of the peg, so the bike as it now is needs no body: the grips stand
where they were measured to. What was not measured counts as wished where another hangs on it, as in
`fitprofile.stages.verify`, and as in `fitprofile.stages.left_to_do` a number inside its tolerance
is left alone and every other change is worked out for the bike as it then stands: the list can be
followed to the letter. Hip-to-grip and lean are shown and not judged: whether the hands let go
without falling is the rider's own test, and ``felt_right`` says how it came out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from attrs import evolve

from fitprofile.errors import NOTE, Problem
from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Bike
from fitprofile.model.log import Entry
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import HELP
from fitprofile.model.shop import Shop
from fitprofile.stages import moves
from fitprofile.stages.entries import log_file, readings_apart
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.limits import UNSEEN, Limit, bands_left, beyond_bands
from fitprofile.stages.moves import Changes
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import Sides
from fitprofile.stages.repeats import SAT
from fitprofile.stages.siton import COVERAGE, Reported, reported
from fitprofile.stages.standing import PEDALS, StandingNumbers, Stood
from fitprofile.stages.standing_moves import (
    PLACE,
    StandingChanges,
    standing_exact,
    standing_left,
)
from fitprofile.stages.standing_wish import NUMBERS
from fitprofile.stages.survey import BikePoints
from fitprofile.stages.verify import (
    LEVER_WORDS,
    OF_NO_ARM,
    Held,
    Verification,
    of_one_arm,
    unknown_work,
)
from fitprofile.values import frozen

ORDER = (
    *("grip_above_peg", "grip_ahead_of_peg", "bar_width"),
    *("lever_angle.brake", "lever_angle.clutch", "brake_pedal", "gear_lever"),
    *("hip_to_grip", "lean"),
)
"""Numbers in the order of a sheet."""

WORDS: Mapping[str, str] = {
    "grip_above_peg": "grips above the peg",
    "grip_ahead_of_peg": "grips ahead of the peg",
    "bar_width": "bar width",
    "brake_pedal": "brake pedal",
    "gear_lever": "gear lever",
}
"""Numbers that something is left to say of, in words."""


def verify_standing(
    made: Transfer,
    one: Stood,
    entry: Entry,
    shop: Shop,
    fitted: tuple[str, ...] | None = None,
    unknown: str = "",
) -> Verification:
    """Hold an entry of a standing use, taken after the work, against the standing target.

    Parameters
    ----------
    made : Transfer
        To this bike as its file has it, for any seated use, calibrated without this entry.
    one : Stood
        The standing use of the entry, without it as well.
    entry : Entry
    shop : Shop
        Spreads of readings that carry none.
    fitted, unknown
        Parts that the transfer's job has fitted, as in `fitprofile.stages.verify`.
    """
    spread = {name: pair[HELP.index(entry.tape)] for name, pair in shop.spreads.items()}
    shown = one.tolerances
    one = evolve(one, tolerances={name: value + UNSEEN for name, value in shown.items()})
    told, doubts = _told(made, one, entry, spread)
    numbers = tuple(
        _held(one, name, told[name], target, shown.get(name.partition(".")[0], np.nan))
        for name in ORDER
        if name in told and np.isfinite(target := _of(one.target, name))
    )
    left, limits = _left(made.job, one, told)
    missing = _missing(one, told, _levers(made.bike), entry)
    doubts += tuple(_doubts(told, missing))
    file = log_file(made.rider)
    problems = readings_apart(made.rider, entry, shop)
    inside = all(number.inside is not False for number in numbers)
    doubts += unknown_work(made, entry, fitted, unknown, inside=inside)
    return Verification(
        transfer=made,
        use=one.use,
        entry=entry,
        numbers=numbers,
        inside=inside,
        left=left.bar,
        limits=limits,
        problems=(*problems, *(evolve(p, file=file, line=entry.line) for p in doubts)),
        missing=missing,
        fitted=fitted,
        pedals_left={name: float(getattr(left, f"{name}_mm")) for name in PEDALS},
    )


def _told(
    made: Transfer, one: Stood, entry: Entry, spread: Mapping[str, float]
) -> tuple[dict[str, Reported], tuple[Problem, ...]]:
    """What was measured, by number, with the spread of its mean, and what says nothing.

    A lever angle said of no side is that of every lever of the bike, in line with the forearm.
    Where the arms are wished differently it is the mean of both, and says nothing of either lever.
    """
    found: dict[str, Reported] = {}
    problems: tuple[Problem, ...] = ()
    aim = one.target.lever_angle_deg
    apart = bool(np.abs(np.subtract(aim.brake, aim.clutch)) > 0.0)
    for name in NUMBERS:
        reading: Reading | None = getattr(entry, name)
        if reading is None:
            continue
        row, again = SAT[name]
        resit = spread[again] if again else 0.0
        if name != "lever_angle":
            found[name] = reported(reading, spread[row], resit)
            continue
        for side in _levers(made.bike):
            arm = of_one_arm(reading, side, apart=apart)
            if arm is not None:
                found[f"lever_angle.{side}"] = reported(arm, spread[row], resit)
            elif getattr(entry, f"lever_angle_{side}") is None:
                problems += (Problem(OF_NO_ARM.format(side), "lever_angle", level=NOTE),)
    for side in SIDES:
        own: Reading | None = getattr(entry, f"lever_angle_{side}")
        if own is not None:
            found[f"lever_angle.{side}"] = reported(own, spread["lever_angle"], 0.0)
    return found, problems


def _levers(bike: Bike) -> tuple[str, ...]:
    """Sides on which the bike has a lever."""
    return tuple(side for side in SIDES if getattr(bike.levers, side) is not None)


def _of(numbers: StandingNumbers, name: str) -> float:
    """One number by its name in `ORDER`."""
    part, _, side = name.partition(".")
    angle = part in ("lever_angle", "lean")
    value = getattr(numbers, f"{part}_{'deg' if angle else 'mm'}")
    return float(getattr(value, side) if side else value)


def _held(one: Stood, name: str, seen: Reported, target: float, tolerance: float) -> Held:
    """One number; ``tolerance`` is the one that is shown, the use's are those it is judged by."""
    measured = float(seen.value)
    difference, give = measured - target, COVERAGE * seen.sd
    allowed = one.tolerances.get(name.partition(".")[0], np.nan)
    return Held(
        number=name,
        measured=measured,
        target=target,
        difference=difference,
        tolerance=tolerance,
        inside=abs(difference) <= allowed if np.isfinite(allowed) else None,
        give_or_take=give,
        explained=abs(difference) <= give,
    )


@frozen
class _AsItIs:
    """The bike as it now is, and the work since it was taped."""

    done: StandingChanges
    points: BikePoints
    levers: Sides


def _as_it_is(job: Job, one: Stood, told: Mapping[str, Reported]) -> _AsItIs:
    """The bike as found with what was measured brought about; mm, degrees."""
    shown = _shown(one.target, told)
    read = job.now.lever_angle_deg
    done = standing_exact(
        evolve(one, target=shown), job.bike, job.points, job.rake, read, clip_on=job.clip_on
    )
    points = moves.done_to(job.points, done.bar, job.rake)
    pedals = {
        name: Vec(np.nan, np.nan, points.peg.z + told[name].value)
        for name in PEDALS
        if name in told
    }
    return _AsItIs(done, evolve(points, others={**points.others, **pedals}), shown.lever_angle_deg)


def _shown(target: StandingNumbers, told: Mapping[str, Reported]) -> StandingNumbers:
    """The numbers as they now are; not measured counts as wished, of a lever as not known."""

    def value(name: str) -> float:
        return float(told[name].value) if name in told else _of(target, name)

    levers = (
        float(told[name].value) if name in told else np.nan
        for name in (f"lever_angle.{side}" for side in SIDES)
    )
    return evolve(
        target,
        grip_above_peg_mm=value("grip_above_peg"),
        grip_ahead_of_peg_mm=value("grip_ahead_of_peg"),
        bar_width_mm=value("bar_width"),
        lever_angle_deg=Sides(*levers),
    )


def _left(
    job: Job, one: Stood, told: Mapping[str, Reported]
) -> tuple[StandingChanges, tuple[Limit, ...]]:
    """Changes from the bike as it now is, and which of them it does not allow."""
    now = _as_it_is(job, one, told)
    left = standing_left(one, job.bike, now.points, job.rake, now.levers, clip_on=job.clip_on)
    left = _only_measured(left, told)
    width = 2.0 * float(now.points.grip_end.y)
    beyond = beyond_bands(bands_left(job.bike, now.done.bar), left.bar, width)
    return left, tuple(limit for limit in beyond if limit.wanted != 0.0)


def _doubts(told: Mapping[str, Reported], missing: tuple[str, ...]) -> Iterator[Problem]:
    """What is left says nothing of, and what it takes for granted."""
    placed = any(name in told for name in PLACE)
    for name in PLACE:
        if placed and name not in told:
            text = (
                f"{WORDS[name]} was not measured, so what is left takes it as wished; measure it "
                f"to be sure"
            )
            yield Problem(text, name, level=NOTE)
    if missing:
        text = f"not measured after the work, so nothing is said of: {', '.join(missing)}"
        yield Problem(text, level=NOTE)


def _missing(
    one: Stood, told: Mapping[str, Reported], levers: tuple[str, ...], entry: Entry
) -> tuple[str, ...]:
    """What is wished and was not measured, in words; of the bar's place one number is enough.

    A lever angle of no side that says nothing of either lever is a note of its own.
    """
    placed = any(name in told for name in PLACE)
    found = [
        words
        for name, words in WORDS.items()
        if np.isfinite(_of(one.target, name))
        and name not in told
        and not (placed and name in PLACE)
    ]
    here = [side for side in levers if np.isfinite(_of(one.target, f"lever_angle.{side}"))]
    bare = [side for side in here if f"lever_angle.{side}" not in told]
    if bare and entry.lever_angle is None:
        both, each = LEVER_WORDS["lever_angle"]
        found += [both] if len(bare) == len(SIDES) else [each.format(side) for side in bare]
    return tuple(found)


def _only_measured(left: StandingChanges, told: Mapping[str, Reported]) -> StandingChanges:
    """Changes without those that no measured number speaks of."""
    none = np.nan
    bar: Changes = evolve(left.bar, bar_roll_deg=none, clip_turn_deg=none)
    if "bar_width" not in told:
        bar = evolve(bar, bar_width_change_mm=none, grip_slide_mm=none)
    if not any(name in told for name in PLACE):
        bar = evolve(
            bar,
            riser_height_mm=none,
            riser_pullback_mm=none,
            clip_slide_mm=none,
            clip_offset_mm=none,
        )
    pedals = {f"{name}_mm": none for name in PEDALS if name not in told}
    return evolve(left, bar=bar, **pedals)
