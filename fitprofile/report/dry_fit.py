"""The dry-fit card: a plan tried with packers, rods and tape before money is spent."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite

from fitprofile.report.card_blocks import BEFORE_SITTING, cautions, remark_blocks
from fitprofile.report.numbers import number_of, number_rows
from fitprofile.report.page import (
    BOX,
    FIGURE,
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
    Table,
    Text,
    flag,
    gap,
    small,
    strong,
    text,
    user,
)
from fitprofile.report.plan_words import (
    for_good,
    is_bought,
    is_off_words,
    misses,
)
from fitprofile.report.shopping import Chosen
from fitprofile.report.standing_card import Expected, standing_misses, standing_numbers
from fitprofile.report.trials import Trial, trials
from fitprofile.report.wording import (
    ARROW,
    MM,
    bare,
    figure,
    inches,
    joined,
    tolerance,
)
from fitprofile.stages.check import Check

MOST = 7
"""Rows of clearances that a card has room for; what is nearest comes first."""

PARTS_THAT_SWING = ("lock.fist", "lock.bar_end", "thumb")


def hose_checks(chosen: Chosen) -> tuple[Check, ...]:
    """Hoses and cables of the plan, what is expected to fail first."""
    found = [one for one in chosen.offer.checks if one.what.partition(".")[0] == "hose"]
    return tuple(sorted(found, key=lambda one: (one.ok is not False, one.ok is not None)))


def clearance_checks(chosen: Chosen) -> tuple[Check, ...]:
    """The nearest of what fists, bar ends and thumbs come to, lock to lock; at most `MOST`.

    The nearest thing of each is always among them.
    """
    found = [
        one
        for one in chosen.offer.checks
        if one.what.startswith(PARTS_THAT_SWING) and isfinite(one.value)
    ]
    nearest = sorted(found, key=lambda one: one.value)
    first = [
        next(one for one in nearest if one.what.startswith(part))
        for part in PARTS_THAT_SWING
        if any(one.what.startswith(part) for one in nearest)
    ]
    rest = [one for one in nearest if one not in first][: MOST - len(first)]
    return tuple(sorted((*first, *rest), key=lambda one: one.value))


def other_checks(chosen: Chosen) -> tuple[str, ...]:
    """What else of the plan's checks fails, in words."""
    shown = ("hose", "lock", "thumb", "law", "straddle", "pedals")
    return tuple(
        is_off_words(one)
        for one in chosen.offer.checks
        if one.ok is False and one.what.partition(".")[0] not in shown
    )


def expected(check: Check) -> str:
    """What a check lets expect: ``expected to fail``, ``enough``, ``look``."""
    return {True: "enough", False: "expected to fail", None: "look and write"}[check.ok]


def dry_fit_page(chosen: Chosen, date: str) -> Page:
    """The card of one rider, bike and plan.

    Parameters
    ----------
    chosen : Chosen
    date : str
        Day of printing, as it is to be read.
    """
    made = chosen.transfer
    bought = any(map(is_bought, chosen.plan.choice.parts()))
    order = "Order the parts" if bought else "Go ahead"
    return Page(
        title=f"Dry-fit card: {made.rider.name} {ARROW} {made.bike.name}",
        kind="Dry-fit card",
        heading=text(user(made.rider.name), f" {ARROW} ", user(made.bike.name)),
        facts=_facts(chosen),
        date=date,
        blocks=(
            Paragraph(text(strong(BEFORE_SITTING)), "left"),
            Heading("Try it like this", "nothing bought, nothing cut, nothing drilled"),
            _trials(chosen),
            *_undo(chosen),
            Heading("Turn lock to lock", "slowly, both locks, fork extended and then compressed"),
            *_hoses(chosen),
            Columns((_clearances(chosen), _rider(chosen)), "even"),
            *_also(chosen),
            *remark_blocks((made,)),
            Boxes((f"{order}: yes / no", "What else it needs", "Date", "Signature")),
            cautions(HANDS),
        ),
    )


HANDS = "Keep fingers out of the yokes; engine off, key out."


def _facts(chosen: Chosen) -> tuple[tuple[str, Text], ...]:
    plan, made = chosen.plan, chosen.transfer
    parts = [part.name for part in plan.choice.parts() if is_bought(part)]
    name = text(plan.name, "" if chosen.asked else flag(" (the one asked for is not there)"))
    facts = [
        ("Use", text(user(chosen.use), ", standing" if chosen.stands else "")),
        ("Plan", name),
        ("Would buy", text(user("; ".join(parts))) if parts else text("nothing")),
        ("At stake", text(chosen.cost)),
    ]
    off = tuple(standing_misses(chosen)) if chosen.stands else misses(made, plan)
    return (*facts, ("Still outside", text("; ".join(off)))) if off else tuple(facts)


def _trials(chosen: Chosen) -> Block:
    found = trials(chosen)
    if not found:
        return Paragraph(text("Nothing to try: the bike stays as it is."), "left")
    return Table(
        caption="What to stack, hold or set, and the figure that shows it",
        head=("", "Where", "How", "Seen as", "From, to", "Done to"),
        rows=tuple(_trial_row(one) for one in found),
        kind="trial",
    )


def _trial_row(one: Trial) -> Row:
    span = f"{bare(one.start, one.unit)} {ARROW} {bare(one.end, one.unit)}"
    inch = f"  {inches(one.end)}" if one.unit == MM else ""
    first = Cell(kind=TICK) if one.what else Cell()
    return Row(
        (
            first,
            Cell((text(strong(one.what)),)),
            Cell((text(one.how),)),
            Cell((text(small(one.seen)),)),
            Cell((text(strong(span), small(inch)),), FIGURE),
            Cell(kind=BOX),
        ),
        heads=False,
    )


def _undo(chosen: Chosen) -> tuple[Block, ...]:
    for_ever = for_good(chosen.plan)
    if not for_ever:
        return ()
    words = f"{joined(for_ever)}. Nothing of it before this card is signed."
    return (Paragraph(text(strong("The plan cannot be undone: "), words), "left"),)


def _hoses(chosen: Chosen) -> tuple[Block, ...]:
    checks = hose_checks(chosen)
    if not checks:
        words = "No hose or cable has to be longer: the bar's end of them stays where it is."
        return (Paragraph(text(words), "left"),)
    head = (
        "Hose or cable",
        "Longer by",
        "Spare",
        "Expected",
        "Left, out",
        "Left, in",
        "Right, out",
        "Right, in",
    )
    return (
        Table(
            caption="Hoses: what is asked for, what is spare, and room for what is left",
            head=head,
            rows=tuple(_hose_row(one) for one in checks),
            kind="hoses",
        ),
        Paragraph(text(small("Boxes: spare in mm at each lock, fork out and in.")), "left"),
    )


def _hose_row(check: Check) -> Row:
    longer = figure(check.value, MM, signed=True) if isfinite(check.value) else "not known"
    spare = figure(check.limit, MM) if isfinite(check.limit) else "not taped"
    return Row(
        (
            Cell((text(check.words.partition(":")[0].partition(",")[0]),)),
            Cell((text(longer),), FIGURE),
            Cell((text(spare),), FIGURE),
            _verdict(check),
            *(Cell(kind=BOX) for _ in range(4)),
        ),
        "missed" if check.ok is False else "plain",
    )


def _verdict(check: Check) -> Cell:
    words = expected(check)
    marked = strong(words.upper()) if check.ok is False else small(words)
    return Cell((text(marked),))


def _clearances(chosen: Chosen) -> tuple[Block, ...]:
    checks = clearance_checks(chosen)
    heading = Heading("Room at full lock", "gloved hands on the grips")
    if not checks:
        words = "Nothing that stays was taped: turn to both locks and write what comes near."
        return (heading, Paragraph(text(words)), Boxes(("Fist", "Thumb", "Bar end")))
    table = Table(
        caption="Expected room of fists, thumbs and bar ends, with boxes for what was measured",
        head=("What to what", "Expected", "", "Left", "Right"),
        rows=tuple(_clearance_row(one) for one in checks),
        kind="room",
    )
    limit = figure(checks[0].limit, MM)
    return (heading, table, Paragraph(text(small(f"At least {limit}; below 0 they meet."))))


def _clearance_row(check: Check) -> Row:
    words = check.words.removesuffix(", lock to lock").removeprefix("either ")
    return Row(
        (
            Cell((text(user(words)),)),
            Cell((text(strong(figure(check.value, MM))),), FIGURE),
            _verdict(check),
            Cell(kind=BOX),
            Cell(kind=BOX),
        ),
        "missed" if check.ok is False else "plain",
    )


def _rider(chosen: Chosen) -> tuple[Block, ...]:
    rows = standing_numbers(chosen) if chosen.stands else _sitting(chosen)
    table = Table(
        caption="The rider's numbers to tape, as wished and as expected, with empty boxes",
        head=("With the rider on", "Wished", "Expected", "First", "Again"),
        rows=tuple(map(_rider_row, rows)),
        kind="sat",
    )
    on_it = "arches on the pegs" if chosen.stands else "feet on the pegs"
    return (Heading("Tape with the rider on", f"in riding gear, {on_it}"), table)


def _sitting(chosen: Chosen) -> Iterator[Expected]:
    """The numbers of a seated use, as wished and as the plan lets expect them."""
    for row in number_rows(chosen.transfer):
        if isfinite(row.tolerance):
            after = number_of(chosen.plan.after, row.key)
            yield Expected(row.key, row.words, row.unit, row.target, after, row.tolerance)


def _rider_row(row: Expected) -> Row:
    wished = (
        text(figure(row.wished, row.unit), small(f" {tolerance(row.tolerance, row.unit)}"))
        if isfinite(row.wished)
        else text(small("no wish"))
    )
    after = row.expected
    there = text(figure(after, row.unit)) if isfinite(after) else text(gap("no figure"))
    return Row(
        (
            Cell((text(row.words),)),
            Cell((wished,), FIGURE),
            Cell((there,), FIGURE),
            Cell(kind=BOX),
            Cell(kind=BOX),
        )
    )


def _also(chosen: Chosen) -> tuple[Block, ...]:
    lines: Sequence[str] = other_checks(chosen)
    if not lines:
        return ()
    return (Heading("Look at this too"), Items(items=tuple(text(one) for one in lines)))
