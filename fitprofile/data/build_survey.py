"""Builds ``survey.json`` from a survey's table of persons; never imported by the tool.

``python -m fitprofile.data.build_survey SURVEY.csv > survey.json``. The CSV has one row a person
under the column names of the public ANSUR II table: millimetres, weight as ``weightkg`` in
kilograms, ``sex`` as ``female`` or ``male``.
"""

from __future__ import annotations

import csv
import json
import re
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

SOURCE = (
    "C. C. Gordon et al., 2012 Anthropometric Survey of U.S. Army Personnel: Methods and Summary"
    " Statistics, NATICK/TR-15/007, December 2014; approved for public release"
)

COLUMNS: Mapping[str, str] = {
    "weight": "weightkg",
    "stature": "stature",
    "sitting_height": "sittingheight",
    "span": "span",
    "navel_height_sitting": "waistheightomphalion",
    "acromial_height_sitting": "acromialheight",
    "biacromial_breadth": "biacromialbreadth",
    "bideltoid_breadth": "bideltoidbreadth",
    "shoulder_elbow_length": "shoulderelbowlength",
    "forearm_grip_length": "forearmcenterofgriplength",
    "forearm_hand_length": "forearmhandlength",
    "hand_length": "handlength",
    "hand_breadth": "handbreadth",
    "abdominal_depth_sitting": "abdominalextensiondepthsitting",
    "hip_breadth_sitting": "hipbreadthsitting",
    "buttock_knee_length": "buttockkneelength",
    "knee_height_sitting": "kneeheightsitting",
    "ankle_height": "lateralmalleolusheight",
    "inseam": "crotchheight",
    "foot_length": "footlength",
    "ball_of_foot_length": "balloffootlength",
    "calf_circumference": "calfcircumference",
    "lower_thigh_circumference": "lowerthighcircumference",
}
"""Survey column of each body dimension, in the order of all vectors."""

FROM_STANDING = ("navel_height_sitting", "acromial_height_sitting")
"""Measured standing in the survey; sitting = standing - stature + sitting height. They replace
their sources, or the covariance would be singular."""

RATIOS = (
    ("span", "stature"),
    ("sitting_height", "stature"),
    ("acromial_height_sitting", "sitting_height"),
    ("navel_height_sitting", "sitting_height"),
    ("inseam", "stature"),
    ("knee_height_sitting", "stature"),
    ("buttock_knee_length", "stature"),
    ("foot_length", "stature"),
    ("ball_of_foot_length", "foot_length"),
    ("biacromial_breadth", "stature"),
    ("biacromial_breadth", "bideltoid_breadth"),
    ("shoulder_elbow_length", "stature"),
    ("forearm_grip_length", "stature"),
    ("forearm_grip_length", "forearm_hand_length"),
    ("hand_length", "stature"),
)
"""Ratios that catch a wrong unit or a typing error better than the lengths themselves."""

PERCENTILES = (0.1, 99.9)
RATIO_STEP = 0.001
SEXES = ("female", "male")

Floats = NDArray[np.float64]


def body_rows(rows: Iterable[Mapping[str, str]]) -> tuple[Floats, NDArray[np.bool_]]:
    """Bodies (persons, dimensions) float, mm or kg, and which of them are men (persons) bool."""
    people = list(rows)
    bodies = np.array([[float(row[column]) for column in COLUMNS.values()] for row in people])
    at = {name: index for index, name in enumerate(COLUMNS)}
    above_seat = bodies[:, at["sitting_height"]] - bodies[:, at["stature"]]
    for name in FROM_STANDING:
        bodies[:, at[name]] += above_seat
    return bodies, np.array([row["sex"] == "male" for row in people])


def moments(bodies: Floats) -> dict[str, Any]:
    """Count, mean and lower triangle of the covariance, rounded far below a tape's error."""
    covariance = np.cov(bodies, rowvar=False)
    return {
        "count": len(bodies),
        "mean": [round(value, 3) for value in bodies.mean(axis=0).tolist()],
        "covariance": [
            [round(value, 3) for value in row[: index + 1]]
            for index, row in enumerate(covariance.tolist())
        ],
    }


def outward(values: Floats, step: float) -> list[float]:
    """The percentiles of ``values`` (persons) float, rounded outward to whole steps."""
    low, high = np.percentile(values, PERCENTILES)
    digits = max(0, round(-np.log10(step)))
    ends = np.floor(low / step) * step, np.ceil(high / step) * step
    return [round(float(end), digits) for end in ends]


def survey(rows: Iterable[Mapping[str, str]]) -> dict[str, Any]:
    """The table that `fitprofile.data.survey_table` gives back."""
    bodies, men = body_rows(rows)
    columns = dict(zip(COLUMNS, bodies.T, strict=True))
    return {
        "source": SOURCE,
        "names": list(COLUMNS),
        "sexes": {
            sex: moments(bodies[chosen]) for sex, chosen in zip(SEXES, (~men, men), strict=True)
        },
        "ranges": {name: outward(values, 1.0) for name, values in columns.items()},
        "ratios": [
            [above, below, *outward(columns[above] / columns[below], RATIO_STEP)]
            for above, below in RATIOS
        ],
    }


def one_line_a_list(text: str) -> str:
    """The same JSON with each innermost list on a line of its own, so that changes are readable."""
    return re.sub(r"\[[^\[\]{}]*\]", lambda found: json.dumps(json.loads(found.group())), text)


def main(path: str) -> None:
    """Write the table made from the CSV at ``path`` to standard output."""
    with Path(path).open(newline="", encoding="utf-8") as file:
        table = survey(csv.DictReader(file))
    sys.stdout.write(one_line_a_list(json.dumps(table, indent=1)) + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
