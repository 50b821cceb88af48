"""A bike on a stand, turned back onto its wheels."""

from __future__ import annotations

from math import atan2, cos, degrees, radians, sin

import numpy as np
import pytest

from fitprofile.errors import NOTE, WARNING
from fitprofile.model.bike import Stand
from fitprofile.model.quantity import Reading
from fitprofile.model.shop import Shop
from fitprofile.stages.stand import AXLE_HEIGHT, Turn, find_turn, level
from tests.stages.taped import bike

SHOP = Shop()
NAMES = ("seat", "rear_axle", "front_axle")
POINTS = np.array([[400.0, 0.0, 900.0], [0.0, 0.0, 400.0], [1400.0, 0.0, 300.0]])
AXLES = Stand(rear_axle=Reading(400.0), front_axle=Reading(300.0))
WHEELS = Stand(rear_axle=Reading(310.0), front_axle=Reading(310.0))


def turn_of(**fields: object) -> Turn:
    turn, _ = find_turn(bike(state="stand", **fields), SHOP, NAMES, "rear_axle")
    assert turn is not None
    return turn


def test_a_bike_on_its_wheels_is_not_turned() -> None:
    """No turn, nothing to say."""
    assert find_turn(bike(), SHOP, NAMES, "rear_axle") == (None, ())


def test_a_lifted_tail_is_turned_back_by_the_axles() -> None:
    """Nose down by atan(100/1400), wheels alike: points turn the other way, then come down."""
    found = level(turn_of(stand=AXLES, wheels=WHEELS), POINTS, np.zeros((9, 9)))
    a = -atan2(100.0, 1400.0)
    assert found.pitch == pytest.approx(degrees(a))
    x, z = 400.0, 500.0
    seat = (x * cos(-a) - z * sin(-a), 0.0, x * sin(-a) + z * cos(-a) + 310.0)
    assert found.points[0] == pytest.approx(seat)
    assert found.points[1] == pytest.approx((0.0, 0.0, 310.0))
    assert found.points[2] == pytest.approx((np.hypot(1400.0, 100.0), 0.0, 310.0))


def test_unlike_wheels_keep_their_difference() -> None:
    """Front axle 28 mm above the rear one on the wheels, and again after the turn."""
    wheels = Stand(rear_axle=Reading(310.0), front_axle=Reading(338.0))
    found = level(turn_of(stand=AXLES, wheels=wheels), POINTS, np.zeros((9, 9)))
    assert found.points[2][2] - found.points[1][2] == pytest.approx(28.0)


def test_a_given_pitch_turns_where_the_axles_on_the_wheels_are_not_known() -> None:
    """3 degrees nose up about the rear axle, which keeps its height."""
    found = level(turn_of(stand=Stand(pitch=Reading(3.0))), POINTS, np.zeros((9, 9)))
    assert found.pitch == pytest.approx(3.0)
    a = radians(3.0)
    assert found.points[0][0] == pytest.approx(400.0 * cos(a) + 500.0 * sin(a))
    assert found.points[1] == pytest.approx(POINTS[1])


def test_without_an_axle_points_turn_about_the_usual_axle_height() -> None:
    """A point at that height under x = 0 stays."""
    one = bike(state="stand", stand=Stand(pitch=Reading(3.0)))
    turn, _ = find_turn(one, SHOP, ("seat",), "rear_axle")
    assert turn is not None
    found = level(turn, np.array([[0.0, 0.0, AXLE_HEIGHT]]), np.zeros((3, 3)))
    assert found.points[0] == pytest.approx((0.0, 0.0, AXLE_HEIGHT))


def test_the_spread_of_all_axle_heights_comes_along() -> None:
    """Covariance after the turn against 40,000 drawn bikes."""
    one = turn_of(stand=AXLES, wheels=WHEELS)
    before = np.diag([25.0, 0, 16, 0, 0, 4, 36, 0, 4])
    found = level(one, POINTS, before)
    rng = np.random.default_rng(3)
    count = 40000
    p = POINTS.ravel() + rng.normal(size=(count, 9)) * np.sqrt(np.diag(before))
    rear, front = 310.0 + 2.0 * rng.normal(size=(2, count))
    dx, dz = p[:, 6] - p[:, 3], p[:, 8] - p[:, 5]
    a = np.arctan2(dz, dx) - np.arcsin((front - rear) / np.hypot(dx, dz))
    x, z = p[:, 0], p[:, 2] - p[:, 5]
    drawn = np.cov(x * np.cos(a) + z * np.sin(a), z * np.cos(a) - x * np.sin(a) + rear)
    seat = found.covariance[np.ix_([0, 2], [0, 2])]
    assert seat == pytest.approx(drawn, abs=0.04 * drawn.max())
    assert found.pitch_sd == pytest.approx(degrees(np.std(a)), rel=0.02)


@pytest.mark.parametrize(
    ("names", "fields", "key", "kind"),
    [
        (NAMES, {"stand": None}, "stand", NOTE),
        (("seat", "rear_axle"), {"stand": AXLES, "wheels": WHEELS}, "ahead.front_axle", WARNING),
        (
            NAMES,
            {
                "stand": Stand(rear_axle=Reading(400.0)),
                "heights": {n: Reading(310.0) for n in ("rear_axle", "front_axle")},
            },
            "stand.rear_axle",
            NOTE,
        ),
    ],
)
def test_what_is_missing_about_a_stand_is_said(
    names: tuple[str, ...], fields: dict[str, object], key: str, kind: str
) -> None:
    """Pitch unknown, axle distance unknown, one axle taken to have stayed down."""
    _, (problem,) = find_turn(bike(state="stand", **fields), SHOP, names, "rear_axle")
    assert (problem.key, problem.level) == (key, kind)


@pytest.mark.parametrize(
    "fields", [{"stand": AXLES, "wheels": WHEELS}, {"stand": Stand(pitch=Reading(2.0))}]
)
def test_a_stand_that_is_known_needs_no_word(fields: dict[str, object]) -> None:
    """Axles on both, or a pitch."""
    assert find_turn(bike(state="stand", **fields), SHOP, NAMES, "rear_axle")[1] == ()
