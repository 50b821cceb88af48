"""Names of a workspace's folders and files, and reports put into theirs."""

from __future__ import annotations

import re
from pathlib import Path

from fitprofile.errors import Problem
from fitprofile.store.atomic import replace_file
from fitprofile.store.toml import visible

PROFILES = "profiles"
BIKES = "bikes"
SHARED = "shared"
REPORTS = "reports"
SCHEMA_FOLDER = "schema"
SCHEMAS = f"{SHARED}/{SCHEMA_FOLDER}"
"""Where ``init`` puts the schemas that editors read."""

FOLDERS = (PROFILES, BIKES, SHARED, SCHEMAS, REPORTS)
TOLERANCES_FILE = f"{SHARED}/tolerances.toml"
PARTS_FILE = f"{SHARED}/parts.toml"
ENDING = ".toml"
LOG_ENDING = ".log.toml"

_REPORT_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,199}")


def write_report(root: Path, name: str, content: bytes) -> Path | Problem:
    """A file in ``reports/``, in place of the one of that name before.

    Parameters
    ----------
    root : Path
        The workspace.
    name : str
        File name with its ending: letters, digits, ``- _ .``, no folder.
    content : bytes
        All of it.

    Returns
    -------
    Path or Problem
        The file, or why the system refused.

    Raises
    ------
    ValueError
        Where the name is none: names of reports come from the program.
    """
    if not _REPORT_NAME.fullmatch(name):
        raise ValueError(f"no name of a report: {name!r}")
    shown = f"{REPORTS}/{name}"
    try:
        (root / REPORTS).mkdir(exist_ok=True)
        replace_file(root / shown, content)
    except OSError as error:
        return refused(error, shown)
    return root / shown


def refused(error: OSError, shown: str) -> Problem:
    """The problem for something that the system would not do."""
    why = (error.strerror or "unknown reason").lower()
    if error.filename is not None and not str(error.filename).endswith(shown):
        why += f" ({visible(str(error.filename), 200)})"
    return Problem(f"cannot be written: {why}", file=shown)
