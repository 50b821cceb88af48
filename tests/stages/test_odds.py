"""The chance of a plan against a simulation by hand: every draw built and judged one by one."""

from __future__ import annotations

from math import isnan
from typing import Any

import numpy as np
import pytest
from attrs import asdict, evolve

from fitprofile.geometry.vectors import Vec
from fitprofile.model.parts import Bar, Catalogue
from fitprofile.model.quantity import Reading
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.odds import chance_of
from fitprofile.stages.plan import FREE, Plan
from fitprofile.stages.plans import plans_for
from fitprofile.stages.posture import Sides
from fitprofile.stages.spread import Tried
from tests import by_hand
from tests.stages import jobs
from tests.stages.by_force import NAMES, Force, combo_of
from tests.stages.invented import moved
from tests.stages.shelves import KINDS, a_job, shelf

DRAWS = 400

SPREAD = {
    "navel_forward_mm": 6.0,
    "navel_up_mm": 5.0,
    "shoulder_up_mm": 8.0,
    "upper_arm_mm": 6.0,
    "thigh_mm": 5.0,
}
"""mm; of the drawn bodies."""


class Sat:
    """The draws' bodies and leans; all that a chance reads of a calibrated sit-on."""

    def __init__(self, linkage: object, lean_deg: object) -> None:
        self.linkage, self.lean_deg = linkage, lean_deg


def tried(job: Job, rng: np.random.Generator, scale: float = 1.0) -> Tried:
    """Bodies, bike, wishes and readings round those of the job."""

    def noise(sd: float) -> np.ndarray:
        return rng.normal(0.0, scale * sd, DRAWS)

    body = evolve(
        job.rider, **{n: float(getattr(job.rider, n)) + noise(sd) for n, sd in SPREAD.items()}
    )
    points = job.points

    def shaken(name: str) -> Vec:
        point = getattr(points, name)
        return Vec(float(point.x) + noise(2.0), float(point.y), float(point.z) + noise(2.0))

    wish = evolve(
        job.target,
        navel_to_bar_mm=float(job.target.navel_to_bar_mm) + noise(4.0),
        forearm_angle_deg=float(job.target.forearm_angle_deg) + noise(1.0),
        lever_angle_deg=type(job.target.lever_angle_deg)(
            *(float(getattr(job.target.lever_angle_deg, side)) + noise(1.0) for side in SIDES)
        ),
    )
    readings = type(job.now.lever_angle_deg)(
        float(job.now.lever_angle_deg.brake) + noise(1.5),
        float(job.now.lever_angle_deg.clutch) + noise(1.5),
    )
    return Tried(
        sat=Sat(body, float(job.target.lean_deg) + noise(1.0)),  # type: ignore[arg-type]
        wish=wish,
        points=evolve(points, seat=shaken("seat"), peg=shaken("peg")),
        rake=job.rake + noise(0.5),
        lever_angle=readings,
    )


def one(thing: object, index: int) -> dict[str, float]:
    """One draw of a value's fields."""
    return {
        name: float(np.broadcast_to(value, (DRAWS,))[index])
        for name, value in asdict(thing).items()  # type: ignore[arg-type]
        if not isinstance(value, dict)
    }


def by_simulation(job: Job, plan: Plan, drawn: Tried) -> float:
    """Share of draws inside, each bike built by `by_force` and each number by `by_hand`."""
    combo = combo_of(job, plan)
    setting = plan.clip_slide_mm if job.clip_on else plan.roll_deg
    hits = 0
    for index in range(DRAWS):
        points = evolve(
            job.points,
            **{
                name: type(point)(
                    *(float(np.broadcast_to(part, (DRAWS,))[index]) for part in point)
                )
                for name in NAMES
                if (point := getattr(drawn.points, name)) is not None
            },
        )
        rake = float(drawn.rake[index])
        # The grips are slid by as much as on the job itself: that is how much is cut.
        there = Force(evolve(job, points=points, rake=rake), Catalogue()).placed(combo, setting)
        body = one(drawn.sat.linkage, index)
        lean = float(np.broadcast_to(drawn.sat.lean_deg, (DRAWS,))[index])
        lean += float(plan.after.lean_deg) - float(job.target.lean_deg)
        shown, wish = by_hand.numbers(body, lean, there), one(drawn.wish, index)
        hits += inside(job, plan, drawn, index, (shown, wish, there))
    return hits / DRAWS


def inside(
    job: Job,
    plan: Plan,
    drawn: Tried,
    index: int,
    at: tuple[dict[str, Any], dict[str, Any], dict[str, Any]],
) -> bool:
    """Whether one draw has every number inside its tolerance."""
    shown, wish, there = at
    allowed = job.tolerances
    off = {
        name: (shown[f"{name}_{unit}"] - wish[f"{name}_{unit}"]) / allowed[name]
        for name, unit in (("bar_width", "mm"), ("navel_to_bar", "mm"), ("forearm_angle", "deg"))
    }
    knee, band = shown["knee_angle_deg"] - wish["knee_angle_deg"], job.limits.knee_angle
    room = allowed["knee_angle"]
    if knee > 0.0 and band is not None:
        room = max(room, band[1] - wish["knee_angle_deg"])
    off["knee_angle"] = knee / room
    axis = by_hand.along(by_hand.less(there["grip_end"], there["grip_inner"]))
    for side in ("brake", "clutch"):
        reading = float(getattr(drawn.lever_angle, side)[index])
        turn = float(getattr(plan.lever_rotation_deg, side))
        carried = reading if job.clip_on else reading - plan.roll_deg
        if isnan(turn):
            slope = float(getattr(plan.after.lever_angle_deg, side))
        else:
            edge = by_hand.turned(by_hand.blade(axis, carried), axis, -turn)
            slope = float(np.degrees(np.arctan2(-edge[2], edge[0])))
        aim = float(getattr(drawn.wish.lever_angle_deg, side)[index])
        off[side] = (slope - aim) / allowed["lever_angle"]
    return all(abs(value) <= 1.0 for value in off.values())


@pytest.mark.parametrize("seed", [0, 2, 3, 6, 7, 8, 14, 22])
def test_a_chance_is_the_share_of_draws_with_every_number_inside(seed: int) -> None:
    """One-piece bars and clip-ons, leaned and not, old bars and new ones."""
    rng = np.random.default_rng(seed)
    job = a_job(rng, **KINDS[sorted(KINDS)[seed % len(KINDS)]])
    shop = shelf(rng, clip_on=job.clip_on, extenders=0)
    drawn = tried(job, rng, scale=0.5)
    made = {plan.name: plan for plan in plans_for(((job, 1.0),), shop)}
    chances = []
    for plan in made.values():
        found = chance_of(job, plan, drawn)
        if not plan.inside:
            assert found == 0.0
            continue
        assert found == pytest.approx(by_simulation(job, plan, drawn), abs=1e-9)
        chances.append(found)
    assert max(chances) > 0.0


def test_without_any_spread_a_plan_that_is_inside_is_certain() -> None:
    rng = np.random.default_rng(13)
    job = a_job(rng, **KINDS["clip-ons, with a lean band"])
    drawn = tried(job, rng, scale=0.0)
    for plan in plans_for(((job, 1.0),), shelf(rng, clip_on=True, extenders=0)):
        levers = (plan.after.lever_angle_deg.brake, plan.after.lever_angle_deg.clutch)
        aim = float(job.target.forearm_angle_deg)
        near = all(abs(float(lever) - aim) <= job.tolerances["lever_angle"] for lever in levers)
        assert chance_of(job, plan, drawn) == float(plan.inside and near)


def test_a_plan_that_leaves_a_number_outside_has_no_chance() -> None:
    """Parts are what they are, however wide the spreads."""
    rng = np.random.default_rng(2)
    job = a_job(rng)
    free = next(p for p in plans_for(((job, 1.0),), Catalogue()) if p.name == FREE)
    assert not free.inside
    assert chance_of(job, free, tried(job, rng, scale=3.0)) == 0.0


def test_the_more_is_known_the_better_the_chance() -> None:
    """A bike as wished, nothing to change: spreads doubled, single, halved, a tenth."""
    job = jobs.job()
    plan = plans_for(((job, 1.0),), Catalogue())[0]
    assert plan.inside
    chances = [
        chance_of(job, plan, tried(job, np.random.default_rng(1), scale=scale))
        for scale in (2.0, 1.0, 0.5, 0.1)
    ]
    assert chances == sorted(chances)
    assert chances[0] < 0.5 < chances[-1] == 1.0


def test_a_new_bar_s_levers_are_set_by_straightedge_so_their_readings_do_not_matter() -> None:
    """The wished grips 40 mm too low: another bar brings them back, a roll never would."""
    job = jobs.job(moved(grip_end=(0.0, -40.0), grip_inner=(0.0, -40.0)))
    grip = (31.0, 120.0, 5.0)
    bar = Bar(
        name="Bar",
        width=Reading(750.0),
        rise=Reading(30.0),
        pullback=Reading(85.0),
        backsweep=Reading(float(np.degrees(np.arctan2(grip[0], grip[1])))),
        upsweep=Reading(float(np.degrees(np.arcsin(grip[2] / by_hand.size(grip))))),
        clamp_diameter=Reading(28.6),
    )
    plan = plans_for(((job, 1.0),), Catalogue(bars=(bar,)))[-1]
    assert plan.choice.bar == bar
    assert plan.inside
    drawn = tried(job, np.random.default_rng(2), scale=0.5)
    wild = evolve(drawn, lever_angle=Sides(90.0 + 0.0 * drawn.rake, -90.0 + 0.0 * drawn.rake))
    assert chance_of(job, plan, wild) == chance_of(job, plan, drawn) > 0.0
