"""The garage comparison: one rider, a row a bike, what fits and least work first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import isfinite, nan

from fitprofile.errors import NOTE, Problem
from fitprofile.model.rider import Rider
from fitprofile.report.card_blocks import remark_blocks
from fitprofile.report.checks import CAUTIONS
from fitprofile.report.garage_order import STATED, WORK, compared, in_order, shown
from fitprofile.report.limit_words import limit_words, way
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
from fitprofile.report.plan_words import mending, money, time_words
from fitprofile.report.verdict import first_lines, outside
from fitprofile.report.wording import DEG, MM, NUMBERS, chance_words, figure, inches, tolerance
from fitprofile.stages.job import deviations
from fitprofile.stages.limits import says_nothing
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan
from fitprofile.units import whole
from fitprofile.values import frozen

NO_INCHES = ("", inches(0.0))
"""Nothing to print in brackets: no length, or less than a thirty-second of an inch."""

SHOWN = ("bar_width", "navel_to_bar", "forearm_angle", "lever_angle", "knee_angle")
"""The deviations of a row; of the two levers the one that is further off."""

HEADS: Mapping[str, str] = {
    "bar_width": "Bar width",
    "navel_to_bar": "Navel-to-bar",
    "forearm_angle": "Forearm angle",
    "lever_angle": "Lever angle",
    "knee_angle": "Knee angle",
}

LEAVE_IT = "inside every tolerance: leave it"
NO_LIMITS = "no limits in the bike's file"


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


def garage_page(
    rider: Rider,
    use: str,
    transfers: Sequence[Transfer],
    failed: Sequence[Failed],
    date: str,
    sort: str = WORK,
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
    sort : str
        One of `fitprofile.report.garage_order.STATED`.
    """
    ordered = in_order(transfers, sort)
    rows = tuple(shown(one, sort) for one in ordered)
    plans = tuple(compared(one, sort) for one in ordered)
    return Page(
        title=f"Garage comparison: {rider.name}",
        kind="Garage comparison",
        heading=text(user(rider.name)),
        facts=_facts(rider, use, rows),
        date=date,
        blocks=(
            Heading(f"Bikes, {STATED[sort]}", "figures as found less wished; exact changes"),
            _table(rows, plans, failed),
            Paragraph(
                text(
                    small(
                        "Bold: outside tolerance as found. Of two levers, the one further off. "
                        "Exact changes bring every number to the wish, whatever the bike allows; "
                        "each bike's own sheet has what to do."
                    )
                ),
                "left",
            ),
            *remark_blocks(transfers),
            *_drawings(rows),
            Section((Paragraph(text(" ".join(CAUTIONS))),), "cautions"),
        ),
        landscape=True,
    )


def _facts(rider: Rider, use: str, rows: Sequence[Transfer]) -> tuple[tuple[str, Text], ...]:
    facts = [("Use", text(user(use)))]
    if rows:
        target, allowed = rows[0].target, rows[0].tolerances
        for key in ("bar_width", "navel_to_bar", "forearm_angle", "knee_angle"):
            words, unit = NUMBERS[key]
            wish = figure(number_of(target, key), unit)
            facts.append((words, text(strong(wish), f" {tolerance(allowed[key], unit)}")))
    source = rider.cockpits[use].measured_on if use in rider.cockpits else None
    if source:
        facts.append(("Measured on", text("bike ", user(source))))
    return tuple(facts)


def _table(
    rows: Sequence[Transfer], plans: Sequence[Plan | None], failed: Sequence[Failed]
) -> Table:
    """A row a bike; with a column of plans where the shop lists parts."""
    planned = any(plan is not None for plan in plans)
    beside = ("Plan",) if planned else ()
    head = ("Bike", *HEADS.values(), "Exact changes", *beside, "Stays outside, why")
    caption = "One row for each bike: deviations as found, exact changes, what stays outside"
    return Table(
        caption=f"{caption}, and the plan from listed parts" if planned else caption,
        head=head,
        rows=(
            *(_row(one, plan, planned=planned) for one, plan in zip(rows, plans, strict=True)),
            *(_failed_row(one, len(head) - 1) for one in failed),
        ),
        kind="garage priced" if planned else "garage",
    )


def _row(transfer: Transfer, plan: Plan | None, *, planned: bool) -> Row:
    changes = tuple(text(line) for line in exact_lines(transfer))
    cannot = tuple(text(line) for line in cannot_lines(transfer, plan))
    return Row(
        (
            Cell((text(user(transfer.bike.name)), text(small(prospect(transfer))))),
            *(_deviation(transfer, key) for key in SHOWN),
            Cell(changes or (text("none"),)),
            *((Cell(_plan_lines(transfer, plan)),) if planned else ()),
            Cell(cannot or (text("nothing"),)),
        )
    )


def _plan_lines(transfer: Transfer, plan: Plan | None) -> tuple[Text, ...]:
    """Name, parts, price, time, and whether every number comes inside."""
    if plan is None or transfer.offers is None:
        return (text(gap("no parts listed")),)
    spans = [span for part in plan.choice.parts() for span in (user(part.name), "; ")][:-1]
    cost = f"{money(plan.price, transfer.offers.currency)}, {time_words(plan.minutes)}"
    return (
        text(strong(f"{plan.name}: "), *(spans or ["nothing to buy"])),
        text(f"{cost}, ", strong("inside" if plan.inside else "not inside")),
    )


def prospect(transfer: Transfer) -> str:
    """The chance at the first try, or how many numbers stay outside whatever is done."""
    many = len(transfer.practical.missed)
    if many:
        return f"{many} number{'s' if many > 1 else ''} stay{'s' if many == 1 else ''} outside"
    return f"first try: {chance_words(transfer.chance)}"


def off_as_found(transfer: Transfer, key: str) -> tuple[str, float]:
    """A deviation as found less wished, mm or degrees, with the key of the number.

    Of the two levers it is the one further off; ``nan`` where there is no figure.
    """
    off = deviations(transfer.target, transfer.now)
    keys = (key,) if key in NUMBERS else (f"{key}.brake", f"{key}.clutch")
    there = [one for one in keys if isfinite(off.get(one, nan))]
    if not there:
        return keys[0], nan
    worst = max(there, key=lambda one: abs(off[one]))
    return worst, off[worst]


def no_deviation(transfer: Transfer, key: str) -> str:
    """Why there is no deviation, in a few words."""
    if key.startswith("lever_angle"):
        levers = transfer.bike.levers
        there = levers.brake is not None or levers.clutch is not None
        return "not read" if there else "not in the file"
    return missing_because(transfer, key)


def _deviation(transfer: Transfer, key: str) -> Cell:
    key, off = off_as_found(transfer, key)
    unit = NUMBERS[key][1]
    if not isfinite(off):
        return Cell((text(gap(no_deviation(transfer, key))),), FIGURE)
    shown = figure(off, unit, signed=True)
    lines = [text(strong(shown) if key in transfer.practical.found_outside else shown)]
    if unit == MM:
        lines.append(text(small(inches(off, signed=True))))
    return Cell(tuple(lines), FIGURE)


def exact_lines(transfer: Transfer) -> Iterator[str]:
    """The exact changes of one bike that print as more than nothing, a line each."""
    if not transfer.practical.found_outside and not transfer.practical.missed:
        yield LEAVE_IT
        return
    exact = transfer.exact
    moves = exact.peg_move_mm
    pegs = [
        f"{way(what, float(value), MM)}{_beside(float(value), signed=False)}"
        for what, value in (("peg_move.z", moves.z), ("peg_move.x", moves.x))
        if isfinite(value) and whole(float(value))
    ]
    if pegs:
        yield f"pegs: {', '.join(pegs)}"
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
        beside = _beside(value) if unit == MM else ""
        shown.append(f"{name} {figure(value, unit, signed=True)}{beside}".strip())
    if shown:
        yield f"{words}: {', '.join(shown)}"


def _beside(value: float, *, signed: bool = True) -> str:
    """Inches in brackets, nothing where they print as none."""
    inch = inches(value if signed else abs(value), signed=signed)
    return "" if inch in NO_INCHES else f" ({inch})"


def cannot_lines(transfer: Transfer, plan: Plan | None = None) -> Iterator[str]:
    """What stays outside whatever is done, what the bike does not allow, gaps with their reason.

    With a ``plan`` the reason is which part is missing, or which other plan does it.
    """
    if transfer.practical.missed:
        yield f"Stays outside: {outside(transfer)}"
        for words in () if plan is None else mending(transfer, plan):
            yield f"{words[:1].upper()}{words[1:]}"
    for limit in transfer.practical.held:
        yield limit_words(transfer, limit).brief
    yield from first_lines(transfer)
    if says_nothing(transfer.bike):
        yield NO_LIMITS[:1].upper() + NO_LIMITS[1:]


def _failed_row(failed: Failed, columns: int) -> Row:
    reasons = tuple(
        text(gap("missing: "), user(one.text), small(f" ({one.key})" if one.key else ""))
        for one in failed.problems
        if one.level != NOTE
    )
    return Row((Cell((text(user(failed.name)),)), Cell(reasons, columns=columns)), "missing")


def _drawings(rows: Sequence[Transfer]) -> tuple[Block, ...]:
    drawn = triangles(rows)
    if not drawn:
        return ()
    note = "all on one scale, navel at the bottom; as found solid, wished dashed"
    return (Section((Heading("Cockpit triangles from above", note), *drawn), "strip"),)
