"""Parts tried before there are any: what fits is what the search finds with them on the shelf."""

from __future__ import annotations

import numpy as np
import pytest
from attrs import evolve

from fitprofile.geometry.vectors import Vec
from fitprofile.model.parts import Bar, Catalogue, Riser
from fitprofile.model.quantity import Reading
from fitprofile.stages.job import Job
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.placement import bar_as_drawn
from fitprofile.stages.plan import CLOSEST, Plan
from fitprofile.stages.plans import plans_for
from fitprofile.stages.tried_parts import BAR_NUMBERS, CLAMP, bars_fit, risers_fit, seats_fit
from tests.stages.shelves import KINDS, a_job

R = Reading
LOOSE = 1e6


def closest(job: Job, shop: Catalogue) -> Plan:
    return next(plan for plan in plans_for(((job, 1.0),), shop) if plan.name == CLOSEST)


def bare(seed: int) -> tuple[Job, Plan]:
    """A job of which the bar's numbers alone count, and its closest plan without a shelf.

    No width is wished, so that none makes room for them.
    """
    job = a_job(np.random.default_rng(seed), **KINDS["with a lean band"], spread=40.0)
    kept = {name: half if name in BAR_NUMBERS else LOOSE for name, half in job.tolerances.items()}
    wish = evolve(job.target, bar_width_mm=np.nan)
    job = evolve(job, tolerances=kept, target=wish)
    return job, closest(job, Catalogue())


@pytest.mark.parametrize("seed", range(8))
def test_risers_that_fit_are_those_that_the_search_is_inside_with(seed: int) -> None:
    job, plan = bare(seed)
    if plan.inside:
        return
    grid = [(h, b) for h in (-20.0, 0.0, 20.0, 40.0, 60.0) for b in (-10.0, 10.0, 30.0)]
    for (height, back), fits in zip(grid, risers_fit(job, plan, grid), strict=True):
        part = Riser(name="one", height=R(height), pullback=R(back))
        assert closest(job, Catalogue(risers=(part,))).inside == fits


@pytest.mark.parametrize("seed", range(8))
def test_bars_that_fit_are_those_that_the_search_is_inside_with(seed: int) -> None:
    job, plan = bare(seed)
    if plan.inside:
        return
    shape = bar_as_drawn(job.points)
    shape = shape._replace(tilt=1.0, sweep=float(job.target.grip_sweep_deg))
    grid = [(rise, 100.0) for rise in (0.0, 20.0, 40.0, 60.0, 80.0)]
    for (rise, back), fits in zip(grid, bars_fit(job, plan, shape, grid), strict=True):
        part = Bar(
            name="one",
            width=R(2.0 * float(shape.out)),
            rise=R(rise),
            pullback=R(back),
            backsweep=R(float(shape.sweep)),
            upsweep=R(float(shape.tilt)),
            clamp_diameter=job.bike.handlebar.clamp_diameter or R(CLAMP),
        )
        assert closest(job, Catalogue(bars=(part,))).inside == fits


def test_a_seat_fits_while_the_bar_can_still_be_set_to_it() -> None:
    """The bike as wished under its own seat; 200 mm higher nothing brings the bar inside."""
    for seed in range(200):
        job, plan = bare(seed)
        if plan.inside:
            break
    seat = plan.points.seat
    seats = [seat.plus(Vec(0.0, 0.0, up)) for up in (0.0, 200.0)]
    assert all(abs(off) <= INSIDE for off in plan.deviations.values())
    assert seats_fit(job, plan, seats).tolist() == [True, False]
