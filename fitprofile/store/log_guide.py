"""What to hold where, for each number that a sit-on may hold; the words of the files' own guide."""

from __future__ import annotations

from collections.abc import Mapping

from fitprofile.model.bike import Handlebar, Lever
from fitprofile.model.rider import Cockpit, Standing
from fitprofile.store.guide import CLASS_GUIDE

DANGER = (
    "Before the rider's feet go up on the pegs: bike upright, front wheel in a chock or the bike "
    "in straps, and a helper who holds it. A bike that tips over is the first danger of this job."
)

_SEATED, _LEVER, _BAR = CLASS_GUIDE[Cockpit], CLASS_GUIDE[Lever], CLASS_GUIDE[Handlebar]
_STANDING = CLASS_GUIDE[Standing]


def _first(text: str) -> str:
    """The first sentence: the rest is about writing it into a file."""
    return f"{text.partition('. ')[0].rstrip('.')}."


LOG_GUIDE: Mapping[str, str] = {
    "navel_to_bar": _SEATED["navel_to_bar"],
    "navel_to_grip_ends": "Two tapes from the navel to the grip ends, in place of the string.",
    "forearm_angle": "Slope of the forearm below horizontal, from a side photo.",
    "lever_angle": _SEATED["lever_angle"],
    "knee_angle": _first(_SEATED["knee_angle"]),
    "lean": _SEATED["lean"],
    "bar_width": _SEATED["bar_width"],
    "grip_tilt": _SEATED["grip_tilt"],
    "grip_sweep": _BAR["grip_sweep"],
    "lever_angle_brake": _LEVER["angle"],
    "lever_angle_clutch": _LEVER["angle"],
    "lever_reach_brake": _LEVER["reach"],
    "lever_reach_clutch": _LEVER["reach"],
    "grip_above_peg": _STANDING["grip_above_peg"],
    "grip_ahead_of_peg": "Top of the peg to the same middle, along the floor; forward is positive.",
    "hip_to_grip": _STANDING["hip_to_grip"],
    "brake_pedal": _STANDING["brake_pedal"],
    "gear_lever": _STANDING["gear_lever"],
    "fitted": "Parts that the work put on the bike, by their names in shared/parts.toml, parted by "
    'semicolons, "without" before one that came off. "none" where there was no part.',
    "gear": _SEATED["gear"],
    "done": "What was done to the bike since the last record.",
    "by": "Who did it.",
    "notes": _SEATED["notes"],
}
"""Keys of a record, in the words of a seated use where both kinds have it."""

STANDING_GUIDE: Mapping[str, str] = {
    **LOG_GUIDE,
    "lever_angle": _STANDING["lever_angle"],
    "lean": _STANDING["lean"],
}
"""The same where the rider stands on the pegs."""

FELT_RIGHT = "Would the rider keep this position as it is"
LETS_GO = "Do the hands let go for a moment without falling, and would the rider keep this position"
"""What it means that a position felt right: sitting, and standing, where balance is the test."""
