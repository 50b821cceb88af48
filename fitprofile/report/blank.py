"""JSON of what could not be computed: every key is there, and the problems say why it is null."""

from __future__ import annotations

from fitprofile.errors import Problem
from fitprofile.report.record import Record, problem_records

LISTS = ("limits", "plans", "missing_parts", "observations")
"""Keys that are lists, empty where there is nothing."""

TRANSFER = (
    *("rider_name", "bike_name", "steering", "handlebar", "body", "points", "now", "target"),
    *("wish", "exact", "exact_after", "practical", "limits", "levelling_turn_deg", "give_or_take"),
    *("now_give_or_take", "tolerances", "chance", "matters_most", "contact", "contact_after"),
    *("plans", "chosen_plan", "missing_parts"),
)
"""Keys of `fitprofile.report.record.transfer_record` between ``use`` and ``problems``."""

SURVEY = (
    *("points", "points_sd_mm", "rake_deg", "lever_angle_deg", "stand_pitch_deg", "side_lean_deg"),
    *("redundancy", "observations"),
)
"""Keys of `fitprofile.report.record.survey_record`."""


def blank_transfer(rider: str, bike: str, use: str | None, problems: tuple[Problem, ...]) -> Record:
    """What ``transfer --json`` prints where there is no transfer.

    ``use`` is ``None`` where nobody named one and the rider's file does not say either.
    """
    asked = {"rider": rider, "bike": bike, "use": use}
    return {**asked, **_blank(TRANSFER), "problems": problem_records(problems)}


def blank_bike(bike: str, name: str | None, problems: tuple[Problem, ...]) -> Record:
    """What ``show BIKE --json`` prints where there is no survey; ``name`` as printed, if known."""
    asked = {"bike": bike, "bike_name": name}
    return {**asked, **_blank(SURVEY), "problems": problem_records(problems)}


def blank_rider(rider: str, problems: tuple[Problem, ...]) -> Record:
    """What ``show RIDER --json`` prints where the file cannot be used."""
    empty = {"rider_name": None, "measurements": None, "male_share": None}
    return {"rider": rider, **empty, "problems": problem_records(problems)}


def _blank(keys: tuple[str, ...]) -> Record:
    return {key: [] if key in LISTS else None for key in keys}
