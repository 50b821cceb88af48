"""The shipped survey figures, and the script that makes them from a table of persons."""

from __future__ import annotations

import csv
import json
import statistics
import tomllib
from pathlib import Path

import numpy as np
import pytest

from fitprofile.data import survey_table
from fitprofile.data.build_survey import COLUMNS, RATIOS, main, survey
from fitprofile.model.rider import BODY

REFERENCES = Path(__file__).parents[1] / "references"


def persons() -> list[dict[str, str]]:
    """Twelve invented persons, every column another number."""
    rng = np.random.default_rng(5)
    columns = dict.fromkeys(COLUMNS.values())
    people = []
    for number in range(12):
        person = {column: str(rng.integers(200, 900)) for column in columns}
        people.append({"sex": ("female", "male")[number % 2], **person})
    return people


def test_moments_are_those_of_the_persons() -> None:
    """Counts, means and covariances are what Python's statistics module gets."""
    people = persons()
    table = survey(people)
    place = {name: index for index, name in enumerate(table["names"])}
    for sex in ("female", "male"):
        chosen = [person for person in people if person["sex"] == sex]
        hands = [float(person["handlength"]) for person in chosen]
        feet = [float(person["footlength"]) for person in chosen]
        moments = table["sexes"][sex]
        assert moments["count"] == 6
        assert moments["mean"][place["hand_length"]] == pytest.approx(
            statistics.mean(hands), abs=1e-3
        )
        row, column = place["foot_length"], place["hand_length"]
        assert moments["covariance"][row][column] == pytest.approx(
            statistics.covariance(hands, feet), abs=1e-3
        )
        assert [len(line) for line in moments["covariance"]] == list(range(1, len(place) + 1))


def test_heights_above_the_seat_come_from_standing_ones() -> None:
    """Navel above the seat is navel height less stature plus sitting height."""
    people = persons()
    table = survey(people)
    above = [
        float(p["waistheightomphalion"]) - float(p["stature"]) + float(p["sittingheight"])
        for p in people
        if p["sex"] == "female"
    ]
    mean = table["sexes"]["female"]["mean"][table["names"].index("navel_height_sitting")]
    assert mean == pytest.approx(statistics.mean(above), abs=1e-3)


def test_ranges_are_rounded_outward() -> None:
    """Both ends are whole millimetres or thousandths and never tighter than the percentiles."""
    people = persons()
    table = survey(people)
    spans = np.array([float(person["span"]) for person in people])
    low, high = table["ranges"]["span"]
    assert low <= np.percentile(spans, 0.1) < low + 1.0
    assert high >= np.percentile(spans, 99.9) > high - 1.0
    ratios = spans / np.array([float(person["stature"]) for person in people])
    above, below, low, high = table["ratios"][0]
    assert (above, below) == ("span", "stature")
    assert low <= np.percentile(ratios, 0.1) < low + 0.00101
    assert high >= np.percentile(ratios, 99.9) > high - 0.00101


def test_script_writes_what_it_computes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The text on standard output is JSON that reads back as the table."""
    people = persons()
    path = tmp_path / "people.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(people[0]))
        writer.writeheader()
        writer.writerows(people)
    main(str(path))
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(survey(people)))


def test_shipped_table_knows_every_dimension_but_the_sole() -> None:
    """The shipped names are the body dimensions of a rider, and each has a range."""
    table = survey_table()
    assert set(table["names"]) == set(BODY) - {"sole"}
    assert table["ranges"].keys() == set(table["names"])
    assert [tuple(ratio[:2]) for ratio in table["ratios"]] == list(RATIOS)
    assert all(low < high for low, high in table["ranges"].values())


def test_shipped_means_are_those_of_the_whole_survey() -> None:
    """A random half has the means of all 6,068 persons within four standard errors."""
    reference = tomllib.loads((REFERENCES / "army_survey_2012.toml").read_text("utf-8"))
    table = survey_table()
    for name, expected in reference["means"].items():
        place = table["names"].index(name)
        for sex, whole in zip(("female", "male"), expected, strict=True):
            half = table["sexes"][sex]
            error = np.sqrt(half["covariance"][place][place] / half["count"])
            assert half["mean"][place] == pytest.approx(whole, abs=4.0 * error + 0.5), (name, sex)
            assert half["count"] < reference["counts"][sex]
