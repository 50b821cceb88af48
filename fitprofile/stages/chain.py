"""Stage 10: the order of the stages, from files' values to a finished transfer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from attrs import evolve, field

from fitprofile.errors import ERROR, NOTE, WARNING, Problem, has_errors
from fitprofile.geometry.vectors import Floats
from fitprofile.model.bike import CLIP_ON, Bike
from fitprofile.model.rider import BALL, Rider
from fitprofile.model.shop import Shop
from fitprofile.stages import moves
from fitprofile.stages.adjust import exact
from fitprofile.stages.calibrate import Settled, normalised_misfits, settle, solve
from fitprofile.stages.complete import Completed, complete
from fitprofile.stages.evidence import Evidence, evidence, row_origins
from fitprofile.stages.findings import find
from fitprofile.stages.job import Job, numbers_after
from fitprofile.stages.limits import limits_of
from fitprofile.stages.linkage import Linkage, at_ball, prior
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import Numbers, Sides, calf_contact, numbers_on
from fitprofile.stages.practical import practical
from fitprofile.stages.siton import MOVED, SitOn, seat_to_bar_gain, shifted, sit_on, with_points
from fitprofile.stages.spread import Drawn, draw, on_bike, trust
from fitprofile.stages.survey import BikePoints, Surveyed, survey
from fitprofile.stages.targets import arms_sd, lever_reach, lever_reach_sd, target
from fitprofile.values import frozen

if TYPE_CHECKING:
    from fitprofile.data.places import Place
    from fitprofile.model.log import Entry
    from fitprofile.model.parts import Catalogue
    from fitprofile.stages.standing import Stood

__all__ = ["Prepared", "Transfer", "prepare", "transfer", "with_plans"]

BLUNDER = 3.29
"""Normalised residual beyond which a number is questioned (Baarda 1968, alpha 0.001)."""

NEXT_TO_LARGEST = 0.9
"""Numbers within 10 % of the largest residual cannot be told apart and are all named."""

SETTLED = 1e-2
"""Prior spreads that calibration may still be moving by: about a tenth of a millimetre."""

NEVER_MEASURED = (
    "nobody measured this rider sitting, so arms and trunk are worked out from the body's own "
    "measurements, and forearm angle and balance with them"
)
"""Said of a rider who has standing uses alone."""

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
        The wish as the calibrated body shows it, by use; empty where the rider has standing uses
        alone.
    sat : tuple of Settled
        What it shows in each sit-on, cockpits first, then entries of the log.
    surveys, references : mapping of str to Surveyed and Bike
        The bikes of the sit-ons, by key.
    drawn : Drawn
        The same rider drawn from the spreads of everything measured.
    standing : mapping of str to Stood
        The rider's standing uses, calibrated.
    """

    rider: Rider
    shop: Shop
    body: Completed
    settled: Mapping[str, Settled]
    sat: tuple[Settled, ...]
    surveys: Mapping[str, Surveyed]
    references: Mapping[str, Bike]
    drawn: Drawn
    standing: Mapping[str, Stood] = field(factory=dict)


def prepare(
    rider: Rider, bikes: Mapping[str, Bike], shop: Shop, log: Sequence[Entry] = ()
) -> tuple[Prepared | None, tuple[Problem, ...]]:
    """Complete and calibrate a rider.

    Parameters
    ----------
    bikes : mapping of str to Bike
        By key; those that cockpits and entries of the log were measured on are looked up in it.
    log : sequence of Entry
        The rider's log in the order of the file: more sit-ons, see `fitprofile.stages.entries`.

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
    sit_ons, found = _sit_ons(rider, bikes, shop, surveys)
    problems += found
    if not sit_ons and (rider.cockpits or not rider.standing):
        return None, problems
    if log:
        from fitprofile.stages.entries import logged

        more_sit_ons, found = logged(rider, log, sit_ons, bikes, surveys, shop)
        sit_ons += more_sit_ons
        problems += found
    if not sit_ons:
        return _with_standing(_never_sat(rider, shop, body, surveys), bikes, problems, log)
    mean, spreads = prior(body)
    known = evidence(mean, spreads, tuple(sit_ons))
    solution = solve(known)
    answer = solution.unknowns[:, 0]
    problems += _doubts(rider, known, answer, solution.cost[0], solution.redundancy)
    if solution.last_step[0] > SETTLED:
        text = "calibration did not settle; check the cockpit's numbers"
        problems += (Problem(text, "cockpit", rider.file, level=WARNING),)
    drawn = draw(known, spreads, surveys, solution)
    sat = settle(known, answer)
    wish = {one.use: one for one in sat}
    if log:
        from fitprofile.stages.entries import log_file
        from fitprofile.stages.wish import bar_notes, disagreements, wishes

        wish = wishes(known.sit_ons, sat)
        problems += disagreements(known.sit_ons, log_file(rider))
        problems += tuple(bar_notes(known.sit_ons, wish, rider.file))
        wished = wishes(known.sit_ons, drawn.settled).values()
        drawn = evolve(drawn, settled=(*wished, *drawn.settled))
    prepared = Prepared(
        rider=rider,
        shop=shop,
        body=body,
        settled=wish,
        sat=sat,
        surveys=surveys,
        references={key: bikes[key] for key in surveys},
        drawn=drawn,
    )
    return _with_standing(prepared, bikes, problems, log)


def _sit_ons(
    rider: Rider, bikes: Mapping[str, Bike], shop: Shop, surveys: dict[str, Surveyed]
) -> tuple[list[SitOn], tuple[Problem, ...]]:
    """Every cockpit as a sit-on; bikes that are surveyed for it are added to ``surveys``."""
    sit_ons: list[SitOn] = []
    problems: tuple[Problem, ...] = ()
    for use in rider.cockpits:
        bike = bikes.get(rider.cockpits[use].measured_on or "")
        surveyed, found = _reference(rider, use, bike, shop, surveys)
        made, more = sit_on(rider, use, surveyed, shop)
        problems += found + more
        if made is not None:
            sit_ons.append(made)
    if not rider.cockpits:
        key, level = "cockpit", ERROR
        text = "no riding position to bring about: add a table [cockpit.road]"
        if rider.standing:
            key, level = "standing", NOTE
            text = f"{NEVER_MEASURED}: add a table [cockpit.road] to make them surer"
        problems += (Problem(text, key, rider.file, level=level),)
    return sit_ons, problems


def _never_sat(
    rider: Rider, shop: Shop, body: Completed, surveys: Mapping[str, Surveyed]
) -> Prepared:
    """A rider who has standing uses alone, these not prepared yet."""
    from fitprofile.stages.unseated import NOTHING_DRAWN

    return Prepared(
        rider=rider,
        shop=shop,
        body=body,
        settled={},
        sat=(),
        surveys=surveys,
        references={},
        drawn=NOTHING_DRAWN,
    )


def _with_standing(
    ready: Prepared,
    bikes: Mapping[str, Bike],
    problems: tuple[Problem, ...],
    log: Sequence[Entry],
) -> tuple[Prepared, tuple[Problem, ...]]:
    """The rider's standing uses prepared as well; nothing is imported where there are none."""
    if not ready.rider.standing:
        return ready, problems
    from fitprofile.stages.uses import stood_uses

    standing, found = stood_uses(
        ready.rider, ready.body, body_at_ball(ready), bikes, ready.surveys, ready.shop, log
    )
    return evolve(ready, standing=standing), problems + found


def body_at_ball(ready: Prepared) -> Linkage:
    """The body of the first seated use, or as measured; peg under the ball of the foot."""
    if not ready.settled:
        return prior(ready.body)[0]
    use, sat = next(iter(ready.settled.items()))
    return sat.linkage if ready.rider.cockpits[use].foot == BALL else at_ball(sat.linkage)


def survey_of(prepared: Prepared, bike: Bike) -> tuple[Surveyed | None, tuple[Problem, ...]]:
    """A bike's survey, made where a sit-on has not asked for it yet."""
    known = prepared.surveys.get(bike.key)
    return (known, ()) if known is not None else survey(bike, prepared.shop)


def transfer(
    prepared: Prepared, bike: Bike, use: str, *, work: bool = True
) -> tuple[Transfer | None, tuple[Problem, ...]]:
    """The changes that give one bike the rider's own cockpit.

    Parameters
    ----------
    work : bool
        Whether the work is still ahead; once it is done, what is found of the bike is past.

    Returns
    -------
    transfer : Transfer or None
        ``None`` where the bike's survey leaves a needed point unfixed, or the use could not be
        calibrated.
    problems : tuple of Problem
        Lines not yet looked up; also inside the transfer.
    """
    sat = prepared.settled.get(use)
    surveyed, problems = survey_of(prepared, bike)
    if surveyed is None or sat is None:
        return None, problems
    made = _transfer(prepared, bike, sat, surveyed)
    if made.cockpit.knee_angle.sides is not None:
        from fitprofile.stages.each_side import peg_sides

        made = evolve(made, pegs=peg_sides(made.job, made.cockpit))
    if prepared.standing:
        from fitprofile.stages.uses import standing_uses

        made = evolve(made, standing=standing_uses(prepared.standing, made.job))
    found = find(made)
    found = found if work else tuple(p for p in found if p.file != bike.file)
    made = evolve(made, problems=problems + found)
    return made, made.problems


def _transfer(prepared: Prepared, bike: Bike, sat: Settled, surveyed: Surveyed) -> Transfer:
    """All numbers of one transfer, without the problems found in them."""
    rider, cockpit = prepared.rider, prepared.rider.cockpits[sat.use]
    same = on_bike((sat, *prepared.sat), bike.key)
    points = surveyed.points if same is None else _moved(surveyed, same)
    job = seated_job(prepared, bike, sat, surveyed, points)
    changes = exact(
        job.rider,
        job.target,
        points,
        job.rake,
        job.now.lever_angle_deg,
        job.now.lever_reach_mm,
        clip_on=job.clip_on,
        clip_turn=0.0 if bike.clip_turn is None else bike.clip_turn.value,
    )
    reference = prepared.references.get(sat.bike or "")
    trusted = trust(prepared.drawn, sat.use, cockpit, reference, surveyed, job, changes)
    done = practical(job, changes)
    girth = prepared.body.girth_excess_mm
    ball = sat.linkage if cockpit.foot == BALL else at_ball(sat.linkage)
    turn = moves.levelling_turn(moves.grip_axis(points), job.target.grip_tilt_deg, job.rake)
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
        clip_on=job.clip_on,
        now=job.now,
        target=job.target,
        exact=changes,
        exact_after=numbers_after(job, changes),
        give_or_take=trusted.changes,
        now_give_or_take=trusted.now,
        practical=done,
        limits=limits_of(job, changes),
        contact=calf_contact(ball, points, girth),
        contact_after=calf_contact(ball, done.points, girth),
        tolerances=job.tolerances,
        chance=trusted.chance,
        matters_most=trusted.matters_most,
        levelling_turn_deg=float(turn) if job.clip_on else np.nan,
        job=job,
        tried=trusted.tried,
    )


def seated_job(
    prepared: Prepared, bike: Bike, sat: Settled, surveyed: Surveyed, points: BikePoints
) -> Job:
    """One use on one bike, as found."""
    cockpit, reference = prepared.rider.cockpits[sat.use], prepared.references.get(sat.bike or "")
    wish = target(cockpit, sat, reference)
    job = job_on(prepared, bike, surveyed, points, sat.linkage, wish)
    return evolve(job, arms_sd=arms_sd(cockpit, prepared.shop, prepared.rider.tape))


def job_on(
    prepared: Prepared,
    bike: Bike,
    surveyed: Surveyed,
    points: BikePoints,
    linkage: Linkage,
    wish: Numbers,
) -> Job:
    """A body and what it wishes, on one bike as found."""
    rider = prepared.rider
    readings = Sides(
        *(
            np.nan if side not in surveyed.lever_angle else surveyed.lever_angle[side].value
            for side in ("brake", "clutch")
        )
    )
    return Job(
        rider=linkage,
        target=wish,
        now=numbers_on(linkage, wish.lean_deg, points, readings, lever_reach(bike)),
        points=points,
        rake=surveyed.rake.value,
        clip_on=bike.handlebar.kind == CLIP_ON,
        bike=bike,
        limits=rider.limits,
        tolerances={**prepared.shop.tolerances, **rider.tolerances},
        reach_sd=lever_reach_sd(bike, prepared.shop),
    )


def with_plans(
    prepared: Prepared,
    made: Transfer,
    catalogue: Catalogue,
    place: Place | None = None,
    weights: Mapping[str, float] | None = None,
) -> Transfer:
    """The same transfer with its plans from real parts.

    Parameters
    ----------
    catalogue : Catalogue
        Empty: free adjustments alone.
    place : Place or None
        Whose law the plans are held against; ``None``: no law.
    weights : mapping of str to float, optional
        By use, above 0: plans between several uses of the rider, standing ones too, in place of
        the one use alone.
    """
    from fitprofile.stages.offer import offers_for

    made = with_fitted_pullback(made, catalogue)
    others = {
        use: seated_job(prepared, made.bike, sat, made.surveyed, made.points)
        for use, sat in prepared.settled.items()
        if use != made.use
    }
    jobs = {made.use: made.job, **others, **_standing_jobs(prepared, made, weights or {})}
    weighed = [(jobs[use], weight) for use, weight in (weights or {}).items() if weight > 0.0]
    weighed.sort(key=lambda one: one[0] is not made.job)
    offers = offers_for(
        made.job, others, catalogue, prepared.body, made.tried, place, weights=weighed
    )
    total = sum(weight for _, weight in weighed)
    shares = {use: weight / total for use, weight in (weights or {}).items() if weight > 0.0}
    if prepared.standing:
        from fitprofile.stages.uses import with_standing

        offers = with_standing(offers, made.job, prepared.standing)
        if not shares.keys().isdisjoint(prepared.standing):
            from fitprofile.stages.pedals import weighed_pedals

            offers = weighed_pedals(offers, prepared.standing, shares, catalogue.labour)
    return evolve(made, offers=offers, weights=shares)


def with_fitted_pullback(made: Transfer, catalogue: Catalogue) -> Transfer:
    """The same with the pullback of the riser that is on the bike, where the shelves tell."""
    fitted = (one for one in catalogue.risers if one.name == made.bike.fitted.riser)
    pullback = sum(one.pullback.value for one in fitted)
    return evolve(made, job=evolve(made.job, fitted_pullback_mm=pullback))


def _standing_jobs(
    prepared: Prepared, made: Transfer, weights: Mapping[str, float]
) -> dict[str, Job]:
    """The standing uses that have a weight; nothing is imported where none has."""
    named = [use for use in prepared.standing if use in weights]
    if not named:
        return {}
    from fitprofile.stages.uses import standing_job

    return {use: standing_job(prepared.standing[use], made.job) for use in named}


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
    normalised = normalised_misfits(known, answer[:, None])
    size = np.abs(normalised)
    worst = np.nanmax(size)
    # Wilson and Hilferty (1931): the cube root of chi-square over its freedom is nearly normal.
    part = 2.0 / (9.0 * redundancy)
    unlikely = redundancy * (1.0 - part + UNLIKELY * np.sqrt(part)) ** 3
    if worst <= BLUNDER and cost <= unlikely:
        return ()
    entries: tuple[Problem, ...] = ()
    if any(sat.entry is not None for sat in known.sit_ons):
        from fitprofile.stages.entries import outliers

        entries = outliers(rider, known, normalised)
    names = dict.fromkeys(
        name
        for (name, sat), value in zip(row_origins(known), size, strict=True)
        if value >= NEXT_TO_LARGEST * worst
        and not (entries and sat is not None and sat.entry is not None)
    )
    if not names:
        return entries
    text = (
        f"the rider's numbers do not fit together: {', '.join(names)} "
        f"{'disagrees' if len(names) == 1 else 'disagree'} by {0.5 * worst:.1f} times "
        f"{'its' if len(names) == 1 else 'their'} give or take; measure "
        f"{'it' if len(names) == 1 else 'them'} again"
    )
    return (*entries, Problem(text, "cockpit", rider.file, level=WARNING))
