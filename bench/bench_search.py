"""Search of plans over a full shelf against single solves by a general optimiser, in one run.

A single solve is what one combination would cost by itself: scipy's SLSQP on the squared misfits
over roll, and lean where the rider has a band, by the project's own misfits on single numbers.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from functools import partial

import numpy as np
from attrs import evolve
from scipy.optimize import minimize

from bench.row import Row
from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Bike, Handlebar, Lever, Levers
from fitprofile.model.parts import Bar, Catalogue, PegPlate, Riser, Seat
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import RiderLimits
from fitprofile.model.shop import TOLERANCES
from fitprofile.stages import moves
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.misfit import (
    Torso,
    bar_misfits,
    forearm_of,
    knee_misfit,
    lever_misfit,
    width_misfit,
)
from fitprofile.stages.placement import drawn_bar, with_bar
from fitprofile.stages.posture import Sides, numbers_on
from fitprofile.stages.search import search
from fitprofile.stages.survey import BikePoints

RISERS, BARS, PLATES, SEATS = 40, 25, 8, 5
SOLVES = 60
"""Single solves that the whole search must stay under."""

SEARCHED = 7
"""Searches of which the median counts."""

RAKE = 25.0
LEAN = 12.0

RIDER = Linkage(
    hip_height_mm=88.0,
    hip_spacing_mm=172.0,
    navel_up_mm=127.0,
    navel_forward_mm=138.0,
    shoulder_up_mm=410.0,
    shoulder_forward_mm=42.0,
    shoulder_spacing_mm=362.0,
    upper_arm_mm=290.0,
    forearm_grip_mm=324.0,
    thigh_mm=413.0,
    shank_mm=410.0,
    ankle_up_mm=96.0,
    ankle_back_mm=125.0,
    elbows_out_deg=18.0,
)

FOUND = BikePoints(
    seat=Vec(450.0, 0.0, 800.0),
    peg=Vec(560.0, 230.0, 390.0),
    clamp=Vec(1015.0, 0.0, 975.0),
    grip_end=Vec(930.0, 385.0, 1005.0),
    grip_inner=Vec(961.0, 265.0, 1000.0),
)

WISHED = evolve(
    FOUND,
    clamp=Vec(985.0, 0.0, 1000.0),
    grip_end=Vec(900.0, 375.0, 1030.0),
    grip_inner=Vec(931.0, 255.0, 1025.0),
)


def search_rows() -> list[Row]:
    """The search in single solves: the lean kept, free, and free where nothing can be inside."""
    shop = _shop()
    rows = []
    free = _job((5.0, 20.0))
    far = evolve(free.target, lever_reach_mm=Sides(90.0, 90.0))
    cases = (
        ("", _job(None)),
        (", lean free", free),
        (", lean free, none fits", evolve(free, target=far)),
    )
    for what, job in cases:
        searches = [_timed(partial(search, [(job, 1.0)], shop)) for _ in range(SEARCHED)]
        whole = sorted(searches)[SEARCHED // 2]
        placed = [_placed(job, riser, bar) for riser in shop.risers for bar in shop.bars]
        picked = placed[:: len(placed) // SOLVES][:SOLVES]
        solves = _timed(partial(_solve_all, job, picked))
        rows.append(
            Row(
                f"search of {RISERS} x {BARS} x {PLATES} x {SEATS} parts : {SOLVES} SLSQP{what}",
                f"{whole / solves:.2f} ({1e3 * whole:.0f} : {1e3 * solves:.0f} ms)",
                "< 1",
                whole < solves,
            )
        )
    return rows


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _job(lean: tuple[float, float] | None) -> Job:
    """An invented rider and bike; the bar is too far and too low, the levers are off."""
    wish = numbers_on(RIDER, LEAN, WISHED)
    forearm = float(wish.forearm_angle_deg)
    reach = Sides(58.0, 58.0)
    target = evolve(wish, lever_angle_deg=Sides(forearm, forearm), lever_reach_mm=reach)
    readings = Sides(forearm + 5.0, forearm - 6.0)
    lever = Lever(perch="free", rotation=(-10.0, 10.0), reach_range=(50.0, 66.0))
    return Job(
        rider=RIDER,
        target=target,
        now=numbers_on(RIDER, LEAN, FOUND, readings, Sides(66.0, 60.0)),
        points=FOUND,
        rake=RAKE,
        clip_on=False,
        bike=Bike(
            key="new",
            file="bikes/new.toml",
            name="New",
            handlebar=Handlebar(clamp_diameter=Reading(28.6), roll=(-8.0, 8.0)),
            levers=Levers(brake=lever, clutch=lever),
        ),
        limits=RiderLimits(lean=lean),
        tolerances=dict(TOLERANCES),
    )


def _shop() -> Catalogue:
    """A full shelf of invented parts, prices and minutes all different."""
    rng = np.random.default_rng(5)

    def mm(low: float, high: float) -> Reading:
        return Reading(float(rng.uniform(low, high)))

    return Catalogue(
        currency="EUR",
        risers=tuple(
            Riser(
                name=f"Riser {i:02}",
                height=mm(5.0, 60.0),
                pullback=mm(0.0, 40.0),
                price=mm(15.0, 110.0),
                minutes=mm(30.0, 80.0),
            )
            for i in range(RISERS)
        ),
        bars=tuple(
            Bar(
                name=f"Bar {i:02}",
                width=mm(720.0, 810.0),
                rise=mm(0.0, 110.0),
                pullback=mm(50.0, 140.0),
                backsweep=mm(8.0, 22.0),
                upsweep=mm(0.0, 6.0),
                clamp_diameter=Reading(28.6),
                price=mm(50.0, 160.0),
                minutes=mm(50.0, 100.0),
            )
            for i in range(BARS)
        ),
        peg_plates=tuple(
            PegPlate(
                name=f"Plates {i}",
                x=mm(-20.0, 20.0),
                z=mm(-25.0, 10.0),
                price=mm(60.0, 150.0),
                minutes=mm(30.0, 60.0),
            )
            for i in range(PLATES)
        ),
        seats=tuple(
            Seat(
                name=f"Seat {i}",
                z=mm(-25.0, 30.0),
                x=mm(-10.0, 10.0),
                price=mm(80.0, 300.0),
                minutes=mm(5.0, 20.0),
            )
            for i in range(SEATS)
        ),
    )


def _placed(job: Job, riser: Riser, bar: Bar) -> BikePoints:
    """One combination standing as drawn, numbers alone."""
    made = with_bar(job.points, drawn_bar(bar))
    return moves.raise_bar(made, riser.height.value, riser.pullback.value, job.rake)


def _solve_all(job: Job, placed: Sequence[BikePoints]) -> None:
    for points in placed:
        _solve(job, points)


def _solve(job: Job, points: BikePoints) -> float:
    """Least squared misfit of one combination over roll, and lean where there is a band."""
    band, lean = job.limits.lean, float(job.target.lean_deg)
    roll = job.bike.handlebar.roll or (-8.0, 8.0)
    own = None if band is not None else Torso.of(job.rider, points.seat, lean)

    def off(x: np.ndarray) -> float:
        moved = moves.roll_bar(points, x[0])
        torso = Torso.of(job.rider, moved.seat, x[1]) if own is None else own
        misfits = bar_misfits(job, moved, torso)
        forearm = forearm_of(job, misfits["forearm_angle"])
        total = sum(float(misfit) ** 2 for misfit in misfits.values())
        total += float(width_misfit(job, 2.0 * moved.grip_end.y)) ** 2
        total += float(knee_misfit(job, moved)) ** 2
        for side in SIDES:
            reading = getattr(job.now.lever_angle_deg, side) - x[0]
            total += float(lever_misfit(job, side, reading, forearm)) ** 2
        return total

    start, bounds = [0.0], [roll]
    if band is not None:
        start, bounds = [0.0, lean], [roll, band]
    return float(minimize(off, start, bounds=bounds, method="SLSQP").fun)
