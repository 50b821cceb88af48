"""Answers as people type them: one reading or several, with a unit or without."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.errors import Problem
from fitprofile.model.log import MEASURED
from fitprofile.store.answers import MIXED, SIDES_ALONE, read_answer

READ = {
    ("navel_to_bar", "51.2 cm; 51.6 cm"): ["51.2 cm", "51.6 cm"],
    ("navel_to_bar", "51.2 cm 51.6 cm"): ["51.2 cm", "51.6 cm"],
    ("navel_to_bar", " 512;516 ; 514 "): [512, 516, 514],
    ("navel_to_bar", "512 516"): [512, 516],
    ("navel_to_bar", "512,5"): 512.5,
    ("navel_to_bar", "20 3/16 in"): "20 3/16 in",
    ("navel_to_bar", "20 3/16 in 20 1/4 in"): ["20 3/16 in", "20 1/4 in"],
    ("navel_to_bar", '20"'): '20"',
    ("bar_width", "2 ft 7 in"): "2 ft 7 in",
    ("bar_width", "2 ft 7 in 2 ft 8 in"): ["2 ft 7 in", "2 ft 8 in"],
    ("grip_tilt", "-3"): -3,
    ("grip_tilt", "-3 −2.5"): [-3, -2.5],  # noqa: RUF001 - a true minus sign
    ("knee_angle", "88° 90 deg"): ["88°", "90 deg"],
    ("lever_angle", "{ left = 14, right = 20 }"): {"left": 14, "right": 20},
    ("lever_angle", '{right="20 deg",left=14.5}'): {"left": 14.5, "right": "20 deg"},
    ("forearm_angle", "Left 14°, right -2°"): {"left": "14°", "right": "-2°"},
    ("knee_angle", "{ left = 88,5, right = 90 }"): {"left": 88.5, "right": 90},
    ("lever_angle", "6 1/2"): 6.5,
    ("lever_reach_brake", "2 1/2 in"): "2 1/2 in",
    ("when", " After "): "after",
    ("date", "20260517"): "2026-05-17",
    ("date", "2026-05-17T14:30"): "2026-05-17T14:30:00",
    ("gear", " boots "): "boots",
    ("notes", "two\nlines"): "two\nlines",
}


@pytest.mark.parametrize(("key", "text"), READ)
def test_an_answer_becomes_what_the_file_would_hold(key: str, text: str) -> None:
    """Text keeps its unit, a bare number is one, several readings make a list."""
    found = read_answer(key, text)
    assert found == READ[key, text]
    assert not isinstance(found, bool)


REFUSED = {
    ("navel_to_bar", "51.2; 51.6 cm"): MIXED,
    ("navel_to_bar", "51.2"): "51.2 mm lies outside 100 to 1200 mm",
    ("navel_to_bar", "1,100"): "can be read as 1100 or as 1.100",
    ("navel_to_bar", "51.2 kg"): "is a mass",
    ("navel_to_bar", "51.2 mc"): "is not known",
    ("navel_to_bar", "about 51"): "cannot be read",
    ("navel_to_bar", ";"): "the text is empty",
    ("navel_to_bar", "512 " * 60): "60 readings are too many",
    ("knee_angle", "88 200"): "200 deg lies outside 20 to 180 deg",
    ("knee_angle", "nan"): "cannot be read",
    (
        "lever_angle",
        "14/20",
    ): "fraction of a degree: for left and right write { left = 14, right = 20 }",
    ("lever_angle", "-14 / 20 deg"): "write { left = 14, right = 20 }",
    ("knee_angle", "90/85"): "write { left = 90, right = 85 }",
    ("grip_tilt", "1/2"): "fraction of a degree: write one figure",
    ("lever_angle", "{ left = 14, right = 20 }; 15"): SIDES_ALONE,
    ("lever_angle", "{ left = 14 }"): SIDES_ALONE,
    ("lever_angle", "left 14 left 15"): SIDES_ALONE,
    ("lever_angle", "{ left = 14, right = 80 }"): "80 deg lies outside -60 to 60 deg",
    ("lever_angle", "{ left = 14/20, right = 8 }"): "'14/20' is a fraction of a degree",
    ("lean", "{ left = 14, right = 20 }"): "cannot be read",
    ("when", "later"): '\'later\' is not "before" or "after"',
    ("tape", "helpr"): 'did you mean "helper"?',
    ("date", "17.5.2026"): "write it like 2026-05-17",
    ("gear", "x" * 81): "81 characters are too many",
    ("notes", "\x1b[31m"): "U+001B cannot be shown",
}


@pytest.mark.parametrize(("key", "text"), REFUSED)
def test_an_answer_that_cannot_be_read_is_met_with_one_sentence(key: str, text: str) -> None:
    """It names the key and says what is wrong."""
    problem = read_answer(key, text)
    assert isinstance(problem, Problem)
    assert problem.key == key
    assert REFUSED[key, text] in problem.text


def test_repeated_options_are_repeated_readings() -> None:
    """Each may hold several itself."""
    assert read_answer("lean", "12", "13; 14") == [12, 13, 14]
    assert isinstance(read_answer("navel_to_bar", "512", "51 cm"), Problem)
    both = read_answer("lever_angle", "{ left = 14, right = 20 }", "15")
    assert isinstance(both, Problem)
    assert both.text == SIDES_ALONE


@given(st.sampled_from(MEASURED), st.lists(st.text(max_size=12), min_size=1, max_size=3))
def test_any_text_gives_a_value_or_a_sentence(key: str, texts: list[str]) -> None:
    """Nothing is raised, and there is always something to say."""
    found = read_answer(key, *texts)
    assert found is not None
    assert not isinstance(found, Problem) or found.text
