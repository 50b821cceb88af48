"""The page model's own small helpers."""

from __future__ import annotations

from fitprofile.report.page import (
    FLAG,
    GAP,
    SMALL,
    STRONG,
    USER,
    Span,
    flag,
    gap,
    small,
    strong,
    text,
    user,
)


def test_text_joins_strings_and_spans_and_drops_empty_ones() -> None:
    """What is empty leaves no trace in any medium."""
    assert text("a", "", strong("b"), small("")) == (Span("a"), Span("b", STRONG))


def test_every_helper_names_its_kind() -> None:
    """Kinds are what media look at."""
    made = [make("x").kind for make in (strong, small, flag, gap, user)]
    assert made == [STRONG, SMALL, FLAG, GAP, USER]
