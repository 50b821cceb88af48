"""Dials and enlarged moves."""

from __future__ import annotations

from math import atan2, degrees

import pytest
from attrs import evolve

from fitprofile.report.dials import dials
from fitprofile.report.page import Drawing
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import Sides
from tests.report import samples
from tests.report.tables import looks


def titles(transfer: Transfer) -> list[str]:
    return ["".join(span.text for span in one.caption) for one in dials(transfer)]


def hands(drawing: Drawing) -> dict[str, float]:
    """Slopes of a dial's hands, degrees below level: (as found, done)."""
    slopes = {}
    for line in looks(drawing.shapes, "line")[1:]:
        slope = degrees(atan2(line["y2"] - line["y1"], line["x2"] - line["x1"]))
        slopes["done" if "stroke-dasharray" in line else "found"] = slope
    return slopes


def test_a_lever_has_a_dial_that_shows_its_angles() -> None:
    """Drawn at the true slope, found solid and done dashed, with the figures in words."""
    made = samples.one_piece()
    drawing = dials(made)[0]
    slopes = hands(drawing)
    assert slopes["found"] == pytest.approx(24.0)
    assert slopes["done"] == pytest.approx(float(made.practical.after.lever_angle_deg.brake))
    shown = [shape.words for shape in drawing.shapes]
    assert "found 24°" in shown
    assert "24° below level as found" in drawing.alt


def test_a_lever_that_stays_is_told_to_be_left() -> None:
    """One hand only."""
    drawing = dials(samples.at_home())[0]
    assert "leave" in [shape.words for shape in drawing.shapes]
    assert "done" not in hands(drawing)


def test_dials_and_moves_are_drawn_for_what_there_is() -> None:
    """A lever nobody read has no dial; a peg that stays has no move."""
    assert titles(samples.clip_on())[:2] == ["Lever angle, brake", "Grip tilt, outer end right"]
    assert "Move of the peg" not in titles(samples.one_piece())
    assert "Move of the bar in its clamps" in titles(samples.one_piece())
    assert titles(samples.straight_bar())[0] == "Grip tilt, outer end right"


def test_an_enlarged_move_is_to_scale() -> None:
    """The arrow over the scale bar's scale is the move of the clamp."""
    made = samples.one_piece()
    drawing = dials(made)[-1]
    bars = looks(drawing.shapes, "rect")
    written = [s.words for s in drawing.shapes if s.words][-1]
    scale = sum(bar["width"] for bar in bars) / float(written.split()[0])
    rings = looks(drawing.shapes, "circle")
    across = abs(rings[0]["cx"] - rings[1]["cx"]) / scale
    moved = float(made.practical.points.clamp.x) - float(made.points.clamp.x)
    assert across == pytest.approx(abs(moved), abs=0.01)


@pytest.mark.parametrize("angle", [-60.0, -20.0, 0.0, 45.0, 60.0])
def test_every_hand_stays_on_the_paper(angle: float) -> None:
    """However steep the lever points, up or down."""
    made = samples.one_piece()
    now = evolve(made.now, lever_angle_deg=Sides(angle, angle))
    for drawing in dials(evolve(made, now=now)):
        for shape in drawing.shapes:
            for name, most in (("x2", drawing.width), ("y2", drawing.height)):
                assert 0.0 <= float(shape.attributes.get(name, 1.0)) <= most
