"""The job as a table: a row a step, with boxes to tick and to write the maker's torque in."""

from __future__ import annotations

from fitprofile.report.page import (
    BOX,
    FIGURE,
    TICK,
    Block,
    Cell,
    Heading,
    Paragraph,
    Row,
    Table,
    Text,
    flag,
    gap,
    small,
    strong,
    text,
)
from fitprofile.report.step import BEFORE, CLOSE, DRY, LAST, Move, Step
from fitprofile.report.trust import Notes, reference
from fitprofile.report.verdict import nothing_to_do
from fitprofile.report.wording import (
    ARROW,
    MM,
    bare,
    figure,
    half_width,
    inches,
)
from fitprofile.report.work import change_steps, steps
from fitprofile.stages.outcome import Transfer

LEADS = (BEFORE, DRY, CLOSE, LAST)
"""Phases whose first step is led in by their name; the others speak for themselves."""


def work_blocks(transfer: Transfer, notes: Notes) -> tuple[Block, ...]:
    """Heading and table; gaps point to the notes that say why."""
    if not change_steps(transfer):
        return (Heading("What to do"), Paragraph(text(strong(nothing_to_do(transfer))), "left"))
    rows: list[Row] = []
    phase = ""
    for number, step in enumerate(steps(transfer), start=1):
        rows.append(_step_row(step, number, notes, first=step.phase != phase))
        phase = step.phase
    return (
        Heading("What to do, in this order", "changes are the practical ones, exact ones beside"),
        Table(
            caption="Every change in the order of work",
            head=("", "", "What", "Seen as", "Change", "Exact", "Tool, caution", "Torque"),
            rows=tuple(rows),
            kind="work",
        ),
    )


def _step_row(step: Step, number: int, notes: Notes, *, first: bool) -> Row:
    tick, count = Cell(kind=TICK), Cell((text(str(number)),), FIGURE)
    if step.missing:
        reason = reference(notes, step.missing) or "see the notes"
        words = text(strong(step.what), ": ", gap(f"no figure, {reason}"))
        return Row((tick, count, Cell((words,), columns=6)), "missing", heads=False)
    if not step.moves:
        lead = strong(f"{step.phase}. ") if first and step.phase in LEADS else ""
        words = text(lead, step.what)
        return Row((tick, count, Cell((words,), columns=6)), "routine", heads=False)
    what = (
        text(strong(step.what)),
        text(small(step.hint)),
        text(flag(" ".join(step.remarks))),
    )
    return Row(
        (
            tick,
            count,
            Cell(what),
            Cell(tuple(line for move in step.moves for line in _seen(move)), FIGURE),
            Cell(tuple(line for move in step.moves for line in _change(move)), FIGURE),
            Cell(tuple(line for move in step.moves for line in _exact(move)), FIGURE),
            Cell((text(step.tool), text(small(step.caution)))),
            Cell(kind=BOX if step.torque else "nothing"),
        ),
        "change",
        heads=False,
    )


def _seen(move: Move) -> tuple[Text, ...]:
    span = f"{bare(move.start, move.seen_unit)} {ARROW} {bare(move.end, move.seen_unit)}"
    return (text(span), text(small(move.seen)))


def _change(move: Move) -> tuple[Text, ...]:
    shown = strong(figure(move.printed, move.unit, signed=True))
    beside = inches(move.change, signed=True) if move.unit == MM else ""
    return (text(shown, small(f"  {beside}" if beside else "")), text(small(move.words)))


def _exact(move: Move) -> tuple[Text, ...]:
    give = half_width(move.give, move.unit)
    return (
        text(figure(move.exact, move.unit, signed=True, give=move.give)),
        text(small(give or "\N{NO-BREAK SPACE}")),
    )
