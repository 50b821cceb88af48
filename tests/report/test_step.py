"""Steps and the figures in them."""

from __future__ import annotations

from math import nan

from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.report.step import BAR, Move, Step, origin
from fitprofile.report.wording import DEG, MINUS, MM, bare
from tests.report import samples


def test_a_step_whose_changes_print_as_zero_is_nothing_to_do() -> None:
    """0.4 mm is no work; 0.6 mm is; a gap is never nothing."""
    small = Move("riser height", MM, 0.4, 0.4, 1.0)
    assert Step(phase=BAR, what="x", moves=(small,)).nothing
    assert not Step(phase=BAR, what="x", moves=(small, evolve(small, change=0.6))).nothing
    assert not Step(phase=BAR, what="x", missing=("handlebar",)).nothing
    assert not Step(phase=BAR, what="routine").nothing


FIGURES = st.floats(-2000.0, 2000.0) | st.integers(-4000, 4000).map(lambda half: 0.5 * half)


@given(start=FIGURES, end=FIGURES)
def test_from_to_and_change_add_up_as_printed(start: float, end: float) -> None:
    """Whatever the decimals; the change stays within a millimetre of the true one."""
    move = Move("reach", MM, end - start, nan, nan, seen="reach", start=start, end=end)
    first, last = (int(bare(value, MM).replace(MINUS, "-")) for value in (start, end))
    assert move.printed == last - first
    assert abs(move.printed - (end - start)) <= 1.0 + 1e-5
    turned = evolve(move, start=end, end=start, change=start - end)
    assert turned.printed == -move.printed


def test_a_figure_that_is_not_the_change_itself_keeps_its_own() -> None:
    """10 along a raked tube is 9 above the floor; degrees of roll are none of tilt."""
    slide = Move("slide", MM, 10.4, nan, nan, seen="grip end", start=900.4, end=909.9)
    assert slide.printed == 10
    roll = Move("roll", DEG, 4.0, nan, nan, seen="tilt", seen_unit=DEG, start=1.0, end=2.0)
    assert roll.printed == 4
    by_eye = Move("rotation", DEG, nan, nan, nan, seen="lever angle", seen_unit=DEG, end=11.0)
    assert by_eye.shown
    assert not evolve(slide, change=0.4).shown


def test_distances_ahead_count_from_the_axle_where_anything_was_taped_from_it() -> None:
    """Else from below the sit point."""
    surveyed = samples.clip_on().surveyed
    assert "rear_axle" not in surveyed.names
    assert origin(surveyed) == "rear axle"
    untied = tuple(one for one in surveyed.observations if not one.key.startswith("ahead."))
    assert origin(evolve(surveyed, observations=untied)) == "sit point"
    names = (*surveyed.names, "rear_axle")
    assert origin(evolve(surveyed, observations=untied, names=names)) == "rear axle"
