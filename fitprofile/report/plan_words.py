"""Words for plans: kinds of part, money and time, what misses, what cannot be undone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isfinite

from fitprofile.model.parts import PARTS, WITHOUT, Part
from fitprofile.report.check_blocks import held_words
from fitprofile.report.numbers import number_of
from fitprofile.report.wording import DEG, MM, NUMBERS, SPACE, STANDING, figure, joined
from fitprofile.stages.check import Check
from fitprofile.stages.job import in_line
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.offer import Offer, Offers
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import CLOSEST, Plan
from fitprofile.stages.remedy import LONGEST, Remedy
from fitprofile.units import whole

KINDS: Mapping[str, str] = {
    "riser": "riser",
    "bar": "bar",
    "extender": "bar-end extenders",
    "clip_on": "clip-ons",
    "peg_plate": "peg plates",
    "seat": "seat",
    "lever_set": "levers",
}
"""Kinds of part in words, in the order of a catalogue."""

FOR_GOOD: Mapping[str, str] = {
    "cut.bar": "the ends of {} are cut",
    "free_pin.brake": "the brake perch's pin is freed in its housing",
    "free_pin.clutch": "the clutch perch's pin is freed in its housing",
    "free_pin.housing": "the pins of throttle housing and switches are freed",
}
"""What a plan does that cannot be undone, by its key; ``{}`` is what carries the grips."""

FIGURES: Mapping[str, tuple[str, str]] = {
    "height": ("high", MM),
    "pullback": ("back", MM),
    "rise": ("of rise", MM),
    "width": ("wide", MM),
    "backsweep": ("of backsweep", DEG),
    "upsweep": ("of upsweep", DEG),
    "offset": ("of offset", MM),
    "drop": ("of drop", MM),
    "sweep": ("of sweep", DEG),
    "length": ("long", MM),
    "z": ("up", MM),
    "x": ("ahead", MM),
    "reach": ("of reach", MM),
}
"""A part's figures by the catalogue's names: what stands behind the figure, and its unit."""

OPPOSITE: Mapping[str, tuple[str, str]] = {
    "pullback": ("back", "ahead"),
    "z": ("up", "down"),
    "x": ("ahead", "back"),
    "drop": ("of drop", "of rise"),
}
"""Figures whose sign is a direction."""

HOUR = 60.0

FREE_ALONE = "free adjustments alone"


def kind_of(part: Part) -> str:
    """Kind of a part, one of `KINDS`."""
    return next(kind for kind, made in PARTS.items() if type(part) is made)


def is_bought(part: Part) -> bool:
    """Whether it is a part at all: an option that takes one off costs nothing but minutes."""
    return not part.name.startswith(WITHOUT)


def money(amount: float, currency: str) -> str:
    """``95 EUR``; cents only where there are some."""
    shown = f"{amount:.2f}".removesuffix(".00")
    return f"{shown}{SPACE}{currency}" if currency else shown


def cost_words(offers: Offers, plan: Plan) -> str:
    """``95 EUR, 1 h 30 min``; no price where the shop lists no parts, so that nothing has one."""
    price = money(plan.price, offers.currency) if offers.listed else FREE_ALONE
    return f"{price}, {time_words(plan.minutes)}"


def time_words(minutes: float) -> str:
    """``45 min``, ``1 h 30 min``."""
    hours, rest = divmod(whole(minutes), int(HOUR))
    if not hours:
        return f"{rest}{SPACE}min"
    return f"{hours}{SPACE}h" + (f" {rest}{SPACE}min" if rest else "")


def half_mm(length: float) -> str:
    """A length to the half millimetre, without a sign: as fine as a scribe goes."""
    return f"{whole(2.0 * abs(length)) / 2.0:g}{SPACE}mm"


def for_good(plan: Plan) -> tuple[str, ...]:
    """What a plan does that cannot be undone, in words."""
    head = head_words(plan)
    return tuple(FOR_GOOD.get(key, key.replace("_", " ")).format(head) for key in plan.cannot_undo)


def is_new(plan: Plan) -> bool:
    """Whether a plan fits another bar or other clip-ons."""
    return plan.choice.bar is not None or plan.choice.clip_on is not None


def head_words(plan: Plan) -> str:
    """What carries the grips once a plan is done: ``the new bar``, ``the clip-ons``."""
    kind = "clip-ons" if isfinite(plan.clip_slide_mm) else "bar"
    return f"the {'new ' if is_new(plan) else ''}{kind}"


def number_words(key: str) -> str:
    """A number inside a sentence: ``brake lever reach``, without a comma of its own."""
    words, _, side = (NUMBERS.get(key) or STANDING[key])[0].lower().partition(", ")
    return f"{side} {words}" if side else words


def misses(transfer: Transfer, plan: Plan) -> tuple[str, ...]:
    """Numbers that a plan leaves outside their tolerance, with how far they are off."""
    return tuple(
        f"{number_words(key)} {off_words(transfer, plan, key)}"
        for key, misfit in plan.deviations.items()
        if abs(misfit) > INSIDE
    )


def off_words(transfer: Transfer, plan: Plan, key: str) -> str:
    """How far a number is from its wish once a plan is done: ``23 mm short``."""
    name, unit = key.partition(".")[0], NUMBERS[key][1]
    off = off_by(transfer, plan, key)
    if not isfinite(off):
        return "out of reach"
    # As the figures that are printed differ, so that they add up on a sheet.
    wished = wished_by(transfer, plan, key)
    off = float(whole(number_of(plan.after, key)) - whole(wished)) or off
    more, less = {
        "navel_to_bar": ("too far", "too near"),
        "forearm_angle": ("too steep", "too flat"),
        "lever_angle": ("below the forearm", "above the forearm"),
        "knee_angle": ("too open", "too bent"),
        "bar_width": ("too wide", "too narrow"),
        "lever_reach": ("too long", "too short"),
    }.get(name, ("too much", "too little"))
    return f"{figure(abs(off), unit)} {more if off > 0.0 else less}"


def off_by(transfer: Transfer, plan: Plan, key: str) -> float:
    """Shown less wished, mm or degrees; a lever's wish is its forearm's angle as it then is."""
    return number_of(plan.after, key) - wished_by(transfer, plan, key)


def wished_by(transfer: Transfer, plan: Plan, key: str) -> float:
    """What a number is held against, mm or degrees."""
    if not key.startswith("lever_angle"):
        return number_of(transfer.target, key)
    aim = in_line(transfer.target, plan.after.forearm_angle_deg)
    own = float(getattr(aim, key.partition(".")[2]))
    return own if isfinite(own) else number_of(transfer.target, key)


def lean_words(transfer: Transfer, plan: Plan) -> str:
    """``leaning 6° in place of 10°`` where a plan asks for that; empty: the rider's own lean."""
    used, own = float(plan.after.lean_deg), float(transfer.target.lean_deg)
    if not isfinite(used) or whole(used) == whole(own):
        return ""
    return f"leaning {figure(used, DEG)} in place of {figure(own, DEG)}"


def remedy_words(remedy: Remedy) -> str:
    """``no riser listed does it: one 45 to 50 mm high would (navel-to-bar)``."""
    kind = KINDS[remedy.kind]
    some = "some" if kind.endswith("s") else "one"
    spans = [(name, *span) for name, span in remedy.figures.items() if any(map(whole, span))]
    figures = joined([_span(*span) for span in spans])
    mends = joined([number_words(name) for name in remedy.mends])
    return f"no {kind} listed {_do(kind)} it: {some} {figures} would ({mends})"


def lost_words(transfer: Transfer) -> Iterator[str]:
    """For the numbers that no listed part mends: which part would, or that none alone does.

    Nothing where the shop lists no parts.
    """
    if transfer.offers is None or not transfer.offers.listed:
        return
    plan = transfer.offers.chosen.plan
    outside = [key for key, misfit in plan.deviations.items() if abs(misfit) > INSIDE]
    for one in transfer.offers.remedies:
        yield remedy_words(one)
    mended = {name for one in transfer.offers.remedies for name in one.mends}
    rest = [number_words(key) for key in outside if key not in mended]
    if rest:
        yield f"no single part that this bike takes mends {joined(rest)}"


def mending(transfer: Transfer, plan: Plan) -> Iterator[str]:
    """Which plan or which missing part would bring inside what this plan leaves outside."""
    offers = transfer.offers
    if offers is None:
        return
    inside = [one.plan.name for one in offers.offers if one.plan.inside]
    if inside:
        yield f"the {inside[0]} plan brings every number inside"
    elif plan.name == CLOSEST or alike(plan, _closest(offers.offers)):
        yield from lost_words(transfer)
    else:
        yield "the closest plan leaves less outside"


def alike(one: Plan, other: Plan | None) -> bool:
    """Whether a workshop would do the same for two plans."""
    return other is not None and _print_of(one) == _print_of(other)


def _print_of(plan: Plan) -> object:
    """A plan as it is printed, without its name."""
    parts = tuple(part.name for part in plan.choice.parts())
    return parts, tuple((s.what, s.part, figure(s.change, s.unit)) for s in plan.steps)


def _closest(offers: tuple[Offer, ...]) -> Plan | None:
    return next((one.plan for one in offers if one.plan.name == CLOSEST), None)


def _do(kind: str) -> str:
    return "do" if kind.endswith("s") else "does"


def _span(name: str, low: float, high: float) -> str:
    """``45 to 50 mm high``; a direction in words in place of a sign."""
    words, unit = FIGURES.get(name, (name, MM))
    if name in OPPOSITE and max(low, high) <= 0.0 and whole(min(low, high)):
        low, high, words = -high, -low, OPPOSITE[name][1]
    first, last = figure(low, unit), figure(high, unit)
    if first == last:
        return f"{last} {words}"
    if name == "length" and high == LONGEST:
        return f"at least {first} {words}"
    start = first.removesuffix(f"{SPACE}mm") if unit == MM else first
    return f"{start} to {last} {words}"


def beyond_words(usual: float, unit: str) -> str:
    """What to say of a setting that goes further than usual where the bike's file has no band."""
    most = figure(usual, unit)
    return f"beyond the usual {most}, and the bike's file has no band: check hoses, tank, screen"


def is_off_words(check: Check) -> str:
    """A check that fails: what it is, its figure and the limit."""
    return f"{check.words}: {held_words(check)}"
