"""Stage 11e: a standing measurement after the work, held against the standing target.

Everything counts from the top of the peg, so the bike as it now is needs no body: the grips stand
where they were measured to. What was not measured counts as wished where another hangs on it, as in
`fitprofile.stages.verify`. Hip-to-grip and lean are shown and not judged: whether the hands let go
without falling is the rider's own test, and ``felt_right`` says how it came out.
"""

from __future__ import annotations

from collections.abc import Mapping

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
from fitprofile.stages.limits import Limit, bands_left, beyond_bands
from fitprofile.stages.moves import Changes
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import Sides
from fitprofile.stages.repeats import SAT
from fitprofile.stages.siton import COVERAGE, Reported, reported
from fitprofile.stages.standing import PEDALS, StandingNumbers, Stood
from fitprofile.stages.standing_moves import StandingChanges, standing_exact
from fitprofile.stages.standing_wish import NUMBERS
from fitprofile.stages.survey import BikePoints
from fitprofile.stages.verify import Held, Verification
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
    "lever_angle": "lever angle",
    "brake_pedal": "brake pedal",
    "gear_lever": "gear lever",
}
"""Numbers that something is left to say of, in words."""

PLACING = ("grip_above_peg", "grip_ahead_of_peg")
"""Numbers that place the bar together."""


def verify_standing(
    made: Transfer,
    one: Stood,
    entry: Entry,
    shop: Shop,
    fitted: tuple[str, ...] | None = None,
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
    fitted : tuple of str, optional
        Names of the parts that the transfer's job has fitted, as in `fitprofile.stages.verify`.
    """
    spread = {name: pair[HELP.index(entry.tape)] for name, pair in shop.spreads.items()}
    told = _told(made, entry, spread)
    numbers = tuple(
        _held(one, name, told[name], target)
        for name in ORDER
        if name in told and np.isfinite(target := _of(one.target, name))
    )
    left, limits, doubts = _left(made.job, one, told)
    file = log_file(made.rider)
    problems = readings_apart(made.rider, entry, shop)
    return Verification(
        transfer=made,
        use=one.use,
        entry=entry,
        numbers=numbers,
        inside=all(number.inside is not False for number in numbers),
        left=left.bar,
        limits=limits,
        problems=(*problems, *(evolve(p, file=file, line=entry.line) for p in doubts)),
        missing=_missing(one, told, _levers(made.job.bike)),
        fitted=fitted,
        pedals_left={name: float(getattr(left, f"{name}_mm")) for name in PEDALS},
    )


def _told(made: Transfer, entry: Entry, spread: Mapping[str, float]) -> dict[str, Reported]:
    """What was measured, by number, with the spread of its mean.

    A lever angle said of no side is that of every lever of the bike, in line with the forearm.
    """
    found: dict[str, Reported] = {}
    for name in NUMBERS:
        reading: Reading | None = getattr(entry, name)
        if reading is None:
            continue
        row, again = SAT[name]
        seen = reported(reading, spread[row], spread[again] if again else 0.0)
        if name != "lever_angle":
            found[name] = seen
            continue
        found |= {f"lever_angle.{side}": seen for side in _levers(made.bike)}
    for side in SIDES:
        own: Reading | None = getattr(entry, f"lever_angle_{side}")
        if own is not None:
            found[f"lever_angle.{side}"] = reported(own, spread["lever_angle"], 0.0)
    return found


def _levers(bike: Bike) -> tuple[str, ...]:
    """Sides on which the bike has a lever."""
    return tuple(side for side in SIDES if getattr(bike.levers, side) is not None)


def _of(numbers: StandingNumbers, name: str) -> float:
    """One number by its name in `ORDER`."""
    part, _, side = name.partition(".")
    angle = part in ("lever_angle", "lean")
    value = getattr(numbers, f"{part}_{'deg' if angle else 'mm'}")
    return float(getattr(value, side) if side else value)


def _held(one: Stood, name: str, seen: Reported, target: float) -> Held:
    """One number."""
    measured = float(seen.value)
    difference, give = measured - target, COVERAGE * seen.sd
    tolerance = one.tolerances.get(name.partition(".")[0], np.nan)
    return Held(
        number=name,
        measured=measured,
        target=target,
        difference=difference,
        tolerance=tolerance,
        inside=abs(difference) <= tolerance if np.isfinite(tolerance) else None,
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
) -> tuple[StandingChanges, tuple[Limit, ...], tuple[Problem, ...]]:
    """Exact changes from the bike as it now is, which it does not allow, what they suppose."""
    now = _as_it_is(job, one, told)
    left = standing_exact(one, job.bike, now.points, job.rake, now.levers, clip_on=job.clip_on)
    left = _only_measured(left, told)
    width = 2.0 * float(now.points.grip_end.y)
    limits = beyond_bands(bands_left(job.bike, now.done.bar), left.bar, width)
    return left, limits, tuple(_doubts(one, told, _levers(job.bike)))


def _doubts(one: Stood, told: Mapping[str, Reported], levers: tuple[str, ...]) -> list[Problem]:
    """What is left says nothing of, and what it takes for granted."""
    placed = any(name in told for name in PLACING)
    found = []
    for name in PLACING:
        if placed and name not in told:
            text = (
                f"{WORDS[name]} was not measured, so what is left takes it as wished; measure it "
                f"to be sure"
            )
            found.append(Problem(text, name, level=NOTE))
    missing = _missing(one, told, levers)
    if missing:
        text = f"not measured after the work, so nothing is said of: {', '.join(missing)}"
        found.append(Problem(text, level=NOTE))
    return found


def _missing(one: Stood, told: Mapping[str, Reported], levers: tuple[str, ...]) -> tuple[str, ...]:
    """What is wished and was not measured, in words; of the bar's place one number is enough."""
    placed = any(name in told for name in PLACING)
    here = {f"lever_angle.{side}" for side in levers}
    wished = {
        name
        for name in ORDER
        if np.isfinite(_of(one.target, name)) and ("." not in name or name in here)
    }
    return tuple(
        words
        for name, words in WORDS.items()
        if not (placed and name in PLACING)
        and any(part.partition(".")[0] == name and part not in told for part in wished)
    )


def _only_measured(left: StandingChanges, told: Mapping[str, Reported]) -> StandingChanges:
    """Changes without those that no measured number speaks of."""
    none = np.nan
    bar: Changes = evolve(left.bar, bar_roll_deg=none, clip_turn_deg=none)
    if "bar_width" not in told:
        bar = evolve(bar, bar_width_change_mm=none, grip_slide_mm=none)
    if not any(name in told for name in PLACING):
        bar = evolve(
            bar,
            riser_height_mm=none,
            riser_pullback_mm=none,
            clip_slide_mm=none,
            clip_offset_mm=none,
        )
    pedals = {f"{name}_mm": none for name in PEDALS if name not in told}
    return evolve(left, bar=bar, **pedals)
