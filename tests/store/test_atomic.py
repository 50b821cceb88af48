"""Files appear whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from fitprofile.store.atomic import create_file, replace_file


def names(folder: Path) -> set[str]:
    """What lies in a folder, hidden files as well."""
    return {path.name for path in folder.iterdir()}


def test_replaces_and_keeps_permissions(tmp_path: Path) -> None:
    """New content under the old name and permissions, and nothing else left."""
    path = tmp_path / "a.toml"
    path.write_bytes(b"old")
    path.chmod(0o640)
    replace_file(path, b"new")
    assert path.read_bytes() == b"new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert names(tmp_path) == {"a.toml"}


def test_makes_what_is_not_there(tmp_path: Path) -> None:
    """A new file has the permissions that the person's umask leaves."""
    before = os.umask(0o027)
    try:
        replace_file(tmp_path / "a", b"x")
        create_file(tmp_path / "b", b"y")
    finally:
        os.umask(before)
    for name in ("a", "b"):
        assert stat.S_IMODE((tmp_path / name).stat().st_mode) == 0o640
    assert names(tmp_path) == {"a", "b"}


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    """Replacing through a link changes the file that it leads to."""
    (tmp_path / "real").mkdir()
    target = tmp_path / "real" / "a"
    target.write_bytes(b"old")
    link = tmp_path / "link"
    link.symlink_to(target)
    replace_file(link, b"new")
    assert link.is_symlink()
    assert target.read_bytes() == b"new"


def test_creating_never_replaces(tmp_path: Path) -> None:
    """A name that is taken keeps its content, be it a file or a link to nowhere."""
    taken, link = tmp_path / "a", tmp_path / "b"
    taken.write_bytes(b"mine")
    link.symlink_to(tmp_path / "nowhere")
    for path in (taken, link):
        with pytest.raises(FileExistsError):
            create_file(path, b"other")
    assert taken.read_bytes() == b"mine"
    assert names(tmp_path) == {"a", "b"}


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_failure_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """A full disk, at any step, costs neither the old content nor leaves a piece of the new."""
    path = tmp_path / "a.toml"
    path.write_bytes(b"old")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    if step == "fsync":
        monkeypatch.setattr(os, "fsync", full)
    else:
        monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="No space"):
        replace_file(path, b"new")
    assert path.read_bytes() == b"old"
    assert names(tmp_path) == {"a.toml"}


def test_works_where_files_cannot_be_linked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a disk without links a new file is made all the same, and a taken name refused."""

    def no_links(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    create_file(tmp_path / "a", b"x")
    assert (tmp_path / "a").read_bytes() == b"x"
    with pytest.raises(FileExistsError):
        create_file(tmp_path / "a", b"y")
    assert names(tmp_path) == {"a"}
