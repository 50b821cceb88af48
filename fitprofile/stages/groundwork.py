"""What the tape fixes before anything is adjusted: the origin, the start, and what is missing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from fitprofile.errors import Problem
from fitprofile.geometry.vectors import Floats
from fitprofile.stages.doubts import open_triangles, steep_spans, unfixed
from fitprofile.stages.missing import asked_for, one_more, rest_of_quick_set
from fitprofile.stages.network import (
    AHEAD,
    SPACING,
    Network,
    Row,
    held_by,
    lay_out,
    predict,
    spread_of,
)
from fitprofile.stages.placing import USUAL_WIDTH, Placed, place
from fitprofile.stages.readings import AXLES, NEEDED, Readings
from fitprofile.values import frozen

UNFIXED_SD = 200.0
"""mm; a point whose x or z is known no better than this is not fixed: a tape's own spread would
have to grow forty-fold. Common practice, no source."""


@frozen(eq=False)
class Plan:
    """A network ready to be adjusted, or the errors that forbid it.

    ``measured`` (m,) bool tells measured rows from assumed ones; ``origin`` is the point below
    which x is 0.
    """

    network: Network
    start: Floats
    measured: NDArray[np.bool_]
    origin: str
    problems: tuple[Problem, ...]


def find_origin(rows: Iterable[Row]) -> str:
    """Rear axle if any needed point is tied to it along the bike, else the sit point."""
    return AXLES[0] if _tied_to_axle(rows) & set(NEEDED) else "seat"


def _tied_to_axle(rows: Iterable[Row]) -> set[str]:
    ties = [{r.end, r.start or AXLES[0]} for r in rows if r.start or r.kind == AHEAD]
    tied, reached = {AXLES[0]}, 0
    while len(tied) > reached:
        reached = len(tied)
        for tie in ties:
            if tie & tied:
                tied |= tie
    return tied


@frozen(eq=False)
class _Look:
    """What rows fix: points by name, the assumptions they need, and what they leave open.

    ``lost`` are points that nothing fixes, ``torn`` those whose triangles do not close, ``steep``
    those that only a nearly upright span would place, with their problems.
    """

    names: list[str]
    placed: Placed
    kept: list[Row]
    lost: list[str]
    steep: dict[str, Problem]

    def torn(self) -> set[str]:
        return {gap.point for gap in self.placed.gaps}

    def open(self) -> set[str]:
        """Needed points that are not placed, whatever the reason but a contradiction."""
        return {*self.lost, *self.steep} & set(NEEDED)


def plan(taped: Readings, file: str) -> Plan:
    """Network of all rows that can be adjusted together, and the errors that stand against it.

    Points that are not needed and that nothing fixes are left out. An assumed row takes part where
    the measured ones leave its figure less certain than the assumption. Where one tape more would
    place all that is open, that one is asked for, and nothing else.
    """
    origin = find_origin(taped.measured)
    rows = list(taped.measured)
    astray = set() if origin in AXLES else _tied_to_axle(rows) - set(AXLES)
    rows = _without(rows, astray)
    look = _look(rows, taped, origin, file)
    asked = _asked(rows, taped, look, origin, file)
    lost = [n for n in look.lost if not asked or n not in NEEDED]
    steep = {n: p for n, p in look.steep.items() if not asked or n not in NEEDED}
    problems = [
        *open_triangles(look.placed.gaps, file),
        *asked,
        *(problem for name, problem in steep.items() if name not in lost),
        *unfixed([*lost, *sorted(astray)], taped.measured, origin, file),
    ]
    out = (look.torn() | {*look.lost, *look.steep}) - set(NEEDED)
    rows, kept = _without(rows, out), _without(look.kept, out)
    last = [n for n in look.names if n not in out]
    network = lay_out([*rows, *kept], last, taped.pairs, {origin, AXLES[0]})
    start = look.placed.points[[look.names.index(n) for n in last]]
    measured = np.arange(len(network.rows)) < len(rows)
    return Plan(network, start, measured, origin, tuple(problems))


def _look(rows: list[Row], taped: Readings, origin: str, file: str) -> _Look:
    """What measured rows fix together with the assumptions that they need."""
    names = _names(rows)
    held = {n: 0.0 for n in (origin, AXLES[0]) if n in names}
    placed = place(rows, names, held, taped.assumed)
    guessed = [*taped.assumed, *_width_to_go_on(rows)]
    whole = lay_out([*rows, *guessed], names, taped.pairs, {origin, AXLES[0]})
    slopes = predict(whole, placed.points)[1] / whole.sd[:, None]
    used, spread_left = _assume(spread_of(slopes[: len(rows)]), slopes[len(rows) :])
    torn = {gap.point for gap in placed.gaps}
    lost = [n for n in loose(names, variances(whole, spread_left)) if n not in torn]
    spaced = [use and row.kind == SPACING for row, use in zip(guessed, used, strict=True)]
    alike = slopes * whole.sd[:, None]
    needless = _redundant(np.vstack([alike[: len(rows)], alike[len(rows) :][spaced]]))[: len(rows)]
    steep = steep_spans(rows, dict(zip(names, placed.points, strict=True)), needless, origin, file)
    kept = [row for row, use in zip(taped.assumed, used, strict=False) if use]
    return _Look(names, placed, kept, lost, steep)


def _width_to_go_on(rows: Iterable[Row]) -> list[Row]:
    """A usual bar width where none was taped: an error by itself, it shall not cause others."""
    if any(row.kind == SPACING and row.end == "grip_end" for row in rows):
        return []
    return [Row("widths.grip_end", SPACING, "grip_end", None, USUAL_WIDTH, 1.0)]


def _asked(
    rows: list[Row], taped: Readings, look: _Look, origin: str, file: str
) -> tuple[Problem, ...]:
    """The one sentence on what is missing, where one will do and says more than one a point."""
    alone = len(unfixed(look.lost, rows, origin, file)) == 1 and not look.steep
    if not look.open() or alone:
        return ()
    points = dict(zip(look.names, look.placed.points, strict=True))
    single = ((row,) for row in one_more(rows, points, origin))
    for more in (*single, rest_of_quick_set(rows, points, origin)):
        if more and not _look([*rows, *more], taped, origin, file).open():
            steep = {n: p for n, p in look.steep.items() if n in NEEDED}
            if [p.key for p in steep.values()] == [row.key for row in more]:
                return ()  # its own sentence asks for the same and says why
            return (asked_for(more, look.lost, steep, origin, file),)
    return ()


def _names(rows: Iterable[Row]) -> list[str]:
    """Needed points, then the others in the order of the file."""
    found = dict.fromkeys(NEEDED)
    for row in rows:
        found |= dict.fromkeys(n for n in (row.end, row.start) if n)
    return list(found)


def _without(rows: Iterable[Row], names: set[str]) -> list[Row]:
    return [row for row in rows if not {row.end, row.start} & names]


def _redundant(slopes: Floats) -> Floats:
    """Share (m,) of each row that the others hold as well, all weighted alike."""
    basis = held_by(slopes)
    return np.asarray(1.0 - np.einsum("ij,ij->i", basis, basis))


def _assume(spread_now: Floats, candidates: Floats) -> tuple[list[bool], Floats]:
    """Which assumed rows are needed, and the covariance (k, k) with them.

    ``candidates`` (c, k) are slopes over spreads. Each enters if what is known so far leaves its
    figure less certain than the assumption; what it adds is known to the next.
    """
    used, left = [], spread_now
    for row in candidates:
        along = left @ row
        variance = float(row @ along)
        used.append(variance > 1.0)
        if variance > 1.0:
            left = left - np.outer(along, along) / (1.0 + variance)
    return used, left


def variances(network: Network, covariance: Floats) -> Floats:
    """Variance (n, 3), mm^2, of each coordinate from the covariance (k, k) of the free ones."""
    found = np.zeros(network.free.size)
    found[network.free.ravel()] = np.diag(covariance)
    return found.reshape(-1, 3)


def loose(names: Sequence[str], variance: Floats) -> list[str]:
    """Points whose x or z is worse than `UNFIXED_SD`, from their variances (n, 3), mm^2."""
    worst = variance[:, [0, 2]].max(axis=1, initial=0.0)
    return [n for n, v in zip(names, worst, strict=True) if v > UNFIXED_SD**2]
