"""Small figures: lever angles and grip tilt as dials, moves of peg and bar enlarged."""

from __future__ import annotations

from collections.abc import Iterator
from math import radians, sin

from fitprofile.report.drawing import (
    ACCENT,
    DASHES,
    GREY,
    INK,
    PLAIN_LINE,
    THICK,
    THIN,
    Point,
    arc,
    arrow,
    dot,
    extension,
    known,
    label,
    line,
    polar,
    ring,
    scale_bar,
)
from fitprofile.report.numbers import number_of
from fitprofile.report.page import Drawing, Shape, text
from fitprofile.report.wording import DEG, MM, figure
from fitprofile.stages.outcome import Transfer
from fitprofile.units import whole

DIAL = (36.0, 18.5)
"""Width and height on paper, mm."""

ARM = 24.0
"""mm on paper; length of a dial's hand where there is room."""

STEEP = 6.0
"""Degrees; a hand nearer level than this fits wherever it turns."""

BARS = (5.0, 10.0, 20.0, 50.0, 100.0)
"""mm of bike that a scale bar beside an enlarged move may show."""

SHORTEST_BAR = 5.0
"""mm on paper."""

SCALES = (2.0, 1.0, 0.5, 0.2, 0.1, 0.05)
"""Paper mm a bike mm that an enlarged move may be drawn at, largest first."""


def dials(transfer: Transfer) -> tuple[Drawing, ...]:
    """Lever dials, the tilt dial, and enlarged moves of bar and pegs where they move."""
    drawn = [_lever(transfer, side) for side in ("brake", "clutch") if _has(transfer, side)]
    drawn.append(_tilt(transfer))
    bar = "clip-on" if transfer.clip_on else "bar in its clamps"
    for name, words in (("clamp", bar), ("peg", "peg")):
        move = _move(transfer, name, words)
        if move is not None:
            drawn.append(move)
    return tuple(drawn)


def _has(transfer: Transfer, side: str) -> bool:
    return known(number_of(transfer.now, f"lever_angle.{side}"))


def _lever(transfer: Transfer, side: str) -> Drawing:
    """A straightedge over grip and blade, from the side, front to the right."""
    name = f"lever_angle.{side}"
    now, done = number_of(transfer.now, name), number_of(transfer.practical.after, name)
    wish = number_of(transfer.target, name)
    centre = _pivot(now, done)
    shapes: list[Shape] = [
        Shape(
            "circle",
            {
                "cx": centre[0],
                "cy": centre[1],
                "r": 2.0,
                "fill": "none",
                "stroke": INK,
                "stroke-width": PLAIN_LINE,
            },
        ),
        *_hands(centre, now, done),
    ]
    return Drawing(
        width=DIAL[0],
        height=DIAL[1],
        shapes=tuple(shapes),
        alt=f"{side.capitalize()} lever from the side: {figure(now, DEG)} below level as found, "
        f"{figure(done, DEG)} when done, wished {figure(wish, DEG)}.",
        caption=text(f"Lever angle, {side}"),
        kind="dial",
    )


def _tilt(transfer: Transfer) -> Drawing:
    """The left grip from behind, outer end to the left."""
    now = number_of(transfer.now, "grip_tilt")
    done = number_of(transfer.practical.after, "grip_tilt")
    wish = number_of(transfer.target, "grip_tilt")
    centre = _pivot(-now, -done)
    return Drawing(
        width=DIAL[0],
        height=DIAL[1],
        shapes=(dot(centre), *_hands(centre, -now, -done, shown=(now, done), thick=True)),
        alt=f"Grip against the ground, outer end to the right: {figure(now, DEG)} as found, "
        f"{figure(done, DEG)} when done, wished {figure(wish, DEG)}; up is positive.",
        caption=text("Grip tilt, outer end right"),
        kind="dial",
    )


def _hands(
    centre: Point,
    now: float,
    done: float,
    *,
    shown: tuple[float, float] | None = None,
    thick: bool = False,
) -> Iterator[Shape]:
    """Level line, the hand as found and the hand when done; degrees, positive downward."""
    first, second = shown or (now, done)
    arm = min(ARM, *(_room(centre, at) for at in (now, done)))
    level = (centre[0] + ARM + 2.0, centre[1])
    yield line((centre[0] - 3.0, centre[1]), level, width=THIN, stroke=GREY)
    width = 1.5 * THICK if thick else PLAIN_LINE
    moved = known(now, done) and whole(first) != whole(second)
    if known(done) and moved:
        yield line(centre, polar(centre, arm, done), stroke=ACCENT, dashes=DASHES, width=width)
        yield arc(centre, 0.86 * arm, 0.0, done, stroke=ACCENT, dashes="0.8 0.6")
    if known(now):
        yield line(centre, polar(centre, arm, now), width=width)
        yield arc(centre, 0.62 * arm, 0.0, now)
    base = DIAL[1] - 1.6
    yield from label(f"found {figure(first, DEG)}", (1.0, base), anchor="start", halo=False)
    if moved:
        yield from label(
            f"set {figure(second, DEG)}",
            (DIAL[0] - 1.0, base),
            anchor="end",
            fill=ACCENT,
            bold=True,
            halo=False,
        )
    else:
        yield from label("leave", (DIAL[0] - 1.0, base), anchor="end", halo=False)


def _pivot(*hands: float) -> Point:
    """Where the hands turn: high if all point down, low if all point up."""
    some = [at for at in hands if known(at)]
    up, down = min(some, default=0.0) < -STEEP, max(some, default=0.0) > STEEP
    share = 0.5 if up == down else 0.75 if up else 0.25
    return 5.0, share * (DIAL[1] - 5.0)


def _room(centre: Point, hand: float) -> float:
    """Longest hand at an angle that stays clear of the edge and of the figures below, mm."""
    rise = sin(radians(hand)) if known(hand) else 0.0
    if abs(rise) < sin(radians(STEEP)):
        return ARM
    return (DIAL[1] - 5.5 - centre[1] if rise > 0.0 else centre[1] - 0.5) / abs(rise)


def _move(transfer: Transfer, name: str, words: str) -> Drawing | None:
    """Where a point goes, enlarged, from the side, front to the right; ``None`` if it stays."""
    start, end = getattr(transfer.points, name), getattr(transfer.practical.points, name)
    if not known(*(float(part) for at in (start, end) for part in (at.x, at.z))):
        return None
    ahead, up = float(end.x) - float(start.x), float(end.z) - float(start.z)
    # Words from the figures as they are printed elsewhere, so that no two differ by a millimetre.
    back, rise = (
        whole(float(b)) - whole(float(a)) for a, b in ((start.x, end.x), (start.z, end.z))
    )
    if back == 0 and rise == 0:
        return None
    room = 8.0
    scale = next((s for s in SCALES if max(abs(ahead), abs(up)) * s <= room), SCALES[-1])
    width, height = DIAL
    middle = ((0.38 if ahead >= 0.0 else 0.7) * width, 0.42 * height)
    first = (middle[0] - 0.5 * ahead * scale, middle[1] + 0.5 * up * scale)
    last = (middle[0] + 0.5 * ahead * scale, middle[1] - 0.5 * up * scale)
    corner = (last[0], first[1])
    shapes: list[Shape] = [
        extension(first, corner),
        extension(corner, last),
        *arrow(first, last),
        ring(last, 1.2),
        dot(first),
    ]
    below = 1.0 if up >= 0.0 else -1.0
    shapes += label(
        f"{figure(abs(back), MM)} {'forward' if back >= 0 else 'back'}",
        ((first[0] + corner[0]) / 2.0, first[1] + (4.2 if below > 0 else -2.0)),
        size=2.5,
    )
    side = 1.0 if ahead >= 0.0 else -1.0
    shapes += label(
        f"{figure(abs(rise), MM)} {'up' if rise >= 0 else 'down'}",
        (corner[0] + 1.8 * side, (corner[1] + last[1]) / 2.0 + 0.9),
        anchor="start" if side > 0 else "end",
        size=2.5,
    )
    length = next((step for step in BARS if step * scale >= SHORTEST_BAR), BARS[-1])
    shapes += scale_bar((1.0, height - 1.2), length, scale)
    return Drawing(
        width=width,
        height=height,
        shapes=tuple(shapes),
        alt=f"Move of the {words} from the side: {figure(abs(rise), MM)} "
        f"{'up' if rise >= 0 else 'down'} and {figure(abs(back), MM)} "
        f"{'forward' if back >= 0 else 'back'}.",
        caption=text(f"Move of the {words}"),
        kind="dial",
    )
