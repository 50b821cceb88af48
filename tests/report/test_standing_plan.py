"""Plans of a standing use on the terminal and on its sheet."""

from __future__ import annotations

import re

import pytest
from attrs import evolve

from fitprofile.report.standing_sheet import standing_sheet
from fitprofile.report.standing_text import standing_garage, standing_text
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import CLOSEST, FREE
from tests.report import cards
from tests.report.tables import all_words
from tests.stages.test_standing_plans import made

DATE = "2026-11-29"


def picked(name: str, transfer: Transfer | None = None) -> Transfer:
    found = made(gear=8.0) if transfer is None else transfer
    assert found.offers is not None
    return evolve(found, offers=evolve(found.offers, picked=name))


@pytest.mark.parametrize("name", [FREE, CLOSEST])
def test_terminal_and_sheet_tell_the_same_plan(name: str) -> None:
    """Its parts, its steps, what stays outside with how far, what it costs those who sit."""
    transfer = picked(name)
    assert transfer.offers is not None
    plan = transfer.offers.chosen.plan
    said = re.sub(r"\s+", " ", standing_text(transfer, "trail"))
    told = re.sub(r"\s+", " ", all_words(standing_sheet(transfer, "trail", DATE).blocks))
    for part in plan.choice.parts():
        assert part.name in said
        assert part.name in told
    for words in ("Set the brake pedal up", "road: "):
        assert words in said
        assert words in told
    assert ("Still outside" in said) == (not plan.inside)
    assert ("Still outside" in told) == (not plan.inside)


def test_what_stays_outside_is_off_by_the_printed_figures() -> None:
    """Off by as much as the table's columns differ, to the rounding."""
    transfer = picked(FREE, made(above=750.0))
    assert transfer.offers is not None
    after = transfer.offers.chosen.standing["trail"]
    target = transfer.standing["trail"].target
    off = float(after.grip_above_peg_mm - target.grip_above_peg_mm)
    said = re.sub(r"[\s\u00a0\u202f]+", " ", standing_text(transfer, "trail"))
    way = "high" if off > 0.0 else "low"
    (figure,) = re.findall(rf"grips above the peg (\d+) mm too {way}", said)
    assert abs(off) == pytest.approx(float(figure), abs=0.51)
    assert abs(off) > 10.0


def test_the_numbers_after_are_those_of_the_plan() -> None:
    """And not of the practical answer that stands beside it."""
    transfer = picked(CLOSEST)
    assert transfer.offers is not None
    after = round(float(transfer.offers.chosen.standing["trail"].grip_above_peg_mm))
    row = next(
        line for line in standing_text(transfer, "trail").splitlines() if "Grips above" in line
    )
    assert f"{after}\u00a0mm" in row or f"{after} mm" in row


def test_the_sheet_takes_two_pages_on_either_paper() -> None:
    """Plan, workshop checks, stop checks and signature."""
    for pages, text in cards.read_pdf(standing_sheet(picked(CLOSEST), "trail", DATE)).values():
        assert pages <= 2
        assert "Signature" in text
        assert "Workshop checks" in text


def test_bikes_side_by_side_tell_their_plans() -> None:
    """Parts and verdict in a line, and what stays outside; without a shelf the bare changes."""
    transfer = picked(CLOSEST, made(above=750.0))
    assert transfer.offers is not None
    said = re.sub(r"\s+", " ", standing_garage([transfer], "trail"))
    assert "closest plan: " in said
    for part in transfer.offers.chosen.plan.choice.parts():
        assert part.name in said
    assert "still outside: grips above the peg" in said
    bare = standing_garage([evolve(transfer, offers=None)], "trail")
    assert "riser height +" in bare
    assert "plan:" not in bare
