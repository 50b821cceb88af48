"""The table of the rider's numbers: as found, wished, after, and room to measure again."""

from __future__ import annotations

from math import isfinite

from fitprofile.model.quantity import Reading
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
from fitprofile.report.verdict import off_after, printed_off
from fitprofile.report.wording import (
    DEG,
    MM,
    figure,
    half_width,
    inches,
    tolerance,
    words_of,
)
from fitprofile.stages.findings import unlike_the_file
from fitprofile.stages.job import arm_apart
from fitprofile.stages.outcome import Transfer

MARKS = {"measured": "M", "estimated": "E", "assumed": "A"}
"""Marks beside a figure as found; the sheet explains them."""


def number_blocks(transfer: Transfer) -> tuple[Block, ...]:
    """Heading, table, and the line that explains its marks."""
    rows = number_rows(transfer)
    off = off_after(transfer)
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
        Paragraph(text(small(" ".join(filter(None, _under(transfer, rows)))))),
    )


def _under(transfer: Transfer, rows: tuple[NumberRow, ...]) -> tuple[str, ...]:
    """Lines below the table: its marks, what levers aim at, room behind the knee."""
    levers = any(row.key.startswith("lever_angle") and isfinite(row.now) for row in rows)
    return (
        "M measured, E estimated through the body, A assumed.",
        _aim(transfer) if levers else "",
        _written(transfer),
        _room(transfer),
    )


def _aim(transfer: Transfer) -> str:
    """What levers are set to."""
    right, left = (float(arm_apart(transfer.target, side)) for side in ("brake", "clutch"))
    said = "Levers are set to the forearm as it will be, not to the wish"
    if left == right:
        return f"{said}."
    own = ", ".join(
        f"{side} {figure(abs(apart), DEG)} {'steeper' if apart > 0.0 else 'flatter'}"
        for side, apart in (("left", left), ("right", right))
    )
    return f"{said}: each to its own arm, {own} than the mean of both that is shown."


def _written(transfer: Transfer) -> str:
    """What the rider's file says where the wish differs from it."""
    unlike = unlike_the_file(transfer)
    if not unlike:
        return ""
    told = ", ".join(f"{words_of(name)} {_as_written(transfer, name)}" for name in unlike)
    bike = transfer.cockpit.measured_on
    where = f" on {bike}" if bike else ""
    return f"Written in the file: {told}. Wished is what the calibrated body shows{where}."


def _as_written(transfer: Transfer, name: str) -> str:
    """A number of the cockpit as its file has it: of both sides, left and right."""
    reading: Reading = getattr(transfer.cockpit, name)
    unit = MM if name == "navel_to_bar" else DEG
    if reading.sides is None:
        return figure(reading.value, unit)
    left, right = (figure(side, unit) for side in reading.sides)
    return f"left {left} and right {right}"


def _number_row(transfer: Transfer, row: NumberRow, off: float | None) -> Row:
    primary = "primary" if row.primary else "secondary"
    return Row(
        (
            Cell((text(row.words),)),
            _found_cell(transfer, row),
            _figure_cell(row.target, row.unit, "no wish"),
            _figure_cell(row.after, row.unit, missing_because(transfer, row.key)),
            _off_cell(transfer, row, off),
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


def _off_cell(transfer: Transfer, row: NumberRow, off: float | None) -> Cell:
    if not isfinite(row.tolerance):
        return Cell((text(small("free")),), FIGURE)
    if off is None:
        return Cell((text(small("no wish") if isfinite(row.now) else gap("no figure")),), FIGURE)
    if not isfinite(off):
        return Cell((text(gap("missed")),), FIGURE)
    return Cell(_off_lines(row, off, printed_off(transfer, row)), FIGURE)


def _off_lines(row: NumberRow, off: float, printed: int) -> tuple[Text, ...]:
    if row.key.startswith("lever_angle"):
        return _off_the_forearm(row, off, printed)
    shown = figure(printed, row.unit, signed=True)
    if row.missed:
        return text(strong(shown)), text(_how_far_out(row, off))
    # Not missed and still further off: a knee may open up to the rider's own limit.
    fine = abs(off) > row.tolerance
    beside = small("fine" if fine else f"of {tolerance(row.tolerance, row.unit)}")
    return (text(shown, " ", beside),) if row.unit == DEG else (text(shown), text(beside))


def _off_the_forearm(row: NumberRow, off: float, printed: int) -> tuple[Text, ...]:
    """A lever aims at the forearm as it will be, so that is what it is held against."""
    away = f"{figure(abs(printed), row.unit)} off forearm"
    if row.missed:
        return text(strong(away)), text(_how_far_out(row, off))
    return text("in line"), *((text(small(away)),) if printed else ())


def _how_far_out(row: NumberRow, off: float) -> Span:
    just = "just " if abs(off) < row.tolerance + 0.5 else ""
    return flag(f"{just}outside {tolerance(row.tolerance, row.unit)}")


def _room(transfer: Transfer) -> str:
    """Room between calf and hamstring once done."""
    room = transfer.contact_after.room_deg
    if not (isfinite(room.ball) and isfinite(room.mid_foot)):
        return ""
    return (
        f"Calf clear of hamstring afterwards by {figure(float(room.ball), DEG)} at the ball of "
        f"the foot, {figure(float(room.mid_foot), DEG)} at mid-foot."
    )
