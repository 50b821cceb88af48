"""Settings alone: a bike set off its wish by hand is brought back without another part."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import asdict, evolve

from fitprofile.stages import moves
from fitprofile.stages.as_it_is import as_it_is
from fitprofile.stages.job import Job
from fitprofile.stages.left_to_do import left_to_do
from fitprofile.stages.posture import numbers_on
from fitprofile.stages.put_right import put_right
from fitprofile.stages.siton import Reported
from tests import by_hand
from tests.stages.invented import plain
from tests.stages.test_as_fitted import RAKE, READ, worked

TOLERANCE = {"bar_width": 10.0, "navel_to_bar": 10.0, "forearm_angle": 3.0, "grip_tilt": 4.0}

Made = dict[str, by_hand.Triple]


def wished_as_it_stands(**more: Any) -> Job:
    """The bike with riser and bar fitted, and a rider who wishes it as it stands, 775 mm wide."""
    job = worked("High", "Wide", **more).job
    points = moves.slide_grips(job.points, -7.7)
    wish = numbers_on(job.rider, job.target.lean_deg, points)
    target = evolve(
        job.target,
        bar_width_mm=wish.bar_width_mm,
        navel_to_bar_mm=wish.navel_to_bar_mm,
        forearm_angle_deg=wish.forearm_angle_deg,
        grip_tilt_deg=wish.grip_tilt_deg,
        grip_sweep_deg=wish.grip_sweep_deg,
    )
    return evolve(job, points=points, target=target)


def slipped(job: Job, **work: float) -> tuple[Made, dict[str, Reported]]:
    """The bike set off that by hand, and its numbers by plain Python."""
    true = by_hand.changed(plain(job.points), work, RAKE)
    shown = by_hand.numbers(asdict(job.rider), float(job.target.lean_deg), true)
    told = {name: Reported(shown[f"{name}_{unit}"], 1.0) for name, unit in READ.items()}
    return true, told


@pytest.mark.parametrize(
    "slip",
    [
        {"bar_roll_deg": 6.0},
        {"bar_roll_deg": -7.0, "grip_slide_mm": 4.0},
        {"grip_slide_mm": -14.0},
        {"bar_roll_deg": 5.0, "grip_slide_mm": -9.0},
    ],
)
def test_a_slip_of_setting_is_put_right_by_setting(slip: dict[str, float]) -> None:
    """Every number of the bar is inside on the bike that was set off by hand; no riser is named."""
    job = wished_as_it_stands()
    true, told = slipped(job, **slip)
    now, stands = as_it_is(job, told, parts_known=True)
    left = left_to_do(job, now, told, stands=stands, parts_known=True)
    assert np.nan_to_num(left.riser_height_mm) == 0.0
    assert np.nan_to_num(left.riser_pullback_mm) == 0.0
    work = {
        "bar_roll_deg": float(np.nan_to_num(left.bar_roll_deg)),
        "grip_slide_mm": float(np.nan_to_num(left.grip_slide_mm)),
    }
    after = by_hand.numbers(
        asdict(job.rider), float(job.target.lean_deg), by_hand.changed(true, work, RAKE)
    )
    for name, tolerance in TOLERANCE.items():
        unit = READ[name]
        off = after[f"{name}_{unit}"] - float(getattr(job.target, f"{name}_{unit}"))
        assert abs(off) <= tolerance + 0.01, (name, off)


def test_what_no_setting_brings_takes_a_part() -> None:
    """A bar 45 mm too high: nothing by setting, the exact riser in its place."""
    job = wished_as_it_stands()
    _, told = slipped(job, riser_height_mm=45.0)
    now, stands = as_it_is(job, told, parts_known=True)
    assert put_right(job, now, told) is None
    left = left_to_do(job, now, told, stands=stands, parts_known=True)
    assert left.riser_height_mm == pytest.approx(-45.0, abs=0.1)


def test_a_bar_whose_setting_was_not_measured_is_not_set() -> None:
    """Without tilt or width nobody knows how it stands, so the exact riser is named."""
    job = wished_as_it_stands()
    for name in ("grip_tilt", "bar_width"):
        _, told = slipped(job, bar_roll_deg=6.0)
        del told[name]
        now, stands = as_it_is(job, told, parts_known=True)
        left = left_to_do(job, now, told, stands=stands, parts_known=True)
        exact = left_to_do(job, now, told, stands=stands)
        assert left.riser_height_mm == exact.riser_height_mm


def test_the_bands_that_the_work_left_are_kept() -> None:
    """Roll of [-8, 10] with 6 of it used the wrong way is still there to be undone, and no more."""
    job = wished_as_it_stands()
    _, told = slipped(job, bar_roll_deg=-7.0)
    now, _ = as_it_is(job, told, parts_known=True)
    found = put_right(job, now, told)
    assert found is not None
    assert -1.0 - 0.01 <= float(found.bar_roll_deg) <= 17.0 + 0.01
    assert float(found.bar_roll_deg) > 0.0
