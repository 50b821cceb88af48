"""JSON of standing uses, weights and legs that differ; nothing of it for anybody else."""

from __future__ import annotations

import json
from typing import Any

import pytest
from attrs import evolve

from fitprofile.model.quantity import Reading
from fitprofile.report.record import plain, transfer_record
from fitprofile.report.use_record import standing_record, standing_wish
from tests.contract import BODY, EXACT, NUMBERS, TOP
from tests.report import samples
from tests.report.test_uses import TRAIL, lame, made, on, rider


def test_a_rider_without_such_uses_has_no_such_keys() -> None:
    """Keys are added only where there is something in them."""
    record = transfer_record(samples.one_piece())
    assert not {"standing", "weights"} & set(record)
    assert not any(name.startswith("peg_move_l") for name in record["exact"])
    assert list(record["target"]) == list(NUMBERS)


def test_standing_and_weights_stand_at_the_top() -> None:
    """By use; and beside each plan's other uses its standing numbers."""
    record = transfer_record(made(True))
    assert record["weights"] == {"road": 0.8, "track": 0.2}
    trail = record["standing"]["trail"]
    assert trail["now"]["grip_above_peg_mm"] == made(True).standing["trail"].now.grip_above_peg_mm
    assert set(EXACT) <= set(trail["exact"])
    plan = record["plans"][0]
    assert set(plan["other_uses"]) == {"track", "trail"}
    assert set(plan["standing"]) == {"trail"}
    json.dumps(record, allow_nan=False)


def test_legs_that_differ_have_a_move_each() -> None:
    """The pair's mean stays where scripts look for it."""
    record, pegs = transfer_record(lame()), lame().pegs
    assert pegs is not None
    assert record["exact"]["peg_move_left_mm"] == {"x": pegs.left.exact.x, "z": pegs.left.exact.z}
    assert record["practical"]["peg_move_right_mm"]["z"] == pegs.right.practical.z
    assert record["target"]["knee_angle_left_deg"] > record["target"]["knee_angle_deg"]
    assert set(record["exact"]["peg_move_mm"]) == {"x", "z"}


def test_wishes_left_and_right_stand_beside_their_mean() -> None:
    """Both knees as written, and the pair's mean where it always was."""
    wish = transfer_record(lame())["wish"]
    assert (wish["knee_angle_left_deg"], wish["knee_angle_right_deg"]) == (94.0, 74.0)
    assert wish["knee_angle_deg"] == 84.0
    assert "lever_reach_left_mm" not in wish


def test_levers_of_arms_that_differ_have_their_own_target() -> None:
    """Under the keys that every transfer has; the wish as written beside its mean."""
    record = transfer_record(samples.uneven())
    assert list(record["target"]) == list(NUMBERS)
    aim, mean = record["target"]["lever_angle_deg"], record["target"]["forearm_angle_deg"]
    assert aim == pytest.approx({"brake": mean + 3.0, "clutch": mean - 3.0})
    wish = record["wish"]
    assert wish["lever_angle_deg"] == 14.0
    assert (wish["lever_angle_left_deg"], wish["lever_angle_right_deg"]) == (11.0, 17.0)


def test_standing_arms_that_differ_stand_beside_their_mean() -> None:
    """Each side's wish as written, each lever's own target; nothing of it where they are alike."""
    arms = Reading(20.0, count=2, sides=(26.0, 14.0))
    person = rider(standing={"trail": evolve(TRAIL, lever_angle=arms)})
    record = standing_record(on(samples.TWIN, person), "trail")
    wish = record["wish"]
    assert (wish["lever_angle_left_deg"], wish["lever_angle_right_deg"]) == (26.0, 14.0)
    assert wish["lever_angle_deg"] == 20.0
    assert record["target"]["lever_angle_deg"] == {"brake": 14.0, "clutch": 26.0}
    assert "lever_angle_left_deg" not in standing_wish(TRAIL)


def test_a_standing_answer_keeps_the_contract() -> None:
    """Every key that scripts know; what standing does not have is null."""
    record = standing_record(made(), "trail")
    json.dumps(record, allow_nan=False)
    assert set(TOP) <= set(record)
    assert set(BODY) <= set(record["body"])
    for part in ("now", "target", "exact_after"):
        assert set(NUMBERS) <= set(record[part])
        assert record[part]["navel_to_bar_mm"] is None
        assert record[part]["knee_angle_deg"] is None
        assert isinstance(record[part]["reachable"], bool)
    assert set(EXACT) <= set(record["exact"])
    assert set(EXACT) <= set(record["practical"])
    assert set(EXACT) <= set(record["give_or_take"])
    assert _figures(record["give_or_take"]) == []
    assert record["posture"] == "standing"


def _figures(record: Any) -> list[float]:
    """Every figure of a record."""
    if isinstance(record, dict):
        return [figure for item in record.values() for figure in _figures(item)]
    return [] if record is None else [record]


def test_the_wish_is_as_written() -> None:
    """What the rider's file says, null where it says nothing."""
    wish = standing_wish(TRAIL)
    assert wish["grip_above_peg_mm"] == 735.0
    assert wish["hip_to_grip_mm"] is None
    assert plain(wish) == wish
