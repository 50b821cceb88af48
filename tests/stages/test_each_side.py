"""A move for each peg, where a short or a stiff leg wishes its own knee angle."""

from __future__ import annotations

from math import isclose

import pytest
from attrs import asdict, evolve

from fitprofile.model.bike import Allows
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Cockpit, RiderLimits
from fitprofile.stages.each_side import PegSide, PegSides, peg_sides
from fitprofile.stages.job import Job
from tests import by_hand
from tests.stages import jobs
from tests.stages.invented import BODY, cockpit
from tests.stages.taped import TRUE

KNEE = float(jobs.WISH.knee_angle_deg)


def wish(left: float, right: float) -> Cockpit:
    """A cockpit whose knees lie so far from the body's own."""
    made = cockpit(bar_width=750.0, navel_to_bar=500.0, forearm_angle=20.0, knee_angle=KNEE)
    pair = (KNEE + left, KNEE + right)
    return evolve(made, knee_angle=Reading(0.5 * sum(pair), sides=pair))


def sides(left: float, right: float, one: Job | None = None) -> PegSides:
    job = one or jobs.job()
    mean = KNEE + 0.5 * (left + right)
    job = evolve(job, target=evolve(job.target, knee_angle_deg=mean))
    made = peg_sides(job, wish(left, right))
    assert made is not None
    return made


def knee_after(leg: PegSide, ahead: float, up: float) -> float:
    """Knee angle with the peg moved, in plain Python."""
    x, y, z = TRUE["peg"]
    return by_hand.knee_angle(asdict(BODY), {**TRUE, "peg": (x + ahead, y, z + up)})


def test_each_peg_gives_its_own_knee() -> None:
    """The left leg 6 more bent, the right 9 more open: both to 1e-9 degrees, law of cosines."""
    made = sides(-6.0, 9.0)
    for leg, off in zip(made, (-6.0, 9.0), strict=True):
        assert leg.wished_deg == pytest.approx(KNEE + off)
        shown = knee_after(leg, float(leg.exact.x), float(leg.exact.z))
        assert shown == pytest.approx(KNEE + off, abs=1e-9)


def test_a_bent_knee_lifts_its_peg() -> None:
    """Left up, right down."""
    left, right = sides(-6.0, 9.0)
    assert left.exact.z > 0.0 > right.exact.z


def test_a_side_inside_its_tolerance_is_left_alone() -> None:
    """The left knee 2 off its wish stays, the right one 9 off is moved."""
    left, right = sides(2.0, 9.0)
    assert (left.practical.x, left.practical.z) == (0.0, 0.0)
    assert left.after_deg == pytest.approx(KNEE)
    assert right.practical == right.exact
    assert right.after_deg == pytest.approx(KNEE + 9.0)


def test_the_bikes_bands_hold_each_peg() -> None:
    """Pegs that go down 5 mm at most: the right leg stays short of its wish."""
    job = jobs.job(allows=Allows(peg_up=(-5.0, 5.0)))
    _, right = sides(-6.0, 9.0, job)
    assert right.practical.z == pytest.approx(-5.0)
    assert KNEE < right.after_deg < KNEE + 9.0
    assert isclose(right.practical.x / right.practical.z, right.exact.x / right.exact.z)


def test_more_open_than_wished_may_stay_up_to_the_riders_limit() -> None:
    """A knee 8 more open than its own wish, and the rider content with that."""
    job = jobs.job(limits=RiderLimits(knee_angle=(KNEE - 20.0, KNEE + 1.0)))
    left, _ = sides(-8.0, 0.0, job)
    assert (left.practical.x, left.practical.z) == (0.0, 0.0)


def test_even_legs_have_no_sides() -> None:
    """One figure, or two alike: nothing of it shows."""
    one = jobs.job()
    assert peg_sides(one, evolve(wish(0.0, 0.0), knee_angle=Reading(KNEE))) is None
    assert peg_sides(one, wish(3.0, 3.0)) is None
