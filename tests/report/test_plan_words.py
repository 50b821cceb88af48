"""Plans in words: kinds, money, time, what misses, what cannot be undone, what would mend it."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.model.parts import PARTS
from fitprofile.report import plan_words as words
from fitprofile.stages.check import held
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Choice, Plan
from fitprofile.stages.posture import Sides
from fitprofile.stages.remedy import LONGEST, Remedy
from tests.report import samples
from tests.report.cards import CATALOGUE, SPORT, STOOD, TWIN, planned


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


def plan_of(made: Transfer) -> Plan:
    assert made.offers is not None
    return made.offers.chosen.plan


def test_every_kind_of_part_has_its_word() -> None:
    """In the order of a catalogue."""
    assert list(words.KINDS) == list(PARTS)
    for kind in PARTS:
        (part,) = CATALOGUE.of(kind)
        assert words.kind_of(part) == kind


def test_an_option_that_takes_a_part_off_is_not_bought() -> None:
    """It costs nothing but minutes."""
    (riser,) = CATALOGUE.risers
    assert words.is_bought(riser)
    off = type(riser)(name="without Block 20", height=riser.height)
    assert not words.is_bought(off)


@pytest.mark.parametrize(
    ("amount", "currency", "shown"),
    [(95.0, "EUR", "95 EUR"), (90.5, "EUR", "90.50 EUR"), (0.0, "", "0"), (12.0, "", "12")],
)
def test_money_has_cents_only_where_there_are_some(
    amount: float, currency: str, shown: str
) -> None:
    """And no currency where the catalogue names none."""
    assert plain(words.money(amount, currency)) == shown


@pytest.mark.parametrize(
    ("minutes", "shown"), [(0.0, "0 min"), (45.0, "45 min"), (60.0, "1 h"), (150.4, "2 h 30 min")]
)
def test_minutes_become_hours(minutes: float, shown: str) -> None:
    """From an hour on."""
    assert plain(words.time_words(minutes)) == shown


@pytest.mark.parametrize(
    ("length", "shown"), [(2.6, "2.5 mm"), (-2.9, "3 mm"), (0.2, "0 mm"), (14.0, "14 mm")]
)
def test_a_scribe_is_as_fine_as_half_a_millimetre(length: float, shown: str) -> None:
    """No sign: the words beside it say the direction."""
    assert plain(words.half_mm(length)) == shown


def test_what_cannot_be_undone_is_said_of_each_thing() -> None:
    """All keys that a plan may carry; one from the future as it is."""
    plan = plan_of(planned())
    every = ("cut.bar", "free_pin.brake", "free_pin.clutch", "free_pin.housing", "drill.bar")
    own = evolve(plan, choice=Choice(), cannot_undo=every)
    told = words.for_good(own)
    assert told == (
        "the ends of the bar are cut",
        "the brake perch's pin is freed in its housing",
        "the clutch perch's pin is freed in its housing",
        "the pins of throttle housing and switches are freed",
        "drill.bar",
    )


def test_misses_say_by_how_much_and_which_way() -> None:
    """Bar width wished 800, the sport bike's after is narrower; the arms do not reach."""
    made = planned(SPORT)
    plan = plan_of(made)
    short = round(800.0 - float(plan.after.bar_width_mm))
    told = [plain(one) for one in words.misses(made, plan)]
    assert f"bar width {short} mm too narrow" in told
    assert "forearm angle out of reach" in told
    assert words.misses(planned(), plan_of(planned())) == ()


def test_a_lever_is_judged_against_the_forearm_as_it_then_is() -> None:
    """Not against the angle that was wished."""
    made = planned(samples.GOOD)
    after = plan_of(made).after
    low = float(after.forearm_angle_deg) + 5.0
    off = evolve(
        plan_of(made),
        after=evolve(after, lever_angle_deg=evolve(after.lever_angle_deg, brake=low)),
        deviations={"lever_angle.brake": 5.0 / 3.0},
    )
    assert words.off_by(made, off, "lever_angle.brake") == pytest.approx(5.0)
    assert words.misses(made, off) == ("brake lever angle 5° below the forearm",)


def test_a_lever_is_judged_against_its_own_arm() -> None:
    """In line with the mean of both, and so above an arm that is wished 6 degrees steeper."""
    made = planned(samples.GOOD)
    mean = float(made.target.forearm_angle_deg)
    wish = evolve(made.target, lever_angle_deg=Sides(mean + 6.0, mean - 6.0))
    after = plan_of(made).after
    forearm = float(after.forearm_angle_deg)
    off = evolve(
        plan_of(made),
        after=evolve(after, lever_angle_deg=Sides(forearm, forearm - 6.0)),
        deviations={"lever_angle.brake": -2.0, "lever_angle.clutch": 0.0},
    )
    apart = evolve(made, target=wish)
    assert words.misses(apart, off) == ("brake lever angle 6° above the forearm",)


def test_a_missing_part_is_described_by_its_figures() -> None:
    """A range, what is nothing left out, a direction in place of a sign."""
    riser = Remedy("riser", {"height": (45.0, 50.0), "pullback": (0.0, 0.0)}, ("navel_to_bar",))
    assert plain(words.remedy_words(riser)) == (
        "no riser listed does it: one 45 to 50 mm high would (navel-to-bar)"
    )
    plates = Remedy("peg_plate", {"z": (-60.0, -21.0), "x": (5.0, 5.0)}, ("knee_angle",))
    assert plain(words.remedy_words(plates)) == (
        "no peg plates listed do it: some 21 to 60 mm down and 5 mm ahead would (knee angle)"
    )
    ends = Remedy("extender", {"length": (25.0, LONGEST)}, ("bar_width",))
    assert plain(words.remedy_words(ends)).endswith("some at least 25 mm long would (bar width)")
    ahead = Remedy("riser", {"pullback": (-20.0, -20.0)}, ("lever_angle.brake",))
    assert plain(words.remedy_words(ahead)).endswith("one 20 mm ahead would (brake lever angle)")


def test_what_nothing_mends_is_said_too() -> None:
    """After the parts that would; nothing at all where plans were not asked for."""
    lost = [plain(one) for one in words.lost_words(planned(SPORT))]
    assert any(one.startswith("no bar-end extenders listed do it") for one in lost)
    assert lost[-1] == "no single part that this bike takes mends forearm angle"
    assert list(words.lost_words(samples.at_home())) == []
    assert list(words.lost_words(planned(TWIN))) == []


def test_a_failing_check_has_its_figure_and_limit() -> None:
    """Finer where both would print alike."""
    room = held("lock.fist.tank", "fist to tank", 12.0, 20.0, "", least=True)
    assert plain(words.is_off_words(room)) == "fist to tank: 12 mm, at least 20 mm"
    near = held("perch.brake", "its pin", 3.2, 3.0, "", unit="deg")
    assert words.is_off_words(near) == "its pin: 3.2°, at most 3.0°"


def test_a_lean_that_is_not_the_rider_s_own_is_said() -> None:
    """By whole degrees; the rider's own, or none at all, is not spoken of."""
    made = planned(TWIN)
    plan, own = plan_of(made), float(made.target.lean_deg)
    for lean, said in (
        (own, ""),
        (own + 0.01, ""),
        (float("nan"), ""),
        (own - 5.0, f"leaning {own - 5.0:.0f}° in place of {own:.0f}°"),
    ):
        one = evolve(plan, after=evolve(plan.after, lean_deg=lean))
        assert words.lean_words(made, one).replace("\N{MINUS SIGN}", "-") == said


def test_another_plan_that_does_it_is_named_in_place_of_a_missing_part() -> None:
    made = planned(STOOD)
    offers = made.offers
    assert offers is not None
    free = offers.named("free")
    assert free is not None
    inside = evolve(free.plan, name="cheapest", inside=True, deviations={"bar_width": 0.5})
    first, *others = offers.offers
    offers = evolve(offers, offers=(first, evolve(first, plan=inside), *others))
    made = evolve(made, offers=offers)
    outside = evolve(free.plan, inside=False, deviations={"bar_width": 4.0})
    assert list(words.mending(made, outside)) == [
        f"the {inside.name} plan brings every number inside"
    ]
    none = evolve(made, offers=evolve(offers, offers=(), remedies=()))
    assert list(words.mending(none, outside)) == ["the closest plan leaves less outside"]


def test_plans_are_alike_by_what_is_printed() -> None:
    """Not by name, nor by what no tape shows."""
    plan = plan_of(planned(STOOD))
    assert words.alike(plan, evolve(plan, name="other", minutes=plan.minutes + 0.001))
    assert not words.alike(plan, evolve(plan, steps=plan.steps[:-1]))
    assert not words.alike(plan, None)
