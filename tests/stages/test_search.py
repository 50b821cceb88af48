"""The search of plans: against every combination set by scipy, and what more parts never do."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.model.parts import Catalogue
from fitprofile.model.shop import TOLERANCES
from fitprofile.stages.bar_nearest import STEP
from fitprofile.stages.job import Job
from fitprofile.stages.plan import CHEAPEST, CLOSEST, FREE, QUICKEST, Plan
from fitprofile.stages.plans import plans_for
from fitprofile.stages.search import search
from tests.stages import by_force
from tests.stages.by_force import Combo, Force, Row, combo_of, rows_of
from tests.stages.garage import a_demo_case
from tests.stages.nearest_by_force import every_near, far_of, ways_of
from tests.stages.shelves import KINDS, a_job, cases, shelf

EDGE = 0.01
"""Tolerances from the border within which two computations may judge differently."""

SEEDS = (0, 4, 5, 9, 13, 14, 19, 52, 106, 111, 119, 167)
"""Shelves for every kind of bike, on two of them nothing fits; on most of the others minutes hang
on which lever is left alone and on how the rider leans."""

NONE = (np.inf, np.inf)
"""Cost of a plan where nothing fits."""

KIND_LISTS = ("risers", "bars", "extenders", "clip_ons", "peg_plates", "seats", "lever_sets")


def small(seed: int) -> tuple[Job, Catalogue]:
    """Three risers and bars (or clip-ons), two plates, seats and lever sets."""
    rng = np.random.default_rng(seed)
    job = a_job(rng, **KINDS[sorted(KINDS)[seed % len(KINDS)]])
    return job, shelf(rng, clip_on=job.clip_on, extenders=seed % 2)


def plans(job: Job, shop: Catalogue) -> dict[str, Plan]:
    return {plan.name: plan for plan in plans_for(((job, 1.0),), shop)}


def bounds(force: Force, rows: list[Row]) -> tuple[by_force.Best, by_force.Best]:
    """Best price and minutes for borders a little wider and narrower, the lower and the upper."""
    found = [by_force.best(force, rows, edge) for edge in (1.0 - EDGE, 1.0, 1.0 + EDGE)]
    cheap, quick = [one.cheapest for one in found], [one.quickest for one in found]
    return by_force.Best(min(cheap), min(quick)), by_force.Best(max(cheap), max(quick))


@pytest.mark.parametrize("seed", SEEDS)
def test_cheapest_and_quickest_are_those_of_brute_force(seed: int) -> None:
    """Every combination by itself, its bar set by scipy's SLSQP on formulas written out anew.

    Same price and minutes away from the borders of the tolerances.
    """
    job, shop = small(seed)
    made, force = plans(job, shop), Force(job, shop)
    low, high = bounds(force, rows_of(force))
    for name, figures in ((CHEAPEST, ("price", "minutes")), (QUICKEST, ("minutes", "price"))):
        found = tuple(getattr(made[name], figure) for figure in figures) if name in made else NONE
        assert getattr(low, name) <= found <= getattr(high, name)
        assert name not in made or made[name].inside


def is_closest(job: Job, shop: Catalogue) -> None:
    """The closest plan lies within `STEP` of the least that scipy finds for any combination, and
    none that lies so near undoes less, costs less or, for the same, takes fewer minutes."""
    plan, force = plans(job, shop)[CLOSEST], Force(job, shop)
    rows = rows_of(force)
    every = every_near(force, rows, inside=plan.inside)
    least = min((one.far for _, one in every), default=np.inf)
    assert far_of(plan) <= least + STEP + EDGE
    # What lies on a border may be the nearest, and then less is as near as it.
    wide = every_near(force, rows, inside=plan.inside, edge=1.0 + EDGE)
    most = min((one.far for _, one in wide), default=np.inf) + STEP - EDGE
    keys = len(plan.cannot_undo), plan.price
    for row, one in every:
        if one.far <= most < np.inf:
            assert (one.undo, one.price) >= keys
            if (one.undo, one.price) == keys:
                ways = ways_of(force, row, inside=plan.inside)
                assert all(way.far > most or way.minutes >= plan.minutes for way in ways)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_closest_is_that_of_brute_force(seed: int) -> None:
    is_closest(*small(seed))


@pytest.mark.parametrize("seed", range(12))
def test_the_closest_is_that_of_brute_force_in_the_demo_s_garage(seed: int) -> None:
    """Riders and bikes as in the demo, few of its parts, wider tolerances."""
    _, job, shop = a_demo_case(seed)
    is_closest(job, shop)


def test_most_of_these_shelves_leave_no_doubt() -> None:
    """The bounds above are tight: lower and upper agree on nearly all of the quick ones."""
    sure = 0
    quick = [seed for seed in SEEDS if "lean" not in sorted(KINDS)[seed % len(KINDS)]]
    for seed in quick:
        job, shop = small(seed)
        force = Force(job, shop)
        low, high = bounds(force, rows_of(force))
        sure += low == high
    assert sure >= 0.6 * len(quick)


@given(case=cases(), data=st.data())
def test_the_order_of_the_catalogue_does_not_matter(
    case: tuple[Job, Catalogue], data: st.DataObject
) -> None:
    """Every kind shuffled: the very same plans, to the last digit."""
    job, shop = case
    shuffled: dict[str, Any] = {
        kind: tuple(data.draw(st.permutations(getattr(shop, kind)))) for kind in KIND_LISTS
    }
    mixed = evolve(shop, **shuffled)
    assert repr(plans(job, shop)) == repr(plans(job, mixed))


@given(case=cases())
def test_the_same_input_gives_the_same_plans(case: tuple[Job, Catalogue]) -> None:
    job, shop = case
    assert repr(plans(job, shop)) == repr(plans(job, shop))


@given(case=cases(), data=st.data())
def test_more_parts_never_make_the_best_plan_worse(
    case: tuple[Job, Catalogue], data: st.DataObject
) -> None:
    """What fits with some of the shelf fits with all of it: as cheap, as quick and as close."""
    job, shop = case
    kept: dict[str, Any] = {}
    for kind in KIND_LISTS:
        parts = getattr(shop, kind)
        chosen = data.draw(st.sets(st.sampled_from(range(len(parts))))) if parts else set()
        kept[kind] = tuple(parts[index] for index in sorted(chosen))
    few, many = plans(job, evolve(shop, **kept)), plans(job, shop)
    for name in (CHEAPEST, QUICKEST):
        assert name not in few or name in many
    if CHEAPEST in few:
        assert many[CHEAPEST].price <= few[CHEAPEST].price
        assert many[QUICKEST].minutes <= few[QUICKEST].minutes
    assert many[CLOSEST].inside >= few[CLOSEST].inside
    if many[CLOSEST].inside == few[CLOSEST].inside:
        assert far_of(many[CLOSEST]) <= far_of(few[CLOSEST]) + STEP + 0.001
    assert repr(many[FREE]) == repr(few[FREE])


@given(case=cases(), name=st.sampled_from(sorted(TOLERANCES)), wider=st.floats(1.0, 3.0))
def test_a_wider_tolerance_never_turns_a_fit_into_a_miss(
    case: tuple[Job, Catalogue], name: str, wider: float
) -> None:
    """Nor a cheap fit into a dear one, whichever number it is that may be further off."""
    job, shop = case
    loose = evolve(job, tolerances={**job.tolerances, name: wider * job.tolerances[name]})
    tight, free = plans(job, shop), plans(loose, shop)
    assert (CHEAPEST in free) >= (CHEAPEST in tight)
    if CHEAPEST in tight:
        assert free[CHEAPEST].price <= tight[CHEAPEST].price
    assert free[FREE].inside >= tight[FREE].inside


@given(case=cases())
def test_cheapest_quickest_and_closest_are_each_the_best_at_that(
    case: tuple[Job, Catalogue],
) -> None:
    job, shop = case
    made = plans(job, shop)
    assert (CHEAPEST in made) == (QUICKEST in made) == made[CLOSEST].inside
    if CHEAPEST in made:
        assert made[CHEAPEST].price <= min(made[QUICKEST].price, made[CLOSEST].price)
        assert made[QUICKEST].minutes <= min(made[CHEAPEST].minutes, made[CLOSEST].minutes)
    if made[FREE].inside:
        assert made[CHEAPEST].price == 0.0
        assert made[QUICKEST].minutes <= made[FREE].minutes


@given(case=cases())
def test_free_adjustments_buy_nothing_and_free_no_pin(case: tuple[Job, Catalogue]) -> None:
    """They are what is found with nothing on the shelf."""
    job, shop = case
    free = plans(job, shop)[FREE]
    assert free.price == 0.0
    assert not list(free.choice.parts())
    assert not {"free_pin.brake", "free_pin.clutch"} & set(free.cannot_undo)
    bare = Catalogue(labour=shop.labour)
    assert repr(free) == repr(plans(job, bare)[FREE])


def test_a_search_names_what_it_chose_by_the_options_of_the_bike() -> None:
    """The parts of each choice are those of its plan."""
    job, shop = small(4)
    searched, made = search(((job, 1.0),), shop), plans(job, shop)
    assert searched.found.keys() == made.keys()
    for name, found in searched.found.items():
        riser, bar, clip, extender = searched.rows.parts[found.row]
        combo = Combo(
            riser,
            bar or clip,
            extender,
            searched.options.seats[found.seat],
            searched.options.peg_plates[found.plate],
            searched.options.lever_sets[found.lever_set],
            slid=bool(searched.rows.instead[found.row] >= 0),
        )
        assert combo == combo_of(job, made[name])


@pytest.mark.parametrize("weight", [1.0, 0.2, 7.0])
def test_one_use_alone_may_have_any_weight(weight: float) -> None:
    job, shop = small(14)
    assert search(((job, weight),), shop).found == search(((job, 1.0),), shop).found
