"""Standing uses beside the seated ones: found by the chain, shown on every plan, said in words."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve

from fitprofile.geometry.vectors import Vec
from fitprofile.model.parts import Catalogue, Riser
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import MID_FOOT, Rider, Standing
from fitprofile.stages.chain import Prepared, prepare, transfer, with_plans
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import Sides
from fitprofile.stages.standing import numbers_standing, standing_misfits
from fitprofile.stages.uses import standing_findings, standing_job
from tests.stages import invented
from tests.stages.test_stance import HIGH

SHELF = Catalogue(
    risers=(
        Riser(
            name="Riser 30",
            height=Reading(30.0),
            pullback=Reading(5.0),
            price=Reading(40.0),
            minutes=Reading(20.0),
        ),
    ),
    file="shared/parts.toml",
)
GOOD, TALL = invented.bike("good"), invented.bike("tall", HIGH)
TRAIL = Standing(
    grip_above_peg=Reading(720.0),
    grip_ahead_of_peg=Reading(370.0),
    lean=Reading(30.0),
    lever_angle=Reading(22.0),
    measured_on="tall",
)


def rider(**more: Any) -> Rider:
    """Sits on the one bike, stands on the other."""
    seated = {"road": invented.sat(measured_on="good")} | more.pop("cockpits", {})
    return invented.rider(seated, standing={"trail": TRAIL}, sex="male", **more)


def ready(person: Rider | None = None) -> Prepared:
    bikes = {"good": GOOD, "tall": TALL}
    found, problems = prepare(person or rider(), bikes, invented.SHOP)
    assert found is not None, problems
    return found


def on(bike: Any, person: Rider | None = None) -> Transfer:
    found, problems = transfer(ready(person), bike, "road")
    assert found is not None, problems
    return found


def test_a_standing_use_is_shown_on_every_bike() -> None:
    """On its own bike it is met; on the lower one the grips lack 80 mm and are 30 nearer."""
    assert all(
        abs(v) < 0.1 for k, v in on(TALL).standing["trail"].deviations.items() if "grip" in k
    )
    off = on(GOOD).standing["trail"].deviations
    assert off["grip_above_peg"] == pytest.approx(-8.0, abs=0.05)
    assert off["grip_ahead_of_peg"] == pytest.approx(-3.0, abs=0.05)


def test_every_plan_shows_what_it_gives_standing() -> None:
    """The same numbers as on the plan's own points, and in tolerances beside the other uses."""
    prepared = ready()
    offers = with_plans(prepared, on(GOOD), SHELF).offers
    assert offers is not None
    one = prepared.standing["trail"]
    for offer in offers.offers:
        shown = numbers_standing(one, offer.plan.points, offer.plan.after.lever_angle_deg)
        assert offer.others["trail"] == pytest.approx(standing_misfits(one, shown), abs=1e-9)
        assert offer.standing["trail"].balance_mm == pytest.approx(float(shown.balance_mm))


def test_arms_that_differ_are_each_wished_beside_a_seat() -> None:
    """26 left and 14 right: their mean stands for the forearm, each lever keeps its own."""
    wish = evolve(TRAIL, lever_angle=Reading(20.0, count=2, sides=(26.0, 14.0)))
    prepared = ready(evolve(rider(), standing={"trail": wish}))
    target = standing_job(prepared.standing["trail"], on(GOOD).job).target
    assert target.forearm_angle_deg == 20.0
    assert target.lever_angle_deg == Sides(brake=14.0, clutch=26.0)


def test_pegs_that_move_take_their_pedals_along() -> None:
    """A plan that lifts the pegs by 20 mm leaves the pedal as far above them as it was."""
    from fitprofile.stages.uses import on_plans
    from tests.stages import plans

    prepared = ready()
    pedal = {"brake_pedal": Vec(700.0, 200.0, 380.0)}
    job = plans.job(others=pedal)
    lifted = evolve(job.points, peg=job.points.peg._replace(z=410.0))
    shown = on_plans(prepared.standing["trail"], job, [plans.plan(job, lifted)])
    assert shown[0].brake_pedal_mm == pytest.approx(-10.0)
    assert shown[0].grip_above_peg_mm == pytest.approx(620.0)


def test_a_bike_that_nobody_named_is_a_note() -> None:
    """Pegs and grips are then guessed; the rest works."""
    for named, words in ((None, "no bike is named"), ("gone", "bike 'gone' cannot be used")):
        wish = evolve(TRAIL, measured_on=named)
        person = evolve(rider(), standing={"trail": wish})
        found, problems = prepare(person, {"good": GOOD}, invented.SHOP)
        assert found is not None
        said = [p for p in problems if p.key == "standing.trail"]
        assert len(said) == 1
        assert said[0].text.startswith(words)


def test_the_arch_is_on_the_peg_however_the_rider_sits() -> None:
    """A rider who sits with the middle of the foot on the peg stands no differently."""
    ball = ready().standing["trail"].stander.rider
    sat = evolve(invented.sat(measured_on="good"), foot=MID_FOOT)
    mid = ready(rider(cockpits={"road": sat})).standing["trail"].stander.rider
    assert float(np.asarray(mid.ankle_back_mm)) == pytest.approx(
        float(np.asarray(ball.ankle_back_mm))
    )


def test_no_standing_use_costs_nothing() -> None:
    """No table, no figures anywhere."""
    seated = evolve(rider(), standing={})
    made = with_plans(ready(seated), on(GOOD, seated), SHELF)
    assert made.standing == {}
    assert made.offers is not None
    assert all(not offer.standing and not offer.others for offer in made.offers.offers)


def test_what_a_standing_use_asks_too_much_is_said() -> None:
    """A bar that goes far up asks for the hoses; arms too short are said with how far."""
    low = {**HIGH}
    for name in ("grip_end", "grip_inner", "clamp"):
        x, y, z = HIGH[name]
        low[name] = (x + 120.0, y, z - 200.0)
    texts = " ".join(p.text for p in standing_findings(on(invented.bike("low", low)), "trail"))
    assert "the bar goes up" in texts
    assert "weight leaves the front wheel" in texts
    assert "too far for the arms of a rider who stands in balance at their own lean" in texts
    assert standing_findings(on(TALL), "trail") == ()


def test_weights_of_100_and_0_are_the_one_use_alone() -> None:
    """A use without weight has no say; the shares that were used stand in the transfer."""
    track = invented.sat(measured_on="good", lean=18.0)
    person = rider(cockpits={"track": track})
    prepared, made = ready(person), on(GOOD, person)
    alone, weighed = (
        with_plans(prepared, made, SHELF, weights=weights)
        for weights in (None, {"road": 100.0, "track": 0.0})
    )
    assert alone.offers is not None
    assert weighed.offers is not None
    for one, other in zip(alone.offers.offers, weighed.offers.offers, strict=True):
        assert one.plan.choice == other.plan.choice
        assert one.plan.deviations == other.plan.deviations
    assert weighed.weights == {"road": 1.0}
    assert with_plans(prepared, made, SHELF, weights={"road": 80.0, "track": 20.0}).weights == (
        pytest.approx({"road": 0.8, "track": 0.2})
    )
