"""Sentences about what is missing or contradicts itself, and the span that would tell."""

from __future__ import annotations

import numpy as np
import pytest

from fitprofile.errors import ERROR, NOTE, WARNING
from fitprofile.stages.doubts import (
    assumed_notes,
    blunders,
    listed,
    open_triangles,
    steep_spans,
    suspects,
    telling_span,
    torn_apart,
    unfixed,
)
from fitprofile.stages.network import AHEAD, HEIGHT, LENGTH, SPACING, TILT, Fit, Row, lay_out
from fitprofile.stages.placing import Gap

FILE = "bikes/invented.toml"


def row(key: str, sd: float = 5.0, value: float = 100.0) -> Row:
    """A row from its key alone."""
    table, names = key.split(".")
    kind = {"heights": HEIGHT, "ahead": AHEAD, "spans": LENGTH, "widths": SPACING}[table]
    start, _, end = names.rpartition("-")
    return Row(key, kind, end, start or None, value, sd)


def test_parts_are_listed_as_in_a_sentence() -> None:
    """Comma, then and."""
    assert [listed(p) for p in (["a"], ["a", "b"], ["a", "b", "c"])] == [
        "a",
        "a and b",
        "a, b and c",
    ]


@pytest.mark.parametrize(
    ("taped", "origin", "key", "words"),
    [
        ([], "rear_axle", "heights.peg", ["heights.peg", "ahead.peg", "spans.seat-peg"]),
        (["spans.seat-peg"], "seat", "heights.peg", ["top of the rubber", "heights.peg"]),
        (["heights.peg"], "rear_axle", "ahead.peg", ["ahead.peg", "spans.seat-peg"]),
        (["heights.peg"], "seat", "spans.seat-peg", ["spans.seat-peg"]),
    ],
)
def test_an_unfixed_point_names_the_missing_measurement(
    taped: list[str], origin: str, key: str, words: list[str]
) -> None:
    """Height first, then what ties it along the bike."""
    (problem,) = unfixed(["peg"], [row(k) for k in taped], origin, FILE)
    assert (problem.level, problem.key, problem.file) == (ERROR, key, FILE)
    assert problem.text.startswith("nothing fixes the peg: tape")
    assert all(word in problem.text for word in words)


def test_a_span_that_is_taped_already_is_not_asked_for() -> None:
    """Only the height is missing."""
    (problem,) = unfixed(["peg"], [row("spans.seat-peg")], "rear_axle", FILE)
    assert "ahead.peg" not in problem.text


def test_a_sit_point_at_the_origin_needs_a_height_only() -> None:
    """Nothing else could fix it."""
    (problem,) = unfixed(["seat"], [], "seat", FILE)
    assert "batten" in problem.text
    assert "span" not in problem.text


def test_a_sit_point_is_tied_by_a_span_to_the_grip_end() -> None:
    """The other points are tied to the sit point."""
    (problem,) = unfixed(["seat"], [row("heights.seat")], "rear_axle", FILE)
    assert problem.key == "ahead.seat"
    assert "a span to the grip end (spans.seat-grip_end)" in problem.text


def test_optional_points_are_noted_and_axles_passed_over() -> None:
    """A tank is left out, an axle that nothing uses is no error."""
    found = unfixed(["tank", "front_axle"], [row("heights.tank")], "rear_axle", FILE)
    assert [(p.level, p.key) for p in found] == [(NOTE, "ahead.tank")]


def test_what_hangs_on_a_lost_grip_end_is_not_named_beside_it() -> None:
    """One measurement is missing, one problem is shown."""
    found = unfixed(["clamp", "grip_end", "grip_inner"], [], "rear_axle", FILE)
    assert [p.key for p in found] == ["heights.grip_end"]


@pytest.mark.parametrize(("point", "level"), [("peg", ERROR), ("tank", WARNING)])
def test_an_open_triangle_names_both_readings(point: str, level: str) -> None:
    """With their values and what is missing between them."""
    gap = Gap(point, row("spans.seat-peg", value=300.0), row("heights.peg", value=390.0), 110.0)
    (problem,) = open_triangles([gap], FILE)
    assert (problem.level, problem.key) == (level, "spans.seat-peg")
    for part in ("spans.seat-peg (300 mm)", "heights.peg (390 mm)", "by 110 mm"):
        assert part in problem.text


def test_readings_that_leave_a_point_loose_are_all_named() -> None:
    """Those of the point, without its width; nothing for a grip that has none of its own."""
    rows = [row(k) for k in ("widths.peg", "heights.peg", "spans.seat-peg", "heights.seat")]
    (problem,) = torn_apart(["peg", "grip_inner"], rows, FILE)
    assert (problem.level, problem.key) == (ERROR, "heights.peg")
    assert "nothing fixes the peg: heights.peg and spans.seat-peg and the" in problem.text


STEEP_ROWS = ["heights.seat", "heights.peg", "spans.seat-peg"]


@pytest.mark.parametrize(
    ("run", "share", "extra", "refused"),
    [
        (230.0, 0.0, [], True),
        (232.0, 0.0, [], False),
        (230.0, 0.3, [], False),
        (230.0, 0.0, ["ahead.peg"], False),
    ],
)
def test_thirty_degrees_from_upright_is_the_bound(
    run: float, share: float, extra: list[str], refused: bool
) -> None:
    """Rise 400, so the bound is 400 tan 30 = 230.9; not where anything else places the peg."""
    rows = [row(k) for k in (*STEEP_ROWS, *extra)]
    points = {"seat": np.array([0.0, 0.0, 800.0]), "peg": np.array([run, 230.0, 400.0])}
    found = steep_spans(rows, points, np.full(len(rows), share), "seat", FILE)
    assert bool(found) == refused
    if refused:
        assert (found["peg"].key, found["peg"].level) == ("ahead.peg", ERROR)
        assert "ahead.seat" in found["peg"].text


def fit_of(normalised: list[float]) -> Fit:
    size = np.array(normalised)
    share = np.full(len(size), 0.5)
    return Fit(np.zeros((1, 3)), np.zeros((3, 3)), 2.0 * size, share, size)


@pytest.mark.parametrize(
    ("normalised", "expected"),
    [
        ([1.0, -3.28, np.nan], []),
        ([1.0, -3.30, np.nan], [1]),
        ([5.0, -4.96, 4.9], [0, 1]),
    ],
)
def test_suspects_are_the_largest_and_its_equals_within_one_percent(
    normalised: list[float], expected: list[int]
) -> None:
    """3.29 and 1 %: Baarda 1968, and this project's own bound for telling apart."""
    assert suspects(fit_of(normalised)).tolist() == expected


def test_a_single_blunder_says_how_far_it_is_off() -> None:
    """Residual over redundancy: 8 / 0.5 = 16 mm too large."""
    rows = [row("heights.peg"), row("ahead.peg")]
    net = lay_out(rows, ["peg"], set(), set())
    (problem,) = blunders(net, fit_of([4.0, 1.0]), np.array([True, True]), FILE)
    assert (problem.level, problem.key) == (WARNING, "heights.peg")
    assert "about 16 mm too large, 2.0 times its give or take" in problem.text
    tilt = Row("handlebar.grip_tilt", TILT, "peg", None, 5.0, 1.0)
    net = lay_out([tilt, rows[1]], ["peg"], set(), set())
    (problem,) = blunders(net, fit_of([-4.0, 1.0]), np.array([True, True]), FILE)
    assert "about 16 degrees too small" in problem.text


def test_the_telling_span_is_one_that_was_not_taped() -> None:
    """Height and two spans of one point tie; only the third known point can tell them apart."""
    keys = ["heights.seat", "heights.tank", "heights.screen", "ahead.seat", "ahead.tank"]
    keys += ["ahead.screen", "heights.clamp", "spans.seat-clamp", "spans.tank-clamp"]
    rows = [row(k, 1.0) for k in keys]
    names = ["seat", "tank", "screen", "clamp"]
    points = np.array([[0, 0, 800.0], [300, 0, 900.0], [700, 0, 700.0], [500, 0, 1100.0]])
    net = lay_out(rows, names, set(), set())
    fit = Fit(points, np.zeros((12, 12)), np.zeros(9), np.zeros(9), np.zeros(9))
    found = telling_span(net, fit, np.ones(9, dtype=bool), np.array([6, 7, 8]))
    assert found == ("clamp", "screen")


def test_no_span_is_asked_for_where_all_are_taped() -> None:
    """Two points, one span."""
    rows = [row("heights.seat"), row("heights.clamp"), row("spans.seat-clamp")]
    net = lay_out(rows, ["seat", "clamp"], set(), {"seat"})
    points = np.array([[0.0, 0.0, 800.0], [400.0, 0.0, 1100.0]])
    fit = Fit(points, np.zeros((6, 6)), np.zeros(3), np.zeros(3), np.zeros(3))
    assert telling_span(net, fit, np.ones(3, dtype=bool), np.array([0, 1])) is None


def test_each_assumption_is_noted_once() -> None:
    """The clamp's two figures in one sentence; give or take is two spreads."""
    rows = [
        Row("ahead.grip_end-clamp", AHEAD, "clamp", "grip_end", 90.0, 40.0),
        Row("heights.grip_end-clamp", HEIGHT, "clamp", "grip_end", -30.0, 40.0),
        Row("widths.peg", SPACING, "peg", None, 460.0, 40.0),
        Row("handlebar.grip_tilt", TILT, "grip_end", "grip_inner", 0.0, 3.0),
    ]
    found = list(assumed_notes(rows, FILE))
    assert [p.key for p in found] == ["ahead.clamp", "widths.peg", "handlebar.grip_tilt"]
    assert all(p.level == NOTE for p in found)
    assert "90 mm ahead of and 30 mm below the grip end, give or take 80 mm" in found[0].text
    assert "460 mm, give or take 80" in found[1].text
    assert "0 degrees, give or take 6" in found[2].text
