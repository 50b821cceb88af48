"""Commands import no more than they need."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HEAVY = {"numpy", "jinja2", "weasyprint", "cattrs", "attrs"}
ALLOWED = {
    ("--help",): set(),
    ("transfer", "--help"): set(),
    ("new", "bike", "tansy"): {"cattrs", "attrs"},
    ("check",): {"cattrs", "attrs", "numpy"},
    ("transfer", "nela", "tansy", "--json"): {"cattrs", "attrs", "numpy"},
}


@pytest.mark.parametrize("arguments", ALLOWED)
def test_a_command_imports_late(arguments: tuple[str, ...]) -> None:
    """Help needs click alone, a new file no numpy, JSON no page and no printer."""
    call = (
        "import sys, contextlib, io\n"
        "from fitprofile.cli import main\n"
        "with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):\n"
        f"    main({list(arguments)!r})\n"
        "print(*sys.modules)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", call], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert HEAVY & set(ran.stdout.split()) == ALLOWED[arguments]
