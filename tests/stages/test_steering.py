"""The steering axis, and a fist turned about it, against scipy's rotations."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fitprofile.model.bike import Steering
from fitprofile.model.quantity import Reading
from fitprofile.stages.linkage import hand
from fitprofile.stages.steering import YOKE_OFFSET, axis_doubt, lock_of, steering_axis, turned
from tests.stages import plans


@given(lock=st.floats(-60.0, 60.0))
def test_a_fist_at_lock_is_where_scipy_turns_it(lock: float) -> None:
    """A rotation vector along the raked axis, to 1e-9 mm; to the left, the left hand goes back."""
    one = plans.job()
    axis, fist = steering_axis(one), hand(one.points)
    rake = np.radians(one.rake)
    by_scipy = Rotation.from_rotvec(
        lock * np.array([-np.sin(rake), 0.0, np.cos(rake)]), degrees=True
    )
    clamp = plans.array(one.points.clamp)
    expected = by_scipy.apply(plans.array(fist) - clamp) + clamp
    found = plans.array(turned(fist, axis, lock))
    assert found == pytest.approx(expected, abs=1e-9)
    if lock > 1.0:
        assert found[0] < float(fist.x)


def test_a_fitted_riser_s_pullback_stands_behind_the_axis() -> None:
    """The axis runs ahead of a clamp that was set back, square to the axis."""
    one = plans.job()
    shift = plans.array(steering_axis(one, 20.0).pivot) - plans.array(one.points.clamp)
    rake = np.radians(one.rake)
    assert shift == pytest.approx([20.0 * np.cos(rake), 0.0, 20.0 * np.sin(rake)])


def test_clip_ons_tubes_stand_ahead_of_the_axis() -> None:
    """By the yokes' offset, square to the axis."""
    one = plans.job(clip_on=True)
    shift = plans.array(steering_axis(one).pivot) - plans.array(one.points.clamp)
    rake = np.radians(one.rake)
    assert shift == pytest.approx([-YOKE_OFFSET * np.cos(rake), 0.0, -YOKE_OFFSET * np.sin(rake)])


def test_the_doubt_is_how_far_a_point_moves_with_the_axis() -> None:
    """Turned about an axis 15 mm elsewhere, a point is 2 x 15 x sin(lock / 2) elsewhere."""
    one = plans.job()
    fist = hand(one.points)
    here, there = (plans.array(turned(fist, steering_axis(one, p), 35.0)) for p in (0.0, 15.0))
    assert float(np.linalg.norm(there - here)) == pytest.approx(axis_doubt(35.0))


def test_the_lock_is_the_one_taped() -> None:
    """And none where none was."""
    assert lock_of(plans.job(steering=Steering(lock=Reading(33.0)))) == 33.0
    assert lock_of(plans.job()) is None
