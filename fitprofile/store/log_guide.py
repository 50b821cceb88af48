"""What to hold where, for each number that a sit-on may hold; the words of the files' own guide."""

from __future__ import annotations

from collections.abc import Mapping

from fitprofile.model.bike import Lever
from fitprofile.model.rider import Cockpit
from fitprofile.store.guide import CLASS_GUIDE

DANGER = (
    "Before the rider's feet go up on the pegs: bike upright, front wheel in a chock or the bike "
    "in straps, and a helper who holds it. A bike that tips over is the first danger of this job."
)

_SEATED, _LEVER = CLASS_GUIDE[Cockpit], CLASS_GUIDE[Lever]


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
    "lever_angle_brake": _LEVER["angle"],
    "lever_angle_clutch": _LEVER["angle"],
    "lever_reach_brake": _LEVER["reach"],
    "lever_reach_clutch": _LEVER["reach"],
    "gear": _SEATED["gear"],
    "done": "What was done to the bike since the last record.",
    "by": "Who did it.",
    "notes": _SEATED["notes"],
}
"""Keys of a record."""
