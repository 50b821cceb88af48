"""`--weigh`, and `--use` with a standing use, as people call them."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

from fitprofile.cli.commands import main
from tests.contract import TOP

ROOT = Path(__file__).parents[2]
TRACK = """
[cockpit.track]
bar_width = "73 cm"
navel_to_bar = "53.5 cm"
lever_angle = 15
knee_angle = 79
lean = 15
"""


@pytest.fixture
def garage(tmp_path: Path) -> Path:
    """A copy of the demo workspace, its first rider with a second seated use."""
    for part in ("profiles", "bikes", "shared"):
        shutil.copytree(ROOT / part, tmp_path / part)
    for log in (tmp_path / "profiles").glob("*.log.toml"):
        log.unlink()
    file = tmp_path / "profiles" / "nela.toml"
    text = file.read_text(encoding="utf-8")
    before, found, after = text.partition("[limits]")
    assert found
    file.write_text(f"{before}{TRACK}\n{found}{after}", encoding="utf-8")
    return tmp_path


def run(garage: Path, *arguments: str) -> Result:
    """One command on a workspace."""
    return CliRunner().invoke(main, [*arguments, "--workspace", str(garage)])


def told(garage: Path, *arguments: str) -> dict[str, Any]:
    """What a command prints with ``--json``."""
    result = run(garage, *arguments, "--json")
    assert result.exit_code == 0, result.output
    made: dict[str, Any] = json.loads(result.stdout)
    return made


def weighed(*pairs: str) -> list[str]:
    return [part for pair in pairs for part in ("--weigh", pair)]


def test_weights_make_plans_between_uses(garage: Path) -> None:
    """The first named is the main use; every plan shows the other; scaled weights are the same."""
    made = told(garage, "transfer", "nela", "tansy", *weighed("track=80", "road=20"))
    assert made["use"] == "track"
    assert made["weights"] == {"track": 0.8, "road": 0.2}
    assert all({"road", "trail"} == set(plan["other_uses"]) for plan in made["plans"])
    same = told(garage, "transfer", "nela", "tansy", *weighed("track=4", "road=1"))
    assert same["plans"] == made["plans"]
    percent = told(garage, "transfer", "nela", "tansy", *weighed("track=80%", "road=20%"))
    assert percent["plans"] == made["plans"]


def test_one_weight_is_that_use_alone(garage: Path) -> None:
    """No plan between: the same as ``--use``."""
    alone = told(garage, "transfer", "nela", "tansy", "--use", "track")
    one = told(garage, "transfer", "nela", "tansy", *weighed("track=3"))
    assert one["plans"] == alone["plans"]


def test_a_standing_use_has_its_say(garage: Path) -> None:
    """Half the weight to standing: the closest plan's grips come nearer to their place above."""

    def off(*pairs: str) -> float:
        made = told(garage, "transfer", "nela", "tansy", *weighed(*pairs))
        closest = next(plan for plan in made["plans"] if plan["name"] == "closest")
        found = closest["other_uses"]["trail"]
        return float(np.hypot(found["grip_above_peg"], found["grip_ahead_of_peg"]))

    assert off("road=30", "trail=70") < off("road=100") - 1.0


def test_compare_takes_weights_too(garage: Path) -> None:
    """Each bike's plans lie between the uses."""
    made = told(garage, "compare", "nela", "tansy", "lichen", *weighed("road=50", "track=50"))
    assert [bike["weights"] for bike in made["bikes"]] == [{"road": 0.5, "track": 0.5}] * 2


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (weighed("rood=3"), "no use of nela 'rood'; did you mean 'road'?"),
        (weighed("road=0"), "a weight lies above 0"),
        (weighed("road=-2"), "a weight lies above 0"),
        (weighed("road=1e9"), "goes up to 1000"),
        (weighed("road=nan"), "write a use and its weight"),
        (weighed("road"), "write a use and its weight, as in --weigh road=80"),
        (weighed("=80"), "no use of nela ''"),
        (weighed("road=1", "road=2"), "'road' has a weight already"),
        (weighed("trail=2", "road=1"), "'trail' is a standing use: name a seated one first"),
        (["--use", "track", *weighed("road=1", "track=2")], "names the main use, 'road'"),
    ],
)
def test_silly_weights_are_one_sentence(garage: Path, arguments: list[str], words: str) -> None:
    """Exit code 2, in words and as JSON; nothing is worked out."""
    for command in ("transfer", "compare"):
        result = run(garage, command, "nela", "tansy", *arguments)
        assert result.exit_code == 2
        assert words in result.stderr
        assert len(result.stderr.splitlines()) == 1
    as_json = run(garage, "transfer", "nela", "tansy", *arguments, "--json")
    assert as_json.exit_code == 2
    assert words in json.loads(as_json.stdout)["problems"][0]["text"]


def test_a_rider_that_is_not_there_is_said_before_the_weights(garage: Path) -> None:
    """The first mistake is the one to mend."""
    result = run(garage, "transfer", "nobody", "tansy", *weighed("road=1"))
    assert result.exit_code == 2
    assert "no rider 'nobody'" in result.stderr


def test_a_standing_use_has_its_own_answer(garage: Path) -> None:
    """Grips to their place above the pegs, in words, as JSON and on a sheet."""
    made = told(garage, "transfer", "nela", "tansy", "--use", "trail")
    assert made["posture"] == "standing"
    assert made["exact_after"]["grip_above_peg_mm"] == pytest.approx(735.0, abs=1e-6)
    assert made["exact"]["bar_roll_deg"] == 0.0
    assert made["now"]["navel_to_bar_mm"] is None
    assert [plan["name"] for plan in made["plans"]] == ["free", "closest"]
    for plan in made["plans"]:
        assert plan["after"]["knee_angle_deg"] is None
        assert set(plan["other_uses"]) == {"road", "track"}
    assert not any(p["key"] and p["key"].startswith("cockpit") for p in made["problems"])
    result = run(garage, "transfer", "nela", "tansy", "--use", "trail")
    assert result.exit_code == 0
    assert "Grips above the peg" in result.stdout
    assert (garage / "reports" / "nela.tansy.trail.html").exists()


def test_a_plan_of_a_standing_use_is_picked_by_name(garage: Path) -> None:
    """`--plan`; one that is not there is said, with those that are; without a shelf as well."""
    call = ("transfer", "nela", "thistle", "--use", "trail", "--no-pdf", "--plan")
    picked = run(garage, *call, "closest")
    assert picked.exit_code == 0
    assert "What to do, closest plan" in picked.stdout
    lacking = run(garage, "transfer", "nela", "tansy", "--use", "trail", "--plan", "cheapest")
    assert lacking.exit_code == 1
    assert "there is free, closest" in lacking.stderr
    (garage / "shared" / "parts.toml").unlink()
    bare = run(garage, *call[:-1])
    assert "What to change, in this order" in bare.stdout
    assert "the shop lists no parts" in run(garage, *call, "free").stderr


def test_a_standing_use_is_compared(garage: Path) -> None:
    """Least work first: the bike that it was measured on."""
    made = told(garage, "compare", "nela", "tansy", "bracken", "--use", "trail")
    assert [bike["bike"] for bike in made["bikes"]] == ["bracken", "tansy"]
    result = run(garage, "compare", "nela", "tansy", "bracken", "--use", "trail")
    assert "As found less wished" in result.stdout


def test_a_comparison_of_standing_is_sorted_as_asked_for(garage: Path) -> None:
    """What comes inside first; then by the plan's own money, time or closeness."""
    for sort, figure in (("money", "price"), ("time", "minutes")):
        made = told(garage, "compare", "nela", "--use", "trail", "--sort", sort)
        names = {"money": "cheapest", "time": "quickest"}
        picked = []
        for bike in made["bikes"]:
            plans = {plan["name"]: plan for plan in bike["plans"]}
            plan = plans.get(names[sort], plans["closest"])
            picked.append((not plan["inside"], plan[figure]))
        assert picked == sorted(picked)


def test_standing_figures_say_what_the_bike_does_not_allow(garage: Path) -> None:
    """Limits as sitting has them, each outside its band by the residual."""
    made = told(garage, "transfer", "nela", "tansy", "--use", "trail")
    assert {one["what"] for one in made["limits"]} >= {"riser_height", "riser_pullback"}
    for one in made["limits"]:
        low, high = one["allowed"]
        beyond = max(low - one["wanted"], one["wanted"] - high)
        assert abs(one["residual"]) == pytest.approx(beyond)


def test_a_bike_that_cannot_be_read_is_left_out(garage: Path) -> None:
    """Exit code 1; the others are compared; alone it is told why."""
    (garage / "bikes" / "broken.toml").write_text("schema = 1\nname = 3\n", encoding="utf-8")
    result = run(garage, "compare", "nela", "tansy", "broken", "--use", "trail", "--json")
    assert result.exit_code == 1
    made = json.loads(result.stdout)
    assert [bike["bike"] for bike in made["bikes"]] == ["tansy"]
    assert made["missing"]["broken"]
    alone = run(garage, "transfer", "nela", "broken", "--use", "trail")
    assert alone.exit_code == 1
    assert "broken.toml" in alone.stderr


@pytest.mark.parametrize("call", [("shopping", "nela"), ("swap", "tansy", "nela", "ash")])
def test_what_takes_a_seat_says_which_there_are(garage: Path, call: tuple[str, ...]) -> None:
    """In one sentence, with the command that has the parts of a stand."""
    result = run(garage, *call, "--use", "trail")
    assert result.exit_code == 2
    assert "takes a seated one: road, track" in result.stderr
    assert "fitprofile transfer nela BIKE --use trail" in result.stderr


def test_a_standing_plan_is_tried_before_money_is_spent(garage: Path) -> None:
    """Its own numbers, what to stack, and the hoses; the card has the use's name."""
    made = told(garage, "dryfit", "nela", "tansy", "--use", "trail")
    assert made["use"] == "trail"
    assert {"grip_above_peg", "grip_ahead_of_peg", "bar_width"} <= {
        one["number"] for one in made["numbers"]
    }
    assert made["trials"]
    assert made["hoses"]
    result = run(garage, "dryfit", "nela", "tansy", "--use", "trail", "--no-pdf")
    assert "trail, standing: closest" in result.stdout
    assert (garage / "reports/nela.tansy.trail.dry-fit.html").exists()


@pytest.fixture
def standing_only(garage: Path) -> Path:
    """The same, its first rider with the standing use alone."""
    file = garage / "profiles" / "nela.toml"
    text = file.read_text(encoding="utf-8")
    before, _, rest = text.partition("[cockpit.road]")
    _, found, stands = rest.partition("[standing.trail]")
    stands = stands.replace(TRACK, "")
    assert found
    file.write_text(f"{before}{found}{stands}", encoding="utf-8")
    return garage


def test_a_rider_who_never_sits_has_every_command(standing_only: Path) -> None:
    """The standing use is the first one, so nobody has to name it."""
    assert run(standing_only, "check").exit_code == 0
    assert run(standing_only, "show", "nela").exit_code == 0
    made = told(standing_only, "transfer", "nela", "tansy")
    assert (made["use"], made["posture"]) == ("trail", "standing")
    assert set(TOP) <= set(made)
    assert [p["key"] for p in made["problems"] if p["key"] == "standing"] == ["standing"]
    both = told(standing_only, "compare", "nela", "tansy", "clover")
    assert (both["use"], len(both["bikes"])) == ("trail", 2)
    assert told(standing_only, "dryfit", "nela", "tansy")["use"] == "trail"
    result = run(standing_only, "transfer", "nela", "tansy", "--plan", "free", "--no-pdf")
    assert "What to do, free plan" in result.stdout
    assert (standing_only / "reports/nela.tansy.trail.html").exists()


def test_a_rider_who_never_sits_is_reported(standing_only: Path) -> None:
    """A sheet a bike, the bikes side by side in print; one that cannot be read is an error."""
    result = run(standing_only, "report", "nela", "--no-pdf")
    assert result.exit_code == 0, result.output
    assert "As found less wished" in result.stdout
    assert len(list((standing_only / "reports").glob("nela.*.trail.html"))) == 7
    bad = standing_only / "bikes/tansy.toml"
    bad.write_text(f"what = 3\n{bad.read_text(encoding='utf-8')}", encoding="utf-8")
    result = run(standing_only, "report", "nela", "--json", "--no-pdf")
    assert result.exit_code == 1
    made = json.loads(result.stdout)
    assert len(made["sheets"]) == 6
    assert "bikes/tansy.toml" in {p["file"] for p in made["problems"] if p["level"] == "error"}
    broken = run(standing_only, "transfer", "nela", "tansy", "--json")
    assert broken.exit_code == 1
    assert set(TOP) <= set(json.loads(broken.stdout))


def test_a_rider_who_never_sits_is_verified(standing_only: Path) -> None:
    """Recorded and held against the standing target, without a use named."""
    measured = ("--grip-above-peg", "700", "--when", "after", "--tape", "helper")
    assert run(standing_only, "record", "nela", "tansy", *measured).exit_code == 0
    result = run(standing_only, "verify", "nela", "tansy")
    assert result.exit_code == 0, result.output
    assert "trail, standing, after the work" in result.stdout
    assert "Riser height" in result.stdout


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (("shopping", "nela"), 1),
        (("swap", "tansy", "nela", "ash"), 1),
        (("transfer", "nela", "tansy", "--weigh", "trail=3"), 2),
    ],
)
def test_what_takes_a_seat_says_so_to_a_rider_who_never_sits(
    standing_only: Path, call: tuple[str, ...], code: int
) -> None:
    """One sentence with the table to add."""
    result = run(standing_only, *call)
    assert result.exit_code == code
    said = [line for line in result.stderr.splitlines() if "standing ones alone" in line]
    assert len(said) == 1
    assert "add a table [cockpit.road]" in said[0]


def test_nothing_is_imported_for_riders_without_such_uses() -> None:
    """No standing table, no weights, even legs: none of these modules."""
    call = (
        "import sys, contextlib, io\n"
        "from fitprofile.cli import main\n"
        "with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):\n"
        "    main(['transfer', 'ash', 'tansy', '--json'])\n"
        "print(*sys.modules)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", call], cwd=ROOT, capture_output=True, text=True, check=True
    )
    names = (
        *("stages.stance", "stages.standing", "stages.standing_moves", "stages.uses"),
        *("stages.standing_wish", "stages.verify_standing"),
        *("stages.each_side", "report.use_record", "report.uses", "cli.uses"),
    )
    assert not {f"fitprofile.{name}" for name in names} & set(ran.stdout.split())
