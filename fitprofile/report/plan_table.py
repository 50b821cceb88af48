"""Plans of one bike side by side; plans that a workshop would do alike share a column."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import isfinite

from fitprofile.report.page import (
    Block,
    Cell,
    Heading,
    Row,
    Table,
    Text,
    gap,
    small,
    strong,
    text,
    user,
)
from fitprofile.report.plan_words import (
    alike,
    for_good,
    lean_words,
    misses,
    money,
    off_words,
    time_words,
)
from fitprofile.report.uses import balance_words
from fitprofile.report.wording import NUMBERS, STANDING, chance_words, joined
from fitprofile.stages.check import Check
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.offer import Offer, Offers
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import PLAN_NAMES

OTHER_USE = "another use stays outside"

CELL = Callable[[Offer], Text]
"""What one row says of one plan."""


def side_by_side(transfer: Transfer, found: Sequence[Check]) -> tuple[Block, ...]:
    """The plans of a transfer as columns.

    Parameters
    ----------
    transfer : Transfer
        With its plans.
    found : sequence of Check
        Of the bike as it was found: what fails there already is not counted against a plan.
    """
    offers = transfer.offers
    if offers is None:
        return ()
    columns = merged(offers)
    names = [" = ".join(one.plan.name for one in group) for group in columns]
    missing = [name for name in PLAN_NAMES if offers.named(name) is None]
    note = (
        f"no {joined(missing)} plan: no listed parts bring every number inside" if missing else ""
    )
    chosen = offers.chosen.plan.name
    head = [
        f"{name} (this sheet)" if any(one.plan.name == chosen for one in group) else name
        for name, group in zip(names, columns, strict=True)
    ]
    return (
        Heading("Plans side by side", note),
        Table(
            caption="Plans side by side: parts, cost, how close, what cannot be undone, checks",
            head=("", *head),
            rows=tuple(
                _row(label, make, columns) for label, make in _rows(transfer, offers, found)
            ),
            kind="plans",
        ),
    )


def merged(offers: Offers) -> tuple[tuple[Offer, ...], ...]:
    """Plans in their order, those alike together."""
    groups: list[list[Offer]] = []
    for offer in offers.offers:
        same = next((group for group in groups if alike(group[0].plan, offer.plan)), None)
        if same is None:
            groups.append([offer])
        else:
            same.append(offer)
    return tuple(tuple(group) for group in groups)


def _row(label: str, make: CELL, columns: Sequence[Sequence[Offer]]) -> Row:
    return Row((Cell((text(label),)), *(Cell((make(group[0]),)) for group in columns)))


def _rows(transfer: Transfer, offers: Offers, found: Sequence[Check]) -> list[tuple[str, CELL]]:
    failed = {one.what for one in found if one.ok is False}
    rows: list[tuple[str, CELL]] = [
        ("Parts", _parts),
        ("Price, work", lambda one: _cost(one, offers.currency)),
        ("Inside, worst number", lambda one: _inside(transfer, one)),
        ("Cannot be undone", lambda one: text("; ".join(for_good(one.plan)) or "nothing")),
        ("Checks that fail", lambda one: _checks(one, failed)),
    ]
    if any(lean_words(transfer, one.plan) for one in offers.offers):
        rows.insert(3, ("Lean", lambda one: text(lean_words(transfer, one.plan) or "as wished")))
    uses = dict.fromkeys(use for one in offers.offers for use in one.others)
    return rows + [(f"Cost for {use}", _other(use)) for use in uses]


def _parts(offer: Offer) -> Text:
    names = [part.name for part in offer.plan.choice.parts()]
    if not names:
        return text("none" if offer.plan.steps else "none: leave it as it is")
    spans = [span for name in names for span in (user(name), "; ")][:-1]
    return text(*spans)


def _cost(offer: Offer, currency: str) -> Text:
    return text(f"{money(offer.plan.price, currency)}, {time_words(offer.plan.minutes)}")


def _inside(transfer: Transfer, offer: Offer) -> Text:
    """Whether the plan is inside every tolerance, its chance, and the number farthest off."""
    plan = offer.plan
    worst = _worst(transfer, offer)
    if not plan.inside:
        return text(
            strong("no: "), "; ".join(misses(transfer, plan)) or OTHER_USE, small(f"; {worst}")
        )
    return text(
        strong("yes"), f"; at the first try {chance_words(float(plan.chance))}", small(f"; {worst}")
    )


def _worst(transfer: Transfer, offer: Offer) -> str:
    """The number that is farthest off, in words and in tolerances."""
    off = offer.plan.deviations
    if not off:
        return "no number is wished"
    key = max(off, key=lambda name: abs(off[name]))
    share = abs(off[key])
    name = NUMBERS[key][0].lower()
    if not isfinite(share):
        return f"worst {name}"
    away = "" if share > INSIDE else f" {off_words(transfer, offer.plan, key)}"
    return f"worst {name}{away}, {share:.1f} of its tolerance"


def _checks(offer: Offer, failed: set[str]) -> Text:
    """How many checks fail, and which of them did not as found."""
    fails = [one for one in offer.checks if one.ok is False]
    new = [one.words for one in fails if one.what not in failed]
    old = len(fails) - len(new)
    parts = []
    if new:
        parts.append(f"{len(new)}: {'; '.join(new)}")
    if old:
        parts.append(f"{old} as found")
    return text("; ".join(parts) or "none")


def _other(use: str) -> CELL:
    def words(offer: Offer) -> Text:
        off = offer.others.get(use)
        if off is None:
            return text(gap("not worked out"))
        stood = offer.standing.get(use)
        balance = "" if stood is None else balance_words(stood)
        return text("; ".join(filter(None, (_cost_words(off), balance))))

    return words


def _cost_words(off: Mapping[str, float]) -> str:
    """How many numbers of another use are outside, and the worst of them."""
    outside = [name for name, misfit in off.items() if abs(misfit) > INSIDE]
    if not outside:
        return "inside every tolerance"
    worst = max(outside, key=lambda name: abs(off[name]))
    size = abs(off[worst])
    much = f", {size:.1f} tolerances" if isfinite(size) else ", out of reach"
    known = NUMBERS.get(worst) or STANDING.get(worst)
    name = known[0].lower() if known else worst.replace("_", " ")
    return f"{len(outside)} outside; worst {name}{much}"
