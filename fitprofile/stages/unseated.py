"""Stage 9g: a rider who has standing uses alone, on one bike.

Nobody measured this rider sitting, so the body is the most probable one of its measurements, and
whatever belongs to a seat is ``nan``. What standing needs of a transfer is there: points, rake,
levers as read, tolerances.
"""

from __future__ import annotations

import numpy as np
from attrs import evolve

from fitprofile.geometry.draws import Deviates
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Cockpit, Rider
from fitprofile.stages.complete import Completed
from fitprofile.stages.job import Job
from fitprofile.stages.moves import NO_CHANGES
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import Numbers, calf_contact
from fitprofile.stages.practical import Practical
from fitprofile.stages.siton import LEAN
from fitprofile.stages.spread import SEED, Drawn
from fitprofile.stages.survey import Surveyed

NEVER_SAT = Cockpit(bar_width=Reading(np.nan), knee_angle=Reading(np.nan))
"""The cockpit of a rider who has none: no figure."""

NOTHING_DRAWN = Drawn(settled=(), inputs={}, rng=Deviates(SEED))
"""A standing use is not drawn."""

NO_WISH = Numbers(
    bar_width_mm=np.nan,
    navel_to_bar_mm=np.nan,
    grip_tilt_deg=np.nan,
    grip_sweep_deg=np.nan,
    forearm_angle_deg=np.nan,
    lean_deg=LEAN,
)
"""What sitting wishes: nothing; the lean is that of a rider of whom nothing is known."""


def unseated(rider: Rider, body: Completed, job: Job, surveyed: Surveyed) -> Transfer:
    """A transfer for the sake of the rider's standing uses.

    Parameters
    ----------
    job : Job
        The bike as found, for the body as measured and `NO_WISH`.

    Returns
    -------
    Transfer
        ``use`` is the first standing one, ``cockpit`` is `NEVER_SAT`, exact and practical changes
        of a seated use are ``nan``, and nothing was tried out. Standing uses are not in it yet.
    """
    none = np.nan
    contact = calf_contact(job.rider, job.points, body.girth_excess_mm)
    return Transfer(
        rider=rider,
        bike=job.bike,
        use=next(iter(rider.standing)),
        cockpit=NEVER_SAT,
        body=body,
        linkage=job.rider,
        surveyed=surveyed,
        points=job.points,
        adjusted=False,
        clip_on=job.clip_on,
        now=job.now,
        target=job.target,
        exact=NO_CHANGES,
        exact_after=job.now,
        give_or_take=NO_CHANGES,
        now_give_or_take=evolve(NO_WISH, lean_deg=none),
        practical=Practical(changes=NO_CHANGES, after=job.now, points=job.points),
        limits=(),
        contact=contact,
        contact_after=contact,
        tolerances=job.tolerances,
        chance=none,
        matters_most="",
        levelling_turn_deg=none,
        job=job,
    )
