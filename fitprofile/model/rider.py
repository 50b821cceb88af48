"""A rider: body dimensions, one cockpit for each use, and what the rider can bear."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from attrs import field

from fitprofile.model.quantity import ANGLE, LENGTH, MASS, AngleBand, Q, Reading, Slope
from fitprofile.values import frozen

BALL = "ball"
MID_FOOT = "mid-foot"
FEET = (BALL, MID_FOOT)
SEXES = ("female", "male")
HELP = ("alone", "helper")
"""Who held the tape: it picks the column of the table of spreads."""

BODY: Mapping[str, Q] = {
    "weight": Q(MASS, 25.0, 250.0),
    "stature": Q(LENGTH, 1000.0, 2300.0, many=True),
    "sitting_height": Q(LENGTH, 500.0, 1300.0, many=True),
    "span": Q(LENGTH, 1000.0, 2600.0, many=True),
    "navel_height_sitting": Q(LENGTH, 80.0, 400.0, many=True),
    "acromial_height_sitting": Q(LENGTH, 300.0, 900.0, many=True),
    "biacromial_breadth": Q(LENGTH, 200.0, 600.0, many=True),
    "bideltoid_breadth": Q(LENGTH, 250.0, 800.0, many=True),
    "shoulder_elbow_length": Q(LENGTH, 200.0, 550.0, many=True),
    "forearm_grip_length": Q(LENGTH, 180.0, 550.0, many=True),
    "forearm_hand_length": Q(LENGTH, 250.0, 750.0, many=True),
    "hand_length": Q(LENGTH, 100.0, 300.0, many=True),
    "hand_breadth": Q(LENGTH, 40.0, 150.0, many=True),
    "abdominal_depth_sitting": Q(LENGTH, 100.0, 700.0, many=True),
    "hip_breadth_sitting": Q(LENGTH, 200.0, 800.0, many=True),
    "buttock_knee_length": Q(LENGTH, 300.0, 950.0, many=True),
    "knee_height_sitting": Q(LENGTH, 250.0, 800.0, many=True),
    "ankle_height": Q(LENGTH, 20.0, 180.0, many=True),
    "inseam": Q(LENGTH, 400.0, 1300.0, many=True),
    "foot_length": Q(LENGTH, 120.0, 400.0, many=True),
    "ball_of_foot_length": Q(LENGTH, 80.0, 320.0, many=True),
    "calf_circumference": Q(LENGTH, 150.0, 800.0, many=True),
    "lower_thigh_circumference": Q(LENGTH, 150.0, 900.0, many=True),
    "sole": Q(LENGTH, 0.0, 120.0),
}
"""Names of ``[body]`` (ISO 7250-1 landmarks, barefoot) with what can be a human figure at all."""

REQUIRED_BODY = ("stature", "navel_height_sitting")

NavelToBar = Annotated[Reading, Q(LENGTH, 100.0, 1200.0, many=True)]
Knee = Annotated[Reading, Q(ANGLE, 20.0, 180.0, many=True, sides=True)]
Lean = Annotated[Reading, Q(ANGLE, -30.0, 80.0, many=True)]
BarWidth = Annotated[Reading, Q(LENGTH, 300.0, 1200.0, many=True)]
LeverReach = Annotated[Reading, Q(LENGTH, 20.0, 150.0, many=True)]
OwnReach = Annotated[Reading, Q(LENGTH, 20.0, 150.0, many=True, sides=True)]
"""A wish for lever reach, which may differ between the hands."""

OwnSlope = Annotated[Reading, Q(ANGLE, -60.0, 60.0, many=True, sides=True)]
"""Slope of a forearm or of the lever in line with it, which may differ between the arms."""

FromPeg = Annotated[Reading, Q(LENGTH, -300.0, 1400.0, many=True)]
HipToGrip = Annotated[Reading, Q(LENGTH, 100.0, 1200.0, many=True)]
PedalHeight = Annotated[Reading, Q(LENGTH, -150.0, 150.0, many=True)]


@frozen(kw_only=True)
class Cockpit:
    """One riding position that feels right: what was measured with the rider sitting in it.

    ``navel_to_bar`` or the pair ``navel_to_grip_ends`` (left, right) is given, and
    ``lever_angle`` (in line, so equal to the forearm angle) or ``forearm_angle``; where the arms
    differ, left and right are each arm's own.
    ``measured_on`` is the file name of the bike it was measured on, ``None`` where the
    numbers come from memory. Fields that are ``None`` were not given.
    """

    bar_width: BarWidth
    navel_to_bar: NavelToBar | None = None
    navel_to_grip_ends: tuple[NavelToBar, NavelToBar] | None = None
    lever_angle: OwnSlope | None = None
    forearm_angle: OwnSlope | None = None
    knee_angle: Knee
    lever_reach: OwnReach | None = None
    foot: Annotated[str, FEET] = BALL
    grip_tilt: Slope | None = None
    grip_sweep: Slope | None = None
    lean: Lean | None = None
    measured_on: str | None = None
    gear: str | None = None
    notes: str | None = None


@frozen(kw_only=True)
class Standing:
    """One way of standing on the pegs that feels right: no seat, foot at the arch.

    ``grip_above_peg`` and ``grip_ahead_of_peg`` go from the top of the peg to the middle between
    the grip ends, mm; ``hip_to_grip`` from the hip joint to that same middle; ``lever_angle`` is
    the straightedge's slope that suits the standing forearm, where the arms differ each arm's own;
    pedal heights are above the peg's top, lower negative. Balance is the test: the hands let go
    without falling.
    """

    grip_above_peg: FromPeg
    grip_ahead_of_peg: FromPeg
    bar_width: BarWidth | None = None
    hip_to_grip: HipToGrip | None = None
    lever_angle: OwnSlope | None = None
    lean: Lean | None = None
    brake_pedal: PedalHeight | None = None
    gear_lever: PedalHeight | None = None
    measured_on: str | None = None
    gear: str | None = None
    notes: str | None = None


@frozen(kw_only=True)
class RiderLimits:
    """Bands inside which the rider is content, degrees; ``None`` where no band was given."""

    lean: AngleBand | None = None
    knee_angle: AngleBand | None = None


@frozen(kw_only=True)
class Rider:
    """One rider as written in ``profiles/KEY.toml``.

    Parameters
    ----------
    key : str
        File name without its ending; what is typed on the command line.
    file : str
        Path as people see it, for problems.
    body : mapping of str to Reading
        The measured part of `BODY`, mm or kg.
    cockpits : mapping of str to Cockpit
        By use, in the order of the file; the first is the default.
    standing : mapping of str to Standing
        By use; names differ from those of the cockpits.
    tape : str
        Who held the tape, one of `HELP`.
    tolerances : mapping of str to float
        The rider's own tolerances where tighter than the shop's, mm or degrees.
    """

    key: str
    file: str
    name: str
    sex: Annotated[str, SEXES] | None = None
    body: Mapping[str, Reading]
    cockpits: Mapping[str, Cockpit] = field(factory=dict)
    standing: Mapping[str, Standing] = field(factory=dict)
    limits: RiderLimits = field(factory=RiderLimits)
    tape: Annotated[str, HELP] = HELP[0]
    tolerances: Mapping[str, float] = field(factory=dict)
    notes: str | None = None
