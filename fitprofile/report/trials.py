"""What of a plan can be tried without its parts: packers, rods, tape, and settings."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite, nan

from attrs import evolve

from fitprofile.report.change_steps import SEEN
from fitprofile.report.numbers import number_of
from fitprofile.report.shopping import Chosen
from fitprofile.report.wording import DEG, MM, NUMBERS, figure, joined
from fitprofile.stages.feet import PEDALS
from fitprofile.units import whole
from fitprofile.values import frozen


@frozen(kw_only=True)
class Trial:
    """One thing to mock up or to set.

    Parameters
    ----------
    what : str
        Where, in words.
    how : str
        What to stack, hold or set.
    seen : str
        What a tape shows it by; empty where only the change can be said.
    unit : str
        Of ``start`` and ``end``.
    start, end : float
        That figure before and after.
    """

    what: str
    how: str
    seen: str = ""
    unit: str = MM
    start: float = nan
    end: float = nan


def trials(chosen: Chosen) -> tuple[Trial, ...]:
    """Everything of a plan that can be tried without its parts, in the order of work."""
    return (
        *_seat(chosen),
        *_pegs(chosen),
        *_pedals(chosen),
        *_risers(chosen),
        *_bar(chosen),
        *_settings(chosen),
    )


def _amount(change: float, more: str, less: str) -> str:
    return f"{figure(abs(change), MM)} {more if change > 0.0 else less}"


def _amounts(*parts: tuple[float, str, str]) -> str:
    """Every part that prints as a change."""
    return joined([_amount(*part) for part in parts if whole(part[0])])


def _seat(chosen: Chosen) -> Iterator[Trial]:
    ahead, up = chosen.plan.seat_move_mm
    if not whole(ahead) and not whole(up):
        return
    moved = _amounts((up, "up", "down"), (ahead, "ahead", "back"))
    how = (
        f"firm foam or folded blanket under the sitting bones: {moved} when sat upon"
        if up > 0.0
        else f"sit point {moved}: cannot be packed, so judge it with pegs and bar moved instead"
    )
    yield _point(chosen, "Seat", how, "seat", "z", "sit point above floor")


def _pegs(chosen: Chosen) -> Iterator[Trial]:
    ahead, up = chosen.plan.peg_move_mm
    if not whole(ahead) and not whole(up):
        return
    moved = _amounts((up, "up", "down"), (ahead, "ahead", "back"))
    how = f"feet on blocks at the new place, {moved}, both sides; pegs folded away"
    yield _point(chosen, "Pegs", how, "peg", "z", SEEN["peg.z"])
    if whole(ahead):
        yield _point(chosen, "", "", "peg", "x", SEEN["peg.x"])


def _pedals(chosen: Chosen) -> Iterator[Trial]:
    """Pedals that the plan sets to another height above their pegs."""
    for step in chosen.plan.steps:
        if step.what in PEDALS and whole(step.change):
            how = f"set {_amount(step.change, 'up', 'down')}; the brake is not held on"
            what = PEDALS[step.what].capitalize()
            yield Trial(what=what, how=how, seen="above the peg", start=step.start, end=step.end)


def _risers(chosen: Chosen) -> Iterator[Trial]:
    height, back = chosen.plan.riser_move_mm
    if not whole(height) and not whole(back):
        return
    moved = _amounts((back, "toward the rider", "away from the rider"))
    held = f", bar held {moved}" if moved else ""
    how = (
        f"stack packers {figure(height, MM)} high, square to the steering axis{held}"
        if height > 0.0
        else f"{_amounts((height, 'up', 'lower'))}: take packers or the riser out{held}"
        if whole(height)
        else f"bar held {moved} on longer studs"
    )
    yield _point(chosen, "Bar clamp", how, "clamp", "z", SEEN["clamp.z"])
    yield _point(chosen, "", "", "clamp", "x", SEEN["clamp.x"])


def _bar(chosen: Chosen) -> Iterator[Trial]:
    choice, plan = chosen.plan.choice, chosen.plan
    if choice.bar is None and choice.clip_on is None and choice.extender is None:
        yield from _slide(chosen)
        return
    new = choice.bar or choice.clip_on
    how = (
        f"a straight rod taped to the old {'bar on' if choice.clip_on is None else 'clip-on of'} "
        "each side, its end where the new grip's end will be"
        if new is not None
        else "grips slid out on a rod pushed into each bar end"
    )
    yield _point(chosen, "Grip ends", how, "grip_end", "z", SEEN["grip_end.z"])
    yield _point(chosen, "", "", "grip_end", "x", SEEN["grip_end.x"])
    before, after = (2.0 * float(at.grip_end.y) for at in (chosen.transfer.points, plan.points))
    yield Trial(what="", how="", seen="end to end", start=before, end=after)


def _slide(chosen: Chosen) -> Iterator[Trial]:
    """Grips along the bar that is on the bike: only marked, since the end may have to be cut."""
    slide = chosen.plan.grip_slide_mm
    if whole(slide):
        how = f"tape round the bar {_amount(slide, 'out', 'in')} on each side; hands go there"
        yield _number(chosen, "Grips", how, "bar_width")


def _settings(chosen: Chosen) -> Iterator[Trial]:
    """Roll, slide, perches and reach, where no new part stands in for them."""
    plan = chosen.plan
    new = plan.choice.bar is not None or plan.choice.clip_on is not None
    if not new and isfinite(plan.roll_deg) and whole(plan.roll_deg):
        way = "toward the rider" if plan.roll_deg > 0.0 else "away from the rider"
        how = f"{figure(abs(plan.roll_deg), DEG)}, its top {way}"
        yield _number(chosen, "Bar roll", how, "grip_tilt")
    if not new and isfinite(plan.clip_slide_mm) and whole(plan.clip_slide_mm):
        how = f"{_amount(plan.clip_slide_mm, 'up', 'down')} the tubes"
        yield _point(chosen, "Clip-ons", how, "grip_end", "z", SEEN["grip_end.z"])
    for side in ("brake", "clutch"):
        turn = float(getattr(plan.lever_rotation_deg, side))
        if isfinite(turn) and whole(turn):
            way = "up" if turn > 0.0 else "down"
            how = f"{figure(abs(turn), DEG)}, blade {way}; nip the perch up"
            made = _number(chosen, f"{side.capitalize()} perch", how, f"lever_angle.{side}")
            yield evolve(made, start=made.start - (plan.roll_deg if isfinite(plan.roll_deg) else 0))
        change = float(getattr(plan.lever_reach_change_mm, side))
        bought = plan.choice.levers_of(side) is not None
        if isfinite(change) and (bought or whole(change)):
            what, how = (
                (f"{side.capitalize()} lever", BOUGHT)
                if bought
                else (f"{side.capitalize()} reach", "by its adjuster; count the clicks")
            )
            yield _number(chosen, what, how, f"lever_reach.{side}")


BOUGHT = (
    "a rod held along the old blade at the new reach; with the new lever on: free play is there, "
    "and at full pull it meets neither grip nor finger"
)
"""How a lever that is bought is judged, before and after."""


def _point(chosen: Chosen, what: str, how: str, point: str, axis: str, seen: str) -> Trial:
    start, end = (
        float(getattr(getattr(at, point), axis))
        for at in (chosen.transfer.points, chosen.plan.points)
    )
    return Trial(what=what, how=how, seen=seen, start=start, end=end)


def _number(chosen: Chosen, what: str, how: str, key: str) -> Trial:
    unit = NUMBERS[key][1]
    start, end = number_of(chosen.transfer.now, key), number_of(chosen.plan.after, key)
    words = key.partition(".")[0].replace("_", " ")
    return Trial(what=what, how=how, seen=words, unit=unit, start=start, end=end)
