"""Bars set as well as they go: nothing thrown away too early, what is found against scipy's."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
import pytest
from attrs import evolve
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import minimize, minimize_scalar

from fitprofile.model.parts import Catalogue
from fitprofile.stages.bar_grids import COARSE, coarse_of, free_of
from fitprofile.stages.bar_search import CLOSE, _in_the_running, can_be_set, polished, set_bars
from fitprofile.stages.bar_setting import Bars, Levers, SetBars
from fitprofile.stages.job import Job
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.search import STEP
from tests.stages.bars import KIND, LEANING, SEED, bars_of, drawn, fine, rows_of, seats_of
from tests.stages.by_force import Combo, Force, score


@given(seed=SEED, kind=KIND)
def test_the_closest_bar_of_each_seat_stays_in_the_running(seed: int, kind: str) -> None:
    """And whatever is inside, or within what may still decide."""
    job, shop = drawn(seed, kind, most=6)
    bars = bars_of(job, rows_of(job, shop), new=True)
    assume(len(bars.row))
    kept = _in_the_running(bars, coarse_of(bars, free_of(bars, None), COARSE))
    worst, far = fine(bars, None)
    far = far + bars.rows.width_far[bars.row]
    for seat in (0, 1):
        here = bars.seat == seat
        close = here & (far <= far[here].min() + 0.5 * CLOSE)
        assert np.all(kept[close])
    assert np.all(kept | (worst > INSIDE))


def each(job: Job, shop: Catalogue) -> list[SetBars]:
    return list(set_bars(((job, 1.0),), rows_of(job, shop), seats_of(job), shop.labour))


@given(seed=SEED, kind=KIND)
def test_every_bar_set_is_as_far_off_as_it_says(seed: int, kind: str) -> None:
    """Score and largest misfit by hand; settings and leans inside their bands."""
    job, shop = drawn(seed, kind, most=2)
    rows, force = rows_of(job, shop), Force(job, shop)
    low, high = rows.band
    band = job.limits.lean or (force.lean, force.lean)
    for made in each(job, shop):
        assert np.all((made.setting >= low) & (made.setting <= high))
        own = made.lean == force.lean
        assert np.all(own | ((made.lean >= band[0]) & (made.lean <= band[1])))
        for index in range(0, len(made.row), 3):
            if made.seat[index]:
                continue
            riser, bar, clip, extender = rows.parts[made.row[index]]
            slid = bool(rows.instead[made.row[index]] >= 0)
            combo = Combo(riser, clip if job.clip_on else bar, extender, slid=slid)
            misfits = force.bar_misfits(
                combo, float(made.setting[index]), float(made.lean[index]), (), made.freed
            )
            del misfits["bar_width"]
            assert made.far[index] == pytest.approx(score(misfits), rel=1e-6, abs=1e-6)
            assert made.worst[index] == pytest.approx(max(map(abs, misfits.values())), abs=1e-6)


@given(seed=SEED, kind=KIND)
def test_the_bike_s_own_bar_is_always_there_as_it_stands(seed: int, kind: str) -> None:
    """Under each seat, setting 0, the rider in the own lean."""
    job, shop = drawn(seed, kind)
    own = float(job.target.lean_deg)
    seats = [
        int(seat)
        for made in each(job, shop)
        if not made.freed
        for row, seat, setting, lean in zip(
            made.row, made.seat, made.setting, made.lean, strict=True
        )
        if (row, setting, lean) == (0, 0.0, own)
    ]
    assert set(seats) == {0, 1}


@given(seed=SEED, kind=KIND)
def test_the_nearest_setting_is_as_near_as_scipy_s(seed: int, kind: str) -> None:
    """Every bar of the bike itself, against `minimize_scalar` on the score by hand."""
    job, shop = drawn(seed, kind, most=1)
    rows, force = rows_of(job, shop), Force(job, shop)
    found: dict[int, float] = {}
    for made in each(job, shop):
        for row, seat, far, lean in zip(made.row, made.seat, made.far, made.lean, strict=True):
            if seat == 0 and lean == force.lean and not made.freed and not rows.new[row]:
                found[row] = min(far, found.get(row, np.inf))
    for row, far in found.items():
        riser, _, _, extender = rows.parts[row]
        own_bar = Combo(riser, None, extender, slid=bool(rows.instead[row] >= 0))

        def cost(x: float, combo: Combo = own_bar) -> float:
            misfits = force.bar_misfits(combo, float(x), force.lean, (), freed=())
            del misfits["bar_width"]
            return score(misfits)

        grid = np.linspace(*rows.band, 25)
        start = float(grid[int(np.argmin([cost(x) for x in grid]))])
        step = grid[1] - grid[0]
        ends = (max(start - step, grid[0]), min(start + step, grid[-1]))
        least = minimize_scalar(cost, bounds=ends, method="bounded").fun
        # 0.01 is what a setting has to be worth; a grid to 0.06 degrees comes that near.
        assert far == pytest.approx(least, abs=0.012)


@given(seed=SEED, kind=LEANING)
def test_a_bar_inside_in_no_way_is_leaned_as_near_as_scipy_brings_it(seed: int, kind: str) -> None:
    """Tolerances so tight that nothing fits; by Nelder-Mead from a grid, on misfits by hand."""
    job, shop = drawn(seed, kind, most=1)
    tight = {name: 0.3 * allowed for name, allowed in job.tolerances.items()}
    job = evolve(job, tolerances=tight)
    rows, force, band = rows_of(job, shop), Force(job, shop), job.limits.lean
    assert band is not None
    found: dict[tuple[int, Levers], float] = {}
    inside = False
    for made in each(job, shop):
        fits = (made.worst <= INSIDE) & (np.abs(rows.width[made.row]) <= INSIDE)
        inside = inside or bool(np.any(fits))
        for row, seat, far in zip(made.row.tolist(), made.seat, made.far, strict=True):
            if seat == 0:
                key = row, made.freed
                found[key] = min(float(far), found.get(key, np.inf))
    assume(not inside)
    near = {key: far + rows.width_far[key[0]] for key, far in found.items()}
    for row, freed in {(0, ()), min(near, key=lambda key: near[key])}:
        riser, bar, clip, extender = rows.parts[row]
        slid = bool(rows.instead[row] >= 0)
        combo = Combo(riser, clip if job.clip_on else bar, extender, slid=slid)

        def cost(q: Sequence[float], combo: Combo = combo, freed: Levers = freed) -> float:
            misfits = force.bar_misfits(combo, float(q[0]), float(q[1]), (), freed)
            del misfits["bar_width"]
            return score(misfits)

        places = product(np.linspace(*rows.band, 13), np.linspace(*band, 13))
        start = min(places, key=cost)
        least = minimize(cost, start, bounds=(rows.band, band), method="Nelder-Mead").fun
        assert found[row, freed] <= 1.05 * least + STEP


def test_where_a_combination_is_inside_no_other_bar_is_leaned_to_be_near() -> None:
    """One job, once with its own tolerances and once with such that nothing fits."""
    job, shop = drawn(0, "with a lean band")
    tight = evolve(job, tolerances={name: 0.02 * one for name, one in job.tolerances.items()})
    near = []
    for one in (job, tight):
        rows, own = rows_of(one, shop), float(one.target.lean_deg)
        made = each(one, shop)
        outside = [
            part.some(np.flatnonzero((part.worst > INSIDE) & (part.lean != own))) for part in made
        ]
        fits = any(
            np.any((part.worst <= INSIDE) & (np.abs(rows.width[part.row]) <= INSIDE))
            for part in made
        )
        near.append((bool(fits), {int(row) for part in outside for row in part.row}))
    (fits, leaned), (never, more) = near
    assert fits
    assert leaned <= {0}
    assert not never
    assert len(more) > 1


@given(seed=SEED, kind=KIND, push=st.floats(-0.4, 0.4))
def test_a_setting_found_again_is_no_worse_no_dearer_and_no_further_out(
    seed: int, kind: str, push: float
) -> None:
    job, shop = drawn(seed, kind, most=2)
    rows = rows_of(job, shop)
    for made in each(job, shop):
        for index in range(0, len(made.row), 5):
            if made.seat[index]:
                continue
            row, seat = int(made.row[index]), job.points.seat
            low, high = rows.band
            setting = float(np.clip(made.setting[index] + push, low, high))
            lean = float(made.lean[index])
            bars = Bars(
                ((job, 1.0),), rows, np.array([row]), np.array([0]),
                np.array([[float(part) for part in seat]]), shop.labour, freed=made.freed,
            )  # fmt: skip
            again = polished(
                ((job, 1.0),), rows, row, seat, setting, lean, shop.labour, freed=made.freed
            )
            was = bars.at(np.array([setting]), np.array([lean]))
            now = bars.at(*(np.array([value]) for value in again))
            assert now.far[0] <= was.far[0] + 1e-12
            assert now.minutes[0] <= was.minutes[0]
            assert now.undo[0] <= was.undo[0]
            assert now.worst[0] <= INSIDE or was.worst[0] > INSIDE
            if lean == bars.own_lean or was.worst[0] <= INSIDE:
                assert again[1] == lean
            assert job.limits.lean is None or abs(again[1] - lean) <= 1.0


def test_a_bar_left_at_zero_stays_there() -> None:
    job, shop = drawn(3, "one-piece")
    rows, lean = rows_of(job, shop), float(job.target.lean_deg)
    uses = ((job, 1.0),)
    found = polished(uses, rows, 1, job.points.seat, 0.0, lean, shop.labour, freed=())
    assert found == (0.0, lean)


@given(seed=SEED, kind=KIND)
def test_what_can_be_set_is_what_some_candidate_is_inside(seed: int, kind: str) -> None:
    """Pins counted as freed, the width left aside, what stands in for a row as that row."""
    job, shop = drawn(seed, kind)
    rows, uses = rows_of(job, shop), ((job, 1.0),)
    inside = np.zeros(len(rows.new), dtype=bool)
    for made in set_bars(uses, rows, [job.points.seat], shop.labour):
        inside[made.row] |= made.worst <= INSIDE
    spare = np.flatnonzero(rows.instead >= 0)
    inside[rows.instead[spare]] |= inside[spare]
    for new in (False, True):
        kept = np.flatnonzero((rows.new == new) & (rows.instead < 0))
        if len(kept):
            found = can_be_set(uses, rows, job.points.seat, kept.tolist())
            assert found.tolist() == inside[kept].tolist()
