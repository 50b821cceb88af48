"""Points that cannot be a motorcycle's, one sentence each."""

from __future__ import annotations

from typing import Any

import pytest

from fitprofile.errors import ERROR, WARNING
from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import CLIP_ON, Handlebar
from fitprofile.model.quantity import Reading
from fitprofile.stages.sense import impossible
from tests.stages.taped import TRUE, Point, bike

CLIPS: dict[str, Any] = {"handlebar": Handlebar(kind=CLIP_ON)}


def found(fields: dict[str, Any], **moved: Point) -> list[tuple[str, str | None]]:
    """Level and key of what is said of the true bike with some points elsewhere."""
    points = {name: Vec(*point) for name, point in {**TRUE, **moved}.items()}
    return [(p.level, p.key) for p in impossible(bike(**fields), points)]


def test_a_motorcycle_is_not_questioned() -> None:
    """Nor one with clip-ons."""
    assert found({}) == []
    assert found(CLIPS, tube=(985.0, 105.0, 1000.0)) == []


@pytest.mark.parametrize(
    ("moved", "expected"),
    [
        ({"grip_end": (900.0, 0.0, 1030.0)}, (ERROR, "widths.grip_end")),
        ({"grip_inner": (931.0, -120.0, 1025.0)}, (ERROR, "widths.grip_end")),
        ({"grip_inner": (931.0, 400.0, 1025.0)}, (ERROR, "widths.grip_end")),
        ({"grip_inner": (900.0, 375.0, 1030.0)}, (ERROR, "widths.grip_end")),
        ({"grip_inner": (900.0, 345.0, 1030.0)}, (ERROR, "widths.grip_end")),
        ({"grip_inner": (931.0, 100.0, 1025.0)}, (WARNING, "widths.grip_end")),
        ({"grip_inner": (1050.0, 340.0, 1030.0)}, (WARNING, "handlebar.grip_sweep")),
        ({"grip_inner": (900.0, 340.0, 900.0)}, (WARNING, "handlebar.grip_tilt")),
        ({"seat": (905.0, 0.0, 800.0)}, (ERROR, "ahead.grip_end")),
        ({"clamp": (440.0, 0.0, 1000.0)}, (WARNING, "ahead.clamp")),
        ({"peg": (560.0, 0.0, 390.0)}, (ERROR, "widths.peg")),
        ({"peg": (560.0, 230.0, 810.0)}, (ERROR, "heights.peg")),
        ({"peg": (560.0, 230.0, -20.0)}, (ERROR, "heights.peg")),
        ({"seat": (450.0, 0.0, 1250.0)}, (WARNING, "heights.seat")),
        ({"front_axle": (0.0, 0.0, 300.0)}, (ERROR, "ahead.front_axle")),
        ({"front_axle": (-1420.0, 0.0, 300.0)}, (ERROR, "ahead.front_axle")),
        ({"front_axle": (14200.0, 0.0, 300.0)}, (WARNING, "ahead.front_axle")),
    ],
)
def test_nonsense_is_an_error_and_what_is_odd_a_warning(
    moved: dict[str, Point], expected: tuple[str, str]
) -> None:
    """One cause, one sentence."""
    assert found({}, **moved) == [expected]


@pytest.mark.parametrize(
    ("spacing", "expected"),
    [(0.0, ERROR), (260.0, WARNING), (375.0, ERROR), (105.0, None)],
)
def test_fork_tubes_stand_inside_the_grips(spacing: float, expected: str | None) -> None:
    """Half-spacings; the grips lie between 255 and 375."""
    said = found(CLIPS, tube=(985.0, spacing, 1000.0))
    assert said == ([(expected, "widths.tube")] if expected else [])


def test_a_one_piece_bar_has_no_tubes() -> None:
    """A figure that is not used is not questioned."""
    assert found({}, tube=(985.0, 400.0, 1000.0)) == []


def test_the_key_is_that_of_what_was_taped() -> None:
    """The inner width where there is one."""
    fields = {"widths": {"grip_inner": Reading(900.0)}}
    assert found(fields, grip_inner=(931.0, 450.0, 1025.0)) == [(ERROR, "widths.grip_inner")]


@pytest.mark.parametrize(
    ("bar", "key"),
    [
        (Handlebar(overall_width=Reading(700.0)), "handlebar.overall_width"),
        (
            Handlebar(bar_diameter=Reading(28.6), grip_diameter=Reading(22.2)),
            "handlebar.grip_diameter",
        ),
    ],
)
def test_sizes_that_may_be_swapped_are_questioned(bar: Handlebar, key: str) -> None:
    """Overall width below the bar width, a grip thinner than its bar."""
    assert found({"handlebar": bar}) == [(WARNING, key)]
