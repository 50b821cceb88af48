"""Bars as near to the wish as they go: none that may be closest is left out."""

from __future__ import annotations

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given

from fitprofile.model.parts import Catalogue
from fitprofile.stages.bar_nearest import BEFORE_ANY_PRICE, STEP, NearestBars, Sought
from fitprofile.stages.bar_rows import BarRows
from fitprofile.stages.bar_search import Lead, Rest, pinned_of, set_bars
from fitprofile.stages.bar_setting import GROUPS, SetBars
from fitprofile.stages.job import Job
from fitprofile.stages.posture import Sides
from tests.stages.bars import FREED, KIND, SEED, bars_of, drawn, fine, rows_of, seats_of
from tests.stages.by_force import Combo, Force, as_left, score

ROUNDING = 2e-3
"""Score that grids to 0.02 degrees may lie above a minimum."""


def found(job: Job, shop: Catalogue, *, fits: bool) -> tuple[BarRows, Lead, list[SetBars]]:
    """What is found near under two seats beside which nothing else counts."""
    rows, uses, seats = rows_of(job, shop), ((job, 1.0),), seats_of(job)
    lead = Lead(rows, Rest(np.zeros(2), np.zeros(2)))
    known = tuple(set_bars(uses, rows, seats, shop.labour, lead))
    none = np.zeros(2)
    sought = Sought(none, none, none, fits)
    bars = NearestBars(uses, rows, seats, shop.labour, lead, sought, known)
    made = [*known, *bars.reached()]
    return rows, lead, [*made, *bars.near(bars.least)]


def without_bounds(job: Job) -> Job:
    """So tight that nothing is inside."""
    return evolve(job, tolerances={name: 0.3 * one for name, one in job.tolerances.items()})


@given(seed=SEED, kind=KIND, freed=FREED)
def test_what_a_fine_grid_brings_as_near_as_the_nearest_is_there(
    seed: int, kind: str, freed: tuple[str, ...]
) -> None:
    """Every bar, new and the bike's own, at 161 settings and 41 leans; nothing inside, so none
    is left out for that. What is dearer than what lies as near may be left out."""
    job, shop = drawn(seed, kind)
    job = without_bounds(job)
    rows, _, made = found(job, shop, fits=False)
    every = {(new, pins): bars_of(job, rows, new=new, freed=pins)
             for new, pins in ((False, ()), (False, freed), (True, ()))}  # fmt: skip
    band = job.limits.lean
    leans = None if band is None else np.linspace(*band, 41)
    far = {
        which: fine(bars, leans)[1] + rows.width_far[bars.row]
        for which, bars in every.items()
        if len(bars.row)
    }
    reached = min((one.far + rows.width_far[one.row]).min() for one in made if len(one.row))
    least = min(far[which].min() for which in far if not which[1])
    assert reached <= least + ROUNDING
    dearest = min(
        float(np.min((BEFORE_ANY_PRICE * (rows.undo[one.row] + one.undo) + rows.price[one.row])[
            one.far + rows.width_far[one.row] <= reached + STEP], initial=np.inf))
        for one in made
    )  # fmt: skip
    there = {(int(r), int(s)) for one in made for r, s in zip(one.row, one.seat, strict=True)}
    pinned = len(max(pinned_of(((job, 1.0),)), key=len, default=()))
    for new in (False, True):
        bars, off = every[new, ()], far.get((new, ()), np.zeros(0))
        for index in np.flatnonzero(off <= reached + 0.5 * STEP):
            row, seat = int(bars.row[index]), int(bars.seat[index])
            instead, undo = int(rows.instead[row]), rows.undo[row] + (pinned if new else 0)
            cut = instead >= 0 and rows.undo[row] > rows.undo[instead]
            dear = undo * BEFORE_ANY_PRICE + rows.price[row] > dearest
            assert (row, seat) in there or cut or dear


@given(seed=SEED, kind=KIND)
def test_every_candidate_is_as_far_off_as_it_says(seed: int, kind: str) -> None:
    """By hand: levers set to the wish as the candidate says, the others left where inside."""
    job, shop = drawn(seed, kind, most=2)
    rows, _, made = found(job, shop, fits=False)
    force = Force(job, shop)
    for one in made:
        for index in range(0, len(one.row), 3):
            if one.seat[index]:
                continue
            riser, bar, clip, extender = rows.parts[one.row[index]]
            slid = bool(rows.instead[one.row[index]] >= 0)
            combo = Combo(riser, clip if job.clip_on else bar, extender, slid=slid)
            place = float(one.setting[index]), float(one.lean[index])
            misfits = as_left(force, combo, place, one.freed, GROUPS[one.trued[index]])
            assert one.far[index] == pytest.approx(score(misfits), rel=1e-6, abs=1e-6)
            assert one.worst[index] == pytest.approx(max(map(abs, misfits.values())), abs=1e-6)
            assert len(one.freed) == one.undo[index] or rows.new[one.row[index]]


@given(seed=SEED, kind=KIND)
def test_no_bar_is_cut_for_a_width_that_is_inside(seed: int, kind: str) -> None:
    """Nor a housing's pin freed: a bar slid for nearness alone undoes no more than left alone."""
    job, shop = drawn(seed, kind)
    rows, lead, made = found(job, shop, fits=True)
    for one in made:
        for row, seat in zip(one.row, one.seat, strict=True):
            instead = rows.instead[row]
            if instead >= 0 and rows.undo[row] > rows.undo[instead]:
                assert not lead.inside(one.freed)[instead, seat]


def test_a_lever_that_is_inside_is_offered_set_and_left_alone() -> None:
    """The bike's own bar as it stands, each lever by itself: minutes for each that is turned."""
    job, _ = drawn(4, "one-piece")
    near = float(job.now.forearm_angle_deg) + 1.0
    job = evolve(job, now=evolve(job.now, lever_angle_deg=Sides(near, near)))
    _, _, made = found(job, Catalogue(), fits=False)
    here = [
        (GROUPS[trued], minutes)
        for one in made
        for row, seat, setting, trued, minutes in zip(
            one.row, one.seat, one.setting, one.trued, one.minutes, strict=True
        )
        if (row, seat, setting) == (0, 0, 0.0)
    ]
    turn = Catalogue().labour.perch.value
    assert set(here) == {(group, turn * len(group)) for group in GROUPS}
