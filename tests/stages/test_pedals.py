"""Pedals between uses: against a fine grid of heights, what they cost, and what stays."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve

from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Rider
from fitprofile.stages.chain import Prepared, prepare, transfer, with_plans
from fitprofile.stages.misfit import OUTSIDE
from fitprofile.stages.offer import Offer, Offers
from fitprofile.stages.pedals import height_of, with_pedals
from fitprofile.stages.standing import PEDAL_TOLERANCE
from tests.stages import invented
from tests.stages.test_stance import HIGH
from tests.stages.test_standing_plans import SHELF, with_pedal
from tests.stages.test_uses import rider

GOOD, TALL = with_pedal(invented.bike("good")), invented.bike("tall", HIGH)
"""The brake pedal of the good bike stands 10 mm below its peg, and follows it."""


def wishing(**uses: float | None) -> Rider:
    """A rider whose standing uses wish the brake pedal at heights."""
    base = rider()
    stands = {
        use: evolve(base.standing["trail"], brake_pedal=None if height is None else Reading(height))
        for use, height in uses.items()
    }
    return evolve(base, standing=stands)


def ready(person: Rider) -> Prepared:
    found, problems = prepare(person, {"good": GOOD, "tall": TALL}, invented.SHOP)
    assert found is not None, problems
    return found


def weighed(person: Rider, **weights: float) -> Offers:
    """Plans for the good bike."""
    prepared = ready(person)
    made, problems = transfer(prepared, GOOD, "road")
    assert made is not None, problems
    offers = with_plans(prepared, made, SHELF, weights=weights).offers
    assert offers is not None
    return offers


def least(wishes: list[tuple[float, float]]) -> float:
    """Height of the least weighted sum of squares, more beyond a tolerance, on a fine grid."""
    at = np.linspace(-60.0, 60.0, 120001)
    total = np.zeros_like(at)
    for wish, share in wishes:
        off = np.abs(at - wish) / PEDAL_TOLERANCE
        total += share * (off * off + OUTSIDE * np.maximum(off - 1.0, 0.0) ** 2)
    return float(at[total.argmin()])


def set_pedals(offer: Offer) -> list[Any]:
    """Steps that set a pedal."""
    return [step for step in offer.plan.steps if step.what in {"brake_pedal", "gear_lever"}]


@pytest.mark.parametrize(("height", "road", "trail"), [(8.0, 60.0, 40.0), (30.0, 80.0, 20.0)])
def test_a_pedal_goes_between_the_wishes_of_the_uses(
    height: float, road: float, trail: float
) -> None:
    """Whoever sits wishes it to follow the peg; every plan sets it alike, whatever it fits."""
    for offer in weighed(wishing(trail=height), road=road, trail=trail).offers:
        (step,) = set_pedals(offer)
        assert step.start == pytest.approx(-10.0, abs=0.5)
        end = least([(step.start, road), (height, trail)])
        assert step.end == pytest.approx(end, abs=0.01)
        assert step.change == pytest.approx(step.end - step.start)
        assert offer.standing["trail"].brake_pedal_mm == step.end
        off = (step.end - height) / PEDAL_TOLERANCE
        assert offer.others["trail"]["brake_pedal"] == pytest.approx(off)
        assert abs(off) <= 1.0 or not offer.plan.inside


def test_it_takes_the_minutes_of_a_pedal_and_is_looked_at() -> None:
    """Ten, once seat and pegs are where they go; the check says by how far, for the eye."""
    named, bare = (
        {one.plan.name: one for one in weighed(wishing(trail=at), road=60.0, trail=40.0).offers}
        for at in (8.0, None)
    )
    assert named.keys() == bare.keys()
    for name, offer in named.items():
        assert offer.plan.minutes == bare[name].plan.minutes + 10.0
        whats = [step.what for step in offer.plan.steps]
        at = whats.index("brake_pedal")
        assert all(what.startswith(("seat", "pegs")) for what in whats[:at])
        assert not any(what.startswith(("seat", "pegs")) for what in whats[at:])
        (check,) = [one for one in offer.checks if one.what == "pedals.brake_pedal"]
        assert check.ok is None
        assert check.value == pytest.approx(set_pedals(offer)[0].change)
        assert "pedals.gear_lever" in {one.what[:17] for one in offer.checks}


@pytest.mark.parametrize("height", [-6.0, -14.0, None])
def test_a_pedal_that_suits_all_is_left_alone(height: float | None) -> None:
    """Inside the tolerance of everybody who stands, or wished by nobody."""
    for offer in weighed(wishing(trail=height), road=60.0, trail=40.0).offers:
        assert set_pedals(offer) == []
        assert offer.standing["trail"].brake_pedal_mm == pytest.approx(-10.0, abs=0.5)


def test_only_uses_with_a_weight_have_a_say_and_all_are_told() -> None:
    """The third wishes it 40 higher, without weight; its misfit is of the pedal as it is set."""
    offers = weighed(wishing(trail=8.0, sand=30.0), road=60.0, trail=40.0)
    for offer in offers.offers:
        (step,) = set_pedals(offer)
        assert step.end == pytest.approx(least([(step.start, 60.0), (8.0, 40.0)]), abs=0.01)
        assert offer.others["sand"]["brake_pedal"] == pytest.approx((step.end - 30.0) / 5.0)
    for offer in weighed(wishing(trail=8.0), road=1.0).offers:
        assert set_pedals(offer) == []


def test_two_who_stand_share_it_with_the_seat() -> None:
    """Three wishes, three weights; one that wishes none has no say."""
    person = wishing(trail=8.0, sand=30.0, mud=None)
    (first, *_) = weighed(person, road=50.0, trail=30.0, sand=20.0, mud=90.0).offers
    (step,) = set_pedals(first)
    wishes = [(step.start, 50.0), (8.0, 30.0), (30.0, 20.0)]
    assert step.end == pytest.approx(least(wishes), abs=0.01)


def test_a_check_is_added_where_pegs_move() -> None:
    """There the pedal has to follow and to be set; both are said."""
    prepared = ready(wishing(trail=8.0))
    (offer, *_) = weighed(wishing(trail=None), road=60.0, trail=40.0).offers
    moved = evolve(
        offer,
        checks=tuple(
            evolve(one, what="pedals.brake_pedal.up") if one.what == "pedals.brake_pedal" else one
            for one in offer.checks
        ),
    )
    made = with_pedals(moved, {"brake_pedal": 0.0}, prepared.standing, SHELF.labour)
    whats = [one.what for one in made.checks]
    assert whats[-1] == "pedals.brake_pedal"
    assert "pedals.brake_pedal.up" in whats
    assert height_of(made, "brake_pedal") == 0.0
    assert np.isnan(height_of(made, "gear_lever"))
