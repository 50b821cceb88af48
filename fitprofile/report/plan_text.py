"""The chosen plan as plain lines for a terminal: what to do, what remains, what to look at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite
from typing import NamedTuple

from fitprofile.report.check_blocks import FAILS, LOOK, held_words, together, words_of, worst_first
from fitprofile.report.plan_blocks import plan_head, remaining, whose_figures
from fitprofile.report.plan_steps import plan_steps
from fitprofile.report.plan_table import merged
from fitprofile.report.plan_words import lean_words, misses
from fitprofile.report.step import Move, Step
from fitprofile.report.uses import use_lines
from fitprofile.report.wording import MM, figure, inches
from fitprofile.stages.check import Check
from fitprofile.stages.offer import Offer, Offers
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan

LEAVE = "Nothing to change: every number is inside its tolerance."


class Line(NamedTuple):
    """Words of one entry, what stands before its first line, and before the others."""

    words: str
    first: str = ""
    then: str = ""


def plan_lines(transfer: Transfer, offers: Offers) -> Iterator[Line]:
    """The chosen plan of a transfer, as it is to be wrapped to the terminal's width.

    Parameters
    ----------
    transfer : Transfer
    offers : Offers
        Its plans.
    """
    chosen = offers.chosen
    yield from job_lines(transfer, chosen, "; ".join(remaining(transfer, chosen.plan)))
    yield from _uses(transfer, chosen)
    yield from _others(transfer, offers)


def job_lines(transfer: Transfer, chosen: Offer, left: str) -> Iterator[Line]:
    """One plan: what to do, what it leaves outside, and what to look at.

    ``left`` is what stays outside in words; empty: nothing does.
    """
    plan = chosen.plan
    yield Line(f"What to do, {plan_head(transfer, plan)} ({whose_figures(transfer)}):")
    steps = plan_steps(transfer, plan)
    if not steps:
        yield Line(LEAVE if plan.inside else "No listed part and no adjustment helps.", "  ", "  ")
    for number, step in enumerate(steps, start=1):
        yield from _step(number, step)
    if left:
        yield Line("")
        yield Line(f"Still outside: {left}.", "", "  ")
    yield from _checks(chosen.checks)


def plan_line(transfer: Transfer, plan: Plan) -> str:
    """One plan in a line: name, cost, parts, and whether every number comes inside."""
    parts = "; ".join(part.name for part in plan.choice.parts())
    return (
        f"{plan_head(transfer, plan)}{f' ({parts})' if parts else ''}, {_verdict(transfer, plan)}"
    )


def _step(number: int, step: Step) -> Iterator[Line]:
    """One numbered step, and what of it cannot be undone."""
    part = ", ".join(words for words in (step.part, step.price) if words)
    moves = ", ".join(map(_move, step.moves))
    words = ": ".join(words for words in (step.what, part, moves) if words)
    yield Line(f"{number}. {words}", "  ", "     ")
    for remark in step.remarks:
        yield Line(remark, "     ", "     ")
    if step.for_good:
        yield Line(f"cannot be undone: {step.for_good}", "     ", "     ")


def _move(move: Move) -> str:
    if not isfinite(move.change):
        return f"{move.seen} {figure(move.end, move.seen_unit)}"
    inch = f" ({inches(move.change, signed=True)})" if move.unit == MM else ""
    return f"{move.words} {figure(move.printed, move.unit, signed=True)}{inch}"


def _checks(checks: Sequence[Check]) -> Iterator[Line]:
    """Checks that fail with figure and limit, and names of those to look at."""
    groups = together(worst_first(checks))
    fails = [group for group in groups if group[0].ok is False]
    looks = [words_of(group) for group in groups if group[0].ok is None]
    if fails or looks:
        yield Line("")
        yield Line("Workshop checks (the sheet says how each comes about):")
    for group in fails:
        held = held_words(group[0])
        yield Line(f"{FAILS}: {words_of(group)}{f': {held}' if held else ''}", "  ", "    ")
    if looks:
        yield Line(f"{LOOK}: {'; '.join(looks)}", "  ", "    ")


def _uses(transfer: Transfer, chosen: Offer) -> Iterator[Line]:
    """What the plan gives and costs each use, where the rider has several."""
    lines = tuple(use_lines(transfer, chosen))
    if lines:
        yield Line("")
        yield Line("Each use with this plan:")
    for words in lines:
        yield Line(words, "  ", "    ")


def _others(transfer: Transfer, offers: Offers) -> Iterator[Line]:
    """The other plans, a line each."""
    chosen = offers.chosen.plan.name
    groups = [group for group in merged(offers) if chosen not in {one.plan.name for one in group}]
    if groups:
        yield Line("")
        yield Line("Other plans (--plan NAME):")
    for group in groups:
        yield Line(_other(transfer, group), "  ", "    ")


def _other(transfer: Transfer, group: Sequence[Offer]) -> str:
    names = " = ".join(one.plan.name for one in group)
    return f"{names}: {plan_line(transfer, group[0].plan).partition(': ')[2]}"


def _verdict(transfer: Transfer, plan: Plan) -> str:
    """Whether every number comes inside, and how the rider leans for that."""
    many = len(misses(transfer, plan))
    if plan.inside:
        inside = "inside every tolerance"
    elif many:
        inside = f"{many} number{'s' if many > 1 else ''} outside"
    else:
        inside = "another use stays outside"
    return ", ".join(filter(None, (inside, lean_words(transfer, plan))))
