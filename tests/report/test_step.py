"""Steps and the figures in them."""

from __future__ import annotations

from attrs import evolve

from fitprofile.report.step import BAR, Move, Step, origin
from fitprofile.report.wording import MM
from tests.report import samples


def test_a_step_whose_changes_print_as_zero_is_nothing_to_do() -> None:
    """0.4 mm is no work; 0.6 mm is; a gap is never nothing."""
    small = Move("riser height", MM, 0.4, 0.4, 1.0)
    assert Step(phase=BAR, what="x", moves=(small,)).nothing
    assert not Step(phase=BAR, what="x", moves=(small, evolve(small, change=0.6))).nothing
    assert not Step(phase=BAR, what="x", missing=("handlebar",)).nothing
    assert not Step(phase=BAR, what="routine").nothing


def test_distances_ahead_count_from_the_axle_where_anything_was_taped_from_it() -> None:
    """Else from below the sit point."""
    surveyed = samples.clip_on().surveyed
    assert "rear_axle" not in surveyed.names
    assert origin(surveyed) == "rear axle"
    untied = tuple(one for one in surveyed.observations if not one.key.startswith("ahead."))
    assert origin(evolve(surveyed, observations=untied)) == "sit point"
    names = (*surveyed.names, "rear_axle")
    assert origin(evolve(surveyed, observations=untied, names=names)) == "rear axle"
