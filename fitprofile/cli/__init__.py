"""The command line: arguments, printing and exit codes; no formula and no file format.

Only click is imported here; each command imports its work when it runs, so that ``--help``
stays light.
"""

from __future__ import annotations

import gc
from collections.abc import Sequence

from fitprofile.cli import commands


def main(arguments: Sequence[str] | None = None) -> None:
    """Run one command as a process of its own.

    One short run leaves no cycles worth collecting, and looking for them, on the way and once
    more at the end, costs a quarter of its time; `fitprofile.cli.work` switches collection on
    again before it prints sheets.

    Parameters
    ----------
    arguments : sequence of str, optional
        Those of the process by default.
    """
    gc.disable()
    try:
        commands.main(arguments)
    finally:
        gc.freeze()
