"""A figure held against its limit."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.stages.check import held, to_look_at


@pytest.mark.parametrize(
    ("value", "limit", "least", "ok"),
    [
        (19.9, 20.0, True, False),
        (20.0, 20.0, True, True),
        (20.1, 20.0, False, False),
        (20.0, 20.0, False, True),
        (math.nan, 20.0, True, None),
        (20.0, math.nan, False, None),
    ],
)
def test_a_limit_is_a_least_or_a_most(
    value: float, limit: float, least: bool, ok: bool | None
) -> None:
    """On the limit is inside it; what is not known cannot be judged."""
    assert held("lock.fist", "fist", value, limit, "why", least=least).ok is ok


@given(value=st.floats(), limit=st.floats(), least=st.booleans())
def test_a_guess_is_never_judged(value: float, limit: float, least: bool) -> None:
    """Whatever the figures are."""
    assert held("a", "b", value, limit, "why", least=least, sure=False).ok is None
    assert to_look_at("a", "b", "why", value=value).ok is None
