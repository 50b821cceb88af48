"""An invented body on invented bikes, as jobs: what limits and the practical answer start from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from attrs import evolve

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Bike, Handlebar, Lever, Levers
from fitprofile.model.rider import RiderLimits
from fitprofile.model.shop import TOLERANCES
from fitprofile.stages.adjust import exact
from fitprofile.stages.job import Job
from fitprofile.stages.limits import Limit, limits_of
from fitprofile.stages.moves import Changes
from fitprofile.stages.posture import Numbers, Sides, numbers_on
from fitprofile.stages.survey import BikePoints
from tests.stages.invented import BODY, moved
from tests.stages.taped import TRUE, Point

RAKE = 25.0
LEAN = 12.0
FREE = Levers(brake=Lever(perch="free"), clutch=Lever(perch="free"))


def points_of(given: Mapping[str, Point]) -> BikePoints:
    """The named points as arrays' values."""
    return BikePoints(
        seat=Vec(*given["seat"]),
        peg=Vec(*given["peg"]),
        clamp=Vec(*given["clamp"]),
        grip_end=Vec(*given["grip_end"]),
        grip_inner=Vec(*given["grip_inner"]),
    )


WISH = numbers_on(BODY, LEAN, points_of(TRUE))
"""What the invented body shows on the true bike: the wish of every job here."""


def job(
    given: Mapping[str, Point] = TRUE,
    *,
    lever: float | None = None,
    reach: float = 60.0,
    limits: RiderLimits | None = None,
    clip_on: bool = False,
    target: Numbers | None = None,
    **bike: Any,
) -> Job:
    """The invented body on a bike with these points; levers as wished unless said."""
    forearm = float(WISH.forearm_angle_deg)
    angle = forearm if lever is None else lever
    wish = evolve(
        WISH if target is None else target,
        lever_angle_deg=Sides(forearm, forearm),
        lever_reach_mm=Sides(60.0, 60.0),
    )
    points = points_of(given)
    now = numbers_on(BODY, LEAN, points, Sides(angle, angle), Sides(reach, reach))
    fields = {"levers": FREE, "handlebar": Handlebar(), **bike}
    return Job(
        rider=BODY,
        target=wish,
        now=now,
        points=points,
        rake=RAKE,
        clip_on=clip_on,
        bike=Bike(key="new", file="bikes/new.toml", name="New", **fields),
        limits=limits or RiderLimits(),
        tolerances=dict(TOLERANCES),
    )


def answered(one: Job) -> Changes:
    """The exact answer to the job."""
    return exact(
        one.rider,
        one.target,
        one.points,
        one.rake,
        one.now.lever_angle_deg,
        one.now.lever_reach_mm,
        clip_on=one.clip_on,
    )


def bar(ahead: float, up: float) -> dict[str, Point]:
    """The whole bar moved, mm."""
    by = (ahead, up)
    return moved(grip_end=by, grip_inner=by, clamp=by)


def limit(one: Job, what: str) -> Limit:
    """The one limit of this name."""
    found = [each for each in limits_of(one, answered(one)) if each.what == what]
    assert len(found) == 1, limits_of(one, answered(one))
    return found[0]


def tilted(by: float, start: Mapping[str, Point] = TRUE) -> dict[str, Point]:
    """Grips that droop by so many mm over their length, swept as before."""
    points = dict(start)
    x, y, z = points["grip_end"]
    points["grip_end"] = (x, y, z - by)
    return points
