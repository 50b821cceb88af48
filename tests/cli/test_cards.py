"""`shopping`, `swap`, `dryfit` and `putback` as people and scripts call them."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from fitprofile.cli.cards import report_name
from fitprofile.cli.commands import main

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


def record(garage: Path, *arguments: str, code: int = 0) -> dict[str, Any]:
    """What a command prints with ``--json``; no file is written."""
    result = run(garage, *arguments, "--json")
    assert result.exit_code == code, result.output
    assert not (garage / "reports").exists()
    made: dict[str, Any] = json.loads(result.stdout)
    return made


def reports(garage: Path) -> list[str]:
    return sorted(path.name for path in (garage / "reports").iterdir())


CALLS = (
    ("shopping", "nela", "tansy", "juniper"),
    ("dryfit", "nela", "juniper"),
    ("swap", "juniper", "nela", "torvan"),
    ("putback", "bracken"),
)


NAMES = (
    "nela.road.bikes.shopping-list",
    "nela.juniper.road.dry-fit",
    "juniper.nela.torvan.road.road.swap",
    "bracken.put-back",
)


@pytest.mark.parametrize(("call", "name"), list(zip(CALLS, NAMES, strict=True)))
def test_each_writes_its_card(garage: Path, call: tuple[str, ...], name: str) -> None:
    """HTML and PDF, on the paper asked for; HTML alone where that was asked."""
    result = run(garage, *call, "--paper", "letter")
    assert result.exit_code == 0, result.output
    assert f"wrote reports/{name} (html and pdf)" in result.output
    assert reports(garage) == [f"{name}.html", f"{name}.pdf"]
    assert "size: letter" in (garage / f"reports/{name}.html").read_text("utf-8")
    assert run(garage, *call, "--no-pdf").exit_code == 0
    assert "size: A4" in (garage / f"reports/{name}.html").read_text("utf-8")


def test_a_list_over_every_bike_adds_up(garage: Path) -> None:
    """Parts, bikes and sums agree; the currency is the catalogue's."""
    made = record(garage, "shopping", "nela")
    assert (made["rider"], made["use"], made["plan"]) == ("nela", "road", None)
    assert len(made["bikes"]) == 7
    assert made["currency"] == "EUR"
    assert made["price"] == sum(one["price"] for one in made["bikes"])
    assert made["price"] == sum(one["count"] * one["price"] for one in made["parts"])
    assert sum(one["count"] for one in made["parts"]) == sum(
        len([name for name in one["parts"] if not name.startswith("without ")])
        for one in made["bikes"]
    )


def test_a_bike_named_twice_is_bought_for_once(garage: Path) -> None:
    """No part is counted twice."""
    once = record(garage, "shopping", "nela", "juniper")
    assert record(garage, "shopping", "nela", "juniper", "juniper") == once


def test_a_plan_can_be_named(garage: Path) -> None:
    """Free adjustments cost nothing."""
    made = record(garage, "shopping", "nela", "juniper", "bracken", "--plan", "free")
    assert made["price"] == 0.0
    assert {one["plan"] for one in made["bikes"]} == {"free"}
    assert record(garage, "dryfit", "nela", "bracken", "--plan", "closest")["plan"] == "closest"
    there = record(garage, "dryfit", "nela", "juniper", "--plan", "cheapest")
    assert (there["plan"], there["as_asked"]) == ("closest", False)


def test_a_swap_takes_a_use_for_each(garage: Path) -> None:
    """One for both, or one each; the same rider's two uses are a swap as well."""
    made = record(garage, "swap", "sorrel", "nela", "torvan", "--use", "road", "--use", "track")
    assert [one["use"] for one in made["riders"]] == ["road", "track"]
    made = record(garage, "swap", "sorrel", "torvan", "torvan", "--use", "road", "--use", "track")
    assert [one["rider"] for one in made["riders"]] == ["torvan", "torvan"]
    assert any(one["change"] for one in made["settings"])


def test_a_swap_needs_two_riders_and_two_uses_at_most(garage: Path) -> None:
    """Wrong use."""
    result = run(garage, "swap", "juniper", "nela", "nela")
    assert result.exit_code == 2
    assert "named twice" in result.stderr
    result = run(garage, "swap", "juniper", "nela", "torvan", *["--use", "road"] * 3)
    assert result.exit_code == 2
    assert "in their order" in result.stderr


@pytest.mark.parametrize(
    ("call", "hint"),
    [
        (("shopping", "nella"), "did you mean 'nela'?"),
        (("shopping", "nela", "junipper"), "did you mean 'juniper'?"),
        (("shopping", "nela", "--use", "raod"), "did you mean 'road'?"),
        (("shopping", "nela", "--plan", "dearest"), "'free', 'cheapest', 'quickest', 'closest'"),
        (("dryfit", "nela", "tansie"), "did you mean 'tansy'?"),
        (("dryfit", "nelo", "tansy"), "did you mean 'nela'?"),
        (("swap", "tansie", "nela", "torvan"), "did you mean 'tansy'?"),
        (("swap", "tansy", "nela", "torvann"), "did you mean 'torvan'?"),
        (("swap", "tansy", "nela", "torvan", "--use", "road", "--use", "trak"), "'track'"),
        (("putback", "braken"), "did you mean 'bracken'?"),
    ],
)
def test_names_that_are_not_known(garage: Path, call: tuple[str, ...], hint: str) -> None:
    """Exit code 2 with the nearest name, and no file."""
    result = run(garage, *call)
    assert result.exit_code == 2
    assert hint in result.stderr
    assert not (garage / "reports").exists()


def broken(garage: Path, bike: str) -> None:
    """A bike whose file cannot be used."""
    path = garage / "bikes" / f"{bike}.toml"
    path.write_text(path.read_text("utf-8").replace("[heights]", "[hights]"), "utf-8")


@pytest.mark.parametrize("call", CALLS)
def test_a_bike_that_cannot_be_used_says_why(garage: Path, call: tuple[str, ...]) -> None:
    """Exit code 1, the file and line; JSON with every key."""
    whole = record(garage, *call)
    bike = {"putback": "bracken", "shopping": "juniper"}.get(call[0], "juniper")
    broken(garage, bike)
    made = record(garage, *call, code=1)
    assert list(made) == list(whole)
    assert any(one["file"] == f"bikes/{bike}.toml" for one in made["problems"])
    result = run(garage, *call)
    assert result.exit_code == 1
    assert f"bikes/{bike}.toml" in result.output
    if call[0] == "shopping":
        assert [one["bike"] for one in made["bikes"]] == ["tansy"]
        assert "no plan" in (garage / "reports/nela.road.bikes.shopping-list.html").read_text(
            "utf-8"
        )
    else:
        assert not (garage / "reports").exists()


@pytest.mark.parametrize("call", CALLS[:3])
def test_a_rider_that_cannot_be_used_says_why(garage: Path, call: tuple[str, ...]) -> None:
    """The same for the rider's file."""
    path = garage / "profiles" / "nela.toml"
    path.write_text(path.read_text("utf-8").replace("[body]", "[boddy]"), "utf-8")
    made = record(garage, *call, code=1)
    assert any(one["file"] == "profiles/nela.toml" for one in made["problems"])
    result = run(garage, *call)
    assert result.exit_code == 1
    assert "profiles/nela.toml" in result.stderr
    assert not (garage / "reports").exists()


def test_without_a_catalogue_there_is_nothing_to_buy(garage: Path) -> None:
    """Free adjustments alone."""
    (garage / "shared/parts.toml").unlink()
    path = garage / "bikes/juniper.toml"
    path.write_text(path.read_text("utf-8").replace("[fitted]", "[fitted]\n#"), "utf-8")
    text = path.read_text("utf-8").replace('riser = "Cruiser riser 25"', "")
    path.write_text(text, "utf-8")
    made = record(garage, "shopping", "nela", "juniper")
    assert made["parts"] == []
    assert made["bikes"][0]["plan"] in {"free", "closest"}


def test_a_put_back_needs_no_rider(garage: Path) -> None:
    """A workspace with one bike and nobody in it."""
    for path in (garage / "profiles").iterdir():
        path.unlink()
    made = record(garage, "putback", "bracken")
    assert made["state"] == "stand"
    assert made["points"][0]["on_stand"]["above_floor_mm"] == pytest.approx(907.0, abs=1.0)


def test_a_bike_called_like_a_card_replaces_no_sheet(garage: Path) -> None:
    """Cards have another number of words in their names than sheets, whatever bikes are called."""
    shutil.copy(garage / "bikes/juniper.toml", garage / "bikes/bikes.toml")
    for call in (
        ("transfer", "nela", "bikes"),
        ("shopping", "nela", "bikes"),
        ("dryfit", "nela", "bikes"),
        ("putback", "bikes"),
    ):
        assert run(garage, *call, "--no-pdf").exit_code == 0
    assert len(reports(garage)) == 4


def test_names_of_cards_stay_short_enough_for_a_file() -> None:
    """The longest names there may be, and two that begin alike stay two."""
    long = "a" * 64
    first = report_name("swap", long, long, long, long, long)
    second = report_name("swap", long, long, long, long, f"{'a' * 63}b")
    assert first != second
    assert max(len(first), len(second)) < 190
    assert report_name("put-back", "bracken") == "bracken.put-back"


def test_help_names_the_commands() -> None:
    """Each with its sentence."""
    told = CliRunner().invoke(main, ["--help"]).output
    for name in ("shopping", "dryfit", "swap", "putback"):
        assert f"  {name}" in told
