"""Stage 8k: reach of the levers, left alone or set as near to the wish as adjusters go; mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fitprofile.model.bike import Lever
from fitprofile.model.parts import Catalogue, LeverSet
from fitprofile.stages.bar_setting import GROUPS, Levers, Uses
from fitprofile.stages.choosing import Group
from fitprofile.stages.job import SIDES
from fitprofile.stages.misfit import INSIDE, between, reach_misfit, score
from fitprofile.stages.options import Options
from fitprofile.stages.plan import Choice


def reaches_of(
    jobs: Uses, options: Options, catalogue: Catalogue
) -> tuple[Group, Sequence[tuple[int, Levers]]]:
    """Choices of lever sets with each reach set as near to the wish as its adjuster goes.

    Returns
    -------
    group : Group
    what : sequence of (int, tuple of str)
        Of each candidate the number of the lever sets, and the levers that are set although they
        are inside their tolerance. To set a lever that is bought costs no minutes beside those of
        fitting it.
    """
    made: list[tuple[float, float, float, float, float]] = []
    what: list[tuple[int, Levers]] = []
    for index, sets in enumerate(options.lever_sets):
        chosen = Choice(lever_sets=sets)
        for reached in GROUPS:
            if any(_is_idle(jobs, side, chosen.levers_of(side)) for side in reached):
                continue
            far, worst = 0.0, 0.0
            minutes = sum(one.minutes.value for one in sets)
            for side in SIDES:
                levers = chosen.levers_of(side)
                reach = reach_set(jobs, side, levers, to_wish=side in reached)
                here = float(getattr(jobs[0][0].now.lever_reach_mm, side))
                if levers is None and np.isfinite(reach) and reach != here:
                    minutes += catalogue.labour.reach.value
                for job, weight in jobs:
                    misfit = float(reach_misfit(job, side, reach))
                    far += weight * float(score(misfit))
                    worst = max(worst, abs(misfit))
            price = sum(one.price.value for one in sets)
            made.append((far, worst, price, minutes, float(len(sets))))
            what.append((index, reached))
    far_off, largest, price_of, minutes_of, pieces = np.array(made).T
    costs = {"price": price_of, "minutes": minutes_of, "pieces": pieces}
    return Group.of_parts(far_off, largest <= INSIDE, costs), what


def _is_idle(jobs: Uses, side: str, chosen: LeverSet | None) -> bool:
    """Whether a lever is set just as far with what is inside left alone."""
    left, full = (reach_set(jobs, side, chosen, to_wish=to_wish) for to_wish in (False, True))
    return left == full or not np.isfinite(full)


def reach_set(jobs: Uses, side: str, chosen: LeverSet | None, *, to_wish: bool = False) -> float:
    """Reach of one lever as it is set, mm; ``nan``: no lever.

    Left alone inside tolerance, unless ``to_wish``. ``chosen`` is the set that brings this side's
    lever, ``None`` where it is the bike's own.
    """
    job = jobs[0][0]
    here = float(getattr(job.now.lever_reach_mm, side))
    lever: Lever | None = getattr(job.bike.levers, side)
    if not np.isfinite(here) or lever is None:
        return float("nan")
    inside = all(abs(float(reach_misfit(one, side, here))) <= 1.0 for one, _ in jobs)
    if chosen is None and inside and not to_wish:
        return here
    wishes = [float(getattr(one.target.lever_reach_mm, side)) for one, _ in jobs]
    wish = float(between(wishes, [w for _, w in jobs], job.tolerances["lever_reach"]))
    band = lever.reach_range if chosen is None else chosen.reach_range
    if not np.isfinite(wish):
        wish = here
    return wish if band is None else min(max(wish, band[0]), band[1])
