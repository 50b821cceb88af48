"""Grids over settings and leans: nothing is thrown away that a finer grid finds."""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st

from fitprofile.stages.bar_grids import COARSE, ROUGH, coarse_of, free_of
from fitprofile.stages.bar_setting import Levers, worst_of
from fitprofile.stages.misfit import INSIDE
from tests.stages.bars import FREED, KIND, LEANING, SEED, bars_of, drawn, fine, rows_of


@given(seed=SEED, kind=KIND, new=st.booleans(), freed=FREED)
def test_no_bar_is_thrown_away_that_a_fine_grid_finds_inside(
    seed: int, kind: str, new: bool, freed: Levers
) -> None:
    """In the rider's own lean: nor does any fall below what the coarse grid says it cannot."""
    job, shop = drawn(seed, kind)
    bars = bars_of(job, rows_of(job, shop), new=new, freed=freed)
    assume(len(bars.row))
    coarse = coarse_of(bars, free_of(bars, None), COARSE)
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
    coarse = coarse_of(bars, free_of(bars, band), count)
    worst, _ = fine(bars, np.linspace(*band, 41))
    assert np.all(coarse.may_be_inside() | (worst > INSIDE))
    still = coarse_of(bars, free_of(bars, band, still=True), COARSE)
    misfits, _ = bars.shown(np.zeros((1, 1)), np.linspace(*band, 161)[None, :])
    least = np.broadcast_to(worst_of(misfits), (len(bars.row), 161)).min(axis=1)
    assert np.all(still.may_be_inside() | (least > INSIDE))
