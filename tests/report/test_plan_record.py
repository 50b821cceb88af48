"""Plans as JSON: names of the contract, nulls for what is not there."""

from __future__ import annotations

import json

from attrs import evolve

from fitprofile.report.plan_record import plan_records, remedy_records
from fitprofile.stages.offer import Offers
from fitprofile.stages.plan import PLAN_NAMES
from fitprofile.stages.remedy import Remedy
from tests.stages.test_offer import offered

KEYS = {
    *("name", "parts", "steps", "after", "deviations", "inside", "chance"),
    *("price", "minutes", "cannot_undo", "checks"),
}
"""What DESIGN\'s contract names for each plan."""


def test_every_plan_has_the_keys_of_the_contract() -> None:
    """In the order free, cheapest, quickest, closest; steps and checks with theirs."""
    made = plan_records(offered())
    assert [one["name"] for one in made] == list(PLAN_NAMES)
    for one in made:
        assert one.keys() >= KEYS
        assert all(s.keys() >= {"what", "from", "to", "change", "part"} for s in one["steps"])
        assert all(c.keys() >= {"what", "value", "limit", "ok"} for c in one["checks"])
    json.dumps(made, allow_nan=False)


def test_a_number_that_is_not_there_is_null() -> None:
    """An arm that cannot reach shows no forearm: infinite inside, null outside."""
    offers = offered()
    first = offers.offers[0]
    plan = evolve(first.plan, deviations={"forearm_angle": float("inf")})
    made = plan_records(Offers(offers=(evolve(first, plan=plan),)))
    assert made[0]["deviations"] == {"forearm_angle": None}


def test_what_would_mend_it_has_ranges() -> None:
    """Each figure is a pair, both ends mend."""
    remedy = Remedy(kind="riser", figures={"height": (45.0, 50.0)}, mends=("navel_to_bar",))
    assert remedy_records(Offers(offers=(), remedies=(remedy,))) == [
        {"kind": "riser", "figures": {"height": [45.0, 50.0]}, "mends": ["navel_to_bar"]}
    ]
