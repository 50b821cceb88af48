"""The practical changes as steps, each with its figures, or a gap where one should be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import isfinite, radians
from typing import TYPE_CHECKING

from attrs import evolve

from fitprofile.geometry.vectors import Real
from fitprofile.model.bike import Lever
from fitprofile.report.numbers import number_of
from fitprofile.report.step import BAR, CONTROLS, FEET, Move, Step
from fitprofile.report.wording import DEG, MM, NUMBERS, figure, joined, named
from fitprofile.stages import moves
from fitprofile.stages.limits import BAR_RADIUS, beyond_usual
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import NO_SIDES
from fitprofile.stages.readings import CLAMP_DIAMETER
from fitprofile.units import whole

if TYPE_CHECKING:
    from fitprofile.stages.each_side import PegSide


SIDES = ("left", "right")


def changes(transfer: Transfer) -> Iterator[Step]:
    """Steps that carry figures, or a gap where one should be."""
    builders = (_pegs, _riser, _clips, _roll, _turn, _width, _rotations, _reaches)
    for build in builders:
        yield from (step for step in build(transfer) if not step.nothing)


def _pegs(made: Transfer) -> Iterator[Step]:
    change, exact = made.practical.changes.peg_move_mm, made.exact.peg_move_mm
    if made.pegs is not None:
        yield from (_one_peg(made, *leg) for leg in zip(SIDES, made.pegs, strict=True))
        return
    if "knee_angle" in made.practical.leave:
        return
    if not isfinite(exact.x):
        yield Step(phase=FEET, what="Pegs", missing=("widths.peg", "heights.peg"))
        return
    give = made.give_or_take.peg_move_mm
    yield Step(
        phase=FEET,
        what=_order("Move both pegs", (change.z, "up", "down"), (change.x, "forward", "back")),
        hint="tape to the top of the rubber, in its middle",
        moves=(
            _point_move(made, "peg", "z", Move("upward", MM, change.z, exact.z, give.z)),
            _point_move(made, "peg", "x", Move("forward", MM, change.x, exact.x, give.x)),
        ),
        tool="peg plates, tape, plumb bob",
        caution="bolts as the maker says; ground clearance",
        torque=True,
        remarks=_remarks(made, ("peg_move", "pegs", change.z, exact.z)),
    )


def _one_peg(made: Transfer, side: str, leg: PegSide) -> Step:
    """One peg's own move, where the knees are wished differently."""
    give, told = made.give_or_take.peg_move_mm, list[Move]()
    for words, axis in (("upward", "z"), ("forward", "x")):
        change, exact, half = (getattr(one, axis) for one in (leg.practical, leg.exact, give))
        start = float(getattr(made.points.peg, axis))
        move = Move(words, MM, change, exact, half)
        told.append(evolve(move, seen=SEEN[f"peg.{axis}"], start=start, end=start + float(change)))
    up, ahead = (float(part) for part in (leg.practical.z, leg.practical.x))
    return Step(
        phase=FEET,
        what=_order(f"Move the {side} peg", (up, "up", "down"), (ahead, "forward", "back")),
        hint="tape to the top of the rubber, in its middle; this side alone",
        moves=tuple(told),
        tool="peg plates, tape, plumb bob",
        caution="bolts as the maker says; ground clearance",
        torque=True,
    )


def _riser(made: Transfer) -> Iterator[Step]:
    if made.clip_on or _bar_is_left(made):
        return
    change, exact, give = made.practical.changes, made.exact, made.give_or_take
    if not isfinite(exact.riser_height_mm):
        yield Step(phase=BAR, what="Risers", missing=("handlebar",))
        return
    height = Move(
        "riser height",
        MM,
        change.riser_height_mm,
        exact.riser_height_mm,
        give.riser_height_mm,
    )
    back = Move(
        "pullback", MM, change.riser_pullback_mm, exact.riser_pullback_mm, give.riser_pullback_mm
    )
    lower = whole(height.change) < 0
    yield Step(
        phase=BAR,
        what=_order(
            "Lower or remove the risers fitted: bar" if lower else "Risers: bar",
            (height.change, "up the steering axis", "down the steering axis"),
            (back.change, "toward the rider", "away from the rider"),
        ),
        hint="along the steering axis, and square to it",
        moves=(_point_move(made, "clamp", "z", height), _point_move(made, "clamp", "x", back)),
        tool="shorter risers, bolts to suit" if lower else "risers, longer bolts",
        caution="no hose or cable may pull at either lock",
        torque=True,
        remarks=_remarks(made, *_both(("riser_height", height), ("riser_pullback", back))),
    )


def _clips(made: Transfer) -> Iterator[Step]:
    if not made.clip_on or _bar_is_left(made):
        return
    change, exact, give = made.practical.changes, made.exact, made.give_or_take
    if not isfinite(exact.clip_slide_mm):
        yield Step(phase=BAR, what="Clip-ons", missing=("handlebar",))
        return
    slide = Move("slide", MM, change.clip_slide_mm, exact.clip_slide_mm, give.clip_slide_mm)
    back = Move("offset", MM, change.clip_offset_mm, exact.clip_offset_mm, give.clip_offset_mm)
    rake = made.surveyed.rake.value
    slid = moves.raise_bar(made.points, slide.change, back.change, rake).grip_end
    yield Step(
        phase=BAR,
        what=_order(
            "Clip-ons",
            (slide.change, "up the fork tubes", "down the fork tubes"),
            (back.change, "toward the rider", "away from the rider"),
        ),
        hint="slide along the fork tube, offset square to it",
        moves=(
            evolve(_point_move(made, "grip_end", "z", slide), end=float(slid.z)),
            evolve(_point_move(made, "grip_end", "x", back), end=float(slid.x)),
        ),
        tool="clip-ons of that offset, tape",
        caution="fully engaged; clear of screen and tank",
        torque=True,
        remarks=_remarks(made, *_both(("clip_slide", slide), ("clip_offset", back))),
    )


def _turn(made: Transfer) -> Iterator[Step]:
    change = float(made.practical.changes.clip_turn_deg)
    if not isfinite(change) or not change:
        return
    exact, give = made.exact.clip_turn_deg, made.give_or_take.clip_turn_deg
    yield Step(
        phase=BAR,
        what=_order("Turn both clip-ons round the tubes,", (change, "rearward", "forward")),
        hint="as asked for in the bike's file",
        moves=(_number_move(made, "grip_sweep", Move("turn", DEG, change, exact, give)),),
        tool="hex key, angle gauge",
        caution="locating tabs in the yoke are never freed",
        torque=True,
    )


def _roll(made: Transfer) -> Iterator[Step]:
    if made.clip_on or "grip_tilt" in made.practical.leave:
        return
    if not isfinite(made.exact.bar_roll_deg):
        yield Step(phase=BAR, what="Roll of the bar", missing=("handlebar",))
        return
    change = float(made.practical.changes.bar_roll_deg)
    taped = made.bike.handlebar.clamp_diameter
    diameter = CLAMP_DIAMETER if taped is None else taped.value
    move = Move("roll", DEG, change, made.exact.bar_roll_deg, made.give_or_take.bar_roll_deg)
    yield Step(
        phase=BAR,
        what=_order("Roll the bar, its top", (change, "toward the rider", "away from the rider")),
        hint=f"a mark on its top goes {_round(change, diameter)} round the clamp",
        moves=(_number_move(made, "grip_tilt", move),),
        tool="phone level along the grip",
        caution="even gaps front and rear at the clamps",
        torque=True,
        remarks=_remarks(made, *_both(("bar_roll", move))),
    )


CUT = "Cannot be undone: the ends of the bar are cut; mark them, ride first, cut last."
"""What slides inward needs, where no plan says it."""


def long_enough(slide: float, *, clip_on: bool) -> str:
    """What outward needs: a tube that goes on beyond the grips by their slide along it, mm."""
    tube = "each clip-on's tube" if clip_on else "the bar tube"
    return (
        f"Only as far as {tube} reaches: weights off, tape how far it goes on beyond each grip "
        f"({figure(slide, MM)} needed)."
    )


def _width(made: Transfer) -> Iterator[Step]:
    if "bar_width" in made.practical.leave:
        return
    change = float(made.practical.changes.bar_width_change_mm)
    slide = float(made.practical.changes.grip_slide_mm)
    exact, give = made.exact.bar_width_change_mm, made.give_or_take.bar_width_change_mm
    move = Move("width", MM, change, exact, give)
    yield Step(
        phase=CONTROLS,
        what=_order("Slide each grip and its controls", (slide, "outward", "inward")),
        hint=f"{figure(abs(slide), MM)} on each side, along the bar",
        moves=(_number_move(made, "bar_width", move),),
        tool="tape, grip glue",
        caution="throttle snaps shut",
        torque=True,
        remarks=(
            *((CUT,) if move.printed < 0 else ()),
            *((long_enough(slide, clip_on=made.clip_on),) if move.printed > 0 else ()),
            *_remarks(made, *_both(("bar_width_change", move))),
        ),
    )


def _rotations(made: Transfer) -> Iterator[Step]:
    still = evolve(made.practical.changes, lever_rotation_deg=NO_SIDES)
    rake = made.surveyed.rake.value
    carried = moves.levers_after(made.points, made.now.lever_angle_deg, still, rake)
    for side in ("brake", "clutch"):
        lever: Lever | None = getattr(made.bike.levers, side)
        name = f"lever_angle.{side}"
        if lever is None or name in made.practical.leave:
            continue
        change, exact, give = (
            float(getattr(changes.lever_rotation_deg, side))
            for changes in (made.practical.changes, made.exact, made.give_or_take)
        )
        if not isfinite(change):
            missing = (f"levers.{side}",)
            yield Step(phase=CONTROLS, what=f"Turn of the {side} perch", missing=missing)
            continue
        taped = made.bike.handlebar.bar_diameter
        diameter = 2.0 * BAR_RADIUS if taped is None else taped.value
        move = Move("rotation", DEG, change, exact, give)
        yield Step(
            phase=CONTROLS,
            what=_order(f"Turn the {side} perch, blade", (change, "up", "down")),
            hint=f"by straightedge; {_round(change, diameter)} round the bar",
            moves=(evolve(_number_move(made, name, move), start=float(getattr(carried, side))),),
            tool="straightedge, phone level",
            caution=(
                "reservoir cap near level; banjo stays"
                if side == "brake"
                else "hose or cable free at both locks"
            ),
            torque=True,
            remarks=_remarks(made, *_both((f"lever_rotation.{side}", move))),
        )


def _reaches(made: Transfer) -> Iterator[Step]:
    for side in ("brake", "clutch"):
        name = f"lever_reach.{side}"
        change, exact, give = (
            float(getattr(changes.lever_reach_change_mm, side))
            for changes in (made.practical.changes, made.exact, made.give_or_take)
        )
        if name in made.practical.leave or not isfinite(change):
            continue
        move = Move("reach", MM, change, exact, give)
        yield Step(
            phase=CONTROLS,
            what=_order(f"Set the {side} lever's reach", (change, "longer", "shorter")),
            hint="grip to blade at the first finger's last crease",
            moves=(_number_move(made, name, move),),
            tool="adjuster, rule",
            caution="count the clicks; keep the free play",
            remarks=_remarks(made, *_both((f"lever_reach_change.{side}", move))),
        )


Changed = tuple[str, str, Real, Real]
"""Key of a change, words for it, what is done, and the exact change."""


def _both(*moves: tuple[str, Move]) -> Iterator[Changed]:
    """Moves with the keys of what they change."""
    return ((what, move.words, move.change, move.exact) for what, move in moves)


def _remarks(made: Transfer, *parts: Changed) -> tuple[str, ...]:
    """Where a step stops, what differs from the exact change for it, and what is unusual."""
    stopped = [part for part in parts if part[0] in made.practical.at_limit]
    follow = [
        part
        for part in parts
        if part not in stopped and whole(float(part[2])) != whole(float(part[3]))
    ]
    said = []
    if stopped and len(parts) == 1:
        said.append("Stops at its limit.")
    elif len(stopped) > 1:
        names = _named(stopped)
        said.append(f"{names} stop at their limits and differ from the exact changes.")
    elif stopped:
        so = f", so {_named(follow).lower()} differs from the exact change" if follow else ""
        said.append(f"{_named(stopped)} stops at its limit{so}.")
    for what, words, change, _ in parts:
        usual = beyond_usual(made.bike, what, float(change))
        if usual is not None:
            said.append(
                f"Beyond what is usual for {words} (to {figure(usual, named(what)[1])}); another "
                "bar or another bike may be the honest answer."
            )
    return tuple(said)


def _named(parts: Sequence[Changed]) -> str:
    """Their words, as a sentence begins."""
    return joined([words for _, words, *_ in parts]).capitalize()


SEEN: Mapping[str, str] = {
    "peg.z": "peg above floor",
    "peg.x": "peg ahead",
    "clamp.z": "clamp above floor",
    "clamp.x": "clamp ahead",
    "grip_end.z": "grip end above floor",
    "grip_end.x": "grip end ahead",
}
"""What a tape shows of a point's height and of its distance ahead of the origin."""


def _point_move(made: Transfer, point: str, axis: str, move: Move) -> Move:
    """A move with the height or distance at which a tape shows it."""
    start, end = (
        float(getattr(getattr(at, point), axis)) for at in (made.points, made.practical.points)
    )
    return evolve(move, seen=SEEN[f"{point}.{axis}"], start=start, end=end)


def _number_move(made: Transfer, key: str, move: Move) -> Move:
    """A move with the rider's number that shows it."""
    words, unit = NUMBERS[key]
    start, end = number_of(made.now, key), number_of(made.practical.after, key)
    seen = words.lower().partition(",")[0]
    return evolve(move, seen=seen, seen_unit=unit, start=start, end=end)


def _bar_is_left(made: Transfer) -> bool:
    return {"navel_to_bar", "forearm_angle"} <= set(made.practical.leave)


def _order(words: str, *parts: tuple[Real, str, str]) -> str:
    """An order with the direction of every part that prints as a change."""
    ways = [more if change > 0.0 else less for change, more, less in parts if whole(float(change))]
    return f"{words} {' and '.join(ways)}"


def _round(turn: float, diameter: float) -> str:
    """Degrees of turn as millimetres round a bar, to the half millimetre."""
    return f"{whole(abs(radians(turn)) * diameter) / 2.0:.1f}\N{NO-BREAK SPACE}mm"
