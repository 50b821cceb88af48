"""A plan from real parts as steps: each part and each free adjustment, and how to see it."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite, nan, radians

from fitprofile.model.parts import WITHOUT
from fitprofile.report.plan_words import beyond_words, head_words, is_bought, is_new, money
from fitprofile.report.step import BAR, CONTROLS, FEET, Move, Step
from fitprofile.report.uses import between_words
from fitprofile.report.wording import DEG, MM, figure, joined, whole
from fitprofile.report.work import in_order
from fitprofile.stages.feet import PEDALS
from fitprofile.stages.limits import BAR_RADIUS, beyond_usual
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan, PlanStep
from fitprofile.stages.readings import CLAMP_DIAMETER

CUT = "cut.bar"
HOUSING = "free_pin.housing"

FOR_GOOD: Mapping[str, str] = {
    CUT: "mark the ends, ride first, cut last and a little at a time",
    HOUSING: "free the housings' own pins, never the bar's; no new hole in a bar",
    "free_pin.brake": "free the brake housing's pin before the bar's; never slot the bar tube",
    "free_pin.clutch": "free the clutch housing's pin before the bar's; never slot the bar tube",
}
"""What cannot be undone and how to go about it, by the keys of a plan."""

GROUPS: Mapping[str, str] = {
    "seat_ahead": "seat",
    "pegs_up": "pegs",
    "pegs_ahead": "pegs",
    "riser_height": "riser",
    "riser_pullback": "riser",
    "lever_reach.brake": "lever_reach",
    "lever_reach.clutch": "lever_reach",
}
"""Steps of a plan that one part brings about together."""


def plan_work(transfer: Transfer, plan: Plan) -> tuple[Step, ...]:
    """Everything to do for a plan, in the order of work, routine included.

    Parameters
    ----------
    transfer : Transfer
        With its plans.
    plan : Plan
        One of them.
    """
    rise = float(plan.points.grip_end.z) - float(transfer.points.grip_end.z)
    slid = any(step.what in {"bar_width", "extender"} for step in plan.steps)
    cut = f"{_off_each_end(plan)} of {head_words(plan)}" if CUT in plan.cannot_undo else ""
    return in_order(transfer, plan_steps(transfer, plan), up=whole(rise) > 0, slid=slid, cut=cut)


def _off_each_end(plan: Plan) -> str:
    """``18 mm off each end``: what is cut, along the tube."""
    return f"{figure(abs(plan.grip_slide_mm), MM)} off each end"


def plan_steps(transfer: Transfer, plan: Plan) -> tuple[Step, ...]:
    """The steps of a plan that fit a part or change a figure, without routine.

    What changes by less than anybody sees, as a roll of a quarter degree, is no step.
    """
    groups: dict[tuple[str, str | None], list[PlanStep]] = {}
    for one in plan.steps:
        groups.setdefault((GROUPS.get(one.what, one.what), one.part), []).append(one)
    groups = {
        key: steps
        for key, steps in groups.items()
        if key[1] is not None or _is_set(plan, key[0]) or any(map(_seen, steps))
    }
    made = [_step(transfer, plan, name, steps) for (name, _), steps in groups.items()]
    told = {key for name, _ in groups for key in _undone(name)}
    pins = [key for key in plan.cannot_undo if key not in told]
    return (*made, *(_bare(key) for key in pins))


def _is_set(plan: Plan, group: str) -> bool:
    """Whether it has to be set although nothing changes: a new bar's roll."""
    return group == "bar_roll" and is_new(plan)


def _undone(group: str) -> tuple[str, ...]:
    """Keys of what cannot be undone that belong to a step."""
    name, _, side = group.partition(".")
    if name == "lever_rotation":
        return (f"free_pin.{side}",)
    return (CUT, HOUSING) if name == "bar_width" else ()


def _bare(key: str) -> Step:
    """What cannot be undone where no figure shows it."""
    words = {HOUSING: "Pins of throttle housing and switches"}
    side = key.partition(".")[2]
    return Step(
        phase=CONTROLS,
        what=words.get(key, f"Pin of the {side} perch"),
        for_good=FOR_GOOD.get(key, key),
    )


def _step(transfer: Transfer, plan: Plan, group: str, steps: list[PlanStep]) -> Step:
    """One part or adjustment."""
    name, _, side = group.partition(".")
    part = next((one.part for one in steps if one.part is not None), "")
    looks = _LOOKS[name]
    undo = [_for_good(plan, key) for key in _undone(group) if key in plan.cannot_undo]
    return Step(
        phase=looks.phase,
        what=_what(plan, name, side, part, steps),
        hint=_hint(transfer, plan, name, steps[0]),
        remarks=_remarks(transfer, steps[0]),
        moves=tuple(_move(plan, one) for one in steps if _seen(one)) or (_move(plan, steps[0]),),
        tool=looks.tool,
        caution=looks.side_cautions.get(side, looks.caution),
        torque=looks.torque,
        part=part.removeprefix(WITHOUT),
        price=_price(transfer, plan, part),
        for_good="; ".join(undo),
    )


def _for_good(plan: Plan, key: str) -> str:
    """What cannot be undone in a step; what is cut with its figure."""
    lead = f"{head_words(plan)} is cut, {_off_each_end(plan)}: " if key == CUT else ""
    return f"{lead}{FOR_GOOD[key]}"


def _remarks(transfer: Transfer, step: PlanStep) -> tuple[str, ...]:
    """What is to be looked at where a setting goes further than usual and no band says it may."""
    usual = beyond_usual(transfer.bike, step.what, step.change)
    if usual is None or step.part is not None:
        return ()
    change = figure(step.change, step.unit, signed=True)
    return (f"{change} is {beyond_words(usual, step.unit)}.",)


class _Looks:
    """What stays the same in every step of a kind."""

    def __init__(
        self, phase: str, tool: str, caution: str, *, torque: bool = True, **sides: str
    ) -> None:
        self.phase, self.tool, self.caution = phase, tool, caution
        self.torque, self.side_cautions = torque, sides


_LOOKS: Mapping[str, _Looks] = {
    "seat": _Looks(FEET, "tape, batten", "catch fully home; both feet to the ground", torque=False),
    "pegs": _Looks(FEET, "tape, plumb bob", "bolts as the maker says; ground clearance"),
    "brake_pedal": _Looks(FEET, "rule, wrench", "free play kept; the brake is not held on"),
    "gear_lever": _Looks(FEET, "rule, wrench", "every gear engages"),
    "riser": _Looks(BAR, "longer bolts, tape", "structural; no hose or cable may pull at lock"),
    "bar": _Looks(BAR, "tape, phone level", "structural; clamp diameters alike, never shim"),
    "clip_on": _Looks(BAR, "tape, hex key", "structural; fully engaged, clear of screen and tank"),
    "extender": _Looks(BAR, "tape, caliper", "fully seated; throttle snaps shut"),
    "clip_slide": _Looks(BAR, "hex key, tape", "both alike; fully engaged, clear of the fairing"),
    "bar_roll": _Looks(BAR, "phone level along the grip", "even gaps front and rear at the clamps"),
    "bar_width": _Looks(CONTROLS, "tape, grip glue", "throttle snaps shut"),
    "lever_rotation": _Looks(
        CONTROLS,
        "straightedge, phone level",
        "hose or cable free at both locks",
        brake="reservoir cap near level; banjo stays",
    ),
    "lever_reach": _Looks(
        CONTROLS, "adjuster, rule", "count the clicks; keep the free play", torque=False
    ),
}


def _what(plan: Plan, name: str, side: str, part: str, steps: list[PlanStep]) -> str:
    """The order itself, with its direction in words."""
    change = steps[0].change
    ways = {
        "clip_slide": ("up the fork tubes", "down the fork tubes"),
        "bar_roll": ("toward the rider", "away from the rider"),
        "bar_width": ("outward", "inward"),
        "brake_pedal": ("up", "down"),
        "gear_lever": ("up", "down"),
        "lever_rotation": ("up", "down"),
    }.get(name, ("", ""))
    still = not isfinite(change) or not whole(change)
    way = "" if still else ways[0] if change > 0.0 else ways[1]
    if name == "lever_rotation":
        if not isfinite(change):
            return f"Set the {side} perch by straightedge"
        return f"Turn the {side} perch, blade {way}"
    if name == "lever_reach":
        sides = joined([one.what.partition(".")[2] for one in steps])
        levers = f"{sides} lever{'s' if len(steps) > 1 else ''}"
        return f"Fit the {levers}, set the reach" if part else f"Set the reach of the {levers}"
    if name in _MOVED:
        return _on_new(plan, name, steps[0]) or f"{_MOVED[name]} {way}".strip()
    onto = f" to {head_words(plan)}" if name == "extender" and is_new(plan) else ""
    return f"{'Take off' if part.startswith(WITHOUT) else 'Fit'} {_FITTED[name]}{onto}"


def _on_new(plan: Plan, name: str, step: PlanStep) -> str:
    """The order where a setting is made on a new bar or new clip-ons; else nothing."""
    if name == "bar_roll" and not isfinite(step.start):
        return "Set the new bar's roll"
    if name == "bar_width" and is_new(plan):
        return f"Set grips in from the ends of {head_words(plan)}"
    return ""


_MOVED = {
    "clip_slide": "Slide both clip-ons",
    "bar_roll": "Roll the bar, its top",
    "bar_width": "Slide each grip and its controls",
    "brake_pedal": "Set the brake pedal",
    "gear_lever": "Set the gear lever",
}

_FITTED = {
    "seat": "the seat",
    "pegs": "the peg plates",
    "riser": "the riser",
    "bar": "the bar",
    "clip_on": "the clip-ons",
    "extender": "the bar-end extenders",
}


def _hint(transfer: Transfer, plan: Plan, name: str, step: PlanStep) -> str:
    """How to see it, or where to put the tape."""
    if name == "bar_roll":
        if not isfinite(step.start):
            return (
                f"{figure(step.change, DEG, signed=True)} from standing as drawn; grip tilt tells"
            )
        taped = transfer.bike.handlebar.clamp_diameter
        diameter = CLAMP_DIAMETER if taped is None else taped.value
        return f"a mark on its top goes {_round(step.change, diameter)} round the clamp"
    if name == "lever_rotation":
        if not isfinite(step.change):
            return "over grip and blade, in line with the forearm"
        taped = transfer.bike.handlebar.bar_diameter
        diameter = 2.0 * BAR_RADIUS if taped is None else taped.value
        return f"by straightedge; {_round(step.change, diameter)} round the bar"
    slide = figure(abs(plan.grip_slide_mm), MM)
    between = f"; {words}" if name in PEDALS and (words := between_words(transfer, name)) else ""
    return {
        "bar": _ends(plan),
        "clip_on": _ends(plan),
        "extender": f"grips and controls go {slide} out along each end",
        "bar_width": f"{slide} on each side, along the bar",
        "seat": "batten across the saddle, sat upon",
        "pegs": "tape to the top of the rubber, in its middle",
        "brake_pedal": f"its tip against the top of the peg{between}",
        "gear_lever": f"its tip against the top of the peg{between}",
        "riser": "along the steering axis, and square to it",
        "clip_slide": "along the fork tube, both alike",
        "lever_reach": "grip to blade at the first finger's last crease",
    }[name]


def _ends(plan: Plan) -> str:
    """How wide a new bar or pair of clip-ons is, and where on it the grips go."""
    drawn = next(
        (step.start for step in plan.steps if step.what in {"bar_width", "extender"}),
        float(plan.after.bar_width_mm),
    )
    wide = f"{figure(drawn, MM)} wide as drawn"
    if CUT in plan.cannot_undo:
        return f"{wide}, too wide: cut last"
    if plan.choice.extender is not None:
        return wide
    return f"{wide}, grips at its ends"


SEEN: Mapping[str, tuple[str, str]] = {
    "seat": ("upward", "sit point above floor"),
    "seat_ahead": ("forward", "sit point ahead"),
    "pegs_up": ("upward", "peg above floor"),
    "pegs_ahead": ("forward", "peg ahead"),
    "brake_pedal": ("brake pedal", "above the peg"),
    "gear_lever": ("gear lever", "above the peg"),
    "riser_height": ("riser height", "clamp above floor"),
    "riser_pullback": ("pullback", "clamp ahead"),
    "bar": ("grip end, up", "grip end above floor"),
    "clip_on": ("grip end, up", "grip end above floor"),
    "extender": ("bar width", "bar width"),
    "clip_slide": ("slide", "grip end above floor"),
    "bar_roll": ("roll", "grip tilt"),
    "bar_width": ("width", "bar width"),
    "lever_rotation": ("rotation", "lever angle"),
    "lever_reach": ("reach", "lever reach"),
}
"""What changes, and what a tape or a phone shows of it."""


def _seen(step: PlanStep) -> bool:
    """Whether a figure prints as a change."""
    return not isfinite(step.change) or whole(step.change) != 0


def _move(plan: Plan, step: PlanStep) -> Move:
    """One figure of a plan as a step's move; the exact answer stands elsewhere."""
    name, _, side = step.what.partition(".")
    words, seen = SEEN[name]
    if name == "lever_reach":
        words, seen = f"{words}, {side}", f"{seen}, {side}"
    if name == "bar_width" and is_new(plan):
        words = "width as drawn"
    # New clip-ons have no place on the tubes before they are slid there.
    fresh = name == "clip_slide" and plan.choice.clip_on is not None
    return Move(
        words, step.unit, step.change, nan, nan, seen=seen, seen_unit=step.unit,
        start=nan if fresh else step.start, end=step.end,
    )  # fmt: skip


def _price(transfer: Transfer, plan: Plan, name: str) -> str:
    """A part's price in words; nothing for what is taken off or adjusted."""
    part = next((one for one in plan.choice.parts() if one.name == name), None)
    if part is None or transfer.offers is None or not is_bought(part):
        return ""
    return money(float(part.price.value), transfer.offers.currency)


def _round(turn: float, diameter: float) -> str:
    """Degrees of turn as millimetres round a bar, to the half millimetre."""
    return f"{round(abs(radians(turn)) * diameter) / 2.0:g}\N{NO-BREAK SPACE}mm"
