"""Whole processes, each against the least process that could do its kind of work.

Runs are interleaved and the best of each is taken, so that a busy machine hits both alike.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from bench.row import Row

ROOT = Path(__file__).parent.parent
ROUNDS = 15
RIDER, BIKE = "nela", "juniper"
GARAGE = 12
"""Bikes that are compared."""


def whole_rows() -> list[Row]:
    """Start-up of the commands people and scripts call, as ratios."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        for part in ("profiles", "bikes", "shared"):
            shutil.copytree(ROOT / part, place / part)
        rows = [
            _ratio(
                "transfer --json : import numpy",
                _fitprofile("transfer", RIDER, BIKE, "--json"),
                [sys.executable, "-c", "import numpy"],
                place,
                3.0,
            ),
            _ratio(
                "--help : import click",
                _fitprofile("--help"),
                [sys.executable, "-c", "import click"],
                place,
                2.5,
            ),
        ]
        rows.append(
            _ratio(
                f"compare --json, {GARAGE} bikes : transfer --json",
                _fitprofile("compare", RIDER, *_garage(place), "--json"),
                _fitprofile("transfer", RIDER, BIKE, "--json"),
                place,
                4.0,
            )
        )
        sheet = _fitprofile("transfer", RIDER, BIKE)
        subprocess.run(sheet, cwd=place, check=True, capture_output=True)
        page = next((place / "reports").glob("*.html"))
        bare = (
            "import sys, weasyprint; "
            "weasyprint.HTML(sys.argv[1]).write_pdf(sys.argv[2], pdf_variant='pdf/ua-1')"
        )
        plain = [sys.executable, "-c", bare, str(page), str(place / "bare.pdf")]
        rows.append(_ratio("sheet as PDF : bare weasyprint", sheet, plain, place, 1.4))
    return rows


def _garage(place: Path) -> tuple[str, ...]:
    """As many bikes as the garage takes: the demo's, and copies of them under other names."""
    names = sorted(path.stem for path in (place / "bikes").glob("*.toml"))
    for number in range(GARAGE - len(names)):
        original = place / "bikes" / f"{names[number]}.toml"
        shutil.copy(original, place / "bikes" / f"copy-{number}.toml")
    return tuple(sorted(path.stem for path in (place / "bikes").glob("*.toml")))


def _fitprofile(*arguments: str) -> list[str]:
    """The command as its console script starts it."""
    return [str(Path(sys.executable).parent / "fitprofile"), *arguments]


def _ratio(what: str, ours: list[str], least: list[str], place: Path, limit: float) -> Row:
    """Best time of ours over best time of the least, and both in milliseconds."""
    best = [float("inf"), float("inf")]
    for _ in range(ROUNDS):
        for which, command in enumerate((ours, least)):
            start = time.perf_counter()
            subprocess.run(command, cwd=place, check=True, capture_output=True)
            best[which] = min(best[which], time.perf_counter() - start)
    ratio = best[0] / best[1]
    measured = f"{ratio:.2f} ({1e3 * best[0]:.0f} : {1e3 * best[1]:.0f} ms)"
    return Row(what, measured, f"<= {limit}", ratio <= limit)
