"""Mistakes found while one file becomes a value: collected with their paths, raised together."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import ParamSpec, TypeVar

from fitprofile.store.toml import LONGEST_KEY, KeyPath, visible

Found = tuple[KeyPath, str]
"""Where, from the value in hand inward, and what."""


class Stranger(str):
    """The sentence for an unknown key; who reads the whole file may know where it belongs."""

    __slots__ = ()


MOST_LISTED = 12
"""Names that a sentence lists before it only says that there are others."""

P = ParamSpec("P")
T = TypeVar("T")


class Mistakes(Exception):  # noqa: N818 - it carries what a person got wrong, not a failure
    """What is wrong inside one value; never leaves the store.

    Parameters
    ----------
    found : iterable of (KeyPath, str)
        Paths start at the value in hand.
    """

    def __init__(self, found: Iterable[Found]) -> None:
        self.found: tuple[Found, ...] = tuple(found)
        super().__init__(*(text for _, text in self.found))


def mistake(text: str, *keys: str | int) -> Mistakes:
    """One mistake, at the value in hand or at a path inside it."""
    return Mistakes([(keys, text)])


class Gather:
    """Tries one part after the other and keeps every mistake with its path."""

    def __init__(self) -> None:
        self.found: list[Found] = []

    def add(self, text: str, *keys: str | int) -> None:
        """Keep one mistake."""
        self.found.append((keys, text))

    def part(
        self, key: str | int, make: Callable[P, T], *args: P.args, **kwargs: P.kwargs
    ) -> T | None:
        """What ``make(*args, **kwargs)`` returns, or ``None`` with its mistakes under ``key``."""
        try:
            return make(*args, **kwargs)
        except Mistakes as mistakes:
            self.found += [((key, *path), text) for path, text in mistakes.found]
            return None

    def here(self, make: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T | None:
        """Like `part`, for something that starts at the value in hand itself."""
        try:
            return make(*args, **kwargs)
        except Mistakes as mistakes:
            self.found += mistakes.found
            return None

    def check(self) -> None:
        """Raise what was kept, if anything."""
        if self.found:
            raise Mistakes(self.found)


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that somebody most likely meant, ``None`` where none comes near."""
    from difflib import get_close_matches  # 4 ms that only a mistake has to pay

    near = get_close_matches(name[:LONGEST_KEY], tuple(known), n=1)
    return near[0] if near else None


def unknown(name: str, known: Iterable[str], what: str = "key") -> Stranger:
    """Sentence for a name that means nothing here, with the nearest one that does."""
    names = tuple(known)
    shown = f"'{visible(name, LONGEST_KEY)}'"
    near = nearest(name, names)
    if near is not None:
        return Stranger(f"unknown {what} {shown}, did you mean '{near}'?")
    if 0 < len(names) <= MOST_LISTED:
        return Stranger(f"unknown {what} {shown}: here it can be {listed(names)}")
    return Stranger(f"unknown {what} {shown}: take it out or look it up in a new template")


def sent_home(found: Iterable[Found], homes: Mapping[str, str]) -> list[Found]:
    """The same, with unknown keys that are known elsewhere in the file told where they belong.

    ``homes`` holds for each key the rest of the sentence ``'key' belongs ...``.
    """
    return [
        (path, f"'{path[-1]}' does not go here, it belongs {homes[str(path[-1])]}")
        if isinstance(text, Stranger) and path and path[-1] in homes
        else (path, text)
        for path, text in found
    ]


def listed(names: Iterable[str], last: str = "or") -> str:
    """Names in a sentence: ``a, b or c``."""
    *head, tail = names
    return f"{', '.join(head)} {last} {tail}" if head else tail
