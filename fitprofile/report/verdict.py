"""What the work comes to: what stays outside tolerance, the chance, and what is read first."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from fitprofile.errors import NOTE, Problem
from fitprofile.report.numbers import NumberRow, number_rows
from fitprofile.report.wording import chance_words, figure
from fitprofile.stages.job import deviations, in_line, out_of_line
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.survey import SUSPECT
from fitprofile.stages.work_findings import STILL
from fitprofile.units import whole

ALL_WELL = "Nothing to change: every number is inside its tolerance."

MOST_NAMED = 4
"""Numbers outside that are named where the table beside marks them too."""

CALIBRATED = ("cockpit", "navel_to_bar")
"""Last words of a rider's keys under which a cockpit is said to contradict itself."""


def off_after(transfer: Transfer) -> dict[str, float]:
    """How far each number is off once the work is done; a lever, off its forearm as it will be."""
    after = transfer.practical.after
    return {**deviations(transfer.target, after), **out_of_line(transfer.target, after)}


def printed_off(transfer: Transfer, row: NumberRow) -> int:
    """How far a number is off, as the difference of the figures that are printed."""
    wished = row.target
    if row.key.startswith("lever_angle"):
        forearm = float(transfer.practical.after.forearm_angle_deg)
        side = row.key.partition(".")[2]
        own = float(getattr(in_line(transfer.target, forearm), side))
        wished = own if isfinite(own) else wished
    return whole(row.after) - whole(wished)


def outside(transfer: Transfer) -> str:
    """Numbers that stay outside tolerance, each with how far: ``lever angle, brake (+11°)``."""
    off = off_after(transfer)
    rows = {row.key: row for row in number_rows(transfer)}
    parts = []
    for key in transfer.practical.missed:
        row, away = rows[key], "out of reach"
        if isfinite(off[key]):
            away = figure(printed_off(transfer, row), row.unit, signed=True)
        parts.append(f"{row.words.lower()} ({away})")
    return "; ".join(parts)


def nothing_to_do(transfer: Transfer) -> str:
    """What is said in place of steps where there are none."""
    if not transfer.practical.missed:
        return ALL_WELL
    return (
        "Nothing can be done within what this bike allows; outside tolerance stay: "
        f"{outside(transfer)}."
    )


def chance_parts(transfer: Transfer) -> tuple[str, str, str]:
    """The chance at the first try: words before it, the chance itself, words behind it.

    Where a number stays outside there is no such chance, and the words say so.
    """
    chance = chance_words(transfer.chance)
    levers = transfer.bike.levers
    without = ""
    if levers.brake is None and levers.clutch is None:
        without = ", without the levers, which are not in the bike's file"
    if not transfer.practical.missed:
        lead = "Every number inside its tolerance at the first try, with the exact changes: "
        return lead, chance, f"{without}."
    many = len(transfer.practical.missed)
    stay = outside(transfer) if many <= MOST_NAMED else f"{many} numbers"
    lead = (
        f"With this work the bike does not come inside every tolerance (outside: {stay}). If all "
        "of it could be done exactly: "
    )
    return lead, chance, f"{without}."


def read_first(transfer: Transfer) -> tuple[Problem, ...]:
    """What stands before everything else: slips of the tape, hands that will not reach."""
    return tuple(
        problem
        for problem in dict.fromkeys(transfer.problems)
        if _contradicts(transfer, problem) or _still(transfer, problem)
    )


def first_lines(transfer: Transfer) -> Iterator[str]:
    """What is read first, as lines of a box under the header."""
    for problem in read_first(transfer):
        if _still(transfer, problem):
            yield f"{problem.text[:1].upper()}{problem.text[1:]}."
        else:
            yield f"Do not start: {problem.text}."


def _still(transfer: Transfer, problem: Problem) -> bool:
    """Whether a problem says that the hands do not reach even afterwards."""
    here = (problem.file, problem.key) == (transfer.bike.file, STILL)
    return here and not transfer.practical.after.reachable


DATE = "date"
"""Key of a record's date in a log."""


def _contradicts(transfer: Transfer, problem: Problem) -> bool:
    """Whether a problem says that measurements do not fit together."""
    if problem.level == NOTE:
        return False
    if problem.file == transfer.rider.file:
        return (problem.key or "").split(".")[-1] in CALIBRATED
    if problem.file != transfer.bike.file:
        # Neither the shop's shelves nor the clock of a record is a reason not to start.
        shelves = (problem.file or "").startswith("shared/")
        return problem.file is not None and not shelves and problem.key != DATE
    slips = {one.key for one in transfer.surveyed.observations if one.status == SUSPECT}
    return problem.key in slips
