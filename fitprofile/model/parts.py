"""What the shop can fit: real parts with price and minutes, and the minutes of free adjustments.

Prices are in the catalogue's own currency, minutes are one mechanic's; both are the user's data.
Annotations are not put off here: making values of so many texts again takes a reader 0.6 ms.
"""

from collections.abc import Mapping
from typing import Annotated

from attrs import field

from fitprofile.model.bike import CLIP_ON, ONE_PIECE, Diameter
from fitprofile.model.quantity import ANGLE, LENGTH, NUMBER, Band, Q, Reading
from fitprofile.values import frozen

Money = Annotated[Reading, Q(NUMBER, 0.0, 100_000.0)]
Minutes = Annotated[Reading, Q(NUMBER, 0.0, 6_000.0)]
Rise = Annotated[Reading, Q(LENGTH, -150.0, 500.0)]
Back = Annotated[Reading, Q(LENGTH, -150.0, 450.0)]
Shift = Annotated[Reading, Q(LENGTH, -150.0, 150.0)]
Bend = Annotated[Reading, Q(ANGLE, -30.0, 60.0)]
ReachBand = Annotated[Band, Q(LENGTH, 20.0, 150.0)]

BRAKE = "brake"
CLUTCH = "clutch"
BOTH = "both"
WITHOUT = "without "
"""What stands before a part's name where it is taken off."""

NONE, BETWEEN = "none", ";"
"""What is typed where no part was fitted, and what stands between names where several were."""

LEVER_SIDES = (BOTH, BRAKE, CLUTCH)

ZERO = Reading(0.0)

DIAMETER_PLAY = 0.3
"""mm; what two diameters may differ by and still be one size, as 22.2 and 7/8 in (estimate)."""


@frozen(kw_only=True)
class Riser:
    """Block under the bar clamp, in place of the one that is fitted.

    ``height`` along the clamp axis and ``pullback`` square to it and rearward, mm, against the
    bike without any riser. ``clamp_diameter`` of the bar it takes, ``None``: as the bike's own.
    """

    name: str
    height: Rise
    pullback: Back = ZERO
    clamp_diameter: Diameter | None = None
    price: Money = ZERO
    minutes: Minutes = ZERO
    fits: tuple[str, ...] = ()


@frozen(kw_only=True)
class Bar:
    """One-piece bar, by the figures of its drawing, mm and degrees.

    Standing as drawn (roll 0) its ends lie ``rise`` above, ``pullback`` behind and half of
    ``width`` beside the middle of the clamped part. The grip's axis points back by ``backsweep``,
    seen from above, and up by ``upsweep`` against the ground. ``bar_diameter`` is that of the
    controls' zone, ``None``: as the bike's own.
    """

    name: str
    width: Annotated[Reading, Q(LENGTH, 400.0, 1200.0)]
    rise: Rise
    pullback: Back
    backsweep: Bend
    upsweep: Annotated[Reading, Q(ANGLE, -30.0, 30.0)] = ZERO
    clamp_diameter: Diameter
    bar_diameter: Diameter | None = None
    price: Money = ZERO
    minutes: Minutes = ZERO
    fits: tuple[str, ...] = ()


@frozen(kw_only=True)
class Extender:
    """Pair of pieces that make each end of a bar ``length`` mm longer."""

    name: str
    length: Annotated[Reading, Q(LENGTH, 1.0, 150.0)]
    bar_diameter: Diameter | None = None
    price: Money = ZERO
    minutes: Minutes = ZERO
    fits: tuple[str, ...] = ()


@frozen(kw_only=True)
class ClipOn:
    """Pair of clip-ons, mm and degrees.

    ``offset`` is how far the bar's axis passes behind the fork tube's, ``drop`` how far below the
    middle of the clamp it leaves, along the tube. ``droop`` (outer end down, against a square to
    the tube, not against the ground), ``sweep`` (outer end rearward) and ``length`` from tube axis
    to the bar's end are as on the present ones where ``None``. ``tube_diameter``: ``None`` is as
    the bike's own.
    """

    name: str
    offset: Annotated[Reading, Q(LENGTH, -100.0, 100.0)]
    drop: Annotated[Reading, Q(LENGTH, -150.0, 150.0)] = ZERO
    droop: Annotated[Reading, Q(ANGLE, -30.0, 30.0)] | None = None
    sweep: Bend | None = None
    length: Annotated[Reading, Q(LENGTH, 100.0, 500.0)] | None = None
    tube_diameter: Diameter | None = None
    bar_diameter: Diameter | None = None
    price: Money = ZERO
    minutes: Minutes = ZERO
    fits: tuple[str, ...] = ()


@frozen(kw_only=True)
class PegPlate:
    """Pair of plates that carry both pegs ``x`` ahead and ``z`` up of where the maker put them."""

    name: str
    x: Shift
    z: Shift
    price: Money = ZERO
    minutes: Minutes = ZERO
    fits: tuple[str, ...] = ()


@frozen(kw_only=True)
class Seat:
    """Seat that carries the sit point ``z`` up and ``x`` ahead of where the maker's does, mm."""

    name: str
    z: Shift
    x: Shift = ZERO
    price: Money = ZERO
    minutes: Minutes = ZERO
    fits: tuple[str, ...] = ()


@frozen(kw_only=True)
class LeverSet:
    """Lever or pair of levers whose adjusters reach from the first to the second figure, mm."""

    name: str
    reach_range: ReachBand
    side: Annotated[str, LEVER_SIDES] = BOTH
    price: Money = ZERO
    minutes: Minutes = ZERO
    fits: tuple[str, ...] = ()


Part = Riser | Bar | Extender | ClipOn | PegPlate | Seat | LeverSet

PARTS: Mapping[str, type[Part]] = {
    "riser": Riser,
    "bar": Bar,
    "extender": Extender,
    "clip_on": ClipOn,
    "peg_plate": PegPlate,
    "seat": Seat,
    "lever_set": LeverSet,
}
"""Class of each kind of part, by its name in files, in the order of `PART_KINDS` of the bike."""

MADE_FOR: Mapping[str, str] = {"riser": ONE_PIECE, "bar": ONE_PIECE, "clip_on": CLIP_ON}
"""Kind of bar that a kind of part is made for; other kinds are for both."""


def made_for(kind: str, bar: str) -> bool:
    """Whether a kind of part can be on a bike with this kind of bar."""
    return MADE_FOR.get(kind, bar) == bar


GUESSED = "guessed"
"""How minutes were come by that no shop has written."""


@frozen(kw_only=True)
class Labour:
    """Minutes that free adjustments take. Guesses to start from (no source): write your own."""

    roll: Minutes = field(default=Reading(15.0, how=GUESSED))
    slide: Minutes = field(default=Reading(20.0, how=GUESSED))
    clip_slide: Minutes = field(default=Reading(20.0, how=GUESSED))
    perch: Minutes = field(default=Reading(10.0, how=GUESSED))
    reach: Minutes = field(default=Reading(2.0, how=GUESSED))
    pedal: Minutes = field(default=Reading(10.0, how=GUESSED))

    @property
    def guessed(self) -> bool:
        """Whether one of them is no figure of the shop's."""
        every = (self.roll, self.slide, self.clip_slide, self.perch, self.reach, self.pedal)
        return any(minutes.how == GUESSED for minutes in every)


@frozen(kw_only=True)
class Catalogue:
    """Everything that the shop can fit, in the order of the file; empty where there is no file.

    ``left_out`` names the parts of the file that cannot be used until they are mended, each as
    it is to be printed; ``remark`` says in a sentence what of the file is not used, empty where
    all of it is. Without ``file`` nothing is known of any part, and nothing is to be said of one.
    """

    currency: str = ""
    labour: Labour = field(factory=Labour)
    risers: tuple[Riser, ...] = ()
    bars: tuple[Bar, ...] = ()
    extenders: tuple[Extender, ...] = ()
    clip_ons: tuple[ClipOn, ...] = ()
    peg_plates: tuple[PegPlate, ...] = ()
    seats: tuple[Seat, ...] = ()
    lever_sets: tuple[LeverSet, ...] = ()
    file: str | None = None
    left_out: tuple[str, ...] = ()
    remark: str = ""

    def of(self, kind: str) -> tuple[Part, ...]:
        """All parts of a kind, one of `PARTS`."""
        parts: tuple[Part, ...] = getattr(self, f"{kind}s")
        return parts

    def named(self, name: str) -> tuple[str, Part] | None:
        """Kind and part of a name, which no other part has; ``None`` where it is not listed."""
        every = ((kind, part) for kind in PARTS for part in self.of(kind))
        return next((one for one in every if one[1].name == name), None)


def same_size(one: Reading, other: Reading) -> bool:
    """Whether two diameters are one size, within `DIAMETER_PLAY`.

    Examples
    --------
    >>> same_size(Reading(22.2), Reading(22.225)), same_size(Reading(25.4), Reading(28.6))
    (True, False)
    """
    return abs(one.value - other.value) <= DIAMETER_PLAY
