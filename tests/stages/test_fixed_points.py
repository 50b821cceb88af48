"""Obstacles and holding points go the way the survey's own points go."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.model.bike import Hose, Stand
from fitprofile.model.quantity import Reading
from fitprofile.model.shop import Shop
from fitprofile.stages.fixed_points import on_wheels
from fitprofile.stages.survey import survey
from tests.stages import plans
from tests.stages.taped import TRUE, quick
from tests.stages.taped import full as taped

TANK = (700.0, 0.0, 940.0)


def stood(lift: float, **more: Any) -> Any:
    """Everything taped, a tank as well, the rear wheel lifted about the front axle's foot."""
    points = {**TRUE, "tank": TANK}
    (_, _, rear), (ahead, _, front) = points["rear_axle"], points["front_axle"]
    length = float(np.hypot(ahead, front - rear))
    before = np.arctan2(front - rear, ahead)
    after = np.arctan2(front - rear - lift, np.sqrt(length**2 - (front - rear - lift) ** 2))
    c, s = np.cos(after - before), np.sin(after - before)
    turned = {
        name: (float(c * x - s * (z - rear)), y, float(rear + lift + s * x + c * (z - rear)))
        for name, (x, y, z) in points.items()
    }
    bike = taped(turned)
    return turned["tank"], evolve(
        bike,
        state="stand",
        stand=Stand(rear_axle=Reading(rear + lift), front_axle=Reading(front)),
        wheels=Stand(rear_axle=Reading(rear), front_axle=Reading(front)),
        heights={n: r for n, r in bike.heights.items() if not n.endswith("axle")},
        **more,
    )


@given(lift=st.floats(0.0, 120.0))
def test_an_obstacle_goes_where_the_survey_takes_its_point(lift: float) -> None:
    """The tank, taped as a point and as an obstacle on the stand, is one place on the wheels."""
    at, bike = stood(lift)
    surveyed, problems = survey(bike, Shop())
    assert surveyed is not None, problems
    one = evolve(plans.job(), bike=bike, points=surveyed.points)
    found = on_wheels(one, plans.obstacle("tank", at[0], 120.0, at[2]))
    assert found is not None
    assert float(found.x) == pytest.approx(float(surveyed.points.others["tank"].x), abs=1e-3)
    assert float(found.z) == pytest.approx(float(surveyed.points.others["tank"].z), abs=1e-3)
    assert float(found.x) == pytest.approx(TANK[0], abs=1e-3)
    assert float(found.z) == pytest.approx(TANK[2], abs=1e-3)
    assert found.y == 120.0


def test_on_its_wheels_a_point_is_where_it_was_taped() -> None:
    """Ahead, offset and height are its x, y and z."""
    found = on_wheels(plans.job(), plans.obstacle("horn", 1100.0, 80.0, 700.0))
    assert found == (1100.0, 80.0, 700.0)


def test_without_the_rear_axle_an_obstacle_has_no_place() -> None:
    """The quick set counts from the sit point, an obstacle from the rear axle."""
    surveyed, _ = survey(quick(), Shop())
    assert surveyed is not None
    one = evolve(plans.job(), bike=quick(), points=surveyed.points)
    assert on_wheels(one, plans.obstacle("horn", 1100.0, 80.0, 700.0)) is None


def test_a_hose_without_a_holding_point_has_no_place() -> None:
    """All three figures or none."""
    assert on_wheels(plans.job(), Hose(spare=Reading(20.0))) is None
