"""Speed as ratios within one run: each figure is held against something measured beside it.

Run with `make bench`. Prints a table and ends with code 1 where a ratio misses its limit.
"""

from __future__ import annotations

import os
import sys

from bench.batch import batch_rows
from bench.bench_log import log_rows
from bench.bench_search import search_rows
from bench.whole import whole_rows


def main() -> int:
    """Measure everything; exit code."""
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    rows = [*batch_rows(), *search_rows(), *log_rows(), *whole_rows()]
    width = max(len(row.what) for row in rows)
    print(f"{'what':{width}}  {'measured':>26}  {'limit':>10}")
    for row in rows:
        verdict = "" if row.holds else "  MISSED"
        print(f"{row.what:{width}}  {row.measured:>26}  {row.limit:>10}{verdict}")
    return 0 if all(row.holds for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
