"""Marks for two riders: at full size, on the right side of each other, in words as drawn."""

from __future__ import annotations

import math

import pytest
from attrs import evolve

from fitprofile.report.bar_marks import ahead_mm, mark_drawings, marked, where
from fitprofile.report.page import Drawing, Shape
from fitprofile.stages.sharing import Setting
from tests.report.tables import looks, words

PERCH = Setting(
    what="lever_rotation.brake",
    unit="deg",
    first=0.0,
    second=12.0,
    seen="lever_angle.brake",
    seen_first=20.0,
    seen_second=8.0,
    diameter_mm=22.2,
)
ROLL = evolve(PERCH, what="bar_roll", second=-9.0, seen="grip_tilt", diameter_mm=28.6)
SLIDE = evolve(PERCH, what="clip_slide", unit="mm", second=14.0, diameter_mm=math.nan)
REACH = evolve(PERCH, what="lever_reach.brake", unit="mm", diameter_mm=math.nan)


def thick(drawing: Drawing) -> list[dict[str, float]]:
    """The pointing line and both marks, in the order of drawing."""
    lines = looks(drawing.shapes, "line")
    return [
        {k: v for k, v in one.items() if k[0] in "xy"}
        for one in lines
        if one["stroke-width"] == 0.6
    ]


def texts(shapes: tuple[Shape, ...]) -> list[str]:
    return [shape.words for shape in shapes if shape.tag == "text"]


def turned(x: float, z: float, degrees: float) -> tuple[float, float]:
    """A roll as the frame's own formula says it: front and up, millimetres."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return x * c - z * s, x * s + z * c


@pytest.mark.parametrize("roll", [-9.0, 4.0, 15.0])
def test_rolling_the_bar_brings_its_second_mark_under_the_clamp_s_line(roll: float) -> None:
    """Mark B, laid out ahead of A on top of the bar, ends where A was."""
    one = evolve(ROLL, second=roll)
    radius = one.diameter_mm / 2.0
    at = ahead_mm(one) / radius
    x, z = turned(radius * math.sin(at), radius * math.cos(at), roll)
    assert (x, z) == pytest.approx((0.0, radius), abs=1e-9)


@pytest.mark.parametrize("turn", [-8.0, 12.0])
def test_lifting_the_blade_carries_the_perch_s_line_to_the_second_mark(turn: float) -> None:
    """A blade that points forward is lifted by the same turn that takes the top rearward."""
    blade = turned(1.0, 0.0, turn)
    assert (blade[1] > 0.0) is (turn > 0.0)
    one = evolve(PERCH, second=turn)
    radius = one.diameter_mm / 2.0
    line = turned(0.0, radius, turn)
    at = ahead_mm(one) / radius
    assert line == pytest.approx((radius * math.sin(at), radius * math.cos(at)), abs=1e-9)


def test_the_words_say_which_side() -> None:
    """Half millimetres: pi x 22.2 x 12 / 360 is 2.3, and pi x 28.6 x 9 / 360 is 2.2."""
    said = [where(one).replace("\N{NO-BREAK SPACE}", " ") for one in (PERCH, ROLL, SLIDE)]
    assert said == [
        "B 2.5 mm behind A, on top of the bar",
        "B 2 mm behind A, on top of the bar",
        "B 14 mm above A along the tube",
    ]
    assert "ahead of A" in where(evolve(PERCH, second=-12.0))
    assert "below A" in where(evolve(SLIDE, second=-3.0))


@pytest.mark.parametrize("one", [PERCH, ROLL])
def test_the_drawing_is_at_full_size(one: Setting) -> None:
    """Marks on the circle lie the true arc apart on paper, and so does the scale bar's 5 mm."""
    (drawing,) = mark_drawings((one,))
    pointer, first, second = thick(drawing)
    radius = one.diameter_mm / 2.0
    centre = (drawing.width / 2.0, pointer["y1"] + radius)
    angles = [
        math.atan2(mark["x1"] - centre[0], centre[1] - mark["y1"]) for mark in (first, second)
    ]
    assert radius * (angles[1] - angles[0]) == pytest.approx(ahead_mm(one), abs=1e-6)
    assert math.hypot(second["x1"] - centre[0], second["y1"] - centre[1]) == pytest.approx(radius)
    black, white = looks(drawing.shapes, "rect")
    assert black["width"] + white["width"] == pytest.approx(5.0)
    assert "5 mm" in texts(drawing.shapes)


def test_a_fork_tube_s_marks_lie_along_it() -> None:
    """The second one higher where the clip-on goes up."""
    (drawing,) = mark_drawings((SLIDE,))
    first, second = thick(drawing)
    assert first["y1"] - second["y1"] == pytest.approx(14.0)
    assert "A" in texts(drawing.shapes)
    assert "B" in texts(drawing.shapes)


def test_everything_stays_inside_the_drawing() -> None:
    """Also marks far apart on the thickest and thinnest bars."""
    for turn in (-40.0, -2.0, 1.5, 40.0):
        for diameter in (22.2, 35.0):
            one = evolve(PERCH, second=turn, diameter_mm=diameter)
            (drawing,) = mark_drawings((one,))
            for look in looks(drawing.shapes, "line"):
                assert min(look["x1"], look["x2"]) >= 0.0
                assert max(look["x1"], look["x2"]) <= drawing.width
                assert min(look["y1"], look["y2"]) >= 0.0
                assert max(look["y1"], look["y2"]) <= drawing.height


def test_what_a_scribe_cannot_tell_apart_has_no_drawing() -> None:
    """Nor has a reach, which its adjuster marks."""
    assert marked(PERCH)
    assert not marked(evolve(PERCH, second=1.0))
    assert not marked(REACH)
    assert not marked(evolve(PERCH, second=math.nan))
    assert mark_drawings((evolve(PERCH, second=0.0), REACH)) == ()


def test_it_says_in_words_what_it_shows() -> None:
    """For readers who do not see it, and below it for those who do."""
    (drawing,) = mark_drawings((PERCH,))
    assert "diameter 22.2 mm" in drawing.alt
    assert "behind A" in drawing.alt
    assert words(drawing.caption).startswith("Brake perch on the bar: B 2.5")
