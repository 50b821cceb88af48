"""Points placed with ruler and compass: triangles that can be checked by hand."""

from __future__ import annotations

import pytest

from fitprofile.stages.network import AHEAD, HEIGHT, LENGTH, SPACING, Row
from fitprofile.stages.placing import place


def height(name: str, value: float, sd: float = 4.0, lift: float = 0.0) -> Row:
    return Row(f"heights.{name}", HEIGHT, name, None, value, sd, lift)


def ahead(name: str, value: float) -> Row:
    return Row(f"ahead.{name}", AHEAD, name, None, value, 6.0)


def span(start: str, end: str, value: float, lift: float = 0.0) -> Row:
    return Row(f"spans.{start}-{end}", LENGTH, end, start, value, 5.0, lift)


def located(rows: list[Row], names: list[str], **held: float) -> dict[str, tuple[float, float]]:
    placed = place(rows, names, held)
    assert not placed.gaps
    return {n: (float(p[0]), float(p[2])) for n, p in zip(names, placed.points, strict=True)}


def test_height_and_span_close_a_3_4_5_triangle_forward() -> None:
    """Span 500, rise 300: the clamp lies 400 ahead of the sit point."""
    rows = [height("seat", 800.0), height("clamp", 1100.0), span("seat", "clamp", 500.0)]
    assert located(rows, ["seat", "clamp"], seat=0.0)["clamp"] == pytest.approx((400.0, 1100.0))


def test_a_point_that_comes_earlier_on_a_bike_lies_behind() -> None:
    """The same triangle from the clamp, whose place is known: the sit point lies 400 behind."""
    rows = [height("seat", 800.0), height("clamp", 1100.0), ahead("clamp", 950.0)]
    rows.append(span("clamp", "seat", 500.0))
    assert located(rows, ["seat", "clamp"])["seat"] == pytest.approx((550.0, 800.0))


def test_two_spans_take_the_upper_solution() -> None:
    """Isosceles over a base of 600: 500 and 500 meet 400 above its middle."""
    rows = [height("rear_axle", 300.0), height("front_axle", 300.0), ahead("front_axle", 600.0)]
    rows += [span("rear_axle", "seat", 500.0), span("front_axle", "seat", 500.0)]
    names = ["rear_axle", "front_axle", "seat"]
    assert located(rows, names, rear_axle=0.0)["seat"] == pytest.approx((300.0, 700.0))


def test_two_spans_from_above_take_the_lower_solution_for_a_peg() -> None:
    """A peg taped from sit point and tank, both 400 above it: nobody stands on the upper one."""
    rows = [height("seat", 800.0), height("tank", 800.0), ahead("seat", 0.0), ahead("tank", 600.0)]
    rows += [Row("widths.peg", SPACING, "peg", None, 0.0, 2.0)]
    rows += [span("seat", "peg", 500.0), span("tank", "peg", 500.0)]
    assert located(rows, ["seat", "tank", "peg"])["peg"] == pytest.approx((300.0, 400.0))


def test_half_the_width_is_taken_off_a_span_in_space() -> None:
    """Side view 3-4-5 of 500, 1200 across: a tape of 1300."""
    rows = [height("seat", 800.0), height("peg", 400.0), span("seat", "peg", 1300.0)]
    rows.append(Row("widths.peg", SPACING, "peg", None, 2400.0, 2.0))
    assert located(rows, ["seat", "peg"], seat=0.0)["peg"] == pytest.approx((300.0, 400.0))


@pytest.mark.parametrize(("name", "z"), [("peg", 400.0), ("screen", 1200.0)])
def test_distance_ahead_and_span_take_the_side_where_the_point_lies_on_a_bike(
    name: str, z: float
) -> None:
    """300 ahead, span 500: 400 up for a screen, 400 down for a peg."""
    rows = [height("seat", 800.0), ahead("seat", 100.0), ahead(name, 400.0)]
    rows += [Row(f"widths.{name}", SPACING, name, None, 0.0, 2.0), span("seat", name, 500.0)]
    assert located(rows, ["seat", name])[name] == pytest.approx((400.0, z))


def test_a_tape_to_the_top_is_brought_down_to_the_centre() -> None:
    """Height 1114.3 to the top of a 28.6 clamp; the span meets the top too."""
    rows = [height("seat", 800.0), height("clamp", 1100.0 + 14.3, lift=14.3)]
    rows.append(span("seat", "clamp", (400.0**2 + 314.3**2) ** 0.5, lift=14.3))
    assert located(rows, ["seat", "clamp"], seat=0.0)["clamp"] == pytest.approx((400.0, 1100.0))


def test_the_best_crossing_places_a_point() -> None:
    """A nearly upright span (its run wrong by far) is not used where a flat one is at hand."""
    rows = [height("seat", 800.0), height("clamp", 1100.0), height("peg", 400.0)]
    rows += [ahead("peg", 100.0), span("peg", "clamp", 860.2), span("seat", "clamp", 500.0)]
    rows.append(Row("widths.peg", SPACING, "peg", None, 0.0, 2.0))
    assert located(rows, ["seat", "peg", "clamp"], seat=0.0)["clamp"][0] == pytest.approx(400.0)


def test_grip_and_clamp_that_nothing_places_lie_as_usual_from_the_grip_end() -> None:
    """125 long, swept 15 degrees; clamp 90 ahead and 30 below."""
    rows = [height("grip_end", 1000.0), ahead("grip_end", 900.0)]
    found = located(rows, ["grip_end", "grip_inner", "clamp"])
    assert found["clamp"] == pytest.approx((990.0, 970.0))
    assert found["grip_inner"] == pytest.approx((900.0 + 125.0 * 0.258819, 1000.0), abs=1e-4)


def test_a_span_shorter_than_the_height_between_its_ends_is_a_gap() -> None:
    """Rise 300, span 200: short by 100, both readings named."""
    rows = [height("seat", 800.0), height("clamp", 1100.0), span("seat", "clamp", 200.0)]
    (gap,) = place(rows, ["seat", "clamp"], {"seat": 0.0}).gaps
    assert (gap.first.key, gap.second.key) == ("spans.seat-clamp", "heights.clamp")
    assert gap.short == pytest.approx(100.0)


@pytest.mark.parametrize(("one", "two", "short"), [(200.0, 300.0, 100.0), (900.0, 200.0, 100.0)])
def test_circles_that_do_not_meet_are_a_gap(one: float, two: float, short: float) -> None:
    """Base 600: apart by 100, or one inside the other by 100."""
    rows = [height("rear_axle", 300.0), height("front_axle", 300.0), ahead("front_axle", 600.0)]
    rows += [span("rear_axle", "seat", one), span("front_axle", "seat", two)]
    (gap,) = place(rows, ["rear_axle", "front_axle", "seat"], {"rear_axle": 0.0}).gaps
    assert (gap.first.key, gap.second.key) == ("spans.rear_axle-seat", "spans.front_axle-seat")
    assert gap.short == pytest.approx(short)


def test_a_distance_ahead_longer_than_the_span_is_a_gap() -> None:
    """400 ahead of each other, taped 300 apart."""
    rows = [height("seat", 800.0), ahead("seat", 100.0), ahead("screen", 500.0)]
    rows.append(span("seat", "screen", 300.0))
    (gap,) = place(rows, ["seat", "screen"], {}).gaps
    assert (gap.first.key, gap.second.key) == ("spans.seat-screen", "ahead.screen")


def test_a_near_miss_is_left_to_the_adjustment() -> None:
    """Rise 300, span 290 with spreads of 4 and 5: straight above, no gap."""
    rows = [height("seat", 800.0), height("clamp", 1100.0), span("seat", "clamp", 290.0)]
    assert located(rows, ["seat", "clamp"], seat=0.0)["clamp"] == pytest.approx((0.0, 1100.0))


def test_a_gap_does_not_count_where_something_else_places_the_point() -> None:
    """Too short a span from the sit point, a sound one from the tank."""
    rows = [height("seat", 800.0), height("clamp", 1100.0), span("seat", "clamp", 200.0)]
    rows += [height("tank", 1100.0), ahead("tank", 300.0), span("tank", "clamp", 150.0)]
    found = located(rows, ["seat", "clamp", "tank"], seat=0.0)
    assert found["clamp"] == pytest.approx((450.0, 1100.0))
