"""New workspaces and new files; nothing that was there is lost."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import tomli
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.errors import ERROR, WARNING, Problem
from fitprofile.model.shop import Shop
from fitprofile.store.atomic import replace_file
from fitprofile.store.create import init, new_file, shared_files
from fitprofile.store.folders import BIKES, FOLDERS, PROFILES, TOLERANCES_FILE
from fitprofile.store.templates import bike_template
from fitprofile.store.workspace import Workspace, find_workspace


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its bytes."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_a_new_workspace_is_whole_and_right(tmp_path: Path) -> None:
    """All folders and shared files are made, found again, and nothing is wrong with them."""
    root = tmp_path / "a" / "garage"
    made, problems = init(root)
    assert problems == ()
    assert all((root / name).is_dir() for name in FOLDERS)
    assert contents(root).keys() == shared_files().keys()
    assert set(made) == {root} | {root / name for name in (*FOLDERS, *shared_files())}
    assert find_workspace(root / "reports") == root
    assert Workspace(root).check() == ()
    shop, _ = Workspace(root).shop()
    assert shop == Shop(file=TOLERANCES_FILE)


def test_doing_it_twice_changes_nothing(tmp_path: Path) -> None:
    """A second init makes nothing and says nothing."""
    init(tmp_path)
    before = contents(tmp_path)
    assert init(tmp_path) == ((), ())
    assert contents(tmp_path) == before


def test_what_is_there_is_kept(tmp_path: Path) -> None:
    """Own files stay as they are, with a word; what is missing or empty beside them is made."""
    own = {"shared/tolerances.toml": b"# mine\n", "bikes/heron.toml": b"", "note.txt": b"x"}
    for name, content in own.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(content)
    (tmp_path / "shared" / "schema").mkdir()
    (tmp_path / "shared" / "schema" / "bike.json").write_bytes(b"")
    made, problems = init(tmp_path)
    assert [(p.file, p.level) for p in problems] == [("shared/tolerances.toml", WARNING)]
    after = contents(tmp_path)
    assert own.items() <= after.items()
    assert after["shared/schema/bike.json"] == shared_files()["shared/schema/bike.json"]
    assert tmp_path / "shared" / "tolerances.toml" not in made


@pytest.mark.parametrize("taken", ["", "profiles", "shared/schema"])
def test_a_file_in_the_way_is_one_problem(tmp_path: Path, taken: str) -> None:
    """A file where a folder has to go is named and left alone."""
    root = tmp_path / "garage"
    (root / taken).parent.mkdir(parents=True, exist_ok=True)
    (root / taken).write_bytes(b"mine")
    _, problems = init(root)
    assert [p.level for p in problems] == [ERROR]
    assert "cannot be written" in problems[0].text
    assert (root / taken).read_bytes() == b"mine"


@pytest.mark.parametrize("folder", [PROFILES, BIKES])
def test_a_new_file_parses_and_is_never_overwritten(tmp_path: Path, folder: str) -> None:
    """The file holds the name as given; a second one of that name is refused."""
    name = 'Ida "the tape" Önnö \\ <b>'
    path = new_file(tmp_path, folder, "ida", name)
    assert isinstance(path, Path)
    assert tomli.loads(path.read_text("utf-8"))["name"] == name
    path.write_bytes(b"mine")
    again = new_file(tmp_path, folder, "ida", "Other")
    assert isinstance(again, Problem)
    assert again.file == f"{folder}/ida.toml"
    assert "already" in again.text
    assert contents(tmp_path) == {f"{folder}/ida.toml": b"mine"}


@pytest.mark.parametrize(
    ("key", "name", "said"),
    [
        ("../ida", "Ida", "cannot be a name"),
        ("x" * 200, "Ida", "cannot be a name"),
        ("ida", "", "empty"),
        ("ida", "x" * 200, "too many"),
        ("ida", "a\x1b[31m", "U+001B"),
        ("ida", "a\nb", "U+000A"),
    ],
)
def test_names_that_cannot_be(tmp_path: Path, key: str, name: str, said: str) -> None:
    """A key or a name that cannot be used is one sentence, and nothing is made."""
    refused = new_file(tmp_path, PROFILES, key, name)
    assert isinstance(refused, Problem)
    assert said in refused.text
    assert contents(tmp_path) == {}


def test_what_the_system_refuses_is_a_problem(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk is a sentence, and leaves no piece of a file."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    refused = new_file(tmp_path, BIKES, "heron", "Heron")
    assert isinstance(refused, Problem)
    assert "no space left" in refused.text
    assert contents(tmp_path) == {}


def test_new_files_say_what_is_still_to_be_filled_in(tmp_path: Path) -> None:
    """A fresh bike is one problem; a fresh rider one for each figure that it takes."""
    init(tmp_path)
    ours = Workspace(tmp_path)
    assert isinstance(ours.new_rider("ida", "Ida"), Path)
    assert isinstance(ours.new_bike("heron", "Heron"), Path)
    problems = ours.check()
    assert [(p.file, p.key) for p in problems] == [
        ("bikes/heron.toml", None),
        ("profiles/ida.toml", "body.stature"),
        ("profiles/ida.toml", "body.navel_height_sitting"),
        ("profiles/ida.toml", "cockpit.road.navel_to_bar"),
        ("profiles/ida.toml", "cockpit.road.lever_angle"),
        ("profiles/ida.toml", "cockpit.road.bar_width"),
        ("profiles/ida.toml", "cockpit.road.knee_angle"),
    ]
    assert "nothing has been taped" in problems[0].text


_NAMES = st.text(min_size=1, max_size=80).filter(lambda s: s.strip() and s.isprintable())


@given(_NAMES)
def test_any_name_is_kept(name: str) -> None:
    """Quotes, backslashes and signs of any script come back as they went in."""
    assert tomli.loads(bike_template(name))["name"] == name


def test_replacing_is_used_for_nothing_of_the_users(tmp_path: Path) -> None:
    """An empty file that is in the way of a shared one keeps its permissions."""
    (tmp_path / "shared").mkdir()
    path = tmp_path / TOLERANCES_FILE
    replace_file(path, b"")
    path.chmod(0o600)
    init(tmp_path)
    assert path.stat().st_mode & 0o777 == 0o600
    assert path.read_bytes() == shared_files()[TOLERANCES_FILE]
