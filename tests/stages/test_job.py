"""A job's numbers: how far from the wish, inside tolerance or not."""

from __future__ import annotations

import numpy as np
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.model.shop import TOLERANCES
from fitprofile.stages.job import deviations, missed, numbers_after, within
from tests.stages.jobs import answered, bar, job


@given(
    ahead=st.floats(-40.0, 40.0),
    up=st.floats(-40.0, 40.0),
    wider=st.floats(1.0, 4.0),
)
def test_a_wider_tolerance_never_turns_a_fit_into_a_miss(
    ahead: float, up: float, wider: float
) -> None:
    """The numbers as found are judged; every tolerance times the same factor."""
    one = job(bar(ahead, up))
    loose = evolve(one, tolerances={name: wider * room for name, room in TOLERANCES.items()})
    assert set(missed(loose, one.now)) <= set(missed(one, one.now))
    for name, off in deviations(one.target, one.now).items():
        assert within(loose, name, off) or not within(one, name, off)


@given(ahead=st.floats(-40.0, 40.0), up=st.floats(-40.0, 40.0))
def test_exact_misses_nothing_but_the_bend(ahead: float, up: float) -> None:
    """What cannot be had by any change is at most tilt and sweep."""
    one = job(bar(ahead, up))
    changes = answered(one)
    if np.isfinite(changes.riser_height_mm):
        assert set(missed(one, numbers_after(one, changes))) <= {"grip_tilt", "grip_sweep"}
