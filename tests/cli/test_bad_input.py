"""Bad input: one clear sentence with file, line, key and remedy, an exit code, no traceback."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from fitprofile.cli.commands import main

ROOT = Path(__file__).parents[2]


@pytest.fixture
def garage(tmp_path: Path) -> Path:
    """A copy of the demo workspace."""
    for part in ("profiles", "bikes", "shared"):
        shutil.copytree(ROOT / part, tmp_path / part)
    (tmp_path / "reports").mkdir()
    return tmp_path


def run(garage: Path, *arguments: str) -> Result:
    """One command on a workspace; anything but a clean exit is an error of ours."""
    result = CliRunner().invoke(main, [*arguments, "--workspace", str(garage)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


def replace(path: Path, old: str, new: str) -> int:
    """Put ``new`` in place of the one ``old`` in a file; the line it stands on."""
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1, (path, old)
    path.write_text(text.replace(old, new), encoding="utf-8")
    return text[: text.index(old)].count("\n") + 1


MISTAKES = {
    "unknown key": ("knee_angle = [80, 83]", "knee_angel = [80, 83]", "did you mean 'knee_angle'"),
    "wrong unit": ('biacromial_breadth = "35.2 cm"', 'biacromial_breadth = "35.2 kg"', "kg"),
    "quoted number": ('biacromial_breadth = "35.2 cm"', 'biacromial_breadth = "352"', "unit"),
    "boolean": ('biacromial_breadth = "35.2 cm"', "biacromial_breadth = true", "true"),
    "not a number": ('biacromial_breadth = "35.2 cm"', "biacromial_breadth = nan", "not a number"),
    "infinite": ('biacromial_breadth = "35.2 cm"', "biacromial_breadth = inf", "not a number"),
    "negative length": ('biacromial_breadth = "35.2 cm"', 'biacromial_breadth = "-5 cm"', "-"),
    "20 m bar": ('bar_width = "74.5 cm"', 'bar_width = "20 m"', "20"),
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_in_a_figure_is_named_with_its_line_and_remedy(
    garage: Path, mistake: str
) -> None:
    """`check` ends with 1 and prints file, line and key; a transfer refuses with the same words."""
    old, new, words = MISTAKES[mistake]
    line = replace(garage / "profiles/nela.toml", old, new)
    result = run(garage, "check")
    assert result.exit_code == 1
    found = [row for row in result.output.splitlines() if f"profiles/nela.toml:{line}:" in row]
    assert found, result.output
    assert any(words in row for row in found), found
    refused = run(garage, "transfer", "nela", "tansy", "--json")
    assert refused.exit_code == 1
    record = json.loads(refused.stdout)
    assert any(problem["line"] == line for problem in record["problems"])


def test_every_mistake_of_a_workspace_comes_at_once(garage: Path) -> None:
    """Two riders and a bike are wrong, and one `check` names all of it."""
    replace(garage / "profiles/nela.toml", 'bar_width = "74.5 cm"', 'bar_width = "20 m"')
    replace(garage / "profiles/nela.toml", 'span = "159.5 cm"', 'spam = "159.5 cm"')
    replace(garage / "profiles/torvan.toml", "schema = 1", "schema = 7")
    replace(garage / "bikes/juniper.toml", "rake = 31.5", "rake = 131.5")
    result = run(garage, "check", "--json")
    files = [problem["file"] for problem in json.loads(result.stdout)["problems"]]
    assert files.count("profiles/nela.toml") == 2
    assert {"profiles/torvan.toml", "bikes/juniper.toml"} <= set(files)


def whole_file(content: bytes) -> Callable[[Path], None]:
    """What puts these bytes in place of a file."""

    def put(path: Path) -> None:
        path.write_bytes(content)

    return put


FILES = {
    "not UTF-8": (whole_file(b'schema = 1\nname = "\xff\xfe"\n'), "UTF-8"),
    "empty": (whole_file(b""), "empty"),
    "no TOML": (whole_file(b"schema = 1\nname = \n"), "2"),
    "of the future": (whole_file(b'schema = 99\nname = "x"\n'), "99"),
    "binary": (whole_file(bytes(range(256))), "bikes/juniper.toml"),
    "missing": (Path.unlink, "juniper"),
}


@pytest.mark.parametrize("kind", FILES)
def test_a_file_that_cannot_be_read_is_said_in_one_sentence(garage: Path, kind: str) -> None:
    """Neither `check`, `show` nor `transfer` falls over a file that is no bike."""
    spoil, words = FILES[kind]
    spoil(garage / "bikes/juniper.toml")
    for command in (("check",), ("show", "juniper"), ("transfer", "nela", "juniper")):
        result = run(garage, *command)
        gone = kind == "missing"
        if gone and command == ("check",):
            continue  # a bike that was never there is no problem, save where a part names it
        assert result.exit_code == (2 if gone else 1)
        assert words in result.output


@pytest.mark.parametrize(
    "name", ["../tansy", "a/b", "it's", '"x"', "<b>bold</b>", "x" * 200, "", ".", "-x", "a b"]
)
def test_a_name_that_is_no_file_name_is_refused(garage: Path, name: str) -> None:
    """Nothing is written outside the workspace's folders, and the sentence stays short."""
    before = sorted(garage.rglob("*"))
    for command in (("new", "bike", "--", name), ("transfer", "nela", "--", name)):
        result = run_bare(garage, *command)
        assert result.exit_code == 2
        assert max(map(len, result.output.splitlines())) < 300
    assert sorted(garage.rglob("*")) == before


def run_bare(garage: Path, *arguments: str) -> Result:
    """As `run`, the workspace given before arguments that may look like options."""
    first, *rest = arguments
    result = CliRunner().invoke(main, [first, "--workspace", str(garage), *rest])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


def test_a_bike_without_a_seat_height_is_asked_for_it(garage: Path) -> None:
    """The missing measurement is named, and there is no made-up transfer."""
    replace(garage / "bikes/tansy.toml", seat_height(garage), "")
    result = run(garage, "transfer", "torvan", "tansy", "--json")
    assert result.exit_code == 1
    record = json.loads(result.stdout)
    assert record["exact"] is None
    assert any("sit point" in p["text"] and p["level"] == "error" for p in record["problems"])


def seat_height(garage: Path) -> str:
    """The line of the roadster's seat height, and every tape to the seat, for taking out."""
    text = (garage / "bikes/tansy.toml").read_text(encoding="utf-8")
    kept = [row for row in text.splitlines() if not row.startswith(('"seat-', "seat ="))]
    (garage / "bikes/tansy.toml").write_text(
        "\n".join(kept) + "\n# seat goes here\n", encoding="utf-8"
    )
    return "# seat goes here\n"


def test_arms_that_cannot_reach_leave_a_marked_gap(garage: Path) -> None:
    """The forearm angle as found is null, and a problem says how far the grips are."""
    replace(garage / "profiles/nela.toml", "lean = 12", "lean = -25")
    result = run(garage, "transfer", "nela", "sorrel", "--json")
    record = json.loads(result.stdout)
    assert result.exit_code == 0
    assert record["now"]["reachable"] is False
    assert record["now"]["forearm_angle_deg"] is None
    assert any("too far" in problem["text"] for problem in record["problems"])


def test_a_straight_bar_is_not_levelled_by_roll(garage: Path) -> None:
    """The roll is null, and a problem says that another bend would do it."""
    record = json.loads(run(garage, "transfer", "ash", "lichen", "--json").stdout)
    assert record["exact"]["bar_roll_deg"] is None
    assert any("too straight" in problem["text"] for problem in record["problems"])


def test_two_contradicting_tapes_are_named(garage: Path) -> None:
    """A span 80 mm off is questioned by name; the transfer goes on and says so."""
    path = garage / "bikes/tansy.toml"
    text = path.read_text(encoding="utf-8")
    row = next(row for row in text.splitlines() if row.startswith('"seat-grip_end"'))
    path.write_text(text.replace(row, '"seat-grip_end" = "900 mm"'), encoding="utf-8")
    record = json.loads(run(garage, "transfer", "torvan", "tansy", "--json").stdout)
    assert any(
        "seat-grip_end" in (problem["key"] or "") and problem["level"] == "warning"
        for problem in record["problems"]
    )


def test_check_sees_what_the_files_say_together(garage: Path) -> None:
    """A point that nothing fixes and a planted slip are found without asking for a transfer."""
    seat_height(garage)
    path = garage / "bikes/bracken.toml"
    text = path.read_text(encoding="utf-8")
    row = next(row for row in text.splitlines() if row.startswith('"seat-grip_end"'))
    path.write_text(text.replace(row, '"seat-grip_end" = "950 mm"'), encoding="utf-8")
    result = run(garage, "check", "--json")
    assert result.exit_code == 1
    problems = json.loads(result.stdout)["problems"]
    assert any(p["file"] == "bikes/tansy.toml" and "sit point" in p["text"] for p in problems)
    assert any("bracken" in p["file"] and p["level"] == "warning" for p in problems)
    assert len({json.dumps(p) for p in problems}) == len(problems)


def test_hostile_text_reaches_neither_html_nor_terminal_unescaped(garage: Path) -> None:
    """A name with mark-up and quotes is printed as text."""
    hostile = '<script>alert(1)</script> \\"quoted\\" & more'
    replace(garage / "profiles/nela.toml", 'name = "Nela (invented)"', f'name = "{hostile}"')
    result = run(garage, "transfer", "nela", "tansy", "--no-pdf")
    assert result.exit_code == 0
    page = next((garage / "reports").glob("*.html")).read_text(encoding="utf-8")
    assert "<script" not in page
    assert "&lt;script&gt;" in page


def test_unknown_names_are_met_with_the_known_ones(garage: Path) -> None:
    """A misspelt rider, bike or cockpit ends with 2 and a suggestion."""
    for command, hint in (
        (("transfer", "nella", "tansy"), "did you mean 'nela'"),
        (("transfer", "nela", "tanzy"), "did you mean 'tansy'"),
        (("transfer", "torvan", "tansy", "--use", "trak"), "did you mean 'track'"),
        (("compare", "nela", "tanzy"), "did you mean 'tansy'"),
        (("show", "tanzy"), "did you mean 'tansy'"),
    ):
        result = run(garage, *command)
        assert result.exit_code == 2, command
        assert hint in result.output


def test_no_workspace_is_said(tmp_path: Path) -> None:
    """Outside a workspace the remedy is to make one."""
    result = run(tmp_path, "check")
    assert result.exit_code == 2
    assert "fitprofile init" in result.output


def test_an_unknown_place_is_said_with_those_that_are_known(garage: Path) -> None:
    """The nearest one is offered."""
    tolerances = garage / "shared" / "tolerances.toml"
    tolerances.write_text('place = "Michigen"\n' + tolerances.read_text(encoding="utf-8"))
    found = run(garage, "check")
    assert found.exit_code == 1
    assert "shared/tolerances.toml:1: place: no law is known here" in found.output
    assert "did you mean 'Michigan'?" in found.output


BROKEN_SHELVES = {
    "one name twice": ('name = "Packer 10"', 'name = "Riser 20"', "Riser 20"),
    "backsweep of 95": ("backsweep = ", "backsweep = 95 # ", "95"),
    "negative width": ("width = ", "width = -5 # ", "-5"),
    "no TOML": ("[[riser]]", "[[riser", "cannot be read"),
}


@pytest.mark.parametrize("mistake", BROKEN_SHELVES)
def test_broken_shelves_are_named_and_leave_the_other_parts(garage: Path, mistake: str) -> None:
    """File, line and words; the transfer goes on without what is wrong and ends with 1."""
    old, new, words = BROKEN_SHELVES[mistake]
    parts = garage / "shared" / "parts.toml"
    parts.write_text(parts.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    before = parts.read_bytes()
    found = run(garage, "check")
    assert found.exit_code == 1
    assert re.search(r"shared/parts\.toml:\d+: ", found.output)
    assert words in found.output
    made = run(garage, "transfer", "ash", "thistle", "--json")
    record = json.loads(made.stdout)
    assert made.exit_code == 1
    assert any(plan["parts"] for plan in record["plans"]) == (mistake != "no TOML")
    assert parts.read_bytes() == before


SPOILT = {"Riser 20, 20 back": "height = ", "Low seat": "z = ", "Bar ends, 20 longer": "length = "}
"""Parts with the figure that is spoilt in each."""


def shelves(garage: Path, *, spoilt: bool) -> None:
    """The demo's catalogue with some parts spoilt, or without them."""
    path = garage / "shared" / "parts.toml"
    blocks = re.split(r"(?=^\[\[)", path.read_text(encoding="utf-8"), flags=re.MULTILINE)
    made = []
    for block in blocks:
        key = next((key for name, key in SPOILT.items() if f'name = "{name}"' in block), None)
        if key is None:
            made.append(block)
        elif spoilt:
            made.append(block.replace(key, f'{key}"3 kg" # '))
    path.write_text("".join(made), encoding="utf-8")


def test_parts_with_mistakes_count_as_if_they_were_not_there(garage: Path) -> None:
    """The same plans, prices and remedies as without them; only the problems differ."""
    found = []
    for spoilt in (True, False):
        shutil.copy(ROOT / "shared" / "parts.toml", garage / "shared" / "parts.toml")
        shelves(garage, spoilt=spoilt)
        record = json.loads(run(garage, "compare", "ash", "--json").stdout)
        found.append([one["plans"] for one in record["bikes"]])
        told = run(garage, "shopping", "ash", "--json")
        record = json.loads(told.stdout)
        assert told.exit_code == (1 if spoilt else 0)
        said = [one["text"] for one in record["problems"] if "left out" in one["text"]]
        assert len(said) == (1 if spoilt else 0)
        assert all(name in " ".join(said) for name in (SPOILT if spoilt else ()))
        found.append([record[key] for key in ("parts", "price", "minutes", "bikes")])
    assert found[:2] == found[2:]


ASKED = (
    ("transfer", "ash", "bracken"),
    ("compare", "ash", "bracken"),
    ("shopping", "ash", "bracken"),
    ("dryfit", "ash", "bracken"),
    ("swap", "bracken", "ash", "nela"),
    ("report", "ash"),
    ("transfer", "nela", "bracken", "--use", "trail"),
)


@pytest.mark.parametrize("call", ASKED, ids=" ".join)
def test_what_depends_on_the_catalogue_says_what_is_left_out(
    garage: Path, call: tuple[str, ...]
) -> None:
    """Once on the screen and once on paper, with the exit code of problems in the data."""
    shelves(garage, spoilt=True)
    made = run(garage, *call, "--no-pdf")
    told = " ".join(made.output.split())
    said = "3 parts are left out of every plan and list until they are mended"
    assert made.exit_code == 1
    assert told.count(said) == 1
    assert told.count("error: shared/parts.toml:") == 3
    for page in (garage / "reports").glob("*.html"):
        assert " ".join(page.read_text(encoding="utf-8").split()).count(said) == 1
    assert run(garage, *call, "--json").exit_code == 1


@pytest.mark.parametrize("call", ASKED, ids=" ".join)
def test_an_unreadable_catalogue_claims_nothing_of_parts(
    garage: Path, call: tuple[str, ...]
) -> None:
    """No remedy, no part that mends or does not, no price."""
    path = garage / "shared" / "parts.toml"
    path.write_text("[[riser\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    made = run(garage, *call, "--no-pdf")
    told = " ".join(made.output.split())
    assert made.exit_code == 1
    assert told.count("the catalogue is not used until this file is mended") == 1
    for words in ("mends", "listed do", "EUR", "Nothing to buy", ": cheapest, 0", "0 for 0 parts"):
        assert words not in told
    for page in (garage / "reports").glob("*.html"):
        shown = page.read_text(encoding="utf-8")
        assert "the catalogue is not used until this file is mended" in shown
        assert "no single part" not in shown
    record = json.loads(run(garage, *call, "--json").stdout)
    for bike in record.get("bikes", []):
        assert bike.get("not_mended", []) == []


PLACED = (*ASKED, ("check",), ("compare", "nela", "--use", "trail"))


@pytest.mark.parametrize("call", PLACED, ids=" ".join)
def test_a_place_that_is_not_known_is_a_problem_in_the_data(
    garage: Path, call: tuple[str, ...]
) -> None:
    """The law that was asked for cannot be looked at: text and JSON say so, and both end with 1."""
    path = garage / "shared" / "tolerances.toml"
    path.write_text('schema = 1\nplace = "Atlantis"\n', encoding="utf-8")
    options = () if call[0] == "check" else ("--no-pdf",)
    made = run(garage, *call, *options)
    assert made.exit_code == 1
    told = " ".join(made.output.split())
    assert told.count("error: shared/tolerances.toml:2: place: no law is known here") == 1
    found = run(garage, *call, "--json")
    record = json.loads(found.stdout)
    assert found.exit_code == 1
    said = [one for one in record["problems"] if one["key"] == "place"]
    assert [(one["line"], one["level"]) for one in said] == [(2, "error")]
    if call[:2] == ("transfer", "ash"):
        assert "law, Atlantis: no figure known" in told
        for plan in record["plans"]:
            (law,) = [one for one in plan["checks"] if one["what"].startswith("law")]
            assert (law["what"], law["ok"]) == ("law.Atlantis", None)


def test_a_part_that_fits_no_bike_is_only_warned_of(garage: Path) -> None:
    """It may be for a bike that is still to come."""
    parts = garage / "shared" / "parts.toml"
    text = parts.read_text(encoding="utf-8") + (
        '\n[[bar]]\nname = "Odd bar"\nwidth = 800\nrise = 50\npullback = 60\nbacksweep = 15\n'
        'clamp_diameter = 35\nfits = ["nowhere"]\n'
    )
    parts.write_text(text, encoding="utf-8")
    found = run(garage, "check")
    assert "warning: shared/parts.toml:" in found.output
    assert "there is no bike 'nowhere' here" in found.output


def test_parts_for_another_clamp_alone_still_give_an_answer(garage: Path) -> None:
    """A riser and a bar that fit each other and not the bike: a plan, and no traceback."""
    (garage / "shared" / "parts.toml").write_text(
        "schema = 1\n"
        '[[riser]]\nname = "R"\nheight = 20\nclamp_diameter = 22.2\n'
        '[[bar]]\nname = "B"\nwidth = 760\nrise = 96\npullback = 102\nbacksweep = 20\n'
        "upsweep = 4\nclamp_diameter = 22.2\nbar_diameter = 22.2\n",
        encoding="utf-8",
    )
    for rider in ("ash", "nela", "torvan"):
        found = run(garage, "compare", rider, "--json")
        assert all(bike["plans"] for bike in json.loads(found.stdout)["bikes"])


def test_a_fitted_part_that_is_not_listed_stands_on_the_transfer(garage: Path) -> None:
    """As in `check`: an error with its line, and exit code 1."""
    bike = garage / "bikes" / "thistle.toml"
    bike.write_text(
        bike.read_text(encoding="utf-8") + '\n[fitted]\nriser = "Rxx"\n', encoding="utf-8"
    )
    made = run(garage, "transfer", "ash", "thistle", "--json")
    assert made.exit_code == 1
    assert any(one["key"] == "fitted.riser" for one in json.loads(made.stdout)["problems"])


def test_a_bar_narrower_than_the_bike_takes_is_not_fitted(garage: Path) -> None:
    """Nor is a future date in the log a reason not to start."""
    bike = garage / "bikes" / "bracken.toml"
    text = bike.read_text(encoding="utf-8")
    band = re.search(r"^bar_width = \[.*$", text, re.MULTILINE)
    assert band is not None
    bike.write_text(text.replace(band.group(), "bar_width = [770, 860]"), encoding="utf-8")
    for day in ("2031-01-02", "2026-05-03"):
        added = run(garage, "record", "ash", "bracken", "--navel-to-bar", "40 cm", "--date", day)
        assert added.exit_code == 0
    made = run(garage, "transfer", "ash", "bracken", "--no-pdf")
    assert "Do not start: the clock" not in " ".join(made.output.split())
    record = json.loads(run(garage, "transfer", "ash", "bracken", "--json").stdout)
    for plan in record["plans"]:
        assert plan["after"]["bar_width_mm"] >= 770.0 - 0.5
