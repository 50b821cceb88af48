"""Marks for two riders of one bike, drawn at full size round the bar's end.

Seen from the bike's right side, front to the right. The line of what holds the bar, or of what
turns on it, points at A as the first rider has it; B is where it points for the second.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees, isfinite

from fitprofile.report.drawing import (
    ACCENT,
    DASHES,
    INK,
    THICK,
    THIN,
    arc,
    arrow,
    label,
    line,
    polar,
    scale_bar,
)
from fitprofile.report.page import Drawing, Shape, small, text
from fitprofile.report.plan_words import half_mm
from fitprofile.stages.sharing import Setting

WIDTH = 44.0
"""mm on paper."""

HIGHEST_TUBE = 48.0
"""mm on paper; height of the drawing of a fork tube with both marks."""

ABOVE = 9.0
"""mm on paper above the bar, for the line that points at the marks and its word."""

ONE_LINE = 0.25
"""mm between two marks below which a scribe makes one of them."""

BELOW = 5.0
"""mm on paper below the bar's middle, for the scale bar."""

TICK = 4.0
"""mm; length of a mark on paper."""

TOP = -90.0
"""Degrees on paper: straight up."""

ROLL = "bar_roll"
SLIDE = "clip_slide"

HOLDERS = {
    ROLL: ("bar in its clamp", "clamp"),
    "lever_rotation.brake": ("brake perch on the bar", "perch"),
    "lever_rotation.clutch": ("clutch perch on the bar", "perch"),
    SLIDE: ("clip-ons on the fork tubes", "clip-on"),
}
"""What is marked, and what carries the line that points at the marks."""


def marked(setting: Setting) -> bool:
    """Whether a setting has two marks that can be told apart."""
    apart = setting.apart_mm
    return setting.what in HOLDERS and isfinite(apart) and abs(apart) >= ONE_LINE


def ahead_mm(setting: Setting) -> float:
    """How far B lies ahead of A on top of the bar, mm; negative: behind. Along a tube: above.

    A bar that rolls its top rearward brings a mark that was ahead under the clamp's line; a perch
    that lifts its blade carries its own line rearward over the bar.
    """
    apart = setting.apart_mm
    return apart if setting.what in (ROLL, SLIDE) else -apart


def where(setting: Setting) -> str:
    """Where B lies, in words: ``B 3 mm behind A, on top of the bar``."""
    ahead = ahead_mm(setting)
    if setting.what == SLIDE:
        return f"B {half_mm(ahead)} {'above' if ahead > 0.0 else 'below'} A along the tube"
    return f"B {half_mm(ahead)} {'ahead of' if ahead > 0.0 else 'behind'} A, on top of the bar"


def mark_drawings(settings: tuple[Setting, ...]) -> tuple[Drawing, ...]:
    """One drawing for each setting with two marks."""
    return tuple(_drawing(one) for one in settings if marked(one))


def _drawing(setting: Setting) -> Drawing:
    words, holder = HOLDERS[setting.what]
    tube = setting.what == SLIDE
    shapes = _tube(setting, holder) if tube else _round(setting, holder)
    size = "" if tube else f", diameter {setting.diameter_mm:.1f} mm"
    return Drawing(
        width=WIDTH,
        height=HIGHEST_TUBE if tube else ABOVE + 0.5 * setting.diameter_mm + BELOW,
        shapes=tuple(shapes),
        alt=f"Marks for the {words} at full size{size}: {where(setting)}.",
        caption=text(f"{words.capitalize()}: ", small(where(setting))),
        kind="scribe",
    )


def _round(setting: Setting, holder: str) -> Iterator[Shape]:
    """The bar's upper half from its end, with what points at A, and both marks."""
    radius, ahead = 0.5 * setting.diameter_mm, ahead_mm(setting)
    centre = 0.5 * WIDTH, ABOVE + radius
    turn = degrees(ahead / radius)
    yield arc(centre, radius, -180.0, 0.0)
    yield line((centre[0] - radius, centre[1]), (centre[0] + radius, centre[1]), width=THIN)
    yield line(polar(centre, radius, TOP), polar(centre, radius + TICK, TOP), width=THICK)
    yield from label(holder, (centre[0], centre[1] - radius - TICK - 1.0), size=2.5)
    for at, stroke, dashes in ((TOP, INK, ""), (TOP + turn, ACCENT, DASHES)):
        start, end = polar(centre, radius, at), polar(centre, radius - TICK, at)
        yield line(start, end, stroke=stroke, dashes=dashes, width=THICK)
    # The letters stand apart where the marks are close.
    apart = max(abs(turn), degrees(3.4 / max(radius - TICK - 2.4, 1.0)))
    side = 1.0 if ahead > 0.0 else -1.0
    for letter, way in (("A", -side), ("B", side)):
        x, y = polar(centre, radius - TICK - 2.4, TOP + 0.5 * (turn + way * apart))
        yield from label(letter, (x, y + 1.0), bold=True, halo=False)
    floor = centre[1] + BELOW - 0.8
    yield from scale_bar((0.5, floor), 5.0, 1.0)
    yield from label("front", (WIDTH - 6.5, floor), anchor="end", size=2.4, halo=False)
    yield from arrow((WIDTH - 6.0, floor - 0.8), (WIDTH - 0.5, floor - 0.8), stroke=INK)


def _tube(setting: Setting, holder: str) -> Iterator[Shape]:
    """A fork tube with both marks, up the page."""
    ahead, left, right = ahead_mm(setting), 14.0, 26.0
    middle = 0.5 * (HIGHEST_TUBE - 8.0)
    for x in (left, right):
        yield line((x, 2.0), (x, HIGHEST_TUBE - 10.0), width=THIN)
    for letter, way, stroke, dashes in (("A", 0.5, INK, ""), ("B", -0.5, ACCENT, DASHES)):
        y = middle + way * ahead
        yield line((left, y), (right, y), stroke=stroke, dashes=dashes, width=THICK)
        yield from label(letter, (right + 1.5, y + 1.0), anchor="start", bold=True, halo=False)
    yield from label(half_mm(ahead), (left - 1.5, middle + 1.0), anchor="end", size=2.5)
    words = f"top edge of the {holder}"
    yield from label(words, (0.5 * WIDTH, HIGHEST_TUBE - 6.0), size=2.4, halo=False)
    yield from scale_bar((0.5, HIGHEST_TUBE - 1.2), 5.0, 1.0)
