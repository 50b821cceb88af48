"""Pedals that follow the pegs, and the way over the saddle; by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Straddle
from fitprofile.model.quantity import Reading
from fitprofile.stages.complete import MEASURED, Completed, Measurement
from fitprofile.stages.feet import pedal_checks, set_check, straddle_check
from fitprofile.stages.job import Job
from fitprofile.stages.plan import Plan
from tests.stages import plans

PEDAL = {"brake_pedal": Vec(710.0, 200.0, 390.0)}
"""150 mm ahead of the peg of the true bike and level with it."""


def pegs(one: Job, ahead: float, up: float) -> Plan:
    peg = one.points.peg.plus(Vec(ahead, 0.0, up))
    return plans.plan(one, evolve(one.points, peg=peg), peg_move_mm=(ahead, up))


def test_pedals_go_along_with_the_pegs() -> None:
    """Pegs 20 up and 10 back: so go the pedals; left alone, 7.125 degrees lower: atan2(20, 160)."""
    one = plans.job(others=PEDAL)
    found = pedal_checks(one, pegs(one, -10.0, 20.0))
    assert plans.only(found, "pedals.brake_pedal.ahead").value == pytest.approx(-10.0)
    assert plans.only(found, "pedals.gear_lever.up").value == pytest.approx(20.0)
    angle = plans.only(found, "pedals.brake_pedal.angle")
    assert (angle.unit, angle.ok) == ("deg", None)
    assert angle.value == pytest.approx(math.degrees(math.atan2(20.0, 160.0)))


def test_a_pedal_that_was_not_taped_still_says_how_far() -> None:
    """Only its angle is not there."""
    one = plans.job(others=PEDAL)
    angle = plans.only(pedal_checks(one, pegs(one, 0.0, 15.0)), "pedals.gear_lever.angle")
    assert math.isnan(angle.value)
    assert "tape its tip" in angle.why


def test_pegs_that_stay_leave_the_pedals_alone() -> None:
    """One line each, and it is fine."""
    one = plans.job(others=PEDAL)
    found = pedal_checks(one, plans.plan(one))
    assert [(c.what, c.value, c.ok) for c in found] == [
        ("pedals.brake_pedal", 0.0, True),
        ("pedals.gear_lever", 0.0, True),
    ]


def test_a_pedal_that_is_set_is_for_the_eye() -> None:
    """With its change; nobody can judge it from here."""
    check = set_check("gear_lever", -7.0)
    assert (check.what, check.value, check.ok) == ("pedals.gear_lever", -7.0, None)
    assert check.words == "gear lever: set anew"


def body(inseam: float, sole: float = 25.0) -> Completed:
    taped = {"inseam": Measurement(inseam, 5.0, MEASURED), "sole": Measurement(sole, 3.0, MEASURED)}
    return evolve(plans.BODY, measurements={**plans.BODY.measurements, **taped})


def straddled(width: float | None, sag: float | None, **more: object) -> Job:
    taped = Straddle(
        seat_width=None if width is None else Reading(width),
        sag=None if sag is None else Reading(sag),
    )
    return plans.job(straddle=taped, **more)


def test_the_way_over_the_saddle_by_hand() -> None:
    """Seat at 800, 30 of sag, 240 wide: 2 x 770 + 240 = 1780. Inseam 840 and 25 of sole: 1730.

    50 mm short, so each heel stays 25 mm off the ground.
    """
    one = straddled(240.0, 30.0)
    check = straddle_check(one, body(840.0), plans.plan(one))
    assert (check.value, check.limit, check.ok) == (1780.0, 1730.0, False)
    assert "each heel stays about 25 mm off the ground" in check.why
    assert straddle_check(one, body(865.0), plans.plan(one)).ok is True


def test_a_guess_is_judged_only_where_it_cannot_matter() -> None:
    """Width 260 +- 60 and sag 30 +- 20, so 100 mm of doubt: 1800 against 1690, 1730 and 1910."""
    one = straddled(None, None)
    for inseam, ok in ((815.0, False), (840.0, None), (935.0, True)):
        check = straddle_check(one, body(inseam), plans.plan(one))
        assert (check.value, check.ok) == (1800.0, ok)
        assert "seat width and sag guessed" in check.why


def test_with_the_rider_on_it_has_sagged_already() -> None:
    """Taped so, the seat's height is what counts."""
    one = straddled(240.0, None)
    one = evolve(one, bike=evolve(one.bike, state="rider on"))
    check = straddle_check(one, body(840.0), plans.plan(one))
    assert (check.value, check.ok) == (2.0 * 800.0 + 240.0, False)


@given(raised=st.floats(-50.0, 80.0))
def test_a_higher_seat_is_twice_as_much_further(raised: float) -> None:
    """Down one side and up the other."""
    one = straddled(240.0, 30.0)
    seat = one.points.seat.plus(Vec(0.0, 0.0, raised))
    check = straddle_check(one, body(840.0), plans.plan(one, evolve(one.points, seat=seat)))
    assert check.value == pytest.approx(1780.0 + 2.0 * raised)
    assert np.isfinite(check.value)
