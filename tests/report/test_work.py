"""The order of work."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from attrs import evolve

from fitprofile.report.step import BAR, BEFORE, CLOSE, CONTROLS, DRY, FEET, LAST
from fitprofile.report.work import change_steps, steps
from fitprofile.stages.outcome import Transfer
from tests.report import samples

ORDER = (BEFORE, FEET, DRY, BAR, CONTROLS, CLOSE, LAST)


@pytest.mark.parametrize("sample", samples.EVERYTHING)
def test_phases_follow_the_workshop(sample: Callable[[], Transfer]) -> None:
    """First look, then feet, dry fit, bar, controls, close up, and the ride last."""
    phases = [ORDER.index(step.phase) for step in steps(sample())]
    assert phases == sorted(phases)
    assert phases[0] == ORDER.index(BEFORE)
    assert phases[-1] == ORDER.index(LAST)


def test_cutting_comes_after_the_ride() -> None:
    """The very last line."""
    assert "cut, drill or slot only now" in steps(samples.one_piece())[-1].what


def test_a_bar_that_moves_is_dry_fitted_before_parts_are_ordered() -> None:
    """And one that stays is not."""
    assert any(step.phase == DRY for step in steps(samples.one_piece()))
    assert not any(step.phase == DRY for step in steps(samples.at_home()))


def test_pins_are_named_where_the_bike_has_them() -> None:
    """Switch housings and throttle are pinned more often than perches."""
    words = " ".join(step.what for step in steps(samples.one_piece()))
    assert "along with the grips, away from the holes of their pins: free the housings'" in words
    made = samples.one_piece()
    rolled = evolve(made.practical.changes, bar_width_change_mm=0.0)
    stays = evolve(made, practical=evolve(made.practical, changes=rolled))
    words = " ".join(step.what for step in steps(stays))
    assert "go with the bar (they are pinned to it)" in words
    words = " ".join(step.what for step in steps(samples.clip_on()))
    assert "(the bike's file names no pins)" in words


def test_a_bar_that_only_goes_down_is_dry_fitted_without_packers() -> None:
    """Packers raise; and housings go with a bar that moves or a grip that slides."""
    made = samples.one_piece()
    done = made.practical.changes
    down = evolve(made, practical=evolve(made.practical, changes=evolve(done, riser_height_mm=-9)))
    (dry,) = (step.what for step in steps(down) if step.phase == DRY)
    assert dry.startswith("Clamped loosely")
    words = " ".join(step.what for step in steps(samples.stuck()))
    assert "Throttle housing" not in words


def test_change_steps_hold_figures_or_a_gap() -> None:
    """Routine is left out of them, and nothing else."""
    made = samples.clip_on()
    kept = change_steps(made)
    assert all(step.moves or step.missing for step in kept)
    assert [step for step in steps(made) if step.moves or step.missing] == list(kept)
