"""Stage 4b: what calibration starts from, where its unknowns stand, and what each row of it is.

Unknowns, in units of their prior spread: eight linkage values of the body, for each use the lean
and the elbows-out angle, and a two-dimensional step: of each bike's seat-to-bar vector within the
survey's covariance, or, where no bike is known, of the elbow angle and of the arm's direction.

Sit-ons on one bike share its step: one survey was wrong in one way, however often the rider sat
down. An entry of the log sits as its use's cockpit does, with the same lean and elbows, as a rider
keeps them on a bike not yet changed; what sitting down again changes is in the spread of every
reading already. So an entry checks the bike and the body instead of bending to fit. It has no elbow
prior of its own, which would count the same guess twice. A right-feeling entry on a bike changed
since it was taped says nothing of body or bike: it has no rows, and counts for the wish alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

import numpy as np
from attrs import evolve, fields
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Floats, Real, Vec
from fitprofile.stages.linkage import ELBOWS_OUT, SHARED_HIP_SD, Linkage
from fitprofile.stages.siton import MOVED, Reported, SitOn, with_points
from fitprofile.values import frozen

BODY = (
    "hip_height_mm",
    "navel_forward_mm",
    "shoulder_up_mm",
    "shoulder_forward_mm",
    "upper_arm_mm",
    "forearm_grip_mm",
    "thigh_mm",
    "shank_mm",
)
"""Linkage values that calibration may move."""

OWN, STEP = 2, 2
"""Unknowns of each sit-on, lean and elbows out; and of each bike, or of an arm without a bike."""

ELBOWS_OUT_SD = 15.0
"""Degrees; spread of the elbows-out angle before a sit-on (estimate)."""

ELBOW = Reported(130.0, 20.0)
"""Degrees; how far riders bend their elbows, a loose prior (estimate)."""


class Place(NamedTuple):
    """Where a sit-on's unknowns stand: its use's, its bike's or arm's, and the sit-on it is like.

    ``like`` is the use's cockpit, ``None`` for a cockpit itself; ``step`` is ``None`` where nobody
    knows where the bike's grips were.
    """

    own: int
    step: int | None
    like: int | None


@frozen(kw_only=True)
class Evidence:
    """What calibration starts from.

    Parameters
    ----------
    prior : Linkage
        Means, fields scalars or (n,), foot at the ball.
    factor : (8, 8) float
        Lower Cholesky factor of the prior covariance of `BODY`, mm.
    sit_ons : tuple of SitOn
        The cockpits first, then entries of the log.
    elbows_out, elbow : tuple of Reported
        Priors for each sit-on, degrees; an entry has its cockpit's.
    places : tuple of Place
        Where the unknowns of each sit-on stand.
    size : int
        How many unknowns there are.
    """

    prior: Linkage
    factor: Floats
    sit_ons: tuple[SitOn, ...]
    elbows_out: tuple[Reported, ...]
    elbow: tuple[Reported, ...]
    places: tuple[Place, ...]
    size: int


def evidence(prior: Linkage, spreads: Mapping[str, float], sit_ons: tuple[SitOn, ...]) -> Evidence:
    """Prior of the body and the sit-ons put together.

    The guess of how far the hip lies ahead of the rear-most buttock enters the navel's place
    and the thigh alike, so the two share that variance.
    """
    covariance = np.diag([spreads[name] ** 2 for name in BODY])
    navel, thigh = BODY.index("navel_forward_mm"), BODY.index("thigh_mm")
    covariance[navel, thigh] = covariance[thigh, navel] = SHARED_HIP_SD**2
    places, size = _laid_out(sit_ons)
    return Evidence(
        prior=prior,
        factor=np.linalg.cholesky(covariance),
        sit_ons=sit_ons,
        elbows_out=tuple(Reported(ELBOWS_OUT, ELBOWS_OUT_SD) for _ in sit_ons),
        elbow=tuple(ELBOW for _ in sit_ons),
        places=places,
        size=size,
    )


def _laid_out(sit_ons: tuple[SitOn, ...]) -> tuple[tuple[Place, ...], int]:
    """Unknowns in the order of the sit-ons; a bike's stand where it is first sat on."""
    places: list[Place] = []
    bikes: dict[str, int] = {}
    cockpits: dict[str, int] = {}
    size = len(BODY)
    for index, sat in enumerate(sit_ons):
        like, own = None, size
        if sat.entry is None:
            cockpits[sat.use] = index
            size += OWN
        else:
            like = cockpits[sat.use]
            own = places[like].own
        step: int | None = size
        if like is not None and sat.points is None:
            step = None
        elif sat.bike is not None and sat.bike in bikes:
            step = bikes[sat.bike]
        else:
            size += STEP
            if sat.bike is not None:
                bikes[sat.bike] = size - STEP
        places.append(Place(own, step, like))
    return tuple(places), size


def prior_weight(known: Evidence) -> Floats:
    """(p,) float: 1 where an unknown has a prior, 0 for the arm's direction without a bike."""
    weight = np.ones(known.size)
    for sat, place in zip(known.sit_ons, known.places, strict=True):
        if sat.points is None and place.step is not None:
            weight[place.step + 1] = 0.0
    return weight


def observed(known: Evidence, index: int) -> Iterator[tuple[str, Reported]]:
    """What was read in one sit-on, by the field of `Settled` that shows it."""
    sat, place = known.sit_ons[index], known.places[index]
    on_bike = sat.points is not None
    for name, seen, counts in (
        ("navel_to_bar_mm", sat.navel_to_bar, place.step is not None),
        ("forearm_angle_deg", sat.forearm_angle, place.step is not None),
        ("knee_angle_deg", sat.knee_angle, on_bike),
        ("elbow_angle_deg", known.elbow[index], on_bike and place.like is None),
        ("lean_deg", sat.lean_seen, place.step is not None),
    ):
        if counts and seen.told():
            yield name, seen


def row_names(known: Evidence) -> tuple[str, ...]:
    """Names of the unknowns' priors, then of the rows of `misfits`, in a reader's words."""
    return tuple(name for name, _ in row_origins(known))


def row_origins(known: Evidence) -> Iterator[tuple[str, SitOn | None]]:
    """Name of each row, unknowns' priors first, and the sit-on it was read in if any."""
    for name in BODY:
        yield name.rsplit("_", 1)[0].replace("_", " "), None
    told: set[int | None] = {None}
    for sat, place in zip(known.sit_ons, known.places, strict=True):
        tail = f" ({sat.label()})"
        if place.like is None:
            yield f"lean{tail}", None
            yield f"elbows out{tail}", None
        if place.step not in told:
            words = (f"seat to bar of {sat.bike}",) * STEP
            if sat.points is None:
                words = (f"elbow angle{tail}", f"arm direction{tail}")
            for word in words:
                yield word, None
        told.add(place.step)
    for index, sat in enumerate(known.sit_ons):
        for name, _ in observed(known, index):
            words_of = name.rsplit("_", 1)[0].replace("_", " ")
            words_of = words_of.replace("navel to bar", "navel-to-bar")
            yield f"{words_of} ({sat.label()})", sat


def some(known: Evidence, kept: NDArray[np.bool_]) -> Evidence:
    """The evidence of some elements of a batch; what is scalar stays."""

    def cut(value: Real) -> Real:
        return value[kept] if isinstance(value, np.ndarray) and value.ndim else value

    def reported(seen: Reported) -> Reported:
        return Reported(cut(seen.value), seen.sd)

    def sit_on(sat: SitOn) -> SitOn:
        moved = None
        if sat.points is not None:
            named = {name: getattr(sat.points, name) for name in MOVED}
            moved = with_points(
                sat.points,
                {name: Vec(*(cut(part) for part in point)) for name, point in named.items()},
            )
        return evolve(
            sat,
            navel_to_bar=reported(sat.navel_to_bar),
            forearm_angle=reported(sat.forearm_angle),
            knee_angle=reported(sat.knee_angle),
            lean=reported(sat.lean),
            lean_seen=reported(sat.lean_seen),
            points=moved,
        )

    return evolve(
        known,
        prior=Linkage(**{part.name: cut(getattr(known.prior, part.name)) for part in _LINKS}),
        sit_ons=tuple(sit_on(sat) for sat in known.sit_ons),
        elbows_out=tuple(reported(seen) for seen in known.elbows_out),
        elbow=tuple(reported(seen) for seen in known.elbow),
    )


_LINKS = fields(Linkage)
