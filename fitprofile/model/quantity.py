"""One measured figure as a person wrote it, and the range in which a field may lie."""

from __future__ import annotations

from typing import Annotated

from attrs import field

from fitprofile.values import frozen

LENGTH = "length"
ANGLE = "angle"
MASS = "mass"
NUMBER = "number"


@frozen
class Reading:
    """One figure with what is known about how it was taken.

    Parameters
    ----------
    value : float
        mm, degrees or kg; the mean where several readings were given.
    sd : float or None
        Standard deviation of one reading, same unit: half the ``give_or_take`` that was
        written (k = 2). ``None``: the shop's table of spreads decides.
    count : int
        How many readings the value is the mean of.
    how : str or None
        Tool or way of measuring, in the person's own words.
    top : bool
        The tape went to the top of a grip, clamp or peg (``to = "top"``).
    sides : (float, float) or None
        Left and right reading of a pair taped on both sides, same unit; ``value`` is
        their mean.
    scatter : float
        Largest less smallest of repeated readings, same unit; 0 for a single one, and for left
        and right, which may well differ.
    """

    value: float
    sd: float | None = None
    count: int = 1
    how: str | None = None
    top: bool = False
    sides: tuple[float, float] | None = None
    scatter: float = 0.0


@frozen
class Q:
    """What a field of a file may hold: its kind of unit and its range.

    One home for the range: the reader, the JSON Schema, the templates and the test
    strategies all take it from here.

    Parameters
    ----------
    kind : str
        ``"length"`` (mm), ``"angle"`` (degrees), ``"mass"`` (kg) or ``"number"``.
    low, high : float
        Both ends belong to the range.
    many : bool
        A list of repeated readings is allowed.
    sides : bool
        A table of ``left`` and ``right`` is allowed.
    """

    kind: str
    low: float
    high: float
    many: bool = field(default=False, kw_only=True)
    sides: bool = field(default=False, kw_only=True)


Band = tuple[float, float]
"""Lower and upper end of what is allowed, mm or degrees."""

Across = Annotated[Reading, Q(LENGTH, 0.0, 1500.0, many=True)]
"""A width or a spacing across the bike, mm."""

Height = Annotated[Reading, Q(LENGTH, 0.0, 3000.0, many=True)]
"""A height above the floor, mm."""

Tape = Annotated[Reading, Q(LENGTH, -500.0, 3000.0, many=True)]
"""A distance ahead of the rear axle or to one side, mm."""

Spare = Annotated[Reading, Q(LENGTH, -200.0, 300.0)]
"""What is left of a hose or cable at full lock, mm; negative where it is too short."""

Span = Annotated[Reading, Q(LENGTH, 1.0, 3000.0, many=True)]
"""A tape from point to point in space, mm."""

Slope = Annotated[Reading, Q(ANGLE, -60.0, 60.0, many=True)]
"""An angle against the ground or seen from above, degrees."""

LengthBand = Annotated[Band, Q(LENGTH, -500.0, 1500.0)]
AngleBand = Annotated[Band, Q(ANGLE, -180.0, 180.0)]
