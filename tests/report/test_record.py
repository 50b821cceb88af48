"""Records for JSON: the contract's keys, full precision, gaps as null."""

from __future__ import annotations

import json
from collections.abc import Callable
from math import isfinite

import numpy as np
import pytest
from attrs import evolve

from fitprofile.errors import Problem
from fitprofile.report import record
from fitprofile.stages.outcome import Transfer
from tests.contract import BODY, EXACT, TOP
from tests.report import samples


@pytest.mark.parametrize("sample", samples.EVERYTHING)
def test_every_record_is_strict_json(sample: Callable[[], Transfer]) -> None:
    """No sample leaves a nan, an array or a numpy scalar behind."""
    made = record.transfer_record(sample())
    assert json.loads(json.dumps(made, allow_nan=False)) == made


def test_keys_are_those_of_the_contract() -> None:
    """Top level, body, exact, give or take and practical carry the agreed names."""
    made = record.transfer_record(samples.one_piece())
    assert set(TOP) <= set(made)
    assert tuple(made["body"]) == BODY
    assert tuple(made["exact"]) == EXACT == tuple(made["give_or_take"])
    assert {*EXACT, "after", "leave", "at_limit"} <= set(made["practical"])
    assert set(made["points"]) >= {"seat", "peg", "clamp", "grip_end", "grip_inner"}
    assert made["steering"] == {"rake_deg": 27.0}
    assert made["handlebar"] == {"kind": "one-piece"}


def test_numbers_keep_every_digit() -> None:
    """A figure comes through as it is, not as it is printed."""
    made = samples.one_piece()
    shown = record.transfer_record(made)
    assert shown["exact"]["riser_height_mm"] == float(made.exact.riser_height_mm)
    assert shown["points"]["seat"] == [float(part) for part in made.surveyed.points.seat]


def test_what_does_not_exist_is_null_with_a_problem_beside_it() -> None:
    """Hands out of reach: no forearm angle, and a sentence that says why."""
    made = record.transfer_record(samples.out_of_reach())
    assert made["now"]["forearm_angle_deg"] is None
    assert made["now"]["reachable"] is False
    assert any("too far" in problem["text"] for problem in made["problems"])
    assert all(made["exact"][name] is None for name in ("clip_turn_deg", "clip_slide_mm"))


def test_adjusted_points_stand_beside_the_surveyed_ones_only_where_used() -> None:
    """A sit-on on the bike itself moves its points; another bike's stay."""
    assert "points_adjusted" not in record.transfer_record(samples.one_piece())
    home = samples.at_home()
    made = record.transfer_record(home)
    assert made["points_adjusted"]["seat"] == [float(part) for part in home.points.seat]
    assert made["points"]["seat"] != made["points_adjusted"]["seat"]


def test_the_wish_is_what_the_rider_wrote() -> None:
    """Numbers that were not given are null; the two-tape form is told as it was."""
    cockpit = samples.RIDER.cockpits[samples.USE]
    made = record.wish_record(cockpit)
    assert made["navel_to_bar_mm"] == 490.0
    assert made["lean_deg"] is None
    two = evolve(
        cockpit, navel_to_bar=None, navel_to_grip_ends=(samples.r(640.0), samples.r(644.0))
    )
    assert record.wish_record(two)["navel_to_grip_ends_mm"] == [640.0, 644.0]
    assert record.wish_record(two)["navel_to_bar_mm"] is None


def test_problems_carry_their_place() -> None:
    """File, line, key, level and text, each under its own name."""
    problem = Problem("mend it", "heights.seat", "bikes/teal.toml", 12)
    assert record.problem_records((problem,)) == [
        {
            "file": "bikes/teal.toml",
            "line": 12,
            "key": "heights.seat",
            "level": "error",
            "text": "mend it",
        }
    ]


def test_a_body_says_what_was_measured() -> None:
    """Each dimension with value, spread, unit and source."""
    made = record.body_record(samples.one_piece().body)
    assert made["stature"] == {"value": 1680.0, "sd": 3.0, "unit": "mm", "source": "measured"}
    assert made["weight"]["unit"] == "kg"
    assert made["span"]["source"] == "estimated"
    assert made["sole"]["source"] == "estimated"


def test_a_survey_shows_points_spreads_and_observations() -> None:
    """Spreads are roots of the covariance's diagonal; unchecked residuals are null."""
    surveyed = samples.one_piece().surveyed
    made = record.survey_record(surveyed)
    assert json.loads(json.dumps(made, allow_nan=False)) == made
    first = surveyed.names[0]
    assert made["points_sd_mm"][first][0] == pytest.approx(np.sqrt(surveyed.covariance[0, 0]))
    kept = {one["key"]: one for one in made["observations"]}
    assert kept["heights.clamp"]["normalised"] is None
    assert isfinite(kept["heights.seat"]["normalised"])
    assert made["rake_deg"] == {"value": 27.0, "sd": 0.7, "source": "measured"}


def test_plain_refuses_what_json_cannot_hold() -> None:
    """A set is the programmer's mistake."""
    with pytest.raises(TypeError, match="no place in a record"):
        record.plain({1, 2})


def test_plain_turns_numpy_into_plain_numbers() -> None:
    """Scalars, arrays and infinities."""
    assert record.plain(np.float64(2.5)) == 2.5
    assert record.plain(np.array([1.0, np.nan])) == [1.0, None]
    assert record.plain(float("inf")) is None
    assert record.plain(np.bool_(True)) is True
