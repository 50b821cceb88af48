"""Plans as they are offered: with checks, chance, cost for other uses, and what is missing."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.model.bike import Handlebar
from fitprofile.model.parts import Catalogue, Riser
from fitprofile.model.quantity import Reading
from fitprofile.stages.complete import complete
from fitprofile.stages.offer import Offers, offers_for
from fitprofile.stages.plan import CHEAPEST, CLOSEST, FREE, QUICKEST
from fitprofile.stages.plans import misfits_of
from fitprofile.stages.posture import numbers_on
from fitprofile.stages.spread import Tried
from tests.stages.invented import SHOP, rider
from tests.stages.jobs import bar, job

BODY = complete(rider({}), SHOP)[0]
SHELF = Catalogue(
    risers=(
        Riser(name="dear", height=Reading(30.0), price=Reading(90.0), minutes=Reading(20.0)),
        Riser(name="slow", height=Reading(30.0), price=Reading(40.0), minutes=Reading(60.0)),
    ),
    file="shared/parts.toml",
)
LOW = job(bar(12.7, -27.2), handlebar=Handlebar(roll=(0.0, 0.0)))
"""Bar 30 mm down the raked steering axis."""


class _Sat:
    """What the chance needs of a settled sit-on, without any spread."""

    linkage = LOW.rider
    lean_deg = LOW.target.lean_deg


TRIED = Tried(
    sat=_Sat(),  # type: ignore[arg-type]  # only the two fields are looked at
    wish=LOW.target,
    points=LOW.points,
    rake=LOW.rake,  # type: ignore[arg-type]  # one draw
    lever_angle=LOW.now.lever_angle_deg,
)


def offered(catalogue: Catalogue = SHELF) -> Offers:
    """Offers for the low bar, with a second use that wants the bar 20 mm farther away."""
    target = evolve(LOW.target, navel_to_bar_mm=float(LOW.target.navel_to_bar_mm) + 20.0)
    track = evolve(LOW, target=target)
    return offers_for(LOW, {"track": track}, catalogue, BODY, TRIED, None)


def test_the_chosen_plan_is_the_cheapest_that_fits() -> None:
    """Two risers fit alike: the cheap one is chosen, the quick one is on offer beside it."""
    offers = offered()
    names = {
        one.plan.name: [part.name for part in one.plan.choice.parts()] for one in offers.offers
    }
    assert names == {FREE: [], CHEAPEST: ["slow"], QUICKEST: ["dear"], CLOSEST: ["slow"]}
    assert offers.chosen.plan.name == CHEAPEST
    assert offers.remedies == ()


def test_without_a_fit_the_closest_is_chosen_and_the_missing_part_named() -> None:
    """An empty shelf with a file: free adjustments, and the riser that would do it."""
    offers = offered(Catalogue(file="shared/parts.toml"))
    assert offers.named(CHEAPEST) is None
    assert offers.chosen.plan.name == CLOSEST
    low, high = next(r for r in offers.remedies if r.kind == "riser").figures["height"]
    assert low <= 30.0 <= high


def test_without_a_catalogue_no_part_is_asked_for() -> None:
    """A shop without a file has no parts to miss."""
    assert offered(Catalogue()).remedies == ()


def test_each_plan_carries_its_checks_and_what_it_costs_the_other_use() -> None:
    """The other use\'s deviations are those of its own target on the plan\'s bike."""
    offers = offered()
    for one in offers.offers:
        assert {check.what.partition(".")[0] for check in one.checks} >= {"lock", "pedals"}
        after = numbers_on(LOW.rider, LOW.target.lean_deg, one.plan.points)
        wished = float(LOW.target.navel_to_bar_mm) + 20.0
        expected = (float(after.navel_to_bar_mm) - wished) / LOW.tolerances["navel_to_bar"]
        assert one.others["track"]["navel_to_bar"] == pytest.approx(expected)
    track = evolve(LOW, target=LOW.target)
    assert misfits_of(track, offers.chosen.plan) == pytest.approx(offers.chosen.plan.deviations)


def test_a_sure_job_has_a_chance_of_one_and_a_miss_of_nought() -> None:
    """Without any spread the plan that fits fits, and the one that does not does not."""
    offers = offered()
    assert {one.plan.name: one.plan.chance for one in offers.offers} == {
        FREE: 0.0,
        CHEAPEST: 1.0,
        QUICKEST: 1.0,
        CLOSEST: 1.0,
    }
