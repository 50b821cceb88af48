"""A batch of exact transfers, riders x bikes, against the same answers found one at a time.

The general optimiser works on its own formulation: it minimises the deviations of posture over
height, pullback, roll and peg move, with the numbers computed by the posture kernels.
"""

from __future__ import annotations

import time
from typing import Any, TypeVar

import numpy as np
from attrs import fields
from scipy.optimize import minimize

from bench.row import Row
from fitprofile.geometry.vectors import Vec
from fitprofile.stages import moves
from fitprofile.stages.adjust import exact
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.posture import Numbers, Sides, numbers_on
from fitprofile.stages.survey import BikePoints

RIDERS, BIKES = 500, 200
CHUNK = 20
"""Riders in one call: 20 x 200 rows keep the temporaries in the cache."""

ONE_BY_ONE = 20
"""Transfers that the general optimiser solves; its time a transfer is what counts."""

AT_LEAST_PER_SECOND = 200_000
AT_LEAST_TIMES = 1000
FOUND = 1e-6
"""Sum of squared deviations at which the optimiser counts as there."""

SAME = 0.5
"""mm by which the optimiser's riser may differ: it stops early, the closed form does not."""


def batch_rows() -> list[Row]:
    """Transfers a second, and how many times the optimiser's rate that is."""
    rng = np.random.default_rng(7)
    riders, bikes, targets = _riders(rng), _bikes(rng), _targets(rng)
    best = np.inf
    for _ in range(5):
        start = time.perf_counter()
        answers = [
            _answer(_part(riders, rows), bikes, _part(targets, rows))
            for rows in (slice(i, i + CHUNK) for i in range(0, RIDERS, CHUNK))
        ]
        best = min(best, time.perf_counter() - start)
    rate = RIDERS * BIKES / best
    height = np.concatenate([answer.riser_height_mm for answer in answers])
    solved = np.argwhere(np.isfinite(height))[:: height.size // ONE_BY_ONE][:ONE_BY_ONE]
    start = time.perf_counter()
    found = [_search(riders, bikes, targets, int(r), int(b)) for r, b in solved]
    each = (time.perf_counter() - start) / len(solved)
    worst = max(abs(height[r, b] - h) for (r, b), h in zip(solved, found, strict=True))
    assert worst < SAME, f"the optimiser found another riser, {worst:.3f} mm away"
    return [
        Row(
            f"exact transfers, batch of {RIDERS * BIKES:,}",
            f"{rate:,.0f} a second",
            f">= {AT_LEAST_PER_SECOND:,}",
            rate >= AT_LEAST_PER_SECOND,
        ),
        Row(
            "the same one at a time with SLSQP",
            f"{rate * each:,.0f} times slower",
            f">= {AT_LEAST_TIMES:,}",
            rate * each >= AT_LEAST_TIMES,
        ),
    ]


READ = Sides(15.0, 17.0)
REACH = Sides(60.0, 62.0)
RAKE = 25.0


def _answer(rider: Linkage, bike: BikePoints, target: Numbers) -> moves.Changes:
    """Exact changes for every rider on every bike."""
    return exact(rider, target, bike, RAKE, READ, REACH, clip_on=False)


def _search(riders: Linkage, bikes: BikePoints, targets: Numbers, row: int, column: int) -> float:
    """Riser height that a general optimiser finds for one rider and bike, mm."""
    rider = _part(riders, slice(row, row + 1))
    target = _part(targets, slice(row, row + 1))
    bike = _one_bike(bikes, column)
    wish = np.array(
        [
            np.ravel(value)[0]
            for value in (
                target.bar_width_mm,
                target.navel_to_bar_mm,
                target.grip_tilt_deg,
                target.forearm_angle_deg,
                target.knee_angle_deg,
            )
        ]
    )

    def off(x: np.ndarray) -> float:
        slide, roll, height, pullback, peg = x * 10.0
        moved = moves.raise_bar(
            moves.roll_bar(moves.slide_grips(bike, slide), roll), height, pullback, RAKE
        )
        pegs = moved.peg.plus(Vec(0.0, 0.0, peg))
        shown = numbers_on(rider, target.lean_deg, moved)
        knee = numbers_on(rider, target.lean_deg, _with_peg(moved, pegs)).knee_angle_deg
        got = [
            shown.bar_width_mm,
            shown.navel_to_bar_mm,
            shown.grip_tilt_deg,
            shown.forearm_angle_deg,
            knee,
        ]
        miss = np.array([np.ravel(value)[0] for value in got]) - wish
        return float(np.nan_to_num(miss, nan=90.0) @ np.nan_to_num(miss, nan=90.0))

    start = np.zeros(5)
    for _ in range(20):
        found = minimize(off, start, method="SLSQP", options={"maxiter": 400, "ftol": 1e-14})
        if found.fun < FOUND:
            break
        start = found.x + np.random.default_rng(1).normal(0.0, 0.5, 5)
    return float(found.x[2] * 10.0)


def _with_peg(points: BikePoints, peg: Vec) -> BikePoints:
    """The same bike with its pegs elsewhere."""
    return BikePoints(
        seat=points.seat,
        peg=peg,
        clamp=points.clamp,
        grip_end=points.grip_end,
        grip_inner=points.grip_inner,
    )


def _riders(rng: np.random.Generator) -> Linkage:
    """Invented bodies, fields (riders, 1), mm and degrees."""

    def around(mean: float, sd: float) -> np.ndarray:
        return rng.normal(mean, sd, (RIDERS, 1))

    return Linkage(
        hip_height_mm=around(90, 8),
        hip_spacing_mm=around(170, 8),
        navel_up_mm=around(125, 12),
        navel_forward_mm=around(110, 15),
        shoulder_up_mm=around(425, 20),
        shoulder_forward_mm=around(40, 15),
        shoulder_spacing_mm=around(365, 15),
        upper_arm_mm=around(295, 12),
        forearm_grip_mm=around(330, 12),
        thigh_mm=around(425, 18),
        shank_mm=around(420, 18),
        ankle_up_mm=around(100, 5),
        ankle_back_mm=around(130, 6),
        elbows_out_deg=around(18, 6),
    )


def _bikes(rng: np.random.Generator) -> BikePoints:
    """Invented bikes, components (1, bikes), mm."""

    def point(x: float, y: float, z: float, sd: float) -> Vec:
        return Vec(
            rng.normal(x, sd, (1, BIKES)),
            y if y == 0.0 else rng.normal(y, 8.0, (1, BIKES)),
            rng.normal(z, sd, (1, BIKES)),
        )

    end = point(860.0, 385.0, 1040.0, 25.0)
    return BikePoints(
        seat=point(330.0, 0.0, 800.0, 20.0),
        peg=point(510.0, 235.0, 330.0, 20.0),
        clamp=point(980.0, 0.0, 1020.0, 15.0),
        grip_end=end,
        grip_inner=end.plus(Vec(35.0, -119.0, rng.normal(6.0, 3.0, (1, BIKES)))),
    )


def _targets(rng: np.random.Generator) -> Numbers:
    """Invented wishes, fields (riders, 1)."""
    forearm = rng.normal(12.0, 4.0, (RIDERS, 1))
    return Numbers(
        bar_width_mm=rng.normal(770.0, 20.0, (RIDERS, 1)),
        navel_to_bar_mm=rng.normal(400.0, 15.0, (RIDERS, 1)),
        grip_tilt_deg=np.zeros((RIDERS, 1)),
        grip_sweep_deg=np.full((RIDERS, 1), 15.0),
        forearm_angle_deg=forearm,
        lever_angle_deg=Sides(forearm, forearm),
        lever_reach_mm=Sides(58.0, 58.0),
        knee_angle_deg=rng.normal(85.0, 4.0, (RIDERS, 1)),
        lean_deg=rng.normal(12.0, 3.0, (RIDERS, 1)),
    )


T = TypeVar("T", Linkage, Numbers)


def _part(value: T, rows: slice) -> T:
    """The same value for some of the riders."""
    cut: dict[str, Any] = {}
    for part in fields(type(value)):
        whole = getattr(value, part.name)
        cut[part.name] = whole[rows] if isinstance(whole, np.ndarray) else whole
    if isinstance(value, Numbers):
        forearm = cut["forearm_angle_deg"]
        cut["lever_angle_deg"] = Sides(forearm, forearm)
    return type(value)(**cut)


def _one_bike(bikes: BikePoints, column: int) -> BikePoints:
    """One of the bikes, components (1, 1)."""

    def one(point: Vec) -> Vec:
        return Vec(*(c[:, column : column + 1] if isinstance(c, np.ndarray) else c for c in point))

    return BikePoints(
        seat=one(bikes.seat),
        peg=one(bikes.peg),
        clamp=one(bikes.clamp),
        grip_end=one(bikes.grip_end),
        grip_inner=one(bikes.grip_inner),
    )
