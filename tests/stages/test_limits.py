"""Limits: what lies outside what the bike allows, and by how much."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.model.bike import Allows, Handlebar, Lever, Levers
from fitprofile.model.quantity import Reading
from fitprofile.stages.limits import (
    bands_left,
    beyond_bands,
    beyond_usual,
    held,
    limits_of,
    says_nothing,
    served,
)
from fitprofile.stages.moves import PegMove
from fitprofile.stages.posture import Sides
from tests.stages.invented import moved
from tests.stages.jobs import answered, bar, job, limit


def test_limits_are_silent_within_half_a_millimetre() -> None:
    """What no workshop sees is no limit."""
    one = job(bar(20.0, 0.0))
    wanted = float(answered(one).riser_pullback_mm)
    near = evolve(one, bike=evolve(one.bike, allows=Allows(pullback=(0.0, wanted - 0.4))))
    far = evolve(one, bike=evolve(one.bike, allows=Allows(pullback=(0.0, wanted - 0.6))))
    assert not [each for each in limits_of(near, answered(near)) if each.what == "riser_pullback"]
    assert limit(far, "riser_pullback").residual == pytest.approx(0.6, abs=1e-6)


def test_a_bike_that_says_nothing_allows_everything() -> None:
    """Without bands only the bend of the bar can be out of reach."""
    one = job(bar(80.0, -90.0))
    assert {each.what for each in limits_of(one, answered(one))} <= {"grip_tilt", "grip_sweep"}


def test_the_seat_s_band_is_held_against_the_alternative() -> None:
    """Raising the seat instead of lowering the pegs has its own limit."""
    one = job(moved(peg=(0.0, 60.0)), allows=Allows(seat=(-5.0, 10.0)))
    raised = float(answered(one).with_seat_raise.seat_raise_mm)
    assert raised > 20.0
    assert limit(one, "seat_raise").residual == pytest.approx(raised - 10.0)


def test_a_limit_says_which_end_it_is() -> None:
    """The least at the lower end, the most at the upper one."""
    bike = job(allows=Allows(pullback=(-10.0, 30.0))).bike
    more, less = (held(bike, "riser_pullback", value, (-10.0, 30.0)) for value in (60.0, -40.0))
    assert more is not None
    assert less is not None
    assert (more.reason, more.residual) == ("the most pullback this bike takes", 30.0)
    assert (less.reason, less.residual) == ("the least pullback this bike takes", -30.0)
    assert held(bike, "riser_pullback", 30.2, (-10.0, 30.0)) is None
    assert held(bike, "riser_pullback", 99.0, None) is None


def test_work_takes_its_share_of_each_band() -> None:
    """By hand: up 20 of -10 to 50 leaves -30 to 30; nothing done leaves all; too much, the end."""
    levers = Levers(
        brake=Lever(perch="free", rotation=(-10.0, 10.0), reach=Reading(70.0)),
        clutch=Lever(perch="pinned", rotation=(-9.0, 9.0)),
    )
    allows = Allows(riser=(-10.0, 50.0), pullback=(0.0, 30.0), peg_up=(-25.0, 10.0))
    bike = evolve(job(allows=allows, levers=levers).bike, handlebar=Handlebar(roll=(-8.0, 8.0)))
    none = evolve(answered(job()), bar_roll_deg=float("nan"), riser_pullback_mm=float("nan"))
    done = evolve(
        none,
        riser_height_mm=20.0,
        peg_move_mm=PegMove(0.0, 40.0),
        lever_rotation_deg=Sides(-4.0, 12.0),
        lever_reach_change_mm=Sides(-5.0, float("nan")),
    )
    now = bands_left(bike, done)
    assert now.allows.riser == (-30.0, 30.0)
    assert now.allows.pullback == (0.0, 30.0)
    assert now.allows.peg_up == (-35.0, 0.0)
    assert now.allows.peg_ahead is None
    assert now.handlebar.roll == (-8.0, 8.0)
    assert now.levers.brake is not None
    assert now.levers.brake.rotation == (-6.0, 14.0)
    assert now.levers.brake.reach == Reading(65.0)
    asked = evolve(done, riser_height_mm=31.0, lever_rotation_deg=Sides(13.0, 3.0))
    found = {one.what: one for one in beyond_bands(now, asked, 750.0)}
    assert found["riser_height"].residual == pytest.approx(1.0)
    assert "lever_rotation.brake" not in found
    assert found["lever_rotation.clutch"].allowed == (0.0, 0.0)


def test_a_change_serves_its_numbers() -> None:
    """A lever's own by its side."""
    assert served("bar_roll") == ("grip_tilt",)
    assert served("riser_height") == ("navel_to_bar", "forearm_angle")
    assert served("lever_rotation.brake") == ("lever_angle.brake",)
    assert served("lever_reach_change.clutch") == ("lever_reach.clutch",)


def test_beyond_the_usual_only_where_the_file_is_silent() -> None:
    """Usual ranges are common practice; what the file allows is the owner's own word."""
    silent = job().bike
    assert beyond_usual(silent, "riser_pullback", -234.0) == 25.0
    assert beyond_usual(silent, "riser_pullback", 24.0) is None
    assert beyond_usual(silent, "lever_rotation.brake", 20.0) == 12.0
    assert beyond_usual(silent, "lever_reach_change.brake", 200.0) is None
    told = job(allows=Allows(pullback=(-300.0, 0.0))).bike
    assert beyond_usual(told, "riser_pullback", -234.0) is None


def test_a_file_without_any_band_says_nothing() -> None:
    """One band anywhere is something."""
    assert says_nothing(job().bike)
    assert not says_nothing(job(allows=Allows(seat=(0.0, 5.0))).bike)
    assert not says_nothing(job(handlebar=Handlebar(roll=(-2.0, 2.0))).bike)
    assert not says_nothing(job(levers=Levers(brake=Lever(perch="pinned"))).bike)
