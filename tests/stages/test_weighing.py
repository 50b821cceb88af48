"""Plans between several uses: against scipy on a small shelf, and what weights must never do."""

from __future__ import annotations

from itertools import pairwise, product
from typing import Any

import numpy as np
import pytest
from attrs import asdict, evolve
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from fitprofile.model.bike import Allows, Levers
from fitprofile.model.parts import Catalogue, PegPlate, Riser, Seat
from fitprofile.model.quantity import Reading
from fitprofile.stages.bar_nearest import STEP
from fitprofile.stages.job import Job, Stands
from fitprofile.stages.misfit import OUTSIDE, between, score
from fitprofile.stages.plan import CLOSEST, Plan
from fitprofile.stages.plans import misfits_of, plans_for
from fitprofile.stages.posture import Sides
from tests import by_hand
from tests.stages import shelves

R = Reading
NAMES = ("seat", "peg", "clamp", "grip_end", "grip_inner")
NEAR_ENOUGH = STEP + 1e-3
"""Score that a closest plan may lie above the least."""


def a_pair(rng: np.random.Generator, *, one_width: bool = False, **more: Any) -> tuple[Job, Job]:
    """One rider on one bike without hand levers, for two uses that want different things."""
    none = Sides(np.nan, np.nan)
    one = shelves.a_job(rng, **more)
    bike = evolve(one.bike, levers=Levers(), allows=Allows())
    now = evolve(one.now, lever_angle_deg=none, lever_reach_mm=none)
    first = evolve(one, bike=bike, now=now)
    low = evolve(
        first.target,
        navel_to_bar_mm=float(first.target.navel_to_bar_mm) + float(rng.normal(0.0, 60.0)),
        forearm_angle_deg=float(first.target.forearm_angle_deg) + float(rng.normal(0.0, 10.0)),
        bar_width_mm=float(first.target.bar_width_mm)
        + (0.0 if one_width else float(rng.integers(-60, 60))),
        knee_angle_deg=float(first.target.knee_angle_deg) - float(rng.integers(0, 15)),
        lean_deg=float(first.target.lean_deg) + float(rng.integers(0, 12)),
    )
    return first, evolve(first, target=low)


def few(rng: np.random.Generator) -> Catalogue:
    """Two risers, two plates, a seat."""
    cost: dict[str, Any] = {"price": R(50.0), "minutes": R(20.0)}
    return Catalogue(
        risers=tuple(
            Riser(
                name=f"Riser {i}",
                height=R(float(rng.integers(5, 45))),
                pullback=R(float(rng.integers(-5, 40))),
                **cost,
            )
            for i in range(2)
        ),
        peg_plates=tuple(
            PegPlate(name=f"Plates {i}", x=R(float(rng.integers(-20, 20))), z=R(-12.0 * i), **cost)
            for i in range(2)
        ),
        seats=(Seat(name="Seat", z=R(20.0), x=R(0.0), **cost),),
    )


def closest(pair: tuple[Job, Job], share: float, shelf: Catalogue) -> Plan:
    """The closest plan with the first use's share."""
    uses = [(pair[0], share), (pair[1], 1.0 - share)]
    plans = plans_for(tuple(use for use in uses if use[1] > 0.0), shelf)
    return next(plan for plan in plans if plan.name == CLOSEST)


def off_by(job: Job, plan: Plan) -> float:
    """Score of all numbers of one use on a plan's bike."""
    return float(sum(score(value) for value in misfits_of(job, plan).values()))


def plain_score(misfit: float) -> float:
    return misfit**2 + OUTSIDE * max(abs(misfit) - 1.0, 0.0) ** 2


def misfits(job: Job, points: dict[str, Any]) -> list[float]:
    """Misfits of one use on plain points, by the formulas in plain Python."""
    body = {name: float(value) for name, value in asdict(job.rider).items()}
    shown = by_hand.numbers(body, float(job.target.lean_deg), points)
    allowed = job.tolerances
    found = [
        (shown[f"{name}_{unit}"] - float(getattr(job.target, f"{name}_{unit}"))) / allowed[name]
        for name, unit in (
            ("bar_width", "mm"),
            ("navel_to_bar", "mm"),
            ("forearm_angle", "deg"),
            ("grip_tilt", "deg"),
            ("grip_sweep", "deg"),
        )
    ]
    off = shown["knee_angle_deg"] - float(job.target.knee_angle_deg)
    band = job.limits.knee_angle
    room = allowed["knee_angle"]
    if off > 0.0 and band is not None:
        room = max(room, band[1] - float(job.target.knee_angle_deg))
    return [*found, off / room]


def least(pair: tuple[Job, Job], share: float, shelf: Catalogue) -> float:
    """Least weighted score over every combination, each rolled by scipy from nine starts."""
    one = pair[0]
    was = by_hand.as_plain(one.points, NAMES)
    weights = (share, 1.0 - share)
    wishes = [float(job.target.bar_width_mm) for job in pair]
    here = 2.0 * was["grip_end"][1]

    def width_cost(width: float) -> float:
        allowed = one.tolerances["bar_width"]
        return sum(
            w * plain_score((width - f) / allowed) for w, f in zip(weights, wishes, strict=True)
        )

    wide = min(wishes), max(wishes)
    width = float(minimize_scalar(width_cost, bounds=wide, method="bounded").x)
    width = min(width, here)  # nothing on the shelf makes the tube longer
    if all(abs(here - wish) <= one.tolerances["bar_width"] for wish in wishes):
        width = here
    axis = by_hand.along(by_hand.less(was["grip_end"], was["grip_inner"]))
    slide = 0.5 * (width - here) / axis[1]
    totals = []
    for riser, plate, seat in product(
        (None, *shelf.risers), (None, *shelf.peg_plates), (None, *shelf.seats)
    ):

        def cost(roll: float, parts: tuple[Any, Any, Any] = (riser, plate, seat)) -> float:
            points = _built(was, one.rake, slide, roll, *parts)
            return sum(
                weight * sum(plain_score(m) for m in misfits(job, points))
                for job, weight in zip(pair, weights, strict=True)
            )

        band = one.bike.handlebar.roll
        assert band is not None
        edges = np.linspace(*band, 10)
        rolls = [
            float(minimize_scalar(cost, bounds=ends, method="bounded").fun)
            for ends in pairwise(edges)
        ]
        totals.append(min(rolls))
    return min(totals)


def _built(
    was: dict[str, Any], rake: float, slide: float, roll: float, riser: Any, plate: Any, seat: Any
) -> dict[str, Any]:
    points = by_hand.changed(
        was,
        {
            "grip_slide_mm": slide,
            "riser_height_mm": 0.0 if riser is None else riser.height.value,
            "riser_pullback_mm": 0.0 if riser is None else riser.pullback.value,
            "bar_roll_deg": roll,
            "peg_x_mm": 0.0 if plate is None else plate.x.value,
            "peg_z_mm": 0.0 if plate is None else plate.z.value,
        },
        rake,
    )
    up = 0.0 if seat is None else seat.z.value
    return {**points, "seat": by_hand.add(points["seat"], (0.0, 0.0, up))}


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_the_plan_between_is_the_one_that_scipy_finds(seed: int, share: float) -> None:
    """Brute force over the parts, scipy's bounded minimiser over width and roll."""
    rng = np.random.default_rng(seed)
    pair, shelf = a_pair(rng), few(rng)
    plan = closest(pair, share, shelf)
    if plan.inside:
        pytest.fail("uses that far apart leave nothing inside both")
    total = share * off_by(pair[0], plan) + (1.0 - share) * off_by(pair[1], plan)
    best = least(pair, share, shelf)
    assert best - 1e-3 <= total <= best + NEAR_ENOUGH


def standing(rng: np.random.Generator, one: Job, width: float = np.nan) -> Job:
    """The same bike for a rider who stands on it: the grips wanted elsewhere above the pegs."""
    bar, peg = one.points.grip_end, one.points.peg
    place = Stands(
        peg,
        float(bar.z) - float(peg.z) + float(rng.choice((-1.0, 1.0)) * rng.uniform(50.0, 120.0)),
        float(bar.x) - float(peg.x) + float(rng.choice((-1.0, 1.0)) * rng.uniform(50.0, 120.0)),
    )
    none = float("nan")
    wish = evolve(
        one.target,
        bar_width_mm=width,
        navel_to_bar_mm=none,
        grip_tilt_deg=none,
        grip_sweep_deg=none,
        lever_reach_mm=Sides(none, none),
        lean_deg=0.0,
    )
    return evolve(one, target=wish, stands=place)


def least_standing(pair: tuple[Job, Job], share: float, shelf: Catalogue) -> float:
    """Least weighted score of one seated and one standing use over every combination, by scipy."""
    sits, stands = pair
    assert stands.stands is not None
    was, place = by_hand.as_plain(sits.points, NAMES), stands.stands
    allowed = sits.tolerances["navel_to_bar"]
    here, wish = 2.0 * was["grip_end"][1], float(sits.target.bar_width_mm)
    axis = by_hand.along(by_hand.less(was["grip_end"], was["grip_inner"]))
    near = abs(here - wish) <= sits.tolerances["bar_width"]
    slide = 0.0 if near else 0.5 * (min(wish, here) - here) / axis[1]
    band = sits.bike.handlebar.roll
    assert band is not None
    totals = []
    for parts in product((None, *shelf.risers), (None, *shelf.peg_plates), (None, *shelf.seats)):

        def cost(roll: float, parts: tuple[Any, Any, Any] = parts) -> float:
            points = _built(was, sits.rake, slide, roll, *parts)
            end, peg = points["grip_end"], points["peg"]
            stood = (end[2] - peg[2] - place.above_mm, end[0] - peg[0] - place.ahead_mm)
            return share * sum(plain_score(m) for m in misfits(sits, points)) + (1.0 - share) * sum(
                plain_score(off / allowed) for off in stood
            )

        edges = np.linspace(*band, 10)
        totals += [
            float(minimize_scalar(cost, bounds=ends, method="bounded").fun)
            for ends in pairwise(edges)
        ]
    return min(totals)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("share", [0.3, 0.7])
def test_bar_and_pegs_are_sought_together_where_somebody_stands(seed: int, share: float) -> None:
    """Every riser with every plate by force, the roll by scipy: the plan is as near as the best."""
    rng = np.random.default_rng(100 + seed)
    sits = a_pair(rng)[0]
    pair, shelf = (sits, standing(rng, sits)), few(rng)
    plan = closest(pair, share, shelf)
    if plan.inside:
        pytest.fail("a stand that far off leaves nothing inside both")
    total = share * off_by(sits, plan) + (1.0 - share) * off_by(pair[1], plan)
    best = least_standing(pair, share, shelf)
    assert best - 1e-3 <= total <= best + NEAR_ENOUGH


@settings(deadline=None, max_examples=15)
@given(seed=st.integers(0, 10_000), shares=st.tuples(st.floats(0.05, 0.95), st.floats(0.05, 0.95)))
def test_more_weight_never_puts_a_stand_further_off(seed: int, shares: tuple[float, float]) -> None:
    """The same bound as between seated uses, on shelves with bars and seats."""
    low, high = sorted(shares)
    rng = np.random.default_rng(seed)
    sits = a_pair(rng)[0]
    pair, shelf = (sits, standing(rng, sits)), shelves.shelf(rng)
    less, more = (closest(pair, share, shelf) for share in (low, high))
    if less.inside != more.inside:
        return
    worse = off_by(pair[1], less) - off_by(pair[1], more)
    assert (high - low) * worse <= NEAR_ENOUGH * (low + high) + 1e-6


def test_a_stand_with_next_to_no_weight_changes_nothing() -> None:
    """Searched plate by plate, the plan is as near as the one that is searched at once."""
    compared = 0
    for seed in range(12):
        rng = np.random.default_rng(seed)
        one, shelf = a_pair(rng, spread=60.0)[0], shelves.shelf(rng)
        alone = closest((one, one), 1.0, shelf)
        if alone.inside:
            continue
        with_it = closest((one, standing(rng, one)), 1.0 - 1e-9, shelf)
        assert off_by(one, with_it) == pytest.approx(off_by(one, alone), abs=NEAR_ENOUGH)
        compared += 1
    assert compared > 3


@settings(deadline=None, max_examples=25)
@given(seed=st.integers(0, 10_000), shares=st.tuples(st.floats(0.05, 0.95), st.floats(0.05, 0.95)))
def test_more_weight_never_puts_a_use_further_off(seed: int, shares: tuple[float, float]) -> None:
    """Exact minima fall with the weight; a plan is within `NEAR_ENOUGH` of them, which bounds it.

    From w A1 + (1-w) B1 <= w A2 + (1-w) B2 + e and the same at the larger weight v:
    (v - w) (A2 - A1) <= e (2 - v - w). Both wish one width: that is settled by the width wishes
    alone, before anything else, so between two of them the bound is not this tight.
    """
    low, high = sorted(shares)
    rng = np.random.default_rng(seed)
    pair, shelf = a_pair(rng, one_width=True), shelves.shelf(rng)
    less, more = (closest(pair, share, shelf) for share in (low, high))
    if less.inside != more.inside:
        return
    worse = off_by(pair[0], more) - off_by(pair[0], less)
    assert (high - low) * worse <= NEAR_ENOUGH * (2.0 - low - high) + 1e-6


@settings(deadline=None, max_examples=15)
@given(seed=st.integers(0, 10_000), share=st.floats(0.1, 0.9), factor=st.floats(0.01, 500.0))
def test_weights_scaled_together_change_nothing(seed: int, share: float, factor: float) -> None:
    """80 and 20 is 4 and 1."""
    rng = np.random.default_rng(seed)
    one = shelves.a_job(rng, pinned=True, lean_band=True)
    steeper = float(one.target.forearm_angle_deg) + 6.0
    wish = evolve(
        one.target,
        forearm_angle_deg=steeper,
        lever_angle_deg=Sides(steeper - 4.0, steeper + 4.0),
    )
    other = evolve(one, target=wish)
    shelf = shelves.shelf(rng)
    first, second = (
        plans_for(((one, k * share), (other, k * (1.0 - share))), shelf) for k in (1.0, factor)
    )
    assert [plan.choice for plan in first] == [plan.choice for plan in second]
    for before, after in zip(first, second, strict=True):
        assert before.deviations == pytest.approx(after.deviations, abs=1e-6)


@settings(deadline=None, max_examples=15)
@given(seed=st.integers(0, 10_000), weight=st.floats(0.01, 500.0))
def test_one_use_alone_is_the_plan_of_one_use(seed: int, weight: float) -> None:
    """Whatever its weight; and a use twice is that use once."""
    rng = np.random.default_rng(seed)
    one, shelf = shelves.a_job(rng), shelves.shelf(rng)
    alone = plans_for(((one, 1.0),), shelf)
    assert [p.choice for p in plans_for(((one, weight),), shelf)] == [p.choice for p in alone]
    twice = plans_for(((one, 0.3), (one, 0.7)), shelf)
    for plan, other in zip(alone, twice, strict=False):
        if plan.name == CLOSEST:
            assert off_by(one, plan) == pytest.approx(off_by(one, other), abs=NEAR_ENOUGH)


@given(
    wishes=st.lists(st.floats(-40.0, 40.0), min_size=2, max_size=4),
    weights=st.lists(st.floats(0.01, 1.0), min_size=4, max_size=4),
    allowed=st.floats(0.5, 12.0),
)
def test_the_figure_between_wishes_is_the_best_there_is(
    wishes: list[float], weights: list[float], allowed: float
) -> None:
    """Against scipy's bounded minimiser on the weighted score, from end to end of the wishes."""

    def cost(x: float) -> float:
        return sum(
            w * plain_score((x - f) / allowed) for w, f in zip(weights, wishes, strict=False)
        )

    found = float(between(wishes, weights[: len(wishes)], allowed))
    assert min(wishes) - 1e-9 <= found <= max(wishes) + 1e-9
    ends = min(wishes), max(wishes) + 1e-9
    best = float(minimize_scalar(cost, bounds=ends, method="bounded").fun)
    assert cost(found) <= best + 1e-9 * (1.0 + best)


def test_between_one_wish_and_no_wish() -> None:
    """One use has its own way; a use without a wish has no say; none at all is no figure."""
    assert float(between([12.0], [0.3], 5.0)) == 12.0
    assert float(between([12.0, np.nan], [0.1, 0.9], 5.0)) == pytest.approx(12.0)
    assert np.isnan(between([np.nan, np.nan], [0.5, 0.5], 5.0))


def test_between_works_on_arrays() -> None:
    """Two figures at once, each as alone."""
    pair = [np.array([0.0, 10.0]), np.array([4.0, 30.0])]
    both = between(pair, [0.25, 0.75], 3.0)
    for index in range(2):
        alone = between([float(wish[index]) for wish in pair], [0.25, 0.75], 3.0)
        assert both[index] == pytest.approx(float(alone))
