"""Annotations of the model decide how a field is read."""

from __future__ import annotations

from typing import Annotated

import pytest
from attrs import field, frozen

from fitprofile.model.quantity import ANGLE, LENGTH, MASS, AngleBand, Q, Reading
from fitprofile.store.mistakes import Mistakes
from fitprofile.store.structure import (
    Shape,
    choices,
    class_reader,
    example,
    homes_of,
    is_pair,
    keys_of,
    make_converter,
    nested_class,
    quantity,
    range_of,
    read_names,
    read_tables,
)
from fitprofile.units import read

WIDTH = Q(LENGTH, 300.0, 1200.0)
Width = Annotated[Reading, WIDTH]
Side = Annotated[str, ("left", "right")]
Words = Annotated[tuple[str, ...], ("left", "right")]


@frozen(kw_only=True)
class Inner:
    """A table inside a table."""

    band: AngleBand | None = None
    flag: bool = False


@frozen(kw_only=True)
class Outer:
    """A table with one field of each kind."""

    key: str
    width: Width
    side: Side | None = None
    inner: Inner = field(factory=Inner)
    word: str = "none"


INNER = class_reader(Inner, Shape(), make_converter().get_structure_hook)
OUTER = class_reader(Outer, Shape(given=("key",)), make_converter().get_structure_hook)


def test_a_class_is_read_by_its_annotations() -> None:
    """Figures, choices, bands, flags, text and nested tables, with defaults for the rest."""
    raw = {"width": "82 cm", "side": "left", "inner": {"band": [-1, 2], "flag": True}, "word": "x"}
    assert OUTER(raw, {"key": "k"}) == Outer(
        key="k",
        width=Reading(820.0),
        side="left",
        inner=Inner(band=(-1.0, 2.0), flag=True),
        word="x",
    )
    assert OUTER({"width": 820}, {"key": "k"}) == Outer(key="k", width=Reading(820.0))


def test_every_field_is_tried() -> None:
    """All mistakes of a table and of the tables inside it are found together."""
    raw = {"key": 1, "side": "top", "inner": {"band": 3, "flag": "no", "x": 1}, "word": 3}
    with pytest.raises(Mistakes) as caught:
        OUTER(raw, {"key": "k"})
    assert {path for path, _ in caught.value.found} == {
        ("key",),
        ("width",),
        ("side",),
        ("inner", "band"),
        ("inner", "flag"),
        ("inner", "x"),
        ("word",),
    }


@pytest.mark.parametrize("raw", [3, "x", [], True, [{}]])
def test_a_table_is_a_table(raw: object) -> None:
    """Anything else in its place is one mistake."""
    with pytest.raises(Mistakes, match="where a table of keys is wanted"):
        OUTER(raw, {})


def test_a_misspelt_key_is_not_missing_as_well() -> None:
    """One slip of the pen is one sentence."""
    with pytest.raises(Mistakes) as caught:
        OUTER({"widht": 820}, {"key": "k"})
    assert caught.value.found == ((("widht",), "unknown key 'widht', did you mean 'width'?"),)


def test_what_annotations_hold() -> None:
    """Range, words and nested class are found inside optional and paired types."""
    assert quantity(Width | None) is quantity(tuple[Width, Width] | None) is WIDTH
    assert quantity(str | None) is None
    assert range_of(Width | None) is WIDTH
    with pytest.raises(TypeError, match="carries no range"):
        range_of(str)
    assert choices(Side | None) == ("left", "right")
    assert choices(Width) == ()
    assert nested_class(Inner | None) is Inner
    assert nested_class(Width | None) is None
    assert [is_pair(t) for t in (AngleBand | None, tuple[Width, Width], Width, Side)] == [
        True,
        True,
        False,
        False,
    ]
    assert keys_of(Outer) == ["key", "width", "side", "word"]
    assert homes_of([("first", "ab"), ("second", "bc")]) == {
        "a": "first",
        "b": "first",
        "c": "second",
    }


@pytest.mark.parametrize("q", [WIDTH, Q(ANGLE, -60.0, 60.0), Q(MASS, 25.0, 250.0)])
def test_examples_lie_in_the_range(q: Q) -> None:
    """The figure that a sentence shows is one that could be written."""
    shown = example(q)
    raw: object = shown.strip('"') if shown.startswith('"') else float(shown)
    assert q.low <= read(raw, q.kind) <= q.high


def test_names_from_a_list() -> None:
    """A table by name keeps its order and every mistake in it."""

    def reader(name: str, raw: object) -> str:
        return f"{name}{raw}"

    assert list(read_names({"b": 1, "a": 2}, "ab", reader).items()) == [("b", "b1"), ("a", "a2")]
    with pytest.raises(Mistakes) as caught:
        read_names({"xyz": 1}, "ab", reader, needed={"a": None}, what="point")
    assert [path for path, _ in caught.value.found] == [("xyz",), ("a",)]


def test_tables_in_a_row() -> None:
    """Each ``[[name]]`` is read; anything but a list of tables is refused with the form."""
    assert read_tables([{"band": [1, 2]}, {}], "inner", INNER) == (Inner(band=(1.0, 2.0)), Inner())
    assert read_tables([], "inner", INNER) == ()
    for wrong, path, said in (
        ({"band": [1, 2]}, (), "begin each with [[inner]]"),
        ([{}, 3], (1,), "a table of keys is wanted"),
        ([{"bnd": 3}], (0, "bnd"), "did you mean 'band'?"),
    ):
        with pytest.raises(Mistakes) as caught:
            read_tables(wrong, "inner", INNER)
        assert caught.value.found[0][0] == path
        assert said in caught.value.found[0][1]


def test_several_words_of_a_few() -> None:
    """An annotated tuple of words is a list in the file, each word one of those allowed."""
    hook = make_converter().get_structure_hook(Words)
    assert hook(["right", "left"], Words) == ("right", "left")
    assert hook([], Words) == ()
    assert choices(Words) == ("left", "right")
    assert is_pair(Words)
    for wrong, path, said in (
        ("left", (), "a list of words"),
        (["left", "rigt"], (1,), '"right"?'),
    ):
        with pytest.raises(Mistakes) as caught:
            hook(wrong, Words)
        assert caught.value.found[0][0] == path
        assert said in caught.value.found[0][1]
