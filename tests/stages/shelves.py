"""Random shelves of parts, and random jobs for which some of them are about right; all invented."""

from __future__ import annotations

from typing import Any

import numpy as np
from attrs import evolve
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Allows, Bike, Handlebar, Lever, Levers
from fitprofile.model.parts import (
    Bar,
    Catalogue,
    ClipOn,
    Extender,
    LeverSet,
    PegPlate,
    Riser,
    Seat,
)
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import RiderLimits
from fitprofile.model.shop import TOLERANCES
from fitprofile.stages.job import Job
from fitprofile.stages.posture import Sides, numbers_on
from fitprofile.stages.survey import BikePoints
from tests.stages.invented import BODY
from tests.stages.jobs import LEAN, RAKE, points_of
from tests.stages.taped import TRUE

Rng = np.random.Generator

R = Reading


def shelf(rng: Rng, *, most: int = 3, clip_on: bool = False, extenders: int = 1) -> Catalogue:
    """``most`` risers and bars (or clip-ons), two plates, seats and lever sets, in whole mm."""

    def money(low: int, high: int) -> dict[str, Any]:
        return {
            "price": R(float(rng.integers(low, high))),
            "minutes": R(float(rng.integers(5, 60))),
        }

    def mm(low: int, high: int) -> Reading:
        return R(float(rng.integers(low, high)))

    thick = R(28.6)
    return Catalogue(
        currency="EUR",
        risers=tuple(
            Riser(name=f"Riser {i}", height=mm(5, 45), pullback=mm(-5, 40), **money(10, 100))
            for i in range(0 if clip_on else most)
        ),
        bars=tuple(
            Bar(
                name=f"Bar {i}",
                width=mm(730, 790),
                rise=mm(10, 110),
                pullback=mm(50, 150),
                backsweep=R(float(rng.integers(8, 22))),
                upsweep=R(float(rng.integers(0, 6))),
                clamp_diameter=thick,
                **money(40, 200),
            )
            for i in range(0 if clip_on else most)
        ),
        clip_ons=tuple(
            ClipOn(
                name=f"Clip-ons {i}",
                offset=mm(-20, 60),
                drop=mm(-60, 20),
                droop=R(float(rng.integers(0, 12))) if rng.random() < 0.5 else None,
                sweep=R(float(rng.integers(5, 20))) if rng.random() < 0.5 else None,
                length=mm(270, 310) if rng.random() < 0.5 else None,
                **money(90, 250),
            )
            for i in range(most if clip_on else 0)
        ),
        extenders=tuple(
            Extender(name=f"Ends {i}", length=mm(5, 30), **money(10, 40)) for i in range(extenders)
        ),
        peg_plates=tuple(
            PegPlate(name=f"Plates {i}", x=mm(-20, 20), z=mm(-25, 5), **money(50, 150))
            for i in range(2)
        ),
        seats=tuple(
            Seat(name=f"Seat {i}", z=mm(-20, 30), x=mm(-10, 10), **money(60, 300)) for i in range(2)
        ),
        lever_sets=tuple(
            LeverSet(
                name=f"Levers {i}",
                reach_range=(float(rng.integers(45, 55)), float(rng.integers(60, 75))),
                side=("both", "brake", "clutch")[int(rng.integers(3))],
                **money(20, 100),
            )
            for i in range(2)
        ),
    )


def _lever(rng: Rng, *, pinned: bool) -> Lever:
    band = (-float(rng.integers(4, 13)), float(rng.integers(4, 13)))
    return Lever(
        perch="pinned" if pinned else "free",
        rotation=band if rng.random() < 0.7 else None,
        reach_range=(50.0, 66.0) if rng.random() < 0.7 else None,
    )


def a_job(
    rng: Rng,
    *,
    clip_on: bool = False,
    lean_band: bool = False,
    pinned: bool = False,
    spread: float = 25.0,
    apart: float = 0.0,
    **more: Any,
) -> Job:
    """The invented body with a wish of its own, on a bike ``spread`` mm off in each point.

    The right arm's forearm is wished ``apart`` degrees steeper than the mean, the left's flatter.
    """
    points = points_of(TRUE)

    def off(point: Vec, half: float) -> Vec:
        x, z = rng.normal(0.0, half, 2)
        return Vec(float(point.x) + x, float(point.y), float(point.z) + z)

    wish_points = evolve(points, seat=off(points.seat, 5.0), peg=off(points.peg, 5.0))
    wish = numbers_on(BODY, LEAN, wish_points)
    reach = float(rng.integers(52, 64))
    forearm = float(wish.forearm_angle_deg)
    target = evolve(
        wish,
        bar_width_mm=float(rng.integers(735, 770)),
        grip_tilt_deg=0.0,
        grip_sweep_deg=float(rng.integers(11, 18)),
        knee_angle_deg=float(wish.knee_angle_deg) + float(rng.normal(0.0, 1.5)),
        lever_angle_deg=Sides(forearm + apart, forearm - apart),
        lever_reach_mm=Sides(reach, reach),
    )
    by = rng.normal(0.0, spread, 2)
    bar = Vec(float(by[0]), 0.0, float(by[1]))
    wider = Vec(0.0, float(rng.integers(-5, 30)), 0.0)
    found = BikePoints(
        seat=off(points.seat, 0.3 * spread),
        peg=off(points.peg, 0.3 * spread),
        clamp=points.clamp.plus(bar),
        grip_end=points.grip_end.plus(bar).plus(wider),
        grip_inner=points.grip_inner.plus(bar).plus(wider),
        tube=Vec(float(points.clamp.x) + by[0], 100.0, float(points.clamp.z) + by[1])
        if clip_on
        else None,
    )
    readings = Sides(*(forearm + float(rng.normal(0.0, 6.0)) for _ in range(2)))
    reaches = Sides(*(float(rng.integers(48, 68)) for _ in range(2)))
    half = float(rng.integers(4, 10))
    bike = Bike(
        key="new",
        file="bikes/new.toml",
        name="New",
        handlebar=Handlebar(
            kind="clip-on" if clip_on else "one-piece",
            clamp_diameter=R(28.6),
            roll=None if clip_on else (-half, half),
            pins=bool(rng.random() < 0.3),
        ),
        allows=Allows(
            bar_width=(660.0, 820.0) if rng.random() < 0.5 else None,
            clip_slide=(0.0, float(rng.integers(10, 40))) if clip_on else None,
        ),
        levers=Levers(
            brake=_lever(rng, pinned=pinned and bool(rng.random() < 0.7)),
            clutch=_lever(rng, pinned=pinned and bool(rng.random() < 0.7)),
        ),
    )
    limits = RiderLimits(
        lean=(LEAN - float(rng.integers(2, 9)), LEAN + float(rng.integers(2, 9)))
        if lean_band
        else None,
        knee_angle=(float(target.knee_angle_deg) - 5.0, float(target.knee_angle_deg) + 15.0)
        if rng.random() < 0.5
        else None,
    )
    made = Job(
        rider=BODY,
        target=target,
        now=numbers_on(BODY, LEAN, found, readings, reaches),
        points=found,
        rake=RAKE,
        clip_on=clip_on,
        bike=bike,
        limits=limits,
        tolerances=dict(TOLERANCES),
    )
    return evolve(made, **more)


KINDS: dict[str, dict[str, Any]] = {
    "one-piece": {},
    "with a lean band": {"lean_band": True},
    "arms that differ": {"apart": 5.0},
    "pinned": {"pinned": True},
    "pinned, with arms that differ": {"pinned": True, "apart": 5.0},
    "pinned, with a lean band": {"pinned": True, "lean_band": True},
    "clip-ons": {"clip_on": True},
    "clip-ons, with arms that differ": {"clip_on": True, "apart": 5.0},
    "clip-ons, with a lean band": {"clip_on": True, "lean_band": True},
}
"""What sets one kind of job apart from another."""


@st.composite
def cases(draw: st.DrawFn, /, **more: Any) -> tuple[Job, Catalogue]:
    """A job and a shelf for its kind of bar."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    kind = dict(KINDS[draw(st.sampled_from(sorted(KINDS)))])
    made = a_job(rng, **{**kind, **more})
    return made, shelf(rng, clip_on=made.clip_on)
