"""Plans from real parts for a standing use: the job, what remains, the others; text and sheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isfinite

from fitprofile.report.check_blocks import check_blocks
from fitprofile.report.page import Block, Heading, Items, Paragraph, strong, text
from fitprofile.report.plan_blocks import job_blocks, plan_head
from fitprofile.report.plan_table import merged
from fitprofile.report.plan_text import Line, job_lines
from fitprofile.report.plan_words import remedy_words
from fitprofile.report.uses import outside_words
from fitprofile.report.wording import NUMBERS, STANDING, figure, joined
from fitprofile.stages.as_planned import checks_as_found
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.offer import Offer, Offers
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import CLOSEST, Plan
from fitprofile.stages.standing import PEDAL_TOLERANCE, PEDALS

WAYS: Mapping[str, tuple[str, str]] = {
    "grip_above_peg": ("too high", "too low"),
    "grip_ahead_of_peg": ("too far", "too near"),
    "bar_width": ("too wide", "too narrow"),
    "lever_angle": ("too steep", "too flat"),
    "brake_pedal": ("too high", "too low"),
    "gear_lever": ("too high", "too low"),
}
"""What a number is where it lies above its wish, and below it."""


def standing_plan_lines(transfer: Transfer, offers: Offers) -> Iterator[Line]:
    """The chosen plan of a standing use, as it is to be wrapped to the terminal's width."""
    chosen = offers.chosen
    yield from job_lines(transfer, chosen, "; ".join(_remaining(transfer, offers)))
    for head, words in (
        ("What it does to the others:", _costs(chosen)),
        ("Other plans (--plan NAME):", _others(transfer, offers)),
    ):
        lines = tuple(words)
        if lines:
            yield Line("")
            yield Line(head)
        for line in lines:
            yield Line(line, "  ", "    ")


def chosen_lines(transfer: Transfer, offers: Offers) -> Iterator[str]:
    """The chosen plan in a line, and what stays outside with it."""
    plan = offers.chosen.plan
    yield f"{plan.name} plan: {_summary(transfer, plan)}"
    left = "; ".join(_remaining(transfer, offers))
    if left:
        yield f"still outside: {left}"


def standing_plan_blocks(transfer: Transfer, offers: Offers) -> tuple[Block, ...]:
    """The same for a sheet: the job to tick, what remains, other plans, workshop checks."""
    chosen = offers.chosen
    left = "; ".join(_remaining(transfer, offers))
    others = (
        *(f"this plan, {line}" for line in _costs(chosen)),
        *_others(transfer, offers),
    )
    return (
        *job_blocks(transfer, chosen.plan),
        *((Paragraph(text(strong("Still outside: "), f"{left}."), "beside"),) if left else ()),
        *(
            (Heading("Other uses, other plans"), Items(items=tuple(map(text, others))))
            if others
            else ()
        ),
        *check_blocks(chosen.checks, checks_as_found(transfer)),
    )


def _remaining(transfer: Transfer, offers: Offers) -> Iterator[str]:
    """What the chosen plan leaves outside and by how much, and what would mend it."""
    plan = offers.chosen.plan
    off = [off_words(transfer, key, off) for key, off in plan.deviations.items() if _out(off)]
    if not off:
        return
    yield joined(off)
    if plan.name == CLOSEST:
        yield from map(remedy_words, offers.remedies)


def _out(misfit: float) -> bool:
    return abs(misfit) > INSIDE


def off_words(transfer: Transfer, name: str, misfit: float) -> str:
    """``grips above the peg 33 mm too low``."""
    words, unit = STANDING.get(name) or NUMBERS[name]
    part = name.partition(".")[0]
    first, _, side = words.partition(", ")
    number = f"{side} {first.lower()}" if side else first.lower()
    if not isfinite(misfit):
        return f"{number} out of reach"
    allowed = PEDAL_TOLERANCE if part in PEDALS else transfer.tolerances[_scale(part)]
    more, less = WAYS.get(part, ("too much", "too little"))
    return f"{number} {figure(abs(misfit) * allowed, unit)} {more if misfit > 0.0 else less}"


def _scale(name: str) -> str:
    """Number whose tolerance holds for a place of the grips."""
    return "navel_to_bar" if name.startswith("grip_a") else name


def _costs(chosen: Offer) -> Iterator[str]:
    """What the plan gives every other use of the rider."""
    for use, found in chosen.others.items():
        yield f"{use}: {outside_words(found)}"


def _others(transfer: Transfer, offers: Offers) -> Iterator[str]:
    """The other plans, a line each."""
    mine = offers.chosen.plan.name
    for group in merged(offers):
        names = [one.plan.name for one in group]
        if mine in names:
            continue
        yield f"{' = '.join(names)}: {_summary(transfer, group[0].plan)}"


def _summary(transfer: Transfer, plan: Plan) -> str:
    """``2 parts, 108 EUR, 2 h (Packer 10; Bar 810), 3 numbers outside``."""
    parts = "; ".join(part.name for part in plan.choice.parts())
    cost = plan_head(transfer, plan).partition(": ")[2]
    many = sum(map(_out, plan.deviations.values()))
    outside = f"{many} number{'s' if many > 1 else ''} outside"
    verdict = outside if many else "inside every tolerance"
    return f"{cost}{f' ({parts})' if parts else ''}, {verdict}"
