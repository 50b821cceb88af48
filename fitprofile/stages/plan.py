"""Stage 8f: a plan, parts and settings that bring a rider's numbers about on one bike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from attrs import field

from fitprofile.geometry.vectors import Real
from fitprofile.model.parts import (
    BOTH,
    Bar,
    ClipOn,
    Extender,
    LeverSet,
    Part,
    PegPlate,
    Riser,
    Seat,
)
from fitprofile.stages.posture import NO_SIDES, Numbers, Sides
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

FREE = "free"
CHEAPEST = "cheapest"
QUICKEST = "quickest"
CLOSEST = "closest"
PLAN_NAMES = (FREE, CHEAPEST, QUICKEST, CLOSEST)


@frozen(kw_only=True)
class Choice:
    """Parts that a plan fits; ``None`` keeps what is on the bike.

    ``lever_sets`` is one set, or one for the brake with one for the clutch; empty keeps both.
    """

    riser: Riser | None = None
    bar: Bar | None = None
    extender: Extender | None = None
    clip_on: ClipOn | None = None
    peg_plate: PegPlate | None = None
    seat: Seat | None = None
    lever_sets: tuple[LeverSet, ...] = ()

    def parts(self) -> Iterator[Part]:
        """What is to be bought, in the order of work."""
        order = (
            self.seat,
            self.peg_plate,
            self.riser,
            self.clip_on,
            self.bar,
            self.extender,
            *self.lever_sets,
        )
        return (part for part in order if part is not None)

    def levers_of(self, side: str) -> LeverSet | None:
        """The set that brings the lever of one side; ``None`` keeps the one that is on it."""
        return next((one for one in self.lever_sets if one.side in (BOTH, side)), None)


class PlanStep(NamedTuple):
    """One change of a plan, mm or degrees.

    Parameters
    ----------
    what : str
        Key: ``"seat"``, ``"pegs_up"``, ``"pegs_ahead"``, ``"riser_height"``, ``"riser_pullback"``,
        ``"bar"``, ``"clip_on"``, ``"clip_turn"``, ``"clip_slide"``, ``"bar_roll"``,
        ``"bar_width"``, ``"lever_rotation.brake"``, ``"lever_reach.brake"`` ... as in `limits`
        where there is one.
    start, end, change : float
        The figure that shows it just before and just after this step, every step before it done,
        and the change; ``start`` is ``nan`` where a perch goes onto a new bar or clip-on. A new
        bar or clip-on is first as drawn: roll 0, where the old ones sat, grips at its ends.
    unit : str
        ``"mm"`` or ``"deg"``.
    part : str or None
        Name of the part that brings it about, ``None`` where it is a free adjustment.
    """

    what: str
    start: float
    end: float
    change: float
    unit: str
    part: str | None = None


@frozen(kw_only=True)
class Plan:
    """Parts and settings for one rider, bike and use; mm and degrees.

    Parameters
    ----------
    name : str
        One of `PLAN_NAMES`, or of the weighted plan between several uses.
    choice : Choice
        Parts to fit.
    seat_move_mm, peg_move_mm, riser_move_mm : (float, float)
        Against as found: ahead and up of the sit point and of the pegs; height and pullback.
    roll_deg, clip_slide_mm : float
        Setting of the bar in its clamps or of the clip-ons on their tubes, from as found (a new
        bar: from standing as drawn); ``nan`` for the other bar kind.
    grip_slide_mm : float
        Of each grip along its own axis, from as found or from the new bar's ends, outward positive.
    lever_rotation_deg : Sides
        Turn of each perch on its bar; ``nan`` where there is no lever, no reading, or a new bar
        (there the perch is set by straightedge).
    lever_reach_change_mm : Sides
        ``nan`` where there is no lever or no figure.
    points : BikePoints
        The bike's points once it is done.
    after : Numbers
        The rider's numbers once it is done; ``lean_deg`` is the lean used.
    deviations : mapping of str to float
        After less wished, in units of its tolerance, by number; ``inf``: the number is not there.
    inside : bool
        Whether every deviation is inside its tolerance.
    price, minutes : float
        Of the parts, and of parts and free adjustments together.
    cannot_undo : tuple of str
        Keys of what cannot be taken back: ``"cut.bar"``, ``"free_pin.brake"``,
        ``"free_pin.clutch"``, ``"free_pin.housing"``.
    steps : tuple of PlanStep
        In the order of work.
    leave : tuple of str
        Numbers left alone, inside tolerance as found.
    chance : float
        Probability, 0 to 1, to be inside every tolerance at the first try.
    """

    name: str
    choice: Choice
    seat_move_mm: tuple[float, float]
    peg_move_mm: tuple[float, float]
    riser_move_mm: tuple[float, float]
    roll_deg: float
    clip_slide_mm: float
    grip_slide_mm: float
    lever_rotation_deg: Sides = NO_SIDES
    lever_reach_change_mm: Sides = NO_SIDES
    points: BikePoints
    after: Numbers
    deviations: Mapping[str, float]
    inside: bool
    price: float
    minutes: float
    cannot_undo: tuple[str, ...] = ()
    steps: tuple[PlanStep, ...] = ()
    leave: tuple[str, ...] = ()
    chance: Real = field(default=float("nan"))

    @property
    def worst(self) -> float:
        """Largest deviation, in tolerances."""
        return max((abs(value) for value in self.deviations.values()), default=0.0)
