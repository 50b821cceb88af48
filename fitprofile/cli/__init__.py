"""The command line: arguments, printing and exit codes; no formula and no file format.

Only click is imported here; each command imports its work when it runs, so that ``--help``
stays light.
"""

from __future__ import annotations

from fitprofile.cli.commands import main

__all__ = ["main"]
