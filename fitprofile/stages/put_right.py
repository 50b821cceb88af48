"""Stage 11c: settings alone that put right what was measured, no part changed.

The free adjustments of the search (`fitprofile.stages.search`), from the bike as it now is: roll or
slide, the grips along the bar. A plan that was carried out with a slip is put right where it
slipped, and nobody is sent for another riser.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from attrs import evolve

from fitprofile.model.parts import Catalogue
from fitprofile.stages.as_it_is import bike_left
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.moves import NO_CHANGES, Changes
from fitprofile.stages.plan import FREE
from fitprofile.stages.plans import plans_for
from fitprofile.stages.posture import Sides, numbers_on
from fitprofile.stages.siton import Reported
from fitprofile.stages.survey import BikePoints

BAR = ("bar_width", "navel_to_bar", "forearm_angle", "grip_tilt")
"""Numbers that settings of the bar bring about."""


def put_right(job: Job, now: BikePoints, told: Mapping[str, Reported]) -> Changes | None:
    """Settings of the bar that bring its numbers inside their tolerances; mm and degrees.

    Parameters
    ----------
    job : Job
        With the parts on it that are fitted, and its bands from there.
    now : BikePoints
        From `fitprofile.stages.as_it_is.as_it_is`.
    told : mapping
        Measured numbers, by name.

    Returns
    -------
    Changes or None
        Roll or slide and the grips' slide, levers and pegs ``nan``; ``None`` where no setting does
        it at the lean that is wished, or the hands do not reach the grips.
    """
    angles, reaches = (
        Sides(*(_read(told, f"{part}.{side}") for side in SIDES))
        for part in ("lever_angle", "lever_reach")
    )
    here = evolve(
        job,
        points=now,
        now=numbers_on(job.rider, job.target.lean_deg, now, angles, reaches),
        bike=bike_left(job, told),
        limits=evolve(job.limits, lean=None),
    )
    if not np.isfinite(here.now.forearm_angle_deg):
        return None
    plan = next(one for one in plans_for(((here, 1.0),), Catalogue()) if one.name == FREE)
    if any(abs(plan.deviations.get(name, 0.0)) > INSIDE for name in BAR):
        return None
    return evolve(
        NO_CHANGES,
        bar_width_change_mm=float(plan.after.bar_width_mm) - float(here.now.bar_width_mm),
        grip_slide_mm=plan.grip_slide_mm,
        bar_roll_deg=plan.roll_deg,
        clip_slide_mm=plan.clip_slide_mm,
        clip_offset_mm=0.0 if job.clip_on else np.nan,
        clip_turn_deg=0.0 if job.clip_on else np.nan,
        riser_height_mm=np.nan if job.clip_on else 0.0,
        riser_pullback_mm=np.nan if job.clip_on else 0.0,
    )


def _read(told: Mapping[str, Reported], name: str) -> float:
    """A lever's figure as measured, degrees or mm; ``nan`` where it was not."""
    return float(told[name].value) if name in told else np.nan
