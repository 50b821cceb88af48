"""Numbers as a workshop reads them."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.report import wording
from fitprofile.report.wording import DEG, MM

nan = float("nan")


@pytest.mark.parametrize(
    ("value", "unit", "signed", "expected"),
    [
        (820.4, MM, False, "820\N{NO-BREAK SPACE}mm"),
        (13.6, MM, True, "+14\N{NO-BREAK SPACE}mm"),
        (-12.2, MM, True, "\N{MINUS SIGN}12\N{NO-BREAK SPACE}mm"),
        (-0.3, DEG, True, "0°"),
        (14.4, DEG, False, "14°"),
        (nan, MM, False, "\N{EM DASH}"),
    ],
)
def test_figures_are_whole(value: float, unit: str, signed: bool, expected: str) -> None:
    """Whole millimetres and degrees; a gap is a dash, never a number."""
    assert wording.figure(value, unit, signed=signed) == expected


@given(st.floats(-5000, 5000), st.sampled_from([MM, DEG]))
def test_no_figure_claims_a_decimal(value: float, unit: str) -> None:
    """A workshop laughs at 27.4 mm."""
    assert not re.search(r"\d[.,]\d", wording.figure(value, unit, signed=True))


def test_a_wide_half_width_takes_the_last_digit_away() -> None:
    """From 100 on a give or take carries two digits, so figures go in tens."""
    assert wording.figure(1234.0, MM, give=140.0) == "1230\N{NO-BREAK SPACE}mm"
    assert wording.figure(1234.0, MM, give=40.0) == "1234\N{NO-BREAK SPACE}mm"


def test_half_widths() -> None:
    """Never below what is printed, and nothing where none is known."""
    assert wording.half_width(0.2, MM) == "±1"
    assert wording.half_width(12.6, MM) == "±13"
    assert wording.half_width(2.6, DEG) == "±3°"
    assert wording.half_width(nan, MM) == wording.half_width(0.0, MM) == ""
    assert wording.tolerance(10.0, MM) == "±10\N{NO-BREAK SPACE}mm"


def test_inches_stand_beside() -> None:
    """13 mm is half an inch to the nearest sixteenth (25.4 mm, NIST SP 811)."""
    assert wording.inches(12.7, signed=True) == "+1/2″"
    assert wording.inches(820.7375) == "32\N{NO-BREAK SPACE}5/16″"
    assert wording.inches(nan) == ""


@pytest.mark.parametrize(
    ("chance", "expected"),
    [
        (0.0, "less than 1 in 20"),
        (0.31, "about 3 in 10"),
        (0.9, "about 9 in 10"),
        (1.0, "more than 19 in 20"),
        (nan, "not known"),
    ],
)
def test_chances_as_people_say_them(chance: float, expected: str) -> None:
    """Tenths, and never certainty."""
    assert wording.chance_words(chance) == expected


def test_keys_become_words() -> None:
    """Underscores and points go; trade words keep their hyphens."""
    assert wording.words_of("heights.grip_end") == "heights, grip end"
    assert wording.words_of("buttock_knee_length") == "buttock-knee length"
    assert wording.named("bar_roll") == ("Bar roll", DEG)
    assert wording.named("grip_tilt") == ("Grip tilt", DEG)
    assert wording.named("something_new") == ("something new", MM)


def test_lists_are_joined() -> None:
    """With commas and one and."""
    assert wording.joined([]) == ""
    assert wording.joined(["a"]) == "a"
    assert wording.joined(["a", "b", "c"]) == "a, b and c"
