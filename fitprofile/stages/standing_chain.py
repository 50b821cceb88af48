"""Stage 10b: the order of the stages for the sake of a rider's standing uses."""

from __future__ import annotations

from typing import TYPE_CHECKING

from attrs import evolve

from fitprofile.errors import Problem
from fitprofile.model.bike import Bike
from fitprofile.stages.chain import (
    Prepared,
    Transfer,
    body_at_ball,
    job_on,
    seated_job,
    survey_of,
    transfer,
    with_fitted_pullback,
)
from fitprofile.stages.standing_plans import standing_offers
from fitprofile.stages.unseated import NO_WISH, unseated
from fitprofile.stages.uses import standing_uses

if TYPE_CHECKING:
    from fitprofile.data.places import Place
    from fitprofile.model.parts import Catalogue


def transfer_standing(
    prepared: Prepared, bike: Bike
) -> tuple[Transfer | None, tuple[Problem, ...]]:
    """A transfer for the sake of the rider's standing uses.

    Returns
    -------
    transfer : Transfer or None
        That of the first seated use; where there is none, see `fitprofile.stages.unseated`.
        ``None`` as of `transfer`.
    problems : tuple of Problem
        Lines not yet looked up.
    """
    if prepared.settled:
        return transfer(prepared, bike, next(iter(prepared.settled)))
    surveyed, problems = survey_of(prepared, bike)
    if surveyed is None:
        return None, problems
    job = job_on(prepared, bike, surveyed, surveyed.points, body_at_ball(prepared), NO_WISH)
    made = unseated(prepared.rider, prepared.body, job, surveyed)
    return evolve(made, standing=standing_uses(prepared.standing, job)), problems


def with_standing_plans(
    prepared: Prepared, made: Transfer, use: str, catalogue: Catalogue, place: Place | None = None
) -> Transfer:
    """The same transfer with plans from real parts for one of the rider's standing uses.

    Parameters
    ----------
    use : str
        A standing use.
    catalogue : Catalogue
        Empty: free adjustments alone.
    place : Place or None
        Whose law the plans are held against; ``None``: no law.

    Returns
    -------
    Transfer
        ``offers`` are those of the standing use.
    """
    made = with_fitted_pullback(made, catalogue)
    seated = {
        name: seated_job(prepared, made.bike, sat, made.surveyed, made.points)
        for name, sat in prepared.settled.items()
    }
    offers = standing_offers(made, use, prepared.standing, seated, catalogue, prepared.body, place)
    return evolve(made, offers=offers)
