"""Limits: what lies outside what the bike allows, and by how much."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.model.bike import Allows
from fitprofile.stages.limits import limits_of
from tests.stages.invented import moved
from tests.stages.jobs import answered, bar, job, limit


def test_limits_are_silent_within_half_a_millimetre() -> None:
    """What no workshop sees is no limit."""
    one = job(bar(20.0, 0.0))
    wanted = float(answered(one).riser_pullback_mm)
    near = evolve(one, bike=evolve(one.bike, allows=Allows(pullback=(0.0, wanted - 0.4))))
    far = evolve(one, bike=evolve(one.bike, allows=Allows(pullback=(0.0, wanted - 0.6))))
    assert not [each for each in limits_of(near, answered(near)) if each.what == "riser_pullback"]
    assert limit(far, "riser_pullback").residual == pytest.approx(0.6, abs=1e-6)


def test_a_bike_that_says_nothing_allows_everything() -> None:
    """Without bands only the bend of the bar can be out of reach."""
    one = job(bar(80.0, -90.0))
    assert {each.what for each in limits_of(one, answered(one))} <= {"grip_tilt", "grip_sweep"}


def test_the_seat_s_band_is_held_against_the_alternative() -> None:
    """Raising the seat instead of lowering the pegs has its own limit."""
    one = job(moved(peg=(0.0, 60.0)), allows=Allows(seat=(-5.0, 10.0)))
    raised = float(answered(one).with_seat_raise.seat_raise_mm)
    assert raised > 20.0
    assert limit(one, "seat_raise").residual == pytest.approx(raised - 10.0)
