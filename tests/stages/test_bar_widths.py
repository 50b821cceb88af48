"""Bars inside at some width between: against every width, setting and lean of a fine grid."""

from __future__ import annotations

import numpy as np
import pytest
from attrs import evolve

from fitprofile.model.parts import Catalogue
from fitprofile.stages.bar_rows import SEEN, BarRows, at_widths
from fitprofile.stages.bar_search import Lead, Rest, set_bars
from fitprofile.stages.bar_setting import Bars, worst_of
from fitprofile.stages.bar_widths import with_widths
from fitprofile.stages.job import Job
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.plan import CHEAPEST, CLOSEST
from fitprofile.stages.plans import plans_for
from tests.stages.bars import LABOUR, drawn, rows_of
from tests.stages.garage import a_demo_case

EDGE = 0.02
"""Tolerances by which a fit has to be inside for the search to have to find it."""


def widened(job: Job, rng: np.random.Generator) -> Job:
    """A wide tolerance of the width, and narrower ones of the rest, so that it comes to that."""
    by = float(rng.choice((0.4, 0.6, 0.8)))
    wide = {name: half * (3.0 if name == "bar_width" else by)
            for name, half in job.tolerances.items()}  # fmt: skip
    return evolve(job, tolerances=wide)


def inside_somewhere(job: Job, rows: BarRows) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """(rows,) bool: bars clearly inside at one of 13 widths, 33 settings and 17 leans."""
    row = np.flatnonzero((rows.instead < 0) & (rows.room[1] - rows.room[0] > SEEN))
    found = np.zeros(len(rows.new), dtype=bool)
    settings = np.linspace(*rows.band, 33)[None, :]
    own = (float(job.target.lean_deg),) * 2
    seat = np.array([[float(part) for part in job.points.seat]])
    for new in (False, True):
        kept = row[rows.new[row] == new]
        if not len(kept):
            continue
        bars = Bars(
            ((job, 1.0),), rows, kept, np.zeros_like(kept), seat, LABOUR, freed=()
        )  # fmt: skip
        low, high = rows.room[:, kept] - rows.slide_mm[kept]
        for share in np.linspace(0.0, 1.0, 13):
            slid = bars.slid((low + share * (high - low))[:, None])
            for lean in np.linspace(*(job.limits.lean or own), 17):
                misfits, _ = slid.shown(settings, np.array([[lean]]))
                found[kept] |= np.broadcast_to(
                    worst_of(misfits), (len(kept), settings.shape[1])
                ).min(axis=1) <= 1.0 - EDGE  # fmt: skip
    return found


def known(job: Job, shop: Catalogue) -> tuple[BarRows, Lead, BarRows]:
    """Rows, what is found of them, and the rows with more widths; every one is to be looked at."""
    rows, uses, seats = rows_of(job, shop), ((job, 1.0),), [job.points.seat]
    lead = Lead(rows, Rest(np.full(1, -np.inf), np.full(1, -np.inf)))
    assert [*set_bars(uses, rows, seats, shop.labour, lead)]
    return rows, lead, with_widths(uses, rows, seats, shop, lead)


@pytest.mark.parametrize("seed", range(40))
def test_whatever_is_inside_at_some_width_is_found(seed: int) -> None:
    """In the demo's garage; each bar that is so at the width it has, at the wish, or between."""
    rng = np.random.default_rng(seed)
    _, job, shop = a_demo_case(seed)
    job = widened(job, rng)
    rows, lead, more = known(job, shop)
    uses, count = ((job, 1.0),), len(rows.new)
    lead.widened(more)
    made = [*set_bars(uses, more, [job.points.seat], shop.labour, lead, count)]
    inside = {int(row) for one in made for row in one.row[one.worst <= INSIDE]}
    assert {index for index in range(count, len(more.new)) if more.instead[index] >= 0} >= inside
    known_inside = lead.inside(())[:, 0]
    at_all = known_inside[:count].copy()
    np.logical_or.at(at_all, more.instead[more.instead >= 0], known_inside[more.instead >= 0])
    assert np.all(at_all | ~inside_somewhere(job, rows))


def test_some_of_these_are_inside_at_a_width_between_alone() -> None:
    """The test above sees what it is for."""
    between = 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        _, job, shop = a_demo_case(seed)
        rows, _, more = known(widened(job, rng), shop)
        between += len(more.new) > len(rows.new)
    assert between >= 3


@pytest.mark.parametrize("seed", range(6))
def test_plans_use_such_a_width_and_say_so(seed: int) -> None:
    """Where nothing else is inside the closest has it too, and the width is inside itself."""
    job, shop = drawn(seed, "with a lean band", most=1)
    made = {plan.name: plan for plan in plans_for(((job, 1.0),), shop)}
    assert (CHEAPEST in made) == made[CLOSEST].inside
    for plan in made.values():
        assert not plan.inside or abs(plan.deviations["bar_width"]) <= INSIDE


def test_a_row_at_another_width_is_the_same_bar_slid() -> None:
    """Its points move along the grip, its minutes and what it undoes are those of sliding."""
    job, shop = drawn(2, "one-piece")
    rows = rows_of(job, shop)
    more = at_widths(
        ((job, 1.0),), rows, shop, np.array([0, 3]), np.array([4.0, -3.0]), np.array([True, False])
    )
    count = len(rows.new)
    assert more.parts[count:] == (rows.parts[0], rows.parts[3])
    assert more.instead[count:].tolist() == [0, 3]
    assert more.slide_mm[count:].tolist() == [4.0, -3.0]
    for index, row in ((count, 0), (count + 1, 3)):
        step = more.table[:3, index] - rows.table[:3, row]
        axis = rows.table[:3, row] - rows.table[3:6, row]
        by = more.slide_mm[index] - rows.slide_mm[row]
        assert step == pytest.approx(by * axis / np.linalg.norm(axis), abs=1e-9)
        assert more.undo[index] >= (more.slide_mm[index] < 0.0)
    assert np.array_equal(more.table[:, :count], rows.table)
