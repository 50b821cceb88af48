"""One line of the table of figures."""

from __future__ import annotations

from typing import NamedTuple


class Row(NamedTuple):
    """What was measured, the figure and its limit as text, and whether the limit holds."""

    what: str
    measured: str
    limit: str
    holds: bool
