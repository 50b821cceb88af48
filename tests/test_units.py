"""Figures as people write them, against published conversion factors and against themselves."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fitprofile.units import (
    ANGLE,
    FACTORS,
    INCH_STEPS,
    KG_PER_POUND,
    LENGTH,
    LONGEST_TEXT,
    MASS,
    MM_PER_INCH,
    NOISE,
    NOTHING,
    NUMBER,
    UnitError,
    format_degrees,
    format_inches,
    format_mm,
    read,
    text_pattern,
    whole,
)

# NIST Special Publication 811 (2008), appendix B.8, "Factors for units listed alphabetically":
# factors in bold there are exact.
NIST_SP_811 = {
    ("inch", LENGTH): 2.54e-02 * 1000.0,  # inch (in) to metre, here in mm
    ("foot", LENGTH): 3.048e-01 * 1000.0,  # foot (ft) to metre, here in mm
    ("pound", MASS): 4.5359237e-01,  # pound (avoirdupois) (lb) to kilogram
}


@pytest.mark.parametrize(("unit", "kind"), NIST_SP_811)
def test_factors_are_those_of_nist(unit: str, kind: str) -> None:
    """One inch, foot and pound are what NIST SP 811 says, exactly."""
    assert FACTORS[kind][unit] == pytest.approx(NIST_SP_811[unit, kind], rel=1e-15)
    assert read(f"1 {unit}", kind) == FACTORS[kind][unit]


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        (820, 820.0),
        (820.5, 820.5),
        ("82 cm", 820.0),
        ("820 mm", 820.0),
        ("0.82 m", 820.0),
        ("0,82 m", 820.0),
        ("1,720 m", 1720.0),
        ("1,5 cm", 15.0),
        (".5 in", 12.7),
        ("32 5/16 in", 820.7375),
        ("32-5/16 in", 820.7375),
        ("32 5\N{FRACTION SLASH}16 in", 820.7375),
        ("32½ in", 825.5),
        ("32 ½ in", 825.5),
        ("½ in", 12.7),
        ("5/16 in", 7.9375),
        ("32.5 in", 825.5),
        ("32.5 in.", 825.5),
        ("32 inches", 812.8),
        ("1 inch", 25.4),
        ('32 1/2"', 825.5),
        ("32½\N{DOUBLE PRIME}", 825.5),
        ("32''", 812.8),
        ("5' 11\"", 1803.4),
        ("5'11\"", 1803.4),
        ("5\N{PRIME}11½\N{DOUBLE PRIME}", 1816.1),
        ("5 ft 7 in", 1701.8),
        ("5ft 7in", 1701.8),
        ("6 feet", 1828.8),
        ("  82\N{NO-BREAK SPACE}CM ", 820.0),
        ("-8 mm", -8.0),
        ("\N{MINUS SIGN}8 mm", -8.0),
        ("+8 mm", 8.0),
    ],
)
def test_lengths(written: object, mm: float) -> None:
    """Every way in which a tape is read aloud gives the same millimetres."""
    assert read(written, LENGTH) == pytest.approx(mm, rel=1e-15)


@pytest.mark.parametrize(
    ("written", "kg"),
    [(82, 82.0), ("82 kg", 82.0), ("180 lb", 180 * KG_PER_POUND), ("180 lbs", 180 * KG_PER_POUND),
     ("13 st 5 lb", 187 * KG_PER_POUND), ("13 stone", 182 * KG_PER_POUND), ("82,500 kg", 82.5)],
)  # fmt: skip
def test_masses(written: object, kg: float) -> None:
    """Kilograms, pounds, and stones with pounds."""
    assert read(written, MASS) == pytest.approx(kg, rel=1e-15)


@pytest.mark.parametrize(
    ("written", "degrees"), [(14, 14.0), (-3.5, -3.5), ("14 deg", 14.0), ("14°", 14.0)]
)
def test_angles(written: object, degrees: float) -> None:
    """Angles are numbers of degrees; text that says so is read as well."""
    assert read(written, ANGLE) == degrees


@pytest.mark.parametrize(
    ("written", "kind", "said"),
    [
        ("860", LENGTH, "take the quotes off"),
        ("32 1/2", LENGTH, "text without a unit"),
        ("", LENGTH, "empty"),
        (" cm", LENGTH, "no figure"),
        ("12 in 5 ft", LENGTH, "mixes two units"),
        ("11 in 5 ft", LENGTH, "mixes two units"),
        ("5 ft 13 in", LENGTH, "below 12"),
        ("5.5 ft 3 in", LENGTH, "first figure is whole"),
        ("13 st 14 lb", MASS, "below 14"),
        ("1/0 in", LENGTH, "cannot be 0"),
        ("32 16/5 in", LENGTH, "less than 1"),
        ("3 parsec", LENGTH, "not known"),
        ("3 milimetre", LENGTH, "did you mean millimetre"),
        ("82 kg", LENGTH, "is a mass"),
        ("82 cm", MASS, "is a length"),
        ("82 cm", ANGLE, "is a length"),
        ("14°", LENGTH, "is an angle"),
        ("1,500 mm", LENGTH, "1500 or as 1.500"),
        ("5' 11", LENGTH, "cannot be read"),
        ("1 2 3 mm", LENGTH, "cannot be read"),
        ("nan mm", LENGTH, "cannot be read"),
        ("1e3 mm", LENGTH, "not known"),
        ("9" * 4000 + " mm", LENGTH, "too long"),
        ("12", NUMBER, "a number is wanted"),
        (True, LENGTH, "true is not a figure"),
        (False, ANGLE, "false is not a figure"),
        ([860], LENGTH, "a list is not a figure"),
        ({}, LENGTH, "a table is not a figure"),
        (float("nan"), LENGTH, "not a number that can be measured"),
        (float("inf"), LENGTH, "not a number that can be measured"),
        (10**400, LENGTH, "not a number that can be measured"),
    ],
)
def test_refused(written: object, kind: str, said: str) -> None:
    """What is no figure of the kind is refused with the way to mend it."""
    with pytest.raises(UnitError, match=re.escape(said)):
        read(written, kind)


@given(st.text(max_size=LONGEST_TEXT + 5), st.sampled_from([LENGTH, MASS, ANGLE]))
@example("0" * LONGEST_TEXT, LENGTH)
@example("٣ mm", LENGTH)
def test_any_text_is_read_or_refused(text: str, kind: str) -> None:
    """Nothing but a finite figure or a sentence of one line comes out of any text."""
    try:
        outcome: object = read(text, kind)
    except UnitError as error:
        outcome = str(error)
    assert outcome.isprintable() if isinstance(outcome, str) else isinstance(outcome, float)


_UNITS = st.sampled_from(
    ["mm", "cm", "m", "in", "in.", "ft", "inches", "Foot", '"', "\N{DOUBLE PRIME}", "''"]
)
_DECIMALS = st.decimals(0, 5000, places=2, allow_nan=False).map(str)
_DASHES = st.sampled_from([" ", "-", "\N{EN DASH}"])
_SIXTEENTHS = st.tuples(
    st.integers(0, 200).map(str), _DASHES, st.integers(1, 15).map(lambda top: f"{top}/16")
).map("".join)
_FIGURES = st.tuples(
    st.sampled_from(["", "-", "\N{MINUS SIGN}", " "]),
    _DECIMALS | _SIXTEENTHS | st.sampled_from(["½", "7¾", "7 ¾", "1,5"]),
    st.sampled_from(["", " ", "\N{NO-BREAK SPACE}"]),
    _UNITS,
    st.sampled_from(["", " ", "5 in", "\t"]),
).map("".join)


@given(_FIGURES)
def test_pattern_lets_through_what_is_read(text: str) -> None:
    """The expression for editors never marks a length that the reader takes."""
    try:
        read(text, LENGTH)
    except UnitError:
        return
    assert re.search(text_pattern(LENGTH), text)


@given(st.from_regex(text_pattern(LENGTH), fullmatch=True))
def test_pattern_lets_through_little_else(text: str) -> None:
    """What the expression cannot tell is a wrong size of a part, an unclear comma or length."""
    try:
        read(text, LENGTH)
    except UnitError as error:
        told = str(error)
    else:
        return
    known = ("after a whole number", "first figure is whole", "write one of the two", "too long")
    assert any(part in told for part in known)


@pytest.mark.parametrize("text", ["14/20 deg", "-14 / 20\N{DEGREE SIGN}", "14\N{FRACTION SLASH}20"])
def test_an_angle_that_is_a_lone_fraction_is_refused(text: str) -> None:
    """Left and right were meant; the editor's expression stops it as well."""
    with pytest.raises(UnitError, match="'14/20' is a fraction of a degree: write one figure"):
        read(text, ANGLE)
    assert not re.search(text_pattern(ANGLE), text)


@pytest.mark.parametrize(
    ("text", "degrees"), [("6 1/2 deg", 6.5), ("6½\N{DEGREE SIGN}", 6.5), ("½ deg", 0.5)]
)
def test_parts_of_a_degree_that_nobody_mistakes_are_read(text: str, degrees: float) -> None:
    """A whole figure before the fraction, or a sign for it."""
    assert read(text, ANGLE) == degrees
    assert re.search(text_pattern(ANGLE), text)


@pytest.mark.parametrize("text", ["860", "", " cm", "1/0 in", "82 kg", "11 in 5 ft", "3 parsec"])
def test_pattern_stops_what_is_refused(text: str) -> None:
    """The expression for editors marks the commonest mistakes."""
    assert not re.search(text_pattern(LENGTH), text)


@given(st.integers(-5000 * INCH_STEPS, 5000 * INCH_STEPS))
def test_sixteenths_come_back(steps: int) -> None:
    """A length on a sixteenth of an inch, printed and read again, is the same length."""
    mm = float(Fraction(steps, INCH_STEPS)) * MM_PER_INCH
    assert read(format_inches(mm), LENGTH) == pytest.approx(mm, abs=1e-9)


@given(st.floats(-5000.0, 5000.0))
def test_printed_lengths_are_near(mm: float) -> None:
    """Print rounds to half a millimetre and to a thirty-second of an inch at most."""
    assert abs(read(format_mm(mm), LENGTH) - mm) <= 0.5 + NOISE
    half_step = MM_PER_INCH / INCH_STEPS / 2
    assert abs(read(format_inches(mm), LENGTH) - mm) <= half_step * (1 + 2 * NOISE) + 1e-9


@given(st.integers(-5000, 5000), st.floats(-0.5, 0.5))
def test_whole_figures_are_the_nearest_a_half_away_from_zero(near: int, off: float) -> None:
    """As decimal arithmetic rounds, but for what is noise beside a half; down mirrors up."""
    value = Decimal(near + off)
    expected = int(value.quantize(Decimal(1), ROUND_HALF_UP))
    assert whole(near + off) == expected or abs(abs(near + off) % 1.0 - 0.5) <= NOISE
    assert whole(-(near + off)) == -whole(near + off)


@pytest.mark.parametrize("noise", [0.0, 1e-9, -1e-9])
def test_a_half_goes_away_from_zero_whatever_arithmetic_left_of_it(noise: float) -> None:
    """Not to the even figure, as 62.5 would."""
    assert [whole(value + noise) for value in (61.5, 62.5, 63.5)] == [62, 63, 64]
    assert [whole(-value + noise) for value in (61.5, 62.5, 63.5)] == [-62, -63, -64]
    assert format_mm(62.5) == "63 mm"


@given(st.floats(-180.0, 180.0))
def test_printed_angles_are_near(degrees: float) -> None:
    """Print rounds to half a degree at most."""
    assert abs(read(format_degrees(degrees), ANGLE) - degrees) <= 0.5 + NOISE


@pytest.mark.parametrize(
    ("mm", "text"),
    [
        (820.7375, "32 5/16\N{DOUBLE PRIME}"),
        (12.7, "1/2\N{DOUBLE PRIME}"),
        (-12.7, "-1/2\N{DOUBLE PRIME}"),
        (0.2, "0\N{DOUBLE PRIME}"),
        (-0.2, "0\N{DOUBLE PRIME}"),
        (25.4, "1\N{DOUBLE PRIME}"),
        (25.3, "1\N{DOUBLE PRIME}"),
        (float("nan"), NOTHING),
    ],
)
def test_inches(mm: float, text: str) -> None:
    """Inch fractions are reduced, and carry no sign on nothing."""
    assert format_inches(mm) == text


def test_signed_and_missing() -> None:
    """Changes carry their sign; a figure that does not exist is a dash."""
    assert format_mm(14.4, signed=True) == "+14 mm"
    assert format_mm(-0.3, signed=True) == "0 mm"
    assert format_degrees(-2.6, signed=True) == "-3°"
    assert format_inches(25.4, signed=True) == "+1\N{DOUBLE PRIME}"
    assert format_mm(float("nan")) == format_degrees(float("inf")) == NOTHING
