"""Which schema a file may follow."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitprofile.store.schema_version import CURRENT, schema_problems
from fitprofile.store.toml import parse_document
from tests.store.examples import BIKE, workspace


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("schema = 7", "follows schema 7"),
        ("schema = 99999999999999999999", "use a newer fitprofile"),
        ("schema = 0", "there is no schema below 1"),
        ("schema = -1", "there is no schema below 1"),
        ("schema = 1.0", "a whole number"),
        ("schema = '1'", "a whole number"),
        ("schema = true", "a whole number"),
        ("", "schema is missing"),
    ],
)
def test_anything_but_the_current_one(tmp_path: Path, written: str, said: str) -> None:
    """One clear sentence at its line, and the rest of a file of another schema is not judged."""
    text = BIKE.replace("schema = 1", written, 1)
    bike, problems = workspace(tmp_path, bike=text).bike("heron")
    assert bike is None
    assert len(problems) == 1
    assert said in problems[0].text
    assert problems[0].line == (2 if written else 1)
    future, more = workspace(tmp_path, bike=f"{written}\nanything = 3\n").bike("heron")
    assert future is None
    assert (len(more) == 1) == bool(written)


def test_the_current_one() -> None:
    """Nothing is said about it, nor about its absence where it may be absent."""
    for text in (f"schema = {CURRENT}", "a = 1"):
        document, _ = parse_document(text.encode(), "a.toml")
        assert document is not None
        assert schema_problems(document, required=False) == ()
