"""The chosen plan as the job of a sheet: steps, what remains, what would mend it, its chance."""

from __future__ import annotations

from attrs import evolve

from fitprofile.report.plan_blocks import (
    plan_chance,
    plan_head,
    plan_job,
    remaining,
    seen_words,
    whose_figures,
)
from fitprofile.report.plan_steps import plan_work
from fitprofile.report.step import Move
from fitprofile.stages.as_planned import as_planned
from fitprofile.stages.offer import Offers
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan
from fitprofile.stages.remedy import Remedy
from tests.report.cards import SPORT, STOOD, TWIN, planned
from tests.report.tables import all_words, row_words, table

NAN = float("nan")


def offers_of(made: Transfer) -> Offers:
    assert made.offers is not None
    return made.offers


def chosen(made: Transfer) -> Plan:
    return offers_of(made).chosen.plan


def plain(told: str) -> str:
    return told.replace("\N{NO-BREAK SPACE}", " ")


def test_whose_prices_and_minutes_they_are_is_said() -> None:
    """The shop's; where its file says nothing of labour, or there is none, guesses."""
    made = planned()
    assert made.offers is not None
    own = evolve(made, offers=evolve(made.offers, guessed=False))
    assert whose_figures(own) == "prices and minutes are the shop's own figures"
    silent = evolve(made, offers=evolve(made.offers, guessed=True))
    assert "minutes of adjustments partly guessed" in whose_figures(silent)
    unread = evolve(made, offers=evolve(made.offers, listed=False))
    assert whose_figures(unread) == "minutes are guesses, no shop's figures"


def test_the_heading_says_what_it_costs() -> None:
    """Name, parts, price, time; the figures are the shop's own."""
    made = planned(STOOD)
    plan = evolve(chosen(made), price=170.0, minutes=144.0)
    many = len(list(plan.choice.parts()))
    assert plain(plan_head(made, plan)) == f"{plan.name} plan: {many} parts, 170 EUR, 2 h 24 min"
    free = offers_of(made).named("free")
    assert free is not None
    assert "nothing to buy" in plan_head(made, free.plan)


def test_the_job_is_a_row_for_each_step_and_a_marked_line_below() -> None:
    """Numbered as in the order of work; what cannot be undone stands right below its step."""
    made = planned(TWIN)
    plan = evolve(chosen(made), cannot_undo=("free_pin.clutch",))
    found = table(plan_job(as_planned(made, plan), plan), "planned")
    steps = plan_work(made, plan)
    numbered = [row for row in found.rows if row.kind != "undo"]
    assert [row_words(row).split(" | ")[1] for row in numbered] == [
        str(number) for number in range(1, len(steps) + 1)
    ]
    at = next(at for at, row in enumerate(found.rows) if row.kind == "undo")
    assert "Cannot be undone: find the pin's hole in the new bar" in row_words(found.rows[at])
    assert "clutch" in row_words(found.rows[at - 1])
    assert {sum(cell.columns for cell in row.cells) for row in found.rows} == {len(found.head)}


def test_parts_stand_with_their_price() -> None:
    """In the words of the catalogue."""
    made = planned(STOOD)
    words = plain(all_words(plan_job(made, chosen(made))))
    for part in chosen(made).choice.parts():
        price = f"{part.price.value:.2f}".removesuffix(".00")
        assert f"{part.name}, {price} EUR" in words


def test_the_exact_answer_stays_for_reference() -> None:
    """In one line below the work."""
    made = planned(TWIN)
    assert "Exact changes, for reference: " in all_words(plan_job(made, chosen(made)))


def test_what_remains_is_said_with_the_part_that_would_mend_it() -> None:
    """By how much, and a riser of such heights would."""
    made = planned(SPORT)
    plan = evolve(chosen(made), name="closest", inside=False, deviations={"navel_to_bar": 2.0})
    mend = Remedy("riser", {"height": (45.0, 50.0), "pullback": (10.0, 10.0)}, ("navel_to_bar",))
    offers = evolve(
        offers_of(made), offers=(evolve(offers_of(made).chosen, plan=plan),), remedies=(mend,)
    )
    first, second = remaining(evolve(made, offers=offers), plan)
    assert first.startswith("navel-to-bar ")
    assert plain(second).startswith("no riser listed does it: one 45 to 50 mm high and 10 mm back")


def test_a_plan_that_is_inside_leaves_nothing() -> None:
    made = planned(STOOD)
    free = offers_of(made).named("free")
    assert free is not None
    assert list(remaining(made, evolve(free.plan, deviations={"bar_width": 0.5}))) == []


def test_the_chance_is_the_plan_s_own() -> None:
    """Where a number stays outside there is none."""
    made = planned(STOOD)
    plan = chosen(made)
    done = as_planned(made, evolve(plan, chance=0.4, deviations={"bar_width": 0.2}))
    assert "with this plan: about 4 in 10." in all_words(plan_chance(done))
    lost = as_planned(made, evolve(plan, deviations={"bar_width": 2.0, "grip_tilt": -3.0}))
    assert "With this plan 2 numbers stay outside tolerance." in all_words(plan_chance(lost))


def test_a_figure_without_a_before_shows_where_it_goes() -> None:
    """No dash, no arrow from nothing."""
    move = Move("roll", "deg", 2.0, NAN, NAN, seen="tilt", seen_unit="deg", start=NAN, end=3.0)
    assert seen_words(move) == "3°"
    assert seen_words(evolve(move, start=1.0)) == "1° → 3°"
