"""What the work leaves to say: of the practical answer all of it, of a plan the rest."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from attrs import evolve

from fitprofile.stages.findings import find
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.work_findings import apart, find_of_plan, find_of_work
from tests.report import samples


def texts(made: Transfer) -> str:
    return " ".join(one.text for one in find_of_work(made))


@pytest.mark.parametrize(
    ("far", "words"),
    [
        (0.3, "less than 1 mm too far"),
        (-0.49, "less than 1 mm too near"),
        (0.6, "1 mm too far"),
        (-31.2, "31 mm too near"),
    ],
)
def test_a_distance_is_never_0_mm(far: float, words: str) -> None:
    """What is out of reach is out of reach by something."""
    assert apart(far) == words


@pytest.mark.parametrize("sample", samples.EVERYTHING)
def test_the_work_is_part_of_all_that_is_said(sample: Callable[[], Transfer]) -> None:
    """In the same words and in the same order; a plan leaves hoses and front end to its checks."""
    made = sample()
    everything, work = find(made), find_of_work(made)
    assert [one for one in everything if one in work] == list(work)
    whole, bare = find_of_plan(made, new_bar=False), find_of_plan(made, new_bar=True)
    assert set(bare) <= set(whole) <= set(work)
    assert not {one.key for one in whole} & {"hoses", "allows"}


def test_a_bar_that_goes_up_is_the_practical_answer_s() -> None:
    """By clip-ons that slide and by risers."""
    for made in (samples.clip_on(), samples.one_piece()):
        changes = evolve(made.practical.changes, clip_slide_mm=25.0, riser_height_mm=25.0)
        high = evolve(made, practical=evolve(made.practical, changes=changes))
        assert "the bar goes up 25 mm: check every hose" in texts(high)
        assert not [one for one in find_of_plan(high, new_bar=False) if "goes up" in one.text]


def test_the_tilt_of_a_bar_that_goes_is_not_said() -> None:
    """Of clip-ons and of a bar too straight to roll."""
    for made, words in (
        (samples.clip_on(), "would level them"),
        (samples.straight_bar(), "too straight"),
    ):
        assert words in texts(made)
        assert [one for one in find_of_plan(made, new_bar=False) if words in one.text]
        assert not [one for one in find_of_plan(made, new_bar=True) if words in one.text]
