"""The table of the rider's numbers: as found, wished, after, and room to measure again."""

from __future__ import annotations

from math import isfinite

from fitprofile.report.numbers import NumberRow, missing_because, number_rows
from fitprofile.report.page import (
    BOX,
    FIGURE,
    Block,
    Cell,
    Heading,
    Paragraph,
    Row,
    Span,
    Table,
    Text,
    flag,
    gap,
    small,
    strong,
    text,
)
from fitprofile.report.wording import (
    DEG,
    MM,
    figure,
    half_width,
    inches,
    tolerance,
)
from fitprofile.stages.job import deviations
from fitprofile.stages.outcome import Transfer

MARKS = {"measured": "M", "estimated": "E", "assumed": "A"}
"""Marks beside a figure as found; the sheet explains them."""


def number_blocks(transfer: Transfer) -> tuple[Block, ...]:
    """Heading, table, and the line that explains its marks."""
    rows = number_rows(transfer)
    off = deviations(transfer.target, transfer.practical.after)
    head = ("Number", "As found", "Wished", "After", "Off", "Measured again")
    made = [_number_row(transfer, row, off.get(row.key)) for row in rows]
    return (
        Heading("The rider's numbers", "give or take holds 19 times in 20"),
        Table(
            caption="The rider's numbers as found, wished and after, with room to measure again",
            head=head,
            rows=tuple(made),
            kind="numbers",
        ),
        Paragraph(
            text(small("M measured, E estimated through the body, A assumed. " + _room(transfer))),
        ),
    )


def _number_row(transfer: Transfer, row: NumberRow, off: float | None) -> Row:
    primary = "primary" if row.primary else "secondary"
    return Row(
        (
            Cell((text(row.words),)),
            _found_cell(transfer, row),
            _figure_cell(row.target, row.unit, "no wish"),
            _figure_cell(row.after, row.unit, missing_because(transfer, row.key)),
            _off_cell(row, off),
            Cell(kind=BOX),
        ),
        kind=f"{primary} missed" if row.missed else primary,
    )


def _found_cell(transfer: Transfer, row: NumberRow) -> Cell:
    if not isfinite(row.now):
        return Cell((text(gap(missing_because(transfer, row.key))),), FIGURE)
    give = half_width(row.give, row.unit)
    first = text(figure(row.now, row.unit, give=row.give), small(f" {MARKS[row.source]} {give}"))
    return Cell((first, *_inch_line(row.now, row.unit)), FIGURE)


def _figure_cell(value: float, unit: str, missing: str) -> Cell:
    if not isfinite(value):
        return Cell((text(gap(missing)),), FIGURE)
    return Cell((text(strong(figure(value, unit))), *_inch_line(value, unit)), FIGURE)


def _inch_line(value: float, unit: str) -> tuple[Text, ...]:
    return (text(small(inches(value))),) if unit == MM else ()


def _off_cell(row: NumberRow, off: float | None) -> Cell:
    if not isfinite(row.tolerance):
        return Cell((text(small("free")),), FIGURE)
    if off is None:
        return Cell((text(small("no wish") if isfinite(row.now) else gap("no figure")),), FIGURE)
    allowed = tolerance(row.tolerance, row.unit)
    if not isfinite(off):
        return Cell((text(gap("missed")),), FIGURE)
    shown = figure(off, row.unit, signed=True)
    if row.missed:
        outside = "just outside" if abs(off) < row.tolerance + 0.5 else "outside"
        first, beside = strong(shown), flag(f"{outside} {allowed}")
    elif abs(off) > row.tolerance:
        # Not missed all the same: a knee may open further, up to the rider's own limit.
        first, beside = Span(shown), small("fine")
    else:
        first, beside = Span(shown), small(f"of {allowed}")
    if row.unit == DEG:
        return Cell((text(first, " ", beside),), FIGURE)
    return Cell((text(first), text(beside)), FIGURE)


def _room(transfer: Transfer) -> str:
    """Room between calf and hamstring once done."""
    room = transfer.contact_after.room_deg
    if not (isfinite(room.ball) and isfinite(room.mid_foot)):
        return ""
    return (
        f"Calf clear of hamstring afterwards by {figure(float(room.ball), DEG)} at the ball of "
        f"the foot, {figure(float(room.mid_foot), DEG)} at mid-foot."
    )
