"""A bike's file as rows: spreads, tops of round things, both sides, and heights on a stand."""

from __future__ import annotations

from math import atan, degrees

import pytest

from fitprofile.errors import ERROR, NOTE, WARNING
from fitprofile.model.bike import CLIP_ON, Handlebar, Stand
from fitprofile.model.quantity import Reading
from fitprofile.model.shop import SPREADS, Shop
from fitprofile.stages.network import Row
from fitprofile.stages.readings import Readings, axles_on_wheels, read_tapes, side_lean, spread
from tests.stages.taped import bike, changed, full

SHOP = Shop()


def rows(found: Readings) -> dict[str, Row]:
    return {row.key: row for row in found.measured}


@pytest.mark.parametrize(("tape", "column"), [("alone", 0), ("helper", 1)])
def test_spreads_come_from_the_shop_by_kind_and_helper(tape: str, column: int) -> None:
    """Each key takes its row of the table, in the column of who held the tape."""
    found = rows(read_tapes(full(tape=tape), SHOP))
    for key, table in {
        "heights.rear_axle": "axle_height",
        "heights.seat": "seat_height",
        "heights.peg": "height",
        "heights.clamp": "clamp",
        "heights.grip_inner": "clamp",
        "ahead.seat": "seat_ahead",
        "ahead.peg": "ahead",
        "ahead.clamp": "clamp",
        "ahead.grip_inner": "clamp",
        "spans.seat-peg": "span",
        "widths.grip_end": "bar_width",
    }.items():
        assert found[key].sd == SPREADS[table][column], key


def test_a_reading_s_own_spread_comes_first_and_repeats_narrow_it() -> None:
    """sd / sqrt(n)."""
    assert spread(Reading(800.0, sd=3.0), "height", bike(), SHOP) == 3.0
    assert spread(Reading(800.0, sd=3.0, count=9), "height", bike(), SHOP) == 1.0
    assert spread(Reading(800.0, count=4), "height", bike(), SHOP) == SPREADS["height"][0] / 2.0


def test_rows_stand_in_the_order_of_the_file() -> None:
    """Widths, heights, ahead, spans, grip; axles last among the heights."""
    found = read_tapes(full(handlebar=Handlebar(grip_tilt=Reading(1.0))), SHOP)
    tables = [row.key.split(".")[0] for row in found.measured]
    assert list(dict.fromkeys(tables)) == ["widths", "heights", "ahead", "spans", "handlebar"]


@pytest.mark.parametrize(
    ("name", "lift"), [("grip_end", 16.5), ("grip_inner", 16.5), ("clamp", 14.3), ("peg", 0.0)]
)
def test_the_radius_comes_off_a_tape_to_the_top(name: str, lift: float) -> None:
    """33 mm grip, 28.6 mm bar; the peg's point is its top."""
    found = rows(read_tapes(bike(heights={name: Reading(1000.0, top=True)}), SHOP))
    assert found[f"heights.{name}"].lift == pytest.approx(lift)


def test_assumed_diameters_are_noted_and_taped_ones_are_not() -> None:
    """One note a diameter."""
    heights = {n: Reading(1000.0, top=True) for n in ("grip_end", "clamp")}
    keys = {p.key for p in read_tapes(bike(heights=heights), SHOP).problems if p.level == NOTE}
    assert keys == {"handlebar.grip_diameter", "handlebar.clamp_diameter"}
    bar = Handlebar(grip_diameter=Reading(36.0), clamp_diameter=Reading(22.2))
    found = read_tapes(bike(heights=heights, handlebar=bar), SHOP)
    assert not [p for p in found.problems if p.level == NOTE]
    assert rows(found)["heights.grip_end"].lift == 18.0
    assert rows(found)["heights.clamp"].lift == pytest.approx(11.1)


def test_a_span_between_two_tops_takes_the_difference_of_radii() -> None:
    """16.5 above the grip end, 14.3 above the clamp's centre: the vector end - start gains 2.2."""
    spans = {("clamp", "grip_end"): Reading(400.0, top=True)}
    found = rows(read_tapes(bike(spans=spans), SHOP))
    assert found["spans.clamp-grip_end"].lift == pytest.approx(2.2)


def test_on_clip_ons_the_clamp_is_the_fork_tube() -> None:
    """Its spacing makes it one of the pairs; without spacing there is a note."""
    bar = Handlebar(kind=CLIP_ON)
    widths = {"grip_end": Reading(650.0), "tube": Reading(210.0)}
    found = read_tapes(bike(handlebar=bar, widths=widths, heights={"tube": Reading(900.0)}), SHOP)
    assert "clamp" in found.pairs
    assert rows(found)["widths.tube"].end == rows(found)["heights.tube"].end == "clamp"
    del widths["tube"]
    found = read_tapes(bike(handlebar=bar, widths=widths), SHOP)
    assert "clamp" not in found.pairs
    assert [(p.key, p.level) for p in found.problems] == [("widths.tube", NOTE)]
    assert "210" not in found.problems[0].text


def test_a_span_to_the_tube_of_a_clip_on_falls_back_on_a_usual_spacing() -> None:
    """The clamp lies beside the mid-plane then, and the one note names figure and remedy."""
    widths, spans = {"grip_end": Reading(650.0)}, {("clamp", "grip_end"): Reading(250.0)}
    found = read_tapes(bike(handlebar=Handlebar(kind=CLIP_ON), widths=widths, spans=spans), SHOP)
    assert "clamp" in found.pairs
    (usual,) = (row for row in found.assumed if row.key == "widths.tube")
    assert (usual.end, usual.value, usual.sd) == ("clamp", 210.0, 15.0)
    (problem,) = found.problems
    assert "210 mm apart, give or take 30" in problem.text
    assert "tape from the middle of the left tube" in problem.text
    found = read_tapes(bike(widths=widths, spans=spans), SHOP)
    assert "clamp" not in found.pairs
    assert "widths.tube" not in {row.key for row in found.assumed}


def test_the_fork_tube_is_not_used_on_one_piece_bars() -> None:
    """Neither its spacing nor its height makes a row."""
    widths = {"grip_end": Reading(750.0), "tube": Reading(210.0)}
    spans = {("tube", "grip_end"): Reading(300.0)}
    found = read_tapes(bike(widths=widths, heights={"tube": Reading(900.0)}, spans=spans), SHOP)
    assert list(rows(found)) == ["widths.grip_end"]


def test_a_missing_bar_width_is_an_error() -> None:
    """Nothing can stand in for it."""
    (problem,) = read_tapes(bike(), SHOP).problems
    assert (problem.key, problem.level, problem.file) == (
        "widths.grip_end",
        ERROR,
        "bikes/invented.toml",
    )


def leaning(left: float, right: float) -> dict[str, Reading]:
    return {"grip_end": Reading((left + right) / 2.0, sides=(left, right))}


def test_a_small_lean_is_shown_and_a_large_one_refused() -> None:
    """20 mm over 750 is 1.53 degrees, 40 mm is 3.05; the lower side is named."""
    widths = {"grip_end": Reading(750.0)}
    small = bike(widths=widths, heights=leaning(1020.0, 1000.0))
    lean = side_lean(small)
    assert lean is not None
    assert lean[0] == pytest.approx(degrees(atan(20.0 / 750.0)))
    (problem,) = read_tapes(small, SHOP).problems
    assert problem.level == NOTE
    assert "1.5 degrees to the right" in problem.text
    (problem,) = read_tapes(bike(widths=widths, heights=leaning(1000.0, 1040.0)), SHOP).problems
    assert (problem.level, problem.key) == (ERROR, "heights.grip_end")
    assert "3.1 degrees to the left" in problem.text
    assert "stand" in problem.text


def test_lean_is_the_mean_over_pairs() -> None:
    """One pair up by atan(20/400), the other level; none without a spacing."""
    heights = {
        "grip_end": Reading(1000.0, sides=(1000.0, 1000.0)),
        "peg": Reading(400.0, sides=(410.0, 390.0)),
    }
    widths = {"grip_end": Reading(750.0), "peg": Reading(400.0)}
    lean = side_lean(bike(widths=widths, heights=heights))
    assert lean is not None
    assert lean[0] == pytest.approx(degrees(atan(20.0 / 400.0)) / 2.0)
    assert side_lean(bike(heights=heights)) is None
    assert not read_tapes(bike(widths=widths, heights=leaning(1000.0, 1000.0)), SHOP).problems


ON_STAND = Stand(rear_axle=Reading(400.0), front_axle=Reading(310.0))
ON_WHEELS = Stand(rear_axle=Reading(312.0), front_axle=Reading(302.0))


@pytest.mark.parametrize(
    ("stand", "wheels", "taped", "on_wheels"),
    [
        (ON_STAND, None, {"stand.rear_axle": 400.0, "stand.front_axle": 310.0}, (311.0, 301.0)),
        (
            ON_STAND,
            ON_WHEELS,
            {"stand.rear_axle": 400.0, "stand.front_axle": 310.0},
            (312.0, 302.0),
        ),
        (
            None,
            ON_WHEELS,
            {"heights.rear_axle": 311.0, "heights.front_axle": 301.0},
            (312.0, 302.0),
        ),
        (
            Stand(rear_axle=Reading(400.0)),
            None,
            {"stand.rear_axle": 400.0, "heights.front_axle": 301.0},
            (311.0, 301.0),
        ),
        (None, None, {"heights.rear_axle": 311.0, "heights.front_axle": 301.0}, (None, None)),
    ],
)
def test_axle_heights_go_to_the_frame_they_were_read_in(
    stand: Stand | None,
    wheels: Stand | None,
    taped: dict[str, float],
    on_wheels: tuple[float | None, float | None],
) -> None:
    """[stand] is on the stand; [heights] then is on the wheels, unless [wheels] says so."""
    written = {"rear_axle": Reading(311.0), "front_axle": Reading(301.0)}
    one = bike(heights=written, stand=stand, wheels=wheels, state="stand")
    found = {r.key: r.value for r in read_tapes(one, SHOP).measured}
    assert found == taped
    assert tuple(r.value if r else None for r in axles_on_wheels(one)) == on_wheels


def test_a_stand_is_not_used_where_the_bike_stood_on_its_wheels() -> None:
    """A warning says so."""
    one = full(stand=ON_STAND)
    found = read_tapes(one, SHOP)
    assert rows(found)["heights.rear_axle"].value == 310.0
    assert [(p.key, p.level) for p in found.problems] == [("stand", WARNING)]


def test_readings_keep_what_was_written() -> None:
    """The value of a row is the reading's."""
    one = full()
    found = rows(read_tapes(full(heights=changed(one.heights, "seat", 7.0)), SHOP))
    assert found["heights.seat"].value == 807.0
