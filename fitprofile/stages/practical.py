"""Stage 8c: what a workshop should really do."""

from __future__ import annotations

import numpy as np
from attrs import evolve

from fitprofile.geometry.vectors import Floats
from fitprofile.model.quantity import Band
from fitprofile.stages import linkage as body
from fitprofile.stages import moves
from fitprofile.stages.adjust import riser, seat_raise
from fitprofile.stages.job import (
    SIDES,
    Job,
    deviations,
    in_line,
    missed,
    numbers_after,
    out_of_line,
    within,
)
from fitprofile.stages.limits import (
    Limit,
    held,
    no_change_does_it,
    of_change,
    perch_band,
    reach_band,
    served,
)
from fitprofile.stages.moves import Changes, PegMove
from fitprofile.stages.posture import Numbers, Sides, numbers_on
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen


@frozen(kw_only=True)
class Practical:
    """The answer a sheet prints when no parts are chosen.

    Parameters
    ----------
    changes : Changes
        Zero where a number is left alone; ``nan`` for names of the other bar kind.
    after : Numbers
        The rider's numbers once it is done.
    points : BikePoints
        The bike's points once it is done, mm.
    leave : tuple of str
        Numbers already inside tolerance (``"bar_width"``, ``"lever_angle.brake"`` ...).
    at_limit : tuple of str
        Changes that stop at what the bike allows.
    missed : tuple of str
        Numbers still outside tolerance afterwards.
    found_outside : tuple of str
        Numbers outside tolerance as found, each held against the wish.
    held : tuple of Limit
        What the bike does not allow and makes a number of `missed` miss, with everything else
        done as in `changes`.
    """

    changes: Changes
    after: Numbers
    points: BikePoints
    leave: tuple[str, ...] = ()
    at_limit: tuple[str, ...] = ()
    missed: tuple[str, ...] = ()
    found_outside: tuple[str, ...] = ()
    held: tuple[Limit, ...] = ()


Stops = list[tuple[str, float, Band]]
"""Changes that stop at what the bike allows: what was wanted, and the band, mm and degrees.

Wanted is ``nan`` where a change stops only because another one does.
"""


def practical(job: Job, exact: Changes) -> Practical:
    """The exact answer with the numbers inside tolerance left alone and every limit kept.

    The riser is solved again for the roll really used; the levers are brought in line with the
    forearm as it will be.
    """
    leave: list[str] = []
    stops: Stops = []
    allows = job.bike.allows
    pegs = peg_kept(job, exact.peg_move_mm, leave, stops)
    turn = float(np.nan_to_num(exact.clip_turn_deg))
    turned = moves.turn_clips(job.points, turn, job.rake)
    wider = slide = roll = 0.0
    if not _left(job, "bar_width", numbers_on(job.rider, job.target.lean_deg, turned), leave):
        room = of_change(allows.bar_width, 2.0 * float(turned.grip_end.y))
        wider = _stop("bar_width_change", float(exact.bar_width_change_mm), room, stops)
        slide = wider / (2.0 * float(moves.grip_axis(turned).y))
    if not job.clip_on and not _left(job, "grip_tilt", job.now, leave):
        roll = _stop("bar_roll", float(exact.bar_roll_deg), job.bike.handlebar.roll, stops)
    shaped = moves.roll_bar(moves.slide_grips(turned, slide), roll)
    height, pullback = _riser(job, shaped, leave, stops)
    changes = moves.bar_changes(
        clip_on=job.clip_on,
        width_change=wider,
        slide=slide,
        roll=roll,
        turn=turn,
        height=height,
        pullback=pullback,
    )
    changes = evolve(changes, peg_move_mm=pegs)
    raised = (
        0.0
        if "knee_angle" in leave
        else seat_raise(job.rider, job.points, job.target.knee_angle_deg)
    )
    changes = evolve(changes, with_seat_raise=moves.with_seat(changes, raised, job.rake))
    changes = evolve(changes, lever_rotation_deg=_levers(job, changes, leave, stops))
    changes = evolve(changes, lever_reach_change_mm=_reaches(job, exact, leave, stops))
    after = numbers_after(job, changes)
    lost = missed(job, after)
    found = deviations(job.target, job.now)
    return Practical(
        changes=changes,
        after=after,
        points=moves.done_to(job.points, changes, job.rake),
        leave=tuple(leave),
        at_limit=tuple(
            dict.fromkeys(PEGS if what.startswith(PEGS) else what for what, *_ in stops)
        ),
        missed=lost,
        found_outside=tuple(name for name, off in found.items() if not within(job, name, off)),
        held=_held(job, exact, after, lost, stops),
    )


PEGS = "peg_move"
"""One name for both directions in which the pegs may stop."""


def _held(
    job: Job, exact: Changes, after: Numbers, lost: tuple[str, ...], stops: Stops
) -> tuple[Limit, ...]:
    """Limits that make a number miss, with everything else done as it will be."""
    found = (
        held(job.bike, what, wanted, band)
        for what, wanted, band in stops
        if set(served(what)) & set(lost)
    )
    rolls = not job.clip_on and np.isfinite(exact.bar_roll_deg)
    hardware = ("grip_sweep",) if rolls else ("grip_tilt", "grip_sweep")
    return (
        *(limit for limit in found if limit is not None),
        *no_change_does_it(job, after, hardware),
    )


def _left(job: Job, name: str, shown: Numbers, leave: list[str]) -> bool:
    """Whether a number is inside tolerance before anything is done to it, and so left alone."""
    left = within(job, name, deviations(job.target, shown).get(name, np.nan))
    if left:
        leave.append(name)
    return left


def _stop(name: str, change: float, band: Band | None, stops: Stops) -> float:
    """The change kept inside its band; where it stopped short is noted."""
    if band is None or not np.isfinite(change):
        return float(np.nan_to_num(change))
    kept = min(max(change, band[0]), band[1])
    if kept != change:
        stops.append((name, change, band))
    return kept


def peg_kept(job: Job, wanted: PegMove, leave: list[str], stops: Stops) -> PegMove:
    """Peg move, shortened along its own direction until both bands hold it; none where inside."""
    if within(job, "knee_angle", float(job.now.knee_angle_deg) - float(job.target.knee_angle_deg)):
        leave.append("knee_angle")
        return PegMove(0.0, 0.0)
    share = 1.0
    allows = job.bike.allows
    for axis, part, band in (("x", wanted.x, allows.peg_ahead), ("z", wanted.z, allows.peg_up)):
        if band is not None and np.isfinite(part) and part != 0.0:
            room = max(0.0, (band[1] if part > 0.0 else band[0]) / float(part))
            if room < 1.0:
                stops.append((f"{PEGS}.{axis}", float(part), band))
            share = min(share, room)
    return PegMove(*(float(np.nan_to_num(part)) * share for part in (wanted.x, wanted.z)))


def _riser(job: Job, shaped: BikePoints, leave: list[str], stops: Stops) -> tuple[float, float]:
    """Riser (or slide and offset) for the roll really used, none where both numbers are fine.

    Where the bike does not allow it, the place inside its bands that comes closest to both.
    """
    shown = numbers_on(job.rider, job.target.lean_deg, shaped)
    off = deviations(job.target, shown)
    if all(within(job, name, off.get(name, np.nan)) for name in ("navel_to_bar", "forearm_angle")):
        leave.extend(("navel_to_bar", "forearm_angle"))
        return 0.0, 0.0
    wanted = tuple(float(part) for part in riser(job.rider, job.target, shaped, job.rake))
    if not np.isfinite(wanted[0]):
        return 0.0, 0.0
    allows = job.bike.allows
    names, bands = (
        (("clip_slide", "clip_offset"), (allows.clip_slide, allows.clip_offset))
        if job.clip_on
        else (("riser_height", "riser_pullback"), (allows.riser, allows.pullback))
    )
    if all(
        band is None or band[0] <= part <= band[1] for part, band in zip(wanted, bands, strict=True)
    ):
        return wanted[0], wanted[1]
    kept = _closest(job, shaped, bands, wanted)
    for name, part, have, band in zip(names, wanted, kept, bands, strict=True):
        if band is not None and min(abs(have - end) for end in band) <= AT_END:
            beyond = (part - have) * (have - sum(band) / 2.0) > 0.0
            stops.append((name, part if beyond else np.nan, band))
    return kept


AT_END = 0.01
"""mm from an end of its band within which a change stops there: what the search resolves."""

ROOM = 100.0
"""mm either side of the exact answer that is searched where the bike sets no band."""

GRID = np.linspace(0.0, 1.0, 21)
ZOOMS = 4
"""The best cell of a 21 x 21 grid, four times over: to a hundredth of a millimetre."""

UNREACHABLE = 90.0
"""Degrees that a forearm counts as off where the arm cannot reach: more than any that can."""

SLIGHT = 1e-6
"""Weight of a move's squared length, per mm^2, against deviations in tolerances: ties only."""


def _closest(
    job: Job, shaped: BikePoints, bands: tuple[Band | None, ...], wanted: tuple[float, ...]
) -> tuple[float, float]:
    """Height and pullback inside their bands with the least deviation from both numbers."""
    low, high = (
        np.array(
            [
                (part + side * ROOM if band is None else band[which])
                for part, band in zip(wanted, bands, strict=True)
            ]
        )
        for which, side in enumerate((-1.0, 1.0))
    )
    best = low
    ends = (low, high)
    for _ in range(ZOOMS):
        height = (low[0] + GRID * (high[0] - low[0]))[:, None] + 0.0 * GRID
        pullback = (low[1] + GRID * (high[1] - low[1])) + 0.0 * GRID[:, None]
        cost = _apart(job, moves.raise_bar(shaped, height, pullback, job.rake))
        cost = cost + SLIGHT * (height**2 + pullback**2)
        row, column = np.unravel_index(int(np.argmin(cost)), cost.shape)
        best = np.array([height[row, column], pullback[row, column]])
        cell = (high - low) / (len(GRID) - 1)
        low, high = np.maximum(best - cell, ends[0]), np.minimum(best + cell, ends[1])
    return float(best[0]), float(best[1])


def _apart(job: Job, points: BikePoints) -> Floats:
    """Squared deviation from navel-to-bar and forearm angle in tolerances, (...) float.

    Where the arms cannot reach, the forearm counts as `UNREACHABLE` degrees off and one more for
    each mm out of reach, so that a place within reach is always better.
    """
    shown = numbers_on(job.rider, job.target.lean_deg, points)
    joint = body.shoulder(job.rider, points.seat, job.target.lean_deg)
    beyond = UNREACHABLE + np.abs(body.out_of_reach(job.rider, joint, body.hand(points)))
    forearm = shown.forearm_angle_deg - job.target.forearm_angle_deg
    forearm = np.where(np.isnan(forearm), beyond, forearm) / job.tolerances["forearm_angle"]
    distance = shown.navel_to_bar_mm - job.target.navel_to_bar_mm
    return np.asarray((distance / job.tolerances["navel_to_bar"]) ** 2 + forearm**2)


def _levers(job: Job, changes: Changes, leave: list[str], stops: Stops) -> Sides:
    """Turn of each perch that brings its lever in line with the forearm as it will be.

    A lever that then is in line already is left alone, whatever the wish's own angle.
    """
    bare = numbers_after(job, changes)
    off, line = deviations(job.target, bare), out_of_line(job.target, bare)
    forearm = (
        bare.forearm_angle_deg
        if np.isfinite(bare.forearm_angle_deg)
        else (job.target.forearm_angle_deg)
    )
    aim = in_line(job.target, forearm)
    wanted = moves.lever_turns(job.points, job.now.lever_angle_deg, changes, aim, job.rake)
    made = []
    for side, lever in zip(SIDES, (job.bike.levers.brake, job.bike.levers.clutch), strict=True):
        name, turn = f"lever_angle.{side}", float(getattr(wanted, side))
        if lever is None or name not in off:
            made.append(np.nan)
        elif within(job, name, line.get(name, off[name])):
            leave.append(name)
            made.append(0.0)
        else:
            made.append(_stop(f"lever_rotation.{side}", turn, perch_band(lever), stops))
    return Sides(*made)


def _reaches(job: Job, exact: Changes, leave: list[str], stops: Stops) -> Sides:
    """Change of each lever's reach inside its adjuster's range."""
    off = deviations(job.target, job.now)
    made = []
    for side, lever in zip(SIDES, (job.bike.levers.brake, job.bike.levers.clutch), strict=True):
        name, change = f"lever_reach.{side}", float(getattr(exact.lever_reach_change_mm, side))
        if lever is None or name not in off:
            made.append(np.nan)
        elif within(job, name, off[name]):
            leave.append(name)
            made.append(0.0)
        else:
            made.append(_stop(f"lever_reach_change.{side}", change, reach_band(lever), stops))
    return Sides(*made)
