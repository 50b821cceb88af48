"""Bars set as well as they go: nothing thrown away too early, what is found against scipy's."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from fitprofile.geometry.vectors import Vec
from fitprofile.model.parts import Catalogue, Labour
from fitprofile.stages.bar_rows import BarRows, bar_rows
from fitprofile.stages.bar_search import (
    CLOSE,
    COARSE,
    ROUGH,
    _coarse,
    _free,
    _in_the_running,
    can_be_set,
    polished,
    set_bars,
)
from fitprofile.stages.bar_setting import Bars, Levers, SetBars, far_of, worst_of
from fitprofile.stages.job import Job
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.options import options_of
from tests.stages.by_force import Combo, Force, score
from tests.stages.shelves import KINDS, a_job, shelf

LABOUR = Labour()

Array = np.ndarray[Any, np.dtype[np.float64]]


def drawn(seed: int, kind: str, most: int = 4) -> tuple[Job, Catalogue]:
    rng = np.random.default_rng(seed)
    job = a_job(rng, **KINDS[kind])
    return job, shelf(rng, most=most, clip_on=job.clip_on)


def rows_of(job: Job, shop: Catalogue) -> BarRows:
    return bar_rows(((job, 1.0),), options_of(job.bike, shop, tube_taped=True), shop)


def seats_of(job: Job) -> list[Vec]:
    return [job.points.seat, job.points.seat.plus(Vec(5.0, 0.0, 20.0))]


def bars_of(job: Job, rows: BarRows, *, new: bool, freed: Levers = ()) -> Bars:
    """Every row of one kind under two seats."""
    kept, seats = np.flatnonzero(rows.new == new), seats_of(job)
    table = np.array([[float(part) for part in seat] for seat in seats])
    row, seat = np.tile(kept, 2), np.repeat([0, 1], len(kept))
    return Bars(((job, 1.0),), rows, row, seat, table, LABOUR, freed=freed)


def fine(bars: Bars, leans: Array | None) -> tuple[Array, Array]:
    """Smallest largest misfit and smallest score of each row on a fine grid."""
    settings = np.linspace(*bars.rows.band, 161)
    worst, far = [], []
    for lean in (None,) if leans is None else leans:
        misfits, _ = bars.shown(settings[None, :], None if lean is None else np.array([[lean]]))
        shape = (len(bars.row), len(settings))
        worst.append(np.broadcast_to(worst_of(misfits), shape).min(axis=1))
        far.append(np.broadcast_to(far_of(misfits), shape).min(axis=1))
    return np.min(worst, axis=0), np.min(far, axis=0)


FREED = st.sampled_from([(), ("brake",), ("clutch",), ("brake", "clutch")])
SEED = st.integers(0, 2**32 - 1)
KIND = st.sampled_from(sorted(KINDS))
LEANING = st.sampled_from([kind for kind in sorted(KINDS) if "lean" in kind])


@given(seed=SEED, kind=KIND, new=st.booleans(), freed=FREED)
def test_no_bar_is_thrown_away_that_a_fine_grid_finds_inside(
    seed: int, kind: str, new: bool, freed: Levers
) -> None:
    """In the rider's own lean: nor does any fall below what the coarse grid says it cannot."""
    job, shop = drawn(seed, kind)
    bars = bars_of(job, rows_of(job, shop), new=new, freed=freed)
    assume(len(bars.row))
    coarse = _coarse(bars, _free(bars, None), COARSE)
    worst, far = fine(bars, None)
    assert np.all(coarse.may_be_inside() | (worst > INSIDE))
    assert np.all(coarse.least(coarse.far) <= far + 1e-9)


@given(seed=SEED, kind=LEANING, new=st.booleans(), count=st.sampled_from([ROUGH, COARSE]))
def test_nor_one_that_a_fine_grid_of_settings_and_leans_finds_inside(
    seed: int, kind: str, new: bool, count: int
) -> None:
    job, shop = drawn(seed, kind)
    bars, band = bars_of(job, rows_of(job, shop), new=new), job.limits.lean
    assume(len(bars.row))
    assert band is not None
    coarse = _coarse(bars, _free(bars, band), count)
    worst, _ = fine(bars, np.linspace(*band, 41))
    assert np.all(coarse.may_be_inside() | (worst > INSIDE))
    still = _coarse(bars, _free(bars, band, still=True), COARSE)
    misfits, _ = bars.shown(np.zeros((1, 1)), np.linspace(*band, 161)[None, :])
    least = np.broadcast_to(worst_of(misfits), (len(bars.row), 161)).min(axis=1)
    assert np.all(still.may_be_inside() | (least > INSIDE))


@given(seed=SEED, kind=KIND)
def test_the_closest_bar_of_each_seat_stays_in_the_running(seed: int, kind: str) -> None:
    """And whatever is inside, or within what may still decide."""
    job, shop = drawn(seed, kind, most=6)
    bars = bars_of(job, rows_of(job, shop), new=True)
    assume(len(bars.row))
    kept = _in_the_running(bars, _coarse(bars, _free(bars, None), COARSE))
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
            combo = Combo(riser, clip if job.clip_on else bar, extender)
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
        own_bar = Combo(riser, None, extender)

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
            if lean == bars.own_lean:
                assert again[1] == lean


def test_a_bar_left_at_zero_stays_there() -> None:
    job, shop = drawn(3, "one-piece")
    rows, lean = rows_of(job, shop), float(job.target.lean_deg)
    uses = ((job, 1.0),)
    found = polished(uses, rows, 1, job.points.seat, 0.0, lean, shop.labour, freed=())
    assert found == (0.0, lean)


@given(seed=SEED, kind=KIND)
def test_what_can_be_set_is_what_some_candidate_is_inside(seed: int, kind: str) -> None:
    """Pins counted as freed, the width left aside."""
    job, shop = drawn(seed, kind)
    rows, uses = rows_of(job, shop), ((job, 1.0),)
    inside = np.zeros(len(rows.new), dtype=bool)
    for made in set_bars(uses, rows, [job.points.seat], shop.labour):
        inside[made.row] |= made.worst <= INSIDE
    for new in (False, True):
        kept = np.flatnonzero(rows.new == new)
        if len(kept):
            found = can_be_set(uses, rows, job.points.seat, kept.tolist())
            assert found.tolist() == inside[kept].tolist()
