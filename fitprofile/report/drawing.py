"""Strokes of a dimension drawing as shapes: lines, arrows, arcs, figures. Paper mm, y down.

Looks are presentation attributes, since a page's style sheet does not reach into drawings in
every medium. As found is solid and filled, wished or done is dashed and open: nothing hangs on
colour.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import atan2, cos, degrees, hypot, isfinite, pi, radians, sin
from typing import NamedTuple

from fitprofile.geometry.vectors import Vec
from fitprofile.report.page import Shape
from fitprofile.values import frozen

Point = tuple[float, float]

INK = "#111111"
ACCENT = "#0b4f6c"
GREY = "#666666"
PAPER = "#ffffff"

THICK, PLAIN_LINE, THIN = 0.6, 0.35, 0.15
DASHES = "1.8 1.1"
CHAIN = "4 0.9 0.7 0.9"
FONT = "Inter, 'DejaVu Sans', sans-serif"
TEXT = 2.75
"""mm; height of a figure's type (7.8 pt)."""
QUARTER = 90.0
"""Degrees; words turned further would stand on their heads."""
ROW = 4.4
"""mm on paper between two dimension lines."""
BAR_LENGTH = 200.0
"""mm of bike that a scale bar shows."""
HEAD = 1.9
"""mm; length of an arrow's head."""


class Spot(NamedTuple):
    """One point of one bike, mm: x forward, y left, z up."""

    x: float
    y: float
    z: float


def spot(at: Vec) -> Spot:
    """A triple of scalars as plain floats."""
    return Spot(float(at.x), float(at.y), float(at.z))


@frozen
class View:
    """Bike mm to paper mm: ``scale`` paper mm a bike mm, and the bike point at paper (0, 0)."""

    scale: float
    left: float
    top: float

    def at(self, across: float, up: float) -> Point:
        """Paper point of a place ``across`` to the right and ``up`` the page, both bike mm."""
        return (across - self.left) * self.scale, (self.top - up) * self.scale


def fitted(low: Point, high: Point, width: float, height: float) -> View:
    """The view that shows a box of bike mm, (across, up), in the middle of a paper box of mm."""
    spans = max(high[0] - low[0], 1.0), max(high[1] - low[1], 1.0)
    scale = min(width / spans[0], height / spans[1])
    spare = (width / scale - spans[0]) / 2.0, (height / scale - spans[1]) / 2.0
    return View(scale, low[0] - spare[0], high[1] + spare[1])


def line(
    start: Point,
    end: Point,
    *,
    stroke: str = INK,
    width: float = PLAIN_LINE,
    dashes: str = "",
) -> Shape:
    """A straight line."""
    look: dict[str, str | float] = {"stroke": stroke, "stroke-width": width}
    if dashes:
        look["stroke-dasharray"] = dashes
    if width >= THICK:
        look["stroke-linecap"] = "butt" if dashes else "round"
    return Shape("line", {"x1": start[0], "y1": start[1], "x2": end[0], "y2": end[1], **look})


def dot(at: Point, radius: float = 0.8) -> Shape:
    """A filled point: as found."""
    return Shape("circle", {"cx": at[0], "cy": at[1], "r": radius, "fill": INK})


def ring(at: Point, radius: float = 0.9, stroke: str = ACCENT) -> Shape:
    """An open point: wished or done."""
    return Shape(
        "circle",
        {
            "cx": at[0],
            "cy": at[1],
            "r": radius,
            "fill": PAPER,
            "stroke": stroke,
            "stroke-width": 0.4,
        },
    )


def cross(at: Point, size: float = 1.4) -> Iterator[Shape]:
    """A thin cross: a place to measure from."""
    x, y = at
    yield line((x - size, y), (x + size, y), width=THIN)
    yield line((x, y - size), (x, y + size), width=THIN)


def label(
    words: str,
    at: Point,
    *,
    anchor: str = "middle",
    size: float = TEXT,
    fill: str = INK,
    turn: float = 0.0,
    bold: bool = False,
    halo: bool = True,
) -> Iterator[Shape]:
    """Words at a place, with paper round them so that lines do not cross them."""
    look: dict[str, str | float] = {
        "x": at[0],
        "y": at[1],
        "font-family": FONT,
        "font-size": size,
        "text-anchor": anchor,
    }
    if bold:
        look["font-weight"] = "600"
    if turn:
        look["transform"] = f"rotate({_short(turn)} {_short(at[0])} {_short(at[1])})"
    if halo:
        edge: dict[str, str | float] = {
            "stroke": PAPER,
            "stroke-width": 1.1,
            "stroke-linejoin": "round",
        }
        yield Shape("text", {**look, "fill": PAPER, **edge, "aria-hidden": "true"}, words)
    yield Shape("text", {**look, "fill": fill}, words)


def head(tip: Point, toward: float, fill: str = INK, size: float = HEAD) -> Shape:
    """An arrow's head at ``tip``, pointing along ``toward`` (rad, paper, y down)."""
    back = [
        (tip[0] - size * cos(toward + side), tip[1] - size * sin(toward + side))
        for side in (0.16, -0.16)
    ]
    points = " ".join(f"{_short(x)},{_short(y)}" for x, y in (tip, *back))
    return Shape("polygon", {"points": points, "fill": fill})


def arrow(
    start: Point, end: Point, *, stroke: str = ACCENT, width: float = PLAIN_LINE
) -> Iterator[Shape]:
    """A line with a head at its end; nothing where the two are one."""
    length = hypot(end[0] - start[0], end[1] - start[1])
    if length < 0.3:  # noqa: PLR2004 - shorter than a pen is wide
        return
    toward = atan2(end[1] - start[1], end[0] - start[0])
    size = min(HEAD, 0.7 * length)
    yield line(start, end, stroke=stroke, width=width)
    yield head(end, toward, stroke, size)


def dimension(
    start: Point,
    end: Point,
    words: str,
    *,
    stroke: str = INK,
    dashes: str = "",
    bold: bool = False,
) -> Iterator[Shape]:
    """A dimension line between two paper points, heads at both ends, words along it.

    Lines that run up the page carry their words turned, readable from the right.
    """
    toward = atan2(end[1] - start[1], end[0] - start[0])
    length = hypot(end[0] - start[0], end[1] - start[1])
    middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
    yield line(start, end, stroke=stroke, width=THIN, dashes=dashes)
    if length > 2.0 * HEAD:
        yield head(end, toward, stroke)
        yield head(start, toward + pi, stroke)
    turn = degrees(toward)
    if turn >= QUARTER:
        turn -= 2.0 * QUARTER
    elif turn < -QUARTER:
        turn += 2.0 * QUARTER
    across = radians(turn + 90.0)
    place = (middle[0] + 0.35 * TEXT * cos(across), middle[1] + 0.35 * TEXT * sin(across))
    yield from label(words, place, fill=stroke, turn=turn, bold=bold)


def extension(start: Point, end: Point) -> Shape:
    """The thin line from a point to where its dimension stands."""
    return line(start, end, width=THIN, stroke=GREY)


def arc(
    centre: Point,
    radius: float,
    start_deg: float,
    end_deg: float,
    *,
    stroke: str = INK,
    dashes: str = "",
) -> Shape:
    """An arc round a centre; degrees on paper, 0 to the right, positive downward."""
    (x1, y1), (x2, y2) = (polar(centre, radius, at) for at in (start_deg, end_deg))
    sweep = 1 if end_deg > start_deg else 0
    path = (
        f"M {_short(x1)} {_short(y1)} A {_short(radius)} {_short(radius)} 0 0 {sweep} "
        f"{_short(x2)} {_short(y2)}"
    )
    look: dict[str, str | float] = {"fill": "none", "stroke": stroke, "stroke-width": 0.2}
    if dashes:
        look["stroke-dasharray"] = dashes
    return Shape("path", {"d": path, **look})


def polar(centre: Point, radius: float, at_deg: float) -> Point:
    """The point at an angle round a centre; 0 to the right, positive downward."""
    at = radians(at_deg)
    return centre[0] + radius * cos(at), centre[1] + radius * sin(at)


def scale_bar(at: Point, length_mm: float, scale: float) -> Iterator[Shape]:
    """A bar that is ``length_mm`` long at the drawing's scale, its left end at ``at``."""
    end = at[0] + length_mm * scale
    middle = (at[0] + end) / 2.0
    yield Shape(
        "rect",
        {
            "x": at[0],
            "y": at[1] - 0.9,
            "width": middle - at[0],
            "height": 0.9,
            "fill": INK,
        },
    )
    yield Shape(
        "rect",
        {
            "x": middle,
            "y": at[1] - 0.9,
            "width": end - middle,
            "height": 0.9,
            "fill": PAPER,
            "stroke": INK,
            "stroke-width": 0.15,
        },
    )
    yield from label(f"{length_mm:g} mm", (end + 1.2, at[1]), anchor="start", size=2.4)


def legend(width: float, y: float, done: str) -> Iterator[Shape]:
    """As found solid, wished or done dashed; right-hand end of a drawing's last line."""
    left = width - 37.0 if done == "wished" else width - 35.0
    yield line((left, y - 0.8), (left + 6.0, y - 0.8))
    yield from label("as found", (left + 7.0, y), anchor="start", size=2.4, halo=False)
    yield line((left + 19.0, y - 0.8), (left + 25.0, y - 0.8), stroke=ACCENT, dashes=DASHES)
    yield from label(done, (left + 26.0, y), anchor="start", size=2.4, halo=False)


def known(*values: float) -> bool:
    """Whether every figure exists, so that it can be drawn."""
    return all(isfinite(value) for value in values)


def _short(value: float) -> str:
    """A figure for an attribute: hundredths of a millimetre are enough on paper."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def attribute(value: str | float) -> str:
    """An attribute's text."""
    return value if isinstance(value, str) else _short(value)
