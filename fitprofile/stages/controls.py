"""Stage 8o: whether diameters match, and what pinned throttle and switches stand in the way of."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fitprofile.model.parts import DIAMETER_PLAY
from fitprofile.model.quantity import Reading
from fitprofile.stages.check import Check, held, to_look_at
from fitprofile.stages.job import Job
from fitprofile.stages.plan import Plan

UNSEEN = 0.05
"""mm or degrees that nobody would see."""

HOUSING_FIRST = (
    "a mechanic takes them off the housings by the maker's manual, last; no new hole in a bar, and "
    "never slot the bar tube"
)


def diameter_checks(job: Job, plan: Plan) -> tuple[Check, ...]:
    """Each new part's diameter against what it is clamped to.

    Returns
    -------
    tuple of Check
        ``value`` is the difference of the two. Not judged where one of them is not known. A part
        whose own diameter the catalogue leaves out is as the bike's own, and matches.
    """
    return tuple(_diameters(job, plan))


def _diameters(job: Job, plan: Plan) -> Iterator[Check]:
    choice, fitted = plan.choice, job.bike.handlebar
    bar, riser, clip = choice.bar, choice.riser, choice.clip_on
    clamped = bar.clamp_diameter if bar else fitted.clamp_diameter
    tube = (bar.bar_diameter if bar else clip.bar_diameter if clip else None) or fitted.bar_diameter
    if riser is not None and (riser.clamp_diameter is not None or bar is not None):
        holds = riser.clamp_diameter or fitted.clamp_diameter
        yield _match("diameter.clamp", "bar in the riser's clamp", clamped, holds)
    elif bar is not None:
        yield _match("diameter.clamp", "bar in the bike's clamp", clamped, fitted.clamp_diameter)
    for part in (bar, clip):
        if part is not None and part.bar_diameter is not None:
            held_by = fitted.bar_diameter
            yield _match("diameter.controls", "controls on the new bar", part.bar_diameter, held_by)
    if choice.extender is not None and choice.extender.bar_diameter is not None:
        own = choice.extender.bar_diameter
        yield _match("diameter.extender", "extenders on the bar's ends", own, tube)
    if clip is not None and clip.tube_diameter is not None:
        on = fitted.tube_diameter
        yield _match("diameter.tube", "clip-ons on the fork tubes", clip.tube_diameter, on)


def _match(what: str, words: str, one: Reading | None, other: Reading | None) -> Check:
    if one is None or other is None:
        why = "one of the two diameters is not known: measure both with a caliper before ordering"
        return to_look_at(what, words, why)
    apart = abs(one.value - other.value)
    why = f"{one.value:.1f} and {other.value:.1f} mm, which must be one size; never shim a clamp"
    return held(what, words, apart, DIAMETER_PLAY, why)


def pin_checks(job: Job, plan: Plan) -> tuple[Check, ...]:
    """Throttle housing and switches that are pinned to the bar, where the plan shifts them.

    Returns
    -------
    tuple of Check
        Empty where nothing is pinned. Roll turns bar and housings together, so only a shift of the
        grips along the bar, a new bar or turned perches count.
    """
    if not job.bike.handlebar.pins:
        return ()
    what, words = "pins", "throttle housing and switches on their pins"
    if plan.choice.bar is not None or plan.choice.clip_on is not None:
        why = f"the new bar has no holes for their pins, or has them elsewhere: {HOUSING_FIRST}"
        return (to_look_at(what, words, why),)
    shift = abs(float(np.nan_to_num(plan.grip_slide_mm)))
    if shift > UNSEEN:
        why = f"they go along with the grips, away from their holes: {HOUSING_FIRST}"
        return (held(what, words, shift, UNSEEN, why),)
    turn = max(_size(plan.lever_rotation_deg.brake), _size(plan.lever_rotation_deg.clutch))
    if turn > UNSEEN:
        why = (
            "they stay where they are while the perches turn; look whether a switch shares its "
            f"clamp with a perch: if so, {HOUSING_FIRST}"
        )
        return (to_look_at(what, words, why, value=turn, unit="deg"),)
    return (held(what, words, 0.0, UNSEEN, "they stay where they are on the bar"),)


def _size(turn: object) -> float:
    """Size of a turn, degrees; zero where there is none."""
    return abs(float(np.nan_to_num(np.asarray(turn, dtype=np.float64))))
