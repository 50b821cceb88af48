"""What cannot be undone, in words."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.model.bike import Bike
from fitprofile.report.for_good import CUT, HOUSING, how_undone, off_each_end, undone
from fitprofile.stages.plan import Choice, Plan
from tests.report.cards import SPORT, TWIN, planned


def chosen(bike: Bike) -> Plan:
    offers = planned(bike).offers
    assert offers is not None
    return offers.chosen.plan


def test_keys_belong_to_the_step_that_does_it() -> None:
    """Pins of housings stand for themselves."""
    assert undone("lever_rotation.brake") == ("free_pin.brake",)
    assert undone("bar_width") == (CUT,)
    assert undone("bar_roll") == ()


@pytest.mark.parametrize("key", [HOUSING, "free_pin.brake", "free_pin.clutch"])
def test_pins_on_another_bar_are_another_matter(key: str) -> None:
    """On the bike's own the housing's pin is freed; on another one holes are looked for first."""
    plan = evolve(chosen(TWIN), choice=Choice())
    assert how_undone(plan, key).startswith("free the ")
    sport = chosen(SPORT)
    assert sport.choice.clip_on is not None
    assert "in the new clip-ons, else a mechanic" in how_undone(sport, key)


def test_what_is_cut_tells_how_much() -> None:
    plan = evolve(chosen(TWIN), choice=Choice(), grip_slide_mm=-18.4)
    assert off_each_end(plan) == "18\xa0mm off each end"
    assert how_undone(plan, CUT).startswith("the bar is cut, 18\xa0mm off each end: mark the ends")
    clips = evolve(chosen(SPORT), grip_slide_mm=-18.4)
    assert how_undone(clips, CUT).startswith("the new clip-ons are cut, ")
