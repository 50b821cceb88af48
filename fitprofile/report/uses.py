"""What a plan gives each use of a rider and what it costs; standing; legs that differ.

Lines of plain words for a terminal, blocks of the page model for a sheet. Nothing of it shows for
a rider with one seated use and even legs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isfinite

from fitprofile.report.page import (
    Block,
    Heading,
    Items,
    text,
)
from fitprofile.report.wording import DEG, MM, NUMBERS, STANDING, figure, joined
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.offer import Offer
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.standing import IN_BALANCE, PEDALS, StandingNumbers
from fitprofile.stages.standing_moves import StandingOn
from fitprofile.units import whole

ESTIMATED = ("hip_to_grip", "forearm_angle", "balance")
"""Numbers that hang on a guessed pose; they are shown and never judged."""

HEAD = ("", "as found", "wished", "after", "")

Line = tuple[str, str, str, str, str]


def use_lines(transfer: Transfer, offer: Offer) -> Iterator[str]:
    """A line for each use: its weight, whether the plan is inside, or what is how far off.

    Nothing where the rider has one use alone.
    """
    if not offer.others:
        return
    for use, found in {transfer.use: offer.plan.deviations, **offer.others}.items():
        yield f"{_named(transfer, use)}: {outside_words(found)}{_balance(offer, use)}"
    yield from _pedal_lines(transfer, offer)


def _pedal_lines(transfer: Transfer, offer: Offer) -> Iterator[str]:
    """Pedals that a plan between uses sets, or would if they were taped."""
    heights = {step.what: step.end for step in offer.plan.steps}
    for pedal in PEDALS:
        words, between = STANDING[pedal][0].lower(), between_words(transfer, pedal)
        if between and pedal in heights:
            yield f"{words}: {figure(heights[pedal], MM)}, {between}"
        elif between and not isfinite(_as_found(transfer, pedal)):
            yield f"{words}: not taped on this bike, so it is not set"


def _as_found(transfer: Transfer, pedal: str) -> float:
    """A pedal above its peg, mm; the same for every way of standing."""
    return number(next(iter(transfer.standing.values())).now, pedal)


def between_words(transfer: Transfer, pedal: str) -> str:
    """Between which heights above the peg a plan between uses sets a pedal; else empty.

    ``between 10 mm for trail and 2 mm as found for the seat``.
    """
    wishes = [
        f"{figure(height, MM)} for {use}"
        for use in transfer.weights
        if use in transfer.standing
        and isfinite(height := number(transfer.standing[use].target, pedal))
    ]
    if not wishes:
        return ""
    found = figure(_as_found(transfer, pedal), MM)
    return f"between {joined([*wishes, f'{found} as found for the seat'])}"


def outside_words(found: Mapping[str, float]) -> str:
    """``inside every tolerance``, or what is off: ``forearm angle 2.1 tolerances off``."""
    off = [
        f"{_words(key)} {'out of reach' if not isfinite(value) else f'{abs(value):.1f}'}"
        for key, value in found.items()
        if abs(value) > INSIDE
    ]
    if not off:
        return "inside every tolerance"
    some = any(isfinite(value) for value in found.values() if abs(value) > INSIDE)
    return f"{joined(off)}{' tolerances off' if some else ''}"


def _named(transfer: Transfer, use: str) -> str:
    return f"{use}{_weight(transfer, use)}"


def _weight(transfer: Transfer, use: str) -> str:
    """`` (80 %)``, `` (standing)``, or nothing."""
    parts = ["standing"] if use in transfer.standing else []
    if use in transfer.weights:
        parts.append(f"{100.0 * transfer.weights[use]:.3g} %")
    return f" ({', '.join(parts)})" if parts else ""


def _balance(offer: Offer, use: str) -> str:
    shown = offer.standing.get(use)
    words = "" if shown is None else balance_words(shown)
    return f"; {words}" if words else ""


def balance_words(shown: StandingNumbers) -> str:
    """Whether the hands let go without falling, and to which side not; empty: not known."""
    off = float(shown.balance_mm)
    if not isfinite(off):
        return ""
    if abs(off) <= IN_BALANCE:
        return "the hands let go without falling"
    side, rest = ("ahead of", "rests") if off > 0.0 else ("behind", "hangs")
    far = figure(abs(10 * whole(off / 10.0)), MM)
    return f"the body stands about {far} {side} the pegs and {rest} on the hands"


def _words(key: str) -> str:
    known = NUMBERS.get(key) or STANDING.get(key)
    return known[0].lower() if known else key.replace("_", " ")


def standing_lines(one: StandingOn) -> tuple[Line, ...]:
    """Rows of a table: number, as found, wished, after, and what is to be said of it."""
    return tuple(line for key in STANDING if any((line := _standing_line(one, key))[1:4]))


def _standing_line(one: StandingOn, key: str) -> Line:
    words, unit = STANDING[key]
    now, wished, after = (
        figure(value, unit) if isfinite(value := number(numbers, key)) else ""
        for numbers in (one.now, one.target, one.after)
    )
    verdict = (
        "estimated"
        if key in ESTIMATED
        else "outside tolerance"
        if key in one.missed
        else "left alone"
        if key in one.leave
        else ""
    )
    return words, now, wished, after, verdict


def number(numbers: StandingNumbers, key: str) -> float:
    """One number by its key, mm or degrees."""
    name, _, side = key.partition(".")
    unit = STANDING[key][1]
    value = getattr(numbers, f"{name}_{'mm' if unit == MM else 'deg'}")
    return float(getattr(value, side) if side else value)


def change_lines(one: StandingOn) -> Iterator[str]:
    """What to do for a standing use, in order, whole millimetres and degrees."""
    done = one.practical
    moves = (
        ("bar width", float(done.bar.bar_width_change_mm), MM),
        ("riser height", float(done.bar.riser_height_mm), MM),
        ("riser pullback", float(done.bar.riser_pullback_mm), MM),
        ("clip-ons, slide", float(done.bar.clip_slide_mm), MM),
        ("clip-ons, offset", float(done.bar.clip_offset_mm), MM),
        ("lever rotation, brake", float(done.bar.lever_rotation_deg.brake), DEG),
        ("lever rotation, clutch", float(done.bar.lever_rotation_deg.clutch), DEG),
        ("brake pedal", done.brake_pedal_mm, MM),
        ("gear lever", done.gear_lever_mm, MM),
    )
    for words, change, unit in moves:
        if isfinite(change) and whole(change):
            key = words.replace("clip-ons, ", "clip_").replace(", ", ".").replace(" ", "_")
            stop = "; stops at what the bike allows" if key in one.at_limit else ""
            cut = key == "bar_width" and change < 0.0
            undo = "; the ends of the bar are cut, which cannot be undone: last" if cut else ""
            yield f"{words} {figure(change, unit, signed=True)}{stop}{undo}"


def side_lines(transfer: Transfer) -> Iterator[str]:
    """Each peg's own move where the knees are wished differently."""
    if transfer.pegs is None:
        return
    for name, leg in zip(("left", "right"), transfer.pegs, strict=True):
        move = leg.practical
        moved = (
            f"{figure(float(move.x), MM, signed=True)} forward, "
            f"{figure(float(move.z), MM, signed=True)} up"
            if whole(float(move.x)) or whole(float(move.z))
            else "stays"
        )
        yield (
            f"{name} peg: {moved} (knee wished {figure(leg.wished_deg, DEG)}, "
            f"then {figure(leg.after_deg, DEG)})"
        )


def side_blocks(transfer: Transfer) -> tuple[Block, ...]:
    """The same as a list; empty where both legs are wished alike."""
    items = tuple(text(line) for line in side_lines(transfer))
    if not items:
        return ()
    remark = "peg plates of the catalogue move both sides alike"
    return (Heading("Legs that differ", remark), Items(items=items))
