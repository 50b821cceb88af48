"""Which one tape to ask for, and the sentence that asks."""

from __future__ import annotations

import numpy as np

from fitprofile.errors import ERROR
from fitprofile.stages.missing import asked_for, one_more, rest_of_quick_set
from fitprofile.stages.network import AHEAD, HEIGHT, LENGTH, Row
from tests.stages.taped import TRUE

FILE = "bikes/invented.toml"
POINTS = {name: np.array(point) for name, point in TRUE.items() if "axle" not in name}
KINDS = {"heights": HEIGHT, "ahead": AHEAD, "spans": LENGTH}
QUICK = (
    *("heights.seat", "heights.peg", "heights.grip_end"),
    *("spans.seat-peg", "spans.seat-grip_end", "spans.peg-grip_end"),
)


def rows(*keys: str) -> list[Row]:
    """Rows from their keys alone."""
    made = []
    for key in keys:
        table, _, names = key.partition(".")
        start, _, end = names.rpartition("-")
        made.append(Row(key, KINDS[table], end, start or None, 100.0, 5.0))
    return made


def test_heights_are_asked_for_first_then_spans() -> None:
    """Only what was not taped, whichever end a span begins at."""
    found = [row.key for row in one_more(rows("spans.peg-seat", "heights.peg"), POINTS, "seat")]
    assert found == [
        "heights.seat",
        "heights.grip_end",
        "spans.seat-grip_end",
        "spans.peg-grip_end",
    ]


def test_a_plumb_line_comes_first_where_one_was_used() -> None:
    """Another distance ahead of the axle is the same move again."""
    points = {**POINTS, "rear_axle": np.zeros(3)}
    taped = rows(*QUICK[:3], "heights.rear_axle")
    spans_first = [row.key for row in one_more(taped, points, "rear_axle")]
    assert spans_first == [*QUICK[3:], "ahead.seat", "ahead.peg", "ahead.grip_end"]
    plumb = [row.key for row in one_more([*taped, *rows("ahead.seat")], points, "rear_axle")]
    assert plumb == ["ahead.peg", "ahead.grip_end", *QUICK[3:]]


def test_a_candidate_span_has_the_length_that_the_points_give() -> None:
    """450 ahead, 375 out and 230 up: 629.4 mm from sit point to grip end."""
    found = {row.key: row.value for row in one_more([], POINTS, "seat")}
    assert found["spans.seat-grip_end"] == np.sqrt(450.0**2 + 375.0**2 + 230.0**2)


def test_half_of_the_quick_set_is_asked_for_together() -> None:
    """Not more, and not where the rear axle or a plumb line was used."""
    assert [r.key for r in rest_of_quick_set(rows(*QUICK[:3]), POINTS, "seat")] == list(QUICK[3:])
    assert rest_of_quick_set(rows(*QUICK[:2]), POINTS, "seat") == ()
    assert rest_of_quick_set(rows(*QUICK[:5]), POINTS, "rear_axle") == ()
    assert rest_of_quick_set(rows(*QUICK[:5], "ahead.peg"), POINTS, "seat") == ()


def test_the_sentence_names_the_tape_and_what_hangs_on_it() -> None:
    """In words and by its key; a span tells of the plumb line that would do as well."""
    problem = asked_for(rows("heights.seat"), ["peg"], ["grip_end"], "seat", FILE)
    assert (problem.level, problem.key, problem.file) == (ERROR, "heights.seat", FILE)
    assert problem.text == (
        "the height above the floor of the middle of the batten's marks on the saddle "
        "(heights.seat) is missing, and without it the other tapes do not place the peg and the "
        "grip end: tape it"
    )
    problem = asked_for(rows("spans.seat-peg"), [], ["peg"], "seat", FILE)
    assert "the span from the sit point to the peg (spans.seat-peg) is missing" in problem.text
    assert "(ahead.peg and ahead.seat) would do as well" in problem.text
    assert (
        "ahead.seat" not in asked_for(rows("spans.seat-peg"), [], ["peg"], "rear_axle", FILE).text
    )
    problem = asked_for(rows("ahead.peg"), ["peg"], [], "rear_axle", FILE)
    assert "how far the peg lies ahead of the rear axle along the floor (ahead.peg)" in problem.text
