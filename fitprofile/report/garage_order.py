"""The order of bikes in a comparison: by work, money, time or closeness, ties settled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import hypot, inf, isfinite

from attrs import evolve

from fitprofile.stages.as_planned import as_planned
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import CHEAPEST, CLOSEST, QUICKEST, Plan

WORK, MONEY, TIME, CLOSENESS = "work", "money", "time", "closeness"

PICKED: Mapping[str, str] = {MONEY: CHEAPEST, TIME: QUICKEST, CLOSENESS: CLOSEST}
"""Plan that is compared under each order, where there is one; else the one a sheet prints."""

STATED: Mapping[str, str] = {
    WORK: "best fit after the work first, then least work",
    MONEY: "inside every tolerance first, then least money, least time, closest",
    TIME: "inside every tolerance first, then least time, least money, closest",
    CLOSENESS: "inside every tolerance first, then closest, least money, least time",
}
"""The orders in words; hands out of reach come last, and by name where nothing else tells."""

Key = tuple[bool | int | float | str, ...]


def amount(transfer: Transfer) -> float:
    """How much is to be done: the practical changes, each in units of a tolerance, added up.

    Widths and moves of bar and pegs count in the tolerances of bar width and navel-to-bar, turns
    in those of grip tilt and lever angle, reach in its own. ``inf`` where the exact answer has a
    gap, so that such a bike comes after all others. It only sorts; nothing is judged by it.
    """
    done, allowed = transfer.practical.changes, transfer.tolerances
    exact = transfer.exact
    if not isfinite(exact.clip_slide_mm if transfer.clip_on else exact.riser_height_mm):
        return inf
    bar = (
        (done.clip_slide_mm, done.clip_offset_mm)
        if transfer.clip_on
        else (done.riser_height_mm, done.riser_pullback_mm)
    )
    parts = [
        float(done.bar_width_change_mm) / allowed["bar_width"],
        hypot(*(float(part) for part in bar)) / allowed["navel_to_bar"],
        hypot(float(done.peg_move_mm.x), float(done.peg_move_mm.z)) / allowed["navel_to_bar"],
        float(done.clip_turn_deg if transfer.clip_on else done.bar_roll_deg) / allowed["grip_tilt"],
    ]
    for side in ("brake", "clutch"):
        turn = float(getattr(done.lever_rotation_deg, side))
        reach = float(getattr(done.lever_reach_change_mm, side))
        parts += [turn / allowed["lever_angle"]] if isfinite(turn) else []
        parts += [reach / allowed["lever_reach"]] if isfinite(reach) else []
    total = sum(abs(part) for part in parts)
    return total if isfinite(total) else inf


def by_work(transfers: Sequence[Transfer]) -> tuple[Transfer, ...]:
    """Transfers with the fewest misses after the work first, then the least work, then by name."""
    return tuple(
        sorted(
            transfers,
            key=lambda one: (
                len(one.practical.missed),
                amount(one),
                one.bike.name,
                one.bike.key,
            ),
        )
    )


def in_order(transfers: Sequence[Transfer], sort: str = WORK) -> tuple[Transfer, ...]:
    """Transfers in the order asked for.

    Parameters
    ----------
    transfers : sequence of Transfer
    sort : str
        One of `STATED`.

    Returns
    -------
    tuple of Transfer
        Bikes whose grips stay out of the rider's reach come last. Where there are no plans,
        money and time count as nothing, and so the next of the stated order decides.
    """
    if sort == WORK:
        return tuple(sorted(by_work(transfers), key=lambda one: not _reached(one, None)))
    return tuple(
        sorted(transfers, key=lambda one: (*_cost(one, sort), one.bike.name, one.bike.key))
    )


def standing_in_order(
    transfers: Sequence[Transfer], use: str, sort: str = WORK
) -> tuple[Transfer, ...]:
    """Transfers with plans for a standing use, in the order asked for.

    Parameters
    ----------
    transfers : sequence of Transfer
    use : str
    sort : str
        One of `STATED`. Least work is there what is least off as found.

    Returns
    -------
    tuple of Transfer
        The plan that each is compared by is the one chosen.
    """

    def off(one: Transfer) -> float:
        return sum(value * value for value in one.standing[use].deviations.values())

    def key(one: Transfer) -> Key:
        plan = compared(one, sort) or _bare(one)
        first = (plan.worst if not plan.inside else 0.0, off(one)) if sort == WORK else ()
        return not plan.inside, *first, *_figures(plan, sort), one.bike.name, one.bike.key

    return tuple(sorted((_picked(one, sort) for one in transfers), key=key))


def _picked(transfer: Transfer, sort: str) -> Transfer:
    """The transfer with the plan it is compared by as the one chosen."""
    plan = compared(transfer, sort)
    if plan is None or transfer.offers is None:
        return transfer
    return evolve(transfer, offers=evolve(transfer.offers, picked=plan.name))


def _bare(transfer: Transfer) -> Plan:
    """Free adjustments, where the shop lists no parts."""
    if transfer.offers is None:
        raise ValueError("a standing use is compared by its plans")
    return transfer.offers.chosen.plan


def compared(transfer: Transfer, sort: str = WORK) -> Plan | None:
    """The plan that one bike is compared by; ``None`` where the shop lists no parts."""
    offers = transfer.offers
    if offers is None or not offers.listed:
        return None
    picked = offers.named(PICKED.get(sort, ""))
    return (picked or offers.chosen).plan


def shown(transfer: Transfer, sort: str = WORK) -> Transfer:
    """The transfer with the plan it is compared by in place of the practical answer."""
    plan = compared(transfer, sort)
    return transfer if plan is None else as_planned(transfer, plan)


def _cost(transfer: Transfer, sort: str) -> Key:
    plan = compared(transfer, sort)
    if plan is None:
        return not _reached(transfer, None), len(transfer.practical.missed), 0.0, 0.0, 0.0
    return not _reached(transfer, plan), not plan.inside, *_figures(plan, sort)


def _figures(plan: Plan, sort: str) -> tuple[float, ...]:
    """What a plan costs and how close it is, the one that is sorted by first."""
    figures = {MONEY: plan.price, TIME: plan.minutes, CLOSENESS: plan.worst}
    order = (sort, *figures) if sort in figures else tuple(figures)
    return tuple(figures[name] for name in dict.fromkeys(order))


def _reached(transfer: Transfer, plan: Plan | None) -> bool:
    """Whether the hands reach the grips once the work is done."""
    after = transfer.practical.after if plan is None else plan.after
    return bool(after.reachable)
