"""Parts fitted since a bike was taped: drawings placed by hand, and bands counted by hand."""

from __future__ import annotations

from collections.abc import Mapping
from math import cos, radians, sin
from typing import Any

import numpy as np
import pytest
from attrs import asdict, evolve
from hypothesis import given

from fitprofile.model.bike import FREE, PINNED, Allows, Fitted, Handlebar, Lever, Levers
from fitprofile.model.parts import Bar, Catalogue, ClipOn, LeverSet, PegPlate, Riser, Seat
from fitprofile.model.quantity import Reading
from fitprofile.stages import moves
from fitprofile.stages.as_fitted import as_fitted, choice_of, with_fitted
from fitprofile.stages.as_it_is import as_it_is, limits_left
from fitprofile.stages.chain import Transfer
from fitprofile.stages.entries import NO_WORK, Work
from fitprofile.stages.job import Job, deviations, within
from fitprofile.stages.left_to_do import left_to_do
from fitprofile.stages.moves import Changes
from fitprofile.stages.plans import plans_for
from fitprofile.stages.posture import numbers_on
from fitprofile.stages.siton import Reported
from fitprofile.stages.survey import BikePoints
from tests import by_hand
from tests.stages.invented import LEVERS, bike, plain
from tests.stages.shelves import cases
from tests.stages.test_verify import OTHER, made

RAKE = 25.0
R = Reading

SHOP_PARTS = Catalogue(
    file="shared/parts.toml",
    risers=(
        Riser(name="Low", height=R(10.0)),
        Riser(name="High", height=R(30.0), pullback=R(20.0)),
    ),
    bars=(
        Bar(
            name="Wide",
            width=R(790.0),
            rise=R(60.0),
            pullback=R(95.0),
            backsweep=R(14.0),
            upsweep=R(3.0),
            clamp_diameter=R(28.6),
        ),
    ),
    clip_ons=(ClipOn(name="Raised", offset=R(30.0)),),
    peg_plates=(PegPlate(name="Plates", x=R(-15.0), z=R(-10.0)),),
    seats=(Seat(name="Tall", z=R(20.0), x=R(5.0)),),
    lever_sets=(
        LeverSet(name="Short", reach_range=(45.0, 62.0)),
        LeverSet(name="Short brake", reach_range=(40.0, 60.0), side="brake"),
    ),
)
ALLOWS = Allows(
    riser=(-5.0, 60.0),
    pullback=(-10.0, 30.0),
    peg_ahead=(-40.0, 20.0),
    peg_up=(-30.0, 10.0),
    seat=(-20.0, 40.0),
)


def worked(*names: str, **more: Any) -> Transfer:
    """A transfer to the other bike with these parts fitted."""
    fields = {"allows": ALLOWS, "handlebar": Handlebar(roll=(-8.0, 10.0)), **more}
    found = with_fitted(made(bike("new", OTHER, **fields)), Work(names, np.nan), SHOP_PARTS)
    assert found.parts is not None
    assert set(found.parts) == set(names)
    return found.transfer


def drawn_by_hand(points: Mapping[str, by_hand.Triple]) -> dict[str, by_hand.Triple]:
    """The wide bar on the high riser: 30 up the steering axis, 20 behind it, then its drawing."""
    up = (-sin(radians(RAKE)), 0.0, cos(radians(RAKE)))
    back = (-cos(radians(RAKE)), 0.0, -sin(radians(RAKE)))
    clamp = by_hand.add(by_hand.add(points["clamp"], up, 30.0), back, 20.0)
    end = by_hand.add(clamp, (-95.0, 395.0, 60.0))
    flat = cos(radians(3.0))
    axis = (-flat * sin(radians(14.0)), flat * cos(radians(14.0)), sin(radians(3.0)))
    length = by_hand.size(by_hand.less(points["grip_end"], points["grip_inner"]))
    inner = by_hand.add(end, axis, -length)
    return {**points, "clamp": clamp, "grip_end": end, "grip_inner": inner}


def test_parts_stand_where_their_drawings_put_them() -> None:
    """Riser and bar by hand, pegs and seat moved by their figures."""
    job = worked("High", "Wide", "Plates", "Tall").job
    before, after = plain(made(bike("new", OTHER)).points), plain(job.points)
    expected = drawn_by_hand(before)
    expected["peg"] = by_hand.add(before["peg"], (-15.0, 0.0, -10.0))
    expected["seat"] = by_hand.add(before["seat"], (5.0, 0.0, 20.0))
    for name in ("clamp", "grip_end", "grip_inner", "peg", "seat"):
        assert after[name] == pytest.approx(expected[name], abs=0.05), name
    shown = by_hand.numbers(asdict(job.rider), float(job.target.lean_deg), expected)
    assert float(job.now.bar_width_mm) == pytest.approx(790.0)
    assert float(job.now.navel_to_bar_mm) == pytest.approx(shown["navel_to_bar_mm"], abs=0.1)


def test_bands_are_what_the_parts_leave_of_them() -> None:
    """Of riser [-5, 60], pullback [-10, 30], pegs [-40, 20] and [-30, 10], seat [-20, 40]."""
    allows = worked("High", "Plates", "Tall").job.bike.allows
    assert allows.riser == (-35.0, 30.0)
    assert allows.pullback == (-30.0, 10.0)
    assert (allows.peg_ahead, allows.peg_up) == ((-25.0, 35.0), (-20.0, 20.0))
    assert allows.seat == (-40.0, 20.0)


def test_parts_count_against_those_that_were_on_the_bike() -> None:
    """The high riser in place of the low one goes up 20; without it the bar comes down 10."""
    low = {"fitted": Fitted(riser="Low")}
    assert worked("High", **low).job.bike.allows.riser == (-25.0, 40.0)
    off = worked("without Low", **low).job
    assert off.bike.allows.riser == (0.0, 65.0)  # done beyond an end counts as to the end
    down = float(off.points.clamp.z) - float(made(bike("new", OTHER)).points.clamp.z)
    assert down == pytest.approx(-10.0 * cos(radians(RAKE)), abs=0.05)


def test_perches_on_a_new_bar_are_free() -> None:
    """Whatever held them on the old one; a lever set brings its own adjuster."""
    pinned = Levers(
        brake=evolve(LEVERS.brake or Lever(), perch=PINNED, rotation=(-5.0, 5.0)),
        clutch=LEVERS.clutch,
    )
    own = worked("High", levers=pinned).job
    assert own.bike.levers.brake is not None
    assert own.bike.levers.brake.perch == PINNED
    assert float(own.now.lever_angle_deg.brake) == 20.0
    new = worked("Wide", "Short brake", levers=pinned).job
    brake, clutch = new.bike.levers.brake, new.bike.levers.clutch
    assert brake is not None
    assert clutch is not None
    assert (brake.perch, brake.rotation, brake.reach_range) == (FREE, None, (40.0, 60.0))
    assert clutch.reach_range == (55.0, 85.0)
    assert np.isnan(float(new.now.lever_angle_deg.brake))


def test_names_are_read_in_the_order_of_the_work() -> None:
    """The last of a kind is on the bike; what came off is the maker's own or what was taped."""
    one = bike("new", OTHER)
    choice, lost = choice_of(("Low", "High", "Wide", "Short brake", "Short"), one, SHOP_PARTS)
    assert lost == ()
    assert choice.riser == SHOP_PARTS.risers[1]
    assert [levers.name for levers in choice.lever_sets] == ["Short", "Short brake"]
    assert choice.levers_of("brake") == SHOP_PARTS.lever_sets[0]
    choice, _ = choice_of(
        ("High", "Wide", "Short", "without High", "without Wide", "without Short"), one, SHOP_PARTS
    )
    assert choice.riser is not None
    assert (choice.riser.name, choice.riser.height.value) == ("without High", 0.0)
    assert choice.bar is None
    assert choice.lever_sets == ()


@pytest.mark.parametrize("name", ["Lofty", "without Lofty", "Raised"])
def test_a_part_that_cannot_be_told_leaves_the_parts_unknown(name: str) -> None:
    """Not listed, or made for clip-ons: the bike stays as taped."""
    done = made(bike("new", OTHER))
    assert choice_of((name,), done.bike, SHOP_PARTS)[1] == (name,)
    work = Work(("High", name), np.nan)
    for said in (work, NO_WORK):
        found = with_fitted(done, said, SHOP_PARTS)
        assert found.parts is None
        assert found.transfer.job == done.job


def test_clip_ons_cannot_be_placed_where_the_tubes_were_not_taped() -> None:
    """The parts are not known then, and it is said why."""
    done = made(bike("new", OTHER, handlebar=Handlebar(kind="clip-on")))
    found = with_fitted(done, Work(("Raised",), np.nan), SHOP_PARTS)
    assert found.parts is None
    assert "tape widths.tube" in found.why_not
    assert found.transfer.job == done.job


def test_the_lean_of_the_plan_is_the_one_that_is_wished() -> None:
    """In table and job alike."""
    done = made(bike("new", OTHER))
    found = with_fitted(done, Work(("High",), 6.5), SHOP_PARTS).transfer
    assert float(found.target.lean_deg) == float(found.job.target.lean_deg) == 6.5
    assert found.target.navel_to_bar_mm == done.target.navel_to_bar_mm


WORK = {
    "bar_roll_deg": 4.0,
    "grip_slide_mm": -12.0,
    "riser_height_mm": 6.0,
    "riser_pullback_mm": -3.0,
}
"""What was set on the new bar, not quite as planned."""


READ = {
    "bar_width": "mm",
    "navel_to_bar": "mm",
    "forearm_angle": "deg",
    "grip_tilt": "deg",
    "grip_sweep": "deg",
    "knee_angle": "deg",
}
"""Numbers that are measured after the work, with their units."""


def read_by_hand(done: Transfer) -> tuple[dict[str, by_hand.Triple], dict[str, Reported]]:
    """The bike with new bar, riser and settings, and the numbers on it, by plain Python."""
    as_taped = plain(made(bike("new", OTHER)).points)
    true = by_hand.changed(drawn_by_hand(as_taped), WORK, RAKE)
    shown = by_hand.numbers(asdict(done.linkage), float(done.target.lean_deg), true)
    return true, {name: Reported(shown[f"{name}_{unit}"], 1.0) for name, unit in READ.items()}


def test_the_bike_is_found_again_by_hand() -> None:
    """New bar, riser and settings by plain Python; read, and put back where everything stands."""
    done = worked("High", "Wide")
    true, told = read_by_hand(done)
    now, stands = as_it_is(done.job, told, parts_known=True)
    assert stands
    found = plain(now)
    for name in ("clamp", "grip_end", "grip_inner"):
        assert found[name] == pytest.approx(true[name], abs=0.1), name
    blind, _ = as_it_is(made(bike("new", OTHER)).job, told)
    off = by_hand.size(by_hand.less(plain(blind)["clamp"], true["clamp"]))
    assert off > 5.0  # without the names the clamp is looked for elsewhere


def test_what_is_left_of_a_band_counts_from_the_parts() -> None:
    """Riser [-5, 60] with 30 fitted and 6 of roundabout work: 24 are left, and 40 wanted."""
    done = worked("High", "Wide")
    _, told = read_by_hand(done)
    now, _ = as_it_is(done.job, told, parts_known=True)
    wanted = evolve(moves.NO_CHANGES, riser_height_mm=40.0)
    limits = {limit.what: limit for limit in limits_left(done.job, now, wanted, told)}
    band = limits["riser_height"].allowed
    assert band is not None
    assert band == pytest.approx((-41.0, 24.0), abs=0.1)
    assert limits["riser_height"].residual == pytest.approx(16.0, abs=0.1)


def test_a_pinned_perch_that_was_turned_is_free() -> None:
    """By 9 degrees where tapes explain 4; by 2 it may still be pinned."""
    pinned = Levers(brake=evolve(LEVERS.brake or Lever(), perch=PINNED), clutch=LEVERS.clutch)
    done = made(bike("new", OTHER, levers=pinned, allows=ALLOWS))
    left = evolve(
        moves.NO_CHANGES, lever_rotation_deg=evolve(moves.NO_CHANGES.lever_rotation_deg, brake=5.0)
    )
    tilt = float(done.now.grip_tilt_deg)
    for angle, held in ((29.0, False), (22.0, True)):
        told = {
            "grip_tilt": Reported(tilt, 1.0),
            "lever_angle.brake": Reported(angle, 2.0),
        }
        found = limits_left(done.job, done.points, left, told)
        assert ("lever_rotation.brake" in {limit.what for limit in found}) is held
    untold = {"lever_angle.brake": Reported(29.0, 2.0)}
    found = limits_left(done.job, done.points, left, untold)
    assert "lever_rotation.brake" in {limit.what for limit in found}


def readings_of(job: Job, points: BikePoints) -> dict[str, Reported]:
    """Everything of the bar, the seat and the pegs, read without error."""
    shown = numbers_on(job.rider, float(job.target.lean_deg), points)
    return {
        name: Reported(float(getattr(shown, f"{name}_{unit}")), 1.0) for name, unit in READ.items()
    }


@given(cases())
def test_what_is_left_after_a_plan_can_be_followed_to_the_letter(
    case: tuple[Job, Catalogue],
) -> None:
    """Every plan carried out badly, measured, and put right: all that a setting reaches is inside.

    The bike that the changes are made to is the true one, not the one that was made of readings.
    """
    job, catalogue = case
    for plan in plans_for(((job, 1.0),), catalogue):
        slip = Changes(
            bar_width_change_mm=-16.0,
            grip_slide_mm=-8.0,
            bar_roll_deg=np.nan if job.clip_on else 3.0,
            riser_height_mm=np.nan if job.clip_on else 11.0,
            riser_pullback_mm=np.nan if job.clip_on else -9.0,
            clip_turn_deg=np.nan,
            clip_slide_mm=11.0 if job.clip_on else np.nan,
            clip_offset_mm=-9.0 if job.clip_on else np.nan,
        )
        true = moves.done_to(plan.points, slip, job.rake)
        told = readings_of(job, true)
        fitted = as_fitted(job, plan.choice, catalogue)
        now, stands = as_it_is(fitted, told, parts_known=True)
        if not stands:
            continue  # the hands do not reach: nothing is said of the riser
        left = left_to_do(fitted, now, told, stands=stands)
        again = moves.done_to(true, left, job.rake)
        off = deviations(job.target, numbers_on(job.rider, job.target.lean_deg, again))
        asked = (
            "bar_width",
            "navel_to_bar",
            "forearm_angle",
            *(() if job.clip_on else ("grip_tilt",)),
        )
        if not np.isfinite(float(left.riser_height_mm if not job.clip_on else left.clip_slide_mm)):
            continue  # no place of this bar gives both
        for name in asked:
            assert within(job, name, off[name] * (1.0 - 1e-6)), (plan.name, name, off[name])
