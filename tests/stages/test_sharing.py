"""One bike, two riders: settings at each rider's best, marks, and what no swap touches."""

from __future__ import annotations

import math

import pytest
from attrs import evolve

from fitprofile.model.bike import Lever
from fitprofile.model.parts import Labour
from fitprofile.stages.sharing import Setting, Shared, share
from tests.report import samples
from tests.report.cards import SPORT, TWIN, planned, shared
from tests.stages.invented import plain


def setting(made: Shared, what: str) -> Setting:
    return next(one for one in made.settings if one.what == what)


@pytest.mark.parametrize("key", ["teal", "wren", "heron"])
def test_only_free_adjustments_take_part(key: str) -> None:
    """No part, no price, nothing that cannot be undone."""
    made = shared(key)
    for plan in (made.first_plan, made.second_plan):
        assert list(plan.choice.parts()) == []
        assert plan.price == 0.0
        assert plan.cannot_undo == ()


def test_a_width_that_would_free_pins_stays_for_both() -> None:
    """The twin's throttle housing is pinned: its grips are never slid for a swap."""
    made = shared()
    assert made.width_kept
    for plan in (made.first_plan, made.second_plan):
        assert plan.grip_slide_mm == pytest.approx(0.0, abs=1e-9)
        assert float(plan.after.bar_width_mm) == pytest.approx(742.0, abs=1.5)


def test_a_width_that_asks_for_nothing_final_is_a_setting() -> None:
    """Clip-ons whose grips slide outward on a bike that takes it."""
    bike = evolve(SPORT, allows=evolve(SPORT.allows, bar_width=(640.0, 720.0)))
    first, second = (
        evolve(one, job=evolve(one.job, bike=bike))
        for one in (planned(SPORT), planned(SPORT, tall=True))
    )
    made = share(first, second, Labour())
    assert not made.width_kept
    assert setting(made, "bar_width").first > 0.0


def test_both_riders_set_the_same_bike() -> None:
    """Each plan starts from the bike as found, so a setting is what its own plan says."""
    made = shared()
    roll = setting(made, "bar_roll")
    assert (roll.first, roll.second) == (made.first_plan.roll_deg, made.second_plan.roll_deg)
    assert roll.change == roll.second - roll.first
    assert roll.seen_first == float(made.first_plan.after.grip_tilt_deg)
    reach = setting(made, "lever_reach.brake")
    assert reach.seen_second == float(made.second_plan.after.lever_reach_mm.brake)
    assert math.isnan(reach.apart_mm)


def test_rolling_by_the_change_carries_one_rider_s_grips_to_the_other_s() -> None:
    """DESIGN's own formula for a roll about the clamp, written out here."""
    made = shared()
    turn = math.radians(setting(made, "bar_roll").change)
    start, end = (plain(plan.points) for plan in (made.first_plan, made.second_plan))
    clamp = start["clamp"]
    x, z = (start["grip_end"][axis] - clamp[axis] for axis in (0, 2))
    rolled = (x * math.cos(turn) - z * math.sin(turn), x * math.sin(turn) + z * math.cos(turn))
    assert end["grip_end"][0] == pytest.approx(clamp[0] + rolled[0], abs=1e-6)
    assert end["grip_end"][2] == pytest.approx(clamp[2] + rolled[1], abs=1e-6)


def test_marks_are_a_share_of_the_circumference() -> None:
    """Circumference times degrees over 360; the taped diameter, or the usual one, marked so."""
    made = shared()
    roll = setting(made, "bar_roll")
    assert roll.apart_mm == pytest.approx(math.pi * 28.6 * roll.change / 360.0)
    perch = setting(made, "lever_rotation.brake")
    assert perch.apart_mm == pytest.approx(math.pi * 22.2 * perch.change / 360.0)
    assert perch.taped


def test_an_untaped_diameter_is_said_to_be_a_guess() -> None:
    """22.2 mm then."""
    first, second = (
        evolve(one, job=evolve(one.job, bike=evolve(one.job.bike, handlebar=bare)))
        for one in (planned(), planned(tall=True))
        for bare in (evolve(TWIN.handlebar, bar_diameter=None),)
    )
    perch = setting(share(first, second, Labour()), "lever_rotation.brake")
    assert not perch.taped
    assert perch.diameter_mm == pytest.approx(22.2)


@pytest.mark.parametrize("band", [None, (-40.0, 40.0)])
def test_a_turn_beyond_what_is_usual_is_marked_where_no_band_allows_it(
    band: tuple[float, float] | None,
) -> None:
    """A brake lever read 20 degrees off: its perch turns by more than 12 on a bike that says
    nothing, and that is marked; roll is kept to 8 degrees there, which is not."""
    silent = Lever(perch="free", rotation=band)
    turned = []
    for one in (planned(), planned(tall=True)):
        bar = evolve(one.bike.handlebar, roll=None)
        levers = evolve(one.bike.levers, brake=silent)
        bike = evolve(one.job.bike, handlebar=bar, levers=levers)
        now = one.job.now
        read = evolve(now.lever_angle_deg, brake=float(now.lever_angle_deg.brake) - 20.0)
        job = evolve(one.job, bike=bike, now=evolve(now, lever_angle_deg=read))
        turned.append(evolve(one, bike=bike, job=job))
    made = share(turned[0], turned[1], Labour())
    turn, roll = setting(made, "lever_rotation.brake"), setting(made, "bar_roll")
    assert max(abs(turn.first), abs(turn.second)) > 12.0
    assert (turn.usual == 12.0) == (band is None)
    assert max(abs(roll.first), abs(roll.second)) <= 8.0
    assert math.isnan(roll.usual)


def test_what_is_usual_is_not_marked() -> None:
    """The twin's own bands hold every setting."""
    assert all(math.isnan(one.usual) for one in shared().settings)


def test_a_pinned_perch_is_never_freed() -> None:
    """The twin's clutch perch turns with the bar alone."""
    clutch = setting(shared(), "lever_rotation.clutch")
    assert (clutch.first, clutch.second) == (0.0, 0.0)


def test_the_same_rider_twice_changes_nothing() -> None:
    """A swap with oneself."""
    made = share(planned(), planned(), Labour())
    assert [one.change for one in made.settings] == [0.0] * len(made.settings)


def test_back_again_is_the_same_the_other_way() -> None:
    """B to A undoes A to B."""
    there = shared()
    back = share(there.second, there.first, Labour())
    assert [one.what for one in back.settings] == [one.what for one in there.settings]
    for one, other in zip(there.settings, back.settings, strict=True):
        assert other.change == pytest.approx(-one.change)


def test_clip_ons_slide_and_do_not_roll() -> None:
    """Their marks lie along the fork tubes; a lever whose angle nobody read is left out."""
    made = shared("wren")
    names = [one.what for one in made.settings]
    assert names[0] == "clip_slide"
    assert "bar_roll" not in names
    assert "lever_rotation.clutch" not in names
    slide = made.settings[0]
    assert slide.apart_mm == pytest.approx(slide.change)


def test_parts_of_either_plan_stay() -> None:
    """Each once, with who wants it."""
    made = shared()
    assert made.first.offers is not None
    assert made.second.offers is not None
    first, second = (
        {part.name for part in one.offers.chosen.plan.choice.parts()}
        for one in (made.first, made.second)
        if one.offers is not None
    )
    assert {one.name: (one.first, one.second) for one in made.stays} == {
        name: (name in first, name in second) for name in first | second
    }
    assert made.stays


def test_two_bikes_are_no_swap() -> None:
    """A mistake of the programmer."""
    with pytest.raises(ValueError, match="one bike"):
        share(planned(), samples.at_home(), Labour())


def test_checks_belong_to_each_rider_s_setting() -> None:
    """The reservoir tips as far as that rider's roll and perch tip it."""
    made = shared()
    tilts = [
        next(one.value for one in checks if one.what == "reservoir.brake")
        for checks in (made.first_checks, made.second_checks)
    ]
    assert tilts[0] != tilts[1]
