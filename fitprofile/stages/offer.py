"""Stage 9d: plans as they are offered: checked in the workshop's way, with chance and cost.

The cost is what a plan made for one use does to the rider's other uses on the same bike.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from attrs import evolve, field

from fitprofile.model.parts import Catalogue
from fitprofile.stages.check import Check
from fitprofile.stages.clearance import workshop_checks
from fitprofile.stages.complete import Completed
from fitprofile.stages.job import Job
from fitprofile.stages.odds import chance_of
from fitprofile.stages.plan import CHEAPEST, CLOSEST, Plan
from fitprofile.stages.plans import misfits_of, plans_for
from fitprofile.stages.remedy import Remedy, remedies
from fitprofile.stages.spread import Tried
from fitprofile.values import frozen

if TYPE_CHECKING:
    from fitprofile.data.places import Place
    from fitprofile.stages.standing import StandingNumbers


@frozen(kw_only=True)
class Offer:
    """One plan with everything that is held against it.

    Parameters
    ----------
    plan : Plan
        With its chance.
    checks : tuple of Check
        Workshop checks.
    others : mapping of str to (mapping of str to float)
        For each other use of the rider, its numbers' deviations in tolerances on that bike.
    standing : mapping of str to StandingNumbers
        For each standing use, its numbers on that bike.
    """

    plan: Plan
    checks: tuple[Check, ...] = ()
    others: Mapping[str, Mapping[str, float]] = field(factory=dict)
    standing: Mapping[str, StandingNumbers] = field(factory=dict)


@frozen(kw_only=True)
class Offers:
    """All plans for one bike, and the parts that would mend what the closest leaves outside.

    Parameters
    ----------
    offers : tuple of Offer
        In the order of `fitprofile.stages.plan.PLAN_NAMES`.
    remedies : tuple of Remedy
        Empty where the closest plan is inside every tolerance.
    listed : bool
        Whether there is a catalogue; without one there are free adjustments alone, and nothing is
        known of any part.
    remark : str
        What of the catalogue's file is not used, in a sentence; empty where all of it is.
    currency : str
        Of the catalogue's prices, empty where it says none.
    guessed : bool
        Whether minutes of free adjustments stand in that no shop has written.
    picked : str
        Name of the plan that somebody asked for; empty: nobody did.
    """

    offers: tuple[Offer, ...]
    remedies: tuple[Remedy, ...] = ()
    listed: bool = False
    currency: str = ""
    guessed: bool = False
    remark: str = ""
    picked: str = ""

    def named(self, name: str) -> Offer | None:
        """The plan of this name; ``None`` where there is none."""
        return next((one for one in self.offers if one.plan.name == name), None)

    @property
    def chosen(self) -> Offer:
        """What a sheet prints: the plan picked, else the cheapest inside, else the closest."""
        names = (self.picked, CHEAPEST, CLOSEST)
        return next((one for one in map(self.named, names) if one is not None), self.offers[0])


def offers_for(
    job: Job,
    others: Mapping[str, Job],
    catalogue: Catalogue,
    body: Completed,
    tried: Tried | None,
    place: Place | None,
    weights: Sequence[tuple[Job, float]] = (),
) -> Offers:
    """Every plan for one rider, bike and use.

    Parameters
    ----------
    job : Job
        The use in question.
    others : mapping of str to Job
        The rider's other uses on the same bike.
    tried : Tried or None
        What the chance is worked out from; ``None`` leaves it ``nan``.
    place : Place or None
        Whose law is looked at.
    weights : sequence of (Job, float)
        Where a plan between several uses is sought: each use with its weight, ``job`` first.
    """
    made: list[Offer] = []
    for plan in plans_for(tuple(weights) or ((job, 1.0),), catalogue):
        # The same combination under another name has the same points.
        twin = next((one for one in made if one.plan.points is plan.points), None)
        if twin is not None:
            made.append(evolve(twin, plan=evolve(twin.plan, name=plan.name)))
            continue
        offered = plan if tried is None else evolve(plan, chance=chance_of(job, plan, tried))
        made.append(
            Offer(
                plan=offered,
                checks=workshop_checks(job, body, offered, place),
                others={use: misfits_of(other, offered) for use, other in others.items()},
            )
        )
    offers = Offers(
        offers=tuple(made),
        listed=bool(catalogue.file),
        currency=catalogue.currency,
        guessed=catalogue.labour.guessed,
        remark=catalogue.remark,
    )
    closest = offers.named(CLOSEST)
    if closest is None or closest.plan.inside or not catalogue.file:
        return offers
    return evolve(offers, remedies=remedies(job, closest.plan, catalogue))
