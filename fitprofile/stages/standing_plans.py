"""Stage 9f: plans from real parts for a standing use alone.

Nobody sits in it: seats, lever reaches and chances are left out. Pedals go to their height above
the pegs once everything else is done.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
from attrs import evolve

from fitprofile.model.parts import Catalogue, Labour
from fitprofile.stages.complete import Completed
from fitprofile.stages.job import Job
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.offer import Offer, Offers, offers_for
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import PlanStep
from fitprofile.stages.standing import PEDALS, Stood, standing_misfits
from fitprofile.stages.uses import standing_job, with_standing

if TYPE_CHECKING:
    from fitprofile.data.places import Place

STILL = 0.5
"""mm or degrees below which a number counts as left where it is."""


def standing_offers(
    made: Transfer,
    use: str,
    uses: Mapping[str, Stood],
    seated: Mapping[str, Job],
    catalogue: Catalogue,
    body: Completed,
    place: Place | None,
) -> Offers:
    """Every plan for one standing use on one bike.

    Parameters
    ----------
    made : Transfer
        To the same bike, of any seated use.
    use : str
    uses : mapping of str to Stood
        All standing uses of the rider; ``use`` is one of them.
    seated : mapping of str to Job
        The seated uses on the same bike: what a plan costs them.
    place : Place or None
        Whose law is looked at.

    Returns
    -------
    Offers
        Chances are ``nan``: a standing use is not drawn. ``others`` leaves ``use`` itself out.
    """
    one = uses[use]
    job = standing_job(one, made.job, alone=True)
    offers = offers_for(job, seated, catalogue, body, None, place)
    offers = with_standing(offers, made.job, uses)
    return evolve(
        offers,
        offers=tuple(_with_pedals(offer, one, catalogue.labour) for offer in offers.offers),
    )


def as_stood(made: Transfer, use: str) -> Transfer:
    """The same transfer with the chosen plan in place of the use's practical answer.

    Parameters
    ----------
    made : Transfer
        With plans for this use; without any it comes back as it is.
    use : str
        A standing use.
    """
    if made.offers is None:
        return made
    chosen = made.offers.chosen
    stood = evolve(
        made.standing[use],
        after=chosen.standing[use],
        leave=tuple(_untouched(made, use, chosen)),
        at_limit=(),
        missed=tuple(n for n, value in chosen.plan.deviations.items() if abs(value) > INSIDE),
    )
    return evolve(made, standing={**made.standing, use: stood})


def _with_pedals(offer: Offer, one: Stood, labour: Labour) -> Offer:
    """A plan with its pedals set, and with the deviations that people are shown."""
    shown = offer.standing[one.use]
    steps = tuple(_pedal_steps(offer, one))
    ends: dict[str, Any] = {f"{step.what}_mm": step.end for step in steps}
    shown = evolve(shown, **ends)
    plan = offer.plan
    pegs = tuple(step for step in plan.steps if step.what.startswith("pegs"))
    rest = tuple(step for step in plan.steps if step not in pegs)
    off = {**plan.deviations, **standing_misfits(one, shown)}
    return evolve(
        offer,
        plan=evolve(
            plan,
            steps=(*pegs, *steps, *rest),
            minutes=plan.minutes + labour.pedal.value * len(steps),
            deviations=off,
            inside=all(abs(value) <= INSIDE for value in off.values()),
        ),
        others={name: found for name, found in offer.others.items() if name != one.use},
        standing={**offer.standing, one.use: shown},
    )


def _pedal_steps(offer: Offer, one: Stood) -> Iterator[PlanStep]:
    """Each pedal that is out of its height above the peg, set to it; mm."""
    shown = offer.standing[one.use]
    for name in PEDALS:
        start, end = (float(getattr(n, f"{name}_mm")) for n in (shown, one.target))
        off = abs(end - start) / one.tolerances[name]
        if np.isfinite(off) and off > INSIDE:
            yield PlanStep(name, start, end, end - start, "mm")


def _untouched(made: Transfer, use: str, chosen: Offer) -> Iterator[str]:
    """Numbers that are inside as found and that the plan leaves where they are."""
    stood, after = made.standing[use], chosen.standing[use]
    for name, value in stood.deviations.items():
        part, _, side = name.partition(".")
        figure = f"{part}_deg" if part == "lever_angle" else f"{part}_mm"
        was, will = (getattr(numbers, figure) for numbers in (stood.now, after))
        if side:
            was, will = getattr(was, side), getattr(will, side)
        if abs(value) <= INSIDE and abs(float(will) - float(was)) < STILL:
            yield name
