"""How far to trust a sheet: what was measured, estimated, assumed, the chance, and the notes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from fitprofile.errors import ERROR, NOTE, WARNING, Problem
from fitprofile.model.rider import BODY
from fitprofile.report.page import Block, Heading, Items, Paragraph, Text, small, strong, text, user
from fitprofile.report.verdict import chance_parts
from fitprofile.report.wording import joined, words_of
from fitprofile.stages.complete import ASSUMED, ESTIMATED, MEASURED
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.survey import OK, SUSPECT, UNCHECKED

LEVELS: Mapping[str, str] = {ERROR: "Error", WARNING: "Warning", NOTE: "Note"}

Notes = tuple[Problem, ...]
"""Problems in the order in which a sheet numbers them: what stops work first."""


def ordered(problems: Iterable[Problem]) -> Notes:
    """Errors, then warnings, then notes; each told once."""
    rank = list(LEVELS)
    return tuple(sorted(dict.fromkeys(problems), key=lambda p: rank.index(p.level)))


def reference(notes: Notes, keys: Iterable[str | None]) -> str:
    """``see note 1``, ``see notes 1 and 3``: where the reason for a gap stands."""
    wanted = set(keys)
    found = [
        str(number)
        for number, problem in enumerate(notes, start=1)
        if problem.key in wanted and problem.level != NOTE
    ]
    found = found or [str(n) for n, problem in enumerate(notes, start=1) if problem.key in wanted]
    if not found:
        return ""
    return f"see note{'s' if len(found) > 1 else ''} {joined(found)}"


def note_items(notes: Notes) -> tuple[Text, ...]:
    """Notes as lines of a numbered list."""
    return tuple(
        text(strong(f"{LEVELS[one.level]}: "), user(one.text), small(_place(one))) for one in notes
    )


def _place(problem: Problem) -> str:
    """Where it was written, in brackets."""
    file = problem.file or ""
    if file and problem.line:
        file = f"{file}:{problem.line}"
    place = " ".join(part for part in (file, problem.key or "") if part)
    return f" ({place})" if place else ""


def chance_blocks(transfer: Transfer) -> tuple[Block, ...]:
    """The chance at the first try, and the measurement that matters most."""
    before, chance, behind = chance_parts(transfer)
    said = Paragraph(text(before, strong(chance), behind))
    if not transfer.matters_most:
        return (Heading("How far to trust it"), said)
    matters = text("The measurement that matters most: ", strong(transfer.matters_most), ".")
    return (Heading("How far to trust it"), said, Paragraph(matters))


def source_blocks(transfer: Transfer) -> tuple[Block, ...]:
    """Where everything on the sheet comes from."""
    return (
        Heading("Measured, estimated, assumed"),
        Items(items=_sources(transfer), kind="sources"),
    )


def _sources(transfer: Transfer) -> tuple[Text, ...]:
    body = transfer.body.measurements
    by_source = {
        source: joined([words_of(name) for name in BODY if body[name].source == source])
        for source in (MEASURED, ESTIMATED, ASSUMED)
    }
    taped = transfer.surveyed.observations
    of_status = {
        status: [one.key for one in taped if one.status == status]
        for status in (OK, ASSUMED, SUSPECT, UNCHECKED)
    }
    assumed = _grouped(of_status[ASSUMED])
    if transfer.surveyed.rake.assumed:
        assumed = joined([part for part in (assumed, "rake") if part])
    lines = (
        ("Body, measured: ", by_source[MEASURED]),
        ("Body, estimated from those: ", by_source[ESTIMATED]),
        ("Body, assumed: ", by_source[ASSUMED]),
        ("Bike, measured and checked by other tapes: ", _grouped(of_status[OK])),
        ("Bike, measured, checked by no other tape: ", _grouped(of_status[UNCHECKED])),
        ("Bike, contradicted by other tapes: ", _grouped(of_status[SUSPECT])),
        ("Bike, assumed: ", assumed),
    )
    return tuple(text(strong(words), f"{names}.") for words, names in lines if names)


def _grouped(keys: Iterable[str]) -> str:
    """Observations by table: ``heights (seat, peg)``."""
    tables: dict[str, list[str]] = {}
    for key in keys:
        table, _, name = key.partition(".")
        tables.setdefault(table, []).append(name.replace("-", " to ").replace("_", " "))
    return joined([f"{table} ({', '.join(names)})" for table, names in tables.items()])
