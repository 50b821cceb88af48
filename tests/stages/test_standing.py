"""Standing numbers: against the peg by hand, hip and balance against a pose built anew."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Standing
from fitprofile.model.shop import TOLERANCES
from fitprofile.stages.posture import Sides
from fitprofile.stages.standing import (
    IN_BALANCE,
    PEDAL_TOLERANCE,
    StandingNumbers,
    Stood,
    numbers_on_each,
    numbers_standing,
    standing_misfits,
    stood,
)
from fitprofile.stages.survey import BikePoints
from tests.stages import invented, stands
from tests.stages.jobs import points_of
from tests.stages.test_stance import HIGH, moved

POINTS = points_of(HIGH)
BIKE = invented.bike("heron", HIGH)
ON_IT = {"grip_above_peg": 720.0, "grip_ahead_of_peg": 370.0, "lean": 30.0}
"""Where the high bike's grips are, as its rider would write it."""


def wish(**figures: float) -> Standing:
    """A standing use in plain figures."""
    read: dict[str, Any] = {name: Reading(value) for name, value in (ON_IT | figures).items()}
    return Standing(**read)


def made(reference: bool = True, **figures: float) -> Stood:
    """The invented man, standing as wished."""
    found: Stood = made_with_problems(reference, **figures)[0]
    return found


def made_with_problems(reference: bool = True, **figures: float) -> Any:
    rider = invented.rider(
        {"road": invented.sat()}, sex="male", standing={"trail": wish(**figures)}
    )
    on = (BIKE, POINTS) if reference else None
    return stood(rider, "trail", stands.WHOLE, invented.BODY, on, TOLERANCES)


def test_the_grips_are_counted_from_the_top_of_the_peg() -> None:
    """By hand: peg at 560, 390; grips at 930, 1110 and 400 to each side; pedals 12 down, 30 up."""
    points = evolve(
        POINTS,
        others={"brake_pedal": Vec(700.0, 200.0, 378.0), "gear_lever": Vec(700.0, 200.0, 420.0)},
    )
    shown = numbers_standing(made(), points, Sides(12.0, 13.0))
    assert float(shown.grip_above_peg_mm) == pytest.approx(720.0)
    assert float(shown.grip_ahead_of_peg_mm) == pytest.approx(370.0)
    assert float(shown.bar_width_mm) == pytest.approx(800.0)
    assert float(shown.brake_pedal_mm) == pytest.approx(-12.0)
    assert float(shown.gear_lever_mm) == pytest.approx(30.0)
    assert shown.lever_angle_deg == Sides(12.0, 13.0)
    assert float(shown.lean_deg) == 30.0


def test_hip_to_grip_and_forearm_are_those_of_the_balanced_pose() -> None:
    """Both from the pose that scipy balances in plain Python."""
    from tests import by_hand

    hip = stands.balanced_hip(HIGH)
    man = stands.body()
    shown = numbers_standing(made(), POINTS)
    assert float(shown.hip_to_grip_mm) == pytest.approx(stands.to_grips(hip, HIGH), abs=1e-6)
    seat = (hip[0], 0.0, hip[2] - man["hip_height_mm"])
    forearm = by_hand.forearm_angle(man, 30.0, {**HIGH, "seat": seat})
    assert float(shown.forearm_angle_deg) == pytest.approx(forearm, abs=1e-6)


def test_a_rider_balances_in_the_own_stand() -> None:
    """On the bike it was measured on: in balance, the wish met, whatever hip-to-grip was read."""
    own = float(numbers_standing(made(), POINTS).hip_to_grip_mm)
    cases: tuple[dict[str, Any], ...] = (
        {},
        {"hip_to_grip": own + 15.0},
        {"hip_to_grip": own - 20.0},
    )
    for figures in cases:
        one = made(bar_width=800.0, **figures)
        shown = numbers_standing(one, POINTS)
        assert float(shown.balance_mm) == pytest.approx(0.0, abs=1e-6)
        assert float(shown.hip_to_grip_mm) == pytest.approx(
            figures.get("hip_to_grip", own), abs=1e-6
        )
        assert all(abs(value) < 1e-9 for value in standing_misfits(one, shown).values())


def test_a_measured_hip_to_grip_takes_the_models_error_off() -> None:
    """15 mm more than balance foretells: the model's own error, by scipy's pose; off everywhere."""
    own = float(numbers_standing(made(), POINTS).hip_to_grip_mm)
    one = made(hip_to_grip=own + 15.0)
    assert one.own_ahead_mm < 0.0
    held = numbers_standing(one, moved(30.0, 10.0)[0])
    guessed = numbers_standing(made(), moved(30.0, 10.0)[0])
    assert float(held.hip_to_grip_mm - guessed.hip_to_grip_mm) == pytest.approx(15.0, abs=3.0)


@given(back=st.floats(5.0, 80.0))
def test_a_bar_nearer_the_rider_pushes_the_body_behind_the_pegs(back: float) -> None:
    """The hip keeps its distance to the grips, so the centre of mass follows them, mostly."""
    one = made()
    near, far = (numbers_standing(one, moved(by, 0.0)[0]) for by in (-back, back))
    assert -1.1 * back < float(near.balance_mm) < -0.3 * back
    assert 0.3 * back < float(far.balance_mm) < 1.1 * back


def test_deviations_are_in_tolerances() -> None:
    """15 mm higher is 1.5 of 10; a pedal 10 above its height 2 of 5; a lever 6 off 2 of 3."""
    one = made(brake_pedal=-10.0, lever_angle=20.0, bar_width=780.0)
    points = evolve(moved(0.0, 15.0)[0], others={"brake_pedal": Vec(700.0, 200.0, 390.0)})
    off = standing_misfits(one, numbers_standing(one, points, Sides(26.0, np.nan)))
    assert off == pytest.approx(
        {
            "grip_above_peg": 1.5,
            "grip_ahead_of_peg": 0.0,
            "bar_width": 2.0,
            "brake_pedal": 10.0 / PEDAL_TOLERANCE,
            "lever_angle.brake": 2.0,
        }
    )


def test_without_a_lever_angle_the_fingers_are_wished_in_line() -> None:
    """The aim is the forearm of the rider's own stand."""
    one = made()
    forearm = float(one.target.forearm_angle_deg)
    assert one.target.lever_angle_deg == Sides(forearm, forearm)
    assert made(lever_angle=25.0).target.lever_angle_deg == Sides(25.0, 25.0)


def test_each_arm_has_its_own_wish() -> None:
    """26 left and 14 right: the right hand's is the brake's, each lever is held against its own."""
    apart = evolve(wish(), lever_angle=Reading(20.0, count=2, sides=(26.0, 14.0)))
    rider = invented.rider({"road": invented.sat()}, sex="male", standing={"trail": apart})
    one = stood(rider, "trail", stands.WHOLE, invented.BODY, (BIKE, POINTS), TOLERANCES)[0]
    assert one.target.lever_angle_deg == Sides(brake=14.0, clutch=26.0)
    off = standing_misfits(one, numbers_standing(one, POINTS, Sides(17.0, 20.0)))
    assert (off["lever_angle.brake"], off["lever_angle.clutch"]) == (1.0, -2.0)


def test_where_the_hands_do_not_reach_it_says_by_how_much() -> None:
    """Grips 200 mm further: no forearm, and the arms too short by a figure that is above 0."""
    shown = numbers_standing(made(), moved(200.0, -150.0)[0])
    assert np.isnan(shown.forearm_angle_deg)
    assert float(shown.out_of_reach_mm) > 0.0


def test_an_impossible_hip_to_grip_is_questioned() -> None:
    """Too long for any stand, or far out of balance: a warning with what balance would show."""
    for figure in (1150.0, 330.0):
        one, problems = made_with_problems(hip_to_grip=figure)
        assert [p.key for p in problems] == ["standing.trail.hip_to_grip"]
        assert "balanced it would be about" in problems[0].text
        assert np.isfinite(one.own_ahead_mm)
    assert made_with_problems()[1] == ()


def test_a_wish_that_its_bike_does_not_show_is_questioned() -> None:
    """50 mm more than the bike it was measured on; a few are not worth a word."""
    problems = made_with_problems(grip_above_peg=770.0)[1]
    assert [p.key for p in problems] == ["standing.trail.grip_above_peg"]
    assert "720 on 'heron'" in problems[0].text
    assert made_with_problems(grip_above_peg=735.0)[1] == ()


def test_without_a_bike_pegs_and_grips_are_guessed() -> None:
    """The answer stays near that of the bike; nothing is questioned."""
    one, problems = made_with_problems(reference=False)
    assert problems == ()
    near = float(made().target.hip_to_grip_mm)
    assert float(one.target.hip_to_grip_mm) == pytest.approx(near, abs=15.0)


def test_states_at_once_are_the_states_one_by_one() -> None:
    """Two states of a bike; pedals stay the height they had above the peg as found."""
    found = evolve(POINTS, others={"brake_pedal": Vec(700.0, 200.0, 380.0)})
    lifted = evolve(found, peg=found.peg.plus(Vec(0.0, 0.0, 20.0)))
    levers = [Sides(10.0, 11.0), Sides(12.0, np.nan)]
    states: list[BikePoints] = [found, lifted]
    both = numbers_on_each(made(), states, levers, found.peg)
    for shown, points, lever in zip(both, states, levers, strict=True):
        alone = numbers_standing(made(), points, lever, pedals=found.peg)
        for name in StandingNumbers.__annotations__:
            one, other = getattr(shown, name), getattr(alone, name)
            pair = (
                ((one.brake, one.clutch), (other.brake, other.clutch))
                if isinstance(one, Sides)
                else (one, float(np.asarray(other)))
            )
            assert pair[0] == pytest.approx(pair[1], nan_ok=True, abs=1e-8)
        assert shown.brake_pedal_mm == pytest.approx(-10.0)


def test_balance_has_some_room() -> None:
    """What lets the hands go is a figure of a foot's order, not of a tape's."""
    assert 10.0 < IN_BALANCE < 0.5 * stands.FOOT
