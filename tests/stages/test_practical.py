"""The practical answer: what is left alone, what stops at its limit, and what that costs."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from fitprofile.model.bike import Allows, Handlebar, Lever, Levers
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import RiderLimits
from fitprofile.model.shop import TOLERANCES
from fitprofile.stages import moves
from fitprofile.stages.limits import limits_of
from fitprofile.stages.posture import Sides, numbers_on
from fitprofile.stages.practical import practical
from tests.stages.invented import BODY, moved
from tests.stages.jobs import LEAN, RAKE, WISH, answered, bar, job, limit, tilted
from tests.stages.taped import TRUE


def test_a_bike_at_target_is_left_alone() -> None:
    """Every number is left, nothing is at a limit, nothing is missed, nothing changes."""
    one = job()
    done = practical(one, answered(one))
    assert set(done.leave) >= {"bar_width", "grip_tilt", "navel_to_bar", "knee_angle"}
    assert (done.at_limit, done.missed) == ((), ())
    assert done.changes.riser_height_mm == done.changes.bar_roll_deg == 0.0
    assert done.changes.lever_rotation_deg == Sides(0.0, 0.0)
    assert limits_of(one, answered(one)) == ()


def test_numbers_inside_tolerance_are_not_touched() -> None:
    """A bar 4 mm off stays, although the exact answer would move it."""
    one = job(bar(3.0, -3.0))
    changes = answered(one)
    assert abs(float(changes.riser_height_mm)) > 1.0
    done = practical(one, changes)
    assert done.changes.riser_height_mm == done.changes.riser_pullback_mm == 0.0
    assert {"navel_to_bar", "forearm_angle"} <= set(done.leave)


def test_numbers_outside_tolerance_are_brought_to_the_wish() -> None:
    """Without limits the riser goes all the way."""
    one = job(bar(30.0, -30.0))
    done = practical(one, answered(one))
    assert done.missed == ()
    assert done.after.navel_to_bar_mm == pytest.approx(float(WISH.navel_to_bar_mm), abs=1e-6)
    assert done.after.forearm_angle_deg == pytest.approx(float(WISH.forearm_angle_deg), abs=1e-6)


def test_the_riser_is_solved_again_for_the_roll_really_used() -> None:
    """Roll stops at its band, and navel-to-bar and forearm still come out."""
    one = job(tilted(25.0, bar(30.0, -40.0)), handlebar=Handlebar(roll=(-4.0, 4.0)))
    changes = answered(one)
    assert abs(float(changes.bar_roll_deg)) > 10.0
    done = practical(one, changes)
    assert abs(float(done.changes.bar_roll_deg)) == 4.0
    assert "bar_roll" in done.at_limit
    assert done.after.navel_to_bar_mm == pytest.approx(float(WISH.navel_to_bar_mm), abs=1e-6)
    assert done.after.forearm_angle_deg == pytest.approx(float(WISH.forearm_angle_deg), abs=1e-6)
    held = limit(one, "bar_roll")
    assert held.residual == pytest.approx(held.wanted - np.copysign(4.0, held.wanted))


def test_tilt_within_tolerance_means_no_roll() -> None:
    """DESIGN section 7: another bend is the honest answer, and a small tilt is none."""
    one = job(tilted(5.0))
    assert abs(float(answered(one).bar_roll_deg)) > 1.0
    assert practical(one, answered(one)).changes.bar_roll_deg == 0.0


def test_the_bar_s_width_stops_at_what_the_bike_takes() -> None:
    """A band of the width itself."""
    narrow = dict(TRUE)
    for name in ("grip_end", "grip_inner"):
        x, y, z = narrow[name]
        narrow[name] = (x, y - 40.0, z)
    one = job(narrow, allows=Allows(bar_width=(600.0, 700.0)))
    done = practical(one, answered(one))
    assert done.after.bar_width_mm == pytest.approx(700.0)
    assert "bar_width_change" in done.at_limit
    assert "bar_width" in done.missed
    assert limit(one, "bar_width_change").residual == pytest.approx(50.0)


def test_a_pinned_perch_turns_only_with_the_bar() -> None:
    """No rotation of its own; the slot is bar radius x rotation + pin (DESIGN section 7).

    By hand: 20 degrees on a 22.2 mm bar is 11.1 x 0.34907 = 3.875 mm, and a 4 mm pin.
    """
    forearm = float(WISH.forearm_angle_deg)
    pinned = Lever(perch="pinned", pin=Reading(4.0))
    level = dict(TRUE)
    level["grip_inner"] = (level["grip_end"][0], 255.0, level["grip_end"][2])
    one = job(
        level,
        lever=forearm + 20.0,
        levers=Levers(brake=pinned, clutch=Lever(perch="free")),
        handlebar=Handlebar(bar_diameter=Reading(22.2)),
        target=evolve(WISH, grip_tilt_deg=0.0),
    )
    one = evolve(one, target=evolve(one.target, navel_to_bar_mm=one.now.navel_to_bar_mm))
    aim = one.now.forearm_angle_deg
    one = evolve(
        one,
        target=evolve(one.target, forearm_angle_deg=aim, lever_angle_deg=Sides(aim, aim)),
        now=evolve(one.now, lever_angle_deg=Sides(aim + 20.0, aim + 20.0)),
    )
    done = practical(one, answered(one))
    assert done.changes.lever_rotation_deg.brake == 0.0
    assert float(done.changes.lever_rotation_deg.clutch) == pytest.approx(20.0, abs=1e-6)
    assert "lever_rotation.brake" in done.at_limit
    assert "lever_angle.brake" in done.missed
    held = limit(one, "lever_rotation.brake")
    assert held.allowed == (0.0, 0.0)
    assert held.slot_length_mm == pytest.approx(11.1 * np.radians(20.0) + 4.0, abs=1e-3)


def test_a_perch_stops_at_its_band() -> None:
    """Ten degrees of room where 25 are wanted."""
    forearm = float(WISH.forearm_angle_deg)
    stiff = Lever(perch="free", rotation=(-10.0, 10.0))
    one = job(lever=forearm + 25.0, levers=Levers(brake=stiff, clutch=Lever()))
    done = practical(one, answered(one))
    assert done.changes.lever_rotation_deg.brake == 10.0
    assert float(done.changes.lever_rotation_deg.clutch) > 20.0


def test_levers_follow_the_forearm_as_it_will_be() -> None:
    """A riser that may not move leaves the forearm off, and the levers are in line with it."""
    one = job(bar(0.0, -70.0), allows=Allows(riser=(0.0, 0.0), pullback=(0.0, 0.0)), lever=50.0)
    done = practical(one, answered(one))
    assert "forearm_angle" in done.missed
    assert float(done.after.lever_angle_deg.brake) == pytest.approx(
        float(done.after.forearm_angle_deg), abs=1e-6
    )
    assert "lever_angle.brake" not in done.missed


def test_reach_stops_at_the_adjuster_s_end() -> None:
    """From 80 to 60 wanted, the adjuster ends at 70."""
    short = Lever(reach=Reading(80.0), reach_range=(70.0, 95.0))
    one = job(reach=80.0, levers=Levers(brake=short, clutch=Lever(reach=Reading(80.0))))
    done = practical(one, answered(one))
    assert done.changes.lever_reach_change_mm == Sides(-10.0, -20.0)
    assert "lever_reach_change.brake" in done.at_limit
    assert limit(one, "lever_reach_change.brake").residual == pytest.approx(-10.0)


def test_pegs_stop_along_their_own_direction() -> None:
    """The move is shortened, not bent, until both bands hold it."""
    high = moved(peg=(20.0, 60.0))
    one = job(high, allows=Allows(peg_up=(-15.0, 15.0), peg_ahead=(-200.0, 200.0)))
    changes = answered(one)
    done = practical(one, changes)
    assert float(done.changes.peg_move_mm.z) == pytest.approx(-15.0)
    assert float(done.changes.peg_move_mm.x) / float(done.changes.peg_move_mm.z) == pytest.approx(
        float(changes.peg_move_mm.x) / float(changes.peg_move_mm.z)
    )
    assert "peg_move" in done.at_limit


@pytest.mark.parametrize(
    ("drop", "limit_deg", "moves_pegs"),
    [(-8.0, None, False), (-60.0, None, True), (-60.0, 170.0, False), (40.0, 170.0, True)],
)
def test_the_knee_may_open_up_to_the_rider_s_limit(
    drop: float, limit_deg: float | None, moves_pegs: bool
) -> None:
    """More open is fine up to the limit, 3 degrees without one; more bent is not (section 12)."""
    limits = RiderLimits(knee_angle=None if limit_deg is None else (60.0, limit_deg))
    one = job(moved(peg=(0.0, drop)), limits=limits)
    done = practical(one, answered(one))
    assert (float(done.changes.peg_move_mm.z) != 0.0) == moves_pegs
    assert ("knee_angle" in done.leave) != moves_pegs


@pytest.mark.parametrize(
    ("off", "widest", "left"),
    [
        (-2.9, None, True),
        (-3.1, None, False),
        (-3.1, 20.0, False),
        (2.9, None, True),
        (3.1, None, False),
        (3.1, 20.0, True),
        (19.9, 20.0, True),
        (20.1, 20.0, False),
        (2.9, 1.0, True),
    ],
)
def test_the_knee_s_band_ends_where_it_says(off: float, widest: float | None, left: bool) -> None:
    """Degrees more open than wished: -3 to the rider's limit, or to +3 where that is more.

    A knee outside is brought to the wish itself and not to the edge.
    """
    one = job()
    knee = float(one.now.knee_angle_deg) - off
    limits = RiderLimits(knee_angle=None if widest is None else (40.0, knee + widest))
    one = evolve(one, target=evolve(one.target, knee_angle_deg=knee), limits=limits)
    done = practical(one, answered(one))
    assert ("knee_angle" in done.leave) == left
    assert float(done.after.knee_angle_deg) == pytest.approx(knee + off * left, abs=1e-6)
    assert "knee_angle" not in done.missed


def test_a_straight_bar_is_not_rolled() -> None:
    """Null in the exact answer, nothing to do in the practical one, and a limit that says why."""
    straight = dict(TRUE)
    x, _, z = straight["grip_end"]
    straight["grip_inner"] = (x, 255.0, z + 15.0)
    one = job(straight, target=evolve(WISH, grip_tilt_deg=5.0))
    changes = answered(one)
    assert np.isnan(changes.bar_roll_deg)
    done = practical(one, changes)
    assert done.changes.bar_roll_deg == 0.0
    assert "grip_tilt" in done.missed
    assert limit(one, "grip_tilt").allowed is None


def test_clip_ons_are_slid_and_their_tilt_reported() -> None:
    """Slide and offset take the riser's place; no roll, no risers."""
    one = job(bar(30.0, -30.0), clip_on=True)
    done = practical(one, answered(one))
    assert np.isnan(done.changes.riser_height_mm)
    assert np.isnan(done.changes.bar_roll_deg)
    assert done.after.navel_to_bar_mm == pytest.approx(float(WISH.navel_to_bar_mm), abs=1e-6)


def test_clip_ons_droop_and_are_not_levelled() -> None:
    """The tilt is reported as what no change reaches, and stays as it was found."""
    one = job(tilted(30.0), clip_on=True)
    done = practical(one, answered(one))
    assert done.after.grip_tilt_deg == pytest.approx(float(one.now.grip_tilt_deg), abs=1e-9)
    assert "grip_tilt" in done.missed
    held = limit(one, "grip_tilt")
    off = float(WISH.grip_tilt_deg) - float(one.now.grip_tilt_deg)
    assert held.allowed is None
    assert held.residual == pytest.approx(off)


@given(
    ahead=st.floats(-40.0, 40.0),
    up=st.floats(-40.0, 40.0),
    droop=st.floats(-20.0, 20.0),
    lever=st.floats(-10.0, 50.0),
    knee=st.floats(-12.0, 12.0),
    name=st.sampled_from(sorted(TOLERANCES)),
    wider=st.floats(1.0, 4.0),
)
def test_widening_one_tolerance_never_adds_a_miss(
    ahead: float, up: float, droop: float, lever: float, knee: float, name: str, wider: float
) -> None:
    """On a bike that sets no bands: what is left alone is fine, the rest comes to the wish."""
    one = job(tilted(droop, bar(ahead, up)), lever=lever)
    wish = float(one.target.knee_angle_deg) + knee
    one = evolve(one, target=evolve(one.target, knee_angle_deg=wish))
    loose = evolve(one, tolerances={**TOLERANCES, name: wider * TOLERANCES[name]})
    changes = answered(one)
    assert set(practical(loose, changes).missed) <= set(practical(one, changes).missed)


@pytest.mark.parametrize("ahead", [-60.0, 50.0, 90.0])
def test_inside_its_bands_the_riser_comes_as_close_as_it_can(ahead: float) -> None:
    """scipy's bounded search finds no place with less deviation, in tolerances squared."""
    allows = Allows(riser=(0.0, 20.0), pullback=(-5.0, 15.0))
    one = job(bar(ahead, -40.0), allows=allows)
    done = practical(one, answered(one))
    assert done.at_limit

    def apart(at: Any) -> float:
        points = moves.raise_bar(one.points, float(at[0]), float(at[1]), RAKE)
        shown = numbers_on(BODY, LEAN, points)
        forearm = float(shown.forearm_angle_deg - WISH.forearm_angle_deg)
        distance = float(shown.navel_to_bar_mm - WISH.navel_to_bar_mm)
        off = (distance / 10.0) ** 2 + (forearm / 3.0) ** 2
        return off if np.isfinite(off) else 1e6

    best = optimize.differential_evolution(apart, [(0.0, 20.0), (-5.0, 15.0)], rng=1, tol=1e-10)
    ours = apart((done.changes.riser_height_mm, done.changes.riser_pullback_mm))
    assert ours == pytest.approx(best.fun, rel=1e-3, abs=1e-3)


def test_arms_that_cannot_reach_are_brought_nearer() -> None:
    """Where no allowed place is within reach, the bar comes as near as its bands let it."""
    one = job(bar(260.0, 0.0), allows=Allows(riser=(-10.0, 10.0), pullback=(0.0, 20.0)))
    assert not one.now.reachable
    done = practical(one, answered(one))
    assert float(done.changes.riser_pullback_mm) == pytest.approx(20.0, abs=0.1)
    assert "forearm_angle" in done.missed


def test_each_lever_follows_its_own_arm() -> None:
    """The right arm 5 steeper, the left 5 flatter: levers 4 and 6 above the forearm's mean.

    The brake's then is 1 degree off its arm and stays, the clutch's 11 and goes down to it.
    """
    aim = float(WISH.forearm_angle_deg)
    one = job()
    one = evolve(
        one,
        target=evolve(one.target, lever_angle_deg=Sides(aim + 5.0, aim - 5.0)),
        now=evolve(one.now, lever_angle_deg=Sides(aim + 4.0, aim + 6.0)),
    )
    done = practical(one, answered(one))
    assert "lever_angle.brake" in done.leave
    assert done.after.lever_angle_deg.brake == pytest.approx(aim + 4.0)
    assert done.after.lever_angle_deg.clutch == pytest.approx(aim - 5.0, abs=1e-6)
    assert done.missed == ()
    stays = evolve(one.bike.levers, clutch=Lever(perch="pinned"))
    held = evolve(one, bike=evolve(one.bike, levers=stays))
    assert practical(held, answered(held)).missed == ("lever_angle.clutch",)


def test_a_lever_in_line_with_the_forearm_as_it_will_be_is_left_alone() -> None:
    """Whatever the wish says: turned to the wish it would be out of line."""
    stay = Allows(riser=(0.0, 0.0), pullback=(0.0, 0.0))
    one = job(bar(0.0, -70.0), allows=stay)
    forearm = float(practical(one, answered(one)).after.forearm_angle_deg)
    assert abs(forearm - float(WISH.forearm_angle_deg)) > 5.0
    near = job(bar(0.0, -70.0), allows=stay, lever=forearm + 2.9)
    done = practical(near, answered(near))
    assert done.changes.lever_rotation_deg == Sides(0.0, 0.0)
    assert {"lever_angle.brake", "lever_angle.clutch"} <= set(done.leave)
    far = job(bar(0.0, -70.0), allows=stay, lever=forearm + 3.2)
    assert float(practical(far, answered(far)).changes.lever_rotation_deg.brake) > 3.0


def test_only_what_makes_a_number_miss_is_held() -> None:
    """A tilt inside tolerance is no reason to complain of the roll."""
    small = job(tilted(5.0), handlebar=Handlebar(roll=(0.0, 0.0)))
    assert [one.what for one in limits_of(small, answered(small))] == ["bar_roll"]
    assert practical(small, answered(small)).held == ()
    large = job(tilted(25.0), handlebar=Handlebar(roll=(0.0, 0.0)))
    (held,) = practical(large, answered(large)).held
    assert held.what == "bar_roll"
    assert held.wanted == pytest.approx(float(answered(large).bar_roll_deg))


def test_what_is_held_is_wanted_for_the_job_as_it_will_be() -> None:
    """A perch's turn to the forearm as it will be, and the slot for just that turn.

    By hand: bar radius 11.1 x turn in radians, and a 4 mm pin (DESIGN section 7).
    """
    stay = Allows(riser=(0.0, 0.0), pullback=(0.0, 0.0))
    pinned = Lever(perch="pinned", pin=Reading(4.0))
    one = job(
        bar(0.0, -70.0),
        allows=stay,
        lever=50.0,
        levers=Levers(brake=pinned, clutch=Lever()),
        handlebar=Handlebar(bar_diameter=Reading(22.2)),
    )
    done = practical(one, answered(one))
    held = {limit.what: limit for limit in done.held}["lever_rotation.brake"]
    free = float(done.changes.lever_rotation_deg.clutch)
    assert held.wanted == pytest.approx(free)
    assert held.slot_length_mm == pytest.approx(11.1 * np.radians(free) + 4.0)
    assert limit(one, "lever_rotation.brake").wanted != pytest.approx(free, abs=1.0)


def test_pegs_and_reach_that_stop_short_are_held() -> None:
    """Each with its own band."""
    short = Lever(reach=Reading(80.0), reach_range=(70.0, 95.0))
    one = job(
        moved(peg=(20.0, 60.0)),
        reach=80.0,
        levers=Levers(brake=short, clutch=Lever(reach=Reading(80.0))),
        allows=Allows(peg_up=(-15.0, 15.0)),
    )
    held = {limit.what: limit for limit in practical(one, answered(one)).held}
    assert held.keys() == {"peg_move.z", "lever_reach_change.brake"}
    assert held["lever_reach_change.brake"].residual == pytest.approx(-10.0)
    assert held["peg_move.z"].allowed == (-15.0, 15.0)


def test_numbers_outside_tolerance_as_found_are_named() -> None:
    """Against the wish, whatever becomes of them."""
    done = practical(job(), answered(job()))
    assert done.found_outside == ()
    one = job(bar(30.0, -30.0), lever=float(WISH.forearm_angle_deg) + 5.0)
    assert {"navel_to_bar", "lever_angle.brake"} <= set(practical(one, answered(one)).found_outside)
