"""Adding to a short log against adding to a long one: the cost must not grow with its length.

Both are measured in turns in one run, and the median of each is taken: what a disk takes to
confirm a write varies more than a machine's speed.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path

from bench.row import Row
from fitprofile.store.append import HEAD, append_record, record_text

SHORT, LONG = 10, 10_000
"""Records in the two logs."""

TURNS = 300
AT_MOST = 1.5

RECORD = {
    "date": "2026-05-17",
    "bike": "heron",
    "use": "road",
    "when": "before",
    "navel_to_bar": ["51.2 cm", "51.6 cm"],
    "knee_angle": [88, 90],
    "gear": "jacket, boots",
}


def log_rows() -> list[Row]:
    """Time of an append to the long log over that to the short one."""
    with tempfile.TemporaryDirectory() as folder:
        logs = [_log(Path(folder) / f"{count}.log.toml", count) for count in (SHORT, LONG)]
        times: tuple[list[float], list[float]] = ([], [])
        for turn in range(2 * TURNS):
            which = turn % 2
            start = time.perf_counter()
            assert append_record(logs[which], "log", RECORD) is None
            times[which].append(time.perf_counter() - start)
    short, long = (statistics.median(one) for one in times)
    return [
        Row(
            f"adding to a log of {LONG:,} : of {SHORT} records",
            f"{long / short:.2f} ({1e6 * long:.0f} : {1e6 * short:.0f} us)",
            f"<= {AT_MOST}",
            long / short <= AT_MOST,
        )
    ]


def _log(path: Path, count: int) -> Path:
    path.write_text(HEAD + count * record_text(RECORD), encoding="utf-8")
    return path
