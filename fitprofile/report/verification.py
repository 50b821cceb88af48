"""The measurement after the work as plain text and as plain dicts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isfinite
from textwrap import wrap

from fitprofile.errors import NOTE
from fitprofile.report.limit_words import limit_words
from fitprofile.report.logbook import entry_record, parts_of_the_work
from fitprofile.report.record import Record, plain, problem_records
from fitprofile.report.terminal import NARROWEST, WIDTH, problem_lines, table
from fitprofile.report.wording import (
    CHANGES,
    DEG,
    MM,
    NUMBERS,
    STANDING,
    figure,
    half_width,
    inches,
)
from fitprofile.stages.limits import beyond_usual
from fitprofile.stages.verify import Held, Verification
from fitprofile.units import whole

INSIDE = "inside"
AGAIN = "measure again"
CHANGE = "change it"
VERDICTS: Mapping[str, str] = {
    AGAIN: "measure again: outside its tolerance, but no further than the tape explains",
    CHANGE: "change it: outside its tolerance by more than the tape explains",
}
"""What a verdict means, printed where it was given."""

_BAR = ("navel_to_bar", "forearm_angle", "grip_above_peg", "grip_ahead_of_peg")
_GRIPS = ("bar_width", "grip_tilt")
ANSWERS: tuple[tuple[str, str, tuple[tuple[str, ...], ...]], ...] = (
    ("peg_move.x", "peg_move_mm.x", (("knee_angle",),)),
    ("peg_move.z", "peg_move_mm.z", (("knee_angle",),)),
    ("brake_pedal", "brake_pedal_mm", (("brake_pedal",),)),
    ("gear_lever", "gear_lever_mm", (("gear_lever",),)),
    ("bar_width_change", "bar_width_change_mm", (("bar_width",), _BAR)),
    ("riser_height", "riser_height_mm", (_BAR, _GRIPS)),
    ("riser_pullback", "riser_pullback_mm", (_BAR, _GRIPS)),
    ("clip_slide", "clip_slide_mm", (_BAR, _GRIPS)),
    ("clip_offset", "clip_offset_mm", (_BAR, _GRIPS)),
    ("bar_roll", "bar_roll_deg", (("grip_tilt",), _BAR)),
    *(
        (f"lever_rotation.{side}", f"lever_rotation_deg.{side}", asking)
        for side, asking in (
            ("brake", (("lever_angle.brake", *_BAR), _GRIPS)),
            ("clutch", (("lever_angle.clutch", *_BAR), _GRIPS)),
        )
    ),
    ("lever_reach_change.brake", "lever_reach_change_mm.brake", (("lever_reach.brake",),)),
    ("lever_reach_change.clutch", "lever_reach_change_mm.clutch", (("lever_reach.clutch",),)),
)
"""Changes in the order of work: words' key, place in the exact changes, and what asks for it.

The numbers that a change answers stand first, a lever's forearm among them. Where all of them are
inside, it makes up for a change that the next ones ask for.
"""

IN_LINE = "A lever is wished in line with the forearm as it was measured."

ALL_INSIDE = "Nothing is left to change: every measured number is inside its tolerance."
PART_INSIDE = (
    "Every measured number is inside its tolerance, so nothing is left to change of these. Not "
    "everything was measured: see below."
)
"""What is said where no measured number is outside: everything that is wished was measured, or not.
"""

NOT_ALLOWED = "What this bike does not allow of it, counted from the bike as it now stands:"
LEFT = "What is left to change:"

WIDER = "; only as far as the bar's tube reaches: one that was cut takes extenders or another bar"
"""What is said of grips that are to be slid outward."""

LETS_GO = "Balance, the rider's own test: the hands let go without falling."
UNTRIED = (
    "Balance is the rider's own test: let go of the bar for a moment, with somebody beside, and "
    "where nobody falls record it with --felt-right."
)
"""What is said of balance in a standing use: it felt right, or nobody said so."""

KEPT = (
    "It felt right as it is, so it has its say in the wish from now on, and nothing need be "
    "changed."
)
"""What is said where a position is off the target and the rider would keep it."""

AS_TAPED = "With the parts that the bike was taped with."
"""What is said where the work put no part on the bike."""


def verification_record(verified: Verification) -> Record:
    """What ``verify --json`` prints; lengths in mm (``_mm``), angles in degrees (``_deg``).

    ``left`` has the keys of ``exact``, and of a standing use those of both pedals; a number that
    does not exist is ``None``. ``limits`` are those of ``left``, counted from the bike as it now
    is. ``fitted`` names the parts that the log says were fitted since the bike was taped, ``None``
    where it does not say. ``not_measured`` names in words what is wished and was not measured.
    """
    made = verified.transfer
    return {
        "rider": made.rider.key,
        "bike": made.bike.key,
        "use": verified.use,
        "rider_name": made.rider.name,
        "bike_name": made.bike.name,
        "posture": "seated" if verified.pedals_left is None else "standing",
        "entry": entry_record(verified.entry),
        "fitted": None if verified.fitted is None else list(verified.fitted),
        "numbers": [plain(one) for one in verified.numbers],
        "inside": verified.inside,
        "left": left_record(verified),
        "limits": plain(verified.limits),
        "not_measured": list(verified.missing),
        "problems": problem_records((*made.problems, *verified.problems)),
    }


def left_record(verified: Verification) -> Record:
    """What is left to change by its keys, the pedals among them where the use is a standing one."""
    pedals = verified.pedals_left or {}
    moves = {f"{name}_mm": plain(value) for name, value in pedals.items()}
    return dict(plain(verified.left)) | moves


def verification_text(verified: Verification, width: int = WIDTH) -> str:
    """Each number measured, wished and what the tape says to it; then what is left to change.

    ``width`` is that of the terminal in columns: where the table does not fit, each number has a
    line of its own.
    """
    made, entry = verified.transfer, verified.entry
    day = entry.date.replace("T", " ")
    standing = verified.pedals_left is not None
    use = f"{verified.use}, standing" if standing else verified.use
    head = f"{made.rider.name} on {made.bike.name}, {use}, after the work, {day}"
    verdicts = {_verdict(one) for one in verified.numbers}
    told = (p for p in (*made.problems, *verified.problems) if p.level != NOTE)
    own_notes = (p for p in verified.problems if p.level == NOTE)
    lines = [
        *_wrapped(head, width),
        *_parts(verified, width),
        "",
        *_numbers(verified, width),
        "",
        *_in_line(verified, width),
        *(line for key in VERDICTS if key in verdicts for line in _wrapped(VERDICTS[key], width)),
        *(_wrapped(KEPT, width) if entry.felt_right and not verified.inside else ()),
        *_left(verified, width),
        *_limits(verified, width),
        *(_wrapped(LETS_GO if entry.felt_right else UNTRIED, width) if standing else ()),
        *problem_lines((*told, *own_notes), width),
    ]
    return "\n".join(lines) + "\n"


def _parts(verified: Verification, width: int) -> list[str]:
    """What the work put on the bike, where that is known, and the lean that belongs to it."""
    if verified.fitted is None:
        return []
    said = AS_TAPED
    if verified.fitted:
        said = f"With the {parts_of_the_work(verified.fitted)}."
    return _wrapped(said, width)


def _numbers(verified: Verification, width: int) -> Iterator[str]:
    """The table, or where it is too wide a line a number."""
    named = NUMBERS if verified.pedals_left is None else {**NUMBERS, **STANDING}
    rows = [_row(one, *named[one.number]) for one in verified.numbers]
    head = ("", "measured", "wished", "off", "tape", "")
    lines = list(table(head, rows))
    if max(len(line) for line in lines) <= max(width, NARROWEST):
        yield from lines
        return
    for words, measured, wished, off, tape, verdict in rows:
        line = f"{words}: {measured}, wished {wished}, off {off} {tape}: {verdict}"
        yield from _wrapped(line, width)


def _row(one: Held, words: str, unit: str) -> tuple[str, ...]:
    return (
        words,
        figure(one.measured, unit),
        figure(one.target, unit),
        figure(one.difference, unit, signed=True),
        half_width(one.give_or_take, unit),
        _verdict(one),
    )


def _in_line(verified: Verification, width: int) -> list[str]:
    """What a lever is held against, where that is not what is printed as wished of the forearm."""
    forearm = {one.number: one for one in verified.numbers}.get("forearm_angle")
    levers = any(one.number.startswith("lever_angle") for one in verified.numbers)
    if not levers or forearm is None or whole(forearm.measured) == whole(forearm.target):
        return []
    return _wrapped(IN_LINE, width)


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
        yield from _wrapped(PART_INSIDE if verified.missing else ALL_INSIDE, width)
        return
    changes = list(_changes(verified))
    head = "To come to the target all the same:" if verified.entry.felt_right else LEFT
    yield head if changes else "No change of figures brings what is outside."
    for key, value, first in changes:
        words, unit = CHANGES[key]
        inch = f" ({inches(value, signed=True)})" if unit == MM else ""
        line = f"{words} {figure(value, MM if unit == MM else DEG, signed=True)}{inch}"
        reach = WIDER if key == "bar_width_change" and value > 0.0 else ""
        yield from _wrapped(f"{line}{first or _usual(verified, key, value)}{reach}", width, "  ")


def _changes(verified: Verification) -> Iterator[tuple[str, float, str]]:
    """Changes that are left: words' key, mm or degrees, and whether to wait."""
    verdict = {one.number: _verdict(one) for one in verified.numbers}
    record = left_record(verified)
    for key, place, asking in ANSWERS:
        whys = ({verdict.get(name) for name in names} & {AGAIN, CHANGE} for names in asking)
        why = next(filter(None, whys), None)
        value = _at(record, place)
        if why and isfinite(value) and whole(value) != 0:
            yield key, value, "" if CHANGE in why else ", once measured again"


def _usual(verified: Verification, key: str, value: float) -> str:
    """That a change goes further than such changes do, where the bike's file sets no band."""
    what = key.partition(".")[0] if key.startswith("peg_move") else key
    usual = beyond_usual(verified.transfer.bike, what, value)
    return "" if usual is None else f"; beyond what is usual (to {figure(usual, CHANGES[key][1])})"


def _limits(verified: Verification, width: int) -> Iterator[str]:
    """What of the changes shown the bike does not allow, and what no change brings."""
    if verified.inside:
        return
    shown = {key for key, *_ in _changes(verified)}
    held = [one for one in verified.limits if one.what in shown or one.allowed is None]
    if not held:
        return
    yield from _wrapped(NOT_ALLOWED, width)
    for limit in held:
        yield from _wrapped(limit_words(None, limit).sentence, width, "  ")


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
