"""Sit-ons: spreads, two tapes for one string, and where a bike's points go with its bar."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat, umath

from fitprofile.errors import ERROR, NOTE
from fitprofile.geometry.vectors import Vec
from fitprofile.model.quantity import Reading
from fitprofile.stages.siton import (
    MOVED,
    SitOn,
    seat_to_bar_gain,
    shifted,
    sit_on,
    with_points,
)
from fitprofile.stages.survey import Surveyed, survey
from tests.stages.invented import SHOP, bike, cockpit, rider, sat
from tests.stages.taped import TRUE

GIVEN: dict[str, Any] = {"bar_width": 750.0, "lever_angle": 14.0, "knee_angle": 90.0}


def surveyed(**more: Any) -> Surveyed:
    found, _ = survey(bike("own", **more), SHOP)
    assert found is not None
    return found


def made(tape: str = "alone", on: Surveyed | None = None, **figures: Any) -> SitOn:
    person = rider({"road": cockpit(**(GIVEN | figures))}, tape=tape)
    found, _ = sit_on(person, "road", on, SHOP)
    assert found is not None
    return found


@pytest.mark.parametrize(("tape", "sd"), [("alone", 12.0), ("helper", 6.0)])
def test_sitting_down_again_adds_to_every_reading(tape: str, sd: float) -> None:
    """8 mm and 3 degrees on top of the tape, root sum of squares."""
    found = made(tape, navel_to_bar=480.0)
    assert found.navel_to_bar.value == 480.0
    assert found.navel_to_bar.sd == pytest.approx(np.hypot(sd, 8.0))
    knee = {"alone": 6.0, "helper": 4.0}[tape]
    assert found.knee_angle.sd == pytest.approx(np.hypot(knee, 3.0))


def test_a_bar_is_felt_to_half_its_tolerance() -> None:
    """Width 750 mm, tape 2, tolerance 10: sqrt(4 + 25); the rider's own tolerance of 4 narrows it.

    Taped four times the tape is good to 1 and the rest stays. A tilt that was not wished is none.
    """
    found = made(navel_to_bar=480.0)
    assert found.bar_width.value == 750.0
    assert found.bar_width.sd == pytest.approx(np.sqrt(29.0))
    assert not found.grip_tilt.told()
    often = made(navel_to_bar=480.0, bar_width=Reading(750.0, count=4), grip_tilt=2.0)
    assert often.bar_width.sd == pytest.approx(np.sqrt(1.0 + 25.0))
    assert often.grip_tilt.sd == pytest.approx(np.sqrt(1.0 + 4.0))
    picky = rider({"road": cockpit(**GIVEN, navel_to_bar=480.0)}, tolerances={"bar_width": 4.0})
    narrow, _ = sit_on(picky, "road", None, SHOP)
    assert narrow is not None
    assert narrow.bar_width.sd == pytest.approx(np.sqrt(4.0 + 4.0))


def test_repeated_readings_share_the_spread_out() -> None:
    """Three times off and on: the mean is good to a root of three better."""
    found = made(navel_to_bar=Reading(480.0, count=3))
    assert found.navel_to_bar.sd == pytest.approx(np.hypot(12.0, 8.0) / np.sqrt(3.0))


def test_a_written_give_or_take_replaces_the_table() -> None:
    """Re-sitting stays."""
    assert made(navel_to_bar=Reading(480.0, sd=2.0)).navel_to_bar.sd == np.hypot(2.0, 8.0)


def test_the_forearm_angle_comes_from_a_photo_or_from_a_lever_in_line() -> None:
    """Each with its own spread; the photo counts where both are given."""
    assert made(navel_to_bar=480.0).forearm_angle.sd == np.hypot(2.0, 3.0)
    both = made(navel_to_bar=480.0, forearm_angle=17.0).forearm_angle
    assert (both.value, both.sd) == (17.0, np.hypot(4.0, 3.0))


@pytest.mark.parametrize(("given", "expected"), [({}, (10.0, 5.0)), ({"lean": 21.0}, (21.0, 3.0))])
def test_the_lean_before_calibration(given: dict[str, Any], expected: tuple[float, float]) -> None:
    """10 give or take 5 where nobody looked."""
    lean = made(navel_to_bar=480.0, **given).lean
    assert (lean.value, lean.sd) == expected


@given(navel=st.floats(300.0, 600.0), half=st.floats(250.0, 450.0), askew=st.floats(-15.0, 15.0))
def test_two_tapes_give_the_string_and_its_spread(navel: float, half: float, askew: float) -> None:
    """d from the median of a triangle; the spread by the package uncertainties (linear)."""
    left, right = np.hypot(navel, half + askew), np.hypot(navel, half - askew)
    found = made(
        bar_width=2.0 * half, navel_to_grip_ends=(Reading(float(left)), Reading(float(right)))
    )
    a, b = ufloat(left, 8.0), ufloat(right, 8.0)
    string = umath.sqrt((a * a + b * b) / 2.0 - half**2)
    # The middle of the string lies askew of the navel by what the tapes differ.
    assert found.navel_to_bar.value == pytest.approx(np.hypot(navel, askew))
    assert found.navel_to_bar.value == pytest.approx(string.nominal_value)
    assert found.navel_to_bar.sd == pytest.approx(np.hypot(string.std_dev, 8.0))


def test_on_a_bike_the_taped_bar_counts_for_the_two_tapes_and_not_the_wish() -> None:
    """The wish may be another width than the bar that was sat on."""
    pair = (Reading(600.0), Reading(600.0))
    on = surveyed()
    width = 2.0 * float(on.points.grip_end.y)
    found = made(on=on, bar_width=900.0, navel_to_grip_ends=pair, measured_on="own")
    assert found.navel_to_bar.value == pytest.approx(np.sqrt(600.0**2 - (0.5 * width) ** 2))


@pytest.mark.parametrize(
    ("pair", "level", "words"),
    [
        ((300.0, 310.0), ERROR, "shorter than half the bar's width (375 mm)"),
        ((640.0, 600.0), NOTE, "the left tape is 40 mm longer"),
        ((600.0, 625.0), NOTE, "the right tape is 25 mm longer"),
    ],
)
def test_tapes_that_contradict_are_said(pair: tuple[float, float], level: str, words: str) -> None:
    """Too short is an error and no sit-on; askew is a note."""
    ends = (Reading(pair[0]), Reading(pair[1]))
    person = rider({"road": cockpit(**GIVEN, navel_to_grip_ends=ends)})
    found, (problem,) = sit_on(person, "road", None, SHOP)
    assert (found is None) == (level == ERROR)
    assert (problem.level, problem.key) == (level, "cockpit.road.navel_to_grip_ends")
    assert problem.file == person.file
    assert words in problem.text


def test_without_a_bike_the_grip_is_assumed() -> None:
    """125 long, swept 15 degrees, level; the hand half a grip in from the end."""
    found = made(navel_to_bar=480.0)
    assert (found.bike, found.points, found.hand_side) == (None, None, 375.0)
    half = [float(v) for v in found.half_grip]
    sine, cosine = np.sin(np.radians(15.0)), np.cos(np.radians(15.0))
    assert half == pytest.approx([-62.5 * sine, 62.5 * cosine, 0.0])
    tilted = made(navel_to_bar=480.0, grip_tilt=-5.0, grip_sweep=0.0).half_grip
    assert float(tilted.z) == pytest.approx(-62.5 * np.sin(np.radians(5.0)))


def test_a_unit_step_moves_the_points_as_the_covariance_has_it() -> None:
    """Conditional mean of a normal: regress seat, peg and grip end on the seat-to-bar vector."""
    on = surveyed()
    gain = seat_to_bar_gain(on, MOVED)
    pick = np.zeros((2, len(on.covariance)))
    for row, axis in enumerate((0, 2)):
        pick[row, 3 * on.names.index("grip_end") + axis] = 1.0
        pick[row, 3 * on.names.index("seat") + axis] = -1.0
    vector = pick @ on.covariance @ pick.T
    regression = on.covariance @ pick.T @ np.linalg.inv(vector)
    bar, seat = (gain[MOVED.index(name)] for name in ("grip_end", "seat"))
    step = (bar - seat)[[0, 2]]  # what the vector itself moves by, one column a step
    assert step @ step.T == pytest.approx(vector)
    for rows, name in zip(gain, MOVED, strict=True):
        at = 3 * on.names.index(name if name in ("seat", "peg") else "grip_end")
        seen = slice(0, 3) if name in ("seat", "peg") else slice(0, 3, 2)
        assert rows[seen] == pytest.approx((regression[at : at + 3] @ step)[seen], abs=1e-9)


def test_the_bar_is_rigid() -> None:
    """Its bend, its width and its clamp keep their places on it, whatever the step."""
    on = surveyed()
    gain = seat_to_bar_gain(on, MOVED)
    new = shifted({name: getattr(on.points, name) for name in MOVED}, gain, 3.0, -2.0)
    for name in ("grip_inner", "clamp"):
        before = getattr(on.points, name).minus(on.points.grip_end)
        after = new[name].minus(new["grip_end"])
        assert [float(v) for v in after] == pytest.approx([float(v) for v in before], abs=1e-9)
    assert float(new["grip_end"].y) == float(on.points.grip_end.y)
    assert float(new["seat"].x) != pytest.approx(float(on.points.seat.x))


def test_points_that_nobody_doubts_do_not_move() -> None:
    """No covariance, no step."""
    on = evolve(surveyed(), covariance=np.zeros_like(surveyed().covariance))
    assert not seat_to_bar_gain(on, MOVED).any()


def test_points_move_by_their_steps_and_a_tube_follows_its_clamp() -> None:
    """Two principal directions, any size."""
    on = surveyed()
    points = evolve(on.points, tube=Vec(on.points.clamp.x, 100.0, on.points.clamp.z))
    gain = np.arange(30.0).reshape(5, 3, 2)
    new = shifted({name: getattr(points, name) for name in MOVED}, gain, 2.0, -1.0)
    for rows, name in zip(gain, MOVED, strict=True):
        expected = np.array([float(v) for v in getattr(points, name)]) + rows @ [2.0, -1.0]
        assert [float(v) for v in new[name]] == pytest.approx(expected)
    after = with_points(points, new)
    assert after.tube is not None
    assert (after.tube.x, after.tube.y, after.tube.z) == (after.clamp.x, 100.0, after.clamp.z)


def test_the_foot_and_the_bike_are_carried_along() -> None:
    """As the cockpit has them."""
    on = surveyed()
    person = rider({"road": sat(TRUE, foot="mid-foot", measured_on="own")})
    found, problems = sit_on(person, "road", on, SHOP)
    assert found is not None
    assert (found.mid_foot, found.bike, found.points, problems) == (True, "own", on.points, ())


@pytest.mark.parametrize("name", ["lever_angle", "forearm_angle"])
def test_arms_that_differ_count_as_their_mean(name: str) -> None:
    """The body is one and the same on both sides; two readings, so a root of two surer."""
    given: dict[str, Any] = {
        "lever_angle": None,
        name: Reading(15.0, count=2, sides=(10.0, 20.0)),
    }
    found = made(navel_to_bar=480.0, **given).forearm_angle
    table = {"lever_angle": 2.0, "forearm_angle": 4.0}[name]
    assert found.value == 15.0
    assert found.sd == pytest.approx(np.hypot(table, 3.0) / np.sqrt(2.0))


@pytest.mark.parametrize("name", ["lever_angle", "forearm_angle", "knee_angle", "lever_reach"])
def test_left_and_right_alike_are_said(name: str) -> None:
    """One figure would have done, or one of the two was not changed."""
    for sides, told in (((58.0, 58.0), 1), ((57.0, 59.0), 0)):
        pair: dict[str, Any] = {name: Reading(58.0, count=2, sides=sides)}
        wish = evolve(cockpit(**GIVEN), **pair)
        _, problems = sit_on(rider({"road": wish}), "road", None, SHOP)
        alike = [one for one in problems if "left and right are the same" in one.text]
        assert len(alike) == told
        assert all((one.level, one.key) == (NOTE, f"cockpit.road.{name}") for one in alike)
