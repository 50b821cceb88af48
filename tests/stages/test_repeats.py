"""Repeated readings: the spread of their mean, and readings that contradict each other."""

from __future__ import annotations

import numpy as np
import pytest

from fitprofile.errors import WARNING
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Cockpit
from fitprofile.model.shop import Shop
from fitprofile.stages.repeats import APART, contradiction, contradictions_sat, mean_sd

FILE = "bikes/invented.toml"
SPREAD = {name: pair[0] for name, pair in Shop().spreads.items()}


def repeated(*values: float, sd: float | None = None) -> Reading:
    """What the store makes of a list."""
    mean = sum(values) / len(values)
    return Reading(mean, sd, count=len(values), scatter=max(values) - min(values))


def test_readings_that_agree_share_their_spread_out() -> None:
    """A single one keeps it; four halve it."""
    assert mean_sd(Reading(800.0), 10.0) == 10.0
    assert mean_sd(repeated(800, 801, 799, 800), 10.0) == 5.0


def test_two_readings_far_apart_have_half_their_distance() -> None:
    """The experimental standard deviation of the mean of two (JCGM 100:2008, 4.2.3)."""
    values = (700.0, 890.0)
    assert mean_sd(repeated(*values), 10.0) == 95.0
    assert mean_sd(repeated(*values), 10.0) == pytest.approx(np.std(values, ddof=1) / np.sqrt(2.0))


@pytest.mark.parametrize("count", [2, 3, 5, 8, 12])
def test_scatter_over_count_is_the_spread_of_the_mean(count: int) -> None:
    """On simulated normal readings, root mean square, to a tenth; the table's own set aside."""
    drawn = np.random.default_rng(4).normal(0.0, 7.0, (20000, count))
    found = [mean_sd(repeated(*row), 0.0) for row in drawn]
    assert np.sqrt(np.mean(np.square(found))) == pytest.approx(7.0 / np.sqrt(count), rel=0.11)


@pytest.mark.parametrize(("by", "said"), [(46.4, False), (46.6, True)])
def test_one_sound_pair_in_a_thousand_is_questioned(by: float, said: bool) -> None:
    """3.29 spreads of a difference, which is sqrt(2) of one reading's: 46.5 mm for 10."""
    found = list(contradiction(repeated(800, 800 + by), 10.0, "heights.seat", FILE, unit="mm"))
    assert bool(found) == said
    pairs = np.random.default_rng(2).normal(0.0, 10.0, (2, 400_000))
    assert np.mean(np.abs(pairs[0] - pairs[1]) > APART * 10.0) == pytest.approx(0.001, abs=2e-4)


def test_the_sentence_names_key_distance_and_remedy() -> None:
    """The examiner's case: 190 mm between two readings of the seat."""
    (problem,) = contradiction(repeated(700, 890), 10.0, "heights.seat", FILE, unit="mm")
    assert (problem.level, problem.key, problem.file) == (WARNING, "heights.seat", FILE)
    assert problem.text == (
        "the readings of heights.seat lie 190 mm apart, more than the tape explains: measure "
        "again and strike out the wrong one"
    )


def sat(**fields: Reading | tuple[Reading, Reading]) -> list[str | None]:
    """Keys that are questioned in a cockpit."""
    rest = {"bar_width": Reading(800.0), "knee_angle": Reading(90.0)}
    cockpit = Cockpit(**{**rest, **fields})  # type: ignore[arg-type]  # by name
    return [p.key for p in contradictions_sat(cockpit, SPREAD, "cockpit.road.", "profiles/a.toml")]


def test_sitting_down_again_is_allowed_for() -> None:
    """Navel-to-bar alone: hypot(12, 8) = 14.4, times 4.65 = 67 mm; a bar's width stays put."""
    assert sat(navel_to_bar=repeated(480, 545)) == []
    assert sat(navel_to_bar=repeated(480, 550)) == ["cockpit.road.navel_to_bar"]
    assert sat(bar_width=repeated(795, 804)) == []
    assert sat(bar_width=repeated(795, 805)) == ["cockpit.road.bar_width"]
    assert sat(knee_angle=repeated(60, 92)) == ["cockpit.road.knee_angle"]


def test_either_of_two_tapes_is_named() -> None:
    """As its place in the file."""
    tapes = (Reading(640.0), repeated(640, 720))
    assert sat(navel_to_grip_ends=tapes) == ["cockpit.road.navel_to_grip_ends[1]"]


def test_a_give_or_take_of_ones_own_decides() -> None:
    """Where it was written, in place of the table."""
    assert sat(lever_angle=repeated(10, 40, sd=8.0)) == []
    assert sat(lever_angle=repeated(10, 40)) == ["cockpit.road.lever_angle"]


def test_left_and_right_may_differ() -> None:
    """They are no repeated readings."""
    pair = Reading(85.0, count=2, sides=(70.0, 100.0))
    assert sat(knee_angle=pair) == []
