"""The transfer sheet: one rider, one bike, everything to do, on one or two pages."""

from __future__ import annotations

from math import isfinite

from fitprofile.report.as_found import found_blocks, on_stand
from fitprofile.report.check_blocks import check_blocks
from fitprofile.report.checks import CAUTIONS, SIGNED, stop_checks
from fitprofile.report.dials import dials
from fitprofile.report.limit_words import limit_words
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
from fitprofile.report.plan_blocks import plan_chance, plan_job
from fitprofile.report.plan_table import side_by_side
from fitprofile.report.side import side
from fitprofile.report.trust import (
    Notes,
    chance_blocks,
    note_items,
    ordered,
    source_blocks,
)
from fitprofile.report.uses import side_blocks
from fitprofile.report.verdict import first_lines, off_after, printed_off, read_first
from fitprofile.report.wording import ARROW, MM, STATES, TAPES, figure, inches, tolerance
from fitprofile.report.work import change_steps
from fitprofile.report.work_table import work_blocks
from fitprofile.stages.as_planned import as_planned, checks_as_found
from fitprofile.stages.limits import UNSEEN, Limit
from fitprofile.stages.outcome import Transfer
from fitprofile.units import whole

ACROSS = 3
"""Dials that stand side by side beside the side view: levers and tilt."""


def transfer_sheet(transfer: Transfer, date: str) -> Page:
    """The page of one transfer.

    Parameters
    ----------
    transfer : Transfer
        Its problems already looked up in the files.
    date : str
        Day of printing, as it is to be read.
    """
    offers = transfer.offers
    planned = offers is not None and offers.listed
    if offers is not None and planned:
        transfer = as_planned(transfer, offers.chosen.plan)
    first = read_first(transfer)
    notes = ordered(one for one in transfer.problems if one not in first)
    return Page(
        title=f"Transfer sheet: {transfer.rider.name} {ARROW} {transfer.bike.name}",
        kind="Transfer sheet",
        heading=text(user(transfer.rider.name), f" {ARROW} ", user(transfer.bike.name)),
        facts=_facts(transfer),
        date=date,
        blocks=_with_plan(transfer, notes) if planned else _without_parts(transfer, notes),
    )


def _without_parts(transfer: Transfer, notes: Notes) -> tuple[Block, ...]:
    """The practical answer, where the shop lists no parts."""
    return (
        *_first(transfer),
        Columns(
            (
                number_blocks(transfer),
                (plan(transfer), *chance_blocks(transfer), *_left(transfer)),
            ),
            "numbers-plan",
        ),
        *work_blocks(transfer, notes),
        *side_blocks(transfer),
        *_limits(transfer),
        *_alternative(transfer),
        Columns(((side(transfer),), dials(transfer)), "side-dials"),
        Columns((found_blocks(transfer), source_blocks(transfer)), "halves"),
        *_notes(notes),
        *_stop(transfer),
    )


def _with_plan(done: Transfer, notes: Notes) -> tuple[Block, ...]:
    """The chosen plan as the job, the others beside it, and the workshop's checks.

    ``done`` is the transfer with the plan in place of the practical answer.
    """
    if done.offers is None:
        return ()
    chosen, found = done.offers.chosen, checks_as_found(done)
    return (
        *_first(done),
        Columns((number_blocks(done), (plan(done), *plan_chance(done))), "numbers-plan"),
        *plan_job(done, chosen.plan),
        *side_blocks(done),
        *side_by_side(done, found),
        *check_blocks(chosen.checks, found),
        Columns(((side(done),), (*dials(done)[:ACROSS], *found_blocks(done))), "drawn"),
        Section(source_blocks(done), "all-sources"),
        *_notes(notes),
        *_stop(done),
    )


def _first(transfer: Transfer) -> tuple[Block, ...]:
    """What is read before anything else, in a box under the header."""
    lines = tuple(Paragraph(text(strong(line))) for line in first_lines(transfer))
    return (Section(lines, "alert"),) if lines else ()


def _facts(transfer: Transfer) -> tuple[tuple[str, Text], ...]:
    bike, cockpit = transfer.bike, transfer.cockpit
    taped = f"{STATES[bike.state]}, {TAPES[bike.tape]}"
    when = text(user(bike.date), f", {taped}") if bike.date else text(f"day not written, {taped}")
    facts = [("Use", text(user(transfer.use))), ("Bike taped", when)]
    if stood := on_stand(transfer):
        facts.append(("Stand", text(stood)))
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
    if not left or not change_steps(transfer):
        return ()
    off = off_after(transfer)
    parts = []
    for row in left:
        away = abs(off[row.key])
        shown = figure(abs(printed_off(transfer, row)), row.unit)
        if away > row.tolerance:
            why = f"{shown} more open, inside the rider's own limit"
        else:
            of = " the forearm" if row.key.startswith("lever_angle") else ""
            why = f"{shown} off{of}, {tolerance(row.tolerance, row.unit)} allowed"
        parts.append(f"{row.words.lower()} ({why})")
    return (Paragraph(text(strong("Left alone: "), f"{'; '.join(parts)}."), "left"),)


def _limits(transfer: Transfer) -> tuple[Block, ...]:
    """What the bike does not allow, of what would bring a missing number inside tolerance."""
    held = transfer.practical.held
    if not held:
        return ()
    table = Table(
        caption="Changes that would bring a number inside tolerance and that the bike stops",
        head=("Change", "Needed", "Allowed", "Missing", "Why"),
        rows=tuple(_limit_row(transfer, limit) for limit in held),
        kind="limits",
    )
    remark = "only what makes a number miss, all else done as above"
    return (Section((Heading("What this bike does not allow", remark), table), "whole"),)


def _limit_row(transfer: Transfer, limit: Limit) -> Row:
    said = limit_words(transfer, limit)
    return Row(
        (
            Cell((text(said.name),)),
            Cell((text(said.needed),), FIGURE),
            Cell((text(said.allowed),)),
            Cell((text(strong(said.missing)),), FIGURE),
            Cell((text(said.why),)),
        )
    )


def _alternative(transfer: Transfer) -> tuple[Block, ...]:
    """Raising the seat in place of moving the pegs, with the bar that goes with it."""
    raised = transfer.practical.changes.with_seat_raise
    seat = float(raised.seat_raise_mm)
    if not isfinite(seat) or whole(seat) == 0:
        return ()
    lead = strong("Instead of moving the pegs: ")
    band = transfer.bike.allows.seat
    if band is not None and not band[0] - UNSEEN <= seat <= band[1] + UNSEEN:
        up, takes = seat > 0.0, band[1] if seat > 0.0 else band[0]
        room = figure(abs(takes), MM) if takes else "none"
        said = (
            f"the seat would have to {'rise' if up else 'come down'} {figure(abs(seat), MM)}; "
            f"this bike takes {room}."
        )
        return (Paragraph(text(lead, said), "left"),)
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
    said = (
        f"seat {figure(seat, MM, signed=True)} ({inches(seat, signed=True)}), and then "
        f"{bar} from as found; pegs stay."
    )
    return (Paragraph(text(lead, said), "left"),)


def _notes(notes: Notes) -> tuple[Block, ...]:
    if not notes:
        return ()
    return (Section((Heading("Notes"), Items(items=note_items(notes), kind="numbered")), "notes"),)


def _stop(transfer: Transfer) -> tuple[Block, ...]:
    checks = stop_checks(transfer)
    stop = Section(
        (
            Heading("Stop checks", "all ticked, or the bike is not ridden"),
            _in_halves(checks),
            Boxes(SIGNED),
        ),
        "stop",
    )
    cautions = Section((Paragraph(text(" ".join(CAUTIONS))),), "cautions")
    return (Section((stop, cautions), "whole"),)


def _in_halves(checks: tuple[str, ...]) -> Columns:
    """Checks as a list in two columns."""
    first = (len(checks) + 1) // 2
    halves = (checks[:first], checks[first:])
    return Columns(
        tuple((Items(items=tuple(text(one) for one in half), kind="check"),) for half in halves),
        "even",
    )
