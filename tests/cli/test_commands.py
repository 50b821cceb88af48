"""Commands as people and scripts call them: output, JSON contract, files, exit codes."""

from __future__ import annotations

import json
import math
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from fitprofile.cli.commands import main
from fitprofile.model.rider import BODY
from tests import contract
from tests.contract import EXACT, NUMBERS, TOP

ROOT = Path(__file__).parents[2]


@pytest.fixture
def garage(tmp_path: Path) -> Path:
    """A copy of the demo workspace."""
    for part in ("profiles", "bikes", "shared"):
        shutil.copytree(ROOT / part, tmp_path / part)
    return tmp_path


def run(garage: Path, *arguments: str) -> Result:
    """One command on a workspace."""
    return CliRunner().invoke(main, [*arguments, "--workspace", str(garage)])


def record(garage: Path, *arguments: str) -> dict[str, Any]:
    """What a command prints with ``--json``; it must end well."""
    result = run(garage, *arguments, "--json")
    assert result.exit_code == 0, result.output
    made: dict[str, Any] = json.loads(result.stdout)
    return made


@pytest.mark.parametrize(("rider", "bike"), [("nela", "juniper"), ("torvan", "sorrel")])
def test_transfer_json_has_the_contract_s_keys(garage: Path, rider: str, bike: str) -> None:
    """Every key of the contract is there for both kinds of bar, and no file is written."""
    made = record(garage, "transfer", rider, bike)
    assert set(made) >= set(TOP)
    assert set(made["body"]) == set(contract.BODY)
    assert {"seat", "peg", "clamp", "grip_end", "grip_inner"} <= set(made["points"])
    assert set(made["now"]) == set(made["target"]) == set(NUMBERS)
    assert set(made["exact"]) == set(made["give_or_take"]) == set(EXACT)
    assert set(made["practical"]) >= {*EXACT} | {"after", "leave", "at_limit"}
    assert set(made["practical"]["after"]) == set(NUMBERS)
    assert not (garage / "reports").exists()
    other = ("riser_height_mm", "clip_slide_mm")[made["handlebar"]["kind"] == "one-piece"]
    assert made["exact"][other] is None


def test_json_carries_full_precision(garage: Path) -> None:
    """Angles are not rounded: rounding to two decimals would cost 0.03 degrees elsewhere."""
    made = record(garage, "transfer", "nela", "juniper")
    assert made["exact"]["bar_roll_deg"] != round(made["exact"]["bar_roll_deg"], 4)


def test_the_bike_of_the_sit_on_needs_nothing(garage: Path) -> None:
    """Its points are adjusted, and pegs and risers stay to a hundredth of a millimetre."""
    made = record(garage, "transfer", "nela", "tansy")
    assert "points_adjusted" in made
    assert abs(made["exact"]["peg_move_mm"]["z"]) < 0.01
    assert made["now"]["knee_angle_deg"] == pytest.approx(made["target"]["knee_angle_deg"])
    assert made["now"]["navel_to_bar_mm"] == pytest.approx(made["target"]["navel_to_bar_mm"])


def test_show_lists_every_dimension_with_value_sd_and_source(garage: Path) -> None:
    """Measured values are never replaced, the others are marked estimated."""
    made = record(garage, "show", "nela")["measurements"]
    assert set(made) == set(BODY)
    assert {one["source"] for one in made.values()} == {"measured", "estimated"}
    assert made["navel_height_sitting"] == {
        "value": 213.5,
        "sd": pytest.approx(5.0 / math.sqrt(2.0)),
        "unit": "mm",
        "source": "measured",
    }
    assert all(one["sd"] >= 0.0 for one in made.values())


def test_a_rider_without_a_cockpit_is_shown_and_not_transferred(garage: Path) -> None:
    """The body is there to look at; a transfer asks for a cockpit."""
    body = '[body]\nstature = "175 cm"\nnavel_height_sitting = "22 cm"\n'
    (garage / "profiles/kim.toml").write_text(f'schema = 1\nname = "Kim"\n{body}', "utf-8")
    assert set(record(garage, "show", "kim")["measurements"]) == set(BODY)
    assert run(garage, "show", "kim").exit_code == 0
    result = run(garage, "transfer", "kim", "tansy", "--json")
    assert result.exit_code == 1
    assert any("[cockpit.road]" in p["text"] for p in json.loads(result.stdout)["problems"])
    assert run(garage, "report", "--no-pdf").exit_code == 1


def test_show_bike_has_points_and_residuals(garage: Path) -> None:
    """The survey comes with redundancy and normalised residual of each tape."""
    made = record(garage, "show", "tansy")
    assert {"points", "rake_deg", "observations", "redundancy"} <= set(made)
    assert all(abs(one["normalised"] or 0.0) < 3.29 for one in made["observations"])


def test_transfer_writes_a_sheet_and_says_where(garage: Path) -> None:
    """Without a wish for JSON the numbers are printed and the HTML is under reports/."""
    result = run(garage, "transfer", "nela", "juniper", "--no-pdf")
    assert result.exit_code == 0, result.output
    assert "Navel-to-bar" in result.output
    files = [path.name for path in (garage / "reports").iterdir()]
    assert files == ["nela.juniper.road.html"]
    assert "reports/nela.juniper.road" in result.output


def test_use_picks_the_cockpit(garage: Path) -> None:
    """The first cockpit is the default; another is asked for by name."""
    assert record(garage, "transfer", "torvan", "tansy")["use"] == "road"
    assert record(garage, "transfer", "torvan", "tansy", "--use", "track")["use"] == "track"


def test_compare_takes_some_bikes_or_all(garage: Path) -> None:
    """Bikes named are compared in one page; none named means every bike."""
    two = record(garage, "compare", "ash", "tansy", "clover")
    assert {one["bike"] for one in two["bikes"]} == {"tansy", "clover"}
    assert len(record(garage, "compare", "ash")["bikes"]) == 7
    assert two["bikes"][0]["bike"] == "tansy", "the bike of the sit-on needs least"
    result = run(garage, "compare", "ash", "--no-pdf")
    assert result.exit_code == 0, result.output
    assert (garage / "reports" / "ash.road.garage.comparison.html").exists()


def test_compare_goes_on_past_a_bad_bike(garage: Path) -> None:
    """The other bikes are compared, the bad one is named, and the exit code says so."""
    (garage / "bikes" / "tansy.toml").write_text("schema = 1\n", encoding="utf-8")
    result = run(garage, "compare", "torvan", "--json")
    assert result.exit_code == 1
    made = json.loads(result.stdout)
    assert len(made["bikes"]) == 6
    assert list(made["missing"]) == ["tansy"]
    page = run(garage, "compare", "torvan", "--no-pdf")
    assert page.exit_code == 1
    written = garage / "reports" / "torvan.road.garage.comparison.html"
    assert "tansy" in written.read_text(encoding="utf-8")


def test_a_bike_called_garage_keeps_its_sheet(garage: Path) -> None:
    """No name of a bike meets the comparison's file."""
    shutil.copy(garage / "bikes" / "tansy.toml", garage / "bikes" / "garage.toml")
    assert run(garage, "report", "ash", "--no-pdf").exit_code == 0
    names = sorted(path.name for path in (garage / "reports").iterdir())
    assert len(names) == 9
    sheet = (garage / "reports" / "ash.garage.road.html").read_text(encoding="utf-8")
    assert "Transfer sheet" in sheet


def test_a_newcomer_can_start(tmp_path: Path) -> None:
    """init, new rider, new bike: the files parse, and check lists what is still to fill in."""
    place = tmp_path / "my-garage"
    assert CliRunner().invoke(main, ["init", str(place)]).exit_code == 0
    assert run(place, "new", "rider", "kit", "--called", "Kit Example").exit_code == 0
    assert run(place, "new", "bike", "first-bike").exit_code == 0
    assert 'name = "Kit Example"' in (place / "profiles/kit.toml").read_text(encoding="utf-8")
    result = run(place, "check")
    assert result.exit_code == 1
    assert "profiles/kit.toml" in result.output
    again = run(place, "new", "bike", "first-bike")
    assert again.exit_code == 2
    assert "already" in again.output


def test_report_writes_every_sheet(garage: Path) -> None:
    """One sheet a rider and bike, one comparison a rider."""
    result = run(garage, "report", "nela", "--no-pdf")
    assert result.exit_code == 0, result.output
    names = sorted(path.name for path in (garage / "reports").iterdir())
    assert len(names) == 8
    assert "nela.road.garage.comparison.html" in names


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_prints_the_line_for_a_shell(shell: str) -> None:
    """The line asks click for that shell's completion."""
    result = CliRunner().invoke(main, ["completion", shell])
    assert f"_FITPROFILE_COMPLETE={shell}_source" in result.output


def test_no_color_is_honoured(garage: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Colour where the terminal has it, none where NO_COLOR is set (no-color.org)."""
    path = garage / "bikes" / "tansy.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("rake", "rak"), encoding="utf-8")
    call = ["check", "--workspace", str(garage)]
    assert "\x1b[" in CliRunner().invoke(main, call, color=True).output
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b[" not in CliRunner().invoke(main, call, color=True).output


def test_help_documents_the_exit_codes() -> None:
    """`--help` says what 0, 1 and 2 mean."""
    text = CliRunner().invoke(main, ["--help"]).output
    assert "0  done" in text
    assert "1  problems in the data" in text
    assert "2  wrong use" in text


def test_a_plan_is_picked_by_its_name(garage: Path) -> None:
    """On the sheet and in the text; JSON says which one is chosen."""
    result = run(garage, "transfer", "ash", "bracken", "--plan", "closest", "--no-pdf")
    assert result.exit_code == 0, result.output
    assert "What to do, closest plan: " in result.output
    page = (garage / "reports" / "ash.bracken.road.html").read_text(encoding="utf-8")
    assert "closest (this sheet)" in page
    assert record(garage, "transfer", "ash", "bracken")["chosen_plan"] == "cheapest"
    assert record(garage, "transfer", "ash", "bracken", "--plan", "free")["chosen_plan"] == "free"


def test_a_plan_that_is_not_there_is_said(garage: Path) -> None:
    """No such plan for this bike: 1, with those there are; no such name: 2; no catalogue: 1."""
    result = run(garage, "transfer", "ash", "sorrel", "--plan", "cheapest", "--no-pdf")
    assert result.exit_code == 1
    assert "no cheapest plan for sorrel" in result.stderr
    assert "there is free, closest" in result.stderr
    assert not (garage / "reports").exists()
    result = run(garage, "transfer", "ash", "sorrel", "--plan", "cheapest", "--json")
    assert result.exit_code == 1
    assert "no cheapest plan" in json.loads(result.stdout)["problems"][-1]["text"]
    assert run(garage, "transfer", "ash", "sorrel", "--plan", "dear").exit_code == 2
    (garage / "shared" / "parts.toml").unlink()
    result = run(garage, "transfer", "ash", "bracken", "--plan", "free", "--no-pdf")
    assert result.exit_code == 1
    assert "list some in shared/parts.toml" in result.stderr


def test_without_a_catalogue_the_answer_is_the_practical_one(garage: Path) -> None:
    """No plan, no part, no check."""
    (garage / "shared" / "parts.toml").unlink()
    result = run(garage, "transfer", "ash", "bracken", "--no-pdf")
    assert result.exit_code == 0, result.output
    assert "What to change, in this order:" in result.output
    assert "plan" not in result.output
    assert "Plan" not in run(garage, "compare", "ash", "bracken", "--no-pdf").output


@pytest.mark.parametrize(
    ("sort", "name", "figure"),
    [("money", "cheapest", "price"), ("time", "quickest", "minutes"), ("closeness", "closest", "")],
)
def test_bikes_are_sorted_as_asked(garage: Path, sort: str, name: str, figure: str) -> None:
    """What comes inside first, then by figure; hands out of reach last; JSON says the order."""
    made = record(garage, "compare", "ash", "--sort", sort)
    assert made["sort"] == sort
    keys: list[tuple[bool, bool, float]] = []
    for one in made["bikes"]:
        plans = {plan["name"]: plan for plan in one["plans"]}
        plan = plans.get(name) or plans["closest"]
        off = [math.inf if v is None else abs(v) for v in plan["deviations"].values()]
        value = plan[figure] if figure else max(off)
        keys.append((not plan["after"]["reachable"], not plan["inside"], value))
    assert keys == sorted(keys)
    assert record(garage, "compare", "ash")["sort"] == "work"
    assert run(garage, "compare", "ash", "--sort", "mood").exit_code == 2
