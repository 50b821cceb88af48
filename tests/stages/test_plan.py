"""What a plan is: its parts in the order of work, and its largest deviation."""

from __future__ import annotations

from attrs import evolve, fields

from fitprofile.model.bike import PART_KINDS
from fitprofile.model.parts import Bar, Extender, LeverSet, PegPlate, Riser, Seat
from fitprofile.model.quantity import Reading
from fitprofile.stages.plan import CHEAPEST, CLOSEST, FREE, PLAN_NAMES, QUICKEST, Choice
from tests.stages import plans

R = Reading


def test_parts_are_named_in_the_order_of_work() -> None:
    """Seat, pegs, riser, bar, extender, levers; what is kept is no part."""
    choice = Choice(
        lever_sets=(LeverSet(name="levers", reach_range=(50.0, 70.0)),),
        extender=Extender(name="ends", length=R(10.0)),
        bar=Bar(
            name="bar", width=R(750.0), rise=R(30.0), pullback=R(80.0), backsweep=R(12.0),
            clamp_diameter=R(28.6),
        ),
        riser=Riser(name="riser", height=R(20.0)),
        peg_plate=PegPlate(name="plates", x=R(0.0), z=R(-10.0)),
        seat=Seat(name="seat", z=R(15.0)),
    )  # fmt: skip
    assert [part.name for part in choice.parts()] == [
        "seat",
        "plates",
        "riser",
        "bar",
        "ends",
        "levers",
    ]
    assert list(Choice().parts()) == []


def test_every_kind_of_part_can_be_chosen() -> None:
    """The same names as a bike's file knows them by; of lever sets there may be two."""
    names = {field.name for field in fields(Choice)}
    assert {name.removesuffix("s") for name in names} == set(PART_KINDS)


def test_a_choice_knows_the_set_of_each_side() -> None:
    """One for both, or one for each."""
    brake, clutch, both = (
        LeverSet(name=side, reach_range=(50.0, 70.0), side=side)
        for side in ("brake", "clutch", "both")
    )
    pair = Choice(lever_sets=(brake, clutch))
    assert [pair.levers_of(side) for side in ("brake", "clutch")] == [brake, clutch]
    assert list(pair.parts()) == [brake, clutch]
    assert Choice(lever_sets=(both,)).levers_of("clutch") == both
    assert Choice(lever_sets=(brake,)).levers_of("clutch") is None


def test_plans_are_named_free_adjustments_first() -> None:
    assert PLAN_NAMES == (FREE, CHEAPEST, QUICKEST, CLOSEST)


def test_the_worst_deviation_is_the_largest_in_size() -> None:
    """Too little counts as too much; a plan without any number misses none."""
    plan = plans.plan(plans.job())
    assert plan.worst == 0.0
    assert evolve(plan, deviations={"bar_width": 0.4, "knee_angle": -1.7}).worst == 1.7
