"""A standing use on a terminal."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.model.quantity import Reading
from fitprofile.report.standing_text import standing_garage, standing_text
from fitprofile.report.terminal import rider_text
from tests.report import samples
from tests.report.test_uses import TRAIL, lame, made, on, rider


@pytest.mark.parametrize("width", [40, 80, 120])
def test_sentences_stay_inside_the_terminal(width: int) -> None:
    """Tables may run over where it is narrow; everything else wraps."""
    text = standing_text(made(), "trail", width)
    _, _, after = text.partition("What to change")
    assert max(len(line) for line in after.splitlines()) <= width


def test_it_says_what_to_do_and_whether_the_hands_let_go() -> None:
    """Numbered changes, balance as found and afterwards."""
    text = standing_text(made(), "trail")
    assert text.startswith("Ada (invented) on Teal 650 twin (invented), trail, standing")
    assert "  1. " in text
    assert "Balance (estimated): as found " in text


def test_a_bike_at_the_wish_has_nothing_to_do() -> None:
    """Every number inside: said in words."""
    one = made()
    trail = one.standing["trail"]
    still = evolve(
        trail.practical,
        bar=evolve(
            trail.practical.bar,
            bar_width_change_mm=0.0,
            riser_height_mm=0.0,
            riser_pullback_mm=0.0,
            lever_rotation_deg=evolve(
                trail.practical.bar.lever_rotation_deg, brake=0.0, clutch=0.0
            ),
        ),
        brake_pedal_mm=0.0,
        gear_lever_mm=0.0,
    )
    calm = evolve(one, standing={"trail": evolve(trail, practical=still)})
    assert "nothing: every number is inside its tolerance" in standing_text(calm, "trail")
    assert "nothing to change" in standing_garage([calm], "trail")


def test_several_bikes_are_set_side_by_side() -> None:
    """A row each, then what each asks for."""
    both = [on(bike, rider()) for bike in (samples.TWIN, samples.SPORT)]
    text = standing_garage(both, "trail")
    assert text.count("Teal 650 twin (invented)") == 2
    assert text.count("Wren 600 sport (invented)") == 2
    assert "clip-ons, slide" in text


def test_a_rider_is_shown_with_standing_uses_and_both_sides() -> None:
    """As written: a table for each way of standing, left and right where they differ."""
    text = rider_text(rider(), made().body).replace("\N{NO-BREAK SPACE}", " ")
    assert "standing trail" in text
    assert "735 mm" in text
    arms = evolve(TRAIL, lever_angle=Reading(20.0, count=2, sides=(26.0, 14.0)))
    text = rider_text(rider(standing={"trail": arms}), made().body)
    assert "left 26\N{DEGREE SIGN}, right 14\N{DEGREE SIGN}" in text
    uneven = rider_text(lame().rider, lame().body)
    assert "left 94\N{DEGREE SIGN}, right 74\N{DEGREE SIGN}" in uneven
