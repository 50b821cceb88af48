"""Reach of the levers: left alone inside tolerance, or set to the wish at its minutes."""

from __future__ import annotations

import numpy as np
import pytest

from fitprofile.model.bike import Lever, Levers
from fitprofile.model.parts import Catalogue, Labour, LeverSet
from fitprofile.model.quantity import Reading
from fitprofile.stages.job import Job
from fitprofile.stages.options import options_of
from fitprofile.stages.reaches import reach_set, reaches_of
from tests.stages import jobs

SHOP = Catalogue(labour=Labour(reach=Reading(3.0)))


def job(reach: float, band: tuple[float, float] | None = None) -> Job:
    """60 mm wished, 5 mm of tolerance."""
    lever = Lever(perch="free", reach_range=band)
    return jobs.job(reach=reach, levers=Levers(brake=lever, clutch=lever))


def test_what_is_inside_is_offered_as_it_is_and_set() -> None:
    """63 found: 0.36 of score a lever, 3 minutes each to be rid of it."""
    one = job(63.0)
    group, what = reaches_of(((one, 1.0),), options_of(one.bike, SHOP, tube_taped=True), SHOP)
    found = dict(zip(what, zip(group.far, group.minutes, strict=True), strict=True))
    assert found[0, ()] == pytest.approx((0.72, 0.0))
    assert found[0, ("brake",)] == found[0, ("clutch",)] == pytest.approx((0.36, 3.0))
    assert found[0, ("brake", "clutch")] == pytest.approx((0.0, 6.0))
    assert group.inside.all()


def test_what_is_outside_is_always_set_and_nothing_else_is_offered() -> None:
    one = job(70.0, (62.0, 80.0))
    group, what = reaches_of(((one, 1.0),), options_of(one.bike, SHOP, tube_taped=True), SHOP)
    assert what == [(0, ())]
    assert (group.far[0], group.minutes[0]) == pytest.approx((2 * 0.4**2, 6.0))


def test_a_lever_goes_as_far_as_its_adjuster() -> None:
    """And one that is bought as far as its own."""
    one = job(63.0, (61.0, 80.0))
    uses = ((one, 1.0),)
    assert reach_set(uses, "brake", None) == 63.0
    assert reach_set(uses, "brake", None, to_wish=True) == 61.0
    short = LeverSet(name="Short", reach_range=(45.0, 58.0))
    assert reach_set(uses, "brake", short) == 58.0
    bare = jobs.job(reach=63.0, levers=Levers())
    assert np.isnan(reach_set(((bare, 1.0),), "brake", None))
