"""Stage 9b: one finished transfer, everything that a sheet shows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from attrs import field

from fitprofile.errors import Problem
from fitprofile.model.bike import Bike
from fitprofile.model.rider import Cockpit, Rider
from fitprofile.stages.complete import Completed
from fitprofile.stages.job import Job
from fitprofile.stages.limits import Limit
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.moves import Changes
from fitprofile.stages.posture import Contact, Numbers
from fitprofile.stages.practical import Practical
from fitprofile.stages.spread import Tried
from fitprofile.stages.survey import BikePoints, Surveyed
from fitprofile.values import frozen

if TYPE_CHECKING:
    from fitprofile.stages.each_side import PegSides
    from fitprofile.stages.offer import Offers
    from fitprofile.stages.standing_moves import StandingOn


@frozen(kw_only=True)
class Transfer:
    """One rider, one bike: everything that a sheet shows.

    Parameters
    ----------
    rider, bike, use, cockpit
        What was asked for, as written in the files.
    body : Completed
        Landmarks, measured or estimated.
    linkage : Linkage
        After calibration, scalars; the foot as the cockpit has it.
    surveyed : Surveyed
        The bike's points as taped, with residuals.
    points : BikePoints
        Points used: as taped, or moved where sit-ons on this bike moved them.
    adjusted : bool
        Whether sit-ons moved them.
    clip_on : bool
        Kind of bar.
    now, target, exact_after : Numbers
        As found; as wished by the body; after the exact changes.
    exact, give_or_take : Changes
        Exact changes and their half-widths (19 times in 20), mm and degrees.
    now_give_or_take : Numbers
        Half-widths of the numbers as found.
    practical : Practical
        What to do.
    limits : tuple of Limit
        What lies outside what the bike allows.
    contact, contact_after : Contact
        Room between calf and hamstring, as found and afterwards.
    tolerances : mapping of str to float
        In force for this rider, mm and degrees.
    chance : float
        Probability, 0 to 1, that every number is inside its tolerance at the first try once the
        exact changes are made.
    matters_most : str
        The measurement that would narrow the answer most, in words.
    levelling_turn_deg : float
        Clip-ons: turn that would give the grip tilt, ``nan`` elsewhere.
    job : Job
        Rider and bike as found, what plans are worked out from.
    tried : Tried or None
        The same, drawn many times; ``None`` for a rider who has standing uses alone.
    offers : Offers or None
        Plans from real parts; ``None`` where they were not asked for.
    standing : mapping of str to StandingOn
        The rider's standing uses on this bike as found.
    pegs : PegSides or None
        A move for each peg where the knees are wished differently.
    weights : mapping of str to float
        By use, adding up to 1, where plans between several uses were asked for; else empty.
    problems : tuple of Problem
        From every stage, lines not yet looked up.
    """

    rider: Rider
    bike: Bike
    use: str
    cockpit: Cockpit
    body: Completed
    linkage: Linkage
    surveyed: Surveyed
    points: BikePoints
    adjusted: bool
    clip_on: bool
    now: Numbers
    target: Numbers
    exact: Changes
    exact_after: Numbers
    give_or_take: Changes
    now_give_or_take: Numbers
    practical: Practical
    limits: tuple[Limit, ...]
    contact: Contact
    contact_after: Contact
    tolerances: Mapping[str, float]
    chance: float
    matters_most: str
    levelling_turn_deg: float
    job: Job
    tried: Tried | None = None
    offers: Offers | None = None
    standing: Mapping[str, StandingOn] = field(factory=dict)
    pegs: PegSides | None = None
    weights: Mapping[str, float] = field(factory=dict)
    problems: tuple[Problem, ...] = field(factory=tuple)
