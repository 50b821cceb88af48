"""Bars set as well as they go: nothing thrown away too early, what is found against scipy's."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.model.parts import Catalogue
from fitprofile.stages.bar_search import can_be_set, polished, seat_table, set_bars
from fitprofile.stages.bar_setting import Bars, SetBars
from fitprofile.stages.job import Job
from fitprofile.stages.misfit import INSIDE
from tests.stages.bars import KIND, SEED, drawn, rows_of, seats_of
from tests.stages.by_force import Combo, Force, as_left, score


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
            place = float(made.setting[index]), float(made.lean[index])
            misfits = as_left(force, combo, place, made.freed)
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
                ((job, 1.0),), rows, np.array([row]), np.array([0]), seat_table([seat]),
                shop.labour, freed=made.freed,
            )  # fmt: skip
            again = polished(bars, setting, lean)
            was = bars.at(np.array([setting]), np.array([lean]))
            now = bars.at(np.array([again]), np.array([lean]))
            assert now.far[0] <= was.far[0] + 1e-12
            assert now.minutes[0] <= was.minutes[0]
            assert now.undo[0] <= was.undo[0]
            assert now.worst[0] <= INSIDE or was.worst[0] > INSIDE


def test_a_bar_left_at_zero_stays_there() -> None:
    job, shop = drawn(3, "one-piece")
    rows, lean = rows_of(job, shop), float(job.target.lean_deg)
    one, first = np.array([1]), np.array([0])
    table = seat_table([job.points.seat])
    bars = Bars(((job, 1.0),), rows, one, first, table, shop.labour, freed=())
    assert polished(bars, 0.0, lean) == 0.0


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
            found = can_be_set(uses, rows, [job.points.seat], kept.tolist())[:, 0]
            assert found.tolist() == inside[kept].tolist()
