"""The shopping list: every part of the chosen plans of several bikes, and what it comes to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import fsum, isfinite

from fitprofile.model.parts import WITHOUT
from fitprofile.model.rider import Rider
from fitprofile.report.card_blocks import remark_blocks
from fitprofile.report.checks import CAUTIONS
from fitprofile.report.garage import Failed
from fitprofile.report.page import (
    FIGURE,
    TICK,
    Block,
    Cell,
    Heading,
    Items,
    Page,
    Paragraph,
    Row,
    Section,
    Table,
    Text,
    flag,
    gap,
    strong,
    text,
    user,
)
from fitprofile.report.plan_blocks import whose_figures
from fitprofile.report.plan_words import (
    KINDS,
    cost_words,
    for_good,
    is_bought,
    kind_of,
    lost_words,
    misses,
    money,
    time_words,
)
from fitprofile.report.wording import MM, figure, joined
from fitprofile.stages.check import Check
from fitprofile.stages.offer import Offer, Offers
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan
from fitprofile.values import frozen


@frozen(kw_only=True)
class Wanted:
    """One part of the list: what it is, for which bikes, and its price each."""

    name: str
    kind: str
    bikes: tuple[str, ...]
    price: float

    @property
    def count(self) -> int:
        """How many are bought."""
        return len(self.bikes)

    @property
    def total(self) -> float:
        """Price of all of them."""
        return self.count * self.price


@frozen
class Chosen:
    """One bike with the plan that is bought for it; ``asked`` says whether it is the one named.

    ``stands`` is the standing use that the plan is of; empty: it is of the transfer's own.
    """

    transfer: Transfer
    offer: Offer
    asked: bool = True
    stands: str = ""

    @property
    def use(self) -> str:
        """What the plan is made for."""
        return self.stands or self.transfer.use

    @property
    def plan(self) -> Plan:
        """The plan itself."""
        return self.offer.plan

    @property
    def offers(self) -> Offers:
        """Every plan of that bike."""
        if self.transfer.offers is None:
            raise ValueError("plans were not asked for")
        return self.transfer.offers

    @property
    def cost(self) -> str:
        """What the plan comes to, in words."""
        return cost_words(self.offers, self.plan)


def choose(transfer: Transfer, plan: str | None, stands: str = "") -> Chosen:
    """The plan of one bike that is bought: the one named, else the one its sheet prints.

    ``stands`` is the standing use that the transfer's plans are of; empty: they are of its own.

    Raises
    ------
    ValueError
        Where the transfer has no plans.
    """
    if transfer.offers is None:
        raise ValueError("plans were not asked for")
    named = transfer.offers.chosen if plan is None else transfer.offers.named(plan)
    return Chosen(transfer, named or transfer.offers.chosen, named is not None, stands)


def wanted(chosen: Sequence[Chosen]) -> tuple[Wanted, ...]:
    """Parts to buy, by kind in the catalogue's order, then by name; each name once."""
    bikes: dict[str, list[str]] = {}
    parts = {}
    for one in chosen:
        for part in one.plan.choice.parts():
            if is_bought(part):
                parts[part.name] = part
                bikes.setdefault(part.name, []).append(one.transfer.bike.key)
    order = list(KINDS)
    listed = [
        Wanted(
            name=name,
            kind=kind_of(part),
            bikes=tuple(bikes[name]),
            price=float(part.price.value),
        )
        for name, part in parts.items()
    ]
    return tuple(sorted(listed, key=lambda one: (order.index(one.kind), one.name)))


def listed(chosen: Sequence[Chosen]) -> bool:
    """Whether the shop lists parts at all."""
    return any(one.offers.listed for one in chosen)


def also_needed(one: Chosen) -> Iterator[str]:
    """What the plan's checks ask for besides: longer hoses, another diameter, something off."""
    for part in one.plan.choice.parts():
        if not is_bought(part):
            yield f"{part.name.removeprefix(WITHOUT)} is taken off, nothing to buy"
    failing = [check for check in one.offer.checks if check.ok is False]
    short = [check for check in failing if check.what.startswith("hose")]
    if short:
        yield f"longer than they are, and not on this list: {'; '.join(map(_short, short))}"
    for check in failing:
        if check.what.startswith("diameter"):
            yield f"{check.words}: {check.why}"


def _short(check: Check) -> str:
    """A hose that is too short: by how much more it must reach, and what it has to spare."""
    spare = f"{figure(check.limit, MM)} to spare" if isfinite(check.limit) else "spare not taped"
    return f"{check.words.partition(':')[0]} {figure(check.value, MM, signed=True)} ({spare})"


def shopping_page(
    rider: Rider,
    use: str,
    chosen: Sequence[Chosen],
    failed: Sequence[Failed],
    currency: str,
    date: str,
) -> Page:
    """The list for one rider and several bikes.

    Parameters
    ----------
    chosen : sequence of Chosen
        In the order in which the bikes are listed.
    failed : sequence of Failed
        Bikes for which there is no plan.
    currency : str
        Of the catalogue's prices, empty where it says none.
    date : str
        Day of printing, as it is to be read.
    """
    parts = wanted(chosen)
    return Page(
        title=f"Shopping list: {rider.name}",
        kind="Shopping list",
        heading=text(user(rider.name)),
        facts=_facts(use, chosen, parts, currency),
        date=date,
        blocks=(
            Heading("Parts to buy", "one list for all the bikes below"),
            *_parts(chosen, parts, currency),
            *remark_blocks([one.transfer for one in chosen]),
            Heading("Bike by bike", "the plan that the parts belong to"),
            _bikes(chosen, failed, currency),
            *_list("What else it takes", _besides(chosen)),
            *_list("What no listed part mends", _lost(chosen), "sources"),
            *_list("What cannot be undone", _undo(chosen)),
            Section((Paragraph(text(" ".join((*_whose(chosen), BEFORE, *CAUTIONS)))),), "cautions"),
        ),
    )


def _whose(chosen: Sequence[Chosen]) -> tuple[str, ...]:
    """Whose figures prices and minutes are, as a sentence; nothing where no bike has a plan."""
    told = {whose_figures(one.transfer): None for one in chosen}
    return tuple(f"{words[:1].upper()}{words[1:]}." for words in told)


BEFORE = (
    "Before anything is ordered: dry-fit on packers, both locks, fork extended and compressed; "
    "measure diameters with a caliper."
)


def _facts(
    use: str, chosen: Sequence[Chosen], parts: Sequence[Wanted], currency: str
) -> tuple[tuple[str, Text], ...]:
    total = fsum(one.total for one in parts)
    minutes = fsum(one.plan.minutes for one in chosen)
    bought = (
        ("Parts", text(str(sum(one.count for one in parts)))),
        ("Sum", text(money(total, currency))),
    )
    return (
        ("Use", text(user(use))),
        ("Bikes", text(str(len(chosen)))),
        *(bought if listed(chosen) else ()),
        ("Work", text(time_words(minutes))),
    )


def _parts(chosen: Sequence[Chosen], parts: Sequence[Wanted], currency: str) -> tuple[Block, ...]:
    if not parts:
        why = "Nothing to buy" if listed(chosen) else "No part is listed"
        return (Paragraph(text(f"{why}: the plans are free adjustments."), "left"),)
    names = {one.transfer.bike.key: one.transfer.bike.name for one in chosen}
    rows = [_part_row(one, names, currency) for one in parts]
    total = fsum(one.total for one in parts)
    last = Row(
        (
            Cell((text(strong("All of it")),), columns=4),
            Cell((text(strong(str(sum(one.count for one in parts)))),), FIGURE),
            Cell(),
            Cell((text(strong(money(total, currency))),), FIGURE),
        ),
        "total",
        heads=False,
    )
    return (
        Table(
            caption="Parts to buy, with how many, for which bikes, and the price",
            head=("", "Part", "Kind", "For", "How many", "Each", "Sum"),
            rows=(*rows, last),
            kind="parts",
        ),
    )


def _part_row(one: Wanted, names: dict[str, str], currency: str) -> Row:
    return Row(
        (
            Cell(kind=TICK),
            Cell((text(user(one.name)),)),
            Cell((text(KINDS[one.kind]),)),
            Cell(tuple(text(user(names[key])) for key in one.bikes)),
            Cell((text(str(one.count)),), FIGURE),
            Cell((text(money(one.price, currency)),), FIGURE),
            Cell((text(money(one.total, currency)),), FIGURE),
        ),
        heads=False,
    )


def _bikes(chosen: Sequence[Chosen], failed: Sequence[Failed], currency: str) -> Table:
    lost = [
        Row(
            (
                Cell((text(user(one.name)),)),
                Cell(
                    tuple(text(gap("no plan: "), user(p.sentence())) for p in one.problems),
                    columns=4,
                ),
            ),
            "missing",
        )
        for one in failed
    ]
    return Table(
        caption="Each bike's plan with its price, its time, and whether it is inside tolerance",
        head=("Bike", "Plan", "Parts", "Work", "Inside every tolerance"),
        rows=(*(_bike_row(one, currency) for one in chosen), *lost),
        kind="bought",
    )


def _bike_row(one: Chosen, currency: str) -> Row:
    plan = one.plan
    price = money(plan.price, currency) if one.offers.listed else "not listed"
    kind = (
        text(plan.name) if one.asked else text(plan.name, flag(" the one asked for is not there"))
    )
    off = misses(one.transfer, plan)
    inside = text(strong("yes")) if plan.inside else text(strong("no: "), "; ".join(off))
    return Row(
        (
            Cell((text(user(one.transfer.bike.name)),)),
            Cell((kind,)),
            Cell((text(price),), FIGURE),
            Cell((text(time_words(plan.minutes)),), FIGURE),
            Cell((inside,)),
        )
    )


def _list(heading: str, items: Sequence[Text], kind: str = "plain") -> tuple[Block, ...]:
    return (Heading(heading), Items(items=tuple(items), kind=kind)) if items else ()


def _besides(chosen: Sequence[Chosen]) -> list[Text]:
    return [_of(one, words) for one in chosen for words in _joined(also_needed(one))]


def _lost(chosen: Sequence[Chosen]) -> list[Text]:
    return [
        _of(one, words)
        for one in chosen
        if not one.plan.inside
        for words in _joined(lost_words(one.transfer))
    ]


def _undo(chosen: Sequence[Chosen]) -> list[Text]:
    return [_of(one, f"{joined(for_good(one.plan))}.") for one in chosen if one.plan.cannot_undo]


def _joined(lines: Iterator[str]) -> tuple[str, ...]:
    """All of a bike's sentences as one."""
    words = "; ".join(lines)
    return (f"{words}.",) if words else ()


def _of(one: Chosen, words: str) -> Text:
    return text(user(one.transfer.bike.name), f": {words}")
