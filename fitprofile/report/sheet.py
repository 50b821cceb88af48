"""The transfer sheet: one rider, one bike, everything to do, on one or two pages."""

from __future__ import annotations

from math import isfinite

from fitprofile.report.as_found import found_blocks
from fitprofile.report.checks import CAUTIONS, CLIP_ON_CHECK, SIGNED, STOP_CHECKS
from fitprofile.report.dials import dials
from fitprofile.report.number_table import number_blocks
from fitprofile.report.numbers import number_rows
from fitprofile.report.page import (
    FIGURE,
    Block,
    Boxes,
    Cell,
    Columns,
    Heading,
    Items,
    Page,
    Paragraph,
    Row,
    Section,
    Table,
    Text,
    strong,
    text,
    user,
)
from fitprofile.report.plan import plan
from fitprofile.report.side import side
from fitprofile.report.trust import (
    Notes,
    chance_blocks,
    note_items,
    ordered,
    source_blocks,
)
from fitprofile.report.wording import (
    ARROW,
    MM,
    STATES,
    TAPES,
    figure,
    inches,
    named,
    tolerance,
    whole,
)
from fitprofile.report.work_table import work_blocks
from fitprofile.stages.limits import Limit
from fitprofile.stages.outcome import Transfer


def transfer_sheet(transfer: Transfer, date: str) -> Page:
    """The page of one transfer.

    Parameters
    ----------
    transfer : Transfer
        Its problems already looked up in the files.
    date : str
        Day of printing, as it is to be read.
    """
    notes = ordered(transfer.problems)
    return Page(
        title=f"Transfer sheet: {transfer.rider.name} {ARROW} {transfer.bike.name}",
        kind="Transfer sheet",
        heading=text(user(transfer.rider.name), f" {ARROW} ", user(transfer.bike.name)),
        facts=_facts(transfer),
        date=date,
        blocks=(
            Columns(
                (number_blocks(transfer), (plan(transfer), *chance_blocks(transfer))),
                "numbers-plan",
            ),
            *work_blocks(transfer, notes),
            *_left(transfer),
            *_limits(transfer),
            *_alternative(transfer),
            Columns(((side(transfer),), dials(transfer)), "side-dials"),
            Columns((found_blocks(transfer), source_blocks(transfer)), "halves"),
            *_notes(notes),
            *_stop(transfer),
        ),
    )


def _facts(transfer: Transfer) -> tuple[tuple[str, Text], ...]:
    bike, cockpit = transfer.bike, transfer.cockpit
    taped = f"{STATES[bike.state]}, {TAPES[bike.tape]}"
    when = text(user(bike.date), f", {taped}") if bike.date else text(f"day not written, {taped}")
    facts = [("Use", text(user(transfer.use))), ("Bike taped", when)]
    if bike.mileage:
        facts.append(("Mileage", text(user(bike.mileage))))
    source = (
        text("bike ", user(cockpit.measured_on)) if cockpit.measured_on else text("from memory")
    )
    facts.append(("Own cockpit measured on", source))
    if cockpit.gear:
        facts.append(("Gear", text(user(cockpit.gear))))
    return tuple(facts)


def _left(transfer: Transfer) -> tuple[Block, ...]:
    """Numbers left alone, with how far they are off and what is allowed."""
    rows = {row.key: row for row in number_rows(transfer)}
    left = [rows[key] for key in transfer.practical.leave if key in rows]
    if not left:
        return ()
    parts = []
    for row in left:
        away = abs(row.after - row.target)
        off = figure(away, row.unit)
        if away > row.tolerance:
            why = f"{off} more open, inside the rider's own limit"
        else:
            why = f"{off} off, {tolerance(row.tolerance, row.unit)} allowed"
        parts.append(f"{row.words.lower()} ({why})")
    return (Paragraph(text(strong("Left alone: "), f"{'; '.join(parts)}."), "left"),)


def _limits(transfer: Transfer) -> tuple[Block, ...]:
    if not transfer.limits:
        return ()
    return (
        Heading("What this bike does not allow"),
        Table(
            caption="Changes of the exact answer that lie outside what the bike allows",
            head=("Change", "Wanted", "Allowed", "Short by", "Why"),
            rows=tuple(_limit_row(limit) for limit in transfer.limits),
            kind="limits",
        ),
    )


def _limit_row(limit: Limit) -> Row:
    words, unit = named(limit.what)
    allowed = (
        text("no change does it")
        if limit.allowed is None
        else text(
            f"{figure(limit.allowed[0], unit, signed=True)} to "
            f"{figure(limit.allowed[1], unit, signed=True)}"
        )
    )
    why = limit.reason
    if limit.slot_length_mm is not None:
        why += f"; a slot {figure(limit.slot_length_mm, MM)} long would free it"
    return Row(
        (
            Cell((text(words),)),
            Cell((text(figure(limit.wanted, unit, signed=True)),), FIGURE),
            Cell((allowed,), FIGURE),
            Cell((text(strong(figure(limit.residual, unit, signed=True))),), FIGURE),
            Cell((text(why),)),
        )
    )


def _alternative(transfer: Transfer) -> tuple[Block, ...]:
    """Raising the seat in place of moving the pegs, with the bar that goes with it."""
    raised = transfer.practical.changes.with_seat_raise
    seat = float(raised.seat_raise_mm)
    if not isfinite(seat) or whole(seat) == 0:
        return ()
    pair = (
        (raised.clip_slide_mm, raised.clip_offset_mm)
        if transfer.clip_on
        else (raised.riser_height_mm, raised.riser_pullback_mm)
    )
    names = ("slide", "offset") if transfer.clip_on else ("riser", "pullback")
    bar = ", ".join(
        f"{name} {figure(float(value), MM, signed=True)} ({inches(float(value), signed=True)})"
        for name, value in zip(names, pair, strict=True)
    )
    return (
        Paragraph(
            text(
                strong("Instead of moving the pegs: "),
                f"seat {figure(seat, MM, signed=True)} ({inches(seat, signed=True)}), and then "
                f"{bar} from as found; pegs stay.",
            ),
            "left",
        ),
    )


def _notes(notes: Notes) -> tuple[Block, ...]:
    if not notes:
        return ()
    return (Section((Heading("Notes"), Items(items=note_items(notes), kind="numbered")), "notes"),)


def _stop(transfer: Transfer) -> tuple[Block, ...]:
    checks = (*STOP_CHECKS, CLIP_ON_CHECK) if transfer.clip_on else STOP_CHECKS
    return (
        Section(
            (
                Heading("Stop checks", "all ticked, or the bike is not ridden"),
                _in_halves(checks),
                Boxes(SIGNED),
            ),
            "stop",
        ),
        Section((Paragraph(text(" ".join(CAUTIONS))),), "cautions"),
    )


def _in_halves(checks: tuple[str, ...]) -> Columns:
    """Checks as a list in two columns."""
    first = (len(checks) + 1) // 2
    halves = (checks[:first], checks[first:])
    return Columns(
        tuple((Items(items=tuple(text(one) for one in half), kind="check"),) for half in halves),
        "even",
    )
