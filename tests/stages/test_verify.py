"""The measurement after the work: against figures worked out by hand, and bikes changed by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from attrs import asdict, evolve

from fitprofile.errors import NOTE, WARNING
from fitprofile.model.bike import PINNED, Allows, Bike, Handlebar, Levers
from fitprofile.model.log import Entry
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import RiderLimits
from fitprofile.stages import moves
from fitprofile.stages.as_it_is import as_it_is
from fitprofile.stages.chain import Transfer, prepare, transfer
from fitprofile.stages.posture import Sides
from fitprofile.stages.verify import PARTS_UNKNOWN, Held, Verification, readings, verify
from tests import by_hand
from tests.stages.invented import LEVERS, SHOP, bike, moved, plain, rider, sat

OTHER = moved(
    grip_end=(25.0, -30.0), grip_inner=(25.0, -26.0), clamp=(20.0, -25.0), peg=(30.0, 15.0)
)


def made(new: Bike | None = None, **more: Any) -> Transfer:
    """The transfer that was worked after; wishes width 745 mm, reach 58 mm, tilt 0."""
    wish = sat(measured_on="good", bar_width=745.0, lever_reach=58.0, grip_tilt=0.0)
    ready, _ = prepare(rider({"road": wish}, **more), {"good": bike("good")}, SHOP)
    assert ready is not None
    found, problems = transfer(ready, new or bike("new", OTHER), "road")
    assert found is not None, problems
    return found


def entry(**figures: Any) -> Entry:
    told: dict[str, Any] = {
        n: Reading(float(v)) if isinstance(v, int | float) else v for n, v in figures.items()
    }
    given: dict[str, Any] = {
        "bike": "new",
        "use": "road",
        "date": "2026-05-02",
        "when": "after",
        "line": 5,
    }
    return Entry(**{**given, "tape": "helper", **told})


def held(found: Verification, number: str) -> Held:
    (one,) = [each for each in found.numbers if each.number == number]
    return one


def test_a_worked_example() -> None:
    """Navel-to-bar read 30 mm over the wish, mean of 2, two people.

    One reading: tape 6, re-sitting 8, so sqrt(36 + 64) = 10; mean of two 7.07; k = 2: 14.1 mm.
    30 is outside 10 and more than the tape explains. The knee, 4 and 3 so 5, k = 2: 10 degrees:
    6 too bent is outside 3, and the tape may explain it. Bar width, sd 1, k = 2: 2 mm; 4 over is
    inside 10. Brake reach, sd 1.5: 3 mm; 7 over 58 is outside 5, more than the tape explains.
    """
    done = made()
    navel, knee = float(done.target.navel_to_bar_mm), float(done.target.knee_angle_deg)
    found = verify(
        done,
        entry(
            navel_to_bar=Reading(navel + 30.0, count=2),
            forearm_angle=float(done.target.forearm_angle_deg),
            knee_angle=knee - 6.0,
            bar_width=749.0,
            lever_reach_brake=65.0,
        ),
        SHOP,
    )
    expected = {
        "bar_width": (749.0, 4.0, 10.0, 2.0, True, False),
        "navel_to_bar": (navel + 30.0, 30.0, 10.0, 2.0 * math.sqrt(50.0), False, False),
        "knee_angle": (knee - 6.0, -6.0, 3.0, 10.0, False, True),
        "lever_reach.brake": (65.0, 7.0, 5.0, 3.0, False, False),
    }
    for name, (measured, off, tolerance, give, inside, explained) in expected.items():
        one = held(found, name)
        assert one.measured == pytest.approx(measured)
        assert one.difference == pytest.approx(off)
        assert one.target == pytest.approx(measured - off)
        assert one.tolerance == tolerance
        assert one.give_or_take == pytest.approx(give)
        assert (one.inside, one.explained) == (inside, explained)
    assert not found.inside
    assert found.left.bar_width_change_mm == 0.0
    assert found.left.lever_reach_change_mm.brake == pytest.approx(-7.0)
    assert np.isnan(found.left.lever_reach_change_mm.clutch)


WORK: Mapping[str, float] = {
    "grip_slide_mm": -6.0,
    "bar_roll_deg": 4.0,
    "riser_height_mm": 22.0,
    "riser_pullback_mm": 14.0,
    "peg_x_mm": -12.0,
    "peg_z_mm": 9.0,
}
"""What was really done to the bike, not quite what was asked for."""


def test_what_is_left_brings_the_changed_bike_to_the_target() -> None:
    """The bike changed by hand, measured without error, and what is left done to it by hand.

    Nothing is inside, as no tolerance is left. Every number then is the target's, to 0.1 mm and
    degrees but for the grip's sweep, which is kept as found and enters bar and hand by a little:
    1 mm and half a degree.
    """
    done = made()
    done = evolve(done, job=evolve(done.job, tolerances=dict.fromkeys(done.job.tolerances, 0.0)))
    body, lean, rake = asdict(done.linkage), float(done.target.lean_deg), 25.0
    changed = by_hand.changed(plain(done.points), WORK, rake)
    shown = by_hand.numbers(body, lean, changed)
    found = verify(
        done,
        entry(
            bar_width=shown["bar_width_mm"],
            navel_to_bar=shown["navel_to_bar_mm"],
            forearm_angle=shown["forearm_angle_deg"],
            knee_angle=shown["knee_angle_deg"],
            grip_tilt=shown["grip_tilt_deg"],
            lever_angle_brake=19.0,
        ),
        SHOP,
    )
    left = found.left
    again = {name: float(np.nan_to_num(getattr(left, name))) for name in by_hand.CHANGES[:7]}
    again |= {"peg_x_mm": float(left.peg_move_mm.x), "peg_z_mm": float(left.peg_move_mm.z)}
    # The knee hangs on one figure: which way the pegs went nobody measured, only how far in line.
    after = by_hand.numbers(body, lean, by_hand.changed(changed, again, rake))
    target = done.target
    assert after["bar_width_mm"] == pytest.approx(745.0, abs=1.0)
    assert after["navel_to_bar_mm"] == pytest.approx(float(target.navel_to_bar_mm), abs=1.0)
    assert after["forearm_angle_deg"] == pytest.approx(float(target.forearm_angle_deg), abs=0.5)
    assert after["knee_angle_deg"] == pytest.approx(float(target.knee_angle_deg), abs=0.5)
    assert after["grip_tilt_deg"] == pytest.approx(0.0, abs=0.5)
    lever = by_hand.lever_after(changed, 19.0, again, float(left.lever_rotation_deg.brake), rake)
    assert lever == pytest.approx(float(target.forearm_angle_deg), abs=0.5)


@pytest.mark.parametrize("kind", ["one-piece", "clip-on"])
def test_the_target_measured_leaves_nothing(kind: str) -> None:
    """Every number as wished: inside, and every change is zero."""
    done = made(bike("new", OTHER, handlebar=Handlebar(kind=kind)))
    target = done.target
    found = verify(
        done,
        entry(
            bar_width=745.0,
            navel_to_bar=float(target.navel_to_bar_mm),
            forearm_angle=float(target.forearm_angle_deg),
            knee_angle=float(target.knee_angle_deg),
            grip_tilt=float(done.exact_after.grip_tilt_deg),
            lever_angle_brake=float(target.forearm_angle_deg),
            lever_angle_clutch=float(target.forearm_angle_deg),
            lever_reach_brake=58.0,
            lever_reach_clutch=58.0,
        ),
        SHOP,
    )
    assert found.inside or kind == "clip-on"
    left = asdict(found.left)
    names = ["bar_width_change_mm", "grip_slide_mm"]
    names += (
        ["clip_slide_mm", "clip_offset_mm"]
        if kind == "clip-on"
        else ["riser_height_mm", "riser_pullback_mm", "bar_roll_deg"]
    )
    values = [left[name] for name in names]
    values += [*left["peg_move_mm"].values(), *left["lever_rotation_deg"].values()]
    assert np.abs(values).max() < 1e-6


def test_what_was_not_measured_has_nothing_left() -> None:
    """Only the knee: no bar, no levers, no width; the note lists them."""
    done = made()
    found = verify(done, entry(knee_angle=float(done.target.knee_angle_deg) - 5.0), SHOP)
    left = found.left
    for value in (
        left.bar_width_change_mm,
        left.grip_slide_mm,
        left.bar_roll_deg,
        left.riser_height_mm,
        left.riser_pullback_mm,
        left.lever_rotation_deg.brake,
        left.with_seat_raise.riser_height_mm,
    ):
        assert np.isnan(value)
    assert np.isfinite(left.peg_move_mm.x)
    assert np.isfinite(left.peg_move_mm.z)
    parts, missing = found.problems
    assert {(one.level, one.line) for one in found.problems} == {(NOTE, 5)}
    assert parts.text == PARTS_UNKNOWN
    assert "bar width, navel-to-bar, forearm angle, grip tilt, grip sweep" in missing.text


def test_one_number_places_the_bar_with_a_note() -> None:
    """The forearm angle counts as wished; what is left then answers the one that was read."""
    done = made()
    short = entry(navel_to_bar=float(done.target.navel_to_bar_mm) - 25.0)
    found = verify(done, short, SHOP)
    assert np.isfinite(found.left.riser_height_mm)
    assert any(p.key == "forearm_angle" and "takes it as wished" in p.text for p in found.problems)
    told, _ = readings(done, short, SHOP)
    moved_on = moves.done_to(as_it_is(done.job, told)[0], found.left, 25.0)
    shown = by_hand.numbers(asdict(done.linkage), float(done.target.lean_deg), plain(moved_on))
    assert shown["navel_to_bar_mm"] == pytest.approx(float(done.target.navel_to_bar_mm), abs=1e-3)


def test_numbers_that_cannot_go_together_have_no_riser_and_say_why() -> None:
    """Navel-to-bar 900 mm: the arms end before."""
    found = verify(made(), entry(navel_to_bar=900.0, forearm_angle=14.0), SHOP)
    assert np.isnan(found.left.riser_height_mm)
    (problem,) = [p for p in found.problems if p.level == WARNING]
    assert "cannot go together" in problem.text


def test_a_lever_in_line_is_every_lever_and_the_forearm() -> None:
    """One figure for both sides; a figure of one side stands beside it."""
    done = made()
    told, _ = readings(done, entry(lever_angle=14.0, lever_angle_clutch=20.0), SHOP)
    values = {name: float(one.value) for name, one in told.items()}
    assert values == {
        "forearm_angle": 14.0,
        "lever_angle.brake": 14.0,
        "lever_angle.clutch": 20.0,
    }
    assert told["lever_angle.clutch"].sd == 1.5
    assert told["lever_angle.brake"].sd == pytest.approx(math.hypot(1.5, 3.0))


def test_a_knee_may_open_up_to_the_riders_limit() -> None:
    """Ten degrees more open is inside where the rider bears it, ten more bent is not."""
    done = made(limits=RiderLimits(knee_angle=(60.0, 170.0)))
    knee = float(done.target.knee_angle_deg)
    for off, inside in ((10.0, True), (-10.0, False)):
        one = held(verify(done, entry(knee_angle=knee + off), SHOP), "knee_angle")
        assert one.inside is inside


@pytest.mark.parametrize(
    ("band", "inside"), [(None, None), ((5.0, 25.0), True), ((5.0, 12.0), False)]
)
def test_the_lean_has_a_band_and_no_tolerance(
    band: tuple[float, float] | None, inside: bool | None
) -> None:
    """Without a band nobody can say."""
    done = made(limits=RiderLimits(lean=band))
    found = verify(done, entry(lean=20.0), SHOP)
    one = held(found, "lean")
    assert one.inside is inside
    assert np.isnan(one.tolerance)
    assert found.inside is (inside is not False)


def test_a_number_without_a_wish_is_not_held_against_anything() -> None:
    """No reach in the profile and none on the good bike."""
    done = made()
    done = evolve(done, target=evolve(done.target, lever_reach_mm=Sides(np.nan, np.nan)))
    assert verify(done, entry(lever_reach_brake=60.0), SHOP).numbers == ()


def uneven() -> Transfer:
    """The same transfer for a rider whose right forearm is wished 8 degrees steeper."""
    mean = sat().forearm_angle
    assert mean is not None
    pair = Reading(mean.value, count=2, sides=(mean.value - 4.0, mean.value + 4.0))
    wish = sat(measured_on="good", forearm_angle=pair)
    ready, _ = prepare(rider({"road": wish}), {"good": bike("good")}, SHOP)
    assert ready is not None
    found, problems = transfer(ready, bike("new", OTHER), "road")
    assert found is not None, problems
    return found


def test_a_lever_angle_of_each_side_is_held_against_its_own_arm() -> None:
    """Left on the clutch, right on the brake: each 4 off the mean of both as measured.

    The mean is 2 over the wish. The clutch's reads 5 under it and the brake's 8 over the wish's
    mean, so 1 and 2 degrees off their arms, at a tolerance of 3; then 4 and 4.
    """
    done = uneven()
    mean = float(done.target.forearm_angle_deg)
    where = {"forearm_angle": mean + 2.0, "navel_to_bar": done.target.navel_to_bar_mm}
    for off, inside in ((1.0, True), (4.0, False)):
        own = {"lever_angle_clutch": mean - 2.0 - off, "lever_angle_brake": mean + 6.0 + off}
        found = verify(done, entry(**own, **where), SHOP)
        assert held(found, "lever_angle.clutch").difference == pytest.approx(-off)
        assert held(found, "lever_angle.brake").difference == pytest.approx(off)
        assert held(found, "lever_angle.brake").target == pytest.approx(mean + 6.0)
        assert held(found, "lever_angle.brake").inside is inside
        assert held(found, "forearm_angle").difference == pytest.approx(2.0)


def test_a_lever_is_held_against_the_forearm_as_measured() -> None:
    """Both are 2.5 off the wish, one to either side: 5 apart is out of line, at a tolerance of 3.

    Straightedge 1.5; forearm from a photo 2.5 and re-sitting 3; together 4.18, k = 2.
    """
    done = made()
    wish = float(done.target.forearm_angle_deg)
    seen = entry(
        forearm_angle=wish + 2.5, lever_angle_brake=wish - 2.5, lever_angle_clutch=wish + 5.0
    )
    found = verify(done, seen, SHOP)
    assert held(found, "lever_angle.brake").difference == pytest.approx(-5.0)
    assert held(found, "lever_angle.brake").inside is False
    assert held(found, "lever_angle.clutch").inside is True
    assert held(found, "lever_angle.brake").give_or_take == pytest.approx(
        2.0 * math.sqrt(1.5**2 + 2.5**2 + 3.0**2)
    )
    assert held(found, "forearm_angle").inside is True
    found = verify(done, entry(lever_angle_brake=wish - 2.5), SHOP)
    assert held(found, "lever_angle.brake").inside is True
    assert held(found, "lever_angle.brake").give_or_take == pytest.approx(3.0)


def test_a_lever_that_was_not_read_by_itself_is_in_line() -> None:
    """It is the forearm's own reading, so the tape leaves no more open than its own."""
    done = made()
    found = verify(done, entry(lever_angle=float(done.target.forearm_angle_deg) + 9.0), SHOP)
    one = held(found, "lever_angle.brake")
    assert (one.difference, one.inside) == (0.0, True)
    assert one.give_or_take == pytest.approx(2.0 * math.hypot(1.5, 3.0))
    assert held(found, "forearm_angle").inside is False


def test_levers_and_reaches_that_were_not_measured_are_named() -> None:
    """Where the bike has them and they are wished; one side by itself."""
    done = made()
    everything = ("bar width", "navel-to-bar", "forearm angle", "grip tilt", "grip sweep")
    knee = verify(done, entry(knee_angle=88.0), SHOP)
    assert knee.missing == (*everything, "lever angles", "lever reaches")
    some = verify(
        done, entry(knee_angle=88.0, lever_angle_brake=14.0, lever_reach_clutch=58.0), SHOP
    )
    assert some.missing == (*everything, "clutch lever angle", "brake lever reach")
    bare = made(bike("new", OTHER, levers=Levers(brake=LEVERS.brake)))
    none = evolve(bare, target=evolve(bare.target, lever_reach_mm=Sides(np.nan, np.nan)))
    assert verify(none, entry(knee_angle=88.0), SHOP).missing == (*everything, "brake lever angle")
    mean = verify(uneven(), entry(lever_angle=14.0), SHOP)
    assert not [words for words in mean.missing if "lever angle" in words]


def test_a_lever_angle_of_no_side_says_nothing_of_either_lever() -> None:
    """It is the mean of both arms, as the forearm's is; a lever measured itself is held."""
    done = uneven()
    mean = float(done.target.forearm_angle_deg)
    found = verify(done, entry(lever_angle=mean, lever_angle_brake=mean + 4.0), SHOP)
    numbers = {one.number: one.difference for one in found.numbers}
    assert "lever_angle.clutch" not in numbers
    assert numbers["lever_angle.brake"] == pytest.approx(0.0, abs=1e-6)
    assert numbers["forearm_angle"] == pytest.approx(0.0, abs=1e-6)
    (told,) = [one for one in found.problems if "arms are wished differently" in one.text]
    assert (told.level, told.key, told.line) == (NOTE, "lever_angle", 5)
    assert "--lever-angle-clutch" in told.text


@pytest.mark.parametrize(
    ("off", "inside"), [(10.4, True), (-10.4, True), (10.6, False), (-10.6, False)]
)
def test_a_number_is_judged_as_it_is_printed(off: float, inside: bool) -> None:
    """10.4 mm off is printed as 10, which is the tolerance; the figure itself stays."""
    done = made()
    navel = float(done.target.navel_to_bar_mm) + off
    slope = float(done.target.forearm_angle_deg)
    found = verify(done, entry(navel_to_bar=navel, forearm_angle=slope), SHOP)
    one = held(found, "navel_to_bar")
    assert (one.inside, one.tolerance) == (inside, 10.0)
    assert one.difference == pytest.approx(off)
    assert (found.left.riser_height_mm == 0.0) is inside


def test_a_pin_that_must_have_been_freed_is_said() -> None:
    """The brake lever read at 20 is found at 35, the bar as it was: more than tapes explain."""
    assert LEVERS.brake is not None
    pinned = Levers(brake=evolve(LEVERS.brake, perch=PINNED), clutch=LEVERS.clutch)
    done = made(bike("new", OTHER, levers=pinned))
    tilt = float(done.now.grip_tilt_deg)
    found = verify(done, entry(grip_tilt=tilt, lever_angle_brake=35.0), SHOP)
    (said,) = [p for p in found.problems if p.key == "lever_angle_brake"]
    assert (
        "the brake perch was pinned when the bike was taped and has been turned by 15" in said.text
    )
    found = verify(done, entry(grip_tilt=tilt, lever_angle_brake=22.0), SHOP)
    assert not [p for p in found.problems if p.key == "lever_angle_brake"]


def test_a_record_older_than_the_tape_says_so() -> None:
    """And that stands in place of the parts that nobody named since."""
    done = made(bike("new", OTHER, date="2026-05-03"))
    found = verify(done, entry(knee_angle=60.0), SHOP)
    (said,) = [p for p in found.problems if p.level == WARNING]
    assert said.key == "date"
    assert "bikes/new.toml was taped again on 2026-05-03, after this record" in said.text
    assert not [p for p in found.problems if p.text == PARTS_UNKNOWN]
    far = entry(bar_width=600.0)
    why = verify(made(), far, SHOP, unknown="No tube.")
    assert "No tube." in [p.text for p in why.problems]


def test_what_is_left_beyond_a_band_is_a_limit() -> None:
    """Width 30 mm too narrow on a bike that takes 10 more than is on it: 20 of it are missing.

    Only what was measured is held: the riser's band of nothing at all is not asked for.
    """
    tight = Allows(bar_width=(600.0, 725.0), riser=(0.0, 0.0))
    found = verify(made(bike("new", OTHER, allows=tight)), entry(bar_width=715.0), SHOP)
    (limit,) = found.limits
    assert limit.what == "bar_width_change"
    assert limit.wanted == pytest.approx(30.0)
    assert limit.allowed == pytest.approx((-115.0, 10.0))
    assert limit.residual == pytest.approx(20.0)


def test_readings_of_the_entry_that_contradict_are_named() -> None:
    """Held back from the calibration, it still is looked at; at its line."""
    found = verify(made(), entry(navel_to_bar=Reading(430.0, count=2, scatter=120.0)), SHOP)
    (problem,) = [p for p in found.problems if "120 mm apart" in p.text]
    assert (problem.level, problem.key, problem.line) == (WARNING, "navel_to_bar", 5)
