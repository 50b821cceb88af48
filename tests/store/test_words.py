"""Words of a file are read strictly."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable

import pytest

from fitprofile.store.mistakes import Mistakes
from fitprofile.store.words import (
    LONGEST_NAME,
    read_choice,
    read_date,
    read_flag,
    read_mileage,
    read_notes,
    read_state,
    read_text,
    why_no_file_key,
)

STATES = ("wheels", "stand")


@pytest.mark.parametrize(
    ("reader", "raw", "value"),
    [
        (read_text, "  Ida <b>'\"  ", "Ida <b>'\""),
        (read_text, "x" * LONGEST_NAME, "x" * LONGEST_NAME),
        (read_notes, "a\n\tb\n", "a\n\tb"),
        (read_flag, False, False),
        (read_date, dt.date(2026, 5, 17), "2026-05-17"),
        (read_date, dt.datetime(2026, 5, 17, 7, 30, tzinfo=dt.UTC), "2026-05-17"),
        (read_date, "2026-05-17", "2026-05-17"),
        (read_mileage, 0, "0"),
        (read_mileage, "12,400 km", "12,400 km"),
    ],
)
def test_taken(reader: Callable[[object], object], raw: object, value: object) -> None:
    """What is right comes out, text without the blanks around it."""
    assert reader(raw) == value


@pytest.mark.parametrize(
    ("reader", "raw", "said"),
    [
        (read_text, 3, "the number 3 is not text"),
        (read_text, " ", "empty"),
        (read_text, "x" * (LONGEST_NAME + 1), "81 characters are too many"),
        (read_text, "a\nb", "U+000A"),
        (read_text, "a\x1b[0m", "U+001B"),
        (read_text, "a\u202eb", "U+202E"),
        (read_notes, "a\rb", "U+000D"),
        (read_flag, 1, "neither true nor false"),
        (read_flag, "true", "no quotes"),
        (read_date, "17 May", "like 2026-05-17"),
        (read_date, dt.time(7, 30), "not text"),
        (read_mileage, True, "true is not text"),
        (read_mileage, -1, "not text"),
    ],
)
def test_refused(reader: Callable[[object], object], raw: object, said: str) -> None:
    """What only looks right is refused with the way to mend it."""
    with pytest.raises(Mistakes, match=re.escape(said)):
        reader(raw)


def test_choices() -> None:
    """One of a few words, exactly; what comes near is offered."""
    assert read_choice("stand", STATES) == "stand"
    for raw, said in (
        ("Stand", 'did you mean "stand"?'),
        ("x" * 500, "..."),
        (["stand"], "a list is not understood"),
    ):
        with pytest.raises(Mistakes, match=re.escape(said)):
            read_choice(raw, STATES)


@pytest.mark.parametrize("raw", ["side stand", "Side-Stand", "kickstand", " sidestand "])
def test_a_leaning_bike_is_refused_with_the_reason(raw: str) -> None:
    """Whatever the side stand is called, the sentence says why it spoils the tape."""
    with pytest.raises(Mistakes, match="the bike leans"):
        read_state(raw, STATES)


@pytest.mark.parametrize("key", ["a", "A-b_9", "9", "x" * 64])
def test_file_keys(key: str) -> None:
    """Letters, digits, - and _ make a file's name."""
    assert why_no_file_key(key) is None


@pytest.mark.parametrize("key", ["", "-a", "_a", "a.b", "a/b", "..", "ä", "a b", "x" * 65, "a\n"])
def test_no_file_keys(key: str) -> None:
    """Everything else does not, and the sentence stays on one line."""
    why = why_no_file_key(key)
    assert why is not None
    assert why.isprintable()
    assert len(why) < 250
