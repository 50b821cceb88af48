"""Plans made by hand: an invented rider's bike with its points moved and its settings said."""

from __future__ import annotations

from typing import Any

import numpy as np
from attrs import evolve

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Hose, Obstacle
from fitprofile.model.quantity import Reading
from fitprofile.stages import moves
from fitprofile.stages.check import Check
from fitprofile.stages.complete import Completed, complete
from fitprofile.stages.job import Job
from fitprofile.stages.plan import FREE, Choice, Plan
from fitprofile.stages.posture import Sides, numbers_on
from fitprofile.stages.survey import BikePoints
from tests.stages import jobs
from tests.stages.invented import SHOP, rider

BODY: Completed = complete(rider({}), SHOP)[0]
NO_TURN = Sides(0.0, 0.0)
TAPED_AHEAD = {"grip_end": Reading(900.0)}
"""Makes the rear axle the point that everything is counted from."""


def job(**more: Any) -> Job:
    """The invented rider on the invented bike, whose points are counted from the rear axle."""
    others = more.pop("others", {})
    one = jobs.job(**{"ahead": TAPED_AHEAD, **more})
    return evolve(one, points=evolve(one.points, others=others))


def plan(one: Job, points: BikePoints | None = None, **more: Any) -> Plan:
    """A plan that ends with these points; nothing changes unless said."""
    there = one.points if points is None else points
    turns = more.get("lever_rotation_deg", NO_TURN)
    roll = more.get("roll_deg", 0.0)
    axis = moves.grip_axis(one.points)
    reading = Sides(
        *(
            moves.lever_reading(
                moves.rotate_lever(
                    moves.grip_axis(there),
                    moves.carried_edge(
                        axis, getattr(one.now.lever_angle_deg, side), roll, 0.0, 0.0
                    ),
                    np.nan_to_num(getattr(turns, side)),
                )
            )
            for side in ("brake", "clutch")
        )
    )
    after = numbers_on(one.rider, one.now.lean_deg, there, reading, one.now.lever_reach_mm)
    fields: dict[str, Any] = {
        "name": FREE,
        "choice": Choice(),
        "seat_move_mm": (0.0, 0.0),
        "peg_move_mm": (0.0, 0.0),
        "riser_move_mm": (0.0, 0.0),
        "roll_deg": 0.0,
        "clip_slide_mm": np.nan,
        "grip_slide_mm": 0.0,
        "lever_rotation_deg": NO_TURN,
        "lever_reach_change_mm": NO_TURN,
        "points": there,
        "after": after,
        "deviations": {},
        "inside": True,
        "price": 0.0,
        "minutes": 0.0,
        **more,
    }
    return Plan(**fields)


def risen(one: Job, up: float, back: float) -> BikePoints:
    """The bar moved by a riser, mm."""
    return moves.raise_bar(one.points, up, back, one.rake)


def obstacle(name: str, ahead: float, offset: float, height: float) -> Obstacle:
    x, y, z = (Reading(v) for v in (ahead, offset, height))
    return Obstacle(name=name, ahead=x, offset=y, height=z)


def hose(
    spare: float | None = None, at: tuple[float, float, float] | None = None, by: str = "frame"
) -> Hose:
    """A hose held at (ahead, offset, height)."""
    kept = None if spare is None else Reading(spare)
    if at is None:
        return Hose(spare=kept)
    x, y, z = (Reading(v) for v in at)
    return Hose(spare=kept, ahead=x, offset=y, height=z, held_by=by)


def only(checks: tuple[Check, ...], what: str) -> Check:
    """The one check of this key."""
    found = [one for one in checks if one.what == what]
    assert len(found) == 1, [one.what for one in checks]
    return found[0]


def array(point: Vec) -> np.ndarray[Any, np.dtype[np.float64]]:
    return np.array([float(c) for c in point])
