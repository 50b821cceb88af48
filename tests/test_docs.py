"""README and DEVELOPERS stay true: modules, import table, commands, and the session's output."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from fitprofile.cli.commands import main
from tests.test_layers import ROOMS, STAGES

ROOT = Path(__file__).parents[1]
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")


def modules() -> set[str]:
    """Every module of the package by its file name, packages' own files left out."""
    return {
        path.name
        for path in (ROOT / "fitprofile").rglob("*.py")
        if path.name not in {"__init__.py", "__main__.py"}
    }


def test_developers_names_every_module_and_no_other() -> None:
    """The walk through the code leaves out no module and names none that is gone."""
    named = set(re.findall(r"\b(\w+\.py)\b", DEVELOPERS)) - {"__init__.py", "test_layers.py"}
    walk = {name for name in named if not name.startswith("test_") and name != "strategies.py"}
    assert walk == modules()


def rows(title: str) -> list[str]:
    """First cells of the table whose head begins with ``title``, in order."""
    table = DEVELOPERS.split(f"| {title}", 1)[1].split("\n\n", 1)[0]
    return [row.split("|")[1].strip() for row in table.splitlines()[2:]]


def test_developers_import_table_is_the_one_enforced() -> None:
    """Rooms and the order inside stages are those of the layers test."""
    assert rows("room") == list(ROOMS)
    assert ", ".join(rows("order in stages")).split(", ") == list(STAGES)


def test_developers_paths_exist() -> None:
    """Every path in backticks that looks like one is there."""
    for path in re.findall(r"`((?:fitprofile|tests|reports)/[\w./]*)`", DEVELOPERS):
        assert (ROOT / path).exists() or path == "reports/", path


def sessions() -> list[tuple[str, str]]:
    """Commands of README's session and what it says they print."""
    block = README.split("## A session", 1)[1].split("```", 2)[1].strip("\n")
    parts = re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]
    return [(part.partition("\n")[0], part.partition("\n")[2].rstrip()) for part in parts]


def plain(text: str) -> str:
    """The same text with ordinary spaces between a figure and its unit."""
    return text.replace("\u00a0", " ").replace("\u202f", " ")


@pytest.mark.parametrize(("command", "output"), sessions())
def test_readme_s_session_prints_what_it_says(
    command: str, output: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each command of the session, run on the demo garage, prints just these lines."""
    for part in ("profiles", "bikes", "shared"):
        shutil.copytree(ROOT / part, tmp_path / part)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    result = CliRunner().invoke(main, command.split()[1:])
    printed = [line.rstrip() for line in plain(result.output).splitlines()]
    wanted = [line.rstrip() for line in plain(output).splitlines()]
    assert wanted, command
    shown = iter(printed)
    missing = [line for line in wanted if line != "..." and line not in shown]
    assert not missing, result.output


def test_readme_names_only_commands_and_options_that_exist() -> None:
    """`fitprofile NAME` and `--option` in README are known to the command line."""
    for name in set(re.findall(r"`fitprofile (\w+)", README)):
        assert name in main.commands, name
    known = {
        option
        for command in main.commands.values()
        for parameter in command.params
        for option in parameter.opts
    }
    for option in set(re.findall(r"`(--[\w-]+)", README)):
        assert option in known, option


def test_readme_gives_the_two_commands() -> None:
    """`make demo` and `make test` stand in README and in the Makefile."""
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    for target in ("demo", "test"):
        assert f"\nmake {target}\n" in README
        assert f"\n{target}:" in makefile
