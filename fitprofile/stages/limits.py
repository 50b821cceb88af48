"""Stage 8b: what of the exact answer lies outside what the bike allows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
from attrs import evolve

from fitprofile.geometry.vectors import Real
from fitprofile.model.bike import PINNED, Bike, Lever
from fitprofile.model.quantity import Band, Reading
from fitprofile.stages.job import SIDES, Job, deviations, numbers_after, within
from fitprofile.stages.moves import Changes
from fitprofile.stages.posture import Numbers
from fitprofile.values import frozen

BAR_RADIUS = 11.1
"""mm; half of 22.2 (7/8 in), the control zone of bars where none was measured (trade guides)."""

PIN = 4.0
"""mm; diameter of a perch's pin where none was measured (common practice: 3 to 5)."""

UNSEEN = 0.5
"""mm or degrees beyond a band that no workshop would see."""

USUAL: Mapping[str, float] = {
    "bar_roll": 8.0,
    "riser_height": 40.0,
    "riser_pullback": 25.0,
    "clip_slide": 30.0,
    "clip_offset": 25.0,
    "peg_move": 25.0,
    "lever_rotation": 12.0,
}
"""How far each change usually goes either way, mm and degrees (common practice, no source)."""


@frozen
class Limit:
    """One wish that lies outside what the bike allows.

    Parameters
    ----------
    what : str
        Key of the change (``"bar_roll"``, ``"lever_rotation.brake"``) or of the number that no
        change reaches (``"grip_sweep"``).
    wanted, allowed : float and (float, float) or None
        mm or degrees; ``allowed`` is ``None`` where nothing at all is possible.
    residual : float
        Wanted less the nearest allowed, same unit.
    reason : str
        Why, in a few words for a reader.
    slot_length_mm : float or None
        For a pinned perch: length of the slot that would free it, pin diameter included.
    """

    what: str
    wanted: float
    allowed: tuple[float, float] | None
    residual: float
    reason: str
    slot_length_mm: float | None = None


ALLOWED = (
    "bar_width",
    "riser",
    "pullback",
    "clip_slide",
    "clip_offset",
    "peg_ahead",
    "peg_up",
    "seat",
)
"""Bands of a bike's ``[allows]``."""

ENDS: Mapping[str, tuple[str, str]] = {
    "bar_width_change": ("the narrowest bar this bike takes", "the widest bar this bike takes"),
    "bar_roll": ("as far as the bar rolls back", "as far as the bar rolls toward the rider"),
    "riser_height": ("the lowest the bar goes on this bike", "the tallest risers this bike takes"),
    "riser_pullback": ("the least pullback this bike takes", "the most pullback this bike takes"),
    "clip_slide": ("as far down the fork tube as it goes", "as far up the fork tube as it goes"),
    "clip_offset": ("the least offset from the fork tube", "the most offset from the fork tube"),
    "peg_move.x": ("as far back as the pegs go", "as far forward as the pegs go"),
    "peg_move.z": ("as far down as the pegs go", "as far up as the pegs go"),
    "seat_raise": (
        "the lowest seat, in place of the pegs",
        "the highest seat, in place of the pegs",
    ),
    "lever_rotation": ("as far down as the perch turns", "as far up as the perch turns"),
    "lever_reach_change": ("the near end of the adjuster", "the far end of the adjuster"),
}
"""What ends at the lower and at the upper end of each band, for a reader."""

PINNED_PERCH = "the perch is pinned"

SERVED: Mapping[str, tuple[str, ...]] = {
    "bar_width_change": ("bar_width",),
    "bar_roll": ("grip_tilt",),
    "riser_height": ("navel_to_bar", "forearm_angle"),
    "riser_pullback": ("navel_to_bar", "forearm_angle"),
    "clip_slide": ("navel_to_bar", "forearm_angle"),
    "clip_offset": ("navel_to_bar", "forearm_angle"),
    "peg_move.x": ("knee_angle",),
    "peg_move.z": ("knee_angle",),
}
"""Numbers that a change brings about; a lever's own are `served`."""


def served(what: str) -> tuple[str, ...]:
    """Numbers that a change brings about."""
    part, _, side = what.partition(".")
    if part in {"lever_rotation", "lever_reach_change"}:
        return (f"lever_{'angle' if part == 'lever_rotation' else 'reach'}.{side}",)
    return SERVED.get(what, ())


def limits_of(job: Job, exact: Changes) -> tuple[Limit, ...]:
    """What of the exact answer lies outside what the bike allows.

    Returns
    -------
    tuple of Limit
        In the order of the changes; a band that the file does not give is never held against
        a change.
    """
    as_found = float(job.target.bar_width_mm) - float(exact.bar_width_change_mm)
    after = numbers_after(job, exact)
    return (
        *beyond_bands(job.bike, exact, as_found),
        *no_change_does_it(job, after, ("grip_tilt", "grip_sweep")),
    )


def beyond_bands(bike: Bike, exact: Changes, bar_width: float) -> tuple[Limit, ...]:
    """Changes that lie outside the bands of the bike's file, in their order.

    ``bar_width`` is that before the changes, mm.
    """
    width = of_change(bike.allows.bar_width, bar_width)
    wanted: list[tuple[str, Real, Band | None]] = [
        ("bar_width_change", exact.bar_width_change_mm, width),
        ("bar_roll", exact.bar_roll_deg, bike.handlebar.roll),
        ("riser_height", exact.riser_height_mm, bike.allows.riser),
        ("riser_pullback", exact.riser_pullback_mm, bike.allows.pullback),
        ("clip_slide", exact.clip_slide_mm, bike.allows.clip_slide),
        ("clip_offset", exact.clip_offset_mm, bike.allows.clip_offset),
        ("peg_move.x", exact.peg_move_mm.x, bike.allows.peg_ahead),
        ("peg_move.z", exact.peg_move_mm.z, bike.allows.peg_up),
        ("seat_raise", exact.with_seat_raise.seat_raise_mm, bike.allows.seat),
    ]
    for side, lever in zip(SIDES, (bike.levers.brake, bike.levers.clutch), strict=True):
        if lever is not None:
            turn = getattr(exact.lever_rotation_deg, side)
            wanted.append((f"lever_rotation.{side}", turn, perch_band(lever)))
            reach = getattr(exact.lever_reach_change_mm, side)
            wanted.append((f"lever_reach_change.{side}", reach, reach_band(lever)))
    found = (held(bike, what, float(value), band) for what, value, band in wanted)
    return tuple(limit for limit in found if limit is not None)


def bands_left(bike: Bike, done: Changes) -> Bike:
    """The bike with what work that was done to it leaves of its bands.

    Parameters
    ----------
    done : Changes
        From the bike as its file has it; ``nan``: not made. Width and seat are left alone: the
        width's band is one of the figure itself, and the seat's change is in none of these.

    Returns
    -------
    Bike
        Bands counted from the bike as it now is, levers with their reach as it now is.

    Notes
    -----
    A bike stands inside its own bands, whatever a tape makes of the work: done beyond an end counts
    as done to the end.
    """
    allows = bike.allows
    return evolve(
        bike,
        handlebar=evolve(bike.handlebar, roll=rest_of(bike.handlebar.roll, done.bar_roll_deg)),
        allows=evolve(
            allows,
            riser=rest_of(allows.riser, done.riser_height_mm),
            pullback=rest_of(allows.pullback, done.riser_pullback_mm),
            clip_slide=rest_of(allows.clip_slide, done.clip_slide_mm),
            clip_offset=rest_of(allows.clip_offset, done.clip_offset_mm),
            peg_ahead=rest_of(allows.peg_ahead, done.peg_move_mm.x),
            peg_up=rest_of(allows.peg_up, done.peg_move_mm.z),
        ),
        levers=evolve(
            bike.levers, **{side: _turned(getattr(bike.levers, side), done, side) for side in SIDES}
        ),
    )


def rest_of(band: Band | None, done: Real) -> Band | None:
    """What a change that was made leaves of its band."""
    if band is None:
        return None
    made = min(max(float(np.nan_to_num(done)), band[0]), band[1])
    return (band[0] - made, band[1] - made)


def _turned(lever: Lever | None, done: Changes, side: str) -> Lever | None:
    """A lever with its perch turned and its reach set."""
    if lever is None:
        return None
    turn = getattr(done.lever_rotation_deg, side)
    set_to = float(np.nan_to_num(getattr(done.lever_reach_change_mm, side)))
    reach = lever.reach
    if reach is not None:
        reach = Reading(reach.value + set_to)
    return evolve(lever, rotation=rest_of(lever.rotation, turn), reach=reach)


def held(bike: Bike, what: str, wanted: float, band: Band | None) -> Limit | None:
    """A limit where a change lies outside its band by more than can be seen."""
    if band is None or not np.isfinite(wanted):
        return None
    beyond = wanted - min(max(wanted, band[0]), band[1])
    if abs(beyond) <= UNSEEN:
        return None
    part, _, side = what.partition(".")
    lever: Lever | None = getattr(bike.levers, side) if part == "lever_rotation" else None
    if lever is not None and lever.perch == PINNED:
        return Limit(what, wanted, band, beyond, PINNED_PERCH, _slot(bike, lever, wanted))
    low, high = ENDS[what if what in ENDS else part]
    return Limit(what, wanted, band, beyond, high if beyond > 0.0 else low)


def no_change_does_it(job: Job, after: Numbers, names: Iterable[str]) -> tuple[Limit, ...]:
    """Of tilt and sweep, those that stay outside tolerance because they belong to the bar."""
    off = deviations(job.target, after)
    reasons = {
        "grip_tilt": "clip-ons droop by design"
        if job.clip_on
        else "a straight bar is not levelled by rolling it; another bend would be",
        "grip_sweep": "sweep comes with the bar; only another bend changes it",
    }
    return tuple(
        Limit(name, float(getattr(job.target, f"{name}_deg")), None, -off[name], reasons[name])
        for name in names
        if name in off and not within(job, name, off[name])
    )


def perch_band(lever: Lever) -> Band | None:
    """Band of a perch's rotation, degrees; a pinned one has none of its own."""
    return (0.0, 0.0) if lever.perch == PINNED else lever.rotation


def _slot(bike: Bike, lever: Lever, turn: float) -> float:
    """Length of the slot that would free a pinned perch, mm: bar radius x rotation + pin."""
    diameter = bike.handlebar.bar_diameter
    radius = BAR_RADIUS if diameter is None else 0.5 * diameter.value
    pin = PIN if lever.pin is None else lever.pin.value
    return float(radius * np.radians(abs(turn)) + pin)


def reach_band(lever: Lever) -> Band | None:
    """Band of the reach's change, mm, from the adjuster's range and the reach as found."""
    return None if lever.reach is None else of_change(lever.reach_range, lever.reach.value)


def of_change(band: Band | None, value: float) -> Band | None:
    """Band of the change from a band of the figure itself."""
    return None if band is None else (band[0] - value, band[1] - value)


def beyond_usual(bike: Bike, what: str, change: float) -> float | None:
    """How far a change usually goes, where it goes further and the bike's file sets no band.

    Parameters
    ----------
    what : str
        Key of a change, with the lever's side behind a point; those not in `USUAL` have none.
    change : float
        mm or degrees.

    Returns
    -------
    float or None
        mm or degrees; ``None`` where the change is usual, or the file says what the bike takes.
    """
    part, _, side = what.partition(".")
    lever = getattr(bike.levers, side) if side else None
    allows = bike.allows
    bands: Mapping[str, tuple[Band | None, ...]] = {
        "bar_roll": (bike.handlebar.roll,),
        "riser_height": (allows.riser,),
        "riser_pullback": (allows.pullback,),
        "clip_slide": (allows.clip_slide,),
        "clip_offset": (allows.clip_offset,),
        "peg_move": (allows.peg_ahead, allows.peg_up),
        "lever_rotation": (None if lever is None else perch_band(lever),),
    }
    if not abs(change) > USUAL.get(part, np.inf) or any(band is not None for band in bands[part]):
        return None
    return USUAL[part]


def says_nothing(bike: Bike) -> bool:
    """Whether a bike's file sets no band at all, so that nothing is held against any change."""
    allows = bike.allows
    bands = [getattr(allows, name) for name in ALLOWED]
    for lever in (bike.levers.brake, bike.levers.clutch):
        bands += [] if lever is None else [perch_band(lever), lever.reach_range]
    return all(band is None for band in (*bands, bike.handlebar.roll))
