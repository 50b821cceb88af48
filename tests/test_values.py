"""Frozen values behave as attrs' own, held against attrs itself."""

from __future__ import annotations

from typing import Any

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitprofile import values


def both(**options: Any) -> tuple[Any, Any]:
    """One class made by us and its twin made by attrs."""

    class Mine:
        a: int
        b: float = 1.0

    class Its:
        a: int
        b: float = 1.0

    Its.__name__ = Its.__qualname__ = "Mine"
    Mine.__qualname__ = "Mine"
    return values.frozen(Mine, **options), attrs.frozen(Its, **options)


@given(st.integers(), st.integers(), st.floats(), st.floats())
def test_equality_and_text_are_those_of_attrs(a: int, b: int, x: float, y: float) -> None:
    """``==``, ``!=`` and ``repr`` agree for any fields, ``nan`` included."""
    mine, its = both()
    assert (mine(a, x) == mine(b, y)) == (its(a, x) == its(b, y))
    assert (mine(a, x) != mine(b, y)) == (its(a, x) != its(b, y))
    assert repr(mine(a, x)) == repr(its(a, x))
    assert (mine(a, x) == its(a, x)) is False


@given(st.integers(), st.floats(allow_nan=False))
def test_equal_values_have_one_hash(a: int, x: float) -> None:
    """So that they can be keys."""
    mine, _ = both()
    assert hash(mine(a, x)) == hash(mine(a, x))
    assert len({mine(a, x), mine(a, x)}) == 1


def test_values_are_frozen_and_evolve() -> None:
    """Nothing can be set; attrs' own helpers work; wrong arguments are refused as ever."""
    mine, _ = both(kw_only=True)
    one = mine(a=1)
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        one.a = 2
    assert attrs.evolve(one, a=2) == mine(a=2, b=1.0)
    with pytest.raises(TypeError):
        mine(1)


def test_without_equality_only_the_same_value_is_equal() -> None:
    """``eq=False`` is for classes of arrays, which have no single truth."""
    mine, _ = both(eq=False)
    one = mine(1)
    assert one == one  # noqa: PLR0124 - that is the point
    assert one != mine(1)


def test_a_field_is_compared_as_it_says() -> None:
    """An array field with attrs' comparison compares by content; one with ``eq=False`` never."""

    @values.frozen
    class Held:
        array: Any = attrs.field(eq=attrs.cmp_using(eq=np.array_equal))
        note: str = attrs.field(default="", eq=False)

    assert Held(np.ones(3), "a") == Held(np.ones(3), "b")
    assert Held(np.ones(3)) != Held(np.zeros(3))
