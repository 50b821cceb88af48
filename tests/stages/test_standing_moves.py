"""What gives a bike the standing numbers: exact to the last digit, practical inside its bands."""

from __future__ import annotations

from math import cos, radians, sin
from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Allows, Lever, Levers
from fitprofile.stages import moves
from fitprofile.stages.posture import Sides
from fitprofile.stages.standing_moves import StandingOn, standing_on
from fitprofile.stages.survey import BikePoints
from tests.stages.jobs import RAKE
from tests.stages.test_stance import moved
from tests.stages.test_standing import BIKE, POINTS, made

shifts = st.floats(-150.0, 150.0)
READ = Sides(12.0, 15.0)
FREE = Levers(brake=Lever(perch="free"), clutch=Lever(perch="free"))


def answer(
    points: BikePoints = POINTS, clip_on: bool = False, bike: Any = None, **wish: float
) -> StandingOn:
    """The standing answer on a bike."""
    on = evolve(BIKE, levers=FREE) if bike is None else bike
    figures: dict[str, Any] = dict(wish)
    return standing_on(made(**figures), on, points, RAKE, READ, clip_on=clip_on)


@given(ahead=shifts, up=shifts, width=st.floats(700.0, 860.0), clip_on=st.booleans())
def test_the_exact_changes_bring_every_wish(
    ahead: float, up: float, width: float, clip_on: bool
) -> None:
    """Grips to 1e-9 mm, width, levers to 1e-9 degrees, whatever kind of bar."""
    points, _ = moved(ahead, up)
    found = answer(points, clip_on, bar_width=width, lever_angle=22.0).exact_after
    assert found.grip_above_peg_mm == pytest.approx(720.0, abs=1e-9)
    assert found.grip_ahead_of_peg_mm == pytest.approx(370.0, abs=1e-9)
    assert found.bar_width_mm == pytest.approx(width, abs=1e-9)
    levers = (float(found.lever_angle_deg.brake), float(found.lever_angle_deg.clutch))
    assert levers == pytest.approx((22.0, 22.0), abs=1e-9)


def test_the_riser_by_hand() -> None:
    """Grips 20 too low and 10 too far ahead, rake 25: along and square to the steering axis.

    height = 20 cos 25 + 10 sin 25, pullback = 10 cos 25 - 20 sin 25.
    """
    points, _ = moved(10.0, -20.0)
    bar = answer(points).exact.bar
    c, s = cos(radians(25.0)), sin(radians(25.0))
    assert float(bar.riser_height_mm) == pytest.approx(20.0 * c + 10.0 * s)
    assert float(bar.riser_pullback_mm) == pytest.approx(10.0 * c - 20.0 * s)
    assert bar.bar_roll_deg == 0.0
    assert bar.bar_width_change_mm == 0.0


def test_names_of_the_other_bar_kind_are_not_there() -> None:
    """Clip-ons slide along their tubes; no riser, no roll."""
    points, _ = moved(10.0, -20.0)
    bar = answer(points, clip_on=True).exact.bar
    assert np.isnan(bar.riser_height_mm)
    assert np.isnan(bar.bar_roll_deg)
    risen = answer(points).exact.bar
    assert float(bar.clip_slide_mm) == pytest.approx(float(risen.riser_height_mm))


def test_pedals_go_to_their_height() -> None:
    """Taped 6 above the peg, wished 10 below: 16 down; one that was not taped has no figure."""
    points = evolve(POINTS, others={"brake_pedal": Vec(700.0, 200.0, 396.0)})
    found = answer(points, brake_pedal=-10.0, gear_lever=5.0)
    assert found.exact.brake_pedal_mm == pytest.approx(-16.0)
    assert float(found.exact_after.brake_pedal_mm) == pytest.approx(-10.0)
    assert np.isnan(found.exact.gear_lever_mm)


def test_a_bike_at_the_wish_is_left_alone() -> None:
    """Inside every tolerance: nothing is done, and it says so."""
    points, _ = moved(6.0, -7.0)
    found = answer(points, lever_angle=13.0)
    bar = found.practical.bar
    assert (bar.riser_height_mm, bar.riser_pullback_mm, bar.grip_slide_mm) == (0.0, 0.0, 0.0)
    assert bar.lever_rotation_deg == Sides(0.0, 0.0)
    assert found.missed == ()
    assert {"grip_above_peg", "grip_ahead_of_peg"} <= set(found.leave)


def test_bands_are_kept_and_named() -> None:
    """A riser band of 0 to 30: it stops at 30, pullback is its own; the miss is said."""
    points, _ = moved(0.0, -90.0)
    bike = evolve(BIKE, levers=FREE, allows=Allows(riser=(0.0, 30.0)))
    found = answer(points, bike=bike)
    assert found.practical.bar.riser_height_mm == 30.0
    assert found.at_limit == ("riser_height",)
    assert "grip_above_peg" in found.missed


@given(ahead=shifts, up=shifts, most=st.floats(0.0, 60.0))
def test_no_place_that_the_bike_allows_is_nearer(ahead: float, up: float, most: float) -> None:
    """Against a dense grid of risers inside the bands: the practical place is the nearest."""
    points, _ = moved(ahead, up)
    allows = Allows(riser=(-5.0, most), pullback=(-10.0, 0.5 * most))
    found = answer(points, bike=evolve(BIKE, levers=FREE, allows=allows))
    if not found.at_limit:
        return
    after = found.after
    far = np.hypot(after.grip_above_peg_mm - 720.0, after.grip_ahead_of_peg_mm - 370.0)
    height, back = np.meshgrid(np.linspace(-5.0, most, 41), np.linspace(-10.0, 0.5 * most, 41))
    grid = moves.raise_bar(points, height, back, RAKE).grip_end
    best = np.hypot(np.asarray(grid.z) - 1110.0, np.asarray(grid.x) - 930.0).min()
    assert float(far) <= float(best) + 1e-9


def test_a_pinned_perch_stays() -> None:
    """Its lever misses; the free one comes in line."""
    levers = Levers(brake=Lever(perch="pinned"), clutch=Lever(perch="free"))
    found = answer(bike=evolve(BIKE, levers=levers), lever_angle=25.0)
    assert float(found.practical.bar.lever_rotation_deg.brake) == 0.0
    assert found.missed == ("lever_angle.brake",)
    assert "lever_rotation.brake" in found.at_limit


def test_once_done_nothing_is_left_to_do() -> None:
    """The exact changes applied, then asked again: zero."""
    points, _ = moved(40.0, -70.0)
    first = answer(points, bar_width=770.0, lever_angle=20.0)
    done = moves.done_to(points, first.exact.bar, RAKE)
    levers = first.exact_after.lever_angle_deg
    again = standing_on(
        made(bar_width=770.0, lever_angle=20.0), BIKE, done, RAKE, levers, clip_on=False
    ).exact.bar
    for name in ("bar_width_change_mm", "riser_height_mm", "riser_pullback_mm"):
        assert float(getattr(again, name)) == pytest.approx(0.0, abs=1e-9)
    assert float(again.lever_rotation_deg.brake) == pytest.approx(0.0, abs=1e-9)
