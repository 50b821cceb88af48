"""The measurement after the work in words and as a record."""

from __future__ import annotations

import json

import pytest

from fitprofile.model.bike import Allows, Handlebar
from fitprofile.model.quantity import Reading
from fitprofile.report.verification import verification_record, verification_text
from fitprofile.stages.verify import Verification, verify
from tests import contract
from tests.stages.invented import SHOP, bike
from tests.stages.test_verify import OTHER, entry, made
from tests.stages.test_verify_standing import check
from tests.stages.test_verify_standing import entry as stood

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
    top = {"rider", "bike", "use", "posture", "entry", "numbers", "inside", "left", "limits"}
    assert record["posture"] == "seated"
    assert {*top, "problems"} <= set(record)
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


def test_what_the_bike_does_not_allow_stands_below_in_the_transfer_s_words() -> None:
    """Only of changes that are asked for: the width is inside, and its band is not spoken of."""
    tight = Allows(bar_width=(600.0, 700.0), peg_up=(-5.0, 5.0), peg_ahead=(-5.0, 5.0))
    done = made(bike("new", OTHER, allows=tight))
    knee = float(done.target.knee_angle_deg)
    text = verification_text(
        verify(done, entry(bar_width=748.0, knee_angle=knee - 20.0), SHOP), WIDE
    )
    asked = text.partition("What this bike does not allow of it, counted from as it now is:")[2]
    assert "Pegs: needs down" in asked
    assert "the bike allows" in asked
    assert "mm missing" in asked
    assert "Bar width" not in asked
    free = verification_text(off(knee_angle=-20.0), WIDE)
    assert "does not allow" not in free


def test_a_change_beyond_what_is_usual_is_marked_where_the_file_is_silent() -> None:
    """Pegs further than 25 mm."""
    text = verification_text(off(knee_angle=-20.0), WIDE)
    pegs = [line for line in text.splitlines() if line.startswith("  Pegs")]
    assert any(line.endswith("; beyond what is usual (to 25\N{NO-BREAK SPACE}mm)") for line in pegs)


def test_what_no_change_brings_says_why() -> None:
    """Clip-ons that droop: no figure is left, and the reason stands in its place."""
    done = made(bike("new", OTHER, handlebar=Handlebar(kind="clip-on")))
    text = verification_text(verify(done, entry(grip_tilt=-12.0), SHOP), WIDE)
    assert "No change of figures brings what is outside." in text
    assert "clip-ons droop by design" in text


def test_a_standing_use_is_shown_in_its_own_numbers() -> None:
    """Pedals among what is left, in text and record, and whose test balance is."""
    found = check(
        stood(grip_above_peg=690.0, grip_ahead_of_peg=371.0, brake_pedal=-25.0, hip_to_grip=550.0)
    )
    text = verification_text(found, WIDE)
    head, _, rest = text.partition("\n")
    assert head.endswith(", trail, standing, after the work, 2026-05-02")
    lines = {line.split("  ")[0]: line for line in text.splitlines()}
    assert lines["Grips above the peg"].endswith("change it")
    assert lines["Grips ahead of the peg"].endswith("inside")
    assert "Brake pedal +20\N{NO-BREAK SPACE}mm" in rest
    assert "Riser height" in rest
    assert "let go of the bar for a moment" in rest
    record = verification_record(found)
    assert json.loads(json.dumps(record, allow_nan=False)) == record
    assert record["posture"] == "standing"
    assert {*contract.EXACT, "brake_pedal_mm", "gear_lever_mm"} == set(record["left"])
    assert record["left"]["brake_pedal_mm"] == pytest.approx(20.0)
    assert record["left"]["gear_lever_mm"] is None
    right = verification_text(check(stood(grip_above_peg=719.0, felt_right=True)), WIDE)
    assert "the hands let go without falling" in right
    assert "let go of the bar for a moment" not in right
    assert "has its say in the wish" not in right


def test_a_position_that_felt_right_off_the_target_has_its_say() -> None:
    """It is said once, whatever is asked for."""
    far = entry(bar_width=700.0, felt_right=True)
    assert "so it has its say in the wish" in verification_text(verify(DONE, far, SHOP), WIDE)
    assert "has its say in the wish" not in verification_text(off(bar_width=-45.0), WIDE)
