"""The bike's points from the side: what moves, from where to where, with dimensions.

Points, lines and dimensions only. As found is solid and filled, after is dashed and open.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, radians, sin

from fitprofile.geometry.vectors import Vec
from fitprofile.report.drawing import (
    ACCENT,
    BAR_LENGTH,
    CHAIN,
    DASHES,
    GREY,
    HEAD,
    INK,
    PLAIN_LINE,
    ROW,
    THIN,
    Point,
    View,
    arrow,
    cross,
    dimension,
    dot,
    extension,
    fitted,
    known,
    label,
    legend,
    line,
    ring,
    scale_bar,
    spot,
)
from fitprofile.report.page import Drawing, Shape, text
from fitprofile.report.plan import triangle_now
from fitprofile.report.step import origin
from fitprofile.report.wording import MM, bare, half_degrees
from fitprofile.stages.outcome import Transfer
from fitprofile.units import whole

SIDE = (110.0, 64.0)
"""Width and height on paper, mm."""

WORD = 2.1
"""mm on paper that a character of a dimension takes, with room for arrow heads."""

SIDE_POINTS = (
    ("seat", "sit point"),
    ("peg", "peg"),
    ("grip_end", "grip end"),
    ("clamp", "bar in its clamps"),
)
"""Points that a side view names."""


def side(transfer: Transfer) -> Drawing:
    """The points that move, from the side, front to the right, with heights and distances."""
    width, height = SIDE
    view = _side_view(transfer)
    shapes = (
        *_floor(view, width),
        *_axles(transfer, view),
        *_rake_line(transfer, view),
        *_navel_to_bar(transfer, view),
        *_heights(transfer, view),
        *_ladder(transfer, view),
        *_side_points(transfer, view),
        *scale_bar((2.0, height - 1.2), BAR_LENGTH, view.scale),
        *legend(width, height - 1.2, "after"),
    )
    return Drawing(
        width=width,
        height=height,
        shapes=shapes,
        alt=_side_words(transfer),
        caption=text(
            "From the right side, front to the right; mm above the floor and ahead of the "
            f"{origin(transfer.surveyed)}."
        ),
        kind="side",
    )


def _side_view(transfer: Transfer) -> View:
    """Everything that is drawn, the floor and the origin included; room for figures around."""
    found, done = transfer.points, transfer.practical.points
    places = [spot(getattr(at, name)) for at in (found, done) for name, _ in SIDE_POINTS]
    places += [spot(at) for name, at in found.others.items() if name.endswith("_axle")]
    places.append(triangle_now(transfer).navel)
    seen = [at for at in places if known(*at)]
    low = (min(0.0, *(at.x for at in seen)), 0.0)
    high = (max(at.x for at in seen), max(at.z for at in seen))
    inner = fitted(low, high, SIDE[0] - 24.0, SIDE[1] - 26.0)
    return View(inner.scale, inner.left - 4.0 / inner.scale, high[1] + 7.0 / inner.scale)


def _floor(view: View, width: float) -> Iterator[Shape]:
    y = view.at(0.0, 0.0)[1]
    yield line((1.0, y), (width - 1.0, y), width=PLAIN_LINE)
    for step in range(int((width - 4.0) / 4.0)):
        x = 3.0 + 4.0 * step
        yield line((x, y), (x - 1.2, y + 1.2), width=THIN, stroke=GREY)


def _axles(transfer: Transfer, view: View) -> Iterator[Shape]:
    for name, at in transfer.points.others.items():
        if name.endswith("_axle") and known(float(at.x), float(at.z)):
            place = view.at(float(at.x), float(at.z))
            yield from cross(place, 2.2)
            yield from label(
                name.replace("_", " "), (place[0] - 1.0, place[1] + 4.6), size=2.4, fill=GREY
            )


def _rake_line(transfer: Transfer, view: View) -> Iterator[Shape]:
    """The steering axis' direction through the bar's clamps, along which risers raise it."""
    at, rake = transfer.points.clamp, radians(transfer.surveyed.rake.value)
    x, z = float(at.x), float(at.z)
    start = view.at(x - 90.0 * sin(rake), z + 90.0 * cos(rake))
    end = view.at(x + 190.0 * sin(rake), z - 190.0 * cos(rake))
    yield line(start, end, width=THIN, dashes=CHAIN, stroke=GREY)
    words = f"rake {half_degrees(transfer.surveyed.rake.value)}"
    yield from label(words, (end[0] + 1.2, end[1] + 1.0), anchor="start", size=2.4, fill=GREY)


def _navel_to_bar(transfer: Transfer, view: View) -> Iterator[Shape]:
    navel = triangle_now(transfer).navel
    if not known(*navel):
        return
    at = view.at(navel.x, navel.z)
    for points, stroke, dashes in (
        (transfer.practical.points, ACCENT, DASHES),
        (transfer.points, INK, ""),
    ):
        bar = view.at(float(points.grip_end.x), float(points.grip_end.z))
        yield line(at, bar, stroke=stroke, dashes=dashes, width=PLAIN_LINE)
    yield dot(at)
    yield from label("navel", (at[0], at[1] - 2.0), size=2.4, fill=GREY)


def _heights(transfer: Transfer, view: View) -> Iterator[Shape]:
    """Height above the floor of sit point, peg and grip end, each at its own place."""
    floor = view.at(0.0, 0.0)[1]
    taken: list[float] = []
    for name in ("peg", "seat", "grip_end"):
        start, end = (
            spot(getattr(at, name)) for at in (transfer.points, transfer.practical.points)
        )
        if not known(*start):
            continue
        x, y = view.at(start.x, start.z)
        place = min([x, *(at - ROW for at in taken if abs(at - x) < ROW)])
        taken.append(place)
        if place < x:
            yield extension((x, y), (place - 1.0, y))
        foot, top, words = (
            (place, floor),
            (place, y + (0.0 if place < x else 1.0)),
            _went(start.z, end.z),
        )
        if floor - top[1] > WORD * len(words):
            yield from dimension(foot, top, words)
        else:  # too short for its words: they stand beside it, clear of the point above
            yield from dimension(foot, top, "")
            yield from label(words, (place + 1.4, floor - 1.6), anchor="start")


def _went(start: float, end: float) -> str:
    """A figure as found, and as done where that prints differently."""
    if whole(start) == whole(end):
        return bare(start, MM)
    return f"{bare(start, MM)} \N{RIGHTWARDS ARROW} {bare(end, MM)}"


def _ladder(transfer: Transfer, view: View) -> Iterator[Shape]:
    """Distances ahead of the origin along the floor, one below the other."""
    floor = view.at(0.0, 0.0)[1]
    start = view.at(0.0, 0.0)[0]
    for place, name in enumerate(("seat", "peg", "grip_end")):
        at, end = (
            spot(getattr(point, name)) for point in (transfer.points, transfer.practical.points)
        )
        x = view.at(at.x, 0.0)[0]
        if not known(x) or abs(x - start) < 4.0 * HEAD:
            continue
        y = floor + ROW * (place + 1)
        yield extension((x, floor), (x, y + 1.0))
        yield from dimension((start, y), (x, y), _went(at.x, end.x))
    yield extension((start, floor - 1.5), (start, floor + 14.0))
    if "rear_axle" not in transfer.points.others:
        below = (start - 1.2, floor + ROW + 1.0)
        yield from label(origin(transfer.surveyed), below, anchor="end", size=2.4, fill=GREY)


def _side_points(transfer: Transfer, view: View) -> Iterator[Shape]:
    """The points themselves, as found and done, with an arrow between and their names."""
    for name, words in SIDE_POINTS:
        start = _paper(getattr(transfer.points, name), view)
        end = _paper(getattr(transfer.practical.points, name), view)
        if not known(*start):
            continue
        yield from arrow(start, end)
        if abs(start[0] - end[0]) + abs(start[1] - end[1]) > 0.05:  # noqa: PLR2004 - mm on paper
            yield ring(end, 1.2)
        yield dot(start)
        anchor, at = _name_place(name, start, end)
        told = "clip-on at the tube" if name == "clamp" and transfer.clip_on else words
        yield from label(told, at, anchor=anchor, size=2.4)


def _name_place(name: str, start: Point, end: Point) -> tuple[str, Point]:
    """Where a point's name stands, so that it is clear of its lines, and which end of it."""
    if name in {"clamp", "peg"}:
        right = max(start, end)
        return "start", (right[0] + 2.4, right[1] + 0.9)
    if name == "grip_end":
        return "middle", (start[0], min(start[1], end[1]) - 2.4)
    return "end", (start[0] - 2.2, start[1] + 0.9)


def _paper(at: Vec, view: View) -> Point:
    return view.at(float(at.x), float(at.z))


def _side_words(transfer: Transfer) -> str:
    parts = []
    for name, words in SIDE_POINTS:
        start, end = getattr(transfer.points, name), getattr(transfer.practical.points, name)
        place = f"{words} {bare(float(start.z), MM)} above the floor"
        if whole(float(start.z)) != whole(float(end.z)):
            place += f", afterwards {bare(float(end.z), MM)}"
        parts.append(place)
    return f"Points of the bike from the side, in millimetres: {'; '.join(parts)}."
