"""Repeated readings of one thing: how far to trust their mean, and whether they contradict."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import hypot, sqrt
from typing import TYPE_CHECKING

from fitprofile.errors import WARNING, Problem
from fitprofile.model.quantity import Reading

if TYPE_CHECKING:
    from fitprofile.model.log import Entry
    from fitprofile.model.rider import Cockpit, Standing

APART = 3.29 * sqrt(2.0)
"""Spreads of one reading by which two sound readings lie apart once in a thousand: the bound for
a blunder (Baarda 1968, alpha 0.001) on their difference."""

SAT: Mapping[str, tuple[str, str | None]] = {
    "bar_width": ("bar_width", None),
    "grip_tilt": ("grip_tilt", None),
    "grip_sweep": ("grip_sweep", None),
    "lever_reach": ("lever_reach", None),
    "lever_angle_brake": ("lever_angle", None),
    "lever_angle_clutch": ("lever_angle", None),
    "lever_reach_brake": ("lever_reach", None),
    "lever_reach_clutch": ("lever_reach", None),
    "navel_to_bar": ("navel_to_bar", "resit_length"),
    "navel_to_grip_ends": ("navel_to_grip_ends", "resit_length"),
    "forearm_angle": ("forearm_angle", "resit_angle"),
    "lever_angle": ("lever_angle", "resit_angle"),
    "knee_angle": ("knee_angle", "resit_angle"),
    "lean": ("lean", "resit_angle"),
    "grip_above_peg": ("height", None),
    "grip_ahead_of_peg": ("ahead", None),
    "hip_to_grip": ("navel_to_bar", "resit_length"),
    "brake_pedal": ("height", None),
    "gear_lever": ("height", None),
}
"""Fields of a cockpit, a standing use or an entry of the log that may be lists: row of the table of
spreads, and the row for sitting down again, which standing up again is taken to add as well. A
pedal is taped as heights are."""


def mean_sd(reading: Reading, one: float) -> float:
    """Standard deviation of a reading's mean, in the reading's unit.

    Parameters
    ----------
    reading : Reading
    one : float
        Standard deviation of one reading.

    Notes
    -----
    The larger of ``one / sqrt(n)`` and ``scatter / n``: readings that differ more than their table
    says are trusted as they lie. For two readings scatter / 2 is the experimental standard
    deviation of their mean (JCGM 100, 4.2.3); up to a dozen it is so to about a tenth, as the
    range of n normal readings is nearly sqrt(n) standard deviations.
    """
    count = max(reading.count, 1)
    return max(one / sqrt(count), reading.scatter / count)


def contradiction(
    reading: Reading, one: float, key: str, file: str, *, unit: str, resit: bool = False
) -> Iterator[Problem]:
    """A warning where repeated readings lie further apart than their spread explains.

    Parameters
    ----------
    one : float
        Standard deviation of one reading, sitting down again included where ``resit``.
    key, file : str
        Where the readings stand.
    unit : str
        ``"mm"``, ``"degrees"`` or ``"kg"``.
    """
    if reading.scatter <= APART * one:
        return
    why = "tape and sitting down again explain" if resit else "the tape explains"
    text = (
        f"the readings of {key} lie {reading.scatter:.0f} {unit} apart, more than {why}: measure "
        f"again and strike out the wrong one"
    )
    yield Problem(text, key, file, level=WARNING)


def contradictions_sat(
    taken: Cockpit | Standing | Entry, spread: Mapping[str, float], table: str, file: str
) -> Iterator[Problem]:
    """The same for everything that was measured with the rider on.

    Parameters
    ----------
    taken : Cockpit, Standing or Entry
    spread : mapping of str to float
        Standard deviations of one reading, mm or degrees, as the tape was held.
    table : str
        What stands before the field's name in a key, with its dot; empty for an entry.
    """
    for name, (row, again) in SAT.items():
        given = getattr(taken, name, None)
        for place, reading in enumerate(given if isinstance(given, tuple) else (given,)):
            if reading is None:
                continue
            one = spread[row] if reading.sd is None else reading.sd
            one = hypot(one, spread[again]) if again else one
            key = f"{table}{name}" + (f"[{place}]" if isinstance(given, tuple) else "")
            unit = "degrees" if row.endswith(("angle", "tilt", "sweep", "lean")) else "mm"
            yield from contradiction(reading, one, key, file, unit=unit, resit=again is not None)
