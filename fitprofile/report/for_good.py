"""What a plan does that cannot be undone, and how to go about it."""

from __future__ import annotations

from collections.abc import Mapping

from fitprofile.report.plan_words import head_words, is_new
from fitprofile.report.wording import MM, figure
from fitprofile.stages.plan import Plan

CUT = "cut.bar"
HOUSING = "free_pin.housing"

FOR_GOOD: Mapping[str, str] = {
    CUT: "mark the ends, ride first, cut last and a little at a time",
    HOUSING: "free the housings' own pins, never the bar's; no new hole in a bar",
    "free_pin.brake": "free the brake housing's pin before the bar's; never slot the bar tube",
    "free_pin.clutch": "free the clutch housing's pin before the bar's; never slot the bar tube",
}
"""What cannot be undone and how to go about it, by the keys of a plan."""

ON_NEW: Mapping[str, str] = {
    HOUSING: "find the pins' holes in {}, else a mechanic takes them off by the maker's manual; no "
    "new hole in a bar",
    **dict.fromkeys(
        ("free_pin.brake", "free_pin.clutch"),
        "find the pin's hole in {}, else a mechanic takes it off by the maker's manual; never slot "
        "the bar tube",
    ),
}
"""The same where what is pinned goes onto another bar or other clip-ons, which stand in ``{}``."""


def undone(group: str) -> tuple[str, ...]:
    """Keys of what cannot be undone that belong to a step."""
    name, _, side = group.partition(".")
    if name == "lever_rotation":
        return (f"free_pin.{side}",)
    return (CUT,) if name == "bar_width" else ()


def how_undone(plan: Plan, key: str) -> str:
    """What cannot be undone in a step; what is cut with its figure."""
    head = head_words(plan)
    if key == CUT:
        be = "are" if head.endswith("s") else "is"
        return f"{head} {be} cut, {off_each_end(plan)}: {FOR_GOOD[key]}"
    if is_new(plan) and key in ON_NEW:
        return ON_NEW[key].format(head)
    return FOR_GOOD.get(key, key)


def off_each_end(plan: Plan) -> str:
    """``18 mm off each end``: what is cut, along the tube."""
    return f"{figure(abs(plan.grip_slide_mm), MM)} off each end"
