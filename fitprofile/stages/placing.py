"""Where the adjustment starts: points placed one after the other, as with ruler and compass.

Two distances have two solutions. A height and a span take the forward one, in the order in which
points follow each other along a bike; two spans take the upper one, save for what lies low on a
bike and was taped from above.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from math import cos, hypot, radians, sin, sqrt

import numpy as np

from fitprofile.geometry.vectors import Floats
from fitprofile.stages.network import AHEAD, HEIGHT, LENGTH, SPACING, SWEEP, TILT, Row
from fitprofile.stages.readings import (
    CLAMP_ABOVE,
    CLAMP_AHEAD,
    GRIP_LENGTH,
    GRIP_SWEEP,
    GRIP_TILT,
)
from fitprofile.values import frozen

USUAL: Mapping[str, tuple[float, float]] = {
    "rear_axle": (0.0, 310.0),
    "seat": (450.0, 800.0),
    "peg": (600.0, 380.0),
    "gear_lever": (720.0, 360.0),
    "brake_pedal": (730.0, 360.0),
    "tank": (750.0, 950.0),
    "grip_end": (900.0, 1020.0),
    "grip_inner": (930.0, 1020.0),
    "clamp": (990.0, 990.0),
    "screen": (1100.0, 1150.0),
    "fairing": (1150.0, 950.0),
    "front_axle": (1420.0, 310.0),
}
"""mm ahead of the rear axle and above the floor, from rear to front: the order decides which of
two solutions is the forward one, the figures only where points nothing fixes are drawn from.
Common practice, no source."""

RANK: Mapping[str, int] = {name: i for i, name in enumerate(USUAL)}

LOW = frozenset({"rear_axle", "front_axle", "peg", "brake_pedal", "gear_lever"})
"""Points that lie below sit point and bar."""

USUAL_WIDTH = 750.0
"""mm; only to go on looking for further problems where the bar width is missing."""

SLACK = 3.29
"""Spreads by which a triangle may fail to close before its tapes contradict each other: the
adjustment's own bound for a blunder."""


@frozen
class Gap:
    """Two readings between which no triangle closes, and by how much, mm."""

    point: str
    first: Row
    second: Row
    short: float


@frozen(eq=False)
class Placed:
    """Start of the adjustment: points (n, 3), mm, and the triangles that do not close.

    ``gaps`` concern points that nothing else places either.
    """

    points: Floats
    gaps: tuple[Gap, ...]


@frozen
class _Found:
    """A coordinate pair for one point; ``quality`` is the sine at which its lines cross."""

    quality: float
    point: str
    x: float
    z: float


def place(
    rows: Sequence[Row],
    names: Sequence[str],
    held: Mapping[str, float],
    usual: Sequence[Row] = (),
) -> Placed:
    """Approximate points from measured rows.

    Parameters
    ----------
    rows : sequence of Row
    names : sequence of str
    held : mapping of str to float
        Points whose x, mm, is given: the origin.
    usual : sequence of Row
        Assumed ones: of these, spacings stand in for what was not taped.

    Returns
    -------
    Placed
        Each step takes the best-conditioned of all solutions at hand. A grip and a clamp that
        nothing places lie as usual from the grip end, other points as usual on a bike.
    """
    board = _Board(rows, held, usual)
    gaps: dict[str, Gap] = {}
    while True:
        found: list[_Found] = []
        for step in board.steps(names):
            if isinstance(step, Gap):
                gaps.setdefault(step.point, step)
            else:
                found.append(step)
        if found:
            best = max(found, key=lambda f: f.quality)
            board.x[best.point], board.z[best.point] = best.x, best.z
        elif not board.fall_back(names):
            break
    open_gaps = tuple(gap for name, gap in gaps.items() if not board.placed(name))
    return Placed(board.points(names, held), open_gaps)


class _Board:
    """What is placed so far."""

    def __init__(
        self, rows: Sequence[Row], held: Mapping[str, float], usual: Sequence[Row]
    ) -> None:
        self.x: dict[str, float] = dict(held)
        self.z: dict[str, float] = {}
        self.heights: dict[str, Row] = {}
        self.aheads: dict[str, Row] = {}
        self.spans: dict[str, list[tuple[str, Row, float]]] = {}
        self.figures = {r.kind: r.value for r in rows if r.start == "grip_inner"}
        self.wide = {r.end: r.value / 2.0 for r in (*usual, *rows) if r.kind == SPACING}
        for row in rows:
            if row.kind == AHEAD:
                self.x.setdefault(row.end, row.value)
                self.aheads[row.end] = row
            elif row.kind == HEIGHT:
                self.heights[row.end] = row
                self.z.setdefault(row.end, row.value - row.lift)
            elif row.kind == LENGTH and row.start and row.key.startswith("spans."):
                self.spans.setdefault(row.end, []).append((row.start, row, -row.lift))
                self.spans.setdefault(row.start, []).append((row.end, row, row.lift))

    def placed(self, name: str) -> bool:
        return name in self.x and name in self.z

    def grip(self) -> tuple[float, float, float]:
        """From the grip's inner end to its outer one, mm, taped or as usual."""
        length = self.figures.get(LENGTH, GRIP_LENGTH[0])
        tilt = radians(self.figures.get(TILT, GRIP_TILT[0]))
        sweep = radians(self.figures.get(SWEEP, GRIP_SWEEP[0]))
        level = length * cos(tilt)
        return -level * sin(sweep), level * cos(sweep), length * sin(tilt)

    def half(self, name: str) -> float:
        """Half-spacing of a point, mm, 0 in the mid-plane."""
        if name in self.wide:
            return self.wide[name]
        if name in ("grip_end", "grip_inner"):
            end = self.wide.get("grip_end", USUAL_WIDTH / 2.0)
            return end if name == "grip_end" else end - self.grip()[1]
        return 0.0

    def steps(self, names: Sequence[str]) -> Iterator[_Found | Gap]:
        """All ways to complete one more point, and all triangles that do not close."""
        for name in names:
            if self.placed(name):
                continue
            known = [s for s in self.spans.get(name, []) if self.placed(s[0])]
            if name in self.z:
                yield from (self._from_height(name, span) for span in known)
            elif name in self.x:
                yield from (self._from_ahead(name, span) for span in known)
            else:
                yield from (self._from_two(name, a, b) for a, b in combinations(known, 2))

    def _centre(self, name: str, span: tuple[str, Row, float]) -> tuple[float, float, float]:
        """Side view: where a span starts, x and z, and its length squared, mm and mm^2."""
        other, row, lift = span
        across = self.half(name) - self.half(other)
        return self.x[other], self.z[other] + lift, row.value**2 - across**2

    def _from_height(self, name: str, span: tuple[str, Row, float]) -> _Found | Gap:
        x, z, square = self._centre(name, span)
        run = _leg(name, span[1], square, self.z[name] - z, self.heights[name])
        if isinstance(run, Gap):
            return run
        forward = 1.0 if RANK.get(name, 0) > RANK.get(span[0], 0) else -1.0
        return _Found(run / span[1].value, name, x + forward * run, self.z[name])

    def _from_ahead(self, name: str, span: tuple[str, Row, float]) -> _Found | Gap:
        x, z, square = self._centre(name, span)
        row = self.aheads.get(name, span[1])
        rise = _leg(name, span[1], square, self.x[name] - x, row)
        if isinstance(rise, Gap):
            return rise
        up = -1.0 if name in LOW and span[0] not in LOW else 1.0
        return _Found(rise / span[1].value, name, self.x[name], z + up * rise)

    def _from_two(
        self, name: str, one: tuple[str, Row, float], two: tuple[str, Row, float]
    ) -> _Found | Gap:
        x, z, square = self._centre(name, one)
        x2, z2, square2 = self._centre(name, two)
        r, r2 = sqrt(max(square, 0.0)), sqrt(max(square2, 0.0))
        dx, dz = x2 - x, z2 - z
        base = max(hypot(dx, dz), 1.0)
        short = max(base - r - r2, abs(r - r2) - base)
        if short > SLACK * hypot(one[1].sd, two[1].sd):
            return Gap(name, one[1], two[1], short)
        along = ((r - r2) * (r + r2) / base + base) / 2.0
        off = sqrt(max(r * r - along * along, 0.0))
        ux, uz = dx / base, dz / base
        low = name in LOW and not {one[0], two[0]} & LOW
        side = off if (ux > 0.0 or (ux == 0.0 and uz < 0.0)) != low else -off
        quality = base * off / max(r * r2, 1.0)
        return _Found(quality, name, x + along * ux - side * uz, z + along * uz + side * ux)

    def fall_back(self, names: Sequence[str]) -> bool:
        """Place the grip's inner end, else the clamp, as usual; whether there was one to place."""
        if not self.placed("grip_end"):
            return False
        gx, _, gz = self.grip()
        usual = {"grip_inner": (-gx, -gz), "clamp": (CLAMP_AHEAD, CLAMP_ABOVE)}
        for name, (ahead, above) in usual.items():
            if name in names and not self.placed(name):
                self.x.setdefault(name, self.x["grip_end"] + ahead)
                self.z.setdefault(name, self.z["grip_end"] + above)
                return True
        return False

    def points(self, names: Sequence[str], held: Mapping[str, float]) -> Floats:
        """All points (n, 3), mm; what is not placed lies where it usually does."""
        behind = USUAL["seat"][0] if "seat" in held else 0.0
        table = []
        for name in names:
            x, z = USUAL.get(name, USUAL["tank"])
            x, z = self.x.get(name, x - behind), self.z.get(name, z)
            table.append((x, self.half(name), z))
        return np.array(table, dtype=np.float64).reshape(-1, 3)


def _leg(point: str, span: Row, square: float, other: float, row: Row) -> float | Gap:
    """Leg of a right-angled triangle with a span, mm; 0 where tapes just fail to close it.

    ``square`` is the span's length squared in the side view, ``other`` its other leg, which
    ``row`` gave.
    """
    left = square - other**2
    if left < 0.0:
        short = sqrt(other**2 + span.value**2 - square) - span.value
        if short > SLACK * hypot(span.sd, row.sd):
            return Gap(point, span, row, short)
    return sqrt(max(left, 0.0))
