"""Plain text for a terminal: summaries that fit its width and need no colour."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import isfinite
from textwrap import wrap
from unicodedata import category, east_asian_width

from fitprofile.errors import NOTE, Problem
from fitprofile.model.bike import Bike
from fitprofile.model.quantity import MASS, Reading
from fitprofile.model.rider import BODY, Cockpit, Rider, Standing
from fitprofile.report.as_found import on_stand
from fitprofile.report.garage import (
    SHOWN,
    Failed,
    cannot_lines,
    exact_lines,
    no_deviation,
    off_as_found,
    prospect,
)
from fitprofile.report.garage_order import STATED, WORK, compared, in_order, shown
from fitprofile.report.limit_words import limit_words
from fitprofile.report.numbers import NumberRow, missing_because, number_rows
from fitprofile.report.plan_blocks import plan_chance_parts
from fitprofile.report.plan_text import plan_line, plan_lines
from fitprofile.report.step import origin
from fitprofile.report.trust import LEVELS, ordered
from fitprofile.report.uses import side_lines
from fitprofile.report.verdict import chance_parts, first_lines, nothing_to_do, read_first
from fitprofile.report.wording import (
    DEG,
    MM,
    NUMBERS,
    STATES,
    TAPES,
    figure,
    half_width,
    inches,
    words_of,
)
from fitprofile.report.work import change_steps
from fitprofile.stages.as_planned import as_planned
from fitprofile.stages.complete import Completed
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan
from fitprofile.stages.survey import Surveyed

WIDTH = 80
"""Columns where the terminal does not say."""

ROOMY = 70
"""Columns from which the table of numbers has room for whole words."""

NARROWEST = 40
GUTTER = 2

Line = Sequence[str]


def transfer_text(transfer: Transfer, width: int = WIDTH) -> str:
    """Numbers, changes, limits and notes of one transfer.

    Parameters
    ----------
    transfer : Transfer
    width : int
        Columns of the terminal; text wraps inside it, tables may run over below 60.
    """
    offers = transfer.offers
    if offers is not None and offers.listed:
        transfer = as_planned(transfer, offers.chosen.plan)
    head = f"{transfer.rider.name} on {transfer.bike.name}, {transfer.use}"
    wide = width >= ROOMY
    rows = [_number_line(transfer, row, wide=wide) for row in number_rows(transfer)]
    notes = [one for one in transfer.problems if one.level == NOTE]
    lines = [
        *_wrapped(head, width),
        *_wrapped(on_stand(transfer), width),
        "",
        *table(("", "as found", "wished", "after", ""), rows),
        *_first(transfer, width),
        "",
        *_work(transfer, width),
        *(line for words in side_lines(transfer) for line in _wrapped(words, width, "  ")),
        "",
        *_wrapped(_chance(transfer), width),
        *problem_lines(notes, width),
    ]
    return "\n".join(lines) + "\n"


def garage_text(
    transfers: Sequence[Transfer], failed: Sequence[Failed], width: int = WIDTH, sort: str = WORK
) -> str:
    """A row a bike with the deviations as found, then each bike's plan and changes.

    ``sort`` is one of `fitprofile.report.garage_order.STATED`.
    """
    ordered = in_order(transfers, sort)
    rows = [shown(one, sort) for one in ordered]
    head = ("bike", "width", "navel", "forearm", "lever", "knee")
    body = [
        (_short(one.bike.name, max(12, width - 56)), *(_off(one, key) for key in SHOWN))
        for one in rows
    ]
    lines = [
        *_wrapped(f"As found less wished; {STATED[sort]}:", width),
        *table(head, body),
        *_wrapped("* outside tolerance as found; of two levers, the one further off", width),
    ]
    for found, one in zip(ordered, rows, strict=True):
        lines += ["", one.bike.name]
        plan = compared(found, sort)
        for words in (*_prospects(one, plan), *cannot_lines(one, plan)):
            lines += _wrapped(words, width, "  ")
    for lost in failed:
        lines += ["", lost.name]
        for problem in lost.problems:
            lines += _wrapped(problem.sentence(), width, "  ")
    return "\n".join(lines) + "\n"


def _prospects(made: Transfer, plan: Plan | None) -> Iterator[str]:
    """What one bike needs: its plan with the exact changes beside it, or these alone."""
    if plan is None:
        yield prospect(made)
        yield from exact_lines(made)
        return
    yield plan_line(made, plan)
    if not made.practical.missed:
        yield prospect(made)
    exact = "; ".join(exact_lines(made))
    yield f"exact, for reference: {exact}" if made.practical.found_outside else exact


def rider_text(rider: Rider, body: Completed, width: int = WIDTH) -> str:
    """A rider's body, measured or estimated, and the cockpits."""
    rows = []
    for name, found in body.measurements.items():
        mass = BODY[name].kind == MASS
        value = f"{found.value:.0f} kg" if mass else figure(found.value, MM)
        give = f"±{2.0 * found.sd:.0f}"
        rows.append(
            (words_of(name), value, give, "" if mass else inches(found.value), found.source)
        )
    lines = [*_wrapped(rider.name, width), "", *table(("body", "", "", "", ""), rows)]
    for use, cockpit in rider.cockpits.items():
        lines += ["", f"cockpit {use}", *table(("", ""), list(_cockpit(cockpit)))]
    for use, stood in rider.standing.items():
        lines += ["", f"standing {use}", *table(("", ""), list(_standing(stood)))]
    return "\n".join(lines) + "\n"


def bike_text(bike: Bike, surveyed: Surveyed, width: int = WIDTH) -> str:
    """A bike's points as surveyed, what checks what, and the angles."""
    points = surveyed.points
    names = ["seat", "peg", "clamp", "grip_end", "grip_inner"]
    placed = [(name, getattr(points, name)) for name in names]
    placed += [("tube", points.tube)] if points.tube is not None else []
    placed += list(points.others.items())
    rows = [
        (
            words_of(name),
            figure(float(at.z), MM),
            figure(float(at.x), MM),
            figure(2.0 * float(at.y), MM) if at.y else "in the middle",
        )
        for name, at in placed
    ]
    taped = f"taped {bike.date or 'on a day not written'}, {STATES[bike.state]}, "
    checks = [
        (
            words_of(one.key),
            _reading(one.value, one.key),
            half_width(2.0 * one.sd, _unit(one.key)),
            figure(one.residual, _unit(one.key), signed=True) if isfinite(one.normalised) else "",
            one.status,
        )
        for one in surveyed.observations
    ]
    rake = surveyed.rake
    lines = [
        *_wrapped(bike.name, width),
        *_wrapped(f"{taped}{TAPES[bike.tape]}", width),
        "",
        *table(("point", "above floor", f"ahead of {origin(surveyed)}", "left to right"), rows),
        "",
        f"rake {figure(rake.value, DEG)}{' (assumed)' if rake.assumed else ''}",
        *(f"{side} lever {figure(at.value, DEG)}" for side, at in surveyed.lever_angle.items()),
        "",
        *table(("tape", "read", "", "off the fit", ""), checks),
    ]
    return "\n".join(lines) + "\n"


def problem_lines(problems: Iterable[Problem], width: int = WIDTH) -> Iterator[str]:
    """Problems, what stops the work first, each wrapped with its level before it."""
    for one in ordered(problems):
        yield from _wrapped(f"{LEVELS[one.level].lower()}: {one.sentence()}", width, "", "  ")


def table(head: Line, rows: Sequence[Line]) -> Iterator[str]:
    """Columns as wide as they need; the first is left-aligned, figures are right-aligned."""
    kept = [row for row in (head, *rows) if any(row)]
    if not kept:
        return
    widths = [max(_columns(row[at]) for row in kept) for at in range(len(head))]
    for row in kept:
        cells = []
        for at, (word, wide) in enumerate(zip(row, widths, strict=True)):
            room = " " * (wide - _columns(word))
            cells.append(word + room if at in {0, len(head) - 1} else room + word)
        yield (" " * GUTTER).join(cells).rstrip()


def _number_line(transfer: Transfer, row: NumberRow, *, wide: bool) -> Line:
    give = half_width(row.give, row.unit)
    found = (
        f"{figure(row.now, row.unit)} {give}".strip()
        if isfinite(row.now)
        else missing_because(transfer, row.key)
    )
    outside, left = ("outside tolerance", "left alone") if wide else ("outside", "left")
    verdict = outside if row.missed else left if row.left else ""
    return row.words, found, figure(row.target, row.unit), figure(row.after, row.unit), verdict


def _first(transfer: Transfer, width: int) -> Iterator[str]:
    """What stands before the steps: what is read first, then every other warning."""
    first = read_first(transfer)
    others = [one for one in transfer.problems if one.level != NOTE and one not in first]
    if first or others:
        yield ""
    for line in first_lines(transfer):
        yield from _wrapped(line, width, "", "  ")
    yield from problem_lines(others, width)


def _work(transfer: Transfer, width: int) -> Iterator[str]:
    """The chosen plan; where the shop lists no parts, the practical answer and its limits."""
    if transfer.offers is None or not transfer.offers.listed:
        yield from _job(transfer, width)
        yield from _limits(transfer, width)
        return
    for line in plan_lines(transfer, transfer.offers):
        yield from _wrapped(line.words, width, line.first, line.then) or [""]


def _job(transfer: Transfer, width: int) -> Iterator[str]:
    """The steps, or why there are none."""
    steps = change_steps(transfer)
    if not steps:
        yield from _wrapped(nothing_to_do(transfer), width)
        return
    yield "What to change, in this order:"
    for number, step in enumerate(steps, start=1):
        if step.missing:
            yield from _wrapped(
                f"{number}. {step.what}: no figure, see the warnings and notes",
                width,
                "  ",
                "     ",
            )
            continue
        parts = []
        for move in step.moves:
            if not move.printed:
                continue
            inch = f" ({inches(move.change, signed=True)})" if move.unit == MM else ""
            parts.append(f"{move.words} {figure(move.printed, move.unit, signed=True)}{inch}")
        remarks = "".join(f" {remark}" for remark in step.remarks)
        words = f"{number}. {step.what}: {', '.join(parts)}{'.' if remarks else ''}{remarks}"
        yield from _wrapped(words, width, "  ", "     ")


def _limits(transfer: Transfer, width: int) -> Iterator[str]:
    held = transfer.practical.held
    if not held:
        return
    yield ""
    yield "What this bike does not allow, of what makes a number miss:"
    for limit in held:
        yield from _wrapped(limit_words(transfer, limit).sentence, width, "  ", "    ")


def _chance(transfer: Transfer) -> str:
    planned = transfer.offers is not None and transfer.offers.listed
    chance = "".join(plan_chance_parts(transfer) if planned else chance_parts(transfer))
    if not transfer.matters_most:
        return chance
    return f"{chance} What matters most: {transfer.matters_most}."


def _off(transfer: Transfer, key: str) -> str:
    key, off = off_as_found(transfer, key)
    if not isfinite(off):
        return "no figure" if key.startswith("lever") else no_deviation(transfer, key)
    mark = " *" if key in transfer.practical.found_outside else ""
    return f"{figure(off, NUMBERS[key][1], signed=True)}{mark}"


def _cockpit(cockpit: Cockpit) -> Iterator[Line]:
    for name in ("bar_width", "navel_to_bar", "lever_reach"):
        reading = getattr(cockpit, name)
        if reading is not None:
            beside = "" if reading.sides else f" ({inches(reading.value)})"
            yield words_of(name), f"{_both(reading, MM)}{beside}"
    if cockpit.navel_to_grip_ends is not None:
        ends = " and ".join(figure(end.value, MM) for end in cockpit.navel_to_grip_ends)
        yield "navel to grip ends", ends
    for name in ("lever_angle", "forearm_angle", "knee_angle", "grip_tilt", "grip_sweep", "lean"):
        reading = getattr(cockpit, name)
        if reading is not None:
            yield words_of(name), _both(reading, DEG)
    yield "measured on", cockpit.measured_on or "from memory"


def _both(reading: Reading, unit: str) -> str:
    """A figure, or the left and the right one where they were wished apart."""
    if reading.sides is None:
        return figure(reading.value, unit)
    left, right = (figure(side, unit) for side in reading.sides)
    return f"left {left}, right {right}"


def _standing(wish: Standing) -> Iterator[Line]:
    for name, unit in (
        ("grip_above_peg", MM),
        ("grip_ahead_of_peg", MM),
        ("bar_width", MM),
        ("hip_to_grip", MM),
        ("lever_angle", DEG),
        ("lean", DEG),
        ("brake_pedal", MM),
        ("gear_lever", MM),
    ):
        reading = getattr(wish, name)
        if reading is not None:
            yield words_of(name), _both(reading, unit)
    yield "measured on", wish.measured_on or "from memory"


def _unit(key: str) -> str:
    return DEG if key.endswith(("tilt", "sweep", "rake")) else MM


def _reading(value: float, key: str) -> str:
    return figure(value, _unit(key))


def _columns(words: str) -> int:
    """Columns that words take on a terminal: wide characters two, combining ones none."""
    wide = sum(east_asian_width(char) in {"W", "F"} for char in words)
    return len(words) + wide - sum(category(char) in {"Mn", "Me", "Cf"} for char in words)


def _short(words: str, most: int) -> str:
    """A name cut so that a table keeps its shape."""
    if _columns(words) <= most:
        return words
    kept = words
    while _columns(kept) > most - 1:
        kept = kept[:-1]
    return f"{kept}\N{HORIZONTAL ELLIPSIS}"


def _wrapped(words: str, width: int, first: str = "", then: str | None = None) -> list[str]:
    """Words in lines of a terminal's width, with what stands before the first and the others."""
    rest = (f"{first}  " if first else "") if then is None else then
    return wrap(
        words,
        max(width, NARROWEST),
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
    )
