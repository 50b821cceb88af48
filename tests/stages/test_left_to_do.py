"""What is left to change: worked out by hand where nothing is tilted, and what is left alone."""

from __future__ import annotations

import numpy as np
import pytest
from attrs import asdict

from fitprofile.stages.as_it_is import as_it_is
from fitprofile.stages.left_to_do import forearm_shown, left_to_do
from fitprofile.stages.moves import Changes
from fitprofile.stages.siton import Reported
from tests import by_hand
from tests.stages.invented import plain
from tests.stages.test_verify import made

DONE = made()
TARGET = DONE.target
WISHED = {
    "bar_width": float(TARGET.bar_width_mm),
    "navel_to_bar": float(TARGET.navel_to_bar_mm),
    "forearm_angle": float(TARGET.forearm_angle_deg),
    "knee_angle": float(TARGET.knee_angle_deg),
    "grip_tilt": float(TARGET.grip_tilt_deg),
    "lever_angle.brake": float(TARGET.forearm_angle_deg),
    "lever_angle.clutch": float(TARGET.forearm_angle_deg),
    "lever_reach.brake": float(TARGET.lever_reach_mm.brake),
    "lever_reach.clutch": float(TARGET.lever_reach_mm.clutch),
}
TILT = DONE.tolerances["grip_tilt"]


def left(**off: float) -> Changes:
    """What is left where every number was measured, some of them so far off the wish."""
    by = {name.replace("__", "."): value for name, value in off.items()}
    told = {name: Reported(value + by.get(name, 0.0), 1.0) for name, value in WISHED.items()}
    now, stands = as_it_is(DONE.job, told)
    return left_to_do(DONE.job, now, told, stands=stands)


def test_what_is_inside_is_left_alone() -> None:
    """Everything a little off: every change is zero, not small."""
    found = left(
        bar_width=9.0,
        navel_to_bar=-9.0,
        forearm_angle=2.5,
        knee_angle=-2.5,
        grip_tilt=-0.9 * TILT,
        lever_angle__brake=5.0,
        lever_reach__clutch=4.0,
    )
    flat = [value for value in asdict(found).values() if not isinstance(value, dict)]
    flat += [v for part in asdict(found).values() if isinstance(part, dict) for v in part.values()]
    assert {float(value) for value in flat if np.isfinite(value)} == {0.0}


@pytest.mark.parametrize("tilt", [0.0, -0.9 * TILT, 0.9 * TILT])
def test_a_lever_is_turned_on_the_bar_as_it_stands(tilt: float) -> None:
    """Four degrees too flat: some four down, whatever roll the tilt inside its tolerance hides.

    A level grip square to the side view would make it exactly 4; sweep makes it a little more.
    """
    found = left(grip_tilt=tilt, lever_angle__clutch=-4.0)
    assert float(found.bar_roll_deg) == 0.0
    assert float(found.lever_rotation_deg.clutch) == pytest.approx(-4.0, abs=0.5)
    assert float(found.lever_rotation_deg.brake) == 0.0


def test_a_tilt_outside_is_rolled_and_the_levers_make_up_for_it() -> None:
    """Both were in line; the roll turns them off it, so both are turned back."""
    found = left(grip_tilt=-1.5 * TILT)
    roll = float(found.bar_roll_deg)
    assert abs(roll) > 3.0
    for turn in (found.lever_rotation_deg.brake, found.lever_rotation_deg.clutch):
        assert float(turn) * roll < 0.0


def test_levers_follow_the_forearm_that_the_riser_brings() -> None:
    """In line with 6 degrees too steep a forearm: the riser flattens it, the levers follow."""
    found = left(forearm_angle=6.0, lever_angle__brake=6.0, lever_angle__clutch=6.0)
    assert float(found.riser_height_mm) != 0.0
    assert float(found.lever_rotation_deg.brake) == pytest.approx(6.0, abs=0.8)


def test_grips_slid_far_bring_the_riser_in() -> None:
    """All but the width is wished: once slid, sweep has carried the ends off, and that is mended.

    By the posture in plain Python.
    """
    found = left(bar_width=-120.0)
    told = {name: Reported(value, 1.0) for name, value in WISHED.items()}
    told["bar_width"] = Reported(WISHED["bar_width"] - 120.0, 1.0)
    start = plain(as_it_is(DONE.job, told)[0])
    body, lean = asdict(DONE.linkage), float(TARGET.lean_deg)
    slid = by_hand.changed(start, {"grip_slide_mm": float(found.grip_slide_mm)}, 25.0)
    loose = by_hand.numbers(body, lean, slid)
    assert abs(loose["navel_to_bar_mm"] - WISHED["navel_to_bar"]) > 10.0
    names = ("grip_slide_mm", "riser_height_mm", "riser_pullback_mm")
    done = by_hand.changed(start, {name: float(getattr(found, name)) for name in names}, 25.0)
    shown = by_hand.numbers(body, lean, done)
    assert shown["bar_width_mm"] == pytest.approx(WISHED["bar_width"], abs=1e-6)
    assert shown["navel_to_bar_mm"] == pytest.approx(WISHED["navel_to_bar"], abs=1e-3)
    assert shown["forearm_angle_deg"] == pytest.approx(WISHED["forearm_angle"], abs=1e-3)


def test_without_a_forearm_levers_are_held_against_the_wish() -> None:
    """As measured, else as wished."""
    assert forearm_shown(DONE.job, {}) == WISHED["forearm_angle"]
    assert forearm_shown(DONE.job, {"forearm_angle": Reported(31.0, 1.0)}) == 31.0
