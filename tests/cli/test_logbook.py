"""`record` and `history` as people and scripts call them."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from fitprofile.cli.commands import main
from fitprofile.store.workspace import Workspace

ROOT = Path(__file__).parents[2]
NELA = "profiles/nela.log.toml"
DAY = ("--date", "2026-05-17")


@pytest.fixture
def garage(tmp_path: Path) -> Path:
    """A copy of the demo workspace without logs."""
    for part in ("profiles", "bikes", "shared"):
        shutil.copytree(ROOT / part, tmp_path / part, ignore=shutil.ignore_patterns("*.log.toml"))
    return tmp_path


def run(garage: Path, *arguments: str) -> Result:
    """One command on a workspace; anything but a clean exit is an error of ours."""
    result = CliRunner().invoke(main, [*arguments, "--workspace", str(garage)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def record(garage: Path, *arguments: str) -> dict[str, Any]:
    """What `record --json` prints for Nela on the juniper; it must end well."""
    result = run(garage, "record", "nela", "juniper", *DAY, "--json", *arguments)
    assert result.exit_code == 0, result.output
    made: dict[str, Any] = json.loads(result.stdout)
    return made


def test_every_option_reaches_the_log(garage: Path) -> None:
    """Repeated options are repeated readings; figures stay as they were typed."""
    made = record(
        garage,
        *("--navel-to-grip-ends", "53 cm", "53.4 cm", "--navel-to-grip-ends", "53.2 cm", "21 in"),
        *("--forearm-angle", "14", "--forearm-angle", "15 16"),
        *("--knee-angle", "88°", "--lean", "12", "--bar-width", "74.5 cm", "--grip-tilt", "-3"),
        *("--lever-angle-brake", "13", "--lever-angle-clutch", "15"),
        *("--lever-reach-brake", "54", "--lever-reach-clutch", "56 mm"),
        *("--when", "after", "--felt-right", "--tape", "alone", "--gear", "boots"),
        *("--done", "riser 20 mm", "--by", "Ash", "--notes", "dry\nand warm"),
    )
    assert made["rider"] == "nela"
    assert (made["bike"], made["use"], made["date"]) == ("juniper", "road", "2026-05-17")
    assert (made["when"], made["felt_right"], made["tape"]) == ("after", True, "alone")
    left, right = (made["navel_to_grip_ends_mm"][side] for side in ("left", "right"))
    assert (left["value"], left["count"]) == (531.0, 2)
    assert right["value"] == pytest.approx((534 + 21 * 25.4) / 2)
    assert made["forearm_angle_deg"] == {"value": 15.0, "count": 3}
    for key, value in {
        "knee_angle_deg": 88.0,
        "lean_deg": 12.0,
        "bar_width_mm": 745.0,
        "grip_tilt_deg": -3.0,
        "lever_angle_brake_deg": 13.0,
        "lever_angle_clutch_deg": 15.0,
        "lever_reach_brake_mm": 54.0,
        "lever_reach_clutch_mm": 56.0,
    }.items():
        assert made[key] == {"value": value, "count": 1}
    assert (made["gear"], made["done"], made["by"]) == ("boots", "riser 20 mm", "Ash")
    assert made["notes"] == "dry\nand warm"
    assert made["problems"] == []
    text = (garage / NELA).read_text(encoding="utf-8")
    assert 'navel_to_grip_ends = [["53 cm", "53.2 cm"], ["53.4 cm", "21 in"]]' in text
    (entry,), problems = Workspace(garage).log("nela")
    assert problems == ()
    assert entry.lever_angle_brake is not None
    assert entry.lever_angle_brake.value == 13.0


def test_left_and_right_are_taken_as_the_question_writes_them(garage: Path) -> None:
    """In braces, or as a log shows them; 14/20 is no angle, and nothing is written."""
    made = record(garage, "--lever-angle", "{ left = 14, right = 20 }", "--knee-angle", "88")
    assert made["lever_angle_deg"] == {"value": 17.0, "count": 2, "left": 14.0, "right": 20.0}
    (entry,), problems = Workspace(garage).log("nela")
    assert problems == ()
    assert entry.lever_angle is not None
    assert entry.lever_angle.sides == (14.0, 20.0)
    result = run(garage, "record", "nela", "juniper", "--lever-angle", "14/20")
    assert result.exit_code == 2
    assert "write { left = 14, right = 20 }" in " ".join(result.stderr.split())
    assert len(Workspace(garage).log("nela")[0]) == 1


def test_what_is_not_said_comes_from_the_rider(garage: Path) -> None:
    """The first cockpit, who held the tape, and today."""
    result = run(garage, "record", "nela", "juniper", "--lever-angle", "14", "--json")
    made = json.loads(result.stdout)
    assert (made["use"], made["tape"], made["foot"]) == ("road", "helper", "ball")
    assert made["date"] >= "2026-01-01"
    assert not made["felt_right"]


STOOD = ("--use", "trail", "--grip-above-peg", "73.5 cm", "--grip-ahead-of-peg", "390")


def test_a_standing_use_has_numbers_of_its_own(garage: Path) -> None:
    """Grips against the peg, hip, levers of both sides, pedals; back again from the file."""
    made = record(
        garage,
        *(*STOOD, "--hip-to-grip", "54 cm", "--hip-to-grip", "55 cm", "--brake-pedal", "-8"),
        *("--gear-lever", "12", "--lever-angle-brake", "20", "--lever-angle-clutch", "18"),
        *("--lean", "33", "--bar-width", "78 cm", "--when", "after", "--felt-right"),
    )
    assert (made["use"], made["foot"]) == ("trail", "mid-foot")
    assert made["hip_to_grip_mm"] == {"value": 545.0, "count": 2}
    for key, value in {
        "grip_above_peg_mm": 735.0,
        "grip_ahead_of_peg_mm": 390.0,
        "brake_pedal_mm": -8.0,
        "gear_lever_mm": 12.0,
        "lever_angle_brake_deg": 20.0,
        "lever_angle_clutch_deg": 18.0,
        "lean_deg": 33.0,
        "bar_width_mm": 780.0,
    }.items():
        assert made[key] == {"value": value, "count": 1}
    assert made["navel_to_bar_mm"] is None
    (entry,), problems = Workspace(garage).log("nela")
    assert problems == ()
    assert entry.brake_pedal is not None
    assert entry.brake_pedal.value == -8.0
    shown = " ".join(run(garage, "history", "nela").stdout.split())
    assert "Grips above the peg 735 mm" in shown
    assert "Brake pedal above the peg \N{MINUS SIGN}8 mm" in shown
    assert "Hip to grips 545 mm (21 7/16″, 2 readings)" in shown


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (
            ("--use", "trail", "--navel-to-bar", "500"),
            "'trail' is a standing use: it has --grip-above-peg, --grip-ahead-of-peg,",
        ),
        (
            ("--hip-to-grip", "500"),
            "--hip-to-grip: measured standing, and 'road' is a seated use: it has --navel-to-bar,",
        ),
        ((*STOOD, "--knee-angle", "90"), "--knee-angle: measured sitting"),
        (("--use", "trail"), "give at least one of --grip-above-peg, --grip-ahead-of-peg"),
    ],
)
def test_a_number_of_the_other_kind_of_use_is_refused(
    garage: Path, arguments: tuple[str, ...], words: str
) -> None:
    """With what this kind has; nothing is written."""
    result = run(garage, "record", "nela", "juniper", *arguments)
    assert result.exit_code == 2
    assert words in result.stderr
    assert not (garage / NELA).exists()


def test_a_number_of_the_other_kind_in_the_file_is_named(garage: Path) -> None:
    """With its line, as a warning: the rest of the record is used."""
    record(garage, *STOOD)
    path = garage / NELA
    path.write_bytes(path.read_bytes().replace(b"whole", b"knee_angle = 90\nwhole"))
    line = path.read_text(encoding="utf-8").splitlines().index("knee_angle = 90") + 1
    (entry,), (problem,) = Workspace(garage).log("nela")
    assert entry.grip_above_peg is not None
    assert (problem.line, problem.key, problem.level) == (line, "knee_angle", "warning")
    assert "measured sitting, and 'trail' is a standing use" in problem.text
    assert "it counts for nothing here" in problem.text


def test_when_follows_the_log(garage: Path) -> None:
    """Before until there is a record after the work on this bike; another bike begins anew."""
    assert record(garage, "--lean", "12")["when"] == "before"
    assert record(garage, "--lean", "12")["when"] == "before"
    assert record(garage, "--lean", "12", "--when", "after")["when"] == "after"
    assert record(garage, "--lean", "12")["when"] == "after"
    assert record(garage, "--lean", "12", "--when", "before")["when"] == "before"
    other = run(garage, "record", "nela", "tansy", "--lean", "12", "--json")
    assert json.loads(other.stdout)["when"] == "before"


def test_a_date_in_the_past_is_said_and_the_record_written(garage: Path) -> None:
    """On standard error, and in the record's problems, in the words of `check`; nothing is lost."""
    record(garage, "--lean", "12")
    made = record(garage, "--lean", "13", "--date", "2026-05-01")
    (problem,) = made["problems"]
    assert (problem["level"], problem["key"], problem["file"]) == ("warning", "date", NELA)
    assert problem["text"].startswith("2026-05-01 lies before 2026-05-17, the date of an earlier")
    (found,) = json.loads(run(garage, "history", "nela", "--json").stdout)["problems"]
    assert found["text"] == problem["text"]
    assert found["line"]
    assert problem["text"] in run(garage, "check").output
    assert record(garage, "--lean", "13", "--date", "2026-05-18")["problems"] == []
    assert len(Workspace(garage).log("nela")[0]) == 3


def test_a_date_in_the_future_is_said_at_once_and_blames_no_later_record(garage: Path) -> None:
    """`record` warns when it is written and as long as it stands; `check` names it alone."""
    made = record(garage, "--lean", "12", "--date", "2099-01-01")
    (problem,) = made["problems"]
    assert (problem["level"], problem["key"]) == ("warning", "date")
    assert problem["text"].startswith("2099-01-01 lies after today, ")
    told = run(garage, "record", "nela", "juniper", "--lean", "14")
    assert told.exit_code == 0
    assert "2099-01-01 lies after today" in told.stderr
    assert record(garage, "--lean", "12", "--date", "2099-01-01")["problems"][0]["line"]
    found = json.loads(run(garage, "history", "nela", "--json").stdout)
    assert [p["text"][:10] for p in found["problems"]] == ["2099-01-01"] * 2
    assert len(found["entries"]) == 3


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("nella", "juniper", "--lean", "12"), "no rider 'nella'; did you mean 'nela'?"),
        (("nela", "junper", "--lean", "12"), "no bike 'junper'; did you mean 'juniper'?"),
        (("nela", "juniper", "--lean", "12", "--use", "raod"), "'raod'; did you mean 'road'?"),
        (("nela", "juniper", "--gear", "boots"), "nothing measured was given"),
        (("nela", "juniper", "--lean", "120"), "--lean: 120 deg lies outside -30 to 80 deg"),
        (("nela", "juniper", "--bar-width", "745 kg"), "--bar-width: '745 kg' is a mass"),
        (("nela", "juniper", "--bar-width", "74 75 cm"), "--bar-width: some figures have a unit"),
        (("nela", "juniper", "--lean", "12", "--date", "soon"), "--date: the text 'soon' is no"),
        (("nela", "juniper", "--lean", "12", "--when", "later"), "'later' is not one of"),
    ],
)
def test_wrong_use_ends_with_2_and_writes_nothing(
    garage: Path, arguments: tuple[str, ...], words: str
) -> None:
    """One sentence each, with the nearest name where there is one."""
    result = run(garage, "record", *arguments)
    assert result.exit_code == 2
    assert words in result.stderr
    assert not (garage / NELA).exists()


def test_both_ways_of_one_number_are_refused(garage: Path) -> None:
    """Navel-to-bar and two tapes say the same thing twice."""
    result = run(
        garage,
        *("record", "nela", "juniper", "--navel-to-bar", "51 cm"),
        *("--navel-to-grip-ends", "53 cm", "53 cm"),
    )
    assert result.exit_code == 2
    assert "are both given: keep the one that was measured" in result.stderr
    assert not (garage / NELA).exists()


def test_a_rider_with_mistakes_is_mended_first(garage: Path) -> None:
    """And one without a cockpit has nothing that a sit-on could be of."""
    path = garage / "profiles/nela.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("stature", "statur"), encoding="utf-8")
    result = run(garage, "record", "nela", "juniper", "--lean", "12")
    assert result.exit_code == 1
    assert "did you mean 'stature'" in result.stderr
    body = text[: text.index("[cockpit.road]")]
    path.write_text(body, encoding="utf-8")
    result = run(garage, "record", "nela", "juniper", "--lean", "12")
    assert result.exit_code == 1
    assert "no riding position yet" in result.stderr


def test_a_log_that_cannot_be_written_is_said(garage: Path) -> None:
    """With the log's name and exit code 1."""
    (garage / NELA).symlink_to(garage / "gone" / "nela.log.toml")
    result = run(garage, "record", "nela", "juniper", "--lean", "12")
    assert result.exit_code == 1
    assert f"{NELA}: cannot be written: no such file or directory" in result.stderr


def test_history_shows_the_log_in_order(garage: Path) -> None:
    """All of it, or one bike's; the same in JSON."""
    record(garage, "--lean", "12")
    record(garage, "--knee-angle", "88", "--when", "after")
    run(garage, "record", "nela", "tansy", "--lean", "14", "--date", "2026-06-01")
    shown = run(garage, "history", "nela")
    assert shown.exit_code == 0
    assert shown.stdout.startswith("Nela (invented): 3 sit-ons\n")
    assert shown.stdout.index("before the work") < shown.stdout.index("after the work")
    made = json.loads(run(garage, "history", "nela", "juniper", "--json").stdout)
    assert made["rider"] == "nela"
    assert [entry["when"] for entry in made["entries"]] == ["before", "after"]
    assert made["entries"][1]["knee_angle_deg"] == {"value": 88.0, "count": 1}
    assert made["problems"] == []


def test_history_of_nothing_says_how_to_begin(garage: Path) -> None:
    """An empty log is no mistake; an unknown rider or bike is one."""
    empty = run(garage, "history", "nela", "tansy")
    assert empty.exit_code == 0
    assert "0 sit-ons" in empty.stdout
    assert "`fitprofile record nela tansy` writes the first" in empty.stdout
    assert run(garage, "history", "nella").exit_code == 2
    assert run(garage, "history", "nela", "tanzy").exit_code == 2


def test_a_broken_log_is_reported_and_the_rest_is_used(garage: Path) -> None:
    """A last record cut short is a warning; a mistake ends `history` and `check` with 1."""
    record(garage, "--lean", "12")
    record(garage, "--lean", "13")
    path = garage / NELA
    whole = path.read_bytes()
    path.write_bytes(whole[:-30])
    line = whole[: whole.rindex(b"[[sit_on]]")].count(b"\n") + 1
    shown = run(garage, "history", "nela", "--json")
    made = json.loads(shown.stdout)
    assert shown.exit_code == 0
    assert [entry["lean_deg"]["value"] for entry in made["entries"]] == [12.0]
    (problem,) = made["problems"]
    assert (problem["file"], problem["line"], problem["level"]) == (NELA, line, "warning")
    assert f"warning: {NELA}:{line}: this record is cut short" in run(garage, "check").output
    record(garage, "--lean", "14")
    path.write_bytes(path.read_bytes().replace(b"lean = 14", b"laen = 14"))
    shown = run(garage, "history", "nela")
    assert shown.exit_code == 1
    assert "1 sit-on" in shown.stdout
    assert "unknown key 'laen', did you mean 'lean'?" in shown.stderr
    assert run(garage, "check").exit_code == 1
