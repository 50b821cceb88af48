"""Stage 8b: what of the exact answer lies outside what the bike allows."""

from __future__ import annotations

import numpy as np
from attrs import evolve, frozen

from fitprofile.geometry.vectors import Real
from fitprofile.model.bike import PINNED, Bike, Lever
from fitprofile.model.quantity import Band
from fitprofile.stages.job import SIDES, Job, deviations, numbers_after, within
from fitprofile.stages.moves import Changes

BAR_RADIUS = 11.1
"""mm; half of 22.2 (7/8 in), the control zone of bars where none was measured (trade guides)."""

PIN = 4.0
"""mm; diameter of a perch's pin where none was measured (common practice: 3 to 5)."""

UNSEEN = 0.5
"""mm or degrees beyond a band that no workshop would see."""


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


def limits_of(job: Job, exact: Changes) -> tuple[Limit, ...]:
    """What of the exact answer lies outside what the bike allows.

    Returns
    -------
    tuple of Limit
        In the order of the changes; a band that the file does not give is never held against
        a change.
    """
    bike = job.bike
    wished = float(job.target.bar_width_mm)
    width = of_change(bike.allows.bar_width, wished - float(exact.bar_width_change_mm))
    held: list[tuple[str, Real, Band | None, str]] = [
        ("bar_width_change", exact.bar_width_change_mm, width, "bar width the bike takes"),
        ("bar_roll", exact.bar_roll_deg, bike.handlebar.roll, "room to roll the bar"),
        ("riser_height", exact.riser_height_mm, bike.allows.riser, "risers the bike takes"),
        ("riser_pullback", exact.riser_pullback_mm, bike.allows.pullback, "pullback it takes"),
        ("clip_slide", exact.clip_slide_mm, bike.allows.clip_slide, "slide along the fork tube"),
        ("clip_offset", exact.clip_offset_mm, bike.allows.clip_offset, "offset from the fork tube"),
        ("peg_move.x", exact.peg_move_mm.x, bike.allows.peg_ahead, "pegs ahead or back"),
        ("peg_move.z", exact.peg_move_mm.z, bike.allows.peg_up, "pegs up or down"),
        (
            "seat_raise",
            exact.with_seat_raise.seat_raise_mm,
            bike.allows.seat,
            "seat height, in place of the pegs",
        ),
    ]
    for side, lever in zip(SIDES, (bike.levers.brake, bike.levers.clutch), strict=True):
        if lever is not None:
            turn = getattr(exact.lever_rotation_deg, side)
            held.append((f"lever_rotation.{side}", turn, perch_band(lever), _perch_reason(lever)))
            reach = getattr(exact.lever_reach_change_mm, side)
            held.append((f"lever_reach_change.{side}", reach, reach_band(lever), "reach adjuster"))
    found = [_limit(what, float(wanted), band, why) for what, wanted, band, why in held]
    named = tuple(
        evolve(limit, slot_length_mm=_slot(bike, limit)) for limit in found if limit is not None
    )
    return named + _beyond_change(job, exact)


def _limit(what: str, wanted: float, band: Band | None, reason: str) -> Limit | None:
    """A limit where the wish lies outside the band by more than can be seen."""
    if band is None or not np.isfinite(wanted):
        return None
    beyond = wanted - min(max(wanted, band[0]), band[1])
    return None if abs(beyond) <= UNSEEN else Limit(what, wanted, band, beyond, reason)


def _beyond_change(job: Job, exact: Changes) -> tuple[Limit, ...]:
    """Numbers that no change in the exact answer brings to the wish: tilt and sweep."""
    after = numbers_after(job, exact)
    off = deviations(job.target, after)
    reasons = {
        "grip_tilt": "clip-ons droop by design"
        if job.clip_on
        else "a straight bar is not levelled by rolling it; another bend would be",
        "grip_sweep": "sweep comes with the bar; only another bend changes it",
    }
    return tuple(
        Limit(
            name,
            float(getattr(job.target, f"{name}_deg")),
            None,
            -off[name],
            reason,
        )
        for name, reason in reasons.items()
        if name in off and not within(job, name, off[name])
    )


def perch_band(lever: Lever) -> Band | None:
    """Band of a perch's rotation, degrees; a pinned one has none of its own."""
    return (0.0, 0.0) if lever.perch == PINNED else lever.rotation


def _perch_reason(lever: Lever) -> str:
    """Why a perch stops."""
    return "the perch is pinned" if lever.perch == PINNED else "room to turn the perch"


def _slot(bike: Bike, limit: Limit) -> float | None:
    """Length of the slot that would free a pinned perch, mm: bar radius x rotation + pin."""
    part, _, side = limit.what.partition(".")
    lever = getattr(bike.levers, side, None) if part == "lever_rotation" else None
    if lever is None or lever.perch != PINNED:
        return None
    diameter = bike.handlebar.bar_diameter
    radius = BAR_RADIUS if diameter is None else 0.5 * diameter.value
    pin = PIN if lever.pin is None else lever.pin.value
    return float(radius * np.radians(abs(limit.wanted)) + pin)


def reach_band(lever: Lever) -> Band | None:
    """Band of the reach's change, mm, from the adjuster's range and the reach as found."""
    return None if lever.reach is None else of_change(lever.reach_range, lever.reach.value)


def of_change(band: Band | None, value: float) -> Band | None:
    """Band of the change from a band of the figure itself."""
    return None if band is None else (band[0] - value, band[1] - value)
