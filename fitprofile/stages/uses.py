"""Stage 9e: a rider's standing uses beside the seated ones: prepared once, and on every plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from attrs import evolve

from fitprofile.errors import WARNING, Problem
from fitprofile.model.bike import Bike
from fitprofile.model.log import Entry
from fitprofile.model.rider import Rider, RiderLimits
from fitprofile.model.shop import Shop
from fitprofile.stages.clearance import LIGHT
from fitprofile.stages.complete import Completed
from fitprofile.stages.job import Job, Stands
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.offer import Offers
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan
from fitprofile.stages.posture import Numbers, Sides
from fitprofile.stages.standing import (
    StandingNumbers,
    Stood,
    numbers_on_each,
    reference_note,
    standing_misfits,
    stood,
)
from fitprofile.stages.standing_moves import StandingOn, standing_on
from fitprofile.stages.standing_wish import wished_standing
from fitprofile.stages.survey import Surveyed, survey
from fitprofile.stages.work_findings import apart


def stood_uses(
    rider: Rider,
    whole: Completed,
    calibrated: Linkage,
    bikes: Mapping[str, Bike],
    surveys: Mapping[str, Surveyed],
    shop: Shop,
    log: Sequence[Entry] = (),
) -> tuple[Mapping[str, Stood], tuple[Problem, ...]]:
    """Every standing use of a rider, calibrated.

    Parameters
    ----------
    calibrated : Linkage
        The body of the first seated use, or as measured where there is none; peg under the ball of
        the foot.
    bikes, surveys : mapping of str to Bike and Surveyed
        By key; a bike that a standing use was measured on is surveyed where it was not yet.
    log : sequence of Entry
        What felt right standing has its say in the wish.
    """
    allowed = {**shop.tolerances, **rider.tolerances}
    made: dict[str, Stood] = {}
    problems: tuple[Problem, ...] = ()
    for name, wish in rider.standing.items():
        bike = bikes.get(wish.measured_on or "")
        surveyed = surveys.get(bike.key) if bike is not None else None
        if bike is not None and surveyed is None:
            surveyed, _ = survey(bike, shop)
        reference = None
        if bike is not None and surveyed is not None:
            reference = bike, surveyed.points
        else:
            problems += (reference_note(rider, name),)
        felt, found = wished_standing(rider, name, log, shop)
        problems += found
        made[name], found = stood(rider, name, whole, calibrated, reference, allowed, felt)
        problems += found
    return made, problems


def standing_uses(uses: Mapping[str, Stood], job: Job) -> Mapping[str, StandingOn]:
    """Every standing use on one bike as found; the job may be that of any seated use."""
    return {
        name: standing_on(
            one, job.bike, job.points, job.rake, job.now.lever_angle_deg, clip_on=job.clip_on
        )
        for name, one in uses.items()
    }


def standing_findings(made: Transfer, use: str) -> tuple[Problem, ...]:
    """What a standing use on one bike has to say in words; lines not yet looked up."""
    one = made.standing[use]
    far = float(one.now.out_of_reach_mm)
    found = []
    if far:
        found.append(
            f"as found the grips are {apart(far)} for the arms of a rider who stands in balance at "
            "their own lean, so there is no forearm angle to show"
        )
    up, back = _hands_moved(made, use)
    if up > LIGHT:
        found.append(
            f"the bar goes up {up:.0f} mm: expect one hose or cable too short; dry-fit on packers "
            "and turn lock to lock, fork extended and compressed, before parts are bought"
        )
    if min(up, back) > LIGHT:
        found.append(
            f"the hands go {up:.0f} mm up and {back:.0f} back: weight leaves the front wheel and "
            "it may get light when seated; ride it gently first"
        )
    return tuple(Problem(text, None, made.bike.file, level=WARNING) for text in found)


def _hands_moved(made: Transfer, use: str) -> tuple[float, float]:
    """How far the grips go up and back against the floor, mm; with the chosen plan if there is one.

    Pegs that a plan moves do not count: they move no bar.
    """
    if made.offers is not None:
        step = made.offers.chosen.plan.points.grip_end.minus(made.points.grip_end)
        return float(step.z), -float(step.x)
    one = made.standing[use]
    up = float(one.after.grip_above_peg_mm) - float(one.now.grip_above_peg_mm)
    return up, float(one.now.grip_ahead_of_peg_mm) - float(one.after.grip_ahead_of_peg_mm)


def standing_job(one: Stood, job: Job, *, alone: bool = False) -> Job:
    """A standing use as a wish of a plan: place and width of the grips, slope of the levers.

    ``alone``: nobody sits in it, so tilt and sweep are wished as on the bike it was measured on
    (without one: level, any sweep), and no lean of the seat is looked for.

    Pedals follow their pegs whatever is fitted, so they have no say. Where the levers' slope is
    not known, as where the arms are too short for the wish, that of the seated use counts, and
    alone none does: no lever is touched for its sake. Where the arms are wished differently the
    forearm is their mean, as sitting.
    """
    target, none = one.target, Sides(np.nan, np.nan)
    slopes, mean = target.lever_angle_deg, _mean(target.lever_angle_deg)
    if not np.isfinite(mean):
        slopes, mean = job.target.lever_angle_deg, float(job.target.forearm_angle_deg)
        job = evolve(job, now=evolve(job.now, lever_angle_deg=none)) if alone else job
    wish = Numbers(
        bar_width_mm=target.bar_width_mm,
        navel_to_bar_mm=np.nan,
        grip_tilt_deg=target.grip_tilt_deg if alone else np.nan,
        grip_sweep_deg=target.grip_sweep_deg if alone else np.nan,
        forearm_angle_deg=mean,
        lever_angle_deg=slopes,
        lever_reach_mm=none,
        lean_deg=job.target.lean_deg if alone else 0.0,
    )
    place = Stands(
        job.points.peg, float(target.grip_above_peg_mm), float(target.grip_ahead_of_peg_mm)
    )
    limits = RiderLimits() if alone else job.limits
    return evolve(job, target=wish, stands=place, limits=limits)


def _mean(sides: Sides) -> float:
    """Half way between both levers, degrees."""
    return 0.5 * float(np.add(sides.brake, sides.clutch))


def with_standing(offers: Offers, job: Job, uses: Mapping[str, Stood]) -> Offers:
    """The same plans with what each gives and costs every standing use."""
    plans = [offer.plan for offer in offers.offers]
    shown = {name: on_plans(one, job, plans) for name, one in uses.items()}
    made = []
    for index, offer in enumerate(offers.offers):
        numbers = {name: found[index] for name, found in shown.items()}
        costs = {name: standing_misfits(uses[name], found) for name, found in numbers.items()}
        made.append(evolve(offer, others={**offer.others, **costs}, standing=numbers))
    return evolve(offers, offers=tuple(made))


def on_plans(one: Stood, job: Job, plans: Sequence[Plan]) -> tuple[StandingNumbers, ...]:
    """One standing use on the bike of each plan; pedals follow their pegs."""
    levers = [plan.after.lever_angle_deg for plan in plans]
    return numbers_on_each(one, [plan.points for plan in plans], levers, job.points.peg)
