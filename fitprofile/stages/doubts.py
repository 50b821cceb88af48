"""What the tapes of a bike leave open or contradict, in sentences that say what to tape next."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import combinations
from math import radians, tan

import numpy as np
from numpy.typing import NDArray

from fitprofile.errors import ERROR, NOTE, WARNING, Problem
from fitprofile.geometry.vectors import Floats
from fitprofile.stages.network import (
    AHEAD,
    HEIGHT,
    LEAST_REDUNDANCY,
    LENGTH,
    SPACING,
    SWEEP,
    TILT,
    Fit,
    Network,
    Row,
    held_by,
    lay_out,
    predict,
)
from fitprofile.stages.placing import RANK, USUAL, Gap
from fitprofile.stages.readings import (
    AXLES,
    CLAMP_ABOVE,
    CLAMP_AHEAD,
    CLAMP_SD,
    NEEDED,
    WORDS,
)

BLUNDER = 3.29
"""Normalised residual that one sound reading in a thousand exceeds (Baarda 1968, alpha 0.001)."""

ALIKE = 0.01
"""Share of the largest normalised residual within which readings cannot be told apart."""

STEEP = tan(radians(30.0))
"""Run over rise of a span in the side view, below which it does not place a point ahead."""

COVERAGE = 2.0
"""Give or take over standard deviation (JCGM 100, k = 2)."""

_CLAMP_PLACE = {AHEAD: f"{CLAMP_AHEAD:g} mm ahead of", HEIGHT: f"{-CLAMP_ABOVE:g} mm below"}
_CLAMP_KEY = {AHEAD: "ahead.clamp", HEIGHT: "heights.clamp"}

WHERE: Mapping[str, str] = {
    "seat": "the middle of the batten's marks on the saddle",
    "peg": "the top of the rubber, in its middle",
    "grip_end": "the centre of the grip's outer end",
    "grip_inner": "the centre of the grip's inner end",
    "clamp": "the middle of the bar in its clamp",
    "rear_axle": "the middle of the rear axle",
    "front_axle": "the middle of the front axle",
}


def word(name: str) -> str:
    """A point in words."""
    return WORDS.get(name, name.replace("_", " "))


def listed(parts: Sequence[str]) -> str:
    """Parts joined as in a sentence."""
    return " and ".join(part for part in (", ".join(parts[:-1]), parts[-1]) if part)


def unfixed(lost: Collection[str], rows: Sequence[Row], origin: str, file: str) -> list[Problem]:
    """One problem for each point that nothing fixes, naming the missing measurement.

    An error for a point that is needed, a note for others, nothing for an axle. A clamp or a grip
    whose grip end is lost too is not named: it is assumed from there.
    """
    named = [n for n in lost if n not in AXLES]
    if "grip_end" in lost:
        named = [n for n in named if n not in ("clamp", "grip_inner")]
    return [_missing(name, rows, origin, file) for name in named]


def _missing(name: str, rows: Sequence[Row], origin: str, file: str) -> Problem:
    high = any(r.kind == HEIGHT and r.end == name for r in rows)
    tied = any(r.kind == LENGTH and name in (r.start, r.end) for r in rows)
    tied = tied or any(r.kind == AHEAD and r.end == name for r in rows)
    pair = ("seat", "grip_end") if name == "seat" else ("seat", name)
    partner, key = word(pair[name == "seat"]), f"spans.{pair[0]}-{pair[1]}"
    asks, keys = [], []
    if not high:
        asks.append(f"the height above the floor of {WHERE.get(name, 'it')} (heights.{name})")
        keys.append(f"heights.{name}")
    if name != origin and (high or not tied):
        along = f"how far it lies ahead of the rear axle along the floor (ahead.{name}) or "
        by_axle = origin in AXLES
        asks.append(f"{along if by_axle else ''}a span to the {partner} ({key})")
        keys.append(f"ahead.{name}" if by_axle else key)
    text = f"nothing fixes the {word(name)}: tape {listed(asks)}"
    if name in NEEDED:
        return Problem(text, keys[0], file, level=ERROR)
    return Problem(f"{text}; it is left out until then", keys[0], file, level=NOTE)


def open_triangles(gaps: Sequence[Gap], file: str) -> list[Problem]:
    """One problem for each pair of readings between which no triangle closes."""
    found = []
    for gap in gaps:
        one, two = gap.first, gap.second
        text = (
            f"{one.key} ({one.value:.0f} mm) and {two.key} ({two.value:.0f} mm) contradict each "
            f"other: by {gap.short:.0f} mm no triangle closes at the {word(gap.point)}; tape both "
            f"again, point to point"
        )
        level = ERROR if gap.point in NEEDED else WARNING
        found.append(Problem(text, one.key, file, level=level))
    return found


def torn_apart(lost: Collection[str], rows: Sequence[Row], file: str) -> list[Problem]:
    """An error for each point whose readings contradict each other so far that they leave it loose.

    ``rows`` are the measured ones. A clamp or a grip without readings of its own, assumed from a
    grip end that is lost, is not named.
    """
    found = [_torn(name, rows, file) for name in lost]
    return [problem for problem in found if problem is not None]


def _torn(name: str, rows: Sequence[Row], file: str) -> Problem | None:
    own = [r.key for r in rows if name in (r.start, r.end) and r.kind != SPACING]
    if not own:
        return None
    text = (
        f"nothing fixes the {word(name)}: {listed(own)} and the readings they hang on contradict "
        f"each other too far; tape them again, point to point"
    )
    return Problem(text, own[0], file, level=ERROR)


def steep_spans(
    rows: Sequence[Row],
    points: Mapping[str, Floats],
    redundancy: Floats,
    origin: str,
    file: str,
) -> dict[str, Problem]:
    """Points that only a height and a nearly upright span would place, each with its problem.

    Parameters
    ----------
    rows : sequence of Row
    points : mapping of str to (3,) float, mm
        Where they start.
    redundancy : (m,) float
        Below `LEAST_REDUNDANCY`, nothing else does what the row does.
    origin, file : str

    Notes
    -----
    A span within 30 degrees of vertical in the side view more than doubles its error in x.
    """
    found: dict[str, Problem] = {}
    high = {r.end for r in rows if r.kind == HEIGHT}
    ahead = {r.end for r in rows if r.kind == AHEAD} | {origin}
    with_seat = "" if origin in AXLES else ", and ahead.seat with it"
    for row, share in zip(rows, redundancy, strict=True):
        if share >= LEAST_REDUNDANCY or not row.key.startswith("spans.") or not row.start:
            continue
        dx, _, dz = points[row.end] - points[row.start]
        ends = [n for n in (row.end, row.start) if n in high and n not in ahead]
        ends.sort(key=lambda n: sum(n in (r.start, r.end) for r in rows))
        if ends and abs(dx) < STEEP * abs(dz + row.lift):
            name = ends[0]
            text = (
                f"{row.key} stands within 30 degrees of upright and is all that places the "
                f"{word(name)} along the bike: drop a plumb line from it and tape how far it lies "
                f"ahead of the rear axle along the floor (ahead.{name}{with_seat})"
            )
            level = ERROR if name in NEEDED else WARNING
            found[name] = Problem(text, f"ahead.{name}", file, level=level)
    return found


def suspects(fit: Fit) -> NDArray[np.intp]:
    """Rows whose normalised residual is the largest or within 1 % of it, if that is a blunder."""
    size = np.abs(np.nan_to_num(fit.normalised))
    worst = float(size.max(initial=0.0))
    return np.flatnonzero(size >= worst * (1.0 - ALIKE)) if worst > BLUNDER else np.arange(0)


def blunders(
    network: Network, fit: Fit, measured: NDArray[np.bool_], file: str
) -> tuple[Problem, ...]:
    """The warning that names the blunder, or all that may be it and the span that would tell."""
    found = suspects(fit)
    if not len(found):
        return ()
    rows = [network.rows[i] for i in found]
    first = int(found[0])
    times = f"{float(abs(fit.normalised[first])) / COVERAGE:.1f} times"
    keys = listed([row.key for row in rows])
    if len(rows) == 1:
        off = fit.residuals[first] / fit.redundancy[first]
        unit = "mm" if rows[0].kind in (AHEAD, SPACING, HEIGHT, LENGTH) else "degrees"
        text = (
            f"{keys} does not fit the other measurements: about {abs(off):.0f} {unit} too "
            f"{'large' if off > 0 else 'small'}, {times} its give or take; tape it again"
        )
        return (Problem(text, rows[0].key, file, level=WARNING),)
    text = (
        f"{keys} contradict each other, {times} their give or take, and cannot be told apart: tape "
        f"them again"
    )
    if span := telling_span(network, fit, measured, found):
        a, b = span
        text += (
            f", and tape one more span, from the {word(a)} to the {word(b)} (spans.{a}-{b}), which "
            f"helps to tell which is wrong"
        )
    elif more := telling_point(network, fit, measured, found):
        new, ends = more
        spans = listed([f"spans.{end}-{new}" for end in ends])
        text += (
            f", and tape the {word(new)} as well, its height (heights.{new}) and its spans from "
            f"the {listed([word(end) for end in ends])} ({spans}), which helps to tell which is "
            f"wrong"
        )
    return (Problem(text, rows[0].key, file, level=WARNING),)


def telling_span(
    network: Network, fit: Fit, measured: NDArray[np.bool_], among: NDArray[np.intp]
) -> tuple[str, str] | None:
    """The span not yet taped that best tells the suspected rows apart, ``None`` if none helps.

    Each candidate is added to the measured design; the one is taken after which the residuals of
    the suspects are least alike (mean squared correlation).
    """
    taped = {frozenset((r.start, r.end)) for r in network.rows if r.kind == LENGTH}
    held = {r.end for r, real in zip(network.rows, measured, strict=True) if real}
    names = sorted((n for n in network.names if n in held), key=lambda n: RANK.get(n, len(RANK)))
    options = [pair for pair in combinations(names, 2) if frozenset(pair) not in taped]
    if not options:
        return None
    usual = float(np.median(network.sd[network.kind == LENGTH])) if taped else 1.0
    pairs = {n for n, free in zip(network.names, network.free[:, 1], strict=True) if free}
    held_x = {n for n, free in zip(network.names, network.free[:, 0], strict=True) if not free}
    rows = [Row("", LENGTH, b, a, 1.0, usual) for a, b in options]
    extra = lay_out(rows, network.names, pairs, held_x)
    old = predict(network, fit.points)[1] / network.sd[:, None]
    new = predict(extra, fit.points)[1] / extra.sd[:, None]
    at = np.searchsorted(np.flatnonzero(measured), among)
    alike = [_likeness(np.vstack([old[measured], row]), at) for row in new]
    best = int(np.argmin(alike))
    return options[best] if alike[best] < 1.0 - ALIKE else None


def telling_point(
    network: Network, fit: Fit, measured: NDArray[np.bool_], among: NDArray[np.intp]
) -> tuple[str, tuple[str, ...]] | None:
    """A point not yet taped whose height and two spans best tell the suspected rows apart.

    Where all spans between taped points are taped, only a new point can tell. Returns the first of
    clamp, rear axle and front axle that helps, and the two points to tape it from; ``None`` where
    none does.
    """
    rows = [row for row, real in zip(network.rows, measured, strict=True) if real]
    held = {n for row in rows for n in (row.end, row.start)}
    names = sorted((n for n in network.names if n in held), key=lambda n: RANK.get(n, len(RANK)))
    at = np.searchsorted(np.flatnonzero(measured), among)
    taped = {row.key for row in rows}
    for new in (n for n in ("clamp", *AXLES) if n not in held and f"heights.{n}" not in taped):
        pairs = list(combinations([n for n in names if n not in AXLES], 2))
        alike = [_likeness(_with_point(network, fit, rows, new, pair), at) for pair in pairs]
        best = int(np.argmin(alike)) if pairs else 0
        if pairs and alike[best] < 1.0 - ALIKE:
            return new, pairs[best]
    return None


def _with_point(
    network: Network, fit: Fit, rows: Sequence[Row], new: str, ends: Sequence[str]
) -> Floats:
    """Weighted design of the measured rows with a new point's height and spans to two others."""
    names, points = list(network.names), fit.points
    if new not in names:
        seat = points[names.index("seat")] - np.array([USUAL["seat"][0], 0.0, USUAL["seat"][1]])
        names.append(new)
        points = np.vstack([points, seat + np.array([USUAL[new][0], 0.0, USUAL[new][1]])])
    sd = float(np.median(network.sd[network.kind == LENGTH]))
    more = [Row("", HEIGHT, new, None, 1.0, sd), *(Row("", LENGTH, new, e, 1.0, sd) for e in ends)]
    pairs = {n for n, free in zip(network.names, network.free[:, 1], strict=True) if free}
    held_x = {n for n, free in zip(network.names, network.free[:, 0], strict=True) if not free}
    whole = lay_out([*rows, *more], names, pairs, held_x)
    return np.asarray(predict(whole, points)[1] / whole.sd[:, None])


def _likeness(design: Floats, at: NDArray[np.intp]) -> float:
    """Mean squared correlation among the residuals of the rows ``at``."""
    basis = held_by(design)[at]
    spread = np.eye(len(at)) - basis @ basis.T
    size = np.sqrt(np.maximum(np.diag(spread), LEAST_REDUNDANCY))
    rho = spread / np.outer(size, size)
    return float(np.mean(rho[np.triu_indices(len(at), 1)] ** 2))


def assumed_notes(rows: Sequence[Row], file: str) -> Iterator[Problem]:
    """A note for each figure that was assumed, with what to tape instead.

    Not for the spacing of fork tubes: the readings' own note tells it.
    """
    if clamp := [row for row in rows if row.end == "clamp" and row.kind in _CLAMP_KEY]:
        where = listed([_CLAMP_PLACE[row.kind] for row in clamp])
        taped = listed([_CLAMP_KEY[row.kind] for row in clamp])
        text = (
            f"the tape does not fix the bar clamp: assumed {where} the grip end, give or take "
            f"{COVERAGE * CLAMP_SD:g} mm; tape {taped}"
        )
        yield Problem(text, _CLAMP_KEY[clamp[0].kind], file, level=NOTE)
    for row in rows:
        if row.end == "clamp":
            continue
        unit = "degrees" if row.kind in (TILT, SWEEP) else "mm"
        how = "tape from middle to middle" if row.kind == SPACING else "measure it on the left grip"
        name = row.key.rpartition(".")[2].replace("_", " ")
        what = f"{name} spacing" if row.kind == SPACING else name
        text = (
            f"the {what} was not taped: assumed {row.value:g} {unit}, give or take "
            f"{COVERAGE * row.sd:g}; {how}"
        )
        yield Problem(text, row.key, file, level=NOTE)
