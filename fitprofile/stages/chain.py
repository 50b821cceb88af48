"""Stage 10: the order of the stages, from files' values to a finished transfer."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from attrs import evolve, frozen

from fitprofile.errors import NOTE, WARNING, Problem, has_errors
from fitprofile.geometry.vectors import Floats
from fitprofile.model.bike import CLIP_ON, Bike
from fitprofile.model.rider import BALL, Rider
from fitprofile.model.shop import Shop
from fitprofile.stages import moves
from fitprofile.stages.adjust import exact
from fitprofile.stages.calibrate import (
    Evidence,
    Settled,
    evidence,
    normalised_misfits,
    row_names,
    settle,
    solve,
)
from fitprofile.stages.complete import Completed, complete
from fitprofile.stages.findings import find
from fitprofile.stages.job import Job, numbers_after
from fitprofile.stages.limits import limits_of
from fitprofile.stages.linkage import at_ball, prior
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import Sides, calf_contact, numbers_on
from fitprofile.stages.practical import practical
from fitprofile.stages.siton import MOVED, SitOn, seat_to_bar_gain, shifted, sit_on, with_points
from fitprofile.stages.spread import Drawn, draw, on_bike, trust
from fitprofile.stages.survey import BikePoints, Surveyed, survey
from fitprofile.stages.targets import lever_reach, lever_reach_sd, target

__all__ = ["Prepared", "Transfer", "prepare", "transfer"]

BLUNDER = 3.29
"""Normalised residual beyond which a number is questioned (Baarda 1968, alpha 0.001)."""

NEXT_TO_LARGEST = 0.9
"""Numbers within 10 % of the largest residual cannot be told apart and are all named."""

SETTLED = 1e-2
"""Prior spreads that calibration may still be moving by: about a tenth of a millimetre."""

UNLIKELY = 3.0902
"""Normal deviate of 99.9 %, for the test of the whole calibration's cost."""


@frozen(kw_only=True)
class Prepared:
    """A rider calibrated once, ready for any bike.

    Parameters
    ----------
    body : Completed
        Landmarks, measured or estimated.
    settled : mapping of str to Settled
        What the calibrated body shows, by use.
    surveys, references : mapping of str to Surveyed and Bike
        The bikes of the sit-ons, by key.
    drawn : Drawn
        The same rider drawn from the spreads of everything measured.
    """

    rider: Rider
    shop: Shop
    body: Completed
    settled: Mapping[str, Settled]
    surveys: Mapping[str, Surveyed]
    references: Mapping[str, Bike]
    drawn: Drawn


def prepare(
    rider: Rider, bikes: Mapping[str, Bike], shop: Shop
) -> tuple[Prepared | None, tuple[Problem, ...]]:
    """Complete and calibrate a rider.

    Parameters
    ----------
    bikes : mapping of str to Bike
        By key; those that the cockpits were measured on are looked up in it.

    Returns
    -------
    prepared : Prepared or None
        ``None`` where an error-level problem stops the work.
    problems : tuple of Problem
        Lines not yet looked up.
    """
    body, problems = complete(rider, shop)
    if has_errors(problems):
        return None, problems
    surveys: dict[str, Surveyed] = {}
    sit_ons: list[SitOn] = []
    for use in rider.cockpits:
        bike = bikes.get(rider.cockpits[use].measured_on or "")
        surveyed, found = _reference(rider, use, bike, shop, surveys)
        made, more = sit_on(rider, use, surveyed, shop)
        problems += found + more
        if made is not None:
            sit_ons.append(made)
    if not rider.cockpits:
        text = "no riding position to bring about: add a table [cockpit.road]"
        problems += (Problem(text, None, rider.file),)
    if not sit_ons:
        return None, problems
    mean, spreads = prior(body)
    known = evidence(mean, spreads, tuple(sit_ons))
    solution = solve(known)
    answer = solution.unknowns[:, 0]
    problems += _doubts(rider, known, answer, solution.cost[0], solution.redundancy)
    if solution.last_step[0] > SETTLED:
        text = "calibration did not settle; check the cockpit's numbers"
        problems += (Problem(text, "cockpit", rider.file, level=WARNING),)
    drawn = draw(known, spreads, surveys, solution)
    prepared = Prepared(
        rider=rider,
        shop=shop,
        body=body,
        settled={one.use: one for one in settle(known, answer)},
        surveys=surveys,
        references={key: bikes[key] for key in surveys},
        drawn=drawn,
    )
    return prepared, problems


def transfer(
    prepared: Prepared, bike: Bike, use: str
) -> tuple[Transfer | None, tuple[Problem, ...]]:
    """The changes that give one bike the rider's own cockpit.

    Returns
    -------
    transfer : Transfer or None
        ``None`` where the bike's survey leaves a needed point unfixed, or the use could not be
        calibrated.
    problems : tuple of Problem
        Lines not yet looked up; also inside the transfer.
    """
    sat = prepared.settled.get(use)
    known = prepared.surveys.get(bike.key)
    surveyed, problems = (known, ()) if known is not None else survey(bike, prepared.shop)
    if surveyed is None or sat is None:
        return None, problems
    made = _transfer(prepared, bike, sat, surveyed)
    made = evolve(made, problems=problems + find(made))
    return made, made.problems


def _transfer(prepared: Prepared, bike: Bike, sat: Settled, surveyed: Surveyed) -> Transfer:
    """All numbers of one transfer, without the problems found in them."""
    rider = prepared.rider
    cockpit = rider.cockpits[sat.use]
    same = on_bike((sat, *prepared.settled.values()), bike.key)
    points = surveyed.points if same is None else _moved(surveyed, same)
    reference = prepared.references.get(sat.bike or "")
    wish = target(cockpit, sat, reference)
    readings = Sides(
        *(
            np.nan if side not in surveyed.lever_angle else surveyed.lever_angle[side].value
            for side in ("brake", "clutch")
        )
    )
    now = numbers_on(sat.linkage, sat.lean_deg, points, readings, lever_reach(bike))
    clip_on = bike.handlebar.kind == CLIP_ON
    rake = surveyed.rake.value
    changes = exact(
        sat.linkage,
        wish,
        points,
        rake,
        readings,
        now.lever_reach_mm,
        clip_on=clip_on,
        clip_turn=0.0 if bike.clip_turn is None else bike.clip_turn.value,
    )
    tolerances = {**prepared.shop.tolerances, **rider.tolerances}
    job = Job(
        rider=sat.linkage,
        target=wish,
        now=now,
        points=points,
        rake=rake,
        clip_on=clip_on,
        bike=bike,
        limits=rider.limits,
        tolerances=tolerances,
        reach_sd=lever_reach_sd(bike, prepared.shop),
    )
    trusted = trust(prepared.drawn, sat.use, cockpit, reference, surveyed, job, changes)
    done = practical(job, changes)
    girth = prepared.body.girth_excess_mm
    ball = sat.linkage if cockpit.foot == BALL else at_ball(sat.linkage)
    axis = moves.grip_axis(points)
    return Transfer(
        rider=rider,
        bike=bike,
        use=sat.use,
        cockpit=cockpit,
        body=prepared.body,
        linkage=sat.linkage,
        surveyed=surveyed,
        points=points,
        adjusted=same is not None,
        clip_on=clip_on,
        now=now,
        target=wish,
        exact=changes,
        exact_after=numbers_after(job, changes),
        give_or_take=trusted.changes,
        now_give_or_take=trusted.now,
        practical=done,
        limits=limits_of(job, changes),
        contact=calf_contact(ball, points, girth),
        contact_after=calf_contact(ball, done.points, girth),
        tolerances=tolerances,
        chance=trusted.chance,
        matters_most=trusted.matters_most,
        levelling_turn_deg=(
            float(moves.levelling_turn(axis, wish.grip_tilt_deg, rake)) if clip_on else np.nan
        ),
    )


def _reference(
    rider: Rider, use: str, bike: Bike | None, shop: Shop, surveys: dict[str, Surveyed]
) -> tuple[Surveyed | None, tuple[Problem, ...]]:
    """Survey of the bike a cockpit was measured on; without it the numbers count as memory."""
    key = f"cockpit.{use}.measured_on"
    named = rider.cockpits[use].measured_on
    if bike is None:
        text = (
            "no bike is named that these numbers were measured on, so they count as memory and the "
            "answer is wide; tape the good bike and name it here"
            if named is None
            else f"bike '{named}' cannot be used, so these numbers count as memory; mend its file"
        )
        level = NOTE if named is None else WARNING
        return None, (Problem(text, key if named else f"cockpit.{use}", rider.file, level=level),)
    if bike.key in surveys:
        return surveys[bike.key], ()
    surveyed, problems = survey(bike, shop)
    if surveyed is not None:
        surveys[bike.key] = surveyed
        return surveyed, problems
    text = f"bike '{bike.key}' is not taped well enough, so these numbers count as memory"
    return None, (*problems, Problem(text, key, rider.file, level=WARNING))


def _moved(surveyed: Surveyed, same: Settled) -> BikePoints:
    """The bike's points, all of them, moved as its sit-on moved the seat-to-bar vector."""
    first, second = same.step or (0.0, 0.0)
    taped = surveyed.points
    loose = tuple(name for name in taped.others if name in surveyed.names)
    names = MOVED + loose
    known = {name: taped.others[name] if name in loose else getattr(taped, name) for name in names}
    new = shifted(known, seat_to_bar_gain(surveyed, names), first, second)
    return with_points(taped, new)


def _doubts(
    rider: Rider, known: Evidence, answer: Floats, cost: float, redundancy: int
) -> tuple[Problem, ...]:
    """Numbers that do not fit the others, all that are within 10 % of the worst."""
    size = np.abs(normalised_misfits(known, answer[:, None]))
    worst = np.nanmax(size)
    # Wilson and Hilferty (1931): the cube root of chi-square over its freedom is nearly normal.
    part = 2.0 / (9.0 * redundancy)
    unlikely = redundancy * (1.0 - part + UNLIKELY * np.sqrt(part)) ** 3
    if worst <= BLUNDER and cost <= unlikely:
        return ()
    names = dict.fromkeys(
        name
        for name, value in zip(row_names(known), size, strict=True)
        if value >= NEXT_TO_LARGEST * worst
    )
    text = (
        f"the rider's numbers do not fit together: {', '.join(names)} "
        f"{'lies' if len(names) == 1 else 'lie'} {worst:.1f} spreads off; measure "
        f"{'it' if len(names) == 1 else 'them'} again"
    )
    return (Problem(text, "cockpit", rider.file, level=WARNING),)
