"""The cockpit triangle from above."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from fitprofile.report.drawing import BAR_LENGTH
from fitprofile.report.page import Drawing
from fitprofile.report.plan import plan, triangle_now, triangle_wished, triangles
from fitprofile.stages import linkage
from fitprofile.stages.outcome import Transfer
from tests.report import samples
from tests.report.tables import looks


def scale_of(drawing: Drawing) -> float:
    bars = looks(drawing.shapes, "rect")
    return float(sum(bar["width"] for bar in bars)) / BAR_LENGTH


def bar_lines(drawing: Drawing, *, dashed: bool) -> list[dict[str, Any]]:
    """Level lines from grip end to grip end."""
    return [
        look
        for look in looks(drawing.shapes, "line")
        if look["y1"] == look["y2"] and look["x2"] - look["x1"] > 20.0
        if look["stroke-width"] == 0.35 and ("stroke-dasharray" in look) is dashed
    ]


def test_the_triangle_is_navel_and_grip_ends() -> None:
    """The navel at the rider's own lean, the grips as surveyed."""
    made = samples.one_piece()
    navel = linkage.navel(made.linkage, made.points.seat, made.now.lean_deg)
    now = triangle_now(made)
    assert now.navel == pytest.approx([float(part) for part in navel])
    assert now.grip_end.y == pytest.approx(float(made.now.bar_width_mm) / 2.0)


def test_the_wished_triangle_has_the_wished_width_and_distance() -> None:
    """After the exact changes, in space."""
    made = samples.one_piece()
    wished = triangle_wished(made)
    assert wished is not None
    assert 2.0 * wished.grip_end.y == pytest.approx(float(made.target.bar_width_mm))
    ahead, up = wished.grip_end.x - wished.navel.x, wished.grip_end.z - wished.navel.z
    assert (ahead**2 + up**2) ** 0.5 == pytest.approx(float(made.target.navel_to_bar_mm))


def test_the_plan_is_to_scale() -> None:
    """The bar's line over the scale bar's scale is the bar width, found and wished."""
    made = samples.one_piece()
    drawing = plan(made)
    scale = scale_of(drawing)
    (found,) = bar_lines(drawing, dashed=False)
    assert (found["x2"] - found["x1"]) / scale == pytest.approx(742.0, abs=0.01)
    (wished,) = bar_lines(drawing, dashed=True)
    assert (wished["x2"] - wished["x1"]) / scale == pytest.approx(800.0, abs=0.01)


@pytest.mark.parametrize("sample", samples.EVERYTHING)
def test_everything_lies_on_the_paper(sample: Callable[[], Transfer]) -> None:
    """No line or word runs over the edge."""
    drawing = plan(sample())
    for shape in drawing.shapes:
        for name in ("x", "x1", "x2", "cx"):
            assert 0.0 <= float(shape.attributes.get(name, 1.0)) <= drawing.width
        for name in ("y", "y1", "y2", "cy"):
            assert 0.0 <= float(shape.attributes.get(name, 1.0)) <= drawing.height


def test_a_wish_that_no_bar_gives_is_not_drawn() -> None:
    """Only the bike as found, and the words say so."""
    drawing = plan(samples.no_answer())
    assert triangle_wished(samples.no_answer()) is None
    assert bar_lines(drawing, dashed=True) == []
    assert "No place of the bar gives the wish" in drawing.alt


def test_small_triangles_share_one_scale() -> None:
    """So that they can be compared side by side."""
    drawn = triangles([sample() for sample in samples.EVERYTHING])
    assert len(drawn) == len(samples.EVERYTHING)
    assert len({round(scale_of(one), 9) for one in drawn}) == 1
    assert len({(one.width, one.height) for one in drawn}) == 1
    names = [sample().bike.name for sample in samples.EVERYTHING]
    assert all(name in one.alt for name, one in zip(names, drawn, strict=True))


def test_no_bikes_no_triangles() -> None:
    """An empty garage draws nothing."""
    assert triangles([]) == ()
