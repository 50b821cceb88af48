"""A plan from real parts as steps: each part and each free adjustment, and how to see it."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite, nan, radians

from fitprofile.model.parts import WITHOUT
from fitprofile.report.change_steps import long_enough
from fitprofile.report.for_good import CUT, HOUSING, how_undone, off_each_end, undone
from fitprofile.report.plan_words import beyond_words, head_words, is_bought, is_new, money
from fitprofile.report.step import BAR, CONTROLS, FEET, Move, Step
from fitprofile.report.uses import between_words
from fitprofile.report.wording import DEG, MM, figure, joined
from fitprofile.report.work import housing_words, in_order
from fitprofile.stages.feet import PEDALS
from fitprofile.stages.limits import BAR_RADIUS, beyond_usual
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan, PlanStep
from fitprofile.stages.readings import CLAMP_DIAMETER
from fitprofile.units import whole

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
    cut = f"{off_each_end(plan)} of {head_words(plan)}" if CUT in plan.cannot_undo else ""
    housings = "" if HOUSING in plan.cannot_undo else housing_words(transfer, _new_head(plan))
    return in_order(
        transfer,
        plan_steps(transfer, plan),
        up=whole(rise) > 0,
        slid=slid,
        housings=housings,
        cut=cut,
    )


def _new_head(plan: Plan) -> str:
    """``the new bar``; empty where the bike's own stays."""
    return head_words(plan) if is_new(plan) else ""


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
        if key[1] is not None or _is_set(plan, key[0]) or any(_seen(plan, one) for one in steps)
    }
    made = [(name, _step(transfer, plan, name, steps)) for (name, _), steps in groups.items()]
    told = {key for name, _ in groups for key in undone(name)}
    made += [(key, _bare(plan, key)) for key in plan.cannot_undo if key not in told]
    return tuple(step for _, step in sorted(made, key=lambda one: _turn_of(one[0])))


def _turn_of(key: str) -> int:
    """When a step comes among the controls: the housings' pins before the perches, reach last."""
    order = (HOUSING, "bar_width", "lever_rotation", "free_pin", "lever_reach")
    return next((turn for turn, name in enumerate(order, 1) if key.startswith(name)), 0)


def _is_set(plan: Plan, group: str) -> bool:
    """Whether it has to be set although nothing changes: a new bar's roll."""
    return group == "bar_roll" and is_new(plan)


def _bare(plan: Plan, key: str) -> Step:
    """What cannot be undone where no figure shows it."""
    way = f"go onto {head_words(plan)}" if is_new(plan) else "go along with the grips"
    side = key.partition(".")[2]
    return Step(
        phase=CONTROLS,
        what=f"Throttle housing and switches, pinned on this bike, {way}"
        if key == HOUSING
        else f"Pin of the {side} perch",
        for_good=how_undone(plan, key),
    )


def _step(transfer: Transfer, plan: Plan, group: str, steps: list[PlanStep]) -> Step:
    """One part or adjustment."""
    name, _, side = group.partition(".")
    part = next((one.part for one in steps if one.part is not None), "")
    looks = _LOOKS[name]
    undo = [how_undone(plan, key) for key in undone(group) if key in plan.cannot_undo]
    return Step(
        phase=looks.phase,
        what=_what(transfer, plan, name, side, part, steps),
        hint=_hint(transfer, plan, name, steps[0]),
        remarks=_remarks(transfer, plan, steps[0]),
        moves=tuple(_move(plan, one) for one in steps if _seen(plan, one))
        or (_move(plan, steps[0]),),
        tool=looks.tool,
        caution=looks.side_cautions.get(side, looks.caution),
        torque=looks.torque,
        part=part.removeprefix(WITHOUT),
        price=_price(transfer, plan, part),
        for_good="; ".join(undo),
    )


def _remarks(transfer: Transfer, plan: Plan, step: PlanStep) -> tuple[str, ...]:
    """What is to be looked at: the tube's length, and a setting that goes further than usual."""
    if step.what == "bar_width" and step.change > 0.0:
        return (long_enough(plan.grip_slide_mm, clip_on=isfinite(plan.clip_slide_mm)),)
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
    "bar": _Looks(BAR, "tape, phone level", "structural; clamp diameters alike, no shim"),
    "clip_on": _Looks(BAR, "tape, hex key", "structural; fully engaged, clear of screen and tank"),
    "extender": _Looks(BAR, "tape, caliper", "fully seated; throttle snaps shut"),
    "clip_turn": _Looks(BAR, "hex key, angle gauge", "locating tabs in the yoke are never freed"),
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


def _what(
    transfer: Transfer, plan: Plan, name: str, side: str, part: str, steps: list[PlanStep]
) -> str:
    """The order itself, with its direction in words."""
    change = steps[0].change
    ways = {
        "clip_slide": ("up the fork tubes", "down the fork tubes"),
        "clip_turn": ("rearward", "forward"),
        "bar_roll": ("toward the rider", "away from the rider"),
        "bar_width": ("outward", "inward"),
        "brake_pedal": ("up", "down"),
        "gear_lever": ("up", "down"),
        "lever_rotation": ("up", "down"),
    }.get(name, ("", ""))
    still = not isfinite(change) or not whole(change)
    way = "" if still else ways[0] if change > 0.0 else ways[1]
    if name.startswith("lever"):
        return _of_levers(name, side, way, steps)
    if name in _MOVED:
        return _on_new(plan, name) or f"{_MOVED[name]} {way}".strip()
    if part.startswith(WITHOUT):
        return f"Take off the {_FITTED[name]}"
    if name in ALWAYS_THERE or getattr(transfer.bike.fitted, FITTED_AS.get(name, name)):
        return f"Take off the old {_FITTED[name]}, fit the new"
    onto = f" to {head_words(plan)}" if name == "extender" and is_new(plan) else ""
    return f"Fit the {_FITTED[name]}{onto}"


def _of_levers(name: str, side: str, way: str, steps: list[PlanStep]) -> str:
    """The order for perches and reach."""
    if name == "lever_rotation":
        if not isfinite(steps[0].change):
            return f"Set the {side} perch by straightedge"
        return f"Turn the {side} perch, blade {way}"
    sides = joined([one.what.partition(".")[2] for one in steps])
    levers = f"{sides} lever{'s' if len(steps) > 1 else ''}"
    if steps[0].part is not None:
        return f"Take off the old {levers}, fit the new, set the reach"
    return f"Set the reach of the {levers}"


def _on_new(plan: Plan, name: str) -> str:
    """The order where a setting is made on a new bar or new clip-ons; else nothing."""
    if name == "bar_roll" and is_new(plan):
        return "Set the new bar's roll"
    if name == "bar_width" and is_new(plan):
        return f"Set grips in from the ends of {head_words(plan)}"
    return ""


_MOVED = {
    "clip_turn": "Turn both clip-ons round the tubes,",
    "clip_slide": "Slide both clip-ons",
    "bar_roll": "Roll the bar, its top",
    "bar_width": "Slide each grip and its controls",
    "brake_pedal": "Set the brake pedal",
    "gear_lever": "Set the gear lever",
}

_FITTED = {
    "seat": "seat",
    "pegs": "peg plates",
    "riser": "riser",
    "bar": "bar",
    "clip_on": "clip-ons",
    "extender": "bar-end extenders",
}

ALWAYS_THERE = ("seat", "bar", "clip_on")
"""What every bike has, so that fitting another one begins with taking the old one off."""

FITTED_AS: Mapping[str, str] = {"pegs": "peg_plate"}
"""Where a step's part stands in a bike's `fitted`, if under another name."""


def _hint(transfer: Transfer, plan: Plan, name: str, step: PlanStep) -> str:
    """How to see it, or where to put the tape."""
    if name == "bar_roll":
        if is_new(plan):
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
        "clip_turn": "as asked for in the bike's file",
        "clip_slide": "along the fork tube, both alike",
        "lever_reach": "grip to blade at the first finger's last crease",
    }[name]


def _ends(plan: Plan) -> str:
    """How a new bar or pair of clip-ons stands at first, and where on it the grips go."""
    drawn = next(
        (step.start for step in plan.steps if step.what in {"bar_width", "extender"}),
        float(plan.after.bar_width_mm),
    )
    clips = plan.choice.clip_on is not None
    wide = (
        f"where the old ones sat; {figure(drawn, MM)} from end to end"
        if clips
        else f"standing as drawn, {figure(drawn, MM)} wide"
    )
    if CUT in plan.cannot_undo:
        return f"{wide}, too wide: cut last"
    if plan.choice.extender is not None:
        return wide
    return f"{wide}, grips flush with {'their' if clips else 'its'} ends"


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
    "clip_turn": ("turn", "grip sweep"),
    "clip_slide": ("slide", "grip end above floor"),
    "bar_roll": ("roll", "grip tilt"),
    "bar_width": ("width", "bar width"),
    "lever_rotation": ("rotation", "lever angle"),
    "lever_reach": ("reach", "lever reach"),
}
"""What changes, and what a tape or a phone shows of it."""


def _seen(plan: Plan, step: PlanStep) -> bool:
    """Whether a figure prints as a change."""
    return _move(plan, step).shown


def _move(plan: Plan, step: PlanStep) -> Move:
    """One figure of a plan as a step's move; the exact answer stands elsewhere."""
    name, _, side = step.what.partition(".")
    words, seen = SEEN[name]
    if name == "lever_reach":
        words, seen = f"{words}, {side}", f"{seen}, {side}"
    if name == "bar_width" and is_new(plan):
        words = "width against drawn"
    return Move(
        words, step.unit, step.change, nan, nan, seen=seen, seen_unit=step.unit,
        start=step.start, end=step.end,
    )  # fmt: skip


def _price(transfer: Transfer, plan: Plan, name: str) -> str:
    """A part's price in words; nothing for what is taken off or adjusted."""
    part = next((one for one in plan.choice.parts() if one.name == name), None)
    if part is None or transfer.offers is None or not is_bought(part):
        return ""
    return money(float(part.price.value), transfer.offers.currency)


def _round(turn: float, diameter: float) -> str:
    """Degrees of turn as millimetres round a bar, to the half millimetre."""
    return f"{whole(abs(radians(turn)) * diameter) / 2.0:g}\N{NO-BREAK SPACE}mm"
