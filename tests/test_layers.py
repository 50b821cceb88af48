"""Who may import whom: the import table of DEVELOPERS.md, and proof that the rule bites."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "fitprofile"

ROOMS = (
    *("values", "errors", "units", "geometry", "model"),
    *("data", "store", "stages", "report", "cli"),
)
"""A room imports only from rooms before it."""

STAGES = (
    *("network", "repeats", "readings", "placing", "doubts", "missing", "groundwork"),
    *("stand", "sense", "survey"),
    "complete",
    "linkage",
    *("siton", "evidence", "calibrate", "wish"),
    *("posture", "stance"),
    "targets",
    "entries",
    *("moves", "adjust"),
    *("job", "limits", "practical", "each_side"),
    *("plan", "misfit", "placement", "options", "bar_rows", "bar_setting", "bar_grids"),
    *("bar_search", "bar_widths", "bar_nearest", "choosing", "reaches", "search", "in_steps"),
    *(
        "plans",
        "part_range",
        "tried_parts",
        "remedy",
        "standing",
        "standing_moves",
        "standing_wish",
    ),
    "spread",
    *("check", "fixed_points", "steering", "steering_lock", "hose_length", "controls"),
    *("hand_levers", "feet", "law", "clearance"),
    *("odds", "offer"),
    *("outcome", "work_findings", "findings", "uses", "pedals", "standing_plans", "unseated"),
    *("as_planned", "sharing"),
    *("as_fitted", "as_it_is", "put_right", "left_to_do", "verify", "verify_standing"),
    *("chain", "standing_chain"),
)
"""Inside ``stages`` a module imports only from modules before it."""

NEVER = {("stages", "store")}
"""Forbidden although the order would allow it: a stage never touches a file."""


def room_of(module: str) -> str:
    """Room of a dotted module name: ``fitprofile.stages.moves`` is in ``stages``."""
    return module.split(".")[1]


def imports(source: str) -> Iterator[str]:
    """Dotted names of ours that a module imports, wherever in it, type checking included."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (one.name for one in node.names if one.name.startswith("fitprofile."))
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("fitprofile"):
            for one in node.names:
                name = f"{node.module}.{one.name}"
                path = PACKAGE.parent / name.replace(".", "/")
                is_module = path.is_dir() or path.with_suffix(".py").exists()
                if is_module or "." in str(node.module):
                    yield name if is_module else str(node.module)


def breaches(module: str, source: str) -> list[str]:
    """What a module imports against the table."""
    room = room_of(module)
    found = []
    for other in imports(source):
        there = room_of(other)
        if room == there == "stages":
            own, its = module.rsplit(".", maxsplit=1)[-1], other.split(".")[-1]
            wrong = its in STAGES and (own not in STAGES or STAGES.index(its) >= STAGES.index(own))
        else:
            wrong = ROOMS.index(there) > ROOMS.index(room) or (room, there) in NEVER
        if wrong:
            found.append(f"{module} imports {other}")
    return found


MODULES = {
    ".".join(path.relative_to(ROOT).with_suffix("").parts): path
    for path in sorted(PACKAGE.rglob("*.py"))
    if path.parent != PACKAGE or path.name not in {"__init__.py", "__main__.py"}
}


@pytest.mark.parametrize("module", MODULES)
def test_a_module_imports_only_from_rooms_above(module: str) -> None:
    """No module reaches into a room below its own, and no stage into a later one."""
    name = module.removesuffix(".__init__")
    assert breaches(name, MODULES[module].read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("fitprofile.geometry.links", "from fitprofile.stages import linkage"),
        ("fitprofile.geometry.links", "import fitprofile.model.bike"),
        ("fitprofile.stages.adjust", "from fitprofile.report.page import Page"),
        ("fitprofile.stages.adjust", "from fitprofile.store.workspace import Workspace"),
        ("fitprofile.stages.calibrate", "from fitprofile.stages import posture"),
        ("fitprofile.stages.posture", "def f():\n    from fitprofile.stages.chain import transfer"),
        ("fitprofile.report.sheet", "from fitprofile.cli.work import report"),
    ],
)
def test_the_rule_bites(module: str, source: str) -> None:
    """A forbidden import is found, at the top of a module and inside a function."""
    assert len(breaches(module, source)) == 1


def test_every_stage_stands_in_the_order() -> None:
    """No module of ``stages`` is left out of the order, and none in it is gone."""
    there = {path.stem for path in (PACKAGE / "stages").glob("*.py")} - {"__init__"}
    assert there == set(STAGES)


def test_every_room_stands_in_the_table() -> None:
    """Modules and folders of the package are the rooms."""
    there = {
        path.stem
        for path in PACKAGE.iterdir()
        if (path.suffix == ".py" and not path.stem.startswith("__"))
        or (path.is_dir() and (path / "__init__.py").exists())
    }
    assert there == set(ROOMS)


UNTESTED = {"outcome", "work", "session", "sheets", "printing"}
"""A value class and the command line, which ``tests/cli`` holds command by command."""


def test_every_module_has_its_tests() -> None:
    """``fitprofile/ROOM/MODULE.py`` is mirrored by ``tests/ROOM/test_MODULE.py``."""
    missing = [
        str(path.relative_to(ROOT))
        for path in MODULES.values()
        if path.stem not in UNTESTED | {"__init__"}
        and not (
            ROOT / "tests" / path.relative_to(PACKAGE).parent / f"test_{path.stem}.py"
        ).exists()
    ]
    assert missing == []
