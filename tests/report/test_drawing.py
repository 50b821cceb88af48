"""Strokes of a dimension drawing."""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.report import drawing
from fitprofile.report.drawing import View, fitted
from fitprofile.report.page import Shape
from tests.report.tables import looks

nan = float("nan")
MM = st.floats(-2000, 2000)


def words_of(shapes: Iterable[Shape]) -> list[str]:
    return [shape.words for shape in shapes if shape.words]


@given(MM, MM, MM, MM)
def test_a_view_keeps_its_scale_in_every_direction(x: float, y: float, u: float, v: float) -> None:
    """Distances on paper are bike distances times the scale, and up is up the page."""
    view = View(0.1, 50.0, 700.0)
    (x1, y1), (x2, y2) = view.at(x, y), view.at(u, v)
    assert hypot(x2 - x1, y2 - y1) == pytest.approx(0.1 * hypot(u - x, v - y), abs=1e-9)
    assert (y2 < y1) == (v > y) or abs(v - y) < 1e-9


@given(st.floats(1, 2000), st.floats(1, 2000))
def test_a_fitted_view_holds_its_box(width: int, height: float) -> None:
    """Every corner lies on the paper, and one direction fills it."""
    view = fitted((0.0, 0.0), (width, height), 60.0, 50.0)
    for corner in ((0.0, 0.0), (width, height)):
        x, y = view.at(*corner)
        assert -1e-6 <= x <= 60.0 + 1e-6
        assert -1e-6 <= y <= 50.0 + 1e-6
    assert max(width * view.scale / 60.0, height * view.scale / 50.0) == pytest.approx(1.0)


def test_a_scale_bar_is_as_long_as_it_says() -> None:
    """Both halves together are the length at the drawing's scale."""
    shapes = list(drawing.scale_bar((2.0, 10.0), 200.0, 0.07))
    assert sum(bar["width"] for bar in looks(shapes, "rect")) == pytest.approx(14.0)
    assert "200 mm" in words_of(shapes)


def test_a_dimension_has_heads_at_both_ends_and_its_figure_readable_from_the_right() -> None:
    """Up the page the words turn a quarter to the left; to the left they do not stand on end."""
    upright = list(drawing.dimension((10.0, 50.0), (10.0, 10.0), "820"))
    assert sum(shape.tag == "polygon" for shape in upright) == 2
    assert all("rotate(-90 " in look["transform"] for look in looks(upright, "text"))
    leftward = list(drawing.dimension((50.0, 10.0), (10.0, 10.0), "820"))
    assert not any("transform" in shape.attributes for shape in leftward)


def test_a_short_dimension_leaves_its_heads_out() -> None:
    """They would cover each other."""
    shapes = list(drawing.dimension((0.0, 0.0), (2.0, 0.0), "4"))
    assert not any(shape.tag == "polygon" for shape in shapes)


def test_an_arrow_to_the_same_place_is_nothing() -> None:
    """A point that stays has no arrow."""
    assert list(drawing.arrow((1.0, 1.0), (1.0, 1.1))) == []
    drawn = list(drawing.arrow((1.0, 1.0), (9.0, 1.0)))
    assert [shape.tag for shape in drawn] == ["line", "polygon"]


def test_a_head_points_where_it_is_told() -> None:
    """Its tip is the first corner, the others lie behind it."""
    points = str(drawing.head((10.0, 5.0), pi / 2.0).attributes["points"]).split()
    tip, *back = ([float(part) for part in point.split(",")] for point in points)
    assert tip == [10.0, 5.0]
    assert all(corner[1] < 5.0 for corner in back)


def test_words_have_paper_behind_them_that_is_not_read_out() -> None:
    """The halo is hidden from readers who do not see the drawing."""
    halo, words = drawing.label("peg", (1.0, 2.0))
    assert halo.attributes["aria-hidden"] == "true"
    assert "aria-hidden" not in words.attributes


def test_arcs_run_between_points_on_their_circle() -> None:
    """From polar to polar, clockwise on paper for a growing angle."""
    path = drawing.arc((0.0, 0.0), 10.0, 0.0, 90.0).attributes["d"]
    assert path == "M 10 0 A 10 10 0 0 1 0 10"
    assert " 0 0 0 " in str(drawing.arc((0.0, 0.0), 10.0, 0.0, -90.0).attributes["d"])


def test_only_what_exists_is_known() -> None:
    """One nan is enough."""
    assert drawing.known(1.0, 2.0)
    assert not drawing.known(1.0, nan)


def test_as_found_and_wished_differ_without_colour() -> None:
    """Filled against open, solid against dashed."""
    found, wished = drawing.dot((0.0, 0.0)), drawing.ring((0.0, 0.0))
    assert found.attributes["fill"] == drawing.INK
    assert wished.attributes["fill"] == drawing.PAPER
    legend = [s for s in drawing.legend(60.0, 50.0, "wished") if s.tag == "line"]
    assert ["stroke-dasharray" in line.attributes for line in legend] == [False, True]


def test_attributes_are_short() -> None:
    """Hundredths of a millimetre, and words as they are."""
    assert drawing.attribute(1.23456) == "1.23"
    assert drawing.attribute(2.0) == "2"
    assert drawing.attribute("none") == "none"
