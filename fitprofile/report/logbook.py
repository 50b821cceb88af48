"""A rider's log as plain text and as plain dicts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from textwrap import wrap
from typing import Any

from fitprofile.model.log import AFTER, MEASURED, Entry
from fitprofile.model.quantity import Reading
from fitprofile.report.wording import DEG, MM, NUMBERS, STANDING, TAPES, figure, inches

_OWN: Mapping[str, tuple[str, str]] = {
    "navel_to_grip_ends": ("Navel to grip ends", MM),
    "lever_angle": ("Lever angle, in line", DEG),
    "hip_to_grip": ("Hip to grips", MM),
}
LABELS: Mapping[str, tuple[str, str]] = {
    key: _OWN.get(key)
    or NUMBERS.get(key.replace("_brake", ".brake").replace("_clutch", ".clutch"))
    or STANDING[key]
    for key in MEASURED
}
"""Words and unit of each measured number of an entry."""

REMARKS = ("gear", "done", "by", "notes")
NARROWEST = 40

Record = dict[str, Any]


def history_text(name: str, entries: Iterable[Entry], width: int) -> str:
    """A log as people read it, oldest first.

    Parameters
    ----------
    name : str
        The rider's name.
    entries : iterable of Entry
        In the order of the file.
    width : int
        Columns of the terminal; every line stays inside it, below 40 columns inside 40.
    """
    shown = list(entries)
    lines = wrap(f"{name}: {len(shown)} sit-on{'' if len(shown) == 1 else 's'}", _room(width))
    for entry in shown:
        lines += ["", *entry_lines(entry, width)]
    return "\n".join(lines)


def entry_lines(entry: Entry, width: int) -> list[str]:
    """One sit-on: when and on what, what was measured, what was said."""
    work = "after the work" if entry.when == AFTER else "before the work"
    head = f"{entry.date.replace('T', ' ')}: {entry.bike}, {entry.use}, {work}"
    felt = ", felt right" if entry.felt_right else ""
    lines = wrap(f"{head}{felt}; taped by {TAPES[entry.tape]}", _room(width))
    lines += _indented("; ".join(_measured(entry)), width)
    if entry.fitted is not None:
        lines += _indented(parts_of_the_work(entry.fitted), width)
    if entry.planned_lean is not None:
        lean = figure(entry.planned_lean.value, DEG)
        lines += _indented(f"lean that the plan asks for: {lean}", width)
    for key in REMARKS:
        said = getattr(entry, key)
        for at, part in enumerate((said or "").splitlines()):
            lines += _indented(f"{key}: {part}" if at == 0 else part, width)
    return lines


def parts_of_the_work(names: Sequence[str]) -> str:
    """Parts that were fitted or taken off, by their names."""
    return f"parts of the work: {'; '.join(names) or 'none'}"


def entry_record(entry: Entry) -> Record:
    """One sit-on for JSON.

    Returns
    -------
    dict
        Names end in ``_mm`` or ``_deg``; a measured number is ``{"value", "count"}``, its mean
        and how many readings that is of, with ``left`` and ``right`` where both sides were
        taped; the two tapes to the grip ends are a dict of ``left`` and ``right`` of these.
        ``None`` where it was not measured. ``fitted`` is a list of names, ``None`` where nothing
        was said of parts; ``planned_lean_deg`` is there where the plan asks for another lean than
        the rider's own.
    """
    measured: Record = {}
    for key in MEASURED:
        value = getattr(entry, key)
        if isinstance(value, tuple):
            sides = zip(("left", "right"), value, strict=True)
            measured[f"{key}_{LABELS[key][1]}"] = {side: _reading(one) for side, one in sides}
        else:
            measured[f"{key}_{LABELS[key][1]}"] = None if value is None else _reading(value)
    return {
        **{name: getattr(entry, name) for name in ("bike", "use", "date", "when", "felt_right")},
        **{name: getattr(entry, name) for name in ("tape", "foot")},
        **measured,
        "fitted": None if entry.fitted is None else list(entry.fitted),
        "planned_lean_deg": None if entry.planned_lean is None else entry.planned_lean.value,
        **{name: getattr(entry, name) for name in REMARKS},
        "line": entry.line,
    }


def _measured(entry: Entry) -> Iterator[str]:
    for key, (words, unit) in LABELS.items():
        value = getattr(entry, key)
        if isinstance(value, tuple):
            yield f"{words} {' and '.join(_shown(one, unit) for one in value)}"
        elif value is not None:
            yield f"{words} {_shown(value, unit)}"


def _shown(reading: Reading, unit: str) -> str:
    """A figure with inches beside it, and of how many readings it is the mean; or both sides'."""
    if reading.sides is not None:
        return ", ".join(
            f"{side} {figure(one, unit)}"
            for side, one in zip(("left", "right"), reading.sides, strict=True)
        )
    beside = [inches(reading.value)] if unit == MM else []
    beside += [f"{reading.count} readings"] if reading.count > 1 else []
    return figure(reading.value, unit) + (f" ({', '.join(beside)})" if beside else "")


def _reading(reading: Reading) -> Record:
    record: Record = {"value": reading.value, "count": reading.count}
    if reading.sides is not None:
        record |= {"left": reading.sides[0], "right": reading.sides[1]}
    return record


def _indented(words: str, width: int) -> list[str]:
    return wrap(words, _room(width), initial_indent="  ", subsequent_indent="    ")


def _room(width: int) -> int:
    return max(width, NARROWEST)
