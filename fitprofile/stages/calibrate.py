"""Stage 4b: the most probable body and posture that give the rider's own sit-ons back.

Gauss-Newton with step halving on the unknowns of `fitprofile.stages.evidence`; each element of a
batch on its own.
"""

from __future__ import annotations

import numpy as np
from attrs import evolve

from fitprofile.geometry.links import hinge_angle, hinge_span
from fitprofile.geometry.vectors import Floats, Real, Vec, norm, slope_below
from fitprofile.stages import linkage as body
from fitprofile.stages.evidence import BODY, Evidence, observed, prior_weight, some
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.siton import MOVED, SitOn, shifted, with_points
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

ARM_DIRECTION = 15.0
"""Degrees below horizontal from shoulder to hand where the search starts without a bike."""

ARM_STEP = 10.0
"""Degrees per unit of the arm's direction; a scale for the search, not a prior."""

BEYOND_REACH = 1.0
"""Degrees an angle goes on growing past straight for each mm out of reach; calibration only."""

FULL_SEARCH = (40, 30, 1e-7)
ROUGH_SEARCH = (8, 6, 1e-2)
"""Most steps, most halvings of one step, and the step, in prior spreads, that ends the search."""

DIFFERENCE = 1e-4
"""Step of the central differences, in prior spreads."""


@frozen(kw_only=True)
class Settled:
    """What the calibrated body shows in one sit-on; every field scalar or (n,), mm and degrees.

    ``points`` are the bike's, moved within the survey's covariance; ``step`` by how many spreads
    along either principal direction. Without a bike both are ``None``, and ``knee_angle_deg`` is
    the wish. ``bar_width_mm``, ``grip_tilt_deg`` and ``grip_sweep_deg`` are set where several
    sit-ons make the wish (`fitprofile.stages.wish`), ``nan`` where the cockpit's own stay.
    """

    use: str
    bike: str | None
    linkage: Linkage
    lean_deg: Real
    navel_to_bar_mm: Real
    forearm_angle_deg: Real
    knee_angle_deg: Real
    elbow_angle_deg: Real
    points: BikePoints | None
    step: tuple[Real, Real] | None
    bar_width_mm: Real = np.nan
    grip_tilt_deg: Real = np.nan
    grip_sweep_deg: Real = np.nan


@frozen(eq=False, kw_only=True)
class Solution:
    """Result of the search.

    ``unknowns`` (p, n) in prior spreads, ``cost`` (n,), ``last_step`` (n,) that any unknown still
    took in prior spreads, the ``redundancy``: rows less unknowns, and the ``slopes`` (m, p, n) of
    the misfits, of the elements then still open, where they were last worked out.
    """

    unknowns: Floats
    cost: Floats
    last_step: Floats
    redundancy: int
    slopes: Floats


def solve(
    known: Evidence,
    count: int = 1,
    *,
    rough: bool = False,
    start: Solution | None = None,
) -> Solution:
    """Unknowns that make the evidence most probable.

    Parameters
    ----------
    known : Evidence
        Values scalars or (count,).
    rough : bool
        Good to a hundredth of a spread is enough, as for samples that start near their answer.
    start : Solution, optional
        One solution to begin at; by default the search begins at the prior's mean.

    Returns
    -------
    Solution
        ``last_step`` is above the limit of the search where the steps allowed were not enough.

    Notes
    -----
    A rough search takes its first step by the slopes it starts with, works them out for each
    element once, after that step, and keeps them: so near the answer they hardly change.
    """
    most_steps, most_halvings, small_step = ROUGH_SEARCH if rough else FULL_SEARCH
    weight = prior_weight(known)
    unknowns = np.zeros((known.size, count))
    if start is not None:
        unknowns = unknowns + start.unknowns
    cost, last, open_ = np.full(count, np.inf), np.full(count, np.inf), np.arange(count)
    now, part = unknowns, known
    misfit = misfits(part, now)
    slopes = worked = None if start is None else start.slopes
    for number in range(most_steps):
        if slopes is None or not rough:
            slopes = _forward_slopes(part, now, misfit) if rough else _slopes(part, now)
            worked = slopes
        step = _newton_step(weight, now, misfit, slopes)
        size, best = np.abs(step).max(axis=0), _cost(weight, now, misfit)
        step, share = np.where(size > small_step, step, 0.0), np.ones(len(open_))
        for _ in range(most_halvings):
            trial = now + share * step
            trial_misfit = misfits(part, trial)
            trial_cost = _cost(weight, trial, trial_misfit)
            better = trial_cost <= best
            share = np.where(better, share, 0.5 * share)
            if np.all(better | (share * size <= small_step)):
                break
        now, misfit = np.where(better, trial, now), np.where(better, trial_misfit, misfit)
        unknowns[:, open_], cost[open_] = now, np.where(better, trial_cost, best)
        last[open_] = share * size
        moving = last[open_] > small_step
        open_, now, misfit = open_[moving], now[:, moving], misfit[:, moving]
        slopes = None if number == 0 else slopes[:, :, moving]
        if not len(open_):
            break
        if not moving.all():
            part = some(part, moving)
    return Solution(
        unknowns=unknowns,
        cost=cost,
        last_step=last,
        redundancy=int(weight.sum()) + len(misfit) - len(unknowns),
        slopes=np.zeros((0, 0, 0)) if worked is None else worked,
    )


def settle(known: Evidence, unknowns: Floats) -> tuple[Settled, ...]:
    """What the body with these unknowns (p, ...) shows in each sit-on."""
    return tuple(_settled(known, unknowns, index) for index in range(len(known.sit_ons)))


def misfits(known: Evidence, unknowns: Floats) -> Floats:
    """Shown less observed, in spreads, (m, ...) float, for unknowns (p, ...); see `row_names`."""
    rows: list[Real] = []
    for index in range(len(known.sit_ons)):
        if known.places[index].step is None:
            continue
        shown = _settled(known, unknowns, index)
        rows.extend(
            (getattr(shown, name) - seen.value) / seen.sd for name, seen in observed(known, index)
        )
    return np.stack([np.broadcast_to(row, unknowns.shape[1:]) for row in rows])


def normalised_misfits(known: Evidence, unknowns: Floats) -> Floats:
    """Each prior's and observation's residual over its own standard deviation, (rows,) float.

    For one solution, unknowns (p, 1). ``nan`` where nothing else checks the row (redundancy
    below 0.01) or the row carries no prior.
    """
    weight = prior_weight(known)
    design = np.concatenate([np.diag(weight), _slopes(known, unknowns)[:, :, 0]])
    rows = np.concatenate([weight * unknowns[:, 0], misfits(known, unknowns)[:, 0]])
    hat = design @ np.linalg.solve(design.T @ design, design.T)
    redundancy = 1.0 - np.diag(hat)
    checked = (redundancy >= LEAST_REDUNDANCY) & np.concatenate(
        [weight > 0.0, np.ones(len(rows) - len(weight), dtype=bool)]
    )
    return np.where(checked, rows / np.sqrt(np.where(checked, redundancy, 1.0)), np.nan)


LEAST_REDUNDANCY = 0.01
"""Below this share nothing checks an observation."""


def _cost(weight: Floats, unknowns: Floats, residuals: Floats) -> Floats:
    """Sum of squares, (n,) float; infinite where a trial has no posture at all."""
    total = (weight[:, None] * unknowns**2).sum(axis=0) + (residuals**2).sum(axis=0)
    return np.where(np.isfinite(total), total, np.inf)


def _slopes(known: Evidence, unknowns: Floats) -> Floats:
    """Central differences of the misfits, (m, p, n)."""
    size = len(unknowns)
    nudge = DIFFERENCE * np.concatenate([np.eye(size), -np.eye(size)], axis=1)
    both = misfits(known, unknowns[:, None, :] + nudge[:, :, None])
    return np.asarray((both[:, :size] - both[:, size:]) / (2.0 * DIFFERENCE))


def _forward_slopes(known: Evidence, unknowns: Floats, residuals: Floats) -> Floats:
    """Forward differences from misfits already known, (m, p, n): half the work, fewer digits."""
    nudge = DIFFERENCE * np.eye(len(unknowns))
    ahead = misfits(known, unknowns[:, None, :] + nudge[:, :, None])
    return np.asarray((ahead - residuals[:, None, :]) / DIFFERENCE)


def _newton_step(weight: Floats, unknowns: Floats, residuals: Floats, slopes: Floats) -> Floats:
    """Gauss-Newton step, (p, n)."""
    j = np.moveaxis(np.nan_to_num(slopes), 2, 0)
    r = np.nan_to_num(residuals).T[:, :, None]
    turned = np.swapaxes(j, 1, 2)
    normal = turned @ j + np.diag(np.maximum(weight, 1e-9))
    gradient = turned @ r + (weight[:, None] * unknowns).T[:, :, None]
    return np.asarray(-np.linalg.solve(normal, gradient)[:, :, 0].T)


def _body(known: Evidence, unknowns: Floats, index: int) -> Linkage:
    """The body with these unknowns, as it sits in one sit-on."""
    moved = {
        name: getattr(known.prior, name)
        + sum(row[k] * unknowns[k] for k in range(len(BODY)) if row[k])
        for name, row in zip(BODY, known.factor, strict=True)
    }
    made = body.with_hip_height(known.prior, moved.pop("hip_height_mm"))
    made = evolve(made, **moved, elbows_out_deg=_habit(known, unknowns, index, 1))
    return body.at_mid_foot(made) if known.sit_ons[index].mid_foot else made


def _habit(known: Evidence, unknowns: Floats, index: int, which: int) -> Real:
    """Lean (0) or elbows out (1) in one sit-on, degrees; an entry's are its cockpit's."""
    place = known.places[index]
    first = index if place.like is None else place.like
    prior = known.elbows_out[first] if which else known.sit_ons[first].lean
    turn: Real = prior.value + prior.sd * unknowns[place.own + which]
    return turn


def _settled(known: Evidence, unknowns: Floats, index: int) -> Settled:
    """What the body shows in one sit-on."""
    sat, place = known.sit_ons[index], known.places[index]
    made = _body(known, unknowns, index)
    lean = _habit(known, unknowns, index, 0)
    if place.step is None:
        return _as_read(sat, made, lean)
    first, second = unknowns[place.step], unknowns[place.step + 1]
    if sat.points is None or sat.gain is None:
        return _without_bike(known, made, index, lean, first, second)
    moved = shifted({name: getattr(sat.points, name) for name in MOVED}, sat.gain, first, second)
    points = with_points(sat.points, moved)
    joint, grip = body.shoulder(made, points.seat, lean), body.hand(points)
    forearm, elbow = _arm(made, joint, grip)
    leg = norm(body.ankle(made, points.peg).minus(body.hip_joint(made, points.seat)))
    return Settled(
        use=sat.use,
        bike=sat.bike,
        linkage=made,
        lean_deg=lean,
        navel_to_bar_mm=body.navel_to_bar(made, lean, points),
        forearm_angle_deg=forearm,
        knee_angle_deg=_angle_past_straight(made.thigh_mm, made.shank_mm, leg),
        elbow_angle_deg=elbow,
        points=points,
        step=(first, second),
    )


def _as_read(sat: SitOn, made: Linkage, lean: Real) -> Settled:
    """A sit-on that only counts for the wish: what was read."""
    return Settled(
        use=sat.use,
        bike=None,
        linkage=made,
        lean_deg=lean,
        navel_to_bar_mm=sat.navel_to_bar.value,
        forearm_angle_deg=sat.forearm_angle.value,
        knee_angle_deg=sat.knee_angle.value,
        elbow_angle_deg=np.nan,
        points=None,
        step=None,
    )


def _without_bike(
    known: Evidence, made: Linkage, index: int, lean: Real, bend: Floats, direction: Floats
) -> Settled:
    """A sit-on from memory: the hand is where elbow angle and arm direction put it."""
    sat, loose = known.sit_ons[index], known.elbow[index]
    elbow = np.clip(loose.value + loose.sd * bend, 1.0, 180.0)
    seat = Vec(0.0, 0.0, 0.0)
    joint = body.shoulder(made, seat, lean)
    reach = hinge_span(made.upper_arm_mm, made.forearm_grip_mm, np.radians(elbow))
    side = sat.hand_side - sat.half_grip.y - joint.y
    with np.errstate(invalid="ignore"):
        flat = np.sqrt((reach - side) * (reach + side))
    fall = np.radians(ARM_DIRECTION + ARM_STEP * direction)
    grip = joint.plus(Vec(flat * np.cos(fall), side, -flat * np.sin(fall)))
    bar = Vec(grip.x + sat.half_grip.x, 0.0, grip.z + sat.half_grip.z)
    return Settled(
        use=sat.use,
        bike=None,
        linkage=made,
        lean_deg=lean,
        navel_to_bar_mm=norm(bar.minus(body.navel(made, seat, lean))),
        forearm_angle_deg=_arm(made, joint, grip)[0],
        knee_angle_deg=sat.knee_angle.value,
        elbow_angle_deg=elbow,
        points=None,
        step=None,
    )


def _arm(made: Linkage, joint: Vec, grip: Vec) -> tuple[Floats, Floats]:
    """Forearm and elbow angle, degrees; out of reach the arm counts as straight."""
    line = body.elbow_to_hand(made, joint, grip)
    straight = grip.minus(joint)
    bent = np.isfinite(line.x)
    used = Vec(*(np.where(bent, a, b) for a, b in zip(line, straight, strict=True)))
    slope = np.degrees(slope_below(Vec(0.0, 0.0, 0.0), used))
    return (
        np.asarray(slope - body.forearm_axis_turn(made.forearm_grip_mm)),
        _angle_past_straight(made.upper_arm_mm, made.forearm_grip_mm, norm(straight)),
    )


def _angle_past_straight(upper: Real, lower: Real, span: Floats) -> Floats:
    """Included angle, degrees, that goes on linearly where the limb cannot reach."""
    longest, shortest = upper + lower, np.abs(upper - lower)
    inside = np.degrees(hinge_angle(upper, lower, np.clip(span, shortest, longest)))
    outside = np.maximum(span - longest, 0.0) + np.minimum(span - shortest, 0.0)
    return np.asarray(inside + BEYOND_REACH * outside)
