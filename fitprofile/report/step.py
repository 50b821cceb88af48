"""One step of a job: an order, the figures it changes, and how to see that it is right."""

from __future__ import annotations

from math import isfinite, nan

from attrs import field

from fitprofile.report.wording import MM, printed_change
from fitprofile.stages.readings import NEEDED
from fitprofile.stages.survey import Surveyed
from fitprofile.units import whole
from fitprofile.values import frozen

BEFORE = "First"
FEET = "Seat and feet"
DRY = "Dry fit"
BAR = "Bar"
CONTROLS = "Controls"
CLOSE = "Close up"
LAST = "Last"


SAME = 1e-6
"""mm or degrees by which a change and what is seen of it may differ and still be one figure."""


@frozen
class Move:
    """One figure of a step, mm or degrees, from as found.

    Parameters
    ----------
    words : str
        What changes (``"riser height"``).
    change, exact, give : float
        Practical and exact change, and the exact one's half-width.
    seen : str
        Where it can be seen (``"peg above the floor"``); empty where only the change can be said.
    seen_unit : str
        Unit of what is seen.
    start, end : float
        The figure seen, before and after.
    """

    words: str
    unit: str
    change: float = field(converter=float)
    exact: float = field(converter=float)
    give: float = field(converter=float)
    seen: str = ""
    seen_unit: str = MM
    start: float = nan
    end: float = nan

    @property
    def printed(self) -> int:
        """The change as printed.

        Where what is seen changes by just this figure, the three that are printed add up.
        """
        return printed_change(self.start, self.end) if self.same else whole(self.change)

    @property
    def same(self) -> bool:
        """Whether what is seen changes by just this figure."""
        return self.seen_unit == self.unit and abs(self.end - self.start - self.change) < SAME

    @property
    def shown(self) -> bool:
        """Whether it prints as a change; what is set by eye has none and is shown."""
        return not isfinite(self.change) or bool(whole(self.change) and self.printed)


@frozen(kw_only=True)
class Step:
    """One thing to do; a step without moves is routine.

    Parameters
    ----------
    phase, what : str
        Heading it stands under, and the order itself.
    hint : str
        How to see it, or where to put the tape.
    moves : tuple of Move
        Figures; empty for routine.
    tool, caution : str
        What it takes, what to beware of.
    torque : bool
        Whether fasteners are tightened, so that the maker's torque is to be written down.
    remarks : tuple of str
        Sentences not to be missed: where it stops, what makes it differ from the exact change.
    missing : tuple of str
        Keys of problems that say why there is no figure; not empty marks a gap.
    part, price : str
        Part that is fitted, by its name in the catalogue, and its price in words.
    for_good : str
        What of it cannot be undone, and how to go about it; empty where everything can.
    """

    phase: str
    what: str
    hint: str = ""
    moves: tuple[Move, ...] = ()
    tool: str = ""
    caution: str = ""
    torque: bool = False
    remarks: tuple[str, ...] = ()
    missing: tuple[str | None, ...] = ()
    part: str = ""
    price: str = ""
    for_good: str = ""

    @property
    def nothing(self) -> bool:
        """Whether every printed change is zero and nothing is missing."""
        return bool(self.moves) and not any(move.shown for move in self.moves)


def origin(surveyed: Surveyed) -> str:
    """The point from which distances ahead count."""
    tied = {f"ahead.{name}" for name in NEEDED} & {one.key for one in surveyed.observations}
    return "rear axle" if tied or "rear_axle" in surveyed.names else "sit point"
