"""Stage 8i: the best parts and settings, found among every combination that the bike takes.

Seat apart, the numbers fall into groups that do not feel each other: the bar (with its roll or
slide, the rider's lean and the levers), the pegs, and the levers' reach. Misfits, prices and
minutes add up over the groups, and an order by sums is kept when a sum is added to both sides;
so the best of each group for each seat, put together, is the best of all combinations.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from attrs import evolve
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Floats, Vec
from fitprofile.model.bike import Lever
from fitprofile.model.parts import Catalogue, LeverSet
from fitprofile.stages.bar_rows import BarRows, bar_rows
from fitprofile.stages.bar_search import Rest, set_bars
from fitprofile.stages.bar_setting import Levers, SetBars, Uses
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.misfit import INSIDE, between, knee_misfit, reach_misfit, score
from fitprofile.stages.options import Options, options_of, peg_shift, seat_shift
from fitprofile.stages.plan import CHEAPEST, CLOSEST, FREE, QUICKEST, Choice

KEYS: Mapping[str, tuple[str, ...]] = {
    CHEAPEST: ("price", "minutes", "undo", "far", "pieces"),
    QUICKEST: ("minutes", "price", "undo", "far", "pieces"),
    CLOSEST: ("steps", "undo", "price", "minutes", "pieces"),
}
"""What decides among the combinations that are inside every tolerance, in this order; then the
names of the parts. ``far`` is how far the misfits are off together (see `score`), ``steps`` the
same in `STEP`, ``undo`` the number of things that cannot be taken back, ``pieces`` that of parts.
Where none is inside, the closest is chosen by the same keys among all."""

STEP = 0.1
"""Score that no rider feels: what differs by less counts as equally close."""


FREED: Sequence[Levers] = ((), SIDES[:1], SIDES[1:], SIDES)
"""Levers whose pins are freed, by the number that the candidates carry."""


class Group(NamedTuple):
    """Candidates of one group, fields (n,): how far off, what it costs, what is inside.

    ``at`` holds what each candidate of the bar's group is: row, setting, lean, pin freed.
    """

    far: Floats
    inside: NDArray[np.bool_]
    price: Floats
    minutes: Floats
    undo: Floats
    pieces: Floats
    at: tuple[NDArray[np.int_], Floats, Floats, NDArray[np.int_]] | None = None

    @property
    def steps(self) -> Floats:
        """``far`` in whole steps of `STEP`."""
        return np.round(self.far / STEP)

    def best(self, keys: Sequence[str], mask: NDArray[np.bool_]) -> int | None:
        """Index of the first candidate by keys; ``None`` where the mask is empty."""
        left = np.flatnonzero(mask)
        for key in keys:
            if len(left) < 2:  # noqa: PLR2004 - one is decided
                break
            values = getattr(self, key)[left]
            left = left[values <= values.min() + 1e-9]
        return int(left[0]) if len(left) else None

    def sums(self, keys: Sequence[str], index: int) -> Floats:
        """The candidate's figures in the order of the keys."""
        return np.array([getattr(self, key)[index] for key in keys])


class Found(NamedTuple):
    """What a search chose: index of each option, and the settings."""

    seat: int
    plate: int
    lever_set: int
    row: int
    setting: float
    lean_deg: float
    freed: Levers


class Searched(NamedTuple):
    """A search with what it chose, by the plan's name."""

    options: Options
    rows: BarRows
    found: Mapping[str, Found]


def search(jobs: Uses, catalogue: Catalogue, *, options: Options | None = None) -> Searched:
    """The best combinations for one bike.

    Parameters
    ----------
    jobs : sequence of (Job, float)
        One rider on one bike, once for each use with its weight, above 0; the first decides what
        the bike allows and the rider's own lean band.
    catalogue : Catalogue
    options : Options, optional
        What the bike takes, where that is known already.

    Returns
    -------
    Searched
        ``free`` and ``closest`` always; ``cheapest`` and ``quickest`` where a combination is
        inside every tolerance.

    Notes
    -----
    Exhaustive. The setting of each combination is continuous: a grid that zooms in. It is left
    at 0 where that is no worse by `WORTH_IT`. The rider's own lean is kept where a combination
    is inside with it; otherwise a lean inside the rider's band is looked for that brings it in.

    A bar whose width is inside its tolerance is left as wide as it is; where that keeps the others
    outside, its grips are slid to the wish all the same, so that a wider tolerance never turns a
    fit into a miss.

    Between several uses the bar's width is settled first, by the width wishes alone; a plan is
    inside only where it is so for every use. Grips wanted at a place above the pegs, as standing,
    tie bar and pegs together: then every peg plate is searched with every bar. Nobody who only
    stands needs another seat or a lever's reach.
    """
    first = jobs[0][0]
    if options is None:
        options = options_of(first.bike, catalogue, tube_taped=first.points.tube is not None)
    if all(job.stands is not None for job, _ in jobs):
        options = options._replace(seats=(None,), lever_sets=options.lever_sets[:1])
    total = sum(weight for _, weight in jobs)
    jobs = [(job, weight / total) for job, weight in jobs]
    rows = bar_rows(jobs, options, catalogue)
    seats = [_seat_point(first, options, index) for index in range(len(options.seats))]
    levers = _reaches(jobs, options, catalogue)
    cost = _seat_costs(options)
    chosen: dict[str, _Order] = {}
    free: Found | None = None
    for plates, uses in _peg_parts(jobs, options):
        pegs = [_plates(uses, options, seat, plates) for seat in seats]
        made = tuple(set_bars(uses, rows, seats, catalogue.labour, _rest(pegs, levers, cost)))
        bars = [_joined(made, rows, seat) for seat in range(len(seats))]
        for name, keys in KEYS.items():
            for fits in (True, False) if name == CLOSEST else (True,):
                choice = _choose(keys, bars, pegs, levers, cost, plates, fits=fits)
                if choice is not None:
                    chosen[name] = min(choice, chosen.get(name, choice))
                    break
        free = _free(bars[0], rows) if free is None else free
    if free is None:
        raise AssertionError("the bike's own pegs are always among the options")
    found = {name: choice.found for name, choice in chosen.items()}
    return Searched(options=options, rows=rows, found={**found, FREE: free})


def _rest(pegs: Sequence[Group], levers: Group, seats: Group) -> Rest:
    """Least price, minutes and misfit of all but the bar, under each seat."""

    def least(group: Group, figure: str) -> float:
        return float(np.min(getattr(group, figure)[group.inside], initial=np.inf))

    return Rest(
        *(
            np.array([least(plate, figure) + least(levers, figure) for plate in pegs])
            + getattr(seats, figure)
            for figure in ("price", "minutes", "far")
        )
    )


def _peg_parts(jobs: Uses, options: Options) -> Iterator[tuple[Sequence[int], Uses]]:
    """Peg plates that are looked at together, with the uses as they then are.

    All at once; where a standing use has a say, bar and pegs feel each other, so one by one.
    """
    every = range(len(options.peg_plates))
    if all(job.stands is None for job, _ in jobs):
        yield every, jobs
        return
    for index in every:
        shift = peg_shift(options.peg_plates[index], options.fitted_peg_plate)
        yield (index,), on_pegs(jobs, shift)


def on_pegs(jobs: Uses, shift: tuple[float, float]) -> Uses:
    """The uses with the pegs of those that stand moved ahead and up, mm."""
    step = Vec(shift[0], 0.0, shift[1])
    return [
        (
            job
            if job.stands is None
            else evolve(job, stands=job.stands._replace(peg=job.points.peg.plus(step))),
            weight,
        )
        for job, weight in jobs
    ]


class _Order(NamedTuple):
    """A choice with what decides between it and another: inside first, then sums in order."""

    outside: bool
    sums: tuple[float, ...]
    found: Found


def _choose(
    keys: Sequence[str],
    bars: Sequence[Group],
    plates: Sequence[Group],
    levers: Group,
    seats: Group,
    pegs: Sequence[int],
    *,
    fits: bool,
) -> _Order | None:
    """Best combination over all seats; among those inside every tolerance where ``fits``."""
    best: _Order | None = None
    groups: Sequence[Group]
    for index, (bar, plate) in enumerate(zip(bars, plates, strict=True)):
        groups = (bar, plate, levers)
        picks = [one.best(keys, one.inside | (not fits)) for one in groups]
        if any(pick is None for pick in picks):
            continue
        which = [int(pick) for pick in picks if pick is not None]
        sums = sum(
            (one.sums(keys, pick) for one, pick in zip(groups, which, strict=True)),
            seats.sums(keys, index),
        )
        figures = (*np.round(sums, 9).tolist(), float(index))
        which[1] = pegs[which[1]]
        order = _Order(not fits, figures, _found(bar, which, index))
        best = order if best is None else min(best, order)
    return best


def _found(bar: Group, which: Sequence[int], seat: int) -> Found:
    index, plate, lever_set = which
    row, setting, lean, freed = _at(bar)
    return Found(
        seat=seat,
        plate=plate,
        lever_set=lever_set,
        row=int(row[index]),
        setting=float(setting[index]),
        lean_deg=float(lean[index]),
        freed=FREED[freed[index]],
    )


def _at(bar: Group) -> tuple[NDArray[np.int_], Floats, Floats, NDArray[np.int_]]:
    """Row, setting, lean and freed pin of the bar's candidates."""
    if bar.at is None:
        raise AssertionError("only the bar's group is asked for its settings")
    return bar.at


def _free(bar: Group, rows: BarRows) -> Found:
    """Best free adjustment: the bike's own bar, seat, pegs and levers, no pin freed."""
    row, _, _, freed = _at(bar)
    own = rows.own[row] & (freed == 0)
    inside = own & bar.inside
    keys = ("minutes", "far") if inside.any() else ("steps", "minutes", "far")
    at = bar.best(keys, inside if inside.any() else own)
    if at is None:
        raise AssertionError("the bike as it stands is always among the candidates")
    return _found(bar, (at, 0, 0), 0)


def _seat_point(job: Job, options: Options, index: int) -> Vec:
    """Sit point with a seat option, mm."""
    ahead, up = seat_shift(options.seats[index], options.fitted_seat)
    return job.points.seat.plus(Vec(ahead, 0.0, up))


def _seat_costs(options: Options) -> Group:
    """Price and minutes of each seat."""
    return _costs(options.seats, np.zeros(len(options.seats)), np.zeros(len(options.seats)))


def _costs(parts: Sequence[object], far: Floats, minutes: Floats) -> Group:
    """Group of one kind of part; inside where each is marked so by ``far`` not above 1 later."""
    price, own, pieces = (
        np.array([0.0 if part is None else figure(part) for part in parts])
        for figure in (_price, _minutes, lambda _: 1.0)
    )
    none = np.zeros(len(parts))
    return Group(
        far=far,
        inside=np.ones(len(parts), dtype=bool),
        price=price,
        minutes=own + minutes,
        undo=none,
        pieces=pieces,
    )


def _price(part: object) -> float:
    return float(part.price.value)  # type: ignore[attr-defined]  # every part has one


def _minutes(part: object) -> float:
    return float(part.minutes.value)  # type: ignore[attr-defined]  # every part has them


def _plates(jobs: Uses, options: Options, seat: Vec, which: Sequence[int]) -> Group:
    """Some of the peg plates under one seat."""
    offered = [options.peg_plates[index] for index in which]
    shifts = np.array([peg_shift(one, options.fitted_peg_plate) for one in offered])
    far, worst = np.zeros(len(shifts)), np.zeros(len(shifts))
    for job, weight in jobs:
        peg = job.points.peg.plus(Vec(shifts[:, 0], 0.0, shifts[:, 1]))
        misfit = knee_misfit(job, evolve(job.points, seat=seat, peg=peg))
        far, worst = far + weight * score(misfit), np.maximum(worst, np.abs(misfit))
    return _costs(offered, far, 0.0 * far)._replace(inside=worst <= INSIDE)


def _reaches(jobs: Uses, options: Options, catalogue: Catalogue) -> Group:
    """Choices of lever sets with each reach set as near to the wish as its adjuster goes.

    To set a lever that is bought costs no minutes beside those of fitting it.
    """
    chosen = options.lever_sets
    price, minutes, pieces, far, worst = np.zeros((5, len(chosen)))
    for index, sets in enumerate(chosen):
        price[index] = sum(one.price.value for one in sets)
        minutes[index] = sum(one.minutes.value for one in sets)
        pieces[index] = len(sets)
        for side in SIDES:
            levers = Choice(lever_sets=sets).levers_of(side)
            reach = reach_set(jobs, side, levers)
            here = float(getattr(jobs[0][0].now.lever_reach_mm, side))
            if levers is None and np.isfinite(reach) and reach != here:
                minutes[index] += catalogue.labour.reach.value
            for job, weight in jobs:
                misfit = float(reach_misfit(job, side, reach))
                far[index] += weight * float(score(misfit))
                worst[index] = max(worst[index], abs(misfit))
    return Group(
        far=far,
        inside=worst <= INSIDE,
        price=price,
        minutes=minutes,
        undo=0.0 * price,
        pieces=pieces,
    )


def reach_set(jobs: Uses, side: str, chosen: LeverSet | None) -> float:
    """Reach of one lever as it is set, mm; left alone inside tolerance; ``nan``: no lever.

    ``chosen`` is the set that brings this side's lever, ``None`` where it is the bike's own.
    """
    job = jobs[0][0]
    here = float(getattr(job.now.lever_reach_mm, side))
    lever: Lever | None = getattr(job.bike.levers, side)
    if not np.isfinite(here) or lever is None:
        return float("nan")
    if chosen is None and all(abs(float(reach_misfit(one, side, here))) <= 1.0 for one, _ in jobs):
        return here
    wishes = [float(getattr(one.target.lever_reach_mm, side)) for one, _ in jobs]
    wish = float(between(wishes, [w for _, w in jobs], job.tolerances["lever_reach"]))
    band = lever.reach_range if chosen is None else chosen.reach_range
    if not np.isfinite(wish):
        wish = here
    return wish if band is None else min(max(wish, band[0]), band[1])


def _joined(made: Sequence[SetBars], rows: BarRows, seat: int) -> Group:
    """All candidates under one seat, the bike as it stands first."""
    here = [one.seat == seat for one in made]
    row, setting, lean, far, worst, minutes, undo = (
        np.concatenate([getattr(one, name)[at] for one, at in zip(made, here, strict=True)])
        for name in ("row", "setting", "lean", "far", "worst", "minutes", "undo")
    )
    freed = np.concatenate(
        [np.full(int(at.sum()), FREED.index(one.freed)) for one, at in zip(made, here, strict=True)]
    )
    far = far + rows.width_far[row]
    worst = np.maximum(worst, np.abs(rows.width[row]))
    return Group(
        far=far,
        inside=worst <= INSIDE,
        price=rows.price[row],
        minutes=rows.minutes[row] + minutes,
        undo=rows.undo[row] + undo,
        pieces=rows.pieces[row],
        at=(row, setting, lean, freed),
    )
