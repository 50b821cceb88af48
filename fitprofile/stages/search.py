"""Stage 8l: the best parts and settings, found among every combination that the bike takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from attrs import evolve
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Floats, Vec
from fitprofile.model.parts import Catalogue
from fitprofile.stages.bar_nearest import NearestBars, Sought
from fitprofile.stages.bar_rows import BarRows, bar_rows
from fitprofile.stages.bar_search import Lead, Rest, set_bars
from fitprofile.stages.bar_setting import GROUPS, Levers, SetBars, Uses
from fitprofile.stages.bar_widths import with_widths
from fitprofile.stages.choosing import Group, Order, Table, best_inside, nearest
from fitprofile.stages.job import Job
from fitprofile.stages.misfit import INSIDE, knee_misfit, score
from fitprofile.stages.options import Options, options_of, peg_shift, seat_shift
from fitprofile.stages.plan import CHEAPEST, CLOSEST, FREE, QUICKEST
from fitprofile.stages.reaches import reaches_of


class Found(NamedTuple):
    """What a search chose: index of each option, and the settings.

    ``trued`` are levers turned to the wish, ``reached`` those whose reach is set to it, although
    they are inside their tolerance.
    """

    seat: int
    plate: int
    lever_set: int
    row: int
    setting: float
    lean_deg: float
    freed: Levers
    trued: Levers
    reached: Levers


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
    Exhaustive. The setting of each combination is continuous: a grid that zooms in.

    For the cheapest and the quickest the bar is left at 0 where that is no worse by `WORTH_IT`,
    and the rider's own lean is kept where a combination is inside with it; otherwise a lean inside
    the rider's band is looked for that brings it in. What is inside its tolerance is left alone;
    where a width that is so keeps the others outside, the grips are slid to the wish all the
    same, so that a wider tolerance never turns a fit into a miss.

    For the closest see `fitprofile.stages.bar_nearest` and `fitprofile.stages.choosing`; a width
    between as it is and the wish, see `fitprofile.stages.bar_widths`, is in it only where nothing
    is inside at one of these two.

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
    seats = [_seat_point(first, options, index) for index in range(len(options.seats))]
    reaches, sets = reaches_of(jobs, options, catalogue)
    cost = _seat_costs(options)
    taken = bar_rows(jobs, options, catalogue)
    rows, parts = _set_all(jobs, options, catalogue, seats, reaches, taken)

    def tables(part: _Part, more: Sequence[SetBars] = ()) -> list[_Table]:
        return [
            _Table(part, joined, Table((joined.group, part.pegs[seat], reaches), cost, seat))
            for seat in range(len(seats))
            for joined in (_joined((*part.made, *more), rows, seat, first),)
        ]

    def found_of(choice: tuple[Order, int], tables: Sequence[_Table]) -> Found:
        (_, seat, (bar, plate, lever)), number = choice
        part, joined, _ = tables[number]
        lever_set, reached = sets[lever]
        return joined.found(
            bar, seat=seat, plate=part.plates[plate], lever_set=lever_set, reached=reached
        )

    first_tables = [one for part in parts for one in tables(part)]
    inside = [one.table for one in first_tables]
    choices = {name: best_inside(name, inside) for name in (CHEAPEST, QUICKEST)}
    found = {
        name: found_of(choice, first_tables)
        for name, choice in choices.items()
        if choice is not None
    }
    fits = bool(found)
    offered = rows
    if rows is not taken:
        # Another width is for where nothing else is inside.
        usual = [part._replace(made=_usual(part.made, len(taken.new))) for part in parts]
        least = min(one.table.least(fits=fits) for part in usual for one in tables(part))
        if np.isfinite(least):
            parts, offered = usual, taken
    finders = [
        NearestBars(
            part.uses, offered, seats, catalogue.labour, part.lead,
            _sought(part.pegs, reaches, cost, fits=fits), part.made,
        )
        for part in parts
    ]  # fmt: skip
    reached = [tuple(one.reached()) for one in finders]
    least = min(one.least for one in finders)
    near = [
        table
        for part, made, one in zip(parts, reached, finders, strict=True)
        for table in tables(part, (*made, *one.near(least)))
    ]
    free = _free(first_tables[0].bars, near[0].bars, rows)
    closest = nearest([one.table for one in near], fits=fits)
    if closest is None:
        raise AssertionError("the bike as it stands is always among the candidates")
    found |= {CLOSEST: found_of(closest, near), FREE: free}
    return Searched(options=options, rows=rows, found=found)


def _sought(pegs: Sequence[Group], reaches: Group, seats: Group, *, fits: bool) -> Sought:
    """What else a plan under each seat comes to where it is nearest, and its least price."""
    far, paid, free = (
        np.array([_nearest_of(one, fits=fits)[which] for one in pegs])
        + _nearest_of(reaches, fits=fits)[which]
        for which in range(3)
    )
    return Sought(far + seats.far, paid + seats.price, free + seats.price, fits)


def _nearest_of(group: Group, *, fits: bool) -> tuple[float, float, float]:
    """Least score of a group, what it is had for, and the least price that there is."""
    mask = group.inside | (not fits)
    if not mask.any():
        return np.inf, np.inf, np.inf
    far, price = group.far[mask], group.price[mask]
    return float(far.min()), float(price[far.argmin()]), float(price.min())


def _set_all(
    jobs: Uses,
    options: Options,
    catalogue: Catalogue,
    seats: Sequence[Vec],
    reaches: Group,
    rows: BarRows,
) -> tuple[BarRows, Sequence[_Part]]:
    """Every bar set with every peg plate, at other widths too where it is inside in no other way.

    Rows for these are added at the end, so that those of other plates stay what they are.
    """
    cost = _seat_costs(options)
    parts: list[_Part] = []
    for plates, uses in _peg_parts(jobs, options):
        pegs = [_plates(uses, options, seat, plates) for seat in seats]
        lead = Lead(rows, _rest(pegs, reaches, cost))
        made = [*set_bars(uses, rows, seats, catalogue.labour, lead)]
        parts.append(_Part(plates, uses, pegs, lead, made))
    for part in parts:
        count, more = len(rows.new), with_widths(part.uses, rows, seats, catalogue, part.lead)
        for one in parts if more is not rows else ():
            one.lead.widened(more)
            one.made.extend(set_bars(one.uses, more, seats, catalogue.labour, one.lead, count))
        rows = more
    return rows, parts


def _usual(made: Sequence[SetBars], count: int) -> list[SetBars]:
    """Those of the first rows."""
    return [one.some(np.flatnonzero(one.row < count)) for one in made]


class _Part(NamedTuple):
    """Peg plates that are looked at together, and the bars set with them."""

    plates: Sequence[int]
    uses: Uses
    pegs: Sequence[Group]
    lead: Lead
    made: list[SetBars]


class _Bars(NamedTuple):
    """The bar's group under one seat, and what each candidate is: row, setting, lean, levers."""

    group: Group
    row: NDArray[np.int_]
    setting: Floats
    lean: Floats
    freed: NDArray[np.int_]
    trued: NDArray[np.int_]

    def found(self, index: int, *, seat: int, plate: int, lever_set: int, reached: Levers) -> Found:
        return Found(
            seat=seat,
            plate=plate,
            lever_set=lever_set,
            row=int(self.row[index]),
            setting=float(self.setting[index]),
            lean_deg=float(self.lean[index]),
            freed=GROUPS[self.freed[index]],
            trued=GROUPS[self.trued[index]],
            reached=reached,
        )


class _Table(NamedTuple):
    """A table with where its groups come from."""

    part: _Part
    bars: _Bars
    table: Table


def _rest(pegs: Sequence[Group], levers: Group, seats: Group) -> Rest:
    """Least price and minutes of all but the bar, under each seat."""
    return Rest(
        *(
            _least(pegs, levers, figure, fits=True) + getattr(seats, figure)
            for figure in ("price", "minutes")
        )
    )


def _least(pegs: Sequence[Group], levers: Group, figure: str, *, fits: bool) -> Floats:
    """Least of a figure of pegs and levers under each seat, (seats,); inside where ``fits``."""

    def least(group: Group) -> float:
        return float(np.min(getattr(group, figure)[group.inside | (not fits)], initial=np.inf))

    return np.array([least(plate) + least(levers) for plate in pegs])


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


def _free(bars: _Bars, more: _Bars, rows: BarRows) -> Found:
    """Best free adjustment: the bike's own bar, seat, pegs and levers, no pin freed.

    Where it is inside the least work that makes it so; else the closest, of ``more``.
    """

    def own(bars: _Bars) -> NDArray[np.bool_]:
        return np.asarray(rows.own[bars.row] & (bars.freed == 0))

    inside = own(bars) & bars.group.inside
    at = bars.group.best(("minutes", "far"), inside)
    if at is None:
        bars, at = more, more.group.nearest(own(more))
    if at is None:
        raise AssertionError("the bike as it stands is always among the candidates")
    return bars.found(at, seat=0, plate=0, lever_set=0, reached=())


def _seat_point(job: Job, options: Options, index: int) -> Vec:
    """Sit point with a seat option, mm."""
    ahead, up = seat_shift(options.seats[index], options.fitted_seat)
    return job.points.seat.plus(Vec(ahead, 0.0, up))


def _seat_costs(options: Options) -> Group:
    """Price and minutes of each seat; what it does to the numbers is in the other groups."""
    return _group(options.seats, np.zeros(len(options.seats)), np.zeros(len(options.seats)))


def _group(parts: Sequence[object], far: Floats, worst: Floats) -> Group:
    """Group of one kind of part; ``None`` costs nothing."""
    price, minutes, pieces = (
        np.array([0.0 if part is None else figure(part) for part in parts])
        for figure in (_price, _minutes, lambda _: 1.0)
    )
    costs = {"price": price, "minutes": minutes, "pieces": pieces}
    return Group.of_parts(far, worst <= INSIDE, costs)


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
    return _group(offered, far, worst)


def _joined(made: Sequence[SetBars], rows: BarRows, seat: int, job: Job) -> _Bars:
    """All candidates under one seat, the bike as it stands first."""
    here = [one.seat == seat for one in made]
    row, setting, lean, far, worst, minutes, undo, trued = (
        np.concatenate([getattr(one, name)[at] for one, at in zip(made, here, strict=True)])
        for name in ("row", "setting", "lean", "far", "worst", "minutes", "undo", "trued")
    )
    freed = np.concatenate(
        [
            np.full(int(at.sum()), GROUPS.index(one.freed))
            for one, at in zip(made, here, strict=True)
        ]
    )
    worst = np.maximum(worst, np.abs(rows.width[row]))
    group = Group(
        far=far + rows.width_far[row],
        inside=worst <= INSIDE,
        price=rows.price[row],
        minutes=rows.minutes[row] + minutes,
        undo=rows.undo[row] + undo,
        pieces=rows.pieces[row],
        leaned=(lean != float(job.target.lean_deg)).astype(float),
    )
    return _Bars(group, row, setting, lean, freed, trued)
