"""Origin, assumptions that are needed, and errors before anything is adjusted."""

from __future__ import annotations

from typing import Any

import pytest

from fitprofile.model.bike import Bike, Handlebar
from fitprofile.model.quantity import Reading
from fitprofile.model.shop import Shop
from fitprofile.stages.groundwork import Plan, find_origin, plan
from fitprofile.stages.readings import read_tapes
from tests.stages.taped import TRIANGLE, bike, full, quick, tapes

SHOP = Shop()


def ground(one: Bike) -> Plan:
    return plan(read_tapes(one, SHOP), one.file)


def assumed(one: Bike) -> set[str]:
    """Keys of the assumptions that take part."""
    found = ground(one)
    return {r.key for r, m in zip(found.network.rows, found.measured, strict=True) if not m}


@pytest.mark.parametrize(
    ("one", "origin"),
    [
        (quick(), "seat"),
        (full(), "rear_axle"),
        (bike(**tapes(heights=("seat", "rear_axle"), ahead=("front_axle",))), "seat"),
        (bike(**tapes(spans=(("rear_axle", "seat"),))), "rear_axle"),
        (bike(**tapes(ahead=("peg",))), "rear_axle"),
    ],
)
def test_the_origin_is_the_rear_axle_where_a_needed_point_is_tied_to_it(
    one: Bike, origin: str
) -> None:
    """An axle that only another axle hangs on does not count."""
    assert find_origin(read_tapes(one, SHOP).measured) == origin


def test_everything_taped_assumes_nothing() -> None:
    """All five points by height and distance ahead."""
    assert assumed(full()) == set()


def test_the_quick_set_assumes_grip_and_clamp() -> None:
    """Sweep, length and tilt of the grip, both figures of the clamp."""
    assert assumed(quick()) == {
        "handlebar.grip_sweep",
        "handlebar.grip_length",
        "handlebar.grip_tilt",
        "ahead.grip_end-clamp",
        "heights.grip_end-clamp",
    }


@pytest.mark.parametrize(
    ("widths", "heights", "bar", "expected"),
    [
        (("grip_inner",), (), {}, {"sweep", "tilt"}),
        ((), ("grip_inner",), {}, {"sweep", "length"}),
        ((), (), {"grip_tilt": Reading(3.0)}, {"sweep", "length"}),
        ((), (), {"grip_length": Reading(120.0), "grip_sweep": Reading(12.0)}, {"tilt"}),
    ],
)
def test_only_what_the_grip_lacks_is_assumed(
    widths: tuple[str, ...],
    heights: tuple[str, ...],
    bar: dict[str, Any],
    expected: set[str],
) -> None:
    """A width stands in for the length, a height for the tilt."""
    fields = tapes(
        heights=("seat", "peg", "grip_end", *heights),
        spans=TRIANGLE,
        widths=("grip_end", "peg", *widths),
    )
    found = assumed(bike(**fields, handlebar=Handlebar(**bar)))
    grip = {key.removeprefix("handlebar.grip_") for key in found if "handlebar" in key}
    assert grip == expected


def test_a_span_to_the_clamp_still_needs_both_assumptions() -> None:
    """One distance leaves a direction open, so both figures take part, with their wide spread."""
    spans = (*TRIANGLE, ("grip_end", "clamp"))
    fields = tapes(heights=("seat", "peg", "grip_end"), spans=spans)
    assert "ahead.grip_end-clamp" in assumed(bike(**fields))


def test_a_taped_clamp_assumes_nothing_of_it() -> None:
    """Height and span, 76 degrees off upright in the side view."""
    spans = (*TRIANGLE, ("seat", "clamp"))
    fields = tapes(heights=("seat", "peg", "grip_end", "clamp"), spans=spans)
    assert not {key for key in assumed(bike(**fields)) if "clamp" in key}


def test_peg_and_pedal_spacing_are_assumed_where_not_taped() -> None:
    """Only for a pedal that was taped at all."""
    fields = tapes(heights=("seat", "peg", "grip_end"), spans=TRIANGLE, widths=("grip_end",))
    assert "widths.peg" in assumed(bike(**fields))
    assert "widths.brake_pedal" not in assumed(bike(**fields))
    fields = tapes(heights=("seat", "peg", "grip_end"), ahead=("seat", "peg", "grip_end"))
    fields["heights"]["brake_pedal"] = Reading(380.0)
    fields["ahead"]["brake_pedal"] = Reading(700.0)
    assert "widths.brake_pedal" in assumed(bike(**fields))


def test_optional_points_that_nothing_fixes_leave_the_network() -> None:
    """A tank with a height only; the rest stays."""
    one = full()
    found = ground(full(heights={**one.heights, "tank": Reading(950.0)}))
    assert "tank" not in found.network.names
    assert [p.key for p in found.problems] == ["ahead.tank"]


def test_a_point_tied_to_an_axle_that_the_rest_is_not_tied_to_is_left_out() -> None:
    """Quick set and a tank ahead of the rear axle: nobody knows where it is from the sit point."""
    one = quick()
    found = ground(
        bike(
            heights={**one.heights, "tank": Reading(950.0)},
            ahead={"tank": Reading(700.0)},
            spans=one.spans,
            widths=one.widths,
        )
    )
    assert found.origin == "seat"
    assert "tank" not in found.network.names
    assert [p.key for p in found.problems] == ["spans.seat-tank"]


def test_a_precise_tape_does_not_make_a_redundant_one_look_needed() -> None:
    """seat-peg stands steep, and is refused only where nothing else places the peg."""
    one = quick()
    spans = {**one.spans, ("seat", "peg"): Reading(one.spans["seat", "peg"].value, sd=0.05)}
    sharp = bike(heights=one.heights, spans=spans, widths=one.widths)
    assert not ground(sharp).problems
