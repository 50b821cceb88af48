"""Reports go into their folder and nowhere else."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitprofile.errors import Problem
from fitprofile.store.workspace import Workspace


def test_a_report_replaces_the_one_before(tmp_path: Path) -> None:
    """The folder is made; the second report of a name takes the place of the first."""
    ours = Workspace(tmp_path)
    for content in (b"one", b"two"):
        path = ours.write_report("ida-heron.html", content)
        assert path == tmp_path / "reports" / "ida-heron.html"
        assert isinstance(path, Path)
        assert path.read_bytes() == content
    assert [p.name for p in (tmp_path / "reports").iterdir()] == ["ida-heron.html"]


@pytest.mark.parametrize("name", ["../a.html", "a/b.html", "", ".a", "a b", "a\n", "x" * 300])
def test_names_of_reports_are_plain(tmp_path: Path, name: str) -> None:
    """A name that is more than a file name is a mistake of the program."""
    with pytest.raises(ValueError, match="no name of a report"):
        Workspace(tmp_path).write_report(name, b"")


def test_a_file_in_the_way_is_a_problem(tmp_path: Path) -> None:
    """A file called reports is named and left alone."""
    (tmp_path / "reports").write_bytes(b"mine")
    refused = Workspace(tmp_path).write_report("a.html", b"x")
    assert isinstance(refused, Problem)
    assert refused.file == "reports/a.html"
    assert (tmp_path / "reports").read_bytes() == b"mine"
