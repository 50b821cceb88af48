"""The work in the order of a workshop: every change as a step that can be done and seen.

The order is not that of computing: what was found is written down first, seat and feet come
before the bar, the bar before its controls, and nothing is cut before the ride.
"""

from __future__ import annotations

from fitprofile.model.bike import ON_STAND
from fitprofile.report.change_steps import changes
from fitprofile.report.for_good import FOR_GOOD, HOUSING
from fitprofile.report.step import BAR, BEFORE, CLOSE, CONTROLS, DRY, FEET, LAST, Step
from fitprofile.stages.outcome import Transfer
from fitprofile.units import whole


def steps(transfer: Transfer) -> tuple[Step, ...]:
    """Everything to do, in order; changes that print as zero are left out."""
    done = transfer.practical.changes
    rise = float(done.clip_slide_mm if transfer.clip_on else done.riser_height_mm)
    slid = whole(float(done.bar_width_change_mm)) != 0
    housings = PINS_SLID if slid and transfer.bike.handlebar.pins else housing_words(transfer)
    return in_order(
        transfer, tuple(changes(transfer)), up=whole(rise) > 0, slid=slid, housings=housings
    )


def in_order(
    transfer: Transfer,
    made: tuple[Step, ...],
    *,
    up: bool,
    slid: bool,
    housings: str,
    cut: str = "",
) -> tuple[Step, ...]:
    """Changes with the routine around them, in the order of work.

    ``up``: the bar comes higher; ``slid``: the grips move along it; ``housings``: what throttle
    housing and switches do, empty where a step of ``made`` says it; ``cut``: what is cut after the
    ride, in words.
    """
    bar = any(step.phase == BAR and step.moves for step in made)
    feet = any(step.phase == FEET and step.moves for step in made)
    turned = any(step.phase in {BAR, CONTROLS} and step.moves for step in made)
    carried = bar or slid
    whole_job = (
        *_before(),
        *(step for step in made if step.phase == FEET),
        *(_pedals() if feet else ()),
        *(_dry_fit(up=up) if bar else ()),
        *(step for step in made if step.phase == BAR),
        *((Step(phase=CONTROLS, what=housings),) if carried and housings else ()),
        *(step for step in made if step.phase == CONTROLS),
        *(_closing(bar=bar) if turned or feet else ()),
        *_last(transfer, cut),
    )
    return tuple(whole_job)


def change_steps(transfer: Transfer) -> tuple[Step, ...]:
    """The steps that carry figures or a gap, without routine."""
    return tuple(step for step in steps(transfer) if step.moves or step.missing)


def _before() -> tuple[Step, ...]:
    return (
        Step(
            phase=BEFORE,
            what="Photograph both sides; witness marks on clamps, perches, adjusters. Tyre "
            "pressures, steering bearings, bars straight.",
        ),
    )


def _pedals() -> tuple[Step, ...]:
    return (
        Step(
            phase=FEET,
            what="Brake pedal and gear lever follow the foot at once; the rear brake must not be "
            "held on.",
        ),
    )


def _dry_fit(*, up: bool) -> tuple[Step, ...]:
    how = "On packers" if up else "Clamped loosely"
    return (
        Step(
            phase=DRY,
            what=f"{how}, before parts are ordered: steer lock to lock, fork extended and "
            "compressed; hoses and cables stay free.",
        ),
    )


PINS_SLID = (
    "Throttle housing and switches go along with the grips, away from the holes of their pins: "
    f"{FOR_GOOD[HOUSING]}."
)


def housing_words(made: Transfer, onto: str = "") -> str:
    """What throttle housing and switches do that no pin holds back; ``onto``: ``the new bar``."""
    if onto:
        return f"Throttle housing and switches go onto {onto} (look for pins: the file names none)."
    pins = "they are pinned to it" if made.bike.handlebar.pins else "the bike's file names no pins"
    return f"Throttle housing and switches go with the bar ({pins})."


def _closing(*, bar: bool) -> tuple[Step, ...]:
    hoses = "Route hoses and cables; bleed if opened. " if bar else ""
    return (
        Step(
            phase=CLOSE,
            what=f"{hoses}Torque all that was touched to the maker's figures; free play, mirrors, "
            "lamp aim.",
        ),
    )


def _last(made: Transfer, cut: str) -> tuple[Step, ...]:
    again = (
        "Measure again on its wheels"
        if made.bike.state == ON_STAND
        else "Measure again, same state"
    )
    return (
        Step(
            phase=LAST,
            what=f"{again}, same gear, and fill in the boxes; then the stop checks.",
        ),
        Step(
            phase=LAST,
            what="Short ride, torque again; cut, drill or slot only now"
            f"{f': {cut}' if cut else ''}.",
        ),
    )
