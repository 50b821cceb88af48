"""JSON of every command: with an answer, with none, and where the call itself is wrong."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from fitprofile.cli.commands import main
from tests.contract import TOP

ROOT = Path(__file__).parents[2]


@pytest.fixture
def garage(tmp_path: Path) -> Path:
    """A copy of the demo workspace."""
    for part in ("profiles", "bikes", "shared"):
        shutil.copytree(ROOT / part, tmp_path / part)
    return tmp_path


def run(*arguments: str) -> Result:
    """One command; anything but a clean exit is an error of ours."""
    result = CliRunner().invoke(main, list(arguments))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def at(garage: Path, *arguments: str) -> Result:
    return run(*arguments, "--workspace", str(garage))


def replace(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")


@pytest.mark.parametrize("name", sorted(main.commands))
def test_every_command_takes_json(name: str) -> None:
    """Nothing that a person can ask is out of a script's reach."""
    options = [one for p in main.commands[name].params for one in p.opts]
    assert "--json" in options


def test_init_and_new_say_what_they_made(tmp_path: Path) -> None:
    """Paths that are there, and problems; a second `new` of a name is a wrong use."""
    root = tmp_path / "garage"
    result = run("init", str(root), "--json")
    made = json.loads(result.stdout)
    assert (result.exit_code, made["problems"]) == (0, [])
    assert str(root / "profiles") in made["made"]
    assert all(Path(path).exists() for path in made["made"])
    result = at(root, "new", "rider", "kim", "--json")
    assert (result.exit_code, json.loads(result.stdout)["problems"]) == (0, [])
    assert [Path(path).name for path in json.loads(result.stdout)["made"]] == ["kim.toml"]
    result = at(root, "new", "rider", "kim", "--json")
    again = json.loads(result.stdout)
    assert (result.exit_code, again["made"]) == (2, [])
    assert "is there already" in again["problems"][0]["text"]
    assert "is there already" in result.stderr


def test_report_lists_the_sheets_it_wrote(garage: Path) -> None:
    """Each is there, and nothing but JSON stands on standard output."""
    result = at(garage, "report", "nela", "--no-pdf", "--json")
    made = json.loads(result.stdout)
    assert result.exit_code == 0
    assert len(made["sheets"]) == 8
    assert all((garage / path).is_file() for path in made["sheets"])
    assert {"level", "text"} <= set(made["problems"][0])


def test_completion_gives_the_line() -> None:
    """With the shell it is for."""
    made = json.loads(run("completion", "fish", "--json").stdout)
    assert made == {"shell": "fish", "line": "_FITPROFILE_COMPLETE=fish_source fitprofile | source"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("transfer", "nella", "tansy"), "did you mean 'nela'"),
        (("transfer", "nela", "tanzy"), "did you mean 'tansy'"),
        (("transfer", "torvan", "tansy", "--use", "trak"), "did you mean 'track'"),
        (("compare", "nella"), "did you mean 'nela'"),
        (("report", "nella"), "did you mean 'nela'"),
        (("show", "tanzy"), "did you mean 'tansy'"),
        (("verify", "nella", "tansy"), "did you mean 'nela'"),
        (("history", "nella"), "did you mean 'nela'"),
        (("record", "nela", "tansy"), "nothing measured was given"),
        (("record", "nela", "tansy", "--lean", "x"), "--lean"),
        (("show",), "Missing argument"),
        (("check", "--nots"), "--nots"),
        (("transfr", "nela", "tansy"), "transfr"),
    ],
)
def test_a_wrong_use_is_json_too_and_text_on_standard_error(
    garage: Path, arguments: tuple[str, ...], words: str
) -> None:
    """What this tool finds, and what click finds before it."""
    result = at(garage, *arguments, "--json")
    assert result.exit_code == 2
    (problem,) = json.loads(result.stdout)["problems"]
    assert words in problem["text"] or words in str(problem["key"])
    assert words in result.stderr
    plain = at(garage, *arguments)
    assert (plain.exit_code, plain.stdout) == (2, "")


def test_no_workspace_is_json_too(tmp_path: Path) -> None:
    """The remedy in both."""
    result = at(tmp_path, "check", "--json")
    assert result.exit_code == 2
    assert "fitprofile init" in json.loads(result.stdout)["problems"][0]["text"]
    assert "fitprofile init" in result.stderr


def spoilt(garage: Path, *arguments: str, of: str = "bikes/tansy.toml") -> dict[str, Any]:
    """What a command prints on a workspace with a file that cannot be used."""
    (garage / of).write_text("schema = 1\nname = \n", encoding="utf-8")
    result = at(garage, *arguments, "--json")
    assert result.exit_code == 1
    made: dict[str, Any] = json.loads(result.stdout)
    assert any(p["file"] == of and p["level"] == "error" for p in made["problems"])
    return made


@pytest.mark.parametrize("of", ["bikes/juniper.toml", "profiles/nela.toml"])
def test_a_transfer_that_cannot_be_has_every_key(garage: Path, of: str) -> None:
    """Null beside the problems that say why; lists are empty."""
    whole = json.loads(at(garage, "transfer", "nela", "juniper", "--json").stdout)
    made = spoilt(garage, "transfer", "nela", "juniper", of=of)
    assert set(made) >= set(TOP)
    assert set(made) <= set(whole)
    asked = {"rider", "bike", "use", "problems"}
    assert all(not value for key, value in made.items() if key not in asked)
    assert (made["limits"], made["plans"], made["exact"]) == ([], [], None)
    assert made["use"] == ("road" if of.startswith("bikes") else None)


def test_show_of_a_file_that_cannot_be_used_has_every_key(garage: Path) -> None:
    """A bike's survey and a rider's body."""
    for name, of in (("tansy", "bikes/tansy.toml"), ("nela", "profiles/nela.toml")):
        whole = json.loads(at(garage, "show", name, "--json").stdout)
        made = spoilt(garage, "show", name, of=of)
        assert set(made) == set(whole)
        assert all(not v for k, v in made.items() if k not in ("rider", "bike", "problems"))


def test_compare_says_its_use_and_all_problems(garage: Path) -> None:
    """Of the rider, and of the bike that is left out; with no rider there is no bike."""
    whole = json.loads(at(garage, "compare", "torvan", "--use", "track", "--json").stdout)
    assert (whole["use"], len(whole["bikes"])) == ("track", 7)
    made = spoilt(garage, "compare", "nela")
    assert (made["use"], list(made["missing"])) == ("road", ["tansy"])
    none = spoilt(garage, "compare", "nela", of="profiles/nela.toml")
    assert set(none) == set(whole)
    assert (none["bikes"], none["missing"]) == ([], {})


def test_check_ends_with_1_where_there_is_anything_to_look_at(garage: Path) -> None:
    """A warning too: to find them is what it is for. The demo has none; notes are no problem."""
    clean = at(garage, "check", "--json")
    assert clean.exit_code == 0
    assert {p["level"] for p in json.loads(clean.stdout)["problems"]} <= {"note"}
    path = garage / "bikes/tansy.toml"
    row = next(r for r in path.read_text("utf-8").splitlines() if r.startswith('"seat-grip_end"'))
    replace(path, row, '"seat-grip_end" = "900 mm"')
    result = at(garage, "check", "--json")
    assert result.exit_code == 1
    assert {p["level"] for p in json.loads(result.stdout)["problems"]} == {"warning", "note"}
    assert at(garage, "transfer", "torvan", "tansy", "--json").exit_code == 0
    assert at(garage, "compare", "torvan", "--json").exit_code == 0


def test_contradicting_readings_are_named_with_file_and_line(garage: Path) -> None:
    """Of a rider's body and cockpit; the transfer goes on."""
    path = garage / "profiles/nela.toml"
    text = path.read_text("utf-8").splitlines()
    for at_line, row in enumerate(text):
        if row.startswith("stature"):
            text[at_line], body = "stature = [1790, 1200]", at_line + 1
        if row.startswith("knee_angle = [8"):
            text[at_line], knee = "knee_angle = [60, 120]", at_line + 1
    path.write_text("\n".join(text), encoding="utf-8")
    problems = json.loads(at(garage, "check", "--json").stdout)["problems"]
    found = {p["key"]: p for p in problems if " apart, more than " in p["text"]}
    assert set(found) == {"body.stature", "cockpit.road.knee_angle"}
    assert found["body.stature"]["line"] == body
    assert found["cockpit.road.knee_angle"]["line"] == knee
    assert "590 mm apart" in found["body.stature"]["text"]
    assert "60 degrees apart" in found["cockpit.road.knee_angle"]["text"]
    assert not [p for p in problems if p["key"] == "body.stature" and p not in found.values()]


def test_a_rider_without_a_cockpit_is_told_once_with_a_line(garage: Path) -> None:
    """By check and by transfer."""
    body = '[body]\nstature = "175 cm"\nnavel_height_sitting = "22 cm"\n'
    (garage / "profiles/kim.toml").write_text(f'schema = 1\nname = "Kim"\n{body}', "utf-8")
    for command in (("check",), ("transfer", "kim", "tansy")):
        result = at(garage, *command, "--json")
        mine = [p for p in json.loads(result.stdout)["problems"] if "kim" in (p["file"] or "")]
        assert (result.exit_code, len(mine), mine[0]["line"]) == (1, 1, 1), mine
        assert "[cockpit.road]" in mine[0]["text"]


def test_a_bike_that_is_not_there_is_told_once(garage: Path) -> None:
    """The error says so; that the numbers count as memory until then is no second sentence."""
    path = garage / "profiles/nela.toml"
    replace(path, 'measured_on = "tansy"', 'measured_on = "nope"')
    for command in (("check",), ("transfer", "nela", "juniper")):
        problems = json.loads(at(garage, *command, "--json").stdout)["problems"]
        (mine,) = [p for p in problems if p["key"] == "cockpit.road.measured_on"]
        assert mine["level"] == "error"


def test_a_name_of_both_kinds_is_asked_about(garage: Path) -> None:
    """`--kind` tells them apart, and is not needed elsewhere."""
    shutil.copy(garage / "bikes/tansy.toml", garage / "bikes/nela.toml")
    result = at(garage, "show", "nela", "--json")
    assert result.exit_code == 2
    assert "--kind" in json.loads(result.stdout)["problems"][0]["text"]
    assert "points" in json.loads(at(garage, "show", "nela", "--kind", "bike", "--json").stdout)
    rider = json.loads(at(garage, "show", "nela", "--kind", "rider", "--json").stdout)
    assert "measurements" in rider
    assert at(garage, "show", "tansy", "--kind", "bike").exit_code == 0
    assert at(garage, "show", "tansy", "--kind", "rider").exit_code == 2


def test_an_empty_shared_file_is_told_what_writes_it(garage: Path) -> None:
    """`init` makes those of shared/, `new` a rider's and a bike's."""
    for name, command in (("shared/tolerances.toml", "init"), ("bikes/tansy.toml", "new")):
        (garage / name).write_text("", encoding="utf-8")
        problems = json.loads(at(garage, "check", "--json").stdout)["problems"]
        (mine,) = [p for p in problems if p["file"] == name]
        assert f"`fitprofile {command}`" in mine["text"]


def test_help_says_how_check_counts() -> None:
    """The exit codes stand under every help."""
    text = click.unstyle(run("--help").stdout)
    assert "`check` counts warnings as problems" in text
