"""What is to be brought about on the next bike: the body's own numbers, the wish's hardware."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve

from fitprofile.model.bike import Lever, Levers
from fitprofile.model.quantity import Reading
from fitprofile.stages.calibrate import Settled
from fitprofile.stages.survey import survey
from fitprofile.stages.targets import arms_sd, lever_reach, lever_reach_sd, target
from tests.stages.invented import BODY, LEVERS, SHOP, bike, cockpit

GIVEN: dict[str, Any] = {"bar_width": 760.0, "navel_to_bar": 480.0, "knee_angle": 90.0}
SURVEYED, _ = survey(bike("own"), SHOP)


def settled(*, on_bike: bool = True, elbow: float = 130.0) -> Settled:
    assert SURVEYED is not None
    return Settled(
        use="road",
        bike="own" if on_bike else None,
        linkage=BODY,
        lean_deg=12.0,
        navel_to_bar_mm=471.0,
        forearm_angle_deg=13.5,
        knee_angle_deg=88.0,
        elbow_angle_deg=elbow,
        points=SURVEYED.points if on_bike else None,
        step=(0.0, 0.0) if on_bike else None,
    )


def test_what_the_body_shows_is_the_target_and_not_what_was_read() -> None:
    """So an error in a guessed joint cancels between the two bikes; width is the wish's."""
    found = target(cockpit(**GIVEN), settled(), bike("own"))
    shown = (found.navel_to_bar_mm, found.forearm_angle_deg, found.knee_angle_deg, found.lean_deg)
    assert shown == (471.0, 13.5, 88.0, 12.0)
    assert found.bar_width_mm == 760.0


def test_a_bar_that_several_sit_ons_wish_is_theirs() -> None:
    """The tilt only where the cockpit wishes one; else the good bike's stays."""
    common = evolve(settled(), bar_width_mm=752.0, grip_tilt_deg=3.0)
    assert target(cockpit(**GIVEN), settled(), None).bar_width_mm == GIVEN["bar_width"]
    assert target(cockpit(**GIVEN), common, None).bar_width_mm == 752.0
    own = target(cockpit(**GIVEN), settled(), None).grip_tilt_deg
    assert target(cockpit(**GIVEN), common, None).grip_tilt_deg == own
    assert target(cockpit(**GIVEN, grip_tilt=1.0), common, None).grip_tilt_deg == 3.0


def test_levers_in_line_equal_the_forearm() -> None:
    """Common practice, no source: the straightedge over grip and blade follows the forearm."""
    found = target(cockpit(**GIVEN), settled(), None).lever_angle_deg
    assert (found.brake, found.clutch) == (13.5, 13.5)


@pytest.mark.parametrize("name", ["lever_angle", "forearm_angle"])
def test_arms_may_wish_their_own_angle(name: str) -> None:
    """Written 9 and 19, the body shows 13.5 for their mean of 14: 8.5 at the left hand's clutch."""
    arms: dict[str, Any] = {name: Reading(14.0, count=2, sides=(9.0, 19.0))}
    uneven = evolve(cockpit(**GIVEN), **arms)
    found = target(uneven, settled(), bike("own"))
    assert (found.lever_angle_deg.brake, found.lever_angle_deg.clutch) == (18.5, 8.5)
    assert found.forearm_angle_deg == 13.5


def test_the_good_bikes_grips_stand_in_for_a_wish_that_names_none() -> None:
    """Tilt and sweep as taped there; the grip of TRUE points up 2.3 and back 14.5 degrees."""
    found = target(cockpit(**GIVEN), settled(), bike("own"))
    assert float(found.grip_tilt_deg) == pytest.approx(
        np.degrees(np.arctan2(5.0, np.hypot(31.0, 120.0))), abs=0.01
    )
    assert float(found.grip_sweep_deg) == pytest.approx(
        np.degrees(np.arctan2(31.0, 120.0)), abs=0.01
    )
    asked = target(cockpit(**GIVEN, grip_tilt=-3.0, grip_sweep=20.0), settled(), bike("own"))
    assert (asked.grip_tilt_deg, asked.grip_sweep_deg) == (-3.0, 20.0)


def test_without_a_bike_grips_are_level_with_the_ground() -> None:
    """Common practice, no source; nobody knows the sweep."""
    found = target(cockpit(**GIVEN), settled(on_bike=False), None)
    assert found.grip_tilt_deg == 0.0
    assert np.isnan(found.grip_sweep_deg)
    assert np.isnan(found.lever_reach_mm.brake)


def test_lever_reach_is_the_wish_or_the_good_bikes_own() -> None:
    """First finger's last crease on the blade: common practice, no source."""
    wished = target(cockpit(**GIVEN, lever_reach=58.0), settled(), bike("own")).lever_reach_mm
    assert (wished.brake, wished.clutch) == (58.0, 58.0)
    own = target(cockpit(**GIVEN), settled(), bike("own")).lever_reach_mm
    assert (own.brake, own.clutch) == (70.0, 64.0)


def test_hands_may_wish_their_own_reach() -> None:
    """Left is the clutch's hand, right the brake's; the mean is nobody's wish."""
    uneven = evolve(cockpit(**GIVEN), lever_reach=Reading(55.0, sides=(52.0, 58.0)))
    wished = target(uneven, settled(), bike("own")).lever_reach_mm
    assert (wished.brake, wished.clutch) == (58.0, 52.0)


def test_a_missing_lever_has_no_reach_and_no_spread() -> None:
    """nan and zero; a figure's own give or take beats the table, repeats share it."""
    brake = Lever(reach=Reading(60.0, sd=3.0, count=9))
    one = bike("own", levers=Levers(brake=brake, clutch=Lever()))
    assert lever_reach(one).brake == 60.0
    assert np.isnan(lever_reach(one).clutch)
    assert lever_reach_sd(one, SHOP).brake == pytest.approx(1.0)
    assert lever_reach_sd(one, SHOP).clutch == 0.0
    assert lever_reach_sd(bike("own", levers=LEVERS), SHOP).brake == 2.0
    helped = evolve(bike("own", levers=LEVERS), tape="helper")
    assert lever_reach_sd(helped, SHOP).brake == 1.5


@pytest.mark.parametrize(
    ("elbow", "reachable"), [(130.0, True), (180.0, True), (184.0, False), (-3.0, False)]
)
def test_beyond_straight_means_out_of_reach(elbow: float, reachable: bool) -> None:
    """Calibration goes on past 180; a sheet shows no such angle."""
    found = target(cockpit(**GIVEN), settled(elbow=elbow), None)
    assert bool(found.reachable) == reachable
    assert np.isfinite(found.elbow_angle_deg) == reachable


def test_half_the_difference_of_the_arms_is_as_sure_as_their_mean() -> None:
    """Two levers, two degrees and three of sitting down again each; arms alike have none."""
    given: dict[str, Any] = {"lever_angle": Reading(14.0, count=2, sides=(9.0, 19.0))}
    uneven = evolve(cockpit(**GIVEN), **given)
    assert arms_sd(uneven, SHOP, "alone") == pytest.approx(np.hypot(2.0, 3.0) / np.sqrt(2.0))
    assert arms_sd(uneven, SHOP, "helper") == pytest.approx(np.hypot(1.5, 3.0) / np.sqrt(2.0))
    photo = evolve(uneven, lever_angle=None, forearm_angle=Reading(14.0, 1.0, 2, sides=(9.0, 19.0)))
    assert arms_sd(photo, SHOP, "alone") == pytest.approx(np.hypot(1.0, 3.0) / np.sqrt(2.0))
    assert arms_sd(cockpit(**GIVEN, lever_angle=14.0), SHOP, "alone") == 0.0
