"""The bike's points from the side."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pytest
from attrs import evolve

from fitprofile.report.drawing import BAR_LENGTH
from fitprofile.report.page import Drawing
from fitprofile.report.side import side
from fitprofile.stages.outcome import Transfer
from tests.report import samples
from tests.report.tables import looks


def words(drawing: Drawing) -> set[str]:
    return {shape.words for shape in drawing.shapes if shape.words}


def test_heights_and_distances_are_those_of_the_points() -> None:
    """As found, and an arrow to the figure when it changes."""
    made = samples.one_piece()
    shown = words(side(made))
    done = made.practical.points
    assert f"1050 \N{RIGHTWARDS ARROW} {round(float(done.grip_end.z))}" in shown
    assert "392" in shown
    assert {"sit point", "peg", "grip end", "bar in its clamps", "navel", "front axle"} <= shown
    assert "rake 27°" in shown


def test_the_drawing_is_to_scale() -> None:
    """Filled points: peg and sit point are as far apart as on the bike."""
    made = samples.one_piece()
    drawing = side(made)
    scale = sum(bar["width"] for bar in looks(drawing.shapes, "rect")) / BAR_LENGTH
    dots = [look for look in looks(drawing.shapes, "circle") if look["r"] == 0.8]
    apart = float(made.points.peg.x) - float(made.points.seat.x)
    spans = [abs(a["cx"] - b["cx"]) / scale for a in dots for b in dots]
    assert min(abs(span - apart) for span in spans) < 0.01


def test_what_stays_has_one_point_and_no_arrow() -> None:
    """At home nothing moves: no open point at all."""
    drawing = side(samples.at_home())
    assert not any(s.tag == "circle" and s.attributes["fill"] == "#ffffff" for s in drawing.shapes)


@pytest.mark.parametrize("sample", samples.EVERYTHING)
def test_everything_lies_on_the_paper(sample: Callable[[], Transfer]) -> None:
    """No point or line runs over the edge, also where the bar is far ahead."""
    drawing = side(sample())
    for shape in drawing.shapes:
        for name in ("x", "x1", "x2", "cx"):
            assert 0.0 <= float(shape.attributes.get(name, 1.0)) <= drawing.width
        for name in ("y", "y1", "y2", "cy"):
            assert 0.0 <= float(shape.attributes.get(name, 1.0)) <= drawing.height


def test_close_heights_stand_beside_each_other() -> None:
    """Sit point right above the peg: two dimension lines, not one upon the other."""
    made = samples.one_piece()
    peg = made.points.peg._replace(x=float(made.points.seat.x) + 3.0)
    near = evolve(made, points=evolve(made.points, peg=peg))
    lines = [
        look["x1"]
        for look in looks(side(near).shapes, "line")
        if look["x1"] == look["x2"] and look["stroke-width"] == 0.15
        if abs(look["y1"] - look["y2"]) > 20.0
    ]
    lines.sort()
    assert all(b - a > 4.0 for a, b in pairwise(lines))


def test_the_words_tell_what_the_drawing_shows() -> None:
    """For readers who do not see it."""
    alt = side(samples.one_piece()).alt
    assert "sit point 813 above the floor" in alt
    assert "afterwards" in alt


def test_an_untaped_axle_is_named_where_distances_begin() -> None:
    """The clip-on bike has no axle heights."""
    assert "rear axle" in words(side(samples.clip_on()))
    assert "front axle" not in words(side(samples.clip_on()))
