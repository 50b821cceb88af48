"""Stage 11b: the bike as it now is, as the numbers measured after the work tell it.

The bike as found, moved until it gives the measured numbers. Where the parts on it are known
(`fitprofile.stages.as_fitted`) the bar is rolled to the measured tilt; else the grips stand at it
with their sweep as found, as the bar may be any. Their ends are as far apart as measured; the bar
then stands where navel-to-bar and forearm angle come out, the pegs where the knee angle does. What
was done on the way leaves so much of the bike's bands.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from attrs import evolve

from fitprofile.geometry.vectors import Real, elevation, leftward_axis, norm, rearward
from fitprofile.model.bike import FREE, PINNED, Bike, Lever
from fitprofile.stages import moves
from fitprofile.stages.adjust import exact
from fitprofile.stages.job import SIDES, Job, numbers_after
from fitprofile.stages.limits import Limit, bands_left, beyond_bands, no_change_does_it
from fitprofile.stages.moves import Changes
from fitprofile.stages.posture import NO_SIDES, Numbers, Sides
from fitprofile.stages.siton import COVERAGE, Reported
from fitprofile.stages.survey import BikePoints


def as_it_is(
    job: Job, told: Mapping[str, Reported], *, parts_known: bool = False
) -> tuple[BikePoints, bool]:
    """The bike as found, moved until the rider shows the measured numbers on it; mm.

    Also whether there is any place of the bar that gives them; if not, it stays as found.

    Parameters
    ----------
    job : Job
        With the parts fitted, where they are known.
    told : mapping
        Measured numbers, by name.
    """
    turn = job.bike.clip_turn
    points = job.points
    if not (parts_known and _rolls_there(job, told)):
        points = _bent(points, told)
    work = exact(
        job.rider,
        _shown(job, told),
        points,
        job.rake,
        NO_SIDES,
        NO_SIDES,
        clip_on=job.clip_on,
        clip_turn=0.0 if turn is None or "grip_tilt" in told else turn.value,
    )
    height = work.clip_slide_mm if job.clip_on else work.riser_height_mm
    return _bent(moves.done_to(points, work, job.rake), told), bool(np.isfinite(height))


def _rolls_there(job: Job, told: Mapping[str, Reported]) -> bool:
    """Whether some roll of the bar gives the measured tilt, where that was measured."""
    if job.clip_on:
        return False
    axis = moves.grip_axis(job.points)
    tilt = value_of(told, "grip_tilt", job.target.grip_tilt_deg)
    return bool(np.isfinite(moves.levelling_roll(axis, tilt)))


def _shown(job: Job, told: Mapping[str, Reported]) -> Numbers:
    """What the rider shows on the bike as it now is; not measured counts as wished."""
    wish = job.target
    return evolve(
        wish,
        bar_width_mm=value_of(told, "bar_width", wish.bar_width_mm),
        navel_to_bar_mm=value_of(told, "navel_to_bar", wish.navel_to_bar_mm),
        forearm_angle_deg=value_of(told, "forearm_angle", wish.forearm_angle_deg),
        knee_angle_deg=value_of(told, "knee_angle", wish.knee_angle_deg),
        grip_tilt_deg=value_of(told, "grip_tilt", wish.grip_tilt_deg),
    )


def done_so_far(job: Job, told: Mapping[str, Reported]) -> Changes:
    """What was done to the bike since it was taped, as the measured numbers tell it; mm, degrees.

    The bar rolled to the measured tilt where roll does that; a number that was not measured counts
    as wished where another hangs on it, and its own change as made in full.
    """
    found, turn = job.now, job.bike.clip_turn
    work = exact(
        job.rider,
        _shown(job, told),
        job.points,
        job.rake,
        NO_SIDES,
        NO_SIDES,
        clip_on=job.clip_on,
        clip_turn=0.0 if turn is None else turn.value,
    )
    angles, reaches = (
        Sides(*(value_of(told, f"{part}.{side}", np.nan) for side in SIDES))
        for part in ("lever_angle", "lever_reach")
    )
    have = found.lever_reach_mm
    return evolve(
        work,
        lever_rotation_deg=moves.lever_turns(
            job.points, found.lever_angle_deg, work, angles, job.rake
        ),
        lever_reach_change_mm=Sides(
            reaches.brake - have.brake,
            reaches.clutch - have.clutch,
        ),
    )


def _bent(points: BikePoints, told: Mapping[str, Reported]) -> BikePoints:
    """Grips at the measured tilt and sweep about their outer ends; what was not measured stays."""
    if told.keys().isdisjoint(("grip_tilt", "grip_sweep")):
        return points
    grip = points.grip_end.minus(points.grip_inner)
    tilt = value_of(told, "grip_tilt", np.degrees(elevation(grip)))
    sweep = value_of(told, "grip_sweep", np.degrees(rearward(grip)))
    axis = leftward_axis(np.radians(tilt), np.radians(sweep))
    return evolve(points, grip_inner=points.grip_end.minus(axis.times(norm(grip))))


def value_of(told: Mapping[str, Reported], name: str, otherwise: Real) -> float:
    """A measured number, or what stands in for it."""
    return float(told[name].value) if name in told else float(otherwise)


def limits_left(
    job: Job, now: BikePoints, left: Changes, told: Mapping[str, Reported]
) -> tuple[Limit, ...]:
    """What the bike does not allow of what is left, its bands counted from as it now is.

    Parameters
    ----------
    now : BikePoints
        From `as_it_is`.
    left : Changes
        From there to the target; ``nan`` where nothing is said. What is left alone is held against
        nothing: a new bar may stand outside the band of the old one.
    """
    width = 2.0 * float(now.grip_end.y)
    beyond = beyond_bands(bike_left(job, told), left, width)
    found = tuple(limit for limit in beyond if limit.wanted != 0.0)
    bend = tuple(name for name in ("grip_tilt", "grip_sweep") if name in told)
    after = numbers_after(evolve(job, points=now), left)
    return (*found, *no_change_does_it(job, after, bend))


def bike_left(job: Job, told: Mapping[str, Reported]) -> Bike:
    """The bike with what the work so far leaves of its bands, pins that were freed free."""
    freed: dict[str, Lever] = {
        side: evolve(getattr(job.bike.levers, side), perch=FREE) for side in freed_pins(job, told)
    }
    bike = evolve(job.bike, levers=evolve(job.bike.levers, **freed))
    return bands_left(bike, done_so_far(job, told))


def freed_pins(job: Job, told: Mapping[str, Reported]) -> Mapping[str, float]:
    """Turn of each pinned perch that was turned by more than the tape explains, degrees, by side.

    How the bar was rolled has to be known: a lever goes with it.
    """
    found: dict[str, float] = {}
    done = done_so_far(job, told)
    for side in SIDES:
        lever: Lever | None = getattr(job.bike.levers, side)
        turn = float(getattr(done.lever_rotation_deg, side))
        seen = told.get(f"lever_angle.{side}")
        if lever is None or lever.perch != PINNED or seen is None or "grip_tilt" not in told:
            continue
        if abs(turn) > COVERAGE * float(np.hypot(seen.sd, told["grip_tilt"].sd)):
            found[side] = turn
    return found


def rolled_too_far(job: Job, told: Mapping[str, Reported]) -> str:
    """What is said of a measured tilt that only more roll could give than the bike allows.

    Empty where there is no such thing or the tape explains it: the roll is taken to be as doubtful
    as the tilt, in proportion. Pegs are passed over, as a seat may have been raised in their place,
    and so are riser and levers, which hang on several numbers.
    """
    band, rolled = job.bike.handlebar.roll, float(done_so_far(job, told).bar_roll_deg)
    if "grip_tilt" not in told or band is None or not np.isfinite(rolled):
        return ""
    seen = told["grip_tilt"]
    turned = float(seen.value) - float(job.now.grip_tilt_deg)
    doubt = COVERAGE * seen.sd * abs(rolled / turned) if turned else 0.0
    if abs(rolled - min(max(rolled, band[0]), band[1])) <= doubt:
        return ""
    return (
        f"{float(seen.value):.0f} degrees means that the bar was rolled by {rolled:.0f} since it "
        f"was taped, and {job.bike.file} allows {band[0]:.0f} to {band[1]:.0f}: measure it again, "
        f"or correct that file"
    )
