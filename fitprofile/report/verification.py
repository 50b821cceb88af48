"""The measurement after the work as plain text and as plain dicts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isfinite
from textwrap import wrap

from fitprofile.errors import NOTE
from fitprofile.report.logbook import entry_record
from fitprofile.report.record import Record, plain, problem_records
from fitprofile.report.terminal import NARROWEST, WIDTH, problem_lines, table
from fitprofile.report.wording import CHANGES, DEG, MM, NUMBERS, figure, half_width, inches, whole
from fitprofile.stages.verify import Held, Verification

INSIDE = "inside"
AGAIN = "measure again"
CHANGE = "change it"
VERDICTS: Mapping[str, str] = {
    AGAIN: "measure again: outside its tolerance, but no further than the tape explains",
    CHANGE: "change it: outside its tolerance by more than the tape explains",
}
"""What a verdict means, printed where it was given."""

ANSWERS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("peg_move.x", "peg_move_mm.x", ("knee_angle",)),
    ("peg_move.z", "peg_move_mm.z", ("knee_angle",)),
    ("bar_width_change", "bar_width_change_mm", ("bar_width",)),
    ("riser_height", "riser_height_mm", ("navel_to_bar", "forearm_angle")),
    ("riser_pullback", "riser_pullback_mm", ("navel_to_bar", "forearm_angle")),
    ("clip_slide", "clip_slide_mm", ("navel_to_bar", "forearm_angle")),
    ("clip_offset", "clip_offset_mm", ("navel_to_bar", "forearm_angle")),
    ("bar_roll", "bar_roll_deg", ("grip_tilt",)),
    ("lever_rotation.brake", "lever_rotation_deg.brake", ("lever_angle.brake",)),
    ("lever_rotation.clutch", "lever_rotation_deg.clutch", ("lever_angle.clutch",)),
    ("lever_reach_change.brake", "lever_reach_change_mm.brake", ("lever_reach.brake",)),
    ("lever_reach_change.clutch", "lever_reach_change_mm.clutch", ("lever_reach.clutch",)),
)
"""Changes in the order of work: words' key, place in the exact changes, numbers it answers."""


def verification_record(verified: Verification) -> Record:
    """What ``verify --json`` prints; lengths in mm (``_mm``), angles in degrees (``_deg``).

    ``left`` has the keys of ``exact``; a number that does not exist is ``None``.
    """
    made = verified.transfer
    return {
        "rider": made.rider.key,
        "bike": made.bike.key,
        "use": made.use,
        "rider_name": made.rider.name,
        "bike_name": made.bike.name,
        "entry": entry_record(verified.entry),
        "numbers": [plain(one) for one in verified.numbers],
        "inside": verified.inside,
        "left": plain(verified.left),
        "problems": problem_records((*made.problems, *verified.problems)),
    }


def verification_text(verified: Verification, width: int = WIDTH) -> str:
    """Each number measured, wished and what the tape says to it; then what is left to change.

    ``width`` is that of the terminal in columns: where the table does not fit, each number has a
    line of its own.
    """
    made, entry = verified.transfer, verified.entry
    day = entry.date.replace("T", " ")
    head = f"{made.rider.name} on {made.bike.name}, {made.use}, after the work, {day}"
    verdicts = {_verdict(one) for one in verified.numbers}
    told = (p for p in (*made.problems, *verified.problems) if p.level != NOTE)
    own_notes = (p for p in verified.problems if p.level == NOTE)
    lines = [
        *_wrapped(head, width),
        "",
        *_numbers(verified, width),
        "",
        *(line for key in VERDICTS if key in verdicts for line in _wrapped(VERDICTS[key], width)),
        *_left(verified, width),
        *problem_lines((*told, *own_notes), width),
    ]
    return "\n".join(lines) + "\n"


def _numbers(verified: Verification, width: int) -> Iterator[str]:
    """The table, or where it is too wide a line a number."""
    rows = [_row(one) for one in verified.numbers]
    head = ("", "measured", "wished", "off", "tape", "")
    lines = list(table(head, rows))
    if max(len(line) for line in lines) <= max(width, NARROWEST):
        yield from lines
        return
    for words, measured, wished, off, tape, verdict in rows:
        line = f"{words}: {measured}, wished {wished}, off {off} {tape}: {verdict}"
        yield from _wrapped(line, width)


def _row(one: Held) -> tuple[str, ...]:
    words, unit = NUMBERS[one.number]
    return (
        words,
        figure(one.measured, unit),
        figure(one.target, unit),
        figure(one.difference, unit, signed=True),
        half_width(one.give_or_take, unit),
        _verdict(one),
    )


def _verdict(one: Held) -> str:
    """What to do about a number."""
    if one.inside is None:
        return ""
    if one.inside:
        return INSIDE
    return AGAIN if one.explained else CHANGE


def _left(verified: Verification, width: int) -> Iterator[str]:
    """Changes that answer numbers outside their tolerance."""
    if not verified.numbers:
        yield from _wrapped("None of the numbers measured has a wish to be held against.", width)
        return
    if verified.inside:
        words = "Nothing is left to change: every measured number is inside its tolerance."
        yield from _wrapped(words, width)
        return
    verdict = {one.number: _verdict(one) for one in verified.numbers}
    record = plain(verified.left)
    yield "What is left to change:"
    for key, place, numbers in ANSWERS:
        why = {verdict.get(name) for name in numbers} & {AGAIN, CHANGE}
        value = _at(record, place)
        if not why or not isfinite(value) or whole(value) == 0:
            continue
        words, unit = CHANGES[key]
        inch = f" ({inches(value, signed=True)})" if unit == MM else ""
        first = "" if CHANGE in why else ", once measured again"
        line = f"{words} {figure(value, MM if unit == MM else DEG, signed=True)}{inch}{first}"
        yield from _wrapped(line, width, "  ")


def _at(record: Record, place: str) -> float:
    """A figure at a dotted place, ``nan`` where there is none."""
    found: object = record
    for part in place.split("."):
        found = found.get(part) if isinstance(found, dict) else None
    return float(found) if isinstance(found, int | float) else float("nan")


def _wrapped(words: str, width: int, first: str = "") -> list[str]:
    """Words in lines of a terminal's width."""
    return wrap(
        words,
        max(width, NARROWEST),
        initial_indent=first,
        subsequent_indent=f"{first}  ",
        break_on_hyphens=False,
    )
