"""Two drawings: the cockpit triangle from above, and the bike's points from the side.

Points, lines and dimensions only. As found is solid and filled, wished or done dashed and open.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import cos, radians, sin
from typing import NamedTuple

from attrs import frozen

from fitprofile.geometry.vectors import Vec
from fitprofile.report.drawing import (
    ACCENT,
    CHAIN,
    DASHES,
    GREY,
    HEAD,
    INK,
    PLAIN_LINE,
    THICK,
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
    line,
    ring,
    scale_bar,
)
from fitprofile.report.page import Drawing, Shape, text, user
from fitprofile.report.wording import MM, bare, figure
from fitprofile.report.work import origin
from fitprofile.stages import linkage, moves
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.survey import BikePoints

PLAN = (66.0, 62.0)
SIDE = (110.0, 80.0)
"""Width and height on paper, mm."""

ROW = 4.4
"""mm on paper between two dimension lines."""

BAR_LENGTH = 200.0
"""mm of bike that a scale bar shows."""


class Spot(NamedTuple):
    """One point of one bike, mm: x forward, y left, z up."""

    x: float
    y: float
    z: float


def spot(at: Vec) -> Spot:
    """A triple of scalars as plain floats."""
    return Spot(float(at.x), float(at.y), float(at.z))


@frozen
class Triangle:
    """A cockpit triangle: navel and the left grip's two ends, bike mm."""

    navel: Spot
    grip_end: Spot
    grip_inner: Spot

    @property
    def exists(self) -> bool:
        """Whether it can be drawn."""
        return known(*self.navel, *self.grip_end, *self.grip_inner)


def triangle_now(transfer: Transfer) -> Triangle:
    """As found, at the rider's own lean."""
    return _triangle(transfer, transfer.points, float(transfer.now.lean_deg))


def triangle_wished(transfer: Transfer) -> Triangle | None:
    """After the exact changes; ``None`` where no place of the bar gives the wish."""
    exact = transfer.exact
    if not known(float(exact.clip_slide_mm if transfer.clip_on else exact.riser_height_mm)):
        return None
    points = moves.done_to(transfer.points, exact, transfer.surveyed.rake.value)
    return _triangle(transfer, points, float(transfer.target.lean_deg))


def _triangle(transfer: Transfer, points: BikePoints, lean: float) -> Triangle:
    navel = linkage.navel(transfer.linkage, transfer.points.seat, lean)
    return Triangle(spot(navel), spot(points.grip_end), spot(points.grip_inner))


def plan(transfer: Transfer) -> Drawing:
    """The cockpit triangle from above, forward up the page, as found and wished."""
    now, wished = triangle_now(transfer), triangle_wished(transfer)
    drawn = [one for one in (now, wished) if one is not None and one.exists]
    half = max((one.grip_end.y for one in drawn), default=400.0)
    lows = [min(one.navel.x, one.grip_end.x) for one in drawn] or [0.0]
    highs = [max(one.grip_end.x, one.grip_inner.x) for one in drawn] or [500.0]
    width, height = PLAN
    inner = fitted((-half, min(lows)), (half, max(highs)), width - 8.0, height - 27.0)
    view = View(inner.scale, inner.left - 4.0 / inner.scale, inner.top + 14.0 / inner.scale)
    shapes: list[Shape] = []
    for one, wish in ((wished, True), (now, False)):
        if one is not None and one.exists:
            shapes += _outline(one, view, wished=wish)
    if now.exists:
        shapes += _plan_figures(transfer, now, wished, view)
    shapes += scale_bar((2.0, height - 1.2), BAR_LENGTH, view.scale)
    shapes += _legend(width, height - 1.2, "wished")
    return Drawing(
        width=width,
        height=height,
        shapes=tuple(shapes),
        alt=_plan_words(transfer, wished=wished is not None),
        caption=text("From above, forward up. Navel-to-bar is taped in space, so it looks short."),
        kind="plan",
    )


def _outline(one: Triangle, view: View, *, wished: bool, pen: float = 1.0) -> Iterator[Shape]:
    """Bar, navel and grips from above; ``pen`` makes points and grips finer."""
    stroke, dashes = (ACCENT, DASHES) if wished else (INK, "")
    ends = [view.at(side * one.grip_end.y, one.grip_end.x) for side in (-1.0, 1.0)]
    inner = [view.at(side * one.grip_inner.y, one.grip_inner.x) for side in (-1.0, 1.0)]
    navel, bar = view.at(0.0, one.navel.x), view.at(0.0, one.grip_end.x)
    yield line(ends[0], ends[1], stroke=stroke, dashes=dashes)
    for end, start in zip(ends, inner, strict=True):
        yield line(navel, end, stroke=stroke, dashes=dashes)
        yield line(start, end, stroke=stroke, dashes=dashes, width=2.0 * THICK * pen)
    yield line(navel, bar, stroke=stroke, dashes=CHAIN, width=THIN)
    for at in (*ends, navel, bar):
        yield ring(at, 0.9 * pen) if wished else dot(at, 0.8 * pen)


def _plan_figures(
    transfer: Transfer, now: Triangle, wished: Triangle | None, view: View
) -> Iterator[Shape]:
    """Bar widths above the grips, navel-to-bar beside its line."""
    rows = [(now, transfer.now, INK, "")]
    if wished is not None:
        rows.append((wished, transfer.target, ACCENT, DASHES))
    top = min(view.at(0.0, max(one.grip_end.x, one.grip_inner.x))[1] for one, *_ in rows)
    for place, (one, numbers, stroke, dashes) in enumerate(rows):
        height = top - 4.0 - 5.0 * place
        ends = [view.at(side * one.grip_end.y, one.grip_end.x) for side in (-1.0, 1.0)]
        for end in ends:
            yield extension(end, (end[0], height - 1.0))
        words = figure(float(numbers.bar_width_mm), MM)
        yield from dimension(
            (ends[0][0], height), (ends[1][0], height), words, stroke=stroke, dashes=dashes
        )
        navel, bar = view.at(0.0, one.navel.x), view.at(0.0, one.grip_end.x)
        side = -1.0 if place == 0 else 1.0
        at = (navel[0] + side * 1.6, (navel[1] + bar[1]) / 2.0 - 1.0)
        yield from label(
            figure(float(numbers.navel_to_bar_mm), MM),
            at,
            anchor="end" if place == 0 else "start",
            fill=stroke,
        )
    x, y = view.at(0.0, now.navel.x)
    yield from label("navel", (x, y + 4.2), size=2.4, fill=GREY)


def _legend(width: float, y: float, done: str) -> Iterator[Shape]:
    """As found solid, wished or done dashed; right-hand end of a drawing's last line."""
    left = width - 37.0 if done == "wished" else width - 35.0
    yield line((left, y - 0.8), (left + 6.0, y - 0.8))
    yield from label("as found", (left + 7.0, y), anchor="start", size=2.4, halo=False)
    yield line((left + 19.0, y - 0.8), (left + 25.0, y - 0.8), stroke=ACCENT, dashes=DASHES)
    yield from label(done, (left + 26.0, y), anchor="start", size=2.4, halo=False)


def _plan_words(transfer: Transfer, *, wished: bool) -> str:
    now, target = transfer.now, transfer.target
    found = (
        "Cockpit triangle from above. As found: bar width "
        f"{figure(float(now.bar_width_mm), MM)}, navel-to-bar "
        f"{figure(float(now.navel_to_bar_mm), MM)}. "
    )
    if not wished:
        return f"{found}No place of the bar gives the wish, so only the bike as found is drawn."
    return (
        f"{found}Wished: {figure(float(target.bar_width_mm), MM)} and "
        f"{figure(float(target.navel_to_bar_mm), MM)}."
    )


SMALL = (44.0, 40.0)
"""Width and height on paper of one triangle among many, mm."""


def triangles(transfers: Sequence[Transfer]) -> tuple[Drawing, ...]:
    """Small cockpit triangles from above, all on one scale with the navel in one place."""
    pairs = [(one, triangle_now(one), triangle_wished(one)) for one in transfers]
    drawn = [t for _, *both in pairs for t in both if t is not None and t.exists]
    if not drawn:
        return ()
    half = max(one.grip_end.y for one in drawn)
    ahead = max(max(one.grip_end.x, one.grip_inner.x) - one.navel.x for one in drawn)
    width, height = SMALL
    inner = fitted((-half, 0.0), (half, ahead), width - 4.0, height - 9.0)
    return tuple(
        _small(transfer, [t for t in both if t is not None and t.exists], inner.scale)
        for transfer, *both in pairs
    )


def _small(transfer: Transfer, drawn: Sequence[Triangle], scale: float) -> Drawing:
    """One triangle with its wish; ``drawn`` begins with the bike as found."""
    width, height = SMALL
    shapes: list[Shape] = []
    for place, one in reversed(list(enumerate(drawn))):
        view = View(scale, -0.5 * width / scale, one.navel.x + (height - 6.0) / scale)
        shapes += _outline(one, view, wished=place > 0, pen=0.6)
    shapes += scale_bar((1.0, height - 1.0), BAR_LENGTH, scale)
    return Drawing(
        width=width,
        height=height,
        shapes=tuple(shapes),
        alt=f"{transfer.bike.name}. {_plan_words(transfer, wished=len(drawn) > 1)}",
        caption=text(user(transfer.bike.name)),
        kind="small",
    )


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
        *_legend(width, height - 1.2, "done"),
    )
    return Drawing(
        width=width,
        height=height,
        shapes=shapes,
        alt=_side_words(transfer),
        caption=text("From the right side, front to the right; mm above the floor and ahead."),
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
    inner = fitted(low, high, SIDE[0] - 24.0, SIDE[1] - 30.0)
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
                name.replace("_", " "), (place[0], place[1] - 3.2), size=2.4, fill=GREY
            )


def _rake_line(transfer: Transfer, view: View) -> Iterator[Shape]:
    """The steering axis' direction through the bar's clamps, along which risers raise it."""
    at, rake = transfer.points.clamp, radians(transfer.surveyed.rake.value)
    x, z = float(at.x), float(at.z)
    start = view.at(x - 90.0 * sin(rake), z + 90.0 * cos(rake))
    end = view.at(x + 190.0 * sin(rake), z - 190.0 * cos(rake))
    yield line(start, end, width=THIN, dashes=CHAIN, stroke=GREY)
    words = f"rake {figure(transfer.surveyed.rake.value, 'deg')}"
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
        yield from dimension(
            (place, floor), (place, y + (0.0 if place < x else 1.0)), _went(start.z, end.z)
        )


def _went(start: float, end: float) -> str:
    """A figure as found, and as done where that prints differently."""
    if round(start) == round(end):
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
        yield from label(origin(transfer.surveyed), (start, floor - 2.4), size=2.4, fill=GREY)


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
        yield from label(words, at, anchor=anchor, size=2.4)


def _name_place(name: str, start: Point, end: Point) -> tuple[str, Point]:
    """Where a point's name stands, so that it is clear of its lines, and which end of it."""
    if name == "clamp":
        return "start", (max(start[0], end[0]) + 2.4, end[1] + 0.9)
    if name == "peg":
        return "start", (max(start[0], end[0]) + 2.2, start[1] + 0.9)
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
        if round(float(start.z)) != round(float(end.z)):
            place += f", afterwards {bare(float(end.z), MM)}"
        parts.append(place)
    return f"Points of the bike from the side, in millimetres: {'; '.join(parts)}."
