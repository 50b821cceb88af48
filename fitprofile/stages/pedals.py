"""Stage 9e: pedals set to a height above the pegs, once everything else of a plan is done.

Parts do not move a pedal against its peg: it follows. So its height is settled apart from them, and
costs every plan the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import numpy as np
from attrs import evolve

from fitprofile.model.parts import Labour
from fitprofile.stages.check import Check
from fitprofile.stages.feet import set_check
from fitprofile.stages.misfit import INSIDE, between
from fitprofile.stages.offer import Offer, Offers
from fitprofile.stages.plan import PlanStep
from fitprofile.stages.standing import PEDALS, Stood, standing_misfits

STILL = 0.5
"""mm or degrees below which a number counts as left where it is."""

UNDER_THE_RIDER = ("seat", "pegs")
"""What the steps begin with that come before the pedals."""


def weighed_pedals(
    offers: Offers, uses: Mapping[str, Stood], weights: Mapping[str, float], labour: Labour
) -> Offers:
    """Plans between several uses with each pedal at the height that serves these best.

    Parameters
    ----------
    uses : mapping of str to Stood
        All standing uses of the rider.
    weights : mapping of str to float
        By use, above 0; those not among ``uses`` are seated.

    Notes
    -----
    A standing use wishes a height above the peg. A seated one wishes the pedal to follow the peg,
    so the height that it has above it as found. Where that is inside the tolerance of every
    standing use the pedal is left alone; else it goes to `fitprofile.stages.misfit.between` the
    wishes, as every figure that uses share. A plan is inside only where the pedals are too.
    """
    made = []
    for offer in offers.offers:
        one = with_pedals(offer, _between(offer, uses, weights), uses, labour)
        fine = all(
            abs(one.others[use].get(name, 0.0)) <= INSIDE
            for use in weights
            if use in uses
            for name in PEDALS
        )
        made.append(evolve(one, plan=evolve(one.plan, inside=one.plan.inside and fine)))
    return evolve(offers, offers=tuple(made))


def _between(
    offer: Offer, uses: Mapping[str, Stood], weights: Mapping[str, float]
) -> dict[str, float]:
    """Height of each pedal that has to be set, mm above the peg."""
    found: dict[str, float] = {}
    for name in PEDALS:
        start = height_of(offer, name)
        wishes = {
            use: float(getattr(uses[use].target, f"{name}_mm")) if use in uses else start
            for use in weights
        }
        allowed = max((one.tolerances[name] for one in uses.values()), default=np.nan)
        off = [abs(wish - start) for wish in wishes.values() if np.isfinite(wish)]
        if not np.isfinite(start) or max(off) <= allowed * INSIDE:
            continue
        end = float(between(list(wishes.values()), list(weights.values()), allowed))
        if abs(end - start) >= STILL:
            found[name] = end
    return found


def height_of(offer: Offer, name: str) -> float:
    """A pedal above its peg as the plan leaves it, mm; ``nan`` where it was not taped."""
    shown = next(iter(offer.standing.values()))
    return float(getattr(shown, f"{name}_mm"))


def with_pedals(
    offer: Offer, heights: Mapping[str, float], uses: Mapping[str, Stood], labour: Labour
) -> Offer:
    """A plan with pedals set: its steps, minutes and checks, and what that is to each stand.

    Parameters
    ----------
    heights : mapping of str to float
        By pedal, mm above the top of the peg; those that stay are left out.
    """
    steps = tuple(
        PlanStep(name, start, end, end - start, "mm")
        for name, end in heights.items()
        for start in (height_of(offer, name),)
    )
    ends: dict[str, Any] = {f"{name}_mm": end for name, end in heights.items()}
    standing = {use: evolve(shown, **ends) for use, shown in offer.standing.items()}
    costs = {use: standing_misfits(uses[use], shown) for use, shown in standing.items()}
    plan = offer.plan
    first = tuple(step for step in plan.steps if step.what.startswith(UNDER_THE_RIDER))
    rest = tuple(step for step in plan.steps if step not in first)
    return evolve(
        offer,
        plan=evolve(
            plan,
            steps=(*first, *steps, *rest),
            minutes=plan.minutes + labour.pedal.value * len(steps),
        ),
        checks=tuple(_checks(offer.checks, steps)),
        others={**offer.others, **costs},
        standing=standing,
    )


def _checks(checks: Iterable[Check], steps: tuple[PlanStep, ...]) -> Iterator[Check]:
    """The same checks, a pedal that is set among them in place of one that stays."""
    new = {f"pedals.{step.what}": set_check(step.what, step.change) for step in steps}
    for check in checks:
        if check.what in new:
            yield new.pop(check.what)
        else:
            yield check
    yield from new.values()
