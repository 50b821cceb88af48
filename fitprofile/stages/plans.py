"""Stage 8i: what the search chose, put together as plans a workshop can follow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from attrs import evolve

from fitprofile.geometry.vectors import Real, Vec
from fitprofile.model.bike import PINNED, Lever
from fitprofile.model.parts import Catalogue
from fitprofile.stages import moves
from fitprofile.stages.bar_rows import SEEN
from fitprofile.stages.bar_search import polished, seat_table
from fitprofile.stages.bar_setting import Bars, Uses
from fitprofile.stages.in_steps import steps_of, with_parts
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.limits import perch_band
from fitprofile.stages.misfit import (
    INSIDE,
    NO_LEG,
    Torso,
    bar_misfits,
    knee_misfit,
    lever_aims,
    lever_misfit,
    perch_turn,
    reach_misfit,
    turned_reading,
    width_misfit,
)
from fitprofile.stages.options import peg_shift, riser_shift, seat_shift
from fitprofile.stages.plan import FREE, PLAN_NAMES, Choice, Plan
from fitprofile.stages.posture import Numbers, Sides, numbers_on
from fitprofile.stages.reaches import reach_set
from fitprofile.stages.search import Found, Searched, on_pegs, search
from fitprofile.stages.survey import BikePoints


def plans_for(jobs: Uses, catalogue: Catalogue) -> tuple[Plan, ...]:
    """The plans for one bike: free adjustments, cheapest, quickest, closest.

    Parameters
    ----------
    jobs : sequence of (Job, float)
        One rider on one bike, once for each use with its weight.

    Returns
    -------
    tuple of Plan
        In the order of `PLAN_NAMES`; cheapest and quickest only where a combination is inside
        every tolerance. Chances are not worked out yet.
    """
    total = sum(weight for _, weight in jobs)
    jobs = tuple((one, weight / total) for one, weight in jobs)
    searched = search(jobs, catalogue)
    job, made = jobs[0][0], dict[Found, Plan]()
    before = _misfits(job, job.points, float(job.target.lean_deg), job.now)
    fine = tuple(name for name, misfit in before.items() if abs(misfit) <= INSIDE)
    for found in searched.found.values():
        if found not in made:
            plan = _plan(jobs, catalogue, searched, found)
            made[found] = evolve(plan, leave=tuple(_untouched(plan, fine)))
    return tuple(
        evolve(made[searched.found[name]], name=name)
        for name in PLAN_NAMES
        if name in searched.found
    )


def built(job: Job, plan: Plan, points: BikePoints, rake: Real) -> BikePoints:
    """Points of the bike with a plan carried out, components (...) float, mm.

    Parameters
    ----------
    points : BikePoints
        As found, scalars or drawn (n,).
    rake : (...) float, degrees
    """
    made = with_parts(job, points, plan.choice, rake)
    made = moves.raise_bar(made, *plan.riser_move_mm, rake)
    made = moves.slide_grips(made, plan.grip_slide_mm)
    if job.clip_on:
        made = moves.raise_bar(made, plan.clip_slide_mm, 0.0, rake)
    else:
        made = moves.roll_bar(made, plan.roll_deg)
    (seat_x, seat_z), (peg_x, peg_z) = plan.seat_move_mm, plan.peg_move_mm
    return evolve(
        made,
        seat=made.seat.plus(Vec(seat_x, 0.0, seat_z)),
        peg=made.peg.plus(Vec(peg_x, 0.0, peg_z)),
    )


def misfits_of(job: Job, plan: Plan) -> dict[str, float]:
    """How far a plan's bike lies from one use's wish, in tolerances, by number.

    For another use than the plan's own the rider sits in that use's own lean; levers and reaches
    stay as the plan set them. ``inf``: the number is not there, as where the hands cannot reach.
    """
    if job.stands is not None:
        stood = on_pegs(((job, 1.0),), plan.peg_move_mm)[0][0]
        return _standing_misfits(stood, plan.points, plan.after)
    lean = float(job.target.lean_deg)
    shown = numbers_on(job.rider, lean, plan.points)
    levers = evolve(
        shown,
        lever_angle_deg=plan.after.lever_angle_deg,
        lever_reach_mm=plan.after.lever_reach_mm,
    )
    return _misfits(job, plan.points, lean, levers)


def _standing_misfits(job: Job, points: BikePoints, shown: Numbers) -> dict[str, float]:
    """Shown less wished of a standing use in tolerances, its pegs where the job has them."""
    torso = Torso.of(job.rider, points.seat, 0.0)
    found = {name: float(off) for name, off in bar_misfits(job, points, torso).items()}
    del found["forearm_angle"]
    if np.isfinite(job.target.bar_width_mm):
        found["bar_width"] = float(width_misfit(job, shown.bar_width_mm))
    for side in SIDES:
        slope = float(getattr(shown.lever_angle_deg, side))
        if np.isfinite(slope):
            aim = float(job.target.forearm_angle_deg)
            found[f"lever_angle.{side}"] = float(lever_misfit(job, side, slope, aim))
    return found


STILL = (0.0, 0.0)
"""A move of seat, pegs or riser, mm, that is none."""


def bare_plan(
    job: Job,
    choice: Choice,
    *,
    seat: tuple[float, float] = STILL,
    pegs: tuple[float, float] = STILL,
    riser: tuple[float, float] = STILL,
) -> Plan:
    """Parts fitted and nothing set: points and numbers as found, nothing said of misfits or cost.

    ``seat``, ``pegs`` and ``riser`` are how far the parts move them, as `Plan` has it, mm.
    """
    return Plan(
        name=FREE,
        choice=choice,
        seat_move_mm=seat,
        peg_move_mm=pegs,
        riser_move_mm=riser,
        roll_deg=np.nan if job.clip_on else 0.0,
        clip_slide_mm=0.0 if job.clip_on else np.nan,
        grip_slide_mm=0.0,
        lever_rotation_deg=Sides(0.0, 0.0),
        lever_reach_change_mm=Sides(0.0, 0.0),
        points=job.points,
        after=job.now,
        deviations={},
        inside=False,
        price=0.0,
        minutes=0.0,
    )


def _plan(jobs: Uses, catalogue: Catalogue, searched: Searched, found: Found) -> Plan:
    """One plan with its numbers, steps and costs."""
    options = searched.options
    pegs = peg_shift(options.peg_plates[found.plate], options.fitted_peg_plate)
    jobs = on_pegs(jobs, pegs)
    job = jobs[0][0]
    riser, bar, clip, extender = searched.rows.parts[found.row]
    choice = Choice(
        riser=riser,
        bar=bar,
        extender=extender,
        clip_on=clip,
        peg_plate=options.peg_plates[found.plate],
        seat=options.seats[found.seat],
        lever_sets=options.lever_sets[found.lever_set],
    )
    seat = seat_shift(choice.seat, options.fitted_seat)
    one = Bars(
        jobs,
        searched.rows,
        np.array([found.row]),
        np.array([0]),
        seat_table([job.points.seat.plus(Vec(seat[0], 0.0, seat[1]))]),
        catalogue.labour,
        freed=found.freed,
    )
    setting = polished(one, found.setting, found.lean_deg, found.trued)
    bare = evolve(
        bare_plan(
            job, choice, seat=seat, pegs=pegs, riser=riser_shift(riser, options.fitted_riser)
        ),
        roll_deg=np.nan if job.clip_on else setting,
        clip_slide_mm=setting if job.clip_on else np.nan,
        grip_slide_mm=float(searched.rows.slide_mm[found.row]),
    )
    points = built(job, bare, job.points, job.rake)
    turns, readings = _levers(jobs, bare, points, found)
    reaches = Sides(
        *(
            reach_set(jobs, side, choice.levers_of(side), to_wish=side in found.reached)
            for side in SIDES
        )
    )
    after = _numbers(job, found.lean_deg, points, readings, reaches)
    made = evolve(
        bare,
        points=points,
        after=after,
        lever_rotation_deg=turns,
        lever_reach_change_mm=Sides(
            float(reaches.brake - job.now.lever_reach_mm.brake),
            float(reaches.clutch - job.now.lever_reach_mm.clutch),
        ),
    )
    deviations = _misfits(job, points, found.lean_deg, after)
    made = evolve(
        made,
        deviations=deviations,
        inside=all(abs(value) <= INSIDE for value in deviations.values())
        and all(
            abs(value) <= INSIDE
            for other, _ in jobs[1:]
            for value in misfits_of(other, made).values()
        ),
    )
    made = evolve(
        made,
        steps=tuple(steps_of(job, made)),
        cannot_undo=tuple(_cannot_undo(job, made)),
    )
    price, minutes = _cost(made, catalogue)
    return evolve(made, price=price, minutes=minutes)


def _numbers(job: Job, lean: float, points: BikePoints, levers: Sides, reaches: Sides) -> Numbers:
    """The rider's numbers; of a standing use those that need no seat, the forearm as wished."""
    shown = numbers_on(job.rider, lean, points, levers, reaches)
    if job.stands is None:
        return shown
    return evolve(
        shown,
        navel_to_bar_mm=np.nan,
        forearm_angle_deg=job.target.forearm_angle_deg,
        knee_angle_deg=np.nan,
        elbow_angle_deg=np.nan,
    )


def _levers(jobs: Uses, plan: Plan, points: BikePoints, found: Found) -> tuple[Sides, Sides]:
    """Turn of each perch and the slope its lever then has, degrees.

    A lever in line within its tolerance is left alone, unless it is chosen to be set all the
    same and has no pin; on a new bar each perch is set by straightedge, and its turn is ``nan``.
    """
    job = jobs[0][0]
    forearms = [
        _forearm(use, points, found.lean_deg if index == 0 else float(use.target.lean_deg))
        for index, (use, _) in enumerate(jobs)
    ]
    aims = lever_aims(jobs, forearms)
    turns, slopes = [], []
    for side in SIDES:
        reading, aim = (float(getattr(one, side)) for one in (job.now.lever_angle_deg, aims))
        lever: Lever | None = getattr(job.bike.levers, side)
        carried = reading if job.clip_on else reading - plan.roll_deg
        if lever is None or not np.isfinite(reading):
            turn, slope = np.nan, reading
        elif plan.choice.bar is not None or plan.choice.clip_on is not None:
            turn, slope = np.nan, aim
        elif (side not in found.trued or lever.perch == PINNED) and all(
            abs(float(lever_misfit(use, side, carried, forearm))) <= 1.0
            for (use, _), forearm in zip(jobs, forearms, strict=True)
        ):
            turn, slope = 0.0, carried
        else:
            axis = moves.grip_axis(points)
            band = lever.rotation if side in found.freed else perch_band(lever)
            wanted = float(perch_turn(axis, carried, aim))
            turn = wanted if band is None else min(max(wanted, band[0]), band[1])
            slope = float(turned_reading(axis, carried, turn)) if turn else carried
        turns.append(turn)
        slopes.append(slope)
    return Sides(*turns), Sides(*slopes)


def _forearm(job: Job, points: BikePoints, lean: float) -> float:
    """Forearm angle, degrees; the wished one where the hands cannot reach, and standing."""
    if job.stands is not None:
        return float(job.target.forearm_angle_deg)
    shown = float(numbers_on(job.rider, lean, points).forearm_angle_deg)
    return shown if np.isfinite(shown) else float(job.target.forearm_angle_deg)


def _misfits(job: Job, points: BikePoints, lean: float, shown: Numbers) -> dict[str, float]:
    """Shown less wished in tolerances, by number, scalars."""
    if job.stands is not None:
        return _standing_misfits(job, points, shown)
    torso = Torso.of(job.rider, points.seat, lean)
    bar = {name: float(misfit) for name, misfit in bar_misfits(job, points, torso).items()}
    found = {"bar_width": float(width_misfit(job, shown.bar_width_mm)), **bar}
    forearm = float(shown.forearm_angle_deg)
    if not np.isfinite(forearm):
        found["forearm_angle"] = np.inf
        forearm = float(job.target.forearm_angle_deg)
    knee = float(knee_misfit(job, points))
    found["knee_angle"] = knee if knee < NO_LEG else np.inf
    for side in SIDES:
        slope = float(getattr(shown.lever_angle_deg, side))
        reach = float(getattr(shown.lever_reach_mm, side))
        if np.isfinite(slope):
            found[f"lever_angle.{side}"] = float(lever_misfit(job, side, slope, forearm))
        if np.isfinite(reach) and np.isfinite(getattr(job.target.lever_reach_mm, side)):
            found[f"lever_reach.{side}"] = float(reach_misfit(job, side, reach))
    return found


MADE_BY: Mapping[str, Sequence[str]] = {
    "bar_width": ("bar", "clip_on", "extender", "bar_width"),
    "knee_angle": ("pegs_up", "seat"),
    "lever_angle": ("bar", "clip_on", "lever_rotation"),
    "lever_reach": ("lever_reach",),
}
"""Steps that change a number; every other number hangs on seat and bar."""

SEAT_AND_BAR = ("seat", "riser_height", "bar", "clip_on", "bar_roll", "clip_turn", "clip_slide")


def _untouched(plan: Plan, fine: Sequence[str]) -> Iterator[str]:
    """Of the numbers that are fine as found and stay so, those that no step of the plan is for."""
    touched = {step.what for step in plan.steps}
    for name in fine:
        if abs(plan.deviations.get(name, 0.0)) > INSIDE:
            continue
        part, _, side = name.partition(".")
        makers = MADE_BY.get(part, SEAT_AND_BAR)
        if touched.isdisjoint((*makers, *(f"{maker}.{side}" for maker in makers))):
            yield name


def _cannot_undo(job: Job, plan: Plan) -> Iterator[str]:
    """What the plan does that cannot be taken back."""
    new = plan.choice.bar is not None or plan.choice.clip_on is not None
    if plan.grip_slide_mm < -SEEN:
        yield "cut.bar"
    if job.bike.handlebar.pins and (new or abs(plan.grip_slide_mm) > SEEN):
        yield "free_pin.housing"
    for side in SIDES:
        lever: Lever | None = getattr(job.bike.levers, side)
        reading = getattr(job.now.lever_angle_deg, side)
        if lever is None or lever.perch != PINNED or not np.isfinite(reading):
            continue
        if new or getattr(plan.lever_rotation_deg, side):
            yield f"free_pin.{side}"


def _cost(plan: Plan, catalogue: Catalogue) -> tuple[float, float]:
    """Price and minutes of the parts, with the minutes of every free adjustment."""
    labour, parts = catalogue.labour, tuple(plan.choice.parts())
    new = plan.choice.bar is not None or plan.choice.clip_on is not None
    free = {
        "bar_roll": 0.0 if new else labour.roll.value,
        "clip_slide": 0.0 if new else labour.clip_slide.value,
        "bar_width": 0.0 if new else labour.slide.value,
        "lever_rotation": 0.0 if new else labour.perch.value,
        "lever_reach": labour.reach.value,
    }
    minutes = sum(
        free.get(step.what.partition(".")[0], 0.0) for step in plan.steps if step.part is None
    )
    return (
        sum(part.price.value for part in parts),
        sum(part.minutes.value for part in parts) + minutes,
    )
