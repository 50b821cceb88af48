"""Stage 9f: plans from real parts for a standing use alone.

Nobody sits in it: seats, lever reaches and chances are left out. Pedals go to their height above
the pegs once everything else is done.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from attrs import evolve

from fitprofile.model.parts import Catalogue, Labour
from fitprofile.stages.complete import Completed
from fitprofile.stages.job import Job
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.offer import Offer, Offers, offers_for
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.pedals import STILL, height_of, with_pedals
from fitprofile.stages.standing import PEDALS, Stood
from fitprofile.stages.uses import standing_job, with_standing

if TYPE_CHECKING:
    from fitprofile.data.places import Place


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
        offers=tuple(_with_pedals(offer, use, uses, catalogue.labour) for offer in offers.offers),
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


def _with_pedals(offer: Offer, use: str, uses: Mapping[str, Stood], labour: Labour) -> Offer:
    """A plan with its pedals set, and with the deviations that people are shown."""
    one = uses[use]
    heights = {
        name: end
        for name in PEDALS
        for end in (float(getattr(one.target, f"{name}_mm")),)
        if abs(end - height_of(offer, name)) > one.tolerances[name] * INSIDE
    }
    made = with_pedals(offer, heights, uses, labour)
    off = {**made.plan.deviations, **made.others[use]}
    inside = all(abs(value) <= INSIDE for value in off.values())
    return evolve(
        made,
        plan=evolve(made.plan, deviations=off, inside=inside),
        others={name: found for name, found in made.others.items() if name != use},
    )


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
