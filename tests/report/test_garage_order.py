"""The order of a comparison: by work, money, time, closeness; ties settled, out of reach last."""

from __future__ import annotations

from itertools import permutations
from math import hypot, inf
from typing import Any

import pytest
from attrs import evolve

from fitprofile.report.garage_order import (
    CLOSENESS,
    MONEY,
    STATED,
    TIME,
    WORK,
    amount,
    by_work,
    compared,
    in_order,
    shown,
)
from fitprofile.stages.outcome import Transfer
from tests.report import samples
from tests.report.cards import SPORT, STOOD, planned


def test_the_amount_is_changes_over_tolerances() -> None:
    """Worked out by hand from the practical changes of one bike."""
    made = samples.straight_bar()
    changes = evolve(
        made.practical.changes,
        bar_width_change_mm=-20.0,
        bar_roll_deg=8.0,
        riser_height_mm=30.0,
        riser_pullback_mm=-40.0,
        peg_move_mm=evolve(made.exact.peg_move_mm, x=0.0, z=10.0),
    )
    # Width 20 of 10, bar 50 (a 30-40-50 triangle) of 10, pegs 10 of 10, roll 8 of 4.
    shown = evolve(made, practical=evolve(made.practical, changes=changes))
    assert amount(shown) == pytest.approx(2.0 + 5.0 + 1.0 + 2.0)


def test_what_fits_comes_first_then_least_work_and_gaps_last() -> None:
    """A bike that nothing brings to the rider is no little work; no answer after everything."""
    rows = by_work([samples.no_answer(), samples.stuck(), samples.one_piece(), samples.at_home()])
    assert rows[0].bike.key == "heron"
    misses = [len(one.practical.missed) for one in rows]
    assert misses == sorted(misses)
    assert amount(samples.stuck()) < amount(samples.one_piece())
    assert amount(samples.no_answer()) == inf


def test_distance_of_a_move_is_its_length() -> None:
    """Pythagoras, not the sum."""
    made = samples.one_piece()
    done = made.practical.changes
    bar = hypot(float(done.riser_height_mm), float(done.riser_pullback_mm))
    still = evolve(done, riser_height_mm=0.0, riser_pullback_mm=0.0)
    less = evolve(made, practical=evolve(made.practical, changes=still))
    assert amount(made) - amount(less) == pytest.approx(bar / made.tolerances["navel_to_bar"])


def priced(key: str, *, inside: bool = True, reached: bool = True, **figures: float) -> Transfer:
    """The sport bike under another name, every plan of it with these figures.

    ``far`` is the worst number, in tolerances.
    """
    made = planned(SPORT)
    assert made.offers is not None
    far = figures.pop("far", 0.5)
    said: dict[str, Any] = dict(figures)
    offers = tuple(
        evolve(
            one,
            plan=evolve(
                one.plan,
                inside=inside,
                deviations={"bar_width": far},
                after=evolve(one.plan.after, reachable=reached),
                **said,
            ),
        )
        for one in made.offers.offers
    )
    bike = evolve(made.bike, key=key, name=key)
    return evolve(made, bike=bike, offers=evolve(made.offers, offers=offers))


BIKES = (
    priced("lark", price=50.0, minutes=90.0, far=0.9),
    priced("crane", price=50.0, minutes=60.0, far=0.8),
    priced("swift", price=80.0, minutes=30.0, far=0.2),
    priced("dunlin", price=5.0, minutes=5.0, far=3.0, inside=False),
    priced("stork", price=1.0, minutes=1.0, far=0.1, reached=False),
    priced("avocet", price=50.0, minutes=60.0, far=0.8),
)


@pytest.mark.parametrize(
    ("sort", "wanted"),
    [
        (MONEY, ("avocet", "crane", "lark", "swift", "dunlin", "stork")),
        (TIME, ("swift", "avocet", "crane", "lark", "dunlin", "stork")),
        (CLOSENESS, ("swift", "avocet", "crane", "lark", "dunlin", "stork")),
    ],
)
def test_inside_first_then_what_was_asked_for_then_the_rest(
    sort: str, wanted: tuple[str, ...]
) -> None:
    """A cheap plan that does not fit is no bargain; ties go by the others, then by name."""
    for given in list(permutations(BIKES))[::97]:
        assert tuple(one.bike.key for one in in_order(given, sort)) == wanted


def test_by_work_hands_out_of_reach_come_last() -> None:
    """Whatever the count of numbers outside."""
    beyond = samples.beyond()
    assert not beyond.practical.after.reachable
    few = evolve(beyond, practical=evolve(beyond.practical, missed=("navel_to_bar",)))
    order = in_order([few, samples.one_piece(), samples.at_home()], WORK)
    assert order[0].bike.key == "heron"
    assert order[-1].bike.key == "beyond"


def test_each_order_compares_its_own_plan() -> None:
    """The cheapest, the quickest, the closest; where there is none, the one of the sheet."""
    made = planned(STOOD)
    assert made.offers is not None
    names = {one.plan.name for one in made.offers.offers}
    chosen = made.offers.chosen.plan.name
    for sort, name in ((MONEY, "cheapest"), (TIME, "quickest"), (CLOSENESS, "closest")):
        plan = compared(made, sort)
        assert plan is not None
        assert plan.name == (name if name in names else chosen)
    assert compared(samples.one_piece()) is None
    assert shown(samples.one_piece()) is samples.one_piece()
    assert shown(made, CLOSENESS).practical.points is made.offers.named("closest").plan.points  # type: ignore[union-attr]


def test_every_order_is_stated() -> None:
    """In words, for heading and help."""
    assert tuple(STATED) == (WORK, MONEY, TIME, CLOSENESS)
