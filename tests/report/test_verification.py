"""The measurement after the work in words and as a record."""

from __future__ import annotations

import json
import re

import pytest
from attrs import asdict, evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from fitprofile.model.bike import Allows, Handlebar
from fitprofile.model.quantity import Reading
from fitprofile.report.verification import (
    ALL_INSIDE,
    ANSWERS,
    AS_TAPED,
    CHANGE,
    IN_LINE,
    KEPT,
    LEFT,
    NOT_ALLOWED,
    PART_INSIDE,
    verification_record,
    verification_text,
)
from fitprofile.report.wording import CHANGES
from fitprofile.stages.verify import Verification, verify
from tests import by_hand, contract
from tests.stages.invented import LEVERS, SHOP, bike, plain
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
    """One sentence; another where not everything that is wished was measured."""
    text = verification_text(off(bar_width=3.0, navel_to_bar=-4.0), WIDE)
    assert PART_INSIDE in text
    assert (
        "nothing is said of: knee angle, grip tilt, grip sweep, lever angles, lever reaches" in text
    )
    assert "What is left" not in text
    text = verification_text(evolve(off(bar_width=3.0), missing=()), WIDE)
    assert ALL_INSIDE in text
    assert PART_INSIDE not in text


def test_what_was_not_measured_is_in_the_record() -> None:
    """In the words of the text."""
    assert verification_record(off(bar_width=3.0))["not_measured"][0] == "navel-to-bar"


def test_what_levers_are_held_against_is_said_where_it_is_not_the_wish() -> None:
    """A forearm as wished says nothing of it."""
    wish = float(DONE.target.forearm_angle_deg)
    for seen, said in ((wish + 2.0, True), (wish, False)):
        told = entry(forearm_angle=seen, lever_angle_brake=seen)
        assert (IN_LINE in verification_text(verify(DONE, told, SHOP), WIDE)) is said


def test_a_change_waits_only_for_what_asks_for_it() -> None:
    """A forearm that the tape explains: riser and levers wait. Out by more: none of them does.

    The levers were in line, so that they turn comes of the riser; the width waits for nothing.
    """
    wish = float(DONE.target.forearm_angle_deg)
    for seen, waits in ((wish + 6.0, True), (wish + 14.0, False)):
        told = entry(
            forearm_angle=seen, lever_angle_brake=seen, lever_angle_clutch=seen, bar_width=700.0
        )
        asked = verification_text(verify(DONE, told, SHOP), WIDE).partition("left to change:")[2]
        lines = [line for line in asked.splitlines() if line.startswith("  ")]
        assert [line for line in lines if line.startswith("  Lever rotation")]
        for line in lines:
            assert line.endswith("once measured again") is (waits and "Bar width" not in line)


LINE = re.compile(r"  (.+?) ([+−]\d+)(?:°|\N{NO-BREAK SPACE}mm)(?: \(|, once|;|$)")  # noqa: RUF001
PRINTED = {CHANGES[key][0]: key for key, *_ in ANSWERS}


def printed(text: str) -> dict[str, float]:
    """The list of what is left as somebody reads it, by key; mm and degrees."""
    part = text.partition("What is left to change:\n")[2].partition("What this bike")[0]
    lines = [line for line in part.splitlines() if line.startswith("  ")]
    found = [LINE.match(line) for line in lines]
    assert all(found), lines
    told = {one[1]: float(one[2].replace("\N{MINUS SIGN}", "-")) for one in found if one}
    return {PRINTED[words]: value for words, value in told.items()}


WORKED = st.fixed_dictionaries(
    {
        "grip_slide_mm": st.floats(-30.0, 30.0),
        "bar_roll_deg": st.floats(-12.0, 12.0),
        "riser_height_mm": st.floats(-20.0, 50.0),
        "riser_pullback_mm": st.floats(-20.0, 30.0),
        "peg_z_mm": st.floats(-25.0, 25.0),
    }
)
TURNS = st.tuples(st.floats(-8.0, 8.0), st.floats(-8.0, 8.0))
REACHES = st.tuples(st.floats(50.0, 70.0), st.floats(50.0, 70.0))


@given(WORKED, TURNS, REACHES)
@settings(max_examples=60)
def test_the_printed_list_followed_to_the_letter_brings_every_number_inside(
    work: dict[str, float], turns: tuple[float, float], reaches: tuple[float, float]
) -> None:
    """A bike changed by hand, measured without error, and the printed figures done by hand.

    Slack of 1 mm and 1 degree: figures are printed whole, and the sweep counts as found although
    the roll changed it.
    """
    body, lean, rake = asdict(DONE.linkage), float(DONE.target.lean_deg), 25.0
    start = plain(DONE.points)
    bike_now = by_hand.changed(start, work, rake)
    assert LEVERS.brake is not None
    assert LEVERS.clutch is not None
    found = (LEVERS.brake.angle, LEVERS.clutch.angle)
    levers = [
        by_hand.lever_after(start, angle.value, work, turn, rake)
        for angle, turn in zip(found, turns, strict=True)
        if angle is not None
    ]
    shown = by_hand.numbers(body, lean, bike_now)
    names = ("bar_width_mm", "navel_to_bar_mm", "forearm_angle_deg", "knee_angle_deg")
    read = {name.rpartition("_")[0]: shown[name] for name in (*names, "grip_tilt_deg")}
    read |= {"lever_angle_brake": levers[0], "lever_angle_clutch": levers[1]}
    read |= {"lever_reach_brake": reaches[0], "lever_reach_clutch": reaches[1]}
    verified = verify(DONE, entry(**read), SHOP)
    left = {} if verified.inside else printed(verification_text(verified, WIDE))
    axis = by_hand.along(by_hand.less(bike_now["grip_end"], bike_now["grip_inner"]))
    asked = {
        "grip_slide_mm": left.get("bar_width_change", 0.0) / (2.0 * axis[1]),
        "bar_roll_deg": left.get("bar_roll", 0.0),
        "riser_height_mm": left.get("riser_height", 0.0),
        "riser_pullback_mm": left.get("riser_pullback", 0.0),
        "peg_x_mm": left.get("peg_move.x", 0.0),
        "peg_z_mm": left.get("peg_move.z", 0.0),
    }
    after = by_hand.numbers(body, lean, by_hand.changed(bike_now, asked, rake))
    allowed = DONE.job.tolerances
    for name in (*names, "grip_tilt_deg"):
        wished = float(getattr(DONE.target, name))
        assert abs(after[name] - wished) <= allowed[name.rpartition("_")[0]] + 1.0, name
    for side, angle, reach in zip(("brake", "clutch"), levers, reaches, strict=True):
        turn = left.get(f"lever_rotation.{side}", 0.0)
        slope = by_hand.lever_after(bike_now, angle, asked, turn, rake)
        assert abs(slope - after["forearm_angle_deg"]) <= allowed["lever_angle"] + 1.0
        end = reach + left.get(f"lever_reach_change.{side}", 0.0)
        assert abs(end - 58.0) <= allowed["lever_reach"] + 0.5


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
    asked = text.partition(NOT_ALLOWED)[2]
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


def test_what_felt_right_need_not_be_changed() -> None:
    """That stands first, and what would bring the target all the same below it."""
    found = off(navel_to_bar=30.0)
    felt = evolve(found, entry=evolve(found.entry, felt_right=True))
    text = " ".join(verification_text(felt, WIDE).split())
    assert text.index(KEPT) < text.index("To come to the target all the same:")
    assert LEFT not in text
    assert LEFT in verification_text(found, WIDE)


def test_grips_are_slid_outward_only_as_far_as_the_bar_goes() -> None:
    """Said where they are to come out, not where they go in."""
    for wider, said in ((-30.0, True), (30.0, False)):
        text = " ".join(verification_text(off(bar_width=wider), WIDE).split())
        assert ("as far as the bar's tube reaches" in text) is said


def test_parts_that_the_work_put_on_are_named() -> None:
    """None of them, some, and nothing known."""
    found = off(navel_to_bar=30.0)
    assert AS_TAPED not in verification_text(found, WIDE)
    assert AS_TAPED in verification_text(evolve(found, fitted=()), WIDE)
    some = evolve(found, fitted=("Riser 20", "Wide bar"))
    assert "With the parts of the work: Riser 20; Wide bar." in verification_text(some, WIDE)
    assert verification_record(some)["fitted"] == ["Riser 20", "Wide bar"]
    assert verification_record(found)["fitted"] is None


def test_what_no_change_brings_says_why() -> None:
    """A bar that points back too far: no figure is left, and the reason stands in its place."""
    done = made()
    sweep = float(done.target.grip_sweep_deg) + 12.0
    text = verification_text(verify(done, entry(grip_sweep=sweep), SHOP), WIDE)
    assert "No change of figures brings what is outside." in text
    assert "sweep comes with the bar" in text
    droops = made(bike("new", OTHER, handlebar=Handlebar(kind="clip-on")))
    text = verification_text(verify(droops, entry(grip_tilt=-12.0), SHOP), WIDE)
    assert CHANGE not in text


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
