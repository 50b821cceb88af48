"""The closest plan by force: every combination set as near to the wish as scipy brings it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product
from math import inf, isfinite
from typing import NamedTuple

import numpy as np
from scipy.optimize import minimize

from fitprofile.stages.plan import Plan
from tests.stages.by_force import (
    SIDES,
    SLIDE_SEEN,
    Combo,
    Force,
    Row,
    band_of,
    is_pinned,
    score,
    slide_of,
)

EDGE = 0.01
"""Tolerances from the border within which two computations may judge differently."""


class Near(NamedTuple):
    """One combination in one way: what it costs by the keys, and how far it is then."""

    undo: int
    price: float
    minutes: float
    far: float


class Way(NamedTuple):
    """What may be moved of a bar, and which levers are left as the bar carries them."""

    held: tuple[str, ...]
    set_: bool
    leaned: bool


def far_of(plan: Plan) -> float:
    """Score of a plan by the deviations that it says itself."""
    return score(plan.deviations)


def undone(force: Force, combo: Combo, freed: Sequence[str]) -> int:
    """How many things a combination does that cannot be taken back."""
    job, new = force.job, combo.head is not None
    placed = force.placed_head(combo.head)
    slide = slide_of(job, placed, force.was, combo.head, combo.extender, slid=combo.slid)
    pins = sum(
        is_pinned(job, side) and isfinite(float(getattr(job.now.lever_angle_deg, side)))
        for side in SIDES
    )
    housing = job.bike.handlebar.pins and (new or abs(slide) > SLIDE_SEEN)
    return int(slide < -SLIDE_SEEN) + int(housing) + (pins if new else len(freed))


def turnable(force: Force, combo: Combo) -> list[str]:
    """Levers of the bike's own bar that turn without a pin being freed."""
    job = force.job
    return [
        side
        for side in SIDES
        if combo.head is None
        and getattr(job.bike.levers, side) is not None
        and isfinite(float(getattr(job.now.lever_angle_deg, side)))
        and not is_pinned(job, side)
    ]


def least_of(
    force: Force,
    combo: Combo,
    freed: Sequence[str],
    way: Way,
    *,
    inside: bool,
    edge: float = 1.0 - EDGE,
) -> float:
    """Smallest score of a bar in one way by SLSQP from the best of a grid; ``inf``: not to be had.

    No misfit above ``edge`` where it has to be inside, nor of a lever left alone in any case.
    """
    own = (force.lean, force.lean)
    box = [
        band_of(force.job) if way.set_ else (0.0, 0.0),
        (force.job.limits.lean or own) if way.leaned else own,
    ]

    def misfits(q: Sequence[float]) -> dict[str, float]:
        return force.bar_misfits(combo, float(q[0]), float(q[1]), way.held, freed)

    def room(q: Sequence[float]) -> list[float]:
        names = [f"lever_angle.{side}" for side in way.held]
        found = misfits(q)
        kept = found.values() if inside else [found[name] for name in names]
        return [edge - abs(value) for value in kept]

    def rank(q: Sequence[float]) -> tuple[float, float]:
        return -min([0.0, *room(q)]), score(misfits(q))

    counts = [1 if low == high else n for (low, high), n in zip(box, (13, 9), strict=True)]
    lines = [np.linspace(*ends, n) for ends, n in zip(box, counts, strict=True)]
    start = min(product(*lines), key=rank)
    found = minimize(
        lambda q: min(score(misfits(q)), 1e6),
        start,
        method="SLSQP",
        bounds=box,
        constraints={"type": "ineq", "fun": room} if room(start) else (),
        options={"maxiter": 100, "ftol": 1e-10},
    )
    places = [start, np.clip(found.x, *np.array(box).T)]
    good = [rank(q)[1] for q in places if rank(q)[0] <= 1e-6]
    last = places[-1] if way.leaned or way.set_ else start
    carried = force.bar_misfits(combo, float(last[0]), float(last[1]), SIDES, freed)
    if any(abs(carried[f"lever_angle.{side}"]) <= 2.0 - edge for side in freed):
        return inf  # a pin that holds a lever in line is not freed
    return min(good, default=inf)


def every_near(
    force: Force, rows: Sequence[Row], *, inside: bool, edge: float = 1.0 - EDGE
) -> list[tuple[Row, Near]]:
    """Every combination with all its levers set, the rider free to lean: as near as any way is.

    With ``edge`` a little below 1 those that are there for sure, a little above it all that may be.
    """
    bars: dict[tuple[Combo, tuple[str, ...]], float] = {}
    found = []
    for row in rows:
        if inside and row.outside(edge):
            continue
        bar = row.combo._replace(plate=None, levers=())
        undo = undone(force, bar, row.freed)
        less = undone(force, bar._replace(slid=False), row.freed)
        if bar.slid and row.is_idle(2.0 - edge) and undo > less:
            continue
        key = bar, row.freed
        if key not in bars:
            bars[key] = least_of(
                force, bar, row.freed, Way((), True, True), inside=inside, edge=edge
            )
        reach, _ = reached(force, row)[-1]
        far = bars[key] + score({"knee": row.knee}) + reach
        found.append((row, Near(undo, row.price, inf, far)))
    return found


def reached(force: Force, row: Row) -> list[tuple[float, float]]:
    """Score and minutes of the reaches, what is inside left alone or set to the wish; best last."""
    job, labour = force.job, force.catalogue.labour.reach.value
    allowed = job.tolerances["lever_reach"]
    ways = [(row.reach[0], 0.0)]
    for side in SIDES:
        here = float(getattr(job.now.lever_reach_mm, side))
        wish = float(getattr(job.target.lever_reach_mm, side))
        lever = getattr(job.bike.levers, side)
        bought = any(one.side in ("both", side) for one in row.combo.levers)
        if lever is None or bought or not isfinite(here + wish):
            continue
        if abs(here - wish) <= allowed:
            band = lever.reach_range
            will = wish if band is None else min(max(wish, band[0]), band[1])
            gain = score({"": (here - wish) / allowed}) - score({"": (will - wish) / allowed})
            ways += [(far - gain, minutes + labour) for far, minutes in ways] if gain > 0 else []
    return sorted(ways, reverse=True)


def ways_of(force: Force, row: Row, *, inside: bool) -> Iterator[Near]:
    """One combination in every way, each with its minutes."""
    job, labour = force.job, force.catalogue.labour
    bar = row.combo._replace(plate=None, levers=())
    free, new = turnable(force, bar), bar.head is not None
    own = 0.0 if new else (labour.clip_slide if job.clip_on else labour.roll).value
    for size in range(len(free) + 1):
        for held in combinations(free, size):
            for set_, leaned in product((False, True), repeat=2):
                far = least_of(force, bar, row.freed, Way(held, set_, leaned), inside=inside)
                turned = len(free) - size + len(row.freed)
                minutes = row.minutes + own * set_ + labour.perch.value * turned
                for reach, more in reached(force, row):
                    yield Near(
                        undone(force, bar, row.freed),
                        row.price,
                        minutes + more,
                        far + score({"knee": row.knee}) + reach,
                    )
