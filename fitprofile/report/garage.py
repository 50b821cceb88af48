"""The garage comparison: one rider, a row a bike, least work first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import hypot, inf, isfinite

from attrs import frozen

from fitprofile.errors import NOTE, Problem
from fitprofile.model.rider import Rider
from fitprofile.report.checks import CAUTIONS
from fitprofile.report.numbers import missing_because, number_of
from fitprofile.report.page import (
    FIGURE,
    Block,
    Cell,
    Heading,
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
from fitprofile.report.plan import triangles
from fitprofile.report.wording import (
    DEG,
    MM,
    NUMBERS,
    chance_words,
    figure,
    inches,
    named,
    tolerance,
    whole,
)
from fitprofile.stages.job import deviations
from fitprofile.stages.outcome import Transfer

NO_INCHES = ("", inches(0.0))
"""Nothing to print in brackets: no length, or less than a thirty-second of an inch."""

SHOWN = ("bar_width", "navel_to_bar", "forearm_angle", "knee_angle")
"""The four deviations of a row."""


@frozen(kw_only=True)
class Failed:
    """A bike for which nothing could be worked out.

    Parameters
    ----------
    key : str
        File name without its ending.
    name : str
        As it is to be printed; the key where the file could not be read.
    problems : tuple of Problem
        Why, at least one.
    """

    key: str
    name: str
    problems: tuple[Problem, ...]


def amount(transfer: Transfer) -> float:
    """How much must change: the exact changes, each in units of a tolerance, added up.

    Widths and moves of bar and pegs count in the tolerances of bar width and navel-to-bar, turns
    in those of grip tilt and lever angle, reach in its own. ``inf`` where the exact answer has a
    gap, so that such a bike comes after all others. It only sorts; nothing is judged by it.
    """
    exact, allowed = transfer.exact, transfer.tolerances
    bar = (
        (exact.clip_slide_mm, exact.clip_offset_mm)
        if transfer.clip_on
        else (exact.riser_height_mm, exact.riser_pullback_mm)
    )
    parts = [
        float(exact.bar_width_change_mm) / allowed["bar_width"],
        hypot(*(float(part) for part in bar)) / allowed["navel_to_bar"],
        hypot(float(exact.peg_move_mm.x), float(exact.peg_move_mm.z)) / allowed["navel_to_bar"],
        float(exact.clip_turn_deg if transfer.clip_on else exact.bar_roll_deg)
        / allowed["grip_tilt"],
    ]
    for side in ("brake", "clutch"):
        turn = float(getattr(exact.lever_rotation_deg, side))
        reach = float(getattr(exact.lever_reach_change_mm, side))
        parts += [turn / allowed["lever_angle"]] if isfinite(turn) else []
        parts += [reach / allowed["lever_reach"]] if isfinite(reach) else []
    total = sum(abs(part) for part in parts)
    return total if isfinite(total) else inf


def by_work(transfers: Sequence[Transfer]) -> tuple[Transfer, ...]:
    """Transfers with the least work first, then by the bike's name."""
    return tuple(sorted(transfers, key=lambda one: (amount(one), one.bike.name, one.bike.key)))


def garage_page(
    rider: Rider,
    use: str,
    transfers: Sequence[Transfer],
    failed: Sequence[Failed],
    date: str,
) -> Page:
    """The comparison of one rider's bikes.

    Parameters
    ----------
    rider : Rider
    use : str
        The cockpit compared.
    transfers : sequence of Transfer
        All of this rider and use, in any order.
    failed : sequence of Failed
        Bikes for which there is none.
    date : str
        Day of printing, as it is to be read.
    """
    rows = by_work(transfers)
    return Page(
        title=f"Garage comparison: {rider.name}",
        kind="Garage comparison",
        heading=text(user(rider.name)),
        facts=_facts(rider, use, rows),
        date=date,
        blocks=(
            Heading("Bikes, least work first", "figures as found less wished; exact changes"),
            _table(rows, failed),
            Paragraph(
                text(small("Bold: outside tolerance as found. Each bike has its own sheet.")),
                "left",
            ),
            *_drawings(rows),
            Section((Paragraph(text(" ".join(CAUTIONS))),), "cautions"),
        ),
        landscape=True,
    )


def _facts(rider: Rider, use: str, rows: Sequence[Transfer]) -> tuple[tuple[str, Text], ...]:
    facts = [("Use", text(user(use)))]
    if rows:
        target, allowed = rows[0].target, rows[0].tolerances
        for key in SHOWN:
            words, unit = NUMBERS[key]
            wish = figure(number_of(target, key), unit)
            facts.append((words, text(strong(wish), f" {tolerance(allowed[key], unit)}")))
    source = rider.cockpits[use].measured_on if use in rider.cockpits else None
    if source:
        facts.append(("Measured on", text("bike ", user(source))))
    return tuple(facts)


def _table(rows: Sequence[Transfer], failed: Sequence[Failed]) -> Table:
    head = ("Bike", *(NUMBERS[key][0] for key in SHOWN), "Exact changes", "Cannot be reached, why")
    return Table(
        caption="One row for each bike: deviations as found, exact changes, what cannot be reached",
        head=head,
        rows=(*(_row(one) for one in rows), *(_failed_row(one) for one in failed)),
        kind="garage",
    )


def _row(transfer: Transfer) -> Row:
    off = deviations(transfer.target, transfer.now)
    chance = f"first try: {chance_words(transfer.chance)}"
    changes = tuple(text(line) for line in exact_lines(transfer))
    cannot = tuple(text(line) for line in cannot_lines(transfer))
    return Row(
        (
            Cell((text(user(transfer.bike.name)), text(small(chance)))),
            *(_deviation(transfer, key, off.get(key)) for key in SHOWN),
            Cell(changes or (text("none"),)),
            Cell(cannot or (text("all can be reached"),)),
        )
    )


def _deviation(transfer: Transfer, key: str, off: float | None) -> Cell:
    unit = NUMBERS[key][1]
    if off is None or not isfinite(off):
        return Cell((text(gap(missing_because(transfer, key))),), FIGURE)
    shown = figure(off, unit, signed=True)
    lines = [text(shown if key in transfer.practical.leave else strong(shown))]
    if unit == MM:
        lines.append(text(small(inches(off, signed=True))))
    return Cell(tuple(lines), FIGURE)


def exact_lines(transfer: Transfer) -> Iterator[str]:
    """The exact changes of one bike that print as more than nothing, a line each."""
    exact = transfer.exact
    moves = exact.peg_move_mm
    yield from _line("pegs", (("up", float(moves.z), MM), ("forward", float(moves.x), MM)))
    bar = (
        (("slide", exact.clip_slide_mm), ("offset", exact.clip_offset_mm))
        if transfer.clip_on
        else (("riser", exact.riser_height_mm), ("pullback", exact.riser_pullback_mm))
    )
    if isfinite(bar[0][1]):
        yield from _line("bar", tuple((words, float(value), MM) for words, value in bar))
    else:
        yield "bar: no place of it gives the wish"
    turn = exact.clip_turn_deg if transfer.clip_on else exact.bar_roll_deg
    yield from _line("turn" if transfer.clip_on else "roll", (("", float(turn), DEG),))
    yield from _line("bar width", (("", float(exact.bar_width_change_mm), MM),))
    for words, pair, unit in (
        ("lever rotation", exact.lever_rotation_deg, DEG),
        ("lever reach", exact.lever_reach_change_mm, MM),
    ):
        sides = (("brake", float(pair.brake), unit), ("clutch", float(pair.clutch), unit))
        yield from _line(words, sides)


def _line(words: str, parts: tuple[tuple[str, float, str], ...]) -> Iterator[str]:
    """``bar: riser +13 mm (+1/2 in), pullback -12 mm``; parts that print as zero are left out."""
    shown = []
    for name, value, unit in parts:
        if not isfinite(value) or whole(value) == 0:
            continue
        inch = inches(value, signed=True) if unit == MM else ""
        beside = f" ({inch})" if inch not in NO_INCHES else ""
        shown.append(f"{name} {figure(value, unit, signed=True)}{beside}".strip())
    if shown:
        yield f"{words}: {', '.join(shown)}"


def cannot_lines(transfer: Transfer) -> Iterator[str]:
    """What of the exact answer the bike does not allow, and gaps with their reason."""
    for limit in transfer.limits:
        words, unit = named(limit.what)
        short = figure(limit.residual, unit, signed=True)
        yield f"{words}: short by {short}, {limit.reason}"
    for problem in transfer.problems:
        if problem.level != NOTE and problem.file == transfer.bike.file:
            yield problem.text[:1].upper() + problem.text[1:]


def _failed_row(failed: Failed) -> Row:
    reasons = tuple(
        text(gap("missing: "), user(one.text), small(f" ({one.key})" if one.key else ""))
        for one in failed.problems
        if one.level != NOTE
    )
    return Row((Cell((text(user(failed.name)),)), Cell(reasons, columns=6)), "missing")


def _drawings(rows: Sequence[Transfer]) -> tuple[Block, ...]:
    drawn = triangles(rows)
    if not drawn:
        return ()
    note = "all on one scale, navel at the bottom; as found solid, wished dashed"
    return (Section((Heading("Cockpit triangles from above", note), *drawn), "strip"),)
