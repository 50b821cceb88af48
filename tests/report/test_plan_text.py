"""A plan on a terminal: steps, what remains, checks, the other plans."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.report.plan_text import LEAVE, plan_line, plan_lines
from fitprofile.report.terminal import garage_text, transfer_text
from fitprofile.stages.outcome import Transfer
from tests.report.cards import SPORT, STOOD, TWIN, planned


def words(made: Transfer) -> str:
    assert made.offers is not None
    lines = "\n".join(line.words for line in plan_lines(made, made.offers))
    return lines.replace("\N{NO-BREAK SPACE}", " ")


def test_steps_parts_and_prices_are_told() -> None:
    """In the order of work, numbered."""
    made = planned(STOOD)
    assert made.offers is not None
    told = words(made)
    for part in made.offers.chosen.plan.choice.parts():
        assert f": {part.name}, " in told
    assert "\n1. " in told
    assert "minutes of adjustments partly guessed" in told


def test_what_fails_has_figure_and_limit() -> None:
    """What is to be looked at only its name."""
    made = planned(TWIN)
    told = words(made)
    assert "fails: front brake hose: extra length: " in told
    assert "at most 5 mm" in told
    assert "look: " in told


def test_other_plans_are_a_line_each() -> None:
    """Not the one printed, nor one like it."""
    made = planned(STOOD)
    assert made.offers is not None
    told = words(made).partition("Other plans")[2]
    assert told.count("\n") >= 1
    assert f"\n{made.offers.chosen.plan.name}: " not in told


def test_a_bike_that_fits_is_left_alone() -> None:
    """No step, and it is said."""
    made = planned(STOOD)
    assert made.offers is not None
    free = made.offers.offers[0]
    still = evolve(free, plan=evolve(free.plan, steps=(), cannot_undo=(), inside=True))
    assert LEAVE in words(evolve(made, offers=evolve(made.offers, offers=(still,))))


@pytest.mark.parametrize("width", [60, 80, 120])
def test_every_line_fits_the_terminal(width: int) -> None:
    """Sheets' text and the comparison."""
    for bike in (TWIN, SPORT, STOOD):
        for line in transfer_text(planned(bike), width).splitlines():
            assert len(line) <= width, line
    text = garage_text([planned(TWIN), planned(SPORT)], [], max(width, 80), "money")
    assert all(len(line) <= max(width, 80) for line in text.splitlines())


def test_the_comparison_says_each_plan() -> None:
    """With parts and verdict."""
    made = planned(STOOD)
    assert made.offers is not None
    plan = made.offers.chosen.plan
    line = plan_line(made, plan)
    assert line.startswith(f"{plan.name} plan: ")
    assert line.endswith("inside every tolerance" if plan.inside else "outside")
    text = garage_text([made], [], 200)
    assert line in text
