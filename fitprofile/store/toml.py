"""One TOML file: its bytes read without a surprise, and the line of any key in it.

The grammar is TOML 1.0 plus what tomli accepts of TOML 1.1 (line breaks and a trailing comma
inside inline tables).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

import tomli
from attrs import field

from fitprofile.errors import ERROR, Problem
from fitprofile.values import frozen

_UNCLOSED_TEXT = "the text that starts here has no closing quotes"
_PLAINER: Mapping[str, str] = {
    "Cannot overwrite a value": "this key was already given above: keep one of the two",
    "Cannot declare": "this table was already given above: join the two",
    "Cannot mutate": "this table was already given above: join the two",
    "Cannot redefine": "this table was already given above: join the two",
    "Unterminated string": _UNCLOSED_TEXT,
    "Expected \"'": _UNCLOSED_TEXT,
    "Unclosed array": "the list that starts here is not closed: end it with ]",
    "Unclosed inline table": "the table that starts here is not closed: end it with }",
    "Expected '=' after a key": "a key, then = and its value, is what a line holds; "
    "a line of explanation begins with #",
    "Expected newline": "more than one key and value on a line: text belongs in quotes, "
    'as in "82 cm"',
    "Illegal character '\\n'": "the text on this line has no closing quotes",
    "Found invalid character '\\n'": "the name in brackets or quotes is not closed on this line",
    "Invalid value": "no value after the =: write a number, or text in quotes",
}
"""Sentences in place of those of tomli that speak of its insides."""

KeyPath = tuple[str | int, ...]
"""Keys from the top of a file inward; a whole number picks from an array of tables."""

LONGEST_FILE = 1_000_000
"""Bytes; a file of this kind holds a few thousand."""

LONGEST_STATEMENT = 300
"""Lines that are looked through for the beginning of a text or list that is never closed."""

LONGEST_KEY = 60
"""Characters of a key that are shown in a problem."""

_BARE_KEY = re.compile(rf"[A-Za-z0-9_-]{{1,{LONGEST_KEY}}}")


@frozen
class Document:
    """A file that is TOML.

    Parameters
    ----------
    shown : str
        Path as people see it.
    lines : tuple of str
        The text, line by line.
    data : mapping
        What tomli makes of it.
    """

    shown: str
    lines: tuple[str, ...]
    data: Mapping[str, object]
    _prefixes: dict[int, Mapping[str, object] | None] = field(factory=dict, eq=False, repr=False)

    def line_of(self, keys: KeyPath) -> int:
        """Line, from 1, of a key or else of the innermost table around it that is written down.

        Notes
        -----
        Bisects over the leading lines that are TOML by themselves and asks whether the key is
        there yet, so no second grammar is needed. 1 where nothing of the path is in the file.
        """
        path = existing(self.data, keys)
        if not path:
            return 1
        low, high = 0, len(self.lines)  # without the key; with it
        while high - low > 1:
            middle = (low + high) // 2
            last, data = self._prefix(middle, high)
            if data is None or holds(data, path):
                high = middle
            else:
                low = last
        return low + 1

    def problem(self, keys: KeyPath, text: str, level: str = ERROR) -> Problem:
        """A problem at a place in this file."""
        return Problem(text, dotted(keys), self.shown, self.line_of(keys), level)

    def _prefix(self, count: int, stop: int) -> tuple[int, Mapping[str, object] | None]:
        """First number of lines from ``count`` below ``stop`` that parses, and its data."""
        for last in range(count, stop):
            if last not in self._prefixes:
                self._prefixes[last] = _parse_quietly("\n".join(self.lines[:last]))
            data = self._prefixes[last]
            if data is not None:
                return last, data
        return count, None


def read_document(path: Path, shown: str) -> tuple[Document | None, tuple[Problem, ...]]:
    """A file's data, or the one problem that keeps it from being read.

    Parameters
    ----------
    path : Path
        Where it lies.
    shown : str
        What to call it.

    Returns
    -------
    Document or None, tuple of Problem
        Exactly one of the two is there. Nothing is raised for a missing file, a folder, bytes
        that are no UTF-8 or text that is no TOML.
    """
    try:
        with path.open("rb") as file:
            content = file.read(LONGEST_FILE + 1)
    except OSError as error:
        return None, (Problem(why_unopened(error), file=shown),)
    if len(content) > LONGEST_FILE:
        return None, (Problem("too long for a file of figures: is it the right file?", file=shown),)
    return parse_document(content, shown)


def parse_document(content: bytes, shown: str) -> tuple[Document | None, tuple[Problem, ...]]:
    """`read_document` for bytes that are already here."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = "written as UTF-16: save it as UTF-8"
        return None, (Problem(text, file=shown, line=1),)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        told = f"byte {error.start} is no UTF-8: save the file as UTF-8 text"
        return None, (Problem(told, file=shown, line=line),)
    lines = tuple(text.replace("\r\n", "\n").split("\n"))
    if not text.strip():
        again = "init" if shown.startswith("shared/") else "new"
        told = f"the file is empty: delete it, and `fitprofile {again}` writes one to fill in"
        return None, (Problem(told, file=shown, line=1),)
    try:
        return Document(shown, lines, tomli.loads(text)), ()
    except (ValueError, RecursionError) as error:
        return None, (_no_toml(error, lines, shown),)


def existing(data: object, keys: KeyPath) -> KeyPath:
    """The leading part of a path that is in the data."""
    path: list[str | int] = []
    for key in keys:
        found, data = _step(data, key)
        if not found:
            break
        path.append(key)
    return tuple(path)


def holds(data: object, keys: KeyPath) -> bool:
    """Whether the whole path is in the data."""
    return len(existing(data, keys)) == len(keys)


def _step(data: object, key: str | int) -> tuple[bool, object]:
    if isinstance(data, dict) and isinstance(key, str) and key in data:
        return True, data[key]
    if isinstance(data, list) and isinstance(key, int) and 0 <= key < len(data):
        return True, data[key]
    return False, None


def dotted(keys: KeyPath) -> str | None:
    """A path as people see it, ``cockpit.road.bar_width`` or ``obstacle[0].height``."""
    text = ""
    for key in keys:
        if isinstance(key, int):
            text += f"[{key}]"
        else:
            text += ("." if text else "") + _quoted(key)
    return text or None


def _quoted(key: str) -> str:
    """A key as TOML writes it: in quotes unless it is plain."""
    return key if _BARE_KEY.fullmatch(key) else f'"{visible(key, LONGEST_KEY)}"'


def undotted(data: object, key: str) -> KeyPath:
    """The path that a dotted key stands for, as far as it is in the data.

    Keys that hold dots themselves are found as well; ``spans.a-b`` also finds ``spans.b-a``.
    """
    if isinstance(data, list):
        index, _, rest = key.lstrip("[").partition("]")
        if not (index.isascii() and index.isdigit()) or int(index) >= len(data):
            return ()
        return (int(index), *undotted(data[int(index)], rest.lstrip(".")))
    if not isinstance(data, dict) or not key:
        return ()
    for name in sorted(data, key=len, reverse=True):
        for seen in (_quoted(name), "-".join(reversed(name.split("-")))):
            if key == seen or key.startswith((f"{seen}.", f"{seen}[")):
                return (name, *undotted(data[name], key[len(seen) :].removeprefix(".")))
    return ()


def visible(text: str, longest: int) -> str:
    """Somebody's text with control characters replaced, and cut to a length."""
    shown = "".join(c if c.isprintable() else "?" for c in text[: longest + 1])
    return f"{shown[:longest]}..." if len(text) > longest else shown


def _parse_quietly(text: str) -> Mapping[str, object] | None:
    try:
        return tomli.loads(text)
    except (ValueError, RecursionError):
        return None


def why_unopened(error: OSError) -> str:
    """Sentence for a file that the system would not open."""
    if isinstance(error, FileNotFoundError):
        return "there is no such file"
    if isinstance(error, IsADirectoryError):
        return "this is a folder where a file is expected"
    return f"cannot be opened: {(error.strerror or 'unknown reason').lower()}"


def _no_toml(error: Exception, lines: tuple[str, ...], shown: str) -> Problem:
    """The problem for text that tomli refuses."""
    if not isinstance(error, tomli.TOMLDecodeError):
        line = max(range(len(lines)), key=lambda n: len(lines[n])) + 1
        return Problem("nested too deep or too long to be a figure", file=shown, line=line)
    line = min(max(error.lineno, 1), len(lines))
    for start, told in _PLAINER.items():
        if error.msg.startswith(start):
            line = _statement_start(lines, line) if "starts here" in told else line
            return Problem(told, file=shown, line=line)
    told = visible(error.msg[:1].lower() + error.msg[1:], 200)
    return Problem(f"cannot be read at column {error.colno}: {told}", file=shown, line=line)


def _statement_start(lines: tuple[str, ...], last: int) -> int:
    """First line of the statement that goes wrong at a line, as far as a long one reaches."""
    for before in range(last - 1, max(last - LONGEST_STATEMENT, 0), -1):
        if _parse_quietly("\n".join(lines[:before])) is not None:
            return before + 1
    return 1 if last <= LONGEST_STATEMENT else last
