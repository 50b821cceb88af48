"""A whole workspace: what comes out of right files, wrong files, and files changed at random."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from fitprofile.errors import ERROR, WARNING, Problem, has_errors
from fitprofile.model.parts import Catalogue
from fitprofile.model.shop import SPREADS, TOLERANCES
from fitprofile.store.parts import NOT_USED
from fitprofile.store.workspace import Workspace, find_workspace
from tests.store.examples import ALL_PARTS, BIKE, PARTS, RIDER, SHOP, line_of, mutations, workspace


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that a property writes over and over."""
    return tmp_path_factory.mktemp("shelf")


def test_right_files_have_no_problems(tmp_path: Path) -> None:
    """Rider, bike and shop come out whole, under the names of their files."""
    ours = workspace(tmp_path)
    assert ours.check() == ()
    assert ours.rider_keys() == ("ida",)
    assert ours.bike_keys() == ("heron",)
    rider, bike, shop = ours.rider("ida")[0], ours.bike("heron")[0], ours.shop()[0]
    assert rider is not None
    assert bike is not None
    assert shop is not None
    assert (rider.key, rider.file, rider.name) == ("ida", "profiles/ida.toml", "Ida Invented")
    assert (bike.key, bike.file) == ("heron", "bikes/heron.toml")
    assert shop.tolerances["bar_width"] == 10.0
    assert shop.spreads["rake"] == (1.2, SPREADS["rake"][1])


def test_workspace_is_found_from_inside(tmp_path: Path) -> None:
    """Any folder inside a workspace leads to it; outside there is none."""
    workspace(tmp_path)
    deep = tmp_path / "profiles" / "old"
    deep.mkdir()
    assert find_workspace(deep) == tmp_path
    assert find_workspace(tmp_path) == tmp_path
    assert find_workspace(Path("/")) is None


def test_missing_shop_file_means_the_figures_to_start_from(tmp_path: Path) -> None:
    """Without shared/tolerances.toml the table of the program holds."""
    shop, problems = Workspace(tmp_path).shop()
    assert problems == ()
    assert shop is not None
    assert shop.tolerances == TOLERANCES
    assert shop.spreads == SPREADS
    assert shop.file is None


def test_no_catalogue_is_an_empty_one(tmp_path: Path) -> None:
    """Without shared/parts.toml nothing can be fitted, and nothing is wrong."""
    assert Workspace(tmp_path).catalogue() == (Catalogue(), ())


@pytest.mark.parametrize("parts", [b"[[riser]", b"\xff\xfe", b"", b"schema = 9\n", b"[riser]\n"])
def test_a_catalogue_that_cannot_be_read_stops_nothing_else(tmp_path: Path, parts: bytes) -> None:
    """Its problems are its own: rider, bike and shop are read as before."""
    ours = workspace(tmp_path, parts=parts)
    assert ours.catalogue()[0] is None
    assert {p.file for p in ours.check()} == {"shared/parts.toml"}
    assert ours.fitted_parts("heron") == ()
    assert ours.rider("ida")[1] == ours.bike("heron")[1] == ours.shop()[1] == ()


def test_a_folder_in_place_of_the_catalogue(tmp_path: Path) -> None:
    """It is named; nothing is raised."""
    ours = workspace(tmp_path)
    (tmp_path / "shared" / "parts.toml").unlink()
    (tmp_path / "shared" / "parts.toml").mkdir()
    assert [p.sentence() for p in ours.catalogue()[1]] == [
        "shared/parts.toml: this is a folder where a file is expected",
        f"shared/parts.toml:1: {NOT_USED}",
    ]


def test_a_fitted_part_that_is_left_out_is_told_apart(tmp_path: Path) -> None:
    """It is listed: what is to be mended is its own line."""
    ours = workspace(tmp_path, parts=PARTS.replace("price = 45.5", "price = -1"))
    [lost] = ours.fitted_parts("heron")
    line = line_of(PARTS, "[[riser]]")
    assert lost.text == f"'Riser 20' is listed and left out until it is mended (line {line})"


def test_a_fitted_part_is_one_of_the_catalogue(tmp_path: Path) -> None:
    """A name that is not listed is an error at its line, and the bike can be used."""
    ours = workspace(tmp_path, bike=BIKE.replace('"Riser 20"', '"Riser 21"'))
    bike, problems = ours.bike("heron")
    assert bike is not None
    assert problems == ()
    line = line_of(ours.root.joinpath("bikes/heron.toml").read_text(), 'riser = "')
    lost = ours.fitted_parts("heron")
    told = "there is no riser 'Riser 21' in the catalogue, did you mean 'Riser 20'?"
    assert [p.sentence() for p in lost] == [
        f"bikes/heron.toml:{line}: fitted.riser: {told}",
    ]
    assert lost[0].level == ERROR
    assert set(lost) <= set(ours.check())
    (tmp_path / "shared" / "parts.toml").unlink()
    assert ours.fitted_parts("nobody") == ()
    told = Workspace(tmp_path).fitted_parts("heron")[0].text
    assert told.endswith("in the catalogue: list it in shared/parts.toml")


def test_a_part_that_fits_no_bike_is_a_warning_at_its_line(tmp_path: Path) -> None:
    """The catalogue comes out whole nevertheless."""
    parts = PARTS.replace('fits = ["heron"]', 'fits = ["herron"]')
    ours = workspace(tmp_path, parts=parts)
    found = [p for p in ours.check() if (p.key or "").startswith("riser")]
    place = f"shared/parts.toml:{line_of(parts, 'fits')}: riser[0].fits"
    assert [p.sentence() for p in found] == [
        f"{place}[0]: there is no bike 'herron', did you mean 'heron'?",
        f"{place}: fits no bike here: none of those named is there",
    ]
    assert {p.level for p in found} == {WARNING}
    catalogue, problems = ours.catalogue()
    assert catalogue is not None
    assert problems == ()
    clips = line_of(ALL_PARTS, 'name = "Clip')
    idle = workspace(tmp_path, parts=ALL_PARTS).check()
    told = "fits no bike here: every bike here has a one-piece bar"
    assert [p.sentence() for p in idle] == [
        f"shared/parts.toml:{clips}: clip_on[0].name: {told}",
    ]


def test_every_problem_of_every_file_at_once(tmp_path: Path) -> None:
    """One check names all mistakes of all files, each with file, line and key."""
    rider = RIDER.replace("stature =", "statur =").replace('"heron"', '"herron"')
    rider = rider.replace("lean = [5, 25]", "lean = [25, 5]")
    bike = BIKE.replace("state = ", 'state = "side stand" #').replace("peg = 480", "peg = -1")
    shop = SHOP.replace("rake", "rack")
    parts = PARTS.replace("width = 780", "width = -780").replace("backsweep = 18", "backsweep = 95")
    ours = workspace(tmp_path, rider=rider, bike=bike, shop=shop, parts=parts)
    problems = ours.check()
    found = [(p.file, p.line, p.key) for p in problems]
    assert found == [
        ("bikes/heron.toml", line_of(bike, "state ="), "state"),
        ("bikes/heron.toml", line_of(bike, "peg = -1"), "widths.peg"),
        ("profiles/ida.toml", line_of(rider, "statur ="), "body.statur"),
        ("profiles/ida.toml", line_of(rider, "measured_on"), "cockpit.road.measured_on"),
        ("profiles/ida.toml", line_of(rider, "lean = [25"), "limits.lean"),
        ("shared/parts.toml", 1, None),  # which part is left out
        ("shared/parts.toml", line_of(parts, "width ="), "bar[0].width"),
        ("shared/parts.toml", line_of(parts, "backsweep"), "bar[0].backsweep"),
        ("shared/tolerances.toml", line_of(shop, "rack"), "spreads.alone.rack"),
    ]
    assert [p.key for p in problems if p.level != ERROR] == [None]
    texts = " ".join(p.text for p in problems)
    assert "did you mean 'stature'?" in texts
    assert "did you mean 'heron'?" in texts
    assert "did you mean 'rake'?" in texts
    assert "the bike leans" in texts
    assert "-1 mm is negative" in texts
    assert "write [5, 25]" in texts
    assert "-780 mm is negative: it must lie in 400 to 1200 mm" in texts
    assert "95 deg lies outside -30 to 60 deg" in texts


def test_a_lost_bike_leaves_the_rider_usable(tmp_path: Path) -> None:
    """A rider measured on a bike that is not here comes back with the problem."""
    rider, problems = workspace(tmp_path, rider=RIDER.replace('"heron"', '"gone"')).rider("ida")
    assert rider is not None
    assert [p.key for p in problems] == ["cockpit.road.measured_on"]
    assert "fitprofile new bike gone" in problems[0].text


@pytest.mark.parametrize(
    "key", ["../ida", "/etc/passwd", "ida.toml", "", ".", "a b", "é", "x" * 200, "<b>", '"', "a\n"]
)
def test_names_that_are_no_files(tmp_path: Path, key: str) -> None:
    """A name that could leave the folder, or be no file's, is one sentence and opens nothing."""
    ours = workspace(tmp_path)
    for value, problems in (ours.rider(key), ours.bike(key)):
        assert value is None
        assert len(problems) == 1
        assert "cannot be a name" in problems[0].text
        assert problems[0].text.isprintable()


def test_unknown_names_are_met_with_the_nearest(tmp_path: Path) -> None:
    """A rider or bike that is not there is named, with the one that was meant."""
    ours = workspace(tmp_path)
    assert "did you mean 'ida'?" in ours.rider("idaa")[1][0].text
    assert "`fitprofile new bike zebra`" in ours.bike("zebra")[1][0].text


def test_folders_links_and_strangers(tmp_path: Path) -> None:
    """A folder named like a file is one problem; logs and hidden files are no riders."""
    ours = workspace(tmp_path)
    (tmp_path / "profiles" / "folder.toml").mkdir()
    (tmp_path / "profiles" / "ida.log.toml").write_text("")
    (tmp_path / "profiles" / ".ida.toml").write_text("anything")
    (tmp_path / "profiles" / "notes.txt").write_text("anything")
    (tmp_path / "bikes" / "two words.toml").write_text(BIKE)
    (tmp_path / "bikes" / "nowhere.toml").symlink_to(tmp_path / "missing.toml")
    assert ours.rider_keys() == ("folder", "ida")
    said = {p.file: p.text for p in ours.check()}
    assert said.keys() == {
        "profiles/folder.toml",
        "bikes/two words.toml",
        "bikes/nowhere.toml",
    }
    assert "folder where a file is expected" in said["profiles/folder.toml"]
    assert "rename the file" in said["bikes/two words.toml"]
    assert "no such file" in said["bikes/nowhere.toml"]


def test_an_empty_folder_is_an_empty_workspace(tmp_path: Path) -> None:
    """No folders at all: no riders, no bikes, nothing wrong."""
    ours = Workspace(tmp_path)
    assert ours.rider_keys() == ours.bike_keys() == ()
    assert ours.check() == ()


@pytest.mark.parametrize(
    ("key", "start"),
    [
        ("cockpit.road.lever_angle", "lever_angle = 14"),
        ("cockpit.track.navel_to_grip_ends[1]", "navel_to_grip_ends = ["),
        ("cockpit.track.lean", "[cockpit.track]"),
        ("cockpit.race.lean", "[cockpit.road]"),
        ("body", "[body]"),
        ("notes", "notes = "),
        ("nothing.of.this", "#:schema"),
        (None, "#:schema"),
    ],
)
def test_stages_problems_get_the_line_of_their_key(
    tmp_path: Path, key: str | None, start: str
) -> None:
    """A key that is there gets its own line, else that of the nearest table around it."""
    problem = Problem("odd", key, "profiles/ida.toml")
    expected = evolve(problem, line=line_of(RIDER, start))
    assert workspace(tmp_path).locate([problem]) == (expected,)


@pytest.mark.parametrize(
    ("key", "start"),
    [
        ("spans.seat-peg", '"seat-peg"'),
        ("spans.peg-seat", '"seat-peg"'),
        ("obstacle[1].ahead", "ahead = 900"),
        ("obstacle[7]", "[[obstacle]]"),
        ("heights.peg.left", "peg = { left"),
        ("levers.brake", "[levers.brake]"),
        ("levers", "[levers.brake]"),
    ],
)
def test_lines_in_a_bike(tmp_path: Path, key: str, start: str) -> None:
    """Spans are found from either end, obstacles by number."""
    problem = Problem("odd", key, "bikes/heron.toml")
    assert workspace(tmp_path).locate([problem])[0].line == line_of(BIKE, start)


def test_problems_without_a_place_stay_as_they_are(tmp_path: Path) -> None:
    """No file, a file that is not there, a line that is known: nothing is changed."""
    problems = (
        Problem("odd"),
        Problem("odd", "a", "bikes/none.toml"),
        Problem("odd", "body", "profiles/ida.toml", 3),
    )
    assert workspace(tmp_path).locate(problems) == problems


@settings(max_examples=150)
@given(content=mutations(RIDER))
def test_a_changed_rider_is_a_rider_or_problems(shelf: Path, content: bytes) -> None:
    """Whatever is done to a rider's file: a value, or problems at lines that exist."""
    ours = workspace(shelf, rider=content)
    rider, problems = ours.rider("ida")
    _in_the_file(problems, "profiles/ida.toml", content)
    assert rider is not None or has_errors(problems)


@settings(max_examples=150)
@given(content=mutations(BIKE))
def test_a_changed_bike_is_a_bike_or_problems(shelf: Path, content: bytes) -> None:
    """Whatever is done to a bike's file: a value, or problems at lines that exist."""
    ours = workspace(shelf, bike=content)
    bike, problems = ours.bike("heron")
    _in_the_file(problems, "bikes/heron.toml", content)
    assert (bike is None) == has_errors(problems)


@settings(max_examples=60)
@given(content=mutations(SHOP))
def test_a_changed_shop_is_a_shop_or_problems(shelf: Path, content: bytes) -> None:
    """Whatever is done to the shop's file: a value, or problems at lines that exist."""
    ours = workspace(shelf, shop=content)
    shop, problems = ours.shop()
    _in_the_file(problems, "shared/tolerances.toml", content)
    assert (shop is None) == has_errors(problems)


@settings(max_examples=150)
@given(content=mutations(ALL_PARTS))
def test_a_changed_catalogue_is_a_catalogue_or_problems(shelf: Path, content: bytes) -> None:
    """Whatever is done to the catalogue: a value, or problems at lines that exist."""
    ours = workspace(shelf, parts=content)
    catalogue, problems = ours.catalogue()
    _in_the_file(problems, "shared/parts.toml", content)
    assert (catalogue is None or catalogue.remark != "") <= has_errors(problems)
    assert (catalogue is None) <= any(p.text == NOT_USED for p in problems)
    own = tuple(p for p in ours.check() if p.file == "shared/parts.toml")
    _in_the_file(own, "shared/parts.toml", content)
    assert set(problems) <= set(own)


@given(st.binary(max_size=200))
def test_any_bytes_are_a_file(shelf: Path, content: bytes) -> None:
    """Bytes that nobody meant as a file are refused at a line that exists."""
    bike, problems = workspace(shelf, bike=content).bike("heron")
    assert bike is None
    assert problems
    _in_the_file(problems, "bikes/heron.toml", content)


def _in_the_file(problems: tuple[Problem, ...], file: str, content: bytes) -> None:
    lines = content.count(b"\n") + 1
    for problem in problems:
        assert problem.file == file
        assert problem.line is not None
        assert 1 <= problem.line <= lines
        assert problem.sentence().isprintable()
        assert problem.text


def test_reading_needs_nothing_heavy(tmp_path: Path) -> None:
    """A rider and a bike are read without numpy, jinja2, weasyprint or the templates."""
    workspace(tmp_path)
    code = (
        "import sys; from pathlib import Path; from fitprofile.store.workspace import Workspace; "
        "w = Workspace(Path(sys.argv[1])); assert w.rider('ida')[0] and w.bike('heron')[0]; "
        "print(*sorted(sys.modules))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )
    loaded = set(ran.stdout.split())
    assert "fitprofile.store.workspace" in loaded
    assert loaded.isdisjoint({"numpy", "jinja2", "weasyprint", "fitprofile.store.templates"})
