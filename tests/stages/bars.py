"""Bars of random jobs and shelves laid out under two seats, and what a fine grid makes of them."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.model.parts import Catalogue, Labour
from fitprofile.stages.bar_rows import BarRows, bar_rows
from fitprofile.stages.bar_setting import Bars, Levers, far_of, worst_of
from fitprofile.stages.job import Job
from fitprofile.stages.options import options_of
from tests.stages.shelves import KINDS, a_job, shelf

LABOUR = Labour()

Array = np.ndarray[Any, np.dtype[np.float64]]

FREED = st.sampled_from([(), ("brake",), ("clutch",), ("brake", "clutch")])
SEED = st.integers(0, 2**32 - 1)
KIND = st.sampled_from(sorted(KINDS))
LEANING = st.sampled_from([kind for kind in sorted(KINDS) if "lean" in kind])


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
