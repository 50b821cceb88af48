"""The measurement after the work in words and as a record."""

from __future__ import annotations

import json

import pytest

from fitprofile.model.quantity import Reading
from fitprofile.report.verification import verification_record, verification_text
from fitprofile.stages.verify import Verification, verify
from tests import contract
from tests.stages.invented import SHOP
from tests.stages.test_verify import entry, made

DONE = made()
WIDE = 400


def off(**by: float) -> Verification:
    """Numbers so far off the target, mm and degrees."""
    target = {
        "navel_to_bar": DONE.target.navel_to_bar_mm,
        "forearm_angle": DONE.target.forearm_angle_deg,
        "knee_angle": DONE.target.knee_angle_deg,
        "bar_width": 745.0,
    }
    read = {name: Reading(float(target[name]) + value) for name, value in by.items()}
    return verify(DONE, entry(**read), SHOP)


def test_each_number_says_what_to_do() -> None:
    """Inside; outside but the tape explains it; outside and it does not."""
    text = verification_text(off(bar_width=3.0, knee_angle=-6.0, navel_to_bar=-30.0), WIDE)
    lines = {line.split("  ")[0]: line for line in text.splitlines()}
    assert lines["Bar width"].endswith("inside")
    assert lines["Knee angle"].endswith("measure again")
    assert lines["Navel-to-bar"].endswith("change it")
    assert "no further than the tape explains" in text
    assert "by more than the tape explains" in text


def test_only_what_answers_a_miss_is_asked_for() -> None:
    """Width 3 mm off stays, the bar goes, the pegs wait for another reading."""
    text = verification_text(off(bar_width=3.0, knee_angle=-6.0, navel_to_bar=-30.0), WIDE)
    asked = text.partition("What is left to change:")[2]
    assert "Riser pullback" in asked
    assert "Bar width" not in asked
    pegs = [line for line in asked.splitlines() if "Pegs" in line]
    assert pegs
    assert all(line.endswith("once measured again") for line in pegs)


def test_everything_inside_leaves_nothing() -> None:
    """One sentence."""
    text = verification_text(off(bar_width=3.0, navel_to_bar=-4.0), WIDE)
    assert "Nothing is left to change: every measured number is inside its tolerance." in text
    assert "What is left" not in text


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_lines_stay_inside_the_terminal(width: int) -> None:
    """Down to 40 columns, where each number has lines of its own."""
    verified = off(bar_width=13.0, knee_angle=-6.0, navel_to_bar=-30.0, forearm_angle=4.0)
    text = verification_text(verified, width)
    assert max(len(line) for line in text.splitlines()) <= width
    for words in ("Bar width", "Knee angle", "Navel-to-bar", "Forearm angle", "change it"):
        assert words in text


def test_the_record_has_the_contract_s_keys() -> None:
    """Null for what is not there, full precision, and nothing that JSON does not know."""
    verified = off(navel_to_bar=-30.0)
    record = verification_record(verified)
    assert json.loads(json.dumps(record, allow_nan=False)) == record
    top = {"rider", "bike", "use", "entry", "numbers", "inside", "left", "problems"}
    assert top <= set(record)
    assert set(contract.EXACT) == set(record["left"])
    (number,) = record["numbers"]
    assert set(number) == {
        "number",
        "measured",
        "target",
        "difference",
        "tolerance",
        "inside",
        "give_or_take",
        "explained",
    }
    assert number["difference"] == pytest.approx(-30.0)
    assert record["left"]["bar_width_change_mm"] is None
    assert record["inside"] is False
    assert record["entry"]["when"] == "after"
