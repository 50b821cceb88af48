"""`verify` as people call it, and the log's part in a transfer."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from fitprofile.cli.commands import main
from fitprofile.cli.verifying import latest
from fitprofile.model.log import Entry

ROOT = Path(__file__).parents[2]


@pytest.fixture
def garage(tmp_path: Path) -> Path:
    """A copy of the demo workspace, without anybody's log."""
    for part in ("profiles", "bikes", "shared"):
        shutil.copytree(ROOT / part, tmp_path / part)
    for log in (tmp_path / "profiles").glob("*.log.toml"):
        log.unlink()
    return tmp_path


def run(garage: Path, *arguments: str) -> Result:
    """One command on a workspace."""
    return CliRunner().invoke(main, [*arguments, "--workspace", str(garage)])


def record(garage: Path, rider: str, bike: str, **told: str) -> None:
    """Add a sit-on."""
    options = [
        part for name, value in told.items() for part in (f"--{name.replace('_', '-')}", value)
    ]
    result = run(garage, "record", rider, bike, *options)
    assert result.exit_code == 0, result.output


def told(garage: Path, *arguments: str) -> dict[str, Any]:
    """What a command prints with ``--json``."""
    result = run(garage, *arguments, "--json")
    assert result.exit_code == 0, result.output
    made: dict[str, Any] = json.loads(result.stdout)
    return made


def test_without_a_measurement_after_the_work_it_says_how_to_write_one(garage: Path) -> None:
    """Exit code 1 and the command; the same in JSON. A sit-on before the work does not count."""
    record(garage, "nela", "juniper", navel_to_bar="395", date="2026-05-01")
    result = run(garage, "verify", "nela", "juniper")
    assert result.exit_code == 1
    assert "fitprofile record nela juniper --use road --when after" in result.stderr
    result = run(garage, "verify", "nela", "juniper", "--json")
    assert result.exit_code == 1
    assert "--when after" in json.loads(result.stdout)["problems"][0]["text"]


def test_a_standing_use_is_verified(garage: Path) -> None:
    """In text and JSON; its own entry has no say in the target it is held against."""
    call = ("verify", "nela", "bracken", "--use", "trail")
    assert "fitprofile record nela bracken --use trail --when after" in run(garage, *call).stderr
    before = told(garage, "transfer", "nela", "bracken", "--use", "trail")
    options = ("--use", "trail", "--when", "after", "--felt-right", "--date", "2026-05-02")
    figures = ("--grip-above-peg", "765", "--grip-ahead-of-peg", "390", "--brake-pedal", "-6")
    assert run(garage, "record", "nela", "bracken", *options, *figures).exit_code == 0
    made = told(garage, *call)
    assert (made["use"], made["posture"], made["inside"]) == ("trail", "standing", False)
    above, ahead, pedal = made["numbers"]
    assert above["target"] == before["target"]["grip_above_peg_mm"]
    assert (ahead["inside"], pedal["inside"]) == (True, True)
    assert made["left"]["riser_height_mm"] < -20.0
    text = run(garage, *call).stdout
    assert "trail, standing, after the work" in " ".join(text.split())
    assert "the hands let go without falling" in text
    now = told(garage, "transfer", "nela", "bracken", "--use", "trail")
    assert now["target"]["grip_above_peg_mm"] > above["target"] + 5.0
    notes = [p for p in now["problems"] if p["key"] == "standing.trail.grip_above_peg"]
    assert "the mean of 2 that felt right" in notes[0]["text"]
    assert notes[0]["line"]


def test_a_problem_of_the_log_is_on_the_standing_sheet_of_its_use_alone(garage: Path) -> None:
    """Another bike felt right 40 mm lower: said on every sheet of trail, on none of road."""
    figures = ("--grip-above-peg", "695", "--when", "after", "--felt-right")
    assert run(garage, "record", "nela", "sorrel", "--use", "trail", *figures).exit_code == 0
    made = told(garage, "transfer", "nela", "bracken", "--use", "trail")
    (problem,) = [p for p in made["problems"] if p["file"] == "profiles/nela.log.toml"]
    assert "is 735 mm on bracken and 695 on sorrel, 40 higher" in problem["text"]
    road = told(garage, "transfer", "nela", "bracken")
    assert not [p for p in road["problems"] if p["file"] == "profiles/nela.log.toml"]


def test_another_use_that_was_measured_is_named(garage: Path) -> None:
    """The first cockpit is asked for, the track was measured."""
    record(garage, "torvan", "sorrel", use="track", knee_angle="70", when="after")
    result = run(garage, "verify", "torvan", "sorrel")
    assert result.exit_code == 1
    assert "there is one for track: add --use track" in result.stderr
    assert run(garage, "verify", "torvan", "sorrel", "--use", "track").exit_code == 0


def test_the_latest_sit_on_after_the_work_counts(garage: Path) -> None:
    """Of two, the second; a text with a verdict and what is left."""
    for value, day in (("500", "2026-05-02"), ("360", "2026-05-03")):
        record(garage, "nela", "juniper", navel_to_bar=value, when="after", date=day)
    made = told(garage, "verify", "nela", "juniper")
    assert made["entry"]["date"] == "2026-05-03"
    (number,) = made["numbers"]
    assert number["measured"] == 360.0
    assert made["inside"] is False
    text = run(garage, "verify", "nela", "juniper").stdout
    assert "change it" in text
    assert "What is left to change:" in text


def test_a_number_is_not_held_against_a_target_that_it_helped_to_make(garage: Path) -> None:
    """Felt right and far off: the target of `verify` is that of the transfer before."""
    before = told(garage, "transfer", "nela", "juniper")["target"]["navel_to_bar_mm"]
    options = ("--navel-to-bar", "430", "--when", "after", "--felt-right")
    assert run(garage, "record", "nela", "juniper", *options).exit_code == 0
    (number,) = told(garage, "verify", "nela", "juniper")["numbers"]
    assert number["target"] == pytest.approx(before, abs=1e-9)
    now = told(garage, "transfer", "nela", "juniper")["target"]["navel_to_bar_mm"]
    assert now > before + 1.0


def test_a_sit_on_on_the_unchanged_bike_moves_its_points(garage: Path) -> None:
    """`points_adjusted` stands in the record as soon as there is one."""
    assert "points_adjusted" not in told(garage, "transfer", "nela", "juniper")
    record(garage, "nela", "juniper", navel_to_bar="395", forearm_angle="12", date="2026-05-01")
    made = told(garage, "transfer", "nela", "juniper")
    assert made["points_adjusted"]["grip_end"] != made["points"]["grip_end"]


def test_a_contradiction_is_on_the_sheet_of_its_bike_and_not_of_another_use(garage: Path) -> None:
    """Bar width 60 mm off the survey: file, line and key, once, also in `check`."""
    record(
        garage, "torvan", "sorrel", use="track", knee_angle="70", bar_width="560", date="2026-05-01"
    )
    made = told(garage, "transfer", "torvan", "sorrel", "--use", "track")
    (problem,) = [p for p in made["problems"] if p["key"] == "bar_width"]
    assert problem["file"] == "profiles/torvan.log.toml"
    assert problem["line"]
    road = told(garage, "transfer", "torvan", "sorrel", "--use", "road")
    assert not [p for p in road["problems"] if p["key"] == "bar_width"]
    assert "bar width was taped as 560 mm" in run(garage, "check").output


@pytest.mark.parametrize(
    "arguments",
    [("nobody", "juniper"), ("nela", "nothing"), ("nela", "juniper", "--use", "moon")],
)
def test_unknown_names_are_wrong_use(garage: Path, arguments: tuple[str, ...]) -> None:
    """Exit code 2."""
    assert run(garage, "verify", *arguments).exit_code == 2


def test_a_rider_that_cannot_be_read_has_no_verification(garage: Path) -> None:
    """The file's problems, exit code 1."""
    (garage / "profiles" / "nela.toml").write_text("schema = 1\n")
    result = run(garage, "verify", "nela", "juniper")
    assert result.exit_code == 1
    assert "profiles/nela.toml" in result.stderr


def test_the_last_of_the_file_is_the_latest() -> None:
    """Of this bike and use, after the work; a clock in the past changes nothing."""
    log = (
        Entry(bike="a", use="road", date="2026-05-05", when="after"),
        Entry(bike="a", use="road", date="2026-05-01", when="after"),
        Entry(bike="a", use="track", date="2026-05-06", when="after"),
        Entry(bike="a", use="road", date="2026-05-07"),
        Entry(bike="b", use="road", date="2026-05-08", when="after"),
    )
    assert latest(log, "a", "road") is log[1]
    assert latest(log, "c", "road") is None
