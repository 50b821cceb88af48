"""A rider's log: what was measured with the rider on a bike, and what was done to it, by date."""

from __future__ import annotations

from typing import Annotated

from fitprofile.model.quantity import Slope
from fitprofile.model.rider import (
    BALL,
    FEET,
    HELP,
    BarWidth,
    FromPeg,
    HipToGrip,
    Knee,
    Lean,
    LeverReach,
    NavelToBar,
    OwnSlope,
    PedalHeight,
)
from fitprofile.values import frozen

BEFORE = "before"
AFTER = "after"
WHENS = (BEFORE, AFTER)
"""Whether the rider sat on the bike before anything was changed on it, or after the work."""

SEATED = (
    "navel_to_bar",
    "navel_to_grip_ends",
    "forearm_angle",
    "lever_angle",
    "knee_angle",
    "lean",
    "bar_width",
    "grip_tilt",
    "grip_sweep",
    "lever_angle_brake",
    "lever_angle_clutch",
    "lever_reach_brake",
    "lever_reach_clutch",
)
"""Fields of `Entry` that are measured where the use is a seated one."""

STOOD = (
    "grip_above_peg",
    "grip_ahead_of_peg",
    "hip_to_grip",
    "lever_angle",
    "lean",
    "bar_width",
    "lever_angle_brake",
    "lever_angle_clutch",
    "brake_pedal",
    "gear_lever",
)
"""Those where the rider stands on the pegs."""

MEASURED = tuple(dict.fromkeys((*SEATED, *STOOD)))
"""All of them; an entry holds at least one."""


@frozen(kw_only=True)
class Entry:
    """One sit-on of the log.

    Parameters
    ----------
    bike : str
        File name of the bike, without its ending.
    use : str
        Which cockpit was sat in, or which standing use was stood in: the first has the numbers of
        `SEATED`, the second those of `STOOD`.
    date : str
        Day or moment, ISO 8601; entries of one bike are read in the order of the file.
    when : str
        ``"before"`` or ``"after"`` the work.
    felt_right : bool
        Whether the rider would keep this position as it is: then it counts as a wish. Standing
        that includes balance: the hands let go without falling.
    tape : str
        Who held the tape, one of `HELP`.
    navel_to_bar, navel_to_grip_ends, forearm_angle, lever_angle, knee_angle, lean
        As in a cockpit, ``None`` where it was not measured.
    grip_above_peg, grip_ahead_of_peg, hip_to_grip, brake_pedal, gear_lever
        As in a standing use; ``lever_angle`` and ``lean`` are then the standing ones.
    bar_width, grip_tilt, grip_sweep, lever_angle_brake, lever_angle_clutch, lever_reach_brake,
    lever_reach_clutch
        The bike's own figures, taped again; ``None`` where they were not.
    fitted : tuple of str or None
        Parts of the catalogue that the work put on the bike, by their names, in their order;
        ``"without NAME"`` for one that came off. Empty: none; ``None``: nothing was said.
    planned_lean : Reading or None
        Lean that the plan carried out asks for in place of the rider's own, degrees.
    gear, done, by, notes : str or None
        What was worn, what was done to the bike, by whom, anything else.
    line : int or None
        Line of the log at which the entry begins.
    """

    bike: str
    use: str
    date: str
    when: Annotated[str, WHENS] = BEFORE
    felt_right: bool = False
    tape: Annotated[str, HELP] = HELP[0]
    navel_to_bar: NavelToBar | None = None
    navel_to_grip_ends: tuple[NavelToBar, NavelToBar] | None = None
    forearm_angle: OwnSlope | None = None
    lever_angle: OwnSlope | None = None
    knee_angle: Knee | None = None
    lean: Lean | None = None
    foot: Annotated[str, FEET] = BALL
    bar_width: BarWidth | None = None
    grip_tilt: Slope | None = None
    grip_sweep: Slope | None = None
    lever_angle_brake: Slope | None = None
    lever_angle_clutch: Slope | None = None
    lever_reach_brake: LeverReach | None = None
    lever_reach_clutch: LeverReach | None = None
    grip_above_peg: FromPeg | None = None
    grip_ahead_of_peg: FromPeg | None = None
    hip_to_grip: HipToGrip | None = None
    brake_pedal: PedalHeight | None = None
    gear_lever: PedalHeight | None = None
    fitted: tuple[str, ...] | None = None
    planned_lean: Lean | None = None
    gear: str | None = None
    done: str | None = None
    by: str | None = None
    notes: str | None = None
    line: int | None = None
