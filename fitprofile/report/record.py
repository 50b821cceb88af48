"""Results as plain dicts, ready for JSON: full precision, names that carry their unit.

A figure that does not exist (``nan``) becomes ``None``; the problems beside it say why.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite
from typing import Any, cast

import numpy as np
from attrs import AttrsInstance, fields, has

from fitprofile.errors import Problem
from fitprofile.model.quantity import MASS, Reading
from fitprofile.model.rider import BODY, Cockpit, Standing
from fitprofile.stages.complete import ESTIMATED, MEASURED, Completed
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import Contact
from fitprofile.stages.practical import Practical
from fitprofile.stages.survey import BikePoints, Figure, Observation, Surveyed

Record = dict[str, Any]
"""Keys to strings, numbers, booleans, lists, dicts and ``None``."""


def transfer_record(transfer: Transfer) -> Record:
    """What ``transfer --json`` prints.

    Parameters
    ----------
    transfer : Transfer
        With `problems` already looked up.

    Returns
    -------
    dict
        Lengths in mm (``_mm``), angles in degrees (``_deg``), points as ``[x, y, z]`` of the
        left side in the bike's frame. ``points`` are as surveyed; ``points_adjusted`` stands
        beside them, and was used, only where sit-ons on this bike moved them. ``wish`` is the
        profile's own numbers, ``None`` where none was given.
    """
    record: Record = {
        "rider": transfer.rider.key,
        "bike": transfer.bike.key,
        "use": transfer.use,
        "rider_name": transfer.rider.name,
        "bike_name": transfer.bike.name,
        "steering": {"rake_deg": plain(transfer.surveyed.rake.value)},
        "handlebar": {"kind": transfer.bike.handlebar.kind},
        "body": plain(transfer.linkage),
        "points": points_record(transfer.surveyed.points),
    }
    if transfer.adjusted:
        record["points_adjusted"] = points_record(transfer.points)
    record |= {
        "now": plain(transfer.now),
        "target": plain(transfer.target),
        "wish": wish_record(transfer.cockpit),
        "exact": plain(transfer.exact),
        "exact_after": plain(transfer.exact_after),
        "practical": practical_record(transfer.practical),
        "limits": plain(transfer.limits),
        "levelling_turn_deg": plain(transfer.levelling_turn_deg),
        "give_or_take": plain(transfer.give_or_take),
        "now_give_or_take": _without(plain(transfer.now_give_or_take), "reachable"),
        "tolerances": dict(transfer.tolerances),
        "chance": plain(transfer.chance),
        "matters_most": transfer.matters_most,
        "contact": contact_record(transfer.contact),
        "contact_after": contact_record(transfer.contact_after),
        **_plans(transfer),
        "problems": problem_records(transfer.problems),
    }
    if not (transfer.standing or transfer.weights or transfer.pegs):
        return record
    from fitprofile.report.use_record import with_uses

    return with_uses(record, transfer)


def _plans(transfer: Transfer) -> Record:
    """Plans and missing parts; empty lists where none were asked for."""
    if transfer.offers is None:
        return {"plans": [], "chosen_plan": None, "missing_parts": []}
    from fitprofile.report.plan_record import plan_records, remedy_records

    return {
        "plans": plan_records(transfer.offers),
        "chosen_plan": transfer.offers.chosen.plan.name,
        "missing_parts": remedy_records(transfer.offers),
    }


def plain(value: object) -> Any:
    """A value of attrs classes, triples, mappings and numpy scalars as JSON's own kinds.

    Returns
    -------
    object
        ``None`` for a float that is not finite; attrs classes as dicts of their public
        fields; arrays and tuples as lists.
    """
    if value is None or isinstance(value, bool | str | int):
        return value
    if isinstance(value, float):
        return float(value) if isfinite(value) else None
    if isinstance(value, np.ndarray | np.generic):
        return plain(value.tolist())
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if has(type(value)):
        parts = fields(cast("type[AttrsInstance]", type(value)))
        return {part.name: plain(getattr(value, part.name)) for part in parts}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    raise TypeError(f"{type(value).__name__} has no place in a record")


def points_record(points: BikePoints) -> Record:
    """Points by name as ``[x, y, z]``, mm; ``tube`` and other points only where there are any."""
    named = {name: getattr(points, name) for name in ("seat", "peg", "clamp")}
    named |= {"grip_end": points.grip_end, "grip_inner": points.grip_inner}
    if points.tube is not None:
        named["tube"] = points.tube
    return {name: plain(point) for name, point in (named | dict(points.others)).items()}


SIDED = (
    ("forearm_angle", "deg"),
    ("lever_angle", "deg"),
    ("knee_angle", "deg"),
    ("lever_reach", "mm"),
)
"""Numbers of a use that may be wished left and right, with their units."""


def sides_record(wish: Cockpit | Standing) -> Record:
    """Each side's own figure of what is wished left and right."""
    return {
        f"{name}_{side}_{unit}": value
        for name, unit in SIDED
        if (reading := getattr(wish, name, None)) is not None and reading.sides is not None
        for side, value in zip(("left", "right"), reading.sides, strict=True)
    }


def wish_record(cockpit: Cockpit) -> Record:
    """The profile's own numbers as the rider wrote them, repeated readings averaged.

    What is wished left and right stands as the mean of both, and beside it each side's own.
    """
    ends = cockpit.navel_to_grip_ends
    return {
        "bar_width_mm": _value(cockpit.bar_width),
        "navel_to_bar_mm": _value(cockpit.navel_to_bar),
        "navel_to_grip_ends_mm": None if ends is None else [_value(end) for end in ends],
        "grip_tilt_deg": _value(cockpit.grip_tilt),
        "grip_sweep_deg": _value(cockpit.grip_sweep),
        "forearm_angle_deg": _value(cockpit.forearm_angle),
        "lever_angle_deg": _value(cockpit.lever_angle),
        "lever_reach_mm": _value(cockpit.lever_reach),
        "knee_angle_deg": _value(cockpit.knee_angle),
        "lean_deg": _value(cockpit.lean),
        **sides_record(cockpit),
        "foot": cockpit.foot,
        "measured_on": cockpit.measured_on,
        "gear": cockpit.gear,
    }


def practical_record(practical: Practical) -> Record:
    """The practical changes under the names of the exact ones, with what they lead to."""
    changes: Record = plain(practical.changes)
    return changes | {
        "after": plain(practical.after),
        "points_after": points_record(practical.points),
        "leave": list(practical.leave),
        "at_limit": list(practical.at_limit),
        "missed": list(practical.missed),
    }


def contact_record(contact: Contact) -> Record:
    """Room between calf and hamstring, degrees of knee flexion, at ball and mid-foot."""
    return {
        "onset_flexion_deg": plain(contact.onset_flexion_deg),
        "knee_angle_deg": plain(contact.knee_angle_deg),
        "room_deg": plain(contact.room_deg),
    }


def problem_records(problems: tuple[Problem, ...]) -> list[Record]:
    """Problems as ``{file, line, key, level, text}``."""
    names = ("file", "line", "key", "level", "text")
    return [{name: getattr(problem, name) for name in names} for problem in problems]


def body_record(body: Completed) -> Record:
    """Each dimension of ``[body]`` with ``value`` and ``sd`` (mm or kg), ``unit``, ``source``.

    ``source`` is ``measured`` or, where nobody did, ``estimated``.
    """
    return {
        name: {
            "value": plain(found.value),
            "sd": plain(found.sd),
            "unit": "kg" if BODY[name].kind == MASS else "mm",
            "source": MEASURED if found.source == MEASURED else ESTIMATED,
        }
        for name, found in body.measurements.items()
    }


def survey_record(surveyed: Surveyed) -> Record:
    """A bike's points, angles and observations; lengths mm, angles degrees."""
    return {
        "points": points_record(surveyed.points),
        "points_sd_mm": _spreads(surveyed),
        "rake_deg": _figure(surveyed.rake),
        "lever_angle_deg": {side: _figure(found) for side, found in surveyed.lever_angle.items()},
        "stand_pitch_deg": plain(surveyed.stand_pitch_deg),
        "side_lean_deg": plain(surveyed.side_lean_deg),
        "redundancy": plain(surveyed.redundancy),
        "observations": [_observation(one) for one in surveyed.observations],
    }


def _observation(one: Observation) -> Record:
    return dict(plain(one))


def _figure(figure: Figure) -> Record:
    return {
        "value": plain(figure.value),
        "sd": plain(figure.sd),
        "source": "assumed" if figure.assumed else "measured",
    }


def _spreads(surveyed: Surveyed) -> Record:
    """Standard deviation of x, y, z of each point, mm."""
    spread = np.sqrt(np.diag(surveyed.covariance)).reshape(-1, 3)
    return {name: plain(row) for name, row in zip(surveyed.names, spread, strict=True)}


def _value(reading: Reading | None) -> float | None:
    return None if reading is None else reading.value


def _without(record: Record, key: str) -> Record:
    return {name: item for name, item in record.items() if name != key}
