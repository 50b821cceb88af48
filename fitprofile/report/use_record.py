"""Standing uses, weights and legs that differ as plain dicts, ready for JSON."""

from __future__ import annotations

from typing import Any

import numpy as np

from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Standing
from fitprofile.report.plan_record import plan_records, remedy_records
from fitprofile.report.record import plain, points_record, problem_records, sides_record
from fitprofile.stages.each_side import PegSides
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import Numbers
from fitprofile.stages.standing_moves import StandingChanges, StandingOn

Record = dict[str, Any]

NO_NUMBERS: Record = plain(
    Numbers(
        bar_width_mm=np.nan,
        navel_to_bar_mm=np.nan,
        grip_tilt_deg=np.nan,
        grip_sweep_deg=np.nan,
        forearm_angle_deg=np.nan,
    )
)
"""Every number of a seated use, ``None``."""


def with_uses(record: Record, transfer: Transfer) -> Record:
    """A transfer's record with what only some riders have.

    Returns
    -------
    dict
        ``standing`` by use and ``weights`` by use at the top; ``peg_move_left_mm`` and
        ``peg_move_right_mm`` in ``exact`` and ``practical`` and ``knee_angle_left_deg`` and
        ``knee_angle_right_deg`` in ``target``, each only where there is such a thing.
    """
    if transfer.standing:
        record["standing"] = {use: _standing(one) for use, one in transfer.standing.items()}
    if transfer.weights:
        record["weights"] = dict(transfer.weights)
    if transfer.pegs is not None:
        record |= _legs(record, transfer.pegs)
    return record


def _legs(record: Record, pegs: PegSides) -> Record:
    """The parts of a record that gain a figure for each leg."""
    names = ("left", "right")
    legs = list(zip(names, pegs, strict=True))
    exact = {f"peg_move_{name}_mm": plain(_xz(leg.exact)) for name, leg in legs}
    done = {f"peg_move_{name}_mm": plain(_xz(leg.practical)) for name, leg in legs}
    knee = {f"knee_angle_{name}_deg": leg.wished_deg for name, leg in legs}
    return {
        "exact": record["exact"] | exact,
        "practical": record["practical"] | done,
        "target": record["target"] | knee,
    }


def _xz(move: Any) -> dict[str, float]:
    return {"x": float(move.x), "z": float(move.z)}


def _standing(one: StandingOn) -> Record:
    """One standing use on a bike as found."""
    return {
        "wish": standing_wish(one.wish),
        "now": plain(one.now),
        "target": plain(one.target),
        "exact": _changes(one.exact),
        "exact_after": plain(one.exact_after),
        "practical": _changes(one.practical)
        | {
            "after": plain(one.after),
            "leave": list(one.leave),
            "at_limit": list(one.at_limit),
            "missed": list(one.missed),
        },
        "deviations": dict(one.deviations),
    }


def _changes(changes: StandingChanges) -> Record:
    return dict(plain(changes.bar)) | {
        "brake_pedal_mm": plain(changes.brake_pedal_mm),
        "gear_lever_mm": plain(changes.gear_lever_mm),
    }


def standing_wish(wish: Standing) -> Record:
    """A standing use's own numbers as the rider wrote them, repeated readings averaged.

    A lever angle that is wished left and right stands as the mean of both, and beside it each
    side's own.
    """

    def value(reading: Reading | None) -> float | None:
        return None if reading is None else reading.value

    return {
        "grip_above_peg_mm": value(wish.grip_above_peg),
        "grip_ahead_of_peg_mm": value(wish.grip_ahead_of_peg),
        "bar_width_mm": value(wish.bar_width),
        "hip_to_grip_mm": value(wish.hip_to_grip),
        "lever_angle_deg": value(wish.lever_angle),
        **sides_record(wish),
        "lean_deg": value(wish.lean),
        "brake_pedal_mm": value(wish.brake_pedal),
        "gear_lever_mm": value(wish.gear_lever),
        "measured_on": wish.measured_on,
        "gear": wish.gear,
    }


def standing_record(transfer: Transfer, use: str) -> Record:
    """What ``transfer --use`` prints for a standing use: the keys of every transfer.

    Figures that standing does not have are ``None``: navel-to-bar, knee angle, lever reach, and
    every give or take. Those that only standing has stand beside them.
    """
    one = transfer.standing[use]
    shown = _standing(one)
    for part in ("now", "target", "exact_after"):
        shown[part] = NO_NUMBERS | {"reachable": None} | shown[part]
        shown[part]["reachable"] = shown[part]["out_of_reach_mm"] == 0.0
    after = NO_NUMBERS | shown["practical"]["after"]
    after["reachable"] = after["out_of_reach_mm"] == 0.0
    return {
        "rider": transfer.rider.key,
        "bike": transfer.bike.key,
        "use": use,
        "rider_name": transfer.rider.name,
        "bike_name": transfer.bike.name,
        "posture": "standing",
        "steering": {"rake_deg": plain(transfer.surveyed.rake.value)},
        "handlebar": {"kind": transfer.bike.handlebar.kind},
        "body": plain(transfer.linkage),
        "points": points_record(transfer.surveyed.points),
        **({"points_adjusted": points_record(transfer.points)} if transfer.adjusted else {}),
        **shown,
        "practical": shown["practical"] | {"after": after},
        "limits": plain(one.limits),
        "give_or_take": _nothing(plain(one.exact.bar)),
        **_plans(transfer, use),
        "problems": problem_records(transfer.problems),
    }


def _plans(transfer: Transfer, use: str) -> Record:
    """Plans of the standing use and the parts that it lacks; ``after`` of each as ``now``."""
    if transfer.offers is None:
        return {"plans": [], "missing_parts": []}
    plans = plan_records(transfer.offers)
    for plan in plans:
        after = NO_NUMBERS | plan["standing"].pop(use)
        plan["after"] = after | {"reachable": after["out_of_reach_mm"] == 0.0}
        if not plan["standing"]:
            del plan["standing"]
    return {"plans": plans, "missing_parts": remedy_records(transfer.offers)}


def _nothing(record: Any) -> Any:
    """The same keys, no figures."""
    if isinstance(record, dict):
        return {name: _nothing(item) for name, item in record.items()}
    return None
