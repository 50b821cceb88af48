"""Records added to the end of a log: nothing above is touched, and no two writers mix.

A record is one block of bytes, written by one call to a file opened for appending, under an
exclusive lock. A writer that is killed leaves at most its own record cut short; the next one
begins on a line of its own below. What an append costs does not depend on how long the log is:
only its first and last bytes are looked at.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from errno import ENOSPC
from pathlib import Path

import tomli_w

from fitprofile.errors import Problem
from fitprofile.store.atomic import NEW_FILE_MODE, sync_folder
from fitprofile.store.blocks import HEADER_LINE, WHOLE_LINE, split
from fitprofile.store.folders import refused
from fitprofile.store.locks import exclusive
from fitprofile.store.schema_version import CURRENT, schema_problems
from fitprofile.store.toml import parse_document

HEAD = f"""\
# The log: what was measured with the rider on a bike, and what was done to the bike.
# `fitprofile record` adds to the end and leaves all above as it is. Remarks may be added
# anywhere on lines that begin with #. A record without its last line was cut short: it is
# reported and left out, and the others are used.
schema = {CURRENT}
"""

FIRST_BYTES = 4096
"""Bytes in which the schema is looked for."""


def record_text(record: Mapping[str, object]) -> str:
    """A record as it is written, from a blank line to its last one.

    Parameters
    ----------
    record : mapping
        Texts, figures, flags, and lists or tables of these, as they would stand in the file.
    """
    lines = [f"{key} = {_value(value)}" for key, value in record.items()]
    return "\n".join(("", HEADER_LINE, *lines, WHOLE_LINE, ""))


def append_record(path: Path, shown: str, record: Mapping[str, object]) -> Problem | None:
    """Add a record to a log, or make the log with it; why not, where it was not done."""
    try:
        with _locked(path) as handle:
            problem = _refusal(handle, shown)
            if problem is None:
                _append(handle, record_text(record), path.parent)
    except OSError as error:
        return refused(error, shown)
    return problem


def _append(handle: int, text: str, folder: Path) -> None:
    """One write to the end; what was cut short there keeps its line to itself."""
    size = os.lseek(handle, 0, os.SEEK_END)
    if size == 0:
        text = HEAD + text
    elif _read(handle, size - 1, 1) != b"\n":
        text = f"\n{text}"
    block = text.encode()
    if os.write(handle, block) < len(block):
        raise OSError(ENOSPC, os.strerror(ENOSPC))
    os.fsync(handle)
    if size == 0:
        sync_folder(folder)


def _refusal(handle: int, shown: str) -> Problem | None:
    """Why a log must not be added to: it follows a newer schema, or is no UTF-8."""
    head, _ = split(_read(handle, 0, FIRST_BYTES))
    document, problems = parse_document(head, shown)
    if document is None:
        utf16 = head.startswith((b"\xff\xfe", b"\xfe\xff"))
        return problems[0] if utf16 else None
    if "schema" not in document.data:
        return None
    return next(iter(schema_problems(document, required=True)), None)


def _read(handle: int, at: int, size: int) -> bytes:
    os.lseek(handle, at, os.SEEK_SET)
    return os.read(handle, size)


@contextmanager
def _locked(path: Path) -> Iterator[int]:
    """The log open for reading and appending, and nobody else writing to it.

    An editor that saves the log puts a new file in its place; whoever waited for the old one
    begins again with the new.
    """
    flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0)
    while True:
        handle = os.open(path, flags, NEW_FILE_MODE)
        try:
            with exclusive(handle):
                if _is_at(handle, path):
                    yield handle
                    return
        finally:
            os.close(handle)


def _is_at(handle: int, path: Path) -> bool:
    """Whether an open file is still the one of this name."""
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except FileNotFoundError:
        return False


def _value(value: object) -> str:
    """A value in TOML, on one line."""
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{key} = {_value(one)}' for key, one in value.items())} }}"
    return tomli_w.dumps({"x": value}).removeprefix("x = ").rstrip("\n")
