"""Cards as JSON: every key is there, figures at full precision, nothing made up."""

from __future__ import annotations

import json
from typing import Any

from fitprofile.errors import Problem
from fitprofile.model.shop import Shop
from fitprofile.report.card_record import (
    dry_fit_record,
    put_back_record,
    shopping_record,
    swap_record,
)
from fitprofile.report.garage import Failed
from fitprofile.report.shopping import choose
from fitprofile.stages.survey import survey
from tests.report import samples
from tests.report.cards import SPORT, STOOD, TWIN, planned, shared

WRONG = (Problem("no such thing", "heights.seat", "bikes/teal.toml", 3),)


def strict(record: dict[str, Any]) -> dict[str, Any]:
    """What stands in the file: JSON has no nan."""
    made: dict[str, Any] = json.loads(json.dumps(record, allow_nan=False))
    return made


def test_a_shopping_list_has_parts_sums_and_bikes() -> None:
    """Parts with their kind as in the catalogue; each bike with its plan."""
    chosen = [choose(planned(one), "cheapest") for one in (TWIN, STOOD, SPORT)]
    failed = [Failed(key="crow", name="Crow", problems=WRONG)]
    made = strict(shopping_record("ada", "road", "cheapest", chosen, failed, "EUR", WRONG))
    bar = next(one for one in made["parts"] if one["name"] == "Wide bar")
    assert bar == {
        "name": "Wide bar",
        "kind": "bar",
        "bikes": ["teal", "stood"],
        "count": 2,
        "price": 90.5,
        "sum": 181.0,
    }
    assert made["price"] == sum(one["sum"] for one in made["parts"])
    assert made["minutes"] == sum(one["minutes"] for one in made["bikes"])
    teal, _, wren = made["bikes"]
    assert (teal["plan"], teal["as_asked"], teal["inside"]) == ("cheapest", True, True)
    assert (wren["plan"], wren["as_asked"], wren["inside"]) == ("closest", False, False)
    assert wren["deviations"]["forearm_angle"] is None
    assert wren["not_mended"]
    assert teal["cannot_undo"] == ["free_pin.housing", "free_pin.clutch"]
    assert made["missing"]["crow"][0]["text"] == "no such thing"


def test_a_swap_has_settings_marks_and_both_riders() -> None:
    """The change is the second's less the first's."""
    made = strict(swap_record("teal", ("ada", "bo"), ("road", "road"), shared(), ()))
    assert [one["rider"] for one in made["riders"]] == ["ada", "bo"]
    for one in made["settings"]:
        assert one["change"] == one["second"] - one["first"]
    reach = next(one for one in made["settings"] if one["what"] == "lever_reach.brake")
    assert reach["apart_mm"] is None
    assert made["width_kept"] is True
    assert made["stays"][0] == {"name": "Wide bar", "kind": "bar", "first": True, "second": True}
    assert {one["what"] for one in made["riders"][0]["checks"]} >= {"reservoir.brake"}


def test_a_dry_fit_has_trials_hoses_rooms_and_numbers() -> None:
    """With what is expected in words and as a figure."""
    made = strict(dry_fit_record("ada", "teal", "road", None, choose(planned(), None), ()))
    assert made["plan"] == "cheapest"
    brake = made["hoses"][0]
    assert (brake["what"], brake["expected"], brake["ok"]) == (
        "hose.front_brake",
        "expected to fail",
        False,
    )
    assert next(one["what"] for one in made["trials"]) == "Grip ends"
    assert made["clearances"][0]["at_least"] is True
    width = next(one for one in made["numbers"] if one["number"] == "bar_width")
    assert (width["wished"], width["tolerance"]) == (800.0, 10.0)


def test_a_put_back_has_both_states_of_a_bike_on_a_stand() -> None:
    """And no raw tape where it stood on its wheels."""
    found, _ = survey(STOOD, Shop())
    made = strict(put_back_record("stood", STOOD, found, ()))
    seat = made["points"][0]
    assert seat["on_stand"] == {"above_floor_mm": 815.0, "to_top": False, "ahead_mm": 560.0}
    assert seat["above_floor_mm"] < 815.0
    found, _ = survey(samples.TWIN, Shop())
    made = strict(put_back_record("teal", samples.TWIN, found, ()))
    assert all(one["on_stand"] is None for one in made["points"])
    assert made["figures"][0]["key"] == "levers.brake.angle"
    assert len(made["order"]) > 8


def test_without_an_answer_every_key_is_there() -> None:
    """Empty lists and nulls, and the problems say why."""
    full = (
        shopping_record("ada", "road", None, [choose(planned(), None)], [], "EUR", ()),
        swap_record("teal", ("ada", "bo"), ("road", "road"), shared(), ()),
        dry_fit_record("ada", "teal", "road", None, choose(planned(), None), ()),
        put_back_record("teal", samples.TWIN, survey(samples.TWIN, Shop())[0], ()),
    )
    empty = (
        shopping_record("ada", None, None, [], [], "", WRONG),
        swap_record("teal", ("ada", "bo"), (None, None), None, WRONG),
        dry_fit_record("ada", "teal", None, None, None, WRONG),
        put_back_record("teal", None, None, WRONG),
    )
    for one, other in zip(full, empty, strict=True):
        made = strict(other)
        assert list(made) == list(one)
        assert made["problems"][0]["line"] == 3
