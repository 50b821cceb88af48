"""Diameters that must match, and housings pinned to the bar."""

from __future__ import annotations

import pytest

from fitprofile.model.bike import Handlebar
from fitprofile.model.parts import Bar, ClipOn, Extender, Riser
from fitprofile.model.quantity import Reading
from fitprofile.stages.controls import diameter_checks, pin_checks
from fitprofile.stages.plan import Choice
from fitprofile.stages.posture import Sides
from tests.stages import plans

FAT, THIN = Reading(28.6), Reading(22.2)


def bar(clamp: float = 28.6, controls: float | None = None) -> Bar:
    return Bar(
        name="invented bar",
        width=Reading(800.0),
        rise=Reading(60.0),
        pullback=Reading(90.0),
        backsweep=Reading(12.0),
        clamp_diameter=Reading(clamp),
        bar_diameter=None if controls is None else Reading(controls),
    )


def riser(clamp: float | None = None) -> Riser:
    taken = None if clamp is None else Reading(clamp)
    return Riser(name="invented riser", height=Reading(20.0), clamp_diameter=taken)


@pytest.mark.parametrize(
    ("choice", "fitted", "what", "ok"),
    [
        (Choice(bar=bar(28.6)), FAT, "diameter.clamp", True),
        (Choice(bar=bar(22.2)), FAT, "diameter.clamp", False),
        (Choice(bar=bar(28.6), riser=riser(28.6)), THIN, "diameter.clamp", True),
        (Choice(riser=riser(28.6)), THIN, "diameter.clamp", False),
        (Choice(bar=bar(28.6), riser=riser()), THIN, "diameter.clamp", False),
        (Choice(bar=bar(28.6)), None, "diameter.clamp", None),
        (Choice(bar=bar(28.6, 22.2)), FAT, "diameter.controls", True),
        (Choice(bar=bar(28.6, 25.4)), FAT, "diameter.controls", False),
    ],
)
def test_one_size_fits(choice: Choice, fitted: Reading | None, what: str, ok: bool | None) -> None:
    """The bar against the riser where one is fitted, else against the bike's own clamp."""
    one = plans.job(handlebar=Handlebar(clamp_diameter=fitted, bar_diameter=THIN))
    check = plans.only(diameter_checks(one, plans.plan(one, choice=choice)), what)
    assert check.ok is ok


def test_a_riser_as_the_bike_s_own_needs_no_look() -> None:
    """It takes the bar that is there; and nothing bought means nothing to match."""
    one = plans.job(handlebar=Handlebar(clamp_diameter=FAT))
    for choice in (Choice(), Choice(riser=riser())):
        assert diameter_checks(one, plans.plan(one, choice=choice)) == ()


def test_clip_ons_and_extenders() -> None:
    """Fork tube of 50 against clip-ons for 41; extenders against the new bar's own end."""
    one = plans.job(
        clip_on=True, handlebar=Handlebar(tube_diameter=Reading(50.0), bar_diameter=THIN)
    )
    clip = ClipOn(name="invented", offset=Reading(0.0), tube_diameter=Reading(41.0))
    extender = Extender(name="invented", length=Reading(20.0), bar_diameter=Reading(22.0))
    found = diameter_checks(one, plans.plan(one, choice=Choice(clip_on=clip, extender=extender)))
    assert plans.only(found, "diameter.tube").ok is False
    assert plans.only(found, "diameter.tube").value == pytest.approx(9.0)
    assert plans.only(found, "diameter.extender").ok is True


def test_pins_mind_a_shift_and_a_new_bar_but_no_roll() -> None:
    """Roll turns bar and housing together."""
    one = plans.job(handlebar=Handlebar(pins=True))
    rolled = pin_checks(one, plans.plan(one, roll_deg=6.0))
    assert rolled[0].ok is True
    shifted = pin_checks(one, plans.plan(one, grip_slide_mm=-12.0))
    assert (shifted[0].ok, shifted[0].value) == (False, 12.0)
    assert "never slot the bar tube" in shifted[0].why
    assert pin_checks(one, plans.plan(one, choice=Choice(bar=bar())))[0].ok is None
    turned = pin_checks(one, plans.plan(one, lever_rotation_deg=Sides(8.0, 0.0)))
    assert (turned[0].ok, turned[0].value) == (None, 8.0)


def test_without_pins_there_is_nothing_to_say() -> None:
    """Most bikes."""
    one = plans.job()
    assert pin_checks(one, plans.plan(one, grip_slide_mm=-12.0)) == ()
