"""Figures of a file: number, text, list, table, band."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.model.quantity import ANGLE, LENGTH, Q, Reading
from fitprofile.store.figures import (
    COVERAGE,
    MOST_READINGS,
    read_band,
    read_figure,
    read_pair,
    read_reading,
)
from fitprofile.store.mistakes import Mistakes
from fitprofile.store.toml import KeyPath

WIDTH = Q(LENGTH, 300.0, 1200.0, many=True)
ONCE = Q(LENGTH, 300.0, 1200.0)
TILT = Q(ANGLE, -60.0, 60.0, many=True)
ARMS = Q(ANGLE, -60.0, 60.0, many=True, sides=True)


@pytest.mark.parametrize(
    ("raw", "reading"),
    [
        (820, Reading(820.0)),
        ("82 cm", Reading(820.0)),
        ([820, "83 cm"], Reading(825.0, count=2, scatter=10.0)),
        ([820], Reading(820.0, count=1)),
        ({"value": "82 cm"}, Reading(820.0)),
        ({"value": "82 cm", "give_or_take": "8 mm"}, Reading(820.0, 4.0)),
        ({"value": [820, 822], "how": "tape"}, Reading(821.0, None, 2, "tape", scatter=2.0)),
        ({"value": 820, "to": "top"}, Reading(820.0, top=True)),
        ({"left": 820, "right": 824}, Reading(822.0, None, 2, sides=(820.0, 824.0))),
        (
            {"left": 820, "right": "82.4 cm", "give_or_take": 6, "to": "top", "how": "rule"},
            Reading(822.0, 3.0, 2, "rule", top=True, sides=(820.0, 824.0)),
        ),
    ],
)
def test_forms_of_a_figure(raw: object, reading: Reading) -> None:
    """Each form gives its value, its spread (half of give or take) and what was said."""
    assert read_reading(raw, WIDTH, top=True, sides=True) == reading


@pytest.mark.parametrize(
    ("raw", "paths", "said"),
    [
        (80, [()], 'did you mean "80 cm"?'),
        (32, [()], 'did you mean "32 cm"?'),
        (20_000, [()], "20000 mm lies outside 300 to 1200 mm"),
        ("20 m", [()], "20000 mm lies outside"),
        (-820, [()], "-820 mm is negative"),
        (True, [()], "true is not a figure"),
        ("860", [()], "take the quotes off"),
        ("86", [()], 'did you mean "86 cm"?'),
        ("25", [()], 'did you mean "25 in"?'),
        ([], [()], f"1 to {MOST_READINGS} figures"),
        ([820] * (MOST_READINGS + 1), [()], f"1 to {MOST_READINGS} figures"),
        ([820, "x", 1], [(1,), (2,)], "cannot be read"),
        ([[820]], [(0,)], "a list is not a figure"),
        ({}, [()], "add value"),
        ({"valu": 820}, [("valu",)], "did you mean 'value'?"),
        ({"value": 820, "give_or_take": 0}, [("give_or_take",)], "above 0"),
        ({"value": 820, "give_or_take": -8}, [("give_or_take",)], "above 0"),
        ({"value": 820, "give_or_take": "8"}, [("give_or_take",)], "take the quotes off"),
        ({"value": 820, "how": 3}, [("how",)], "not text"),
        ({"value": 820, "how": ""}, [("how",)], "empty"),
        ({"value": 820, "to": "top"}, [("to",)], "heights and spans"),
        ({"left": 820, "right": 820}, [("left",)], "one figure for both"),
        ({"value": 80, "how": 1, "x": 2}, [("x",), ("how",), ("value",)], "unknown key"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_figure(raw: object, paths: list[KeyPath], said: str) -> None:
    """Every mistake is found at once, each with its path inside the figure."""
    with pytest.raises(Mistakes) as caught:
        read_reading(raw, WIDTH)
    assert [path for path, _ in caught.value.found] == paths
    assert said in caught.value.found[0][1]


def test_one_reading_only() -> None:
    """Where sitting or taping again makes no sense a list is refused, inside a table as well."""
    for raw in ([820, 821], {"value": [820, 821]}):
        with pytest.raises(Mistakes, match="list of readings is not taken here"):
            read_reading(raw, ONCE)


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        ({"left": 820}, "right is missing"),
        ({"right": 820}, "left is missing"),
        ({"value": 820, "left": 820, "right": 820}, "give either value, or left and right"),
        ({"left": 820, "right": "x"}, "cannot be read"),
        ({"value": 820, "to": "bottom"}, 'write to = "top"'),
        ({"value": 820, "to": True}, 'write to = "top"'),
    ],
)
def test_sides_and_tops(raw: object, said: str) -> None:
    """Both sides or none; the only place a tape is said to go to is the top."""
    with pytest.raises(Mistakes, match=re.escape(said)):
        read_reading(raw, WIDTH, top=True, sides=True)


@pytest.mark.parametrize(
    ("raw", "q", "said"),
    [
        ("14/20 deg", ARMS, "for left and right write { left = 14, right = 20 }"),
        ("14/20", ARMS, "for left and right write { left = 14, right = 20 }"),
        (["15", "-14/20°"], ARMS, "for left and right write { left = 14, right = 20 }"),
        ({"value": "14/20 deg"}, ARMS, "for left and right write { left = 14, right = 20 }"),
        ({"left": "14/20 deg", "right": 8}, ARMS, "write one figure, as in 6.5"),
        ("1/2 deg", TILT, "write one figure, as in 6.5"),
    ],
)
def test_an_angle_that_is_a_fraction_is_met_with_what_was_meant(
    raw: object, q: Q, said: str
) -> None:
    """Left and right where they may differ, else one figure; of lengths a fraction is a figure."""
    with pytest.raises(Mistakes, match=re.escape(said)) as caught:
        read_reading(raw, q)
    assert all("is a fraction of a degree" in text for _, text in caught.value.found[-1:])
    assert read_reading("5/16 in", Q(LENGTH, 0.0, 10.0)).value == 7.9375


def test_bands_run_upward() -> None:
    """A band is two figures, the lower one first; both may be the same."""
    assert read_band([-8, "8 deg"], TILT) == (-8.0, 8.0)
    assert read_band([3, 3], TILT) == (3.0, 3.0)
    assert read_pair([5, 3], TILT, "[left, right]") == (5.0, 3.0)
    for raw, said in (
        ([8, -8], "write [-8, 8]"),
        ([8], "a list of 1"),
        (8, "the number 8 where two figures"),
        ([1, 2, 3], "a list of 3"),
    ):
        with pytest.raises(Mistakes, match=re.escape(said)):
            read_band(raw, TILT)
    with pytest.raises(Mistakes) as caught:
        read_band(["x", 90], TILT)
    assert [path for path, _ in caught.value.found] == [(0,), (1,)]


@given(st.floats(), st.floats(-1e6, 1e6), st.floats(0.0, 1e6))
def test_nothing_outside_the_range(value: float, low: float, width: float) -> None:
    """Whatever comes through lies in the range, both ends included; nan never does."""
    q = Q(LENGTH, low, low + width)
    try:
        found: float | None = read_figure(value, q)
    except Mistakes:
        found = None
    assert (found is not None) == (q.low <= value <= q.high)


@given(st.lists(st.floats(300.0, 1200.0), min_size=1, max_size=MOST_READINGS), st.floats(0.1, 800))
def test_repeated_readings_are_averaged(values: list[float], half: float) -> None:
    """The value is the mean, the count says of how many, the spread is that of one reading."""
    reading = read_reading({"value": values, "give_or_take": half}, WIDTH)
    assert reading.value == pytest.approx(sum(values) / len(values))
    assert reading.count == len(values)
    assert reading.sd == pytest.approx(half / COVERAGE)
