"""One file's bytes to data, and the line of any key."""

from __future__ import annotations

from pathlib import Path

import pytest
import tomli
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.store.toml import (
    LONGEST_FILE,
    Document,
    KeyPath,
    dotted,
    existing,
    holds,
    parse_document,
    read_document,
    undotted,
    visible,
)
from tests.store.examples import BIKE, RIDER, mutations


def document(text: str | bytes) -> Document:
    """A document that is one."""
    content = text.encode() if isinstance(text, str) else text
    made, problems = parse_document(content, "a.toml")
    assert made is not None, problems
    return made


@pytest.mark.parametrize(
    ("content", "line", "said"),
    [
        (b"", 1, "empty"),
        (b" \n\n", 1, "empty"),
        (b"\xef\xbb\xbf", 1, "empty"),
        (b"a = 1\nb = '\xff'\n", 2, "byte 11 is no UTF-8"),
        ("schema = 1\n".encode("utf-16"), 1, "UTF-16"),
        (b"a = 1\n\na = 2\n", 3, "already given"),
        (b"[a]\n[b]\n[a]\n", 3, "already given"),
        (b"a = 1\nb = \n", 2, "value"),
        (b"a = 1\nb = 82 cm\n", 2, "in quotes"),
        (b"a = 1\nb = '82 cm\nc = 1\n", 2, "closing quotes"),
        (b'a = 1\nb = "82 cm\nc = 1\n', 2, "closing quotes"),
        (b'a = 1\n"b = 3\nc = 1\n', 2, "closing quotes"),
        (b"a = 1\nstature 5\n", 2, "="),
        (b"b = 1\na = '''x\n\n", 2, "closing quotes"),
        (b'b = 1\n# b\na = """x\n\nc = 3\n', 3, "closing quotes"),
        (b"a = [\n1,\n2\n", 1, "not closed"),
        (b"b = 1\na = { c = 1\n", 2, "not closed"),
        (b'a = """\n' + b"1\n" * 400, 402, "closing quotes"),
        (b"b = 1\na = " + b"[" * 100_000, 2, "nested too deep"),
        (b"b = 1\na = " + b"9" * 5000, 2, "too long"),
        (b"b = 1\n" + b".".join([b"a"] * 5000) + b" = 1", 2, "nested too deep"),
        (b"a = 'x\x01'", 1, "column 7"),
    ],
)
def test_what_is_no_file(content: bytes, line: int, said: str) -> None:
    """Bytes that cannot be read are one problem with a line, never an exception."""
    made, problems = parse_document(content, "a.toml")
    assert made is None
    assert [(p.file, p.line) for p in problems] == [("a.toml", line)]
    assert said in problems[0].text


@pytest.mark.parametrize(
    "content", [b"\xef\xbb\xbfa = 1\nb = 2", b"a = 1\r\nb = 2\r\n", b"a = 1\nb = 2\n"]
)
def test_marks_and_line_ends(content: bytes) -> None:
    """A byte order mark and the line ends of other systems are taken as they come."""
    made = document(content)
    assert made.data == {"a": 1, "b": 2}
    assert made.line_of(("b",)) == 2


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    """A missing file, a folder, a name too long, and far too many bytes."""
    huge = tmp_path / "huge.toml"
    huge.write_bytes(b"#" * (LONGEST_FILE + 1))
    cases = {
        tmp_path / "none.toml": "no such file",
        tmp_path: "folder where a file is expected",
        tmp_path / ("x" * 5000): "cannot be opened",
        huge: "too long for a file of figures",
    }
    for path, said in cases.items():
        made, problems = read_document(path, "shown")
        assert made is None
        assert said in problems[0].text
        assert problems[0].file == "shown"


def paths(data: object, start: KeyPath = ()) -> list[KeyPath]:
    """Every path in some data, from outside inward, without those inside plain lists."""
    found = [start] if start else []
    if isinstance(data, dict):
        for key, item in data.items():
            found += paths(item, (*start, key))
    elif isinstance(data, list) and data and isinstance(data[0], dict):
        for index, item in enumerate(data):
            found += paths(item, (*start, index))
    return found


def scanned_line(text: str, path: KeyPath) -> int:
    """Line of a path by reading line by line: a second way, for files laid out plainly."""
    table: KeyPath = ()
    counts: dict[str, int] = {}
    for number, line in enumerate(text.split("\n"), 1):
        if line.startswith("[["):
            name = line.strip("[]")
            counts[name] = counts.get(name, -1) + 1
            table = (name, counts[name])
        elif line.startswith("["):
            table = tuple(line.strip("[]").split("."))
        key = line.partition(" =")[0].strip('"')
        here = table if line.startswith("[") else (*table, key)
        if here[: len(path)] == path or (line.count("=") > 1 and path[: len(here)] == here):
            return number
    raise AssertionError(path)


@pytest.mark.parametrize("text", [RIDER, BIKE])
def test_lines_agree_with_reading_line_by_line(text: str) -> None:
    """Bisecting over leading lines finds what a plain scan finds, for every key of a file."""
    made = document(text)
    every = paths(made.data)
    assert len(every) > 30
    assert {p: made.line_of(p) for p in every} == {p: scanned_line(text, p) for p in every}


@given(st.data())
def test_lines_hold_after_changes(data: st.DataObject) -> None:
    """The lines before a key's line do not hold the key; some lines from there on do."""
    content = data.draw(mutations(BIKE))
    made, _ = parse_document(content, "a.toml")
    if made is None or not paths(made.data):
        return
    path = data.draw(st.sampled_from(paths(made.data)))
    line = made.line_of(path)
    assert not holds(tomli.loads("\n".join(made.lines[: line - 1])), path)
    for last in range(line, len(made.lines) + 1):
        try:
            first = tomli.loads("\n".join(made.lines[:last]))
        except (ValueError, RecursionError):
            continue
        assert holds(first, path)
        return


def test_paths_and_their_names() -> None:
    """Dotted keys stand for paths, also where a key needs quotes, and lead back to them."""
    data = {"a": {"b.c": 1, "d": [{"e": 2}, {"f": 3}]}, "x y": 4, "a-b": 5}
    for path in [("a", "b.c"), ("a", "d", 1, "f"), ("x y",), ("a",), ("a-b",)]:
        assert undotted(data, dotted(path) or "") == path
    assert dotted(("a", "d", 1, "f")) == "a.d[1].f"
    assert dotted(("a", "b.c")) == 'a."b.c"'
    assert dotted(()) is None
    assert undotted(data, "b-a") == ("a-b",)
    assert undotted(data, "a.d[9].e") == ("a", "d")
    assert undotted(data, "a.d[x].e") == ("a", "d")
    assert undotted(data, "nothing") == ()
    assert existing(data, ("a", "d", 0, "z")) == ("a", "d", 0)


@given(st.text(max_size=20), st.integers(1, 10))
def test_shown_text_is_printable_and_short(text: str, longest: int) -> None:
    """Somebody's text never carries control characters into a sentence, nor runs on."""
    shown = visible(text, longest)
    assert shown.isprintable()
    assert len(shown) <= longest + 3
