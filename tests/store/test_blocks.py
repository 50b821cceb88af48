"""A log's bytes cut into records, whatever stands in them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.store import blocks
from fitprofile.store.blocks import Block, cut_header, newest_first, split, strays

TEXT = b"""\
# above
schema = 1

[[sit_on]]
knee_angle = 88
whole = true
# a remark

  [[ sit_on ]]  # by hand
knee_angle = 90
 whole=true # the end
stray = 1
[[sit_on]]
knee_angle = 9"""


def test_records_are_cut_at_headers_and_last_lines() -> None:
    """Lines count from 1; a remark after a record is none of it; the last one is not whole."""
    head, found = split(TEXT)
    assert head == b"# above\nschema = 1\n\n"
    assert [(b.line, b.whole, b.rest_line) for b in found] == [
        (4, True, 7),
        (9, True, 12),
        (13, False, 14),
    ]
    assert found[0].body == b"knee_angle = 88\nwhole = true"
    assert [strays(block.rest) for block in found] == [False, True, False]


def test_windows_line_ends_cut_alike() -> None:
    """A log saved by an editor that ends lines with CR and LF has the same records."""
    found = split(TEXT.replace(b"\n", b"\r\n"))[1]
    assert [(b.line, b.whole) for b in found] == [(4, True), (9, True), (13, False)]


@given(st.lists(st.sampled_from([b"[[sit_on]]", b"whole = true", b"x", b"\n", b"#", b"\xff"])))
def test_no_byte_is_lost(parts: list[bytes]) -> None:
    """Head, headers, bodies and rests together are the file."""
    content = b"".join(parts)
    lines = content.splitlines(keepends=True)
    head, found = split(content)
    pieces = [head]
    for block in found:
        header = lines[block.line - 1]
        assert header.partition(b"#")[0].strip() == b"[[sit_on]]"
        pieces += [header, block.body, block.rest]
    assert b"".join(pieces) == content


def test_the_newest_record_comes_first() -> None:
    """Every whole record once, however far the end that is looked at has to grow."""
    for times in (1, 3, 4000):
        content = b"".join(TEXT.replace(b"= 88", b"= %d" % n) + b"\n" for n in range(times))
        bodies = [block.body for block in newest_first(content)]
        assert bodies == [block.body for block in reversed(split(content)[1]) if block.whole]


def test_only_the_end_is_cut_for_the_newest(monkeypatch: pytest.MonkeyPatch) -> None:
    """A long log costs no more than its last 64 KiB."""
    sizes: list[int] = []
    real = blocks.split

    def counted(content: bytes) -> tuple[bytes, list[Block]]:
        sizes.append(len(content))
        return real(content)

    monkeypatch.setattr(blocks, "split", counted)
    next(newest_first(TEXT[: TEXT.rindex(b"[[")] * 10_000))
    assert sizes == [pytest.approx(blocks.NEWEST, abs=100)]


def test_a_header_cut_short_is_known() -> None:
    """Any beginning of it in the last line, and nothing else."""
    assert cut_header(b"schema = 1\n\n[[sit") == b"[[sit"
    assert cut_header(b"[") == b"["
    assert cut_header(b"schema = 1") == cut_header(b"") == cut_header(b"[[site") == b""
