"""The chosen plan as the job of a sheet: its steps, parts, what remains, and its chance."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from fitprofile.report.garage import exact_lines
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
    small,
    strong,
    text,
    user,
)
from fitprofile.report.plan_steps import plan_work
from fitprofile.report.plan_words import is_bought, mending, misses, money, time_words
from fitprofile.report.step import Move, Step
from fitprofile.report.wording import ARROW, MM, bare, chance_words, figure, inches, joined
from fitprofile.report.work_table import LEADS
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan


def whose_figures(transfer: Transfer) -> str:
    """Whose figures the prices and minutes of a transfer's plans are."""
    if transfer.offers is None or not transfer.offers.listed:
        return "minutes are guesses, no shop's figures"
    if transfer.offers.guessed:
        return "prices and minutes as listed, minutes of adjustments partly guessed"
    return "prices and minutes are the shop's own figures"


NOTHING = "nothing to buy"


def plan_head(transfer: Transfer, plan: Plan) -> str:
    """``cheapest plan: 2 parts, 170 EUR, 2 h 24 min``."""
    currency = "" if transfer.offers is None else transfer.offers.currency
    many = sum(is_bought(part) for part in plan.choice.parts())
    parts = f"{many} part{'s' if many > 1 else ''}, {money(plan.price, currency)}"
    return f"{plan.name} plan: {parts if many else NOTHING}, {time_words(plan.minutes)}"


def plan_job(transfer: Transfer, plan: Plan) -> tuple[Block, ...]:
    """The plan in the order of work, with its parts and what remains outside."""
    return (
        *job_blocks(transfer, plan),
        *_line("Exact changes, for reference: ", _exact(transfer)),
        *_line("Still outside: ", _remains(transfer, plan)),
    )


def job_blocks(transfer: Transfer, plan: Plan) -> tuple[Block, ...]:
    """Every step of a plan in the order of work, to be ticked."""
    rows: list[Row] = []
    phase = ""
    for number, step in enumerate(plan_work(transfer, plan), start=1):
        rows += _rows(step, number, first=step.phase != phase)
        phase = step.phase
    return (
        Heading(
            "What to do, in this order", f"{plan_head(transfer, plan)}; {whose_figures(transfer)}"
        ),
        Table(
            caption="The plan in the order of work",
            head=("", "", "What", "Seen as", "Change", "Tool, caution", "Torque"),
            rows=tuple(rows),
            kind="planned",
        ),
    )


def plan_chance(done: Transfer) -> tuple[Block, ...]:
    """How likely the plan is to do at the first try, and the measurement that matters most."""
    before, chance, behind = plan_chance_parts(done)
    said = Paragraph(text(before, strong(chance), behind))
    blocks: tuple[Block, ...] = (Heading("How far to trust it"), said)
    if done.matters_most:
        words = text("The measurement that matters most: ", strong(done.matters_most), ".")
        blocks = (*blocks, Paragraph(words))
    return blocks


def plan_chance_parts(done: Transfer) -> tuple[str, str, str]:
    """The chance of a transfer as planned: words before it, the chance, words behind it."""
    many = len(done.practical.missed)
    if many:
        stay = f"{many} number{'s stay' if many > 1 else ' stays'} outside tolerance"
        return "With this plan ", stay, "."
    lead = "Every number inside its tolerance at the first try, with this plan: "
    return lead, chance_words(done.chance), "."


def remaining(transfer: Transfer, plan: Plan) -> Iterator[str]:
    """What the plan leaves outside and by how much, then what would mend it; sentences."""
    off = misses(transfer, plan)
    if not off:
        return
    yield joined(off)
    yield from mending(transfer, plan)


def _line(lead: str, words: Text) -> tuple[Block, ...]:
    return (Paragraph(text(strong(lead), *words), "beside"),) if words else ()


def _exact(transfer: Transfer) -> Text:
    """The exact answer in a line: what the plan comes near to with parts that are listed."""
    if not transfer.practical.found_outside:
        return ()
    return text(f"{'; '.join(exact_lines(transfer))}.")


def _remains(transfer: Transfer, plan: Plan) -> Text:
    words = "; ".join(remaining(transfer, plan))
    return text(f"{words}.") if words else ()


def _rows(step: Step, number: int, *, first: bool) -> Iterator[Row]:
    """One step, and marked lines below it: what to look at, what cannot be undone."""
    tick, count = Cell(kind=TICK), Cell((text(str(number)),), FIGURE)
    if step.moves:
        yield Row((tick, count, *_cells(step)), "change", heads=False)
    else:
        lead = strong(f"{step.phase}. ") if first and step.phase in LEADS else ""
        words = Cell((text(lead, step.what),), columns=5)
        yield Row((tick, count, words), "routine", heads=False)
    for remark in step.remarks:
        said = Cell((text(flag("Look: "), remark),), columns=5)
        yield Row((Cell(), Cell(), said), "undo", heads=False)
    if step.for_good:
        words = Cell((text(flag("Cannot be undone: "), f"{step.for_good}."),), columns=5)
        yield Row((Cell(), Cell(), words), "undo", heads=False)


def _named(step: Step) -> Text:
    """The order with the part that it fits, and its price."""
    if not step.part:
        return text(strong(step.what))
    price = small(f", {step.price}") if step.price else ""
    return text(strong(f"{step.what}:"), " ", user(step.part), price)


def _cells(step: Step) -> tuple[Cell, ...]:
    return (
        Cell((_named(step), text(small(step.hint)))),
        Cell(tuple(line for move in step.moves for line in _seen(move)), FIGURE),
        Cell(tuple(line for move in step.moves for line in _change(move)), FIGURE),
        Cell((text(step.tool), text(small(step.caution)))),
        Cell(kind=BOX if step.torque else "nothing"),
    )


def _seen(move: Move) -> tuple[Text, ...]:
    return text(seen_words(move)), text(small(move.seen))


def seen_words(move: Move) -> str:
    """``1036 → 1045``; only the figure to come where a new part has none before."""
    end = bare(move.end, move.seen_unit)
    if not isfinite(move.start):
        return end
    return f"{bare(move.start, move.seen_unit)} {ARROW} {end}"


def _change(move: Move) -> tuple[Text, ...]:
    if not isfinite(move.change):
        return (text(strong("set")), text(small("by straightedge")))
    beside = inches(move.change, signed=True) if move.unit == MM else ""
    shown = strong(figure(move.printed, move.unit, signed=True))
    return (text(shown, small(f"  {beside}" if beside else "")), text(small(move.words)))
