"""Stage 8r: a plan's bar height and width against dated examples of law. Not advice.

Millimetres. Height above the seat is counted from the sit point, where the foam is pressed down;
width from the grips' ends, beyond which weights may stand.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np

from fitprofile.data.places import DEPRESSED, Place, Rule
from fitprofile.stages import linkage as body
from fitprofile.stages.check import Check, held, to_look_at
from fitprofile.stages.job import Job
from fitprofile.stages.plan import Plan

GRIP_RADIUS = 16.5
"""mm; half of a usual grip where its diameter was not taped (common practice, no source)."""

ACROMION_ABOVE_JOINT = 51.0
"""mm; top of the shoulder above its joint, trunk erect (Dempster, second-hand; as in `linkage`)."""

ENDS_BESIDE = 80.0
"""mm that weights or levers at both ends may add to the bar's width (estimate)."""

ASK = "check the law where you ride"

FOAM_UP = 40.0
"""mm that bare foam may stand above the place where a rider sits (15 to 40; common practice, no
source)."""

FOAM = "counted from the pressed-down foam, so a seat measured without a rider leaves a little more"
SAT_ON = "counted from the seat with the rider on it, as this law does"
NO_ENDS = "counted to the grip's end, so weights or levers beyond it come on top"
NOT_TAPED = "the overall width was not taped, so this is the bar's without its weights"


class Stand(NamedTuple):
    """What a rule's basis is counted from: the plan on the job, and the least room at lock, mm."""

    job: Job
    plan: Plan
    least_room: float

    @property
    def radius(self) -> float:
        """Of the grip, mm."""
        taped = self.job.bike.handlebar.grip_diameter
        return GRIP_RADIUS if taped is None else 0.5 * taped.value

    @property
    def highest(self) -> float:
        """Top of the grip's higher end, mm above the floor."""
        points = self.plan.points
        return float(np.maximum(points.grip_end.z, points.grip_inner.z)) + self.radius

    @property
    def lowest(self) -> float:
        """Underside of the grip's lower end, mm above the floor."""
        points = self.plan.points
        return float(np.minimum(points.grip_end.z, points.grip_inner.z)) - self.radius

    @property
    def shoulder(self) -> float:
        """Top of the shoulder (acromion), seated in the rider's own lean, mm above the floor."""
        rider, lean = self.job.rider, self.plan.after.lean_deg
        up = np.add(rider.shoulder_up_mm, ACROMION_ABOVE_JOINT)
        top = body.trunk_point(rider, self.plan.points.seat, lean, up, rider.shoulder_forward_mm)
        return float(top.z)

    @property
    def overall_width(self) -> float:
        """Overall width as taped and changed with the bar; ``nan`` where it was not taped."""
        taped = self.job.bike.handlebar.overall_width
        if taped is None:
            return float("nan")
        wider = 2.0 * (self.plan.points.grip_end.y - self.job.points.grip_end.y)
        return float(taped.value + wider)

    @property
    def beside(self) -> float:
        """What may stand beyond one grip's end; no more than an overall width leaves, mm."""
        left = 0.5 * self.overall_width - float(self.plan.points.grip_end.y)
        return float(np.clip(np.nan_to_num(left, nan=np.inf), 0.0, 0.5 * ENDS_BESIDE))


BASES: Mapping[str, tuple[str, Callable[[Stand], float]]] = {
    "hands above shoulder": (
        "middle of the grips above the top of the shoulders",
        lambda s: float(body.hand(s.plan.points).z) - s.shoulder,
    ),
    "grips above shoulder": (
        "top of the grips above the top of the shoulders",
        lambda s: s.highest - s.shoulder,
    ),
    "grips above seat": (
        "top of the grips above the seat",
        lambda s: s.highest - float(s.plan.points.seat.z),
    ),
    "lowest grip above seat": (
        "lowest part of the grips above the seat",
        lambda s: s.lowest - float(s.plan.points.seat.z),
    ),
    "lowest grip above clamp": (
        "lowest part of the grips above the bar's clamp",
        lambda s: s.lowest - float(s.plan.points.clamp.z),
    ),
    "half width": (
        "grip end from the centre line",
        lambda s: float(s.plan.points.grip_end.y),
    ),
    "overall width": ("overall width of the bar", lambda s: s.overall_width),
    "clearance at lock": ("room to fixed parts at full lock", lambda s: s.least_room),
}
"""What each basis measures, in words and as a figure, mm."""


def law_checks(
    job: Job, plan: Plan, place: Place | None, least_room: float = float("nan")
) -> tuple[Check, ...]:
    """A plan against the dated examples of one place.

    Parameters
    ----------
    place : Place or None
        ``None``: nobody asked, so there is nothing.
    least_room : float, mm
        The least of the lock checks; ``nan`` where there is none.

    Returns
    -------
    tuple of Check
        One for each rule, or one to look at where the place has no figure. Every ``why`` ends
        with the advice to check the law.
    """
    if place is None:
        return ()
    stand = Stand(job, plan, least_room)
    if not place.rules:
        why = f"{place.note}; {ASK}"
        return (to_look_at(f"law.{place.name}", f"law, {place.name}: no figure known", why),)
    return tuple(_check(stand, place, rule, i) for i, rule in enumerate(place.rules))


def _check(stand: Stand, place: Place, rule: Rule, index: int) -> Check:
    words, figure = BASES[rule.basis]
    value = figure(stand)
    less, more, how = _open(stand, rule, value)
    if rule.basis == "overall width" and np.isnan(value):
        value = 2.0 * float(stand.plan.points.grip_end.y)
    ends = (value - less, value + more)
    fits = {end >= rule.limit_mm if rule.least else end <= rule.limit_mm for end in ends}
    parts = [rule.wording, *filter(None, (how,)), f"{rule.section}, {rule.dated}, {rule.sure}"]
    return held(
        f"law.{place.name}.{index + 1}",
        f"law, {place.name}: {words}",
        value,
        rule.limit_mm,
        f"{'; '.join(parts)}; {ASK}",
        least=rule.least,
        sure=len(fits) == 1,
    )


def _open(stand: Stand, rule: Rule, value: float) -> tuple[float, float, str]:
    """How much less and more than a figure the law's own may be, mm, and why in words."""
    if rule.basis == "half width":
        return 0.0, stand.beside, NO_ENDS
    if rule.basis == "overall width" and np.isnan(value):
        return 0.0, ENDS_BESIDE, NOT_TAPED
    if not rule.basis.endswith("above seat"):
        return 0.0, 0.0, ""
    return (0.0, 0.0, SAT_ON) if rule.seat == DEPRESSED else (FOAM_UP, 0.0, FOAM)
