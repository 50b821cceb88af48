"""A bike: what a tape said about it and what it lets a workshop change."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from attrs import field

from fitprofile.model.quantity import (
    ANGLE,
    LENGTH,
    Across,
    AngleBand,
    Height,
    LengthBand,
    Q,
    Reading,
    Slope,
    Span,
    Spare,
    Tape,
)
from fitprofile.model.rider import HELP, LeverReach
from fitprofile.values import frozen

STATES = ("wheels", "stand", "rider on")
ONE_PIECE = "one-piece"
CLIP_ON = "clip-on"
KINDS = (ONE_PIECE, CLIP_ON)
PINNED = "pinned"
FREE = "free"
PERCHES = (PINNED, FREE)
FRAME = "frame"
YOKE = "yoke"
FORK = "fork"
HOLDS = (FRAME, YOKE, FORK)
"""What the far end of a hose is held by: the frame, the steered yokes, the fork's lower part."""

ON_WHEELS = "wheels"
ON_STAND = "stand"

PART_KINDS = ("riser", "bar", "extender", "clip_on", "peg_plate", "seat", "lever_set")
"""Kinds of part that a catalogue holds."""

MID_POINTS = ("rear_axle", "front_axle", "seat", "clamp", "tank", "screen", "fairing")
"""Points in the mid-plane."""

PAIR_POINTS = ("peg", "grip_end", "grip_inner", "tube", "brake_pedal", "gear_lever")
"""Points given once for left and right by their spacing across the bike."""

ROUND_POINTS = ("grip_end", "grip_inner", "clamp", "peg")
"""Points that a tape can meet at the top instead of the centre-line (``to = "top"``)."""

Rake = Annotated[Reading, Q(ANGLE, 5.0, 60.0, many=True)]
Diameter = Annotated[Reading, Q(LENGTH, 10.0, 60.0)]
GripLength = Annotated[Reading, Q(LENGTH, 60.0, 200.0)]


@frozen(kw_only=True)
class Steering:
    """Rake from vertical, degrees, read on the wheels or on the stand; lock to one side.

    ``fork_extension`` and ``fork_compression`` are how far the fork still goes out and in from
    the state in which the bike was taped, mm along its tubes.
    """

    rake: Rake | None = None
    rake_read_on: Annotated[str, (ON_WHEELS, ON_STAND)] = ON_WHEELS
    lock: Annotated[Reading, Q(ANGLE, 5.0, 80.0)] | None = None
    fork_extension: Annotated[Reading, Q(LENGTH, 0.0, 350.0)] | None = None
    fork_compression: Annotated[Reading, Q(LENGTH, 0.0, 350.0)] | None = None


@frozen(kw_only=True)
class Handlebar:
    """The bar as it is fitted; ``roll`` is the band it may be rolled in, from where it stands.

    ``tube_diameter`` is the fork tube's, for clip-ons; ``overall_width`` counts bar-end weights
    and mirrors; ``pins`` says that throttle housing or switches are pinned to the bar.
    """

    kind: Annotated[str, KINDS] = ONE_PIECE
    bar_diameter: Diameter | None = None
    clamp_diameter: Diameter | None = None
    tube_diameter: Diameter | None = None
    grip_diameter: Diameter | None = None
    grip_length: GripLength | None = None
    grip_tilt: Slope | None = None
    grip_sweep: Slope | None = None
    roll: AngleBand | None = None
    overall_width: Across | None = None
    pins: bool = False


@frozen(kw_only=True)
class Lever:
    """One hand lever: straightedge angle, reach, and how its perch may turn.

    ``angle`` is the slope below horizontal of a straightedge over grip and blade, degrees;
    ``rotation`` the band the perch may turn in, degrees; ``pin`` the diameter of the pin of
    a pinned perch, mm. ``cap_limit`` is how far the reservoir may tip from where it was found,
    degrees; ``pull`` how far the blade comes back at full pull, mm.
    """

    angle: Slope | None = None
    reach: LeverReach | None = None
    reach_range: LengthBand | None = None
    perch: Annotated[str, PERCHES] = FREE
    rotation: AngleBand | None = None
    pin: Annotated[Reading, Q(LENGTH, 1.0, 10.0)] | None = None
    cap_limit: Annotated[Reading, Q(ANGLE, 1.0, 45.0)] | None = None
    pull: Annotated[Reading, Q(LENGTH, 5.0, 120.0)] | None = None


@frozen(kw_only=True)
class Levers:
    """Brake lever (right) and clutch lever (left); ``None`` where the bike has none."""

    brake: Lever | None = None
    clutch: Lever | None = None


@frozen(kw_only=True)
class Stand:
    """Axle heights on the stand, mm, or the pitch it gives the bike, degrees, nose up positive."""

    rear_axle: Height | None = None
    front_axle: Height | None = None
    pitch: Slope | None = None


@frozen(kw_only=True)
class Hose:
    """One line from the bar: its spare length, mm, and where its other end is held.

    ``spare`` is what is left at full lock. The holding point stands ``height`` above the floor,
    ``ahead`` of the rear axle and ``offset`` to the left of the mid-plane; all three or none.
    ``held_by`` says what it goes with: the frame, the steered yokes, or the fork's lower part.
    """

    spare: Spare | None = None
    height: Height | None = None
    ahead: Tape | None = None
    offset: Tape | None = None
    held_by: Annotated[str, HOLDS] = FRAME


@frozen(kw_only=True)
class Hoses:
    """The lines from the bar, one each; ``None`` where the bike has none or nothing was said."""

    front_brake: Hose | None = None
    clutch: Hose | None = None
    throttle: Hose | None = None
    wiring: Hose | None = None


@frozen(kw_only=True)
class Obstacle:
    """Something a fist or bar end may meet at full lock, mm in the bike's frame.

    ``offset`` is to the left of the mid-plane; the right side is taken as its mirror.
    """

    name: str
    height: Height
    ahead: Tape
    offset: Tape


@frozen(kw_only=True)
class Allows:
    """What the bike allows without another bike being built, each a band of change, mm.

    ``bar_width`` is the band of the width itself, the others of the change from as found.
    ``None``: nothing was said, so nothing is held against it. ``keep`` names kinds of part that
    stay as they are, of `PART_KINDS`.
    """

    bar_width: LengthBand | None = None
    riser: LengthBand | None = None
    pullback: LengthBand | None = None
    clip_slide: LengthBand | None = None
    clip_offset: LengthBand | None = None
    peg_ahead: LengthBand | None = None
    peg_up: LengthBand | None = None
    seat: LengthBand | None = None
    keep: Annotated[tuple[str, ...], PART_KINDS] = ()


@frozen(kw_only=True)
class Fitted:
    """Parts of the catalogue that are on the bike already, by name; ``None``: the maker's own."""

    riser: str | None = None
    bar: str | None = None
    extender: str | None = None
    clip_on: str | None = None
    peg_plate: str | None = None
    seat: str | None = None
    lever_set: str | None = None


@frozen(kw_only=True)
class Straddle:
    """What feet on the ground need: seat width where the thighs lie, and sag with the rider, mm."""

    seat_width: Annotated[Reading, Q(LENGTH, 50.0, 600.0)] | None = None
    sag: Annotated[Reading, Q(LENGTH, 0.0, 200.0)] | None = None


@frozen(kw_only=True)
class Bike:
    """One bike as written in ``bikes/KEY.toml``.

    Parameters
    ----------
    key : str
        File name without its ending; what is typed on the command line.
    file : str
        Path as people see it, for problems.
    state : str
        How it stood while it was taped, one of `STATES`.
    tape : str
        Who held the tape: ``"alone"`` or ``"helper"``.
    heights, ahead : mapping of str to Reading
        By point name, mm: above the floor; ahead of the rear axle along the floor.
    spans : mapping of (str, str) to Reading
        By the two point names, mm, in space.
    widths : mapping of str to Reading
        By pair name, mm, left to right.
    wheels : Stand or None
        Axle heights on the wheels where the bike was taped on a stand.
    clip_turn : Reading or None
        Turn of the clip-ons asked for, degrees, positive carries the grip end rearward.
    """

    key: str
    file: str
    name: str
    state: Annotated[str, STATES] = ON_WHEELS
    tape: Annotated[str, HELP] = HELP[0]
    date: str | None = None
    mileage: str | None = None
    steering: Steering = field(factory=Steering)
    handlebar: Handlebar = field(factory=Handlebar)
    widths: Mapping[str, Across] = field(factory=dict)
    heights: Mapping[str, Height] = field(factory=dict)
    ahead: Mapping[str, Tape] = field(factory=dict)
    spans: Mapping[tuple[str, str], Span] = field(factory=dict)
    stand: Stand | None = None
    wheels: Stand | None = None
    levers: Levers = field(factory=Levers)
    hoses: Hoses | None = None
    obstacles: tuple[Obstacle, ...] = ()
    allows: Allows = field(factory=Allows)
    fitted: Fitted = field(factory=Fitted)
    straddle: Straddle = field(factory=Straddle)
    clip_turn: Slope | None = None
    notes: str | None = None
