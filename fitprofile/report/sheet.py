"""The transfer sheet: one rider, one bike, everything to do, on one or two pages."""

from __future__ import annotations

from math import isfinite

from fitprofile.report.checks import CAUTIONS, CLIP_ON_CHECK, SIGNED, STOP_CHECKS
from fitprofile.report.dials import dials
from fitprofile.report.figures import plan, side
from fitprofile.report.numbers import NumberRow, missing_because, number_rows
from fitprofile.report.page import (
    BOX,
    FIGURE,
    PLAIN,
    TICK,
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
    gap,
    small,
    strong,
    text,
    user,
)
from fitprofile.report.trust import (
    Notes,
    chance_blocks,
    note_items,
    ordered,
    reference,
    source_blocks,
)
from fitprofile.report.wording import (
    ARROW,
    DEG,
    MM,
    STATES,
    TAPES,
    bare,
    figure,
    half_width,
    inches,
    named,
    tolerance,
    whole,
)
from fitprofile.report.work import BEFORE, CLOSE, DRY, LAST, Move, Step, origin, steps
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.practical import Limit, deviations

LEADS = (BEFORE, DRY, CLOSE, LAST)
"""Phases whose first step is led in by their name; the others speak for themselves."""

MARKS = {"measured": "M", "estimated": "E", "assumed": "A"}
"""Marks beside a figure as found; the sheet explains them."""


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
                (_numbers(transfer), (plan(transfer), *chance_blocks(transfer))), "numbers-plan"
            ),
            *_work(transfer, notes),
            *_left(transfer),
            *_limits(transfer),
            *_alternative(transfer),
            Columns(((side(transfer),), dials(transfer)), "side-dials"),
            Columns((_as_found(transfer), source_blocks(transfer)), "halves"),
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


def _numbers(transfer: Transfer) -> tuple[Block, ...]:
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
            _figure_cell(row.after, row.unit, "out of reach" if isfinite(row.now) else "no figure"),
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
    if off is None or not isfinite(row.tolerance):
        return Cell((text(small("free")),), FIGURE)
    allowed = tolerance(row.tolerance, row.unit)
    if not isfinite(off):
        return Cell((text(gap("missed")),), FIGURE)
    shown = figure(off, row.unit, signed=True)
    if row.missed:
        outside = "just outside" if abs(off) < row.tolerance + 0.5 else "outside"
        return Cell((text(strong(shown)), text(strong(f"{outside} {allowed}"))), FIGURE)
    if row.unit == DEG:
        return Cell((text(shown, small(f" of {allowed}")),), FIGURE)
    return Cell((text(shown), text(small(f"of {allowed}"))), FIGURE)


def _room(transfer: Transfer) -> str:
    """Room between calf and hamstring once done."""
    room = transfer.contact_after.room_deg
    if not (isfinite(room.ball) and isfinite(room.mid_foot)):
        return ""
    return (
        f"Calf clear of hamstring afterwards by {figure(float(room.ball), DEG)} at the ball of "
        f"the foot, {figure(float(room.mid_foot), DEG)} at mid-foot."
    )


def _work(transfer: Transfer, notes: Notes) -> tuple[Block, ...]:
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
    what = [text(strong(step.what)), text(small(step.hint))]
    if step.at_limit:
        what.append(text(strong("Stops at what the bike allows.")))
    return Row(
        (
            tick,
            count,
            Cell(tuple(what)),
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
    shown = strong(figure(move.change, move.unit, signed=True))
    beside = inches(move.change, signed=True) if move.unit == MM else ""
    return (text(shown, small(f"  {beside}" if beside else "")), text(small(move.words)))


def _exact(move: Move) -> tuple[Text, ...]:
    give = half_width(move.give, move.unit)
    return (
        text(figure(move.exact, move.unit, signed=True, give=move.give)),
        text(small(give or "\N{NO-BREAK SPACE}")),
    )


def _left(transfer: Transfer) -> tuple[Block, ...]:
    """Numbers left alone, with how far they are off and what is allowed."""
    rows = {row.key: row for row in number_rows(transfer)}
    left = [rows[key] for key in transfer.practical.leave if key in rows]
    if not left:
        return ()
    parts = []
    for row in left:
        off = figure(abs(row.now - row.target), row.unit)
        inside = tolerance(row.tolerance, row.unit)
        parts.append(f"{row.words.lower()} ({off} off, {inside} allowed)")
    return (
        Paragraph(text(strong("Left alone, inside tolerance: "), f"{'; '.join(parts)}."), "left"),
    )


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


FOUND_POINTS = (
    ("seat", "Sit point"),
    ("peg", "Peg, top"),
    ("clamp", "Bar in its clamps"),
    ("grip_end", "Grip, outer end"),
    ("grip_inner", "Grip, inner end"),
    ("tube", "Fork tube at the clip-on"),
)


def _as_found(transfer: Transfer) -> tuple[Block, ...]:
    """Figures to put a borrowed bike back by, as surveyed."""
    points = transfer.surveyed.points
    named_points = [
        (words, getattr(points, name))
        for name, words in FOUND_POINTS
        if getattr(points, name) is not None
    ]
    named_points += [
        (name.replace("_", " ").capitalize(), at) for name, at in points.others.items()
    ]
    rows = []
    for words, at in named_points:
        across = 2.0 * float(at.y)
        figures = [float(at.z), float(at.x), across]
        cells = [
            Cell((text(bare(value, MM), small(f" {inches(value)}" if value else "")),), FIGURE)
            for value in figures
        ]
        if not across:
            cells[2] = Cell((text(small("in the middle")),), FIGURE)
        rows.append(Row((Cell((text(words),)), *cells, Cell(kind=TICK))))
    rows += _found_controls(transfer)
    ahead = f"Ahead of {origin(transfer.surveyed)}"
    return (
        Heading("As found", "puts the bike back as it came"),
        Table(
            caption="The bike as found, with a box to tick when it is put back",
            head=(
                "mm, inches",
                "Above floor",
                f"Ahead of {origin(transfer.surveyed)}",
                "Across",
                "Back",
            ),
            rows=tuple(rows),
            kind="found",
        ),
    )


def _found_controls(transfer: Transfer) -> list[Row]:
    """Levers, grips and rake as read, one line each."""
    now = transfer.now
    lines = []
    for name in ("brake", "clutch"):
        if getattr(transfer.bike.levers, name) is None:
            continue
        angle, reach = getattr(now.lever_angle_deg, name), getattr(now.lever_reach_mm, name)
        below = f"{figure(float(angle), DEG)} below level" if isfinite(angle) else "angle not read"
        from_grip = f"reach {figure(float(reach), MM)}" if isfinite(reach) else "reach not taped"
        lines.append((f"{name.capitalize()} lever", f"{below}, {from_grip}"))
    grip = f"tilt {figure(float(now.grip_tilt_deg), DEG)}, "
    grip += f"sweep {figure(float(now.grip_sweep_deg), DEG)}"
    lines.append(("Grips", grip))
    rake = transfer.surveyed.rake
    assumed = " (assumed)" if rake.assumed else ""
    lines.append(("Rake", f"{figure(rake.value, DEG)}{assumed}"))
    return [
        Row((Cell((text(words),)), Cell((text(shown),), columns=3), Cell(kind=TICK)))
        for words, shown in lines
    ]


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
                _in_halves(checks, "check"),
                Boxes(SIGNED),
            ),
            "stop",
        ),
        Section((_in_halves(CAUTIONS, PLAIN),), "cautions"),
    )


def _in_halves(lines: tuple[str, ...], kind: str) -> Columns:
    """Lines as a list in two columns."""
    first = (len(lines) + 1) // 2
    halves = (lines[:first], lines[first:])
    return Columns(
        tuple((Items(items=tuple(text(one) for one in half), kind=kind),) for half in halves),
        "even",
    )
