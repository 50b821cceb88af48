"""Stage 4c: entries of the rider's log as sit-ons, and where they contradict a bike's survey.

Which entry speaks of which state of a bike: work lies before every ``after`` entry, so the entries
of a bike, in the order of the log, stand in states 0, 1, 2 ..., one more with each ``after``. The
bike's file describes the state after the ``after`` entries that are older than its ``date``; of one
day both, the tape is taken to have come first, as a bike is measured, changed and sat on in one
day; without a date it describes the bike as found. Only an entry of that same state says anything
of the bike's points:

========== ============= ==========================================================
felt right file's state  counts as
========== ============= ==========================================================
yes        yes           wish, body and the bike's seat-to-bar vector
yes        no            wish alone: where its grips stood nobody taped
no         yes           body and the bike's seat-to-bar vector, not the wish
no         no            nothing here; `fitprofile.stages.verify` holds it against the target
========== ============= ==========================================================
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from attrs import evolve

from fitprofile.errors import NOTE, WARNING, Problem, has_errors
from fitprofile.geometry.vectors import Floats, elevation, norm, rearward
from fitprofile.model.bike import Bike
from fitprofile.model.log import AFTER, Entry
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import HELP, MID_FOOT, Rider
from fitprofile.model.shop import Shop
from fitprofile.stages.evidence import Evidence, row_origins
from fitprofile.stages.repeats import contradictions_sat
from fitprofile.stages.siton import (
    BAR_FIGURES,
    MISSING,
    MOVED,
    Reported,
    SitOn,
    bar_felt,
    distance_of,
    reported,
    seat_to_bar_gain,
)
from fitprofile.stages.survey import Surveyed, survey
from fitprofile.stages.targets import lever_reach, lever_reach_sd

BLUNDER = 3.29
"""Normalised difference that one sound reading in a thousand exceeds (Baarda 1968, alpha 0.001)."""

FIGURES: Mapping[str, tuple[str, str]] = {
    "bar_width": ("bar width", "mm"),
    "grip_above_peg": ("place of the grips above the peg", "mm"),
    "grip_ahead_of_peg": ("place of the grips ahead of the peg", "mm"),
    "grip_tilt": ("grip tilt", "degrees"),
    "grip_sweep": ("grip sweep", "degrees"),
    "lever_angle_brake": ("brake lever angle", "degrees"),
    "lever_angle_clutch": ("clutch lever angle", "degrees"),
    "lever_reach_brake": ("brake lever reach", "mm"),
    "lever_reach_clutch": ("clutch lever reach", "mm"),
}
"""The bike's own figures in an entry: words and unit."""

CHANGED = 'write when = "after" if the bike had been changed'
BETWEEN = "sit on it once more and record that if the bike was changed before it was taped again"
"""What else may be behind a figure that is not the bike's, before the work and after it."""

WORN: Mapping[str, str] = {
    "navel_to_bar": "navel-to-bar",
    "forearm_angle": "forearm angle",
    "knee_angle": "knee angle",
    "lean_seen": "lean",
}
"""What is measured with the rider on, by field of `SitOn`, in words."""


def log_file(rider: Rider) -> str:
    """The rider's log as people see it."""
    return f"{rider.file.removesuffix('.toml')}.log.toml"


def logged(
    rider: Rider,
    log: Sequence[Entry],
    cockpits: Sequence[SitOn],
    bikes: Mapping[str, Bike],
    surveys: dict[str, Surveyed],
    shop: Shop,
) -> tuple[tuple[SitOn, ...], tuple[Problem, ...]]:
    """Entries of the log that tell something of wish, body or bike.

    Parameters
    ----------
    log : sequence of Entry
        In the order of the file.
    cockpits : sequence of SitOn
        The profile's own; an entry needs the one of its use. Of an entry of a standing use only
        the bike's own figures are looked at here.
    bikes : mapping of str to Bike
        Those that could be read, by key.
    surveys : dict of str to Surveyed
        By key; bikes of used entries are added.

    Returns
    -------
    sit_ons : tuple of SitOn
    problems : tuple of Problem
        With the log's file and the entry's line.
    """
    uses = {sat.use: sat for sat in cockpits}
    places = states(log, bikes)
    made: list[SitOn] = []
    problems: list[Problem] = []
    for entry, current in zip(log, places, strict=True):
        standing = entry.use in rider.standing
        if entry.use not in uses and not standing:
            continue  # one that the store has named as unknown
        surveyed, found = _surveyed(rider, entry, bikes, surveys, shop)
        problems += found
        if surveyed is None and not entry.felt_right:
            continue
        if surveyed is not None and current:
            problems += contradictions(rider, entry, bikes[entry.bike], surveyed, shop)
        elif not entry.felt_right:
            problems += _outdated(rider, entry, bikes)
            continue
        if standing:  # `fitprofile.stages.standing_wish` has what felt right
            problems += readings_apart(rider, entry, shop)
            continue
        sat, found = _sit_on(rider, entry, surveyed if current else None, shop)
        problems += found
        if sat is not None:
            made.append(sat)
    return tuple(made), tuple(problems)


def states(log: Sequence[Entry], bikes: Mapping[str, Bike]) -> tuple[bool, ...]:
    """For each entry, whether it was taken on its bike as the bike's file describes it."""
    work: dict[str, int] = {}
    found: list[bool] = []
    for entry in log:
        work[entry.bike] = work.get(entry.bike, 0) + (entry.when == AFTER)
        bike = bikes.get(entry.bike)
        taped = "" if bike is None or bike.date is None else bike.date
        done = sum(
            one.bike == entry.bike and one.when == AFTER and _day(one) < taped for one in log
        )
        found.append(work[entry.bike] == done)
    return tuple(found)


class Work(NamedTuple):
    """What a log says of the work on a bike since its file's state.

    Parameters
    ----------
    parts : tuple of str or None
        Names in the order of the log; ``None`` where no entry says anything of parts.
    lean_deg : float
        Lean that the plan carried out last asks for in the entry's use, degrees; ``nan``: the
        rider's own.
    """

    parts: tuple[str, ...] | None
    lean_deg: float


NO_WORK = Work(None, np.nan)
"""Nothing said of any."""


def work_since(log: Sequence[Entry], entry: Entry, bike: Bike) -> Work:
    """The work on an entry's bike between its file's state and the entry.

    Parameters
    ----------
    log : sequence of Entry
        In the order of the file, the entry among them.
    bike : Bike
        The entry's.
    """
    taped = bike.date or ""
    told = [
        one
        for one in log[: log.index(entry) + 1]
        if one.bike == entry.bike
        and one.when == AFTER
        and _day(one) >= taped
        and one.fitted is not None
    ]
    if not told:
        return NO_WORK
    leans = [one.planned_lean for one in told if one.use == entry.use]
    lean = leans[-1] if leans else None
    return Work(
        parts=tuple(name for one in told for name in one.fitted or ()),
        lean_deg=np.nan if lean is None else lean.value,
    )


def _day(entry: Entry) -> str:
    """Day of an entry, ``YYYY-MM-DD``."""
    return entry.date[:10]


def contradictions(
    rider: Rider, entry: Entry, bike: Bike, surveyed: Surveyed, shop: Shop
) -> Iterator[Problem]:
    """The bike's own figures taped in an entry, where they are not those of the bike's file."""
    for name, own in bike_figures(bike, surveyed, shop).items():
        reading: Reading | None = getattr(entry, name)
        if reading is None or not own.told():
            continue
        seen = reported(reading, _spread(shop, entry, _row(name)), 0.0)
        apart = seen.value - own.value
        if abs(apart) <= BLUNDER * np.hypot(seen.sd, own.sd):
            continue
        words, unit = FIGURES[name]
        changed = BETWEEN if entry.when == AFTER else CHANGED
        text = (
            f"{words} was taped as {seen.value:.0f} {unit} here, and {bike.file} has "
            f"{own.value:.0f}: {abs(apart):.0f} apart, more than tapes explain; tape it again, or "
            f"{changed}"
        )
        yield _said(rider, entry, name, text, WARNING)


def bike_figures(bike: Bike, surveyed: Surveyed, shop: Shop) -> dict[str, Reported]:
    """The bike's own figures by name of an entry's field, mm and degrees; `MISSING` where untaped.

    The spreads of tilt and sweep are those of the two ends of the grip against each other.
    """
    points, reach, reach_sd = surveyed.points, lever_reach(bike), lever_reach_sd(bike, shop)
    names = ("grip_end", "grip_inner", "peg")
    end, inner, peg = (3 * surveyed.names.index(name) for name in names)
    grip = points.grip_end.minus(points.grip_inner)
    place = points.grip_end.minus(points.peg)

    def apart_sd(one: int, other: int, by: Sequence[float] = (1.0,)) -> float:
        pick = np.zeros(len(surveyed.covariance))
        pick[one : one + len(by)], pick[other : other + len(by)] = by, np.negative(by)
        return float(np.sqrt(pick @ surveyed.covariance @ pick))

    tilt_sd = float(np.degrees(apart_sd(end + 2, inner + 2) / norm(grip)))
    flat = float(grip.x) ** 2 + float(grip.y) ** 2
    turning = (-float(grip.y) / flat, float(grip.x) / flat)
    sweep_sd = float(np.degrees(apart_sd(end, inner, turning)))
    found = {
        "bar_width": Reported(
            2.0 * float(points.grip_end.y),
            2.0 * float(np.sqrt(surveyed.covariance[end + 1, end + 1])),
        ),
        "grip_tilt": Reported(float(np.degrees(elevation(grip))), tilt_sd),
        "grip_sweep": Reported(float(np.degrees(rearward(grip))), sweep_sd),
        "grip_above_peg": Reported(float(place.z), apart_sd(end + 2, peg + 2)),
        "grip_ahead_of_peg": Reported(float(place.x), apart_sd(end, peg)),
    }
    for side in ("brake", "clutch"):
        angle = surveyed.lever_angle.get(side)
        found[f"lever_angle_{side}"] = MISSING if angle is None else Reported(angle.value, angle.sd)
        value = float(getattr(reach, side))
        found[f"lever_reach_{side}"] = (
            Reported(value, float(getattr(reach_sd, side))) if np.isfinite(value) else MISSING
        )
    return found


def outliers(rider: Rider, known: Evidence, normalised: Floats) -> tuple[Problem, ...]:
    """A warning for each figure of the log that the survey and the rider's other numbers refute.

    Parameters
    ----------
    normalised : (rows,) float
        As `fitprofile.stages.calibrate.normalised_misfits` has them: shown less observed.
    """
    found = []
    for (name, sat), size in zip(row_origins(known), normalised, strict=True):
        if sat is None or sat.entry is None or not abs(size) > BLUNDER:
            continue
        words = name.partition(" (")[0]
        part = "lean_seen" if words == "lean" else words.replace("-", "_").replace(" ", "_")
        value = float(getattr(sat, part).value)
        unit = "mm" if part == "navel_to_bar" else "degrees"
        text = (
            f"{words} {value:.0f} {unit} on {sat.entry.bike} is {abs(size):.1f} times its spread "
            f"too {'large' if size < 0.0 else 'small'} for the bike's tapes and the rider's other "
            f"numbers; sit down and measure it again, and if it stays so tape the seat and grip "
            f"ends of {sat.entry.bike} again"
        )
        found.append(_said(rider, sat.entry, part.removesuffix("_seen"), text, WARNING))
    return tuple(found)


def _sit_on(
    rider: Rider, entry: Entry, surveyed: Surveyed | None, shop: Shop
) -> tuple[SitOn | None, tuple[Problem, ...]]:
    """One entry as a sit-on; ``None`` where it says nothing of wish, body or bike.

    Where nothing was measured with the rider on, a bar that felt right still counts as a wish.

    ``lever_angle`` is that of a lever in line with the forearm, as in a cockpit, so it stands in
    for the forearm's; a lever that is not in line has a field of its own.
    """
    spread = {name: pair[HELP.index(entry.tape)] for name, pair in shop.spreads.items()}
    again = spread["resit_angle"]
    if entry.bar_width is not None:
        width = entry.bar_width.value
    elif surveyed is not None:
        width = 2.0 * float(surveyed.points.grip_end.y)
    else:
        width = rider.cockpits[entry.use].bar_width.value
    distance, problems = distance_of(entry, width, spread, "navel_to_grip_ends", log_file(rider))
    problems = tuple(
        evolve(one, line=entry.line, level=WARNING if has_errors((one,)) else one.level)
        for one in problems
    )
    problems += readings_apart(rider, entry, shop)

    def seen(reading: Reading | None, row: str) -> Reported:
        return MISSING if reading is None else reported(reading, spread[row], again)

    forearm = seen(entry.forearm_angle, "forearm_angle")
    if not forearm.told():
        forearm = seen(entry.lever_angle, "lever_angle")
    bar = bar_felt(entry, spread, {**shop.tolerances, **rider.tolerances})
    sat = SitOn(
        use=entry.use,
        bike=None if surveyed is None else entry.bike,
        navel_to_bar=distance or MISSING,
        forearm_angle=forearm,
        knee_angle=seen(entry.knee_angle, "knee_angle"),
        lean=MISSING,
        lean_seen=seen(entry.lean, "lean"),
        mid_foot=entry.foot == MID_FOOT,
        points=None if surveyed is None else surveyed.points,
        gain=None if surveyed is None else seat_to_bar_gain(surveyed, MOVED),
        felt_right=entry.felt_right,
        entry=entry,
        bar_width=bar["bar_width"],
        grip_tilt=bar["grip_tilt"],
        grip_sweep=bar["grip_sweep"],
    )
    if any(getattr(sat, name).told() for name in WORN):
        return sat, problems
    wished = sat.felt_right and any(getattr(sat, name).told() for name in BAR_FIGURES)
    return (evolve(sat, bike=None, points=None, gain=None) if wished else None), problems


def readings_apart(rider: Rider, entry: Entry, shop: Shop) -> tuple[Problem, ...]:
    """Repeated readings of an entry that contradict each other."""
    spread = {name: pair[HELP.index(entry.tape)] for name, pair in shop.spreads.items()}
    found = contradictions_sat(entry, spread, "", log_file(rider))
    return tuple(evolve(one, line=entry.line) for one in found)


def _surveyed(
    rider: Rider,
    entry: Entry,
    bikes: Mapping[str, Bike],
    surveys: dict[str, Surveyed],
    shop: Shop,
) -> tuple[Surveyed | None, tuple[Problem, ...]]:
    """Survey of an entry's bike, made once."""
    if entry.bike in surveys:
        return surveys[entry.bike], ()
    bike = bikes.get(entry.bike)
    if bike is None:
        text = f"bike '{entry.bike}' cannot be used, so this sit-on says nothing of it"
    else:
        surveyed, problems = survey(bike, shop)
        if surveyed is not None:
            surveys[entry.bike] = surveyed
            return surveyed, problems
        text = f"bike '{entry.bike}' is not taped well enough for this sit-on to say more of it"
    wish = "; it counts for the wish alone" if entry.felt_right else ""
    mend = f"; mend bikes/{entry.bike}.toml, or the name here"
    return None, (_said(rider, entry, "bike", f"{text}{wish}{mend}", WARNING),)


def _outdated(rider: Rider, entry: Entry, bikes: Mapping[str, Bike]) -> Iterator[Problem]:
    """An ``after`` entry on a bike whose file still has the state before the work."""
    if entry.when != AFTER:
        return
    if entry.fitted:
        text = (
            f"{'; '.join(entry.fitted)}: the work on {entry.bike} after it was taped, so plans, "
            f"lists and cards count from a bike that is no more; tape it again on a later day, "
            f"with its date and these parts under [fitted]"
        )
        yield _said(rider, entry, "fitted", text, WARNING)
        return
    text = (
        f"taken after {entry.bike} was changed, and {bikes[entry.bike].file} has it as before: it "
        f"counts for fitprofile verify alone; tape the bike again on a later day, with its date, "
        f"and {'stand on it' if entry.use in rider.standing else 'sit down'} once more"
    )
    yield _said(rider, entry, "when", text, NOTE)


def _said(rider: Rider, entry: Entry, key: str, text: str, level: str) -> Problem:
    """A problem at an entry's line."""
    return Problem(text, key, log_file(rider), entry.line, level)


def _spread(shop: Shop, entry: Entry, row: str) -> float:
    """Standard deviation of one reading as this entry's tape was held."""
    return shop.spreads[row][HELP.index(entry.tape)]


def _row(name: str) -> str:
    """Row of the table of spreads for one of `FIGURES`."""
    if name in {"grip_above_peg", "grip_ahead_of_peg"}:
        return "height" if name == "grip_above_peg" else "ahead"
    return name.removesuffix("_brake").removesuffix("_clutch")
