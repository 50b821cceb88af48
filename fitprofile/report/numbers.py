"""The rider's numbers on one bike as rows: as found, wished, after, and where they come from."""

from __future__ import annotations

from math import isfinite

from fitprofile.report.wording import NUMBERS, SECONDARY
from fitprofile.stages.complete import ASSUMED, ESTIMATED, MEASURED
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import Numbers
from fitprofile.values import frozen

TAPED = {
    "bar_width": "widths.grip_end",
    "grip_tilt": "handlebar.grip_tilt",
    "grip_sweep": "handlebar.grip_sweep",
}
"""Numbers that the bike alone has, with the observation that says whether it was assumed."""


@frozen(kw_only=True)
class NumberRow:
    """One of the rider's numbers, mm or degrees; ``nan``: no such figure.

    Parameters
    ----------
    key : str
        Name as in tolerances, with the side behind a point.
    words, unit : str
        For a reader.
    now, target, after : float
        As found, wished, and once the practical changes are made.
    give : float
        Half-width of ``now``, 19 times in 20.
    tolerance : float
        ``nan`` where the number has none.
    source : str
        Where ``now`` comes from: ``measured``, ``estimated`` or ``assumed``.
    left, missed : bool
        Already inside tolerance as found; outside it afterwards.
    """

    key: str
    words: str
    unit: str
    now: float
    target: float
    after: float
    give: float
    tolerance: float
    source: str
    left: bool
    missed: bool

    @property
    def primary(self) -> bool:
        """Whether it is one of the numbers that a rider knows by heart."""
        return self.key not in SECONDARY


def number_rows(transfer: Transfer) -> tuple[NumberRow, ...]:
    """Rows of one transfer in the order of a sheet; no reach of a lever that the bike lacks."""
    return tuple(_row(transfer, key) for key in NUMBERS if _is_there(transfer, key))


def number_of(numbers: Numbers, key: str) -> float:
    """One figure by its key, mm or degrees; ``"lever_angle.brake"`` is the brake side's."""
    name, _, side = key.partition(".")
    value = getattr(numbers, f"{name}_{'deg' if NUMBERS[key][1] == 'deg' else 'mm'}")
    return float(getattr(value, side) if side else value)


def missing_because(transfer: Transfer, key: str) -> str:
    """Why a number as found does not exist, in a few words; the notes say more."""
    name, _, side = key.partition(".")
    if side:
        lever = getattr(transfer.bike.levers, side)
        return (
            "not in the file" if lever is None else "not read" if "angle" in name else "not taped"
        )
    return "out of reach"


def _is_there(transfer: Transfer, key: str) -> bool:
    """Whether a number is shown: the reach of a lever that the bike lacks is not."""
    name, _, side = key.partition(".")
    return name != "lever_reach" or getattr(transfer.bike.levers, side) is not None


def _row(transfer: Transfer, key: str) -> NumberRow:
    words, unit = NUMBERS[key]
    done = transfer.practical
    return NumberRow(
        key=key,
        words=words,
        unit=unit,
        now=number_of(transfer.now, key),
        target=number_of(transfer.target, key),
        after=number_of(done.after, key),
        give=_give(transfer, key),
        tolerance=transfer.tolerances.get(key.partition(".")[0], float("nan")),
        source=_source(transfer, key),
        left=key in done.leave,
        missed=key in done.missed,
    )


def _give(transfer: Transfer, key: str) -> float:
    give = number_of(transfer.now_give_or_take, key)
    return give if isfinite(give) else float("nan")


def _source(transfer: Transfer, key: str) -> str:
    """Measured on this bike, worked out through the body, or assumed."""
    name = key.partition(".")[0]
    if name in {"lever_angle", "lever_reach"}:
        return MEASURED
    if name in TAPED:
        status = {one.key: one.status for one in transfer.surveyed.observations}
        return ASSUMED if status.get(TAPED[name]) == ASSUMED else MEASURED
    if name == "lean":
        return ESTIMATED if transfer.cockpit.lean is None else MEASURED
    return MEASURED if transfer.adjusted else ESTIMATED
