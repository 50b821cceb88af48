"""The shopping list: parts of several bikes as one, each plan beside, and what is missing."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.errors import Problem
from fitprofile.report.garage import Failed
from fitprofile.report.html import render_html
from fitprofile.report.page import Page
from fitprofile.report.shopping import also_needed, choose, shopping_page, wanted
from tests.report import samples
from tests.report.cards import SPORT, STOOD, TWIN, planned, read_pdf
from tests.report.tables import all_words, row, row_words, table, words

BIKES = (TWIN, STOOD, SPORT)


def page(*bikes: object, plan: str | None = None, failed: tuple[Failed, ...] = ()) -> Page:
    chosen = [choose(planned(one), plan) for one in bikes or BIKES]  # type: ignore[arg-type]
    return shopping_page(samples.RIDER, samples.USE, chosen, failed, "EUR", samples.DATE)


def plain(told: str) -> str:
    return told.replace("\N{NO-BREAK SPACE}", " ")


def test_a_part_for_several_bikes_is_one_line() -> None:
    """Counted, with every bike; sums add up to the plans' own prices."""
    chosen = [choose(planned(one), None) for one in BIKES]
    parts = {one.name: one for one in wanted(chosen)}
    assert parts["Wide bar"].bikes == ("teal", "stood")
    assert (parts["Wide bar"].count, parts["Wide bar"].total) == (2, 181.0)
    assert parts["Levers"].bikes == ("stood",)
    assert sum(one.total for one in parts.values()) == sum(one.plan.price for one in chosen)


def test_parts_stand_in_the_order_of_a_catalogue() -> None:
    """By kind, then by name, whatever bike comes first."""
    chosen = [choose(planned(one), None) for one in BIKES]
    kinds = [one.kind for one in wanted(chosen)]
    assert kinds == ["bar", "extender", "clip_on", "seat", "lever_set"]
    assert [one.name for one in wanted(chosen)] == [one.name for one in wanted(chosen[::-1])]


def test_the_named_plan_is_taken_where_there_is_one() -> None:
    """Else the one that the sheet prints, and that is said."""
    assert choose(planned(), "closest").plan.name == "closest"
    there = choose(planned(SPORT), "cheapest")
    assert (there.plan.name, there.asked) == ("closest", False)
    assert "the one asked for is not there" in all_words(page(SPORT, plan="cheapest").blocks)
    with pytest.raises(ValueError, match="plans"):
        choose(samples.at_home(), None)


def test_the_table_of_parts_ends_with_the_sum() -> None:
    """Count and money."""
    parts = table(page().blocks, "parts")
    bar = plain(row_words(row(parts, " | Wide bar")))
    bikes = "Teal 650 twin (invented) / Stood on a stand (invented)"
    assert bar == f" | Wide bar | bar | {bikes} | 2 | 90.50 EUR | 181 EUR"
    last = plain(row_words(parts.rows[-1]))
    assert last.startswith("All of it | 6 |")
    assert last.endswith("636 EUR")


def test_each_bike_has_its_plan_and_whether_it_is_inside() -> None:
    """With what stays outside."""
    bikes = table(page().blocks, "bought")
    inside = plain(row_words(row(bikes, "Teal")))
    assert inside == "Teal 650 twin (invented) | cheapest | 90.50 EUR | 1 h 34 min | yes"
    assert "no: bar width" in row_words(row(bikes, "Wren"))


def test_what_no_part_mends_and_what_is_for_good_is_said() -> None:
    """Bike by bike."""
    told = plain(all_words(page().blocks))
    assert "Wren 600 sport (invented): no bar-end extenders listed do it: some at" in told
    assert "Teal 650 twin (invented): the pins of throttle housing and switches are freed" in told


def test_a_hose_that_is_too_short_is_needed_too() -> None:
    """It is in no catalogue, so it is said in words with its figures."""
    (line,) = also_needed(choose(planned(), None))
    assert plain(line).startswith("longer than they are, and not on this list: front brake hose +")
    assert plain(line).endswith("(5 mm to spare)")


def test_nothing_to_buy_is_said() -> None:
    """The good bike needs no part."""
    told = all_words(page(samples.GOOD).blocks)
    assert "Nothing to buy" in told
    assert "What cannot be undone" not in told


def test_a_bike_without_a_plan_says_why() -> None:
    """Its problems in its row."""
    failed = Failed(key="crow", name="Crow", problems=(Problem("no seat", "heights.seat"),))
    lost = row_words(row(table(page(failed=(failed,)).blocks, "bought"), "Crow"))
    assert "no plan: " in lost
    assert "no seat" in lost


def test_the_head_sums_it_up() -> None:
    """Use, bikes, parts, money, time."""
    facts = {label: plain(words(value)) for label, value in page().facts}
    assert facts["Use"] == "road"
    assert (facts["Bikes"], facts["Parts"], facts["Sum"]) == ("3", "6", "636 EUR")
    assert facts["Work"] == "5 h 28 min"


def test_it_is_one_page_on_both_papers() -> None:
    """With parts, sums and cautions to be read."""
    for count, told in read_pdf(page()).values():
        assert count == 1
        for wanted_words in (
            "SHOPPING LIST",
            "Wide bar",
            "636 EUR",
            "caliper",
            "licensed mechanic",
        ):
            assert wanted_words in told


def test_names_are_escaped() -> None:
    """A part and a bike that would be markup."""
    nasty = "<script>alert(1)</script>"
    made = planned()
    assert made.offers is not None
    named = evolve(made, bike=evolve(made.bike, name=nasty))
    shown = shopping_page(
        evolve(samples.RIDER, name=nasty), nasty, [choose(named, None)], (), "EUR", samples.DATE
    )
    html = render_html(shown)
    assert "<script" not in html
    assert html.count("&lt;script&gt;") >= 3
