"""Stage 9: how far to trust the answer, by sending samples of everything measured through it.

Propagation of distributions (JCGM 101:2008): landmarks, readings, surveys and guessed joints are
drawn from their spreads, calibrated again each on its own, and transferred by the same kernels.
The seed is fixed, so the same files give the same figures.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

import numpy as np
from attrs import evolve, fields

from fitprofile.geometry.draws import Deviates, Normal
from fitprofile.geometry.vectors import Floats, Real, elevation
from fitprofile.model.bike import Bike
from fitprofile.model.rider import Cockpit
from fitprofile.stages import moves
from fitprofile.stages.adjust import exact
from fitprofile.stages.calibrate import Settled, Solution, settle, solve
from fitprofile.stages.evidence import BODY, Evidence
from fitprofile.stages.job import Job
from fitprofile.stages.moves import Changes, PegMove, SeatRaise
from fitprofile.stages.posture import Numbers, Sides, numbers_on
from fitprofile.stages.siton import Reported, SitOn
from fitprofile.stages.survey import BikePoints, Surveyed, sample
from fitprofile.stages.targets import target
from fitprofile.values import frozen

SAMPLES = 200
"""Draws for each rider: a half-width of 95 % is then good to about 10 % (two spreads)."""

SEED = 20260
"""Fixed, so that the same files print the same figures."""

COVERAGE = 0.95

NUISANCES = {
    "hip_spacing_mm": "hip spacing",
    "navel_up_mm": "navel height sitting",
    "shoulder_spacing_mm": "biacromial breadth",
    "ankle_up_mm": "ankle height and sole",
    "ankle_back_mm": "foot length",
}
"""Linkage values that calibration leaves alone, and the words for them."""

LANDMARKS = {
    "shoulder_up_mm": "acromial height sitting",
    "upper_arm_mm": "shoulder-elbow length",
    "forearm_grip_mm": "forearm-grip length",
    "thigh_mm": "buttock-knee length",
    "shank_mm": "knee height sitting",
}
"""What would narrow a calibrated value, in a reader's words; the others no tape can reach."""


@frozen(kw_only=True)
class Drawn:
    """A rider drawn many times: settled sit-ons with (n,) fields, and what was drawn, by name.

    ``inputs`` holds (n,) float in spreads, keyed by the measurement in a reader's words; ``rng``
    is what they were drawn from.
    """

    settled: tuple[Settled, ...]
    inputs: Mapping[str, Floats]
    rng: Deviates


@frozen(kw_only=True)
class Tried:
    """One rider on one bike drawn many times, every field (n,): what a job is tried out on."""

    sat: Settled
    wish: Numbers
    points: BikePoints
    rake: Floats
    lever_angle: Sides


@frozen(kw_only=True)
class Trust:
    """Half-widths that hold 19 times in 20, the chance at the first try, and what matters most."""

    changes: Changes
    now: Numbers
    chance: float
    matters_most: str
    tried: Tried


def draw(
    known: Evidence,
    spreads: Mapping[str, float],
    surveys: Mapping[str, Surveyed],
    answer: Solution,
    count: int = SAMPLES,
) -> Drawn:
    """The rider calibrated again and again from drawn evidence.

    Parameters
    ----------
    known : Evidence
        As calibrated, scalars.
    spreads : mapping of str to float
        Standard deviation of each linkage value.
    surveys : mapping of str to Surveyed
        The sit-ons' bikes by key.
    answer : Solution
        Of the calibration itself, where each search starts.
    """
    rng = Deviates(SEED)
    inputs: dict[str, Floats] = {}
    bodies = rng.standard_normal((len(BODY), count))
    for name, row in zip(BODY, bodies, strict=True):
        if name in LANDMARKS:
            inputs[LANDMARKS[name]] = row
    shift = known.factor @ bodies
    fresh: dict[str, Real] = {
        name: getattr(known.prior, name) + row for name, row in zip(BODY, shift, strict=True)
    }
    for name, words in NUISANCES.items():
        inputs[words] = rng.standard_normal(count)
        fresh[name] = getattr(known.prior, name) + spreads[name] * inputs[words]
    fresh["navel_up_mm"] = fresh["navel_up_mm"] - shift[BODY.index("hip_height_mm")]
    bikes: dict[str, BikePoints] = {}
    drawn = evolve(
        known,
        prior=evolve(known.prior, **fresh),
        sit_ons=tuple(
            _draw_sit_on(sat, surveys, bikes, rng, count, inputs) for sat in known.sit_ons
        ),
        elbows_out=tuple(_draw(seen, rng, count) for seen in known.elbows_out),
        elbow=tuple(_draw(seen, rng, count) for seen in known.elbow),
    )
    found = solve(drawn, count, rough=True, start=answer)
    return Drawn(settled=settle(drawn, found.unknowns), inputs=inputs, rng=rng)


def _draw(seen: Reported, rng: Normal, count: int) -> Reported:
    """The same observation, drawn ``count`` times; what was not measured stays so."""
    if not seen.told():
        return seen
    return Reported(seen.value + seen.sd * rng.standard_normal(count), seen.sd)


def _draw_sit_on(
    sat: SitOn,
    surveys: Mapping[str, Surveyed],
    bikes: dict[str, BikePoints],
    rng: Normal,
    count: int,
    inputs: dict[str, Floats],
) -> SitOn:
    """One sit-on's readings and bike, drawn; sit-ons on one bike share its draws."""
    drawn = evolve(
        sat,
        navel_to_bar=_draw(sat.navel_to_bar, rng, count),
        forearm_angle=_draw(sat.forearm_angle, rng, count),
        knee_angle=_draw(sat.knee_angle, rng, count),
        lean=_draw(sat.lean, rng, count),
        lean_seen=_draw(sat.lean_seen, rng, count),
    )
    for words in ("navel_to_bar", "forearm_angle", "knee_angle", "lean"):
        part = words if sat.entry is None or words != "lean" else "lean_seen"
        was, now = getattr(sat, part), getattr(drawn, part)
        if not was.told():
            continue
        name = f"{words.replace('_', ' ').replace('navel to bar', 'navel-to-bar')} ({sat.label()})"
        inputs[name] = np.asarray((now.value - was.value) / was.sd)
    if sat.bike is None:
        return drawn
    if sat.bike not in bikes:
        bikes[sat.bike] = sample(surveys[sat.bike], count, rng)
        inputs.update(_point_inputs(bikes[sat.bike], surveys[sat.bike].points, sat.bike))
    return evolve(drawn, points=bikes[sat.bike])


def trust(
    drawn: Drawn,
    use: str,
    cockpit: Cockpit,
    reference: Bike | None,
    surveyed: Surveyed,
    job: Job,
    answer: Changes,
) -> Trust:
    """How far the exact answer for one bike can be trusted.

    Parameters
    ----------
    drawn : Drawn
        The rider, drawn many times.
    use, cockpit, reference
        The sit-on in question, its wish, and the bike it was measured on (``None``: memory).
    surveyed : Surveyed
        The bike to be changed, as taped.
    job : Job
        The same rider and bike as answered.
    answer : Changes
        The exact changes as printed; the chance is that of making just these.
    """
    bike, now = job.bike, job.now
    count = len(next(iter(drawn.inputs.values())))
    rng = Deviates(SEED + 1, beside=drawn.rng)
    inputs = dict(drawn.inputs)
    sat = next(one for one in drawn.settled if one.use == use)
    same = on_bike((sat, *drawn.settled), bike.key)
    if same is not None and same.points is not None:
        points = same.points
    else:
        points = sample(surveyed, count, rng)
        inputs.update(_point_inputs(points, surveyed.points, bike.key))
    rake = surveyed.rake.value + surveyed.rake.sd * rng.standard_normal(count)
    inputs[f"rake of {bike.key}"] = (rake - surveyed.rake.value) / surveyed.rake.sd
    readings = _draw_levers(now.lever_angle_deg, surveyed, rng, count)
    for side, figure in surveyed.lever_angle.items():
        drawn_reading = getattr(readings, side) - figure.value
        inputs[f"{side} lever angle of {bike.key}"] = drawn_reading
    reach = Sides(
        now.lever_reach_mm.brake + job.reach_sd.brake * rng.standard_normal(count),
        now.lever_reach_mm.clutch + job.reach_sd.clutch * rng.standard_normal(count),
    )
    wish = target(cockpit, sat, reference)
    if job.arms_sd:
        inputs[f"difference between the arms ({use})"] = rng.standard_normal(count)
        wish = _arms_apart(wish, job.arms_sd * inputs[f"difference between the arms ({use})"])
    shown = numbers_on(sat.linkage, sat.lean_deg, points, readings, reach)
    rolls = bool(np.isfinite(answer.bar_roll_deg))
    if not rolls:  # a bar that the answer does not roll is not rolled in any sample either
        wish = evolve(wish, grip_tilt_deg=shown.grip_tilt_deg)
    changes = exact(
        sat.linkage,
        wish,
        points,
        rake,
        readings,
        reach,
        clip_on=job.clip_on,
        clip_turn=0.0 if bike.clip_turn is None else bike.clip_turn.value,
    )
    after = numbers_on(
        sat.linkage,
        sat.lean_deg,
        moves.done_to(points, answer, rake),
        moves.levers_after(points, readings, answer, rake),
    )
    misses = misses_of(wish, after, job)
    return Trust(
        changes=_half_widths(changes if rolls else evolve(changes, bar_roll_deg=np.nan)),
        now=_half_widths(shown),
        chance=share_inside(misses),
        matters_most=_as_written(_matters_most(inputs, misses), use, cockpit),
        tried=Tried(sat=sat, wish=wish, points=points, rake=rake, lever_angle=readings),
    )


def on_bike(settled: Iterable[Settled], key: str) -> Settled | None:
    """First of the sit-ons that was taken on this bike; the use in question comes first."""
    return next((one for one in settled if one.bike == key), None)


def _draw_levers(angle: Sides, surveyed: Surveyed, rng: Normal, count: int) -> Sides:
    """Lever readings, drawn."""
    values = []
    for side in ("brake", "clutch"):
        figure = surveyed.lever_angle.get(side)
        spread = 0.0 if figure is None else figure.sd
        values.append(getattr(angle, side) + spread * rng.standard_normal(count))
    return Sides(*values)


def _arms_apart(wish: Numbers, by: Floats) -> Numbers:
    """The wish with half the difference between the arms so many degrees larger."""
    levers = wish.lever_angle_deg
    apart = Sides(np.add(levers.brake, by), np.subtract(levers.clutch, by))
    return evolve(wish, lever_angle_deg=apart)


def share_inside(misses: tuple[Floats, ...]) -> float:
    """Share of the draws with every miss inside its tolerance, 0 to 1."""
    return float(np.all(np.stack([np.abs(miss) <= 1.0 for miss in misses]), axis=0).mean())


def misses_of(wish: Numbers, after: Numbers, job: Job) -> tuple[Floats, ...]:
    """Deviations after the printed changes in units of their tolerance, each (n,) float.

    Out of reach counts as a miss. Tilt, sweep and reach are the hardware's and not in here.
    """
    tolerances, band = job.tolerances, job.limits.knee_angle
    pairs = [
        (after.bar_width_mm, wish.bar_width_mm, "bar_width"),
        (after.navel_to_bar_mm, wish.navel_to_bar_mm, "navel_to_bar"),
        (after.forearm_angle_deg, wish.forearm_angle_deg, "forearm_angle"),
    ]
    for side in ("brake", "clutch"):
        shown = getattr(after.lever_angle_deg, side)
        if np.isfinite(shown).any():
            pairs.append((shown, getattr(wish.lever_angle_deg, side), "lever_angle"))
    knee = after.knee_angle_deg - wish.knee_angle_deg
    widest = wish.knee_angle_deg if band is None else band[1]
    room = np.maximum(tolerances["knee_angle"], widest - wish.knee_angle_deg)
    ratios = [(a - b) / tolerances[name] for a, b, name in pairs]
    ratios.append(np.where(knee > 0.0, knee / room, knee / tolerances["knee_angle"]))
    return tuple(np.nan_to_num(np.asarray(ratio), nan=np.inf) for ratio in ratios)


def _matters_most(inputs: Mapping[str, Floats], misses: tuple[Floats, ...]) -> str:
    """Name of the drawn input that explains most of the misses' spread."""
    kept = np.all(np.isfinite(np.stack(misses)), axis=0)
    if kept.sum() < SAMPLES // 4:
        return ""
    out = np.stack([miss[kept] - miss[kept].mean() for miss in misses])
    names = list(inputs)
    rows = np.stack([inputs[name][kept] for name in names])
    rows = rows - rows.mean(axis=1, keepdims=True)
    size = np.sqrt((rows**2).sum(axis=1, keepdims=True))
    explained = ((out @ (rows / np.where(size > 0.0, size, 1.0)).T) ** 2).sum(axis=0)
    return names[int(np.argmax(explained))]


def _as_written(name: str, use: str, cockpit: Cockpit) -> str:
    """The forearm angle under the name it has in the rider's file: a lever in line with it."""
    if cockpit.forearm_angle is None and name == f"forearm angle ({use})":
        return f"lever angle ({use})"
    return name


def _point_inputs(points: BikePoints, nominal: BikePoints, key: str) -> dict[str, Floats]:
    """What was drawn of a bike's points, in spreads, under a reader's words."""
    found: dict[str, Floats] = {}
    origin = "rear axle" if "rear_axle" in nominal.others else "sit point"
    for name, words in (("seat", "sit point"), ("peg", "peg"), ("grip_end", "grip end")):
        step = getattr(points, name).minus(getattr(nominal, name))
        found[f"how high the {words} lies, on {key}"] = np.asarray(step.z)
        ahead = f"how far the {words} lies ahead of the {origin}, on {key}"
        found[ahead] = np.asarray(step.x)
    grip, start = (one.grip_end.minus(one.grip_inner) for one in (points, nominal))
    found[f"grip tilt of {key}"] = np.asarray(elevation(grip) - elevation(start))
    return found


Group = TypeVar("Group", Changes, Numbers, Sides, PegMove, SeatRaise)


def _half_widths(drawn: Group) -> Group:
    """Half the width of the central 95 % of each field, in a value of the same class."""
    made: dict[str, Any] = {}
    for part in fields(type(drawn)):
        value: Any = getattr(drawn, part.name)
        if isinstance(value, (Sides, PegMove, SeatRaise)):
            made[part.name] = _half_widths(value)  # type: ignore[type-var]  # one of the three
        elif part.name == "reachable":
            made[part.name] = bool(np.all(value))
        else:
            made[part.name] = half_width(value)
    return type(drawn)(**made)


def half_width(value: Real) -> float:
    """Half the width of the central 95 % of a sample; ``nan`` where over half of it is ``nan``."""
    kept = np.asarray(value, dtype=np.float64)
    if kept.ndim == 0:
        return 0.0 if np.isfinite(kept) else np.nan
    kept = kept[np.isfinite(kept)]
    if 2 * len(kept) <= len(np.atleast_1d(value)):
        return np.nan
    # Linear between order statistics, as numpy.quantile, whose import of numpy.ma costs 7 ms.
    places = np.array([0.5 - 0.5 * COVERAGE, 0.5 + 0.5 * COVERAGE]) * (len(kept) - 1)
    low, high = np.interp(places, np.arange(len(kept)), np.sort(kept))
    return float(0.5 * (high - low))
