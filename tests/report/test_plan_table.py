"""Plans side by side: one column for what is alike, cost, closeness, checks, other uses."""

from __future__ import annotations

from math import inf
from typing import Any

from attrs import evolve

from fitprofile.report.page import Heading, Table
from fitprofile.report.plan_table import merged, side_by_side
from fitprofile.stages.check import held
from fitprofile.stages.offer import Offers
from fitprofile.stages.outcome import Transfer
from tests.report import samples
from tests.report.cards import SPORT, STOOD, planned
from tests.report.tables import cell_words, row, table


def offers_of(made: Transfer) -> Offers:
    assert made.offers is not None
    return made.offers


def shown(made: Transfer) -> Table:
    return table(side_by_side(made, ()), "plans")


def cells(found: Table, first: str) -> list[str]:
    return [cell_words(c).replace("\N{NO-BREAK SPACE}", " ") for c in row(found, first).cells]


def alike(made: Transfer, **changes: Any) -> Transfer:
    """All four plans, each the free one but for its name."""
    offers = offers_of(made)
    free = offers.offers[0]
    plans = tuple(
        evolve(free, plan=evolve(free.plan, name=name, **changes))
        for name in ("free", "cheapest", "quickest", "closest")
    )
    return evolve(made, offers=evolve(offers, offers=plans))


def test_plans_that_are_alike_share_a_column() -> None:
    """Named once, in their order; figures that do not exist are no difference."""
    found = shown(alike(planned(STOOD)))
    assert found.head == ("", "free = cheapest = quickest = closest (this sheet)")
    kept = merged(offers_of(planned(STOOD)))
    assert [one.plan.name for group in kept for one in group] == [
        one.plan.name for one in offers_of(planned(STOOD)).offers
    ]


def test_what_is_not_there_is_said() -> None:
    """No cheapest plan where nothing comes inside."""
    made = planned(SPORT)
    names = {one.plan.name for one in offers_of(made).offers}
    assert "cheapest" not in names
    heading = side_by_side(made, ())[0]
    assert isinstance(heading, Heading)
    assert heading.remark.startswith("no cheapest and quickest plan")


def test_rows_are_the_plans_own_figures() -> None:
    """Price, time, inside, chance, worst number, what cannot be undone."""
    made = planned(STOOD)
    found = shown(made)
    groups = merged(offers_of(made))
    for at, (offer, *_) in enumerate(groups, start=1):
        plan = offer.plan
        parts = "; ".join(part.name for part in plan.choice.parts())
        assert cells(found, "Parts")[at] == (parts or "none")
        assert f"{plan.price:g}" in cells(found, "Price, work")[at].replace(".50", ".5")
        inside = cells(found, "Inside, worst number")[at]
        assert inside.startswith("yes" if plan.inside else "no: ")
        assert "worst " in inside
        assert (cells(found, "Cannot be undone")[at] == "nothing") == (not plan.cannot_undo)


def test_only_checks_that_did_not_fail_as_found_count_by_name() -> None:
    """The others are counted."""
    old = held("straddle", "both feet flat", 1900.0, 1800.0, "high")
    new = held("hose.clutch", "clutch hose: extra length", 30.0, 10.0, "long")
    made = planned(STOOD)
    offers = offers_of(made)
    first = evolve(offers.offers[0], checks=(old, new))
    made = evolve(made, offers=evolve(offers, offers=(first, *offers.offers[1:])))
    found = table(side_by_side(made, (old,)), "plans")
    assert cells(found, "Checks that fail")[1] == "1: clutch hose: extra length; 1 as found"


def test_a_plan_says_what_it_costs_the_other_uses() -> None:
    """Numbers outside and the worst of them; out of reach has no figure."""
    made = planned(STOOD)
    offers = offers_of(made)
    others = {"track": {"bar_width": 0.5, "navel_to_bar": -3.25}, "town": {"knee_angle": 0.2}}
    first = evolve(offers.offers[0], others=others)
    rest = tuple(evolve(one, others={"track": {"forearm_angle": inf}}) for one in offers.offers[1:])
    found = shown(evolve(made, offers=evolve(offers, offers=(first, *rest))))
    assert cells(found, "Cost for track")[1] == "1 outside; worst navel-to-bar, 3.2 tolerances"
    assert cells(found, "Cost for track")[2] == "1 outside; worst forearm angle, out of reach"
    assert cells(found, "Cost for town")[1] == "inside every tolerance"
    assert cells(found, "Cost for town")[2] == "not worked out"


def test_inside_here_but_not_elsewhere_says_so() -> None:
    """A plan between several uses may leave another use outside."""
    made = alike(planned(STOOD), inside=False, deviations={"bar_width": 0.1})
    assert cells(shown(made), "Inside")[1].startswith("no: another use stays outside")


def test_without_plans_there_is_no_table() -> None:
    """Nothing to compare."""
    assert side_by_side(samples.one_piece(), ()) == ()
