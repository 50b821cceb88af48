"""Stage 1: from tape measurements to the bike's points, with covariance and named blunders."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from attrs import cmp_using, field

from fitprofile.errors import NOTE, Problem, has_errors
from fitprofile.geometry.draws import Normal
from fitprofile.geometry.vectors import Floats, Vec
from fitprofile.model.bike import CLIP_ON, ON_STAND, Bike
from fitprofile.model.shop import Shop
from fitprofile.stages.doubts import assumed_notes, blunders, suspects, torn_apart
from fitprofile.stages.groundwork import Plan, loose, plan
from fitprofile.stages.network import LEAST_REDUNDANCY, Fit, adjust, root
from fitprofile.stages.readings import AXLES, NEEDED, read_tapes, side_lean, spread
from fitprofile.stages.sense import impossible
from fitprofile.stages.stand import Levelled, find_turn, level
from fitprofile.values import frozen

OK = "ok"
UNCHECKED = "unchecked"
SUSPECT = "blunder"
ASSUMED = "assumed"

RAKE = (26.0, 3.0)
"""Degrees from vertical and spread where it was not taped. Common practice, no source."""


@frozen(kw_only=True)
class BikePoints:
    """Points of a bike's left side, mm in the bike's frame; components (...) float.

    ``tube`` is the fork tube's axis at the clip-on's clamp, ``None`` on one-piece bars or where
    its spacing was not taped. ``others`` holds pedals, tank and what else was taped.
    """

    seat: Vec
    peg: Vec
    clamp: Vec
    grip_end: Vec
    grip_inner: Vec
    tube: Vec | None = None
    others: Mapping[str, Vec] = field(factory=dict)


@frozen
class Figure:
    """A number with its standard deviation and whether it was assumed; mm or degrees."""

    value: float
    sd: float
    assumed: bool = False


@frozen(kw_only=True)
class Observation:
    """One tape measurement after the adjustment.

    ``residual`` is measured less fitted, mm or degrees; ``normalised`` is the residual over its
    own standard deviation, ``nan`` where nothing else checks the measurement; ``redundancy``
    lies between 0 and 1; ``status`` is one of ``ok, unchecked, blunder, assumed``.
    """

    key: str
    value: float
    sd: float
    residual: float
    redundancy: float
    normalised: float
    status: str


@frozen(kw_only=True)
class Surveyed:
    """A bike as points.

    Parameters
    ----------
    points : BikePoints
        Scalars, mm, on the wheels, wheels level.
    names : tuple of str
        Order of the points in ``covariance``.
    covariance : (3 n, 3 n) float, mm^2
        Of x, y, z of each name in turn.
    rake : Figure
        Degrees from vertical, on the wheels.
    lever_angle : mapping of "brake" | "clutch" to Figure
        Degrees below horizontal, on the wheels; a lever that is missing or untaped is absent.
    stand_pitch_deg : float
        Taken out of points and angles; 0 where the bike stood on its wheels.
    side_lean_deg : float or None
        Mean roll of the bike seen in pairs taped on both sides; ``None`` where none was.
    observations : tuple of Observation
        In the order of the file.
    redundancy : float
        Sum of the observations' redundancies: degrees of freedom.
    """

    points: BikePoints
    names: tuple[str, ...]
    covariance: Floats = field(eq=cmp_using(eq=np.array_equal))
    rake: Figure
    lever_angle: Mapping[str, Figure]
    stand_pitch_deg: float = 0.0
    side_lean_deg: float | None = None
    observations: tuple[Observation, ...] = ()
    redundancy: float = 0.0


def survey(bike: Bike, shop: Shop) -> tuple[Surveyed | None, tuple[Problem, ...]]:
    """A bike's points from its tape measurements.

    Parameters
    ----------
    bike : Bike
    shop : Shop
        Spreads of readings that carry none.

    Returns
    -------
    surveyed : Surveyed or None
        ``None`` where a needed point is not fixed, the bike leaned, or the points cannot be those
        of a motorcycle: the problems then hold at least one error.
    problems : tuple of Problem
        Missing and contradicting measurements, each with what to tape; notes on what was
        assumed.

    Notes
    -----
    The origin lies under the rear axle wherever a needed point is tied to it by ``ahead`` or by
    spans, else under the sit point. An assumption enters where the tape leaves its figure less
    certain than the assumption itself. A near miss of a triangle is left to the adjustment.
    """
    taped = read_tapes(bike, shop)
    ground = plan(taped, bike.file)
    problems = (*taped.problems, *ground.problems)
    if has_errors(problems):
        return None, problems
    network = ground.network
    fit = adjust(network, ground.start, ground.measured)
    spread_after = np.diag(fit.covariance).reshape(-1, 3)
    torn = [n for n in loose(network.names, spread_after) if n in NEEDED]
    doubted = blunders(network, fit, ground.measured, bike.file)
    if broken := torn_apart(torn, network.rows[: ground.measured.sum()], bike.file):
        return None, (*problems, *broken, *doubted)
    turn, doubts = find_turn(bike, shop, network.names, ground.origin)
    stood = Levelled(fit.points, fit.covariance, 0.0, 0.0)
    levelled = stood if turn is None else level(turn, fit.points, fit.covariance)
    problems = (
        *problems,
        *doubts,
        *doubted,
        *assumed_notes(network.rows[ground.measured.sum() :], bike.file),
        *_rake_note(bike),
    )
    points, names, covariance = _collected(bike, ground, levelled)
    problems += impossible(bike, {name: _by_name(points, name) for name in names})
    if has_errors(problems):
        return None, problems
    lean = side_lean(bike)
    surveyed = Surveyed(
        points=points,
        names=names,
        covariance=covariance,
        rake=_rake(bike, shop, levelled),
        lever_angle=_lever_angles(bike, shop, levelled),
        stand_pitch_deg=levelled.pitch,
        side_lean_deg=lean[0] if lean else None,
        observations=_observations(ground, fit),
        redundancy=float(fit.redundancy.sum()),
    )
    return surveyed, problems


def sample(surveyed: Surveyed, count: int, rng: Normal) -> BikePoints:
    """Points drawn from what the tape leaves open.

    Parameters
    ----------
    surveyed : Surveyed
    count : int
    rng : Normal

    Returns
    -------
    BikePoints
        Components (count,), mm: normal about the surveyed points with their covariance, which
        may be singular (points in the mid-plane stay there, the tube stays with the clamp).
    """
    draws = root(surveyed.covariance) @ rng.standard_normal((len(surveyed.covariance), count))
    shifts = (Vec(*draws[3 * i : 3 * i + 3]) for i in range(len(surveyed.names)))
    moved = {
        name: _by_name(surveyed.points, name).plus(shift)
        for name, shift in zip(surveyed.names, shifts, strict=True)
    }
    return _as_bike(moved)


def _collected(
    bike: Bike, ground: Plan, levelled: Levelled
) -> tuple[BikePoints, tuple[str, ...], Floats]:
    """Points by name, the order of their covariance, and the covariance itself."""
    place = {name: i for i, name in enumerate(ground.network.names)}
    names = [*NEEDED, *(n for n in place if n not in NEEDED)]
    if ground.origin not in AXLES:
        names = [n for n in names if n not in AXLES]
    if bike.handlebar.kind == CLIP_ON and "tube" in bike.widths:
        names.insert(len(NEEDED), "tube")
        place["tube"] = place["clamp"]
    at = np.array([3 * place[n] + axis for n in names for axis in range(3)])
    keep = np.ones(len(at))
    keep[3 * names.index("clamp") + 1] = 0.0
    flat = (levelled.points.ravel()[at] * keep).reshape(-1, 3)
    covariance = levelled.covariance[np.ix_(at, at)] * np.outer(keep, keep)
    named = {n: Vec(*(float(v) for v in p)) for n, p in zip(names, flat, strict=True)}
    return _as_bike(named), tuple(names), covariance


def _as_bike(named: Mapping[str, Vec]) -> BikePoints:
    others = {n: p for n, p in named.items() if n not in NEEDED and n != "tube"}
    needed = {n: named[n] for n in NEEDED}
    return BikePoints(**needed, tube=named.get("tube"), others=others)


def _by_name(points: BikePoints, name: str) -> Vec:
    found: Vec = points.others[name] if name in points.others else getattr(points, name)
    return found


def _observations(ground: Plan, fit: Fit) -> tuple[Observation, ...]:
    doubted = set(suspects(fit).tolist())
    found = []
    for i, (row, real) in enumerate(zip(ground.network.rows, ground.measured, strict=True)):
        share = float(fit.redundancy[i])
        status = ASSUMED if not real else UNCHECKED if share < LEAST_REDUNDANCY else OK
        found.append(
            Observation(
                key=row.key,
                value=row.value,
                sd=row.sd,
                residual=float(fit.residuals[i]),
                redundancy=share,
                normalised=float(fit.normalised[i]),
                status=SUSPECT if i in doubted else status,
            )
        )
    return tuple(found)


def _rake(bike: Bike, shop: Shop, levelled: Levelled) -> Figure:
    """Rake on the wheels; read on a stand that lifts the nose, it reads more."""
    taped = bike.steering.rake
    if taped is None:
        return Figure(*RAKE, assumed=True)
    sd = spread(taped, "rake", bike, shop)
    if bike.steering.rake_read_on != ON_STAND:
        return Figure(taped.value, sd)
    return Figure(taped.value - levelled.pitch, float(np.hypot(sd, levelled.pitch_sd)))


def _rake_note(bike: Bike) -> tuple[Problem, ...]:
    if bike.steering.rake is not None:
        return ()
    text = (
        f"the rake was not taped: assumed {RAKE[0]:g} degrees, give or take {2 * RAKE[1]:g}; it is "
        "in the maker's manual, or lay a phone along the fork"
    )
    return (Problem(text, "steering.rake", bike.file, level=NOTE),)


def _lever_angles(bike: Bike, shop: Shop, levelled: Levelled) -> dict[str, Figure]:
    """Lever angles on the wheels; read on a stand that lifts the nose, they read less."""
    found = {}
    for side in ("brake", "clutch"):
        lever = getattr(bike.levers, side)
        if lever is not None and lever.angle is not None:
            sd = spread(lever.angle, "lever_angle", bike, shop)
            both = float(np.hypot(sd, levelled.pitch_sd))
            found[side] = Figure(lever.angle.value + levelled.pitch, both)
    return found
