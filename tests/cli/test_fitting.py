"""Parts named in a record: read as the catalogue spells them, taken from a plan, used by verify."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fitprofile.cli.fitting import done_by_plan, read_names
from fitprofile.cli.record_options import PLAN_NAMES
from fitprofile.stages import plan
from fitprofile.store.workspace import Workspace
from tests.cli.test_verifying import garage, run, told

__all__ = ["garage"]  # a fixture

DONE = {
    "ash bracken": "cheapest",  # riser and bar
    "ash sorrel": "closest",  # clip-ons
    "nela bracken": "closest",  # a bar rolled far from the old one's tilt
    "torvan thistle": "closest",  # a bar of another bend
}
"""Demo rider and bike, and the plan that is carried out."""

READ = (
    *("bar_width_mm", "navel_to_bar_mm", "forearm_angle_deg", "knee_angle_deg"),
    *("grip_tilt_deg", "grip_sweep_deg"),
)
"""What is measured after the work, by the keys of a plan's own numbers; levers apart."""


def test_plans_are_called_as_everywhere() -> None:
    """The names of the options are those of the search."""
    assert PLAN_NAMES == plan.PLAN_NAMES


def test_names_are_read_as_the_catalogue_spells_them(garage: Path) -> None:
    """Capitals do not count, semicolons part, none is none, and a name said twice is one."""
    workspace = Workspace(garage)
    texts = ("riser 20; ROADSTER bar 745", "Riser 20", "without riser 20")
    names, wrong = read_names(workspace, "ash", "bracken", texts)
    assert names == ["Riser 20", "Roadster bar 745", "without Riser 20"]
    assert wrong == ()
    _, (both,) = read_names(workspace, "ash", "bracken", ("Riser 20", "none"))
    assert "name the parts, or none alone" in both
    assert read_names(workspace, "ash", "bracken", ("None",)) == ([], ())


def test_a_name_that_is_not_listed_says_which_is_near(garage: Path) -> None:
    """All of them at once; a part for the other kind of bar as well."""
    workspace = Workspace(garage)
    _, wrong = read_names(workspace, "ash", "bracken", ("Riser 21; Clip-ons, 20 up",))
    assert wrong[0] == "there is no part 'Riser 21' in shared/parts.toml, did you mean 'Riser 20'?"
    assert "is for a clip-on bar and handlebar.kind of bracken is one-piece" in wrong[1]
    (garage / "shared/parts.toml").write_text("schema = 1\n[[riser\n")
    workspace = Workspace(garage)
    assert "cannot be read" in read_names(workspace, "ash", "bracken", ("Riser 20",))[1][0]
    assert read_names(workspace, "ash", "bracken", ("none",)) == ([], ())


def test_a_plan_that_is_not_there_is_said(garage: Path) -> None:
    """Nothing is written."""
    result = run(garage, "record", "ash", "sorrel", "--plan", "cheapest", "--bar-width", "700")
    assert result.exit_code == 2
    assert "--plan: no cheapest plan for sorrel" in result.stderr
    assert not (garage / "profiles/ash.log.toml").exists()
    done = done_by_plan(Workspace(garage), "ash", "sorrel", "road", "closest")
    assert (len(done.parts) > 0, done.problems) == (True, ())


def test_parts_are_fitted_in_the_work(garage: Path) -> None:
    """A record with parts is one after it; said to be before, it is refused."""
    result = run(garage, "record", "ash", "bracken", "--fitted", "Riser 20", "--knee-angle", "80")
    assert result.exit_code == 0, result.output
    assert "after the work" in result.stdout
    assert "parts of the work: Riser 20" in result.stdout
    call = ("record", "ash", "bracken", "--fitted", "none", "--knee-angle", "80")
    result = run(garage, *call, "--when", "before")
    assert result.exit_code == 2
    assert "--fitted: parts are fitted in the work" in result.stderr
    assert told(garage, *call, "--when", "after")["fitted"] == []
    shown = told(garage, "history", "ash")["entries"]
    assert [entry["fitted"] for entry in shown] == [["Riser 20"], []]


@pytest.mark.parametrize("pair", sorted(DONE))
def test_a_plan_carried_out_as_written_is_what_verify_finds(garage: Path, pair: str) -> None:
    """Its own numbers measured: outside are those that the plan leaves outside, and no other.

    No warning that the bar was rolled or the arms are too short, and no perch pinned to a new bar.
    """
    rider, bike = pair.split()
    transfer = told(garage, "transfer", rider, bike)
    (done,) = [one for one in transfer["plans"] if one["name"] == DONE[pair]]
    options = ["--plan", DONE[pair]]
    after = done["after"]
    figures = {name: after[name] for name in READ}
    for part in ("lever_angle_deg", "lever_reach_mm"):
        figures |= {f"{part}_{side}": after[part][side] for side in ("brake", "clutch")}
    for name, value in figures.items():
        if value is not None:
            option = name.replace("_mm", "").replace("_deg", "").replace("_", "-")
            options += [f"--{option}", f"{value:.3f}"]
    result = run(garage, "record", rider, bike, *options)
    assert result.exit_code == 0, result.output
    result = run(garage, "verify", rider, bike, "--json")
    found = json.loads(result.stdout)
    outside = {one["number"] for one in found["numbers"] if one["inside"] is False}
    planned = {name for name, off in done["deviations"].items() if abs(off) > 1.001}
    assert outside <= planned
    assert found["fitted"] == done["parts"]
    own = [p for p in found["problems"] if p["file"] == f"profiles/{rider}.log.toml"]
    assert not [p for p in own if p["level"] != "note"]
    assert "grips are still" not in result.stdout
    if any("bar" in part or "lip-ons" in part for part in done["parts"]):
        assert "pinned" not in json.dumps(found["limits"])


def test_work_that_the_bikes_file_does_not_know_is_said_before_parts_are_bought(
    garage: Path,
) -> None:
    """On the list, in a comparison and by `check`, until the bike is taped again with its date."""
    call = ("record", "ash", "bracken", "--plan", "cheapest", "--knee-angle", "84")
    assert run(garage, *call, "--date", "2026-06-01").exit_code == 0
    said = "Riser 20, 20 back; Roadster bar 745: the work on bracken after it was taped"
    for command in (
        ("shopping", "ash", "bracken", "--no-pdf"),
        ("compare", "ash", "bracken", "tansy", "--no-pdf"),
        ("transfer", "ash", "bracken", "--no-pdf"),
        ("check",),
    ):
        result = run(garage, *command)
        assert said in " ".join((result.stdout + result.stderr).split()), command
    bike = garage / "bikes/bracken.toml"
    lines = bike.read_text().splitlines()
    lines = [line for line in lines if not line.startswith("date")]
    first = next(i for i, line in enumerate(lines) if line.startswith("name"))
    bike.write_text("\n".join([*lines[:first], "date = 2026-07-01", *lines[first:]]))
    assert said not in run(garage, "check").stderr


def test_a_part_that_is_no_longer_listed_is_said_at_its_line(garage: Path) -> None:
    """A warning of the log; the record goes on counting, as if no part had been named."""
    call = ("--fitted", "Riser 20", "--navel-to-bar", "430", "--forearm-angle", "14")
    assert run(garage, "record", "ash", "bracken", *call).exit_code == 0
    parts = garage / "shared/parts.toml"
    parts.write_text(parts.read_text().replace('"Riser 20"', '"Riser 20, renamed"'))
    found = told(garage, "verify", "ash", "bracken")
    assert found["fitted"] is None
    (said,) = [
        p["text"] for p in found["problems"] if p["key"] == "fitted" and p["level"] != "note"
    ]
    assert "there is no part 'Riser 20'" in said
    assert run(garage, "check").exit_code == 1
