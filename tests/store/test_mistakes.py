"""Mistakes are collected with their paths, and names are met with the nearest."""

from __future__ import annotations

import pytest

from fitprofile.store.mistakes import (
    Gather,
    Mistakes,
    listed,
    mistake,
    nearest,
    sent_home,
    unknown,
)


def fail(*keys: str | int) -> int:
    """A part that has two mistakes."""
    raise Mistakes([(keys, "one"), ((), "two")])


def test_paths_grow_outward() -> None:
    """What was found inside a part is kept under the part's key, in order."""
    gather = Gather()
    assert gather.part("a", int, "3") == 3
    assert gather.part("b", fail, "x", 1) is None
    assert gather.here(fail, "y") is None
    gather.add("three", "c")
    assert gather.found == [
        (("b", "x", 1), "one"),
        (("b",), "two"),
        (("y",), "one"),
        ((), "two"),
        (("c",), "three"),
    ]
    with pytest.raises(Mistakes) as caught:
        gather.check()
    assert list(caught.value.found) == gather.found


def test_nothing_found_is_nothing_raised() -> None:
    """Checking an empty collection passes."""
    Gather().check()


def test_mistakes_of_the_program_are_not_caught() -> None:
    """Only what a person got wrong is collected."""
    with pytest.raises(ZeroDivisionError):
        Gather().part("a", lambda: 1 / 0)


def test_unknown_names() -> None:
    """The nearest name is offered; else all there are, unless they are too many."""
    assert unknown("statur", ["stature", "span"]) == "unknown key 'statur', did you mean 'stature'?"
    assert (
        unknown("xyz", ["a", "b", "c"], "point") == "unknown point 'xyz': here it can be a, b or c"
    )
    assert "new template" in unknown("xyz", map(str, range(40)))
    assert unknown("\x1b[31m" + "x" * 900, ["a"]).isprintable()
    assert nearest("x" * 10_000, ["stature"]) is None


def test_strangers_are_sent_home() -> None:
    """A key that is known elsewhere is told where it belongs; other sentences stay."""
    found = [
        (("steering", "kind"), unknown("kind", ["rake"])),
        (("steering", "kid"), unknown("kid", ["rake"])),
        (("steering", "kind"), "something else"),
    ]
    sent = sent_home(found, {"kind": "in [handlebar]"})
    assert sent[0] == (
        ("steering", "kind"),
        "'kind' does not go here, it belongs in [handlebar]",
    )
    assert sent[1:] == found[1:]


def test_lists_in_sentences() -> None:
    """Names are joined as a person would."""
    assert [listed("a"), listed("ab"), listed("abc", "and")] == ["a", "a or b", "a, b and c"]


def test_one_mistake() -> None:
    """A single one carries its path and its text."""
    assert mistake("odd", "a", 0).found == ((("a", 0), "odd"),)
    assert str(mistake("odd")) == "odd"
