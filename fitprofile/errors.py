"""Problems as values: what is wrong, where it was written, and how to mend it.

Mistakes of the person who wrote a file are `Problem` values, collected over a whole
workspace and shown all at once. Exceptions are left to mistakes of the programmer.
"""

from __future__ import annotations

from collections.abc import Iterable

from fitprofile.values import frozen

ERROR = "error"
"""The thing asked for cannot be computed."""

WARNING = "warning"
"""It was computed, and somebody should look before work starts."""

NOTE = "note"
"""Worth knowing: something was assumed, left out or could be measured better."""

LEVELS = (ERROR, WARNING, NOTE)


@frozen
class Problem:
    """One thing that is wrong or worth knowing.

    Parameters
    ----------
    text : str
        One sentence: what is wrong and how to mend it.
    key : str or None
        Dotted path of the key inside the file (``"cockpit.road.knee_angle"``), or
        ``None`` where the whole file is meant.
    file : str or None
        Path as people see it, relative to the workspace where possible.
    line : int or None
        Line of the key, from 1; ``None`` until the store has looked it up.
    level : str
        One of `LEVELS`.
    """

    text: str
    key: str | None = None
    file: str | None = None
    line: int | None = None
    level: str = ERROR

    def sentence(self) -> str:
        """Text for a terminal: ``file:line: key: text``, parts that are unknown left out."""
        place = self.file or ""
        if self.file and self.line:
            place = f"{self.file}:{self.line}"
        return ": ".join(part for part in (place, self.key or "", self.text) if part)


def has_errors(problems: Iterable[Problem]) -> bool:
    """Whether any of the problems stops the work."""
    return any(p.level == ERROR for p in problems)
