"""Numbers to words: whole millimetres and degrees, inches beside, and the names of things."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite

from fitprofile.units import NOTHING, format_degrees, format_inches, format_mm, whole

MM = "mm"
DEG = "deg"

MINUS = "\N{MINUS SIGN}"
ARROW = "\N{RIGHTWARDS ARROW}"
PLUS_MINUS = "\N{PLUS-MINUS SIGN}"
SPACE = "\N{NO-BREAK SPACE}"

COARSE = 100.0
"""Half-width from which figures are printed in tens: a give or take carries two digits."""

NUMBERS: Mapping[str, tuple[str, str]] = {
    "bar_width": ("Bar width", MM),
    "navel_to_bar": ("Navel-to-bar", MM),
    "forearm_angle": ("Forearm angle", DEG),
    "lever_angle.brake": ("Lever angle, brake", DEG),
    "lever_angle.clutch": ("Lever angle, clutch", DEG),
    "knee_angle": ("Knee angle", DEG),
    "lever_reach.brake": ("Lever reach, brake", MM),
    "lever_reach.clutch": ("Lever reach, clutch", MM),
    "grip_tilt": ("Grip tilt", DEG),
    "grip_sweep": ("Grip sweep", DEG),
    "lean": ("Lean", DEG),
}
"""The rider's numbers in the order of a sheet: words and unit."""

STANDING: Mapping[str, tuple[str, str]] = {
    "grip_above_peg": ("Grips above the peg", MM),
    "grip_ahead_of_peg": ("Grips ahead of the peg", MM),
    "bar_width": ("Bar width", MM),
    "lever_angle.brake": ("Lever angle, brake", DEG),
    "lever_angle.clutch": ("Lever angle, clutch", DEG),
    "grip_tilt": ("Grip tilt", DEG),
    "grip_sweep": ("Grip sweep", DEG),
    "brake_pedal": ("Brake pedal above the peg", MM),
    "gear_lever": ("Gear lever above the peg", MM),
    "hip_to_grip": ("Hip to grips, in balance", MM),
    "forearm_angle": ("Forearm angle, in balance", DEG),
    "balance": ("Body ahead of the pegs", MM),
}
"""Numbers of a standing use in the order of a sheet: words and unit."""

SECONDARY = ("lever_reach.brake", "lever_reach.clutch", "grip_tilt", "grip_sweep", "lean")
"""Numbers below the rule: they follow from the others, or belong to the hardware."""

CHANGES: Mapping[str, tuple[str, str]] = {
    "bar_width_change": ("Bar width", MM),
    "bar_width": ("Bar width", MM),
    "bar_roll": ("Bar roll", DEG),
    "riser_height": ("Riser height", MM),
    "riser_pullback": ("Riser pullback", MM),
    "clip_turn": ("Turn of the clip-ons", DEG),
    "clip_slide": ("Clip-ons, slide", MM),
    "clip_offset": ("Clip-ons, offset", MM),
    "peg_move": ("Peg move", MM),
    "peg_move.x": ("Pegs, forward", MM),
    "peg_move.z": ("Pegs, upward", MM),
    "lever_rotation.brake": ("Lever rotation, brake", DEG),
    "lever_rotation.clutch": ("Lever rotation, clutch", DEG),
    "lever_reach_change.brake": ("Lever reach, brake", MM),
    "lever_reach_change.clutch": ("Lever reach, clutch", MM),
    "seat_raise": ("Seat height", MM),
    "brake_pedal": ("Brake pedal", MM),
    "gear_lever": ("Gear lever", MM),
}
"""Changes and limits by key: words and unit."""

JOINED = ("shoulder elbow", "forearm grip", "forearm hand", "buttock knee", "navel to bar")
"""Words of keys that are written with a hyphen."""

STATES: Mapping[str, str] = {
    "wheels": "on its wheels",
    "stand": "on a stand",
    "rider on": "with the rider on",
}
TAPES: Mapping[str, str] = {"alone": "one person", "helper": "two people"}


def named(key: str) -> tuple[str, str]:
    """Words and unit of a number or change; an unknown key is spelt out as it is."""
    return CHANGES.get(key) or NUMBERS.get(key) or (key.replace("_", " "), MM)


def figure(value: float, unit: str, *, signed: bool = False, give: float = 0.0) -> str:
    """A figure with its unit, no finer than its half-width supports.

    Parameters
    ----------
    value : float
        mm or degrees; ``nan`` prints as a dash.
    unit : str
        `MM` or `DEG`.
    signed : bool
        Puts a plus before a positive figure.
    give : float
        Half-width, same unit; from `COARSE` on the figure is rounded to tens.
    """
    if not isfinite(value):
        return NOTHING
    fitting = 10 * whole(value / 10.0) if give >= COARSE else value
    write = format_mm if unit == MM else format_degrees
    return typeset(write(fitting, signed=signed))


def bare(value: float, unit: str) -> str:
    """A figure without the unit of length, for columns that name it; degrees keep theirs."""
    shown = figure(value, unit)
    return shown.removesuffix(f"{SPACE}mm")


def half_degrees(value: float) -> str:
    """An angle to the half degree, as manuals give a rake: ``24.5°``."""
    return f"{whole(2.0 * value) / 2.0:g}°" if isfinite(value) else NOTHING


def inches(mm: float, *, signed: bool = False) -> str:
    """Inches and sixteenths from millimetres, empty where there is no figure."""
    return typeset(format_inches(mm, signed=signed)) if isfinite(mm) else ""


def typeset(words: str) -> str:
    """A true minus sign, and no line break before a unit."""
    return words.replace("-", MINUS).replace(" ", SPACE)


def half_width(give: float, unit: str) -> str:
    """``±4``; empty where no half-width is known, and never below what is printed."""
    if not isfinite(give) or give <= 0.0:
        return ""
    return f"{PLUS_MINUS}{bare(max(give, 1.0), unit)}"


def printed_change(start: float, end: float) -> int:
    """The change between two figures as they are printed, so that the three add up."""
    return whole(end) - whole(start)


def tolerance(value: float, unit: str) -> str:
    """``±10 mm``."""
    return f"{PLUS_MINUS}{figure(value, unit)}"


def chance_words(chance: float) -> str:
    """A probability as people say it."""
    if not isfinite(chance):
        return "not known"
    tenths = whole(10.0 * chance)
    if tenths <= 0:
        return "less than 1 in 20"
    if tenths >= 10:  # noqa: PLR2004 - ten tenths
        return "more than 19 in 20"
    return f"about {tenths} in 10"


def words_of(key: str) -> str:
    """A file's key as words: ``heights.grip_end`` is "heights, grip end"."""
    words = key.replace(".", ", ").replace("_", " ")
    for pair in JOINED:
        words = words.replace(pair, pair.replace(" ", "-"))
    return words


def joined(words: tuple[str, ...] | list[str]) -> str:
    """``a, b and c``."""
    if len(words) < 2:  # noqa: PLR2004 - one word or none needs no joining
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
