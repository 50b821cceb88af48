"""A log's bytes cut into records, so that one that is broken spoils no other.

TOML is read as a whole, and a single half-written line makes the whole unreadable. A log is
therefore cut first, at its lines ``[[sit_on]]`` and ``whole = true``, and each record is read as
TOML by itself. The last line of a record is what tells it from one cut short: without it
``knee_angle = 8`` could be all that was written of ``knee_angle = 88``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

SIT_ON = "sit_on"
WHOLE = "whole"

NEWEST, GROWTH = 65_536, 8
"""Bytes at the end of a log that are looked at first for its last records, and how many times as
many are looked at next."""

HEADER_LINE = f"[[{SIT_ON}]]"
WHOLE_LINE = f"{WHOLE} = true"

_END_OF_LINE = rb"[ \t]*(?:#[^\r\n]*)?(?=\r?$)"
_HEADER = re.compile(rb"^[ \t]*\[\[[ \t]*sit_on[ \t]*\]\]" + _END_OF_LINE, re.MULTILINE)
_WHOLE = re.compile(rb"^[ \t]*whole[ \t]*=[ \t]*true" + _END_OF_LINE, re.MULTILINE)


class Block(NamedTuple):
    """One record as it stands in the file.

    Parameters
    ----------
    line : int
        Line of its header, from 1.
    body : bytes
        From the line after the header to its last line; without an end all there is.
    whole : bool
        Whether the last line is there.
    rest : bytes
        What stands between its last line and the next header.
    rest_line : int
        Line on which the first word of the rest stands.
    """

    line: int
    body: bytes
    whole: bool
    rest: bytes
    rest_line: int


def split(content: bytes) -> tuple[bytes, list[Block]]:
    """What stands above the first record, and the records in order."""
    headers = list(_HEADER.finditer(content))
    if not headers:
        return content, []
    ends = [match.start() for match in headers[1:]] + [len(content)]
    return content[: headers[0].start()], list(_blocks(content, headers, ends))


def _blocks(content: bytes, headers: list[re.Match[bytes]], ends: list[int]) -> Iterator[Block]:
    line, counted = 1, 0
    for header, end in zip(headers, ends, strict=True):
        line += content.count(b"\n", counted, header.start())
        counted = header.start()
        start = content.find(b"\n", header.end(), end) + 1 or end
        last = _WHOLE.search(content, start, end)
        stop = end if last is None else last.end()
        rest = content[stop:end]
        blank = len(rest) - len(rest.lstrip())
        rest_line = line + content.count(b"\n", counted, stop + blank)
        yield Block(line, content[start:stop], last is not None, rest, rest_line)


def newest_first(content: bytes) -> Iterator[Block]:
    """Whole records from the last one upward; who stops early has had only the end cut."""
    seen, size = 0, NEWEST
    while True:
        start = content.find(b"\n", len(content) - size) if size < len(content) else 0
        blocks, above = split(content[start:])[1], content.count(b"\n", 0, start)
        for block in reversed(blocks[: len(blocks) - seen]):
            if block.whole:
                yield block._replace(line=block.line + above, rest_line=block.rest_line + above)
        if size >= len(content):
            return
        seen, size = len(blocks), size * GROWTH


def cut_header(text: bytes) -> bytes:
    """The beginning of a header in the last line of a text, empty where there is none."""
    last = text.rstrip().rpartition(b"\n")[2]
    return last if HEADER_LINE.encode().startswith(last) else b""


def strays(rest: bytes) -> bool:
    """Whether there is more between two records than blank lines and comments."""
    return any(line.strip() and not line.lstrip().startswith(b"#") for line in rest.split(b"\n"))
