"""A standing measurement after the work: figures by hand, and bikes changed by hand."""

from __future__ import annotations

from math import cos, radians, sin
from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.errors import NOTE, WARNING
from fitprofile.model.bike import Allows, Bike, Lever, Levers
from fitprofile.model.log import Entry
from fitprofile.model.quantity import Reading
from fitprofile.stages import moves
from fitprofile.stages.chain import Prepared, Transfer, prepare, transfer
from fitprofile.stages.verify import PARTS_UNKNOWN, Held, Verification
from fitprofile.stages.verify_standing import verify_standing
from tests import by_hand
from tests.stages.invented import SHOP, bike, plain
from tests.stages.test_stance import HIGH
from tests.stages.test_standing import BIKE
from tests.stages.test_standing_wish import stander

FREE = Levers(
    brake=Lever(angle=Reading(12.0), perch="free", rotation=(-3.0, 10.0)),
    clutch=Lever(angle=Reading(15.0), perch="pinned"),
)
WISH = {"bar_width": 790.0, "lever_angle": 18.0, "brake_pedal": -5.0, "hip_to_grip": 560.0}


def ready(**wish: Reading) -> Prepared:
    """The invented rider; grips wished 720 above and 370 ahead of the peg."""
    person = stander(**WISH)
    own = evolve(person.standing["trail"], **wish)  # type: ignore[arg-type]  # by its own names
    found, problems = prepare(evolve(person, standing={"trail": own}), {"heron": BIKE}, SHOP)
    assert found is not None, problems
    return found


def on(rider: Prepared, **fields: Any) -> Transfer:
    """The transfer to a bike whose grips stand just where the good one's do."""
    new: Bike = bike("tern", HIGH, **{"levers": FREE, **fields})
    found, problems = transfer(rider, new, "road")
    assert found is not None, problems
    return found


def entry(**figures: Any) -> Entry:
    """Measured with a helper after the work."""
    read = {n: Reading(v) if isinstance(v, float) else v for n, v in figures.items()}
    given = {"bike": "tern", "use": "trail", "date": "2026-05-02", "line": 9, "tape": "helper"}
    return Entry(**{**given, "when": "after", **read})  # type: ignore[arg-type]


RIDER = ready(lever_angle=Reading(20.0, count=2, sides=(26.0, 14.0)))
"""Arms that differ: 26 at the left hand, 14 at the right."""

MADE = on(RIDER)


def check(taken: Entry, **fields: Any) -> Verification:
    """One entry held against the standing target."""
    rider = ready()
    return verify_standing(on(rider, **fields), rider.standing["trail"], taken, SHOP)


def held(found: Verification, number: str) -> Held:
    (one,) = [each for each in found.numbers if each.number == number]
    return one


def test_parts_that_are_not_known_and_a_record_older_than_the_tape_are_said() -> None:
    """In the words of a seated use; nothing of the parts where every number is inside."""
    far = entry(grip_above_peg=600.0)
    assert PARTS_UNKNOWN in [one.text for one in check(far).problems]
    inside = check(entry(grip_above_peg=720.0))
    assert inside.inside
    assert PARTS_UNKNOWN not in [one.text for one in inside.problems]
    rider = ready()
    one = rider.standing["trail"]
    known = verify_standing(on(rider), one, far, SHOP, ("Riser 20",))
    assert PARTS_UNKNOWN not in [problem.text for problem in known.problems]
    why = verify_standing(on(rider), one, far, SHOP, None, "No tube.")
    assert "No tube." in [problem.text for problem in why.problems]
    old = verify_standing(on(rider, date="2030-01-01"), one, far, SHOP)
    assert [problem.key for problem in old.problems if problem.level == WARNING] == ["date"]


def test_a_worked_example() -> None:
    """Tolerances 10, 10, 10, 3, 3, 5; one reading with a helper: 2, 3, 1, 1.5 mm and degrees.

    Grips 6 too high: inside. 40 too far ahead, twice k = 3 by root 2 of it explains 4.2. Width 12
    too narrow, tape 2. Brake lever 4 too flat, tape 3. Pedal 12 too low, tape 4. Hip-to-grip has
    6 and 8, so 20, and is not judged.
    """
    found = check(
        entry(
            grip_above_peg=726.0,
            grip_ahead_of_peg=Reading(410.0, count=2),
            bar_width=778.0,
            lever_angle_brake=14.0,
            lever_angle_clutch=18.5,
            brake_pedal=-17.0,
            gear_lever=20.0,
            hip_to_grip=530.0,
        )
    )
    expected = {
        "grip_above_peg": (726.0, 6.0, 10.0, 4.0, True, False),
        "grip_ahead_of_peg": (410.0, 40.0, 10.0, 6.0 / np.sqrt(2.0), False, False),
        "bar_width": (778.0, -12.0, 10.0, 2.0, False, False),
        "lever_angle.brake": (14.0, -4.0, 3.0, 3.0, False, False),
        "lever_angle.clutch": (18.5, 0.5, 3.0, 3.0, True, True),
        "brake_pedal": (-17.0, -12.0, 5.0, 4.0, False, False),
    }
    assert [one.number for one in found.numbers] == [*expected, "hip_to_grip"]
    for name, (measured, off, tolerance, give, inside, explained) in expected.items():
        one = held(found, name)
        assert one.measured == pytest.approx(measured)
        assert one.difference == pytest.approx(off)
        assert one.tolerance == tolerance
        assert one.give_or_take == pytest.approx(give)
        assert (one.inside, one.explained) == (inside, explained)
    hip = held(found, "hip_to_grip")
    assert hip.inside is None
    assert hip.give_or_take == pytest.approx(20.0)
    assert hip.difference == pytest.approx(-30.0, abs=0.5)
    assert not found.inside
    assert found.pedals_left is not None
    assert found.pedals_left["brake_pedal"] == pytest.approx(12.0)
    assert np.isnan(found.pedals_left["gear_lever"])  # measured, and nothing wished


def test_the_riser_left_by_hand() -> None:
    """Grips 40 too far ahead and 15 too low, rake 25: along the steering axis and square to it."""
    left = check(entry(grip_above_peg=705.0, grip_ahead_of_peg=410.0)).left
    c, s = cos(radians(25.0)), sin(radians(25.0))
    assert float(left.riser_height_mm) == pytest.approx(15.0 * c + 40.0 * s)
    assert float(left.riser_pullback_mm) == pytest.approx(40.0 * c - 15.0 * s)
    for value in (left.bar_width_change_mm, left.bar_roll_deg, left.clip_slide_mm):
        assert np.isnan(value)
    assert np.isnan(left.lever_rotation_deg.brake)


def test_what_is_left_brings_a_bike_changed_by_hand_to_the_target() -> None:
    """Slid, raised, pulled back; measured by hand; what is left done to it by hand."""
    rider = ready()
    done = on(rider)
    work = {"grip_slide_mm": -20.0, "riser_height_mm": -30.0, "riser_pullback_mm": 21.0}
    changed = by_hand.changed(plain(done.points), work, 25.0)
    end, peg = changed["grip_end"], changed["peg"]
    taken = entry(
        grip_above_peg=end[2] - peg[2],
        grip_ahead_of_peg=end[0] - peg[0],
        bar_width=2.0 * end[1],
        lever_angle=11.0,
    )
    left = verify_standing(done, rider.standing["trail"], taken, SHOP).left
    again = {name: float(np.nan_to_num(getattr(left, name))) for name in work}
    after = by_hand.changed(changed, again, 25.0)
    assert after["grip_end"][2] - peg[2] == pytest.approx(720.0)
    assert after["grip_end"][0] - peg[0] == pytest.approx(370.0)
    assert 2.0 * after["grip_end"][1] == pytest.approx(790.0)
    turn = float(left.lever_rotation_deg.brake)
    assert by_hand.lever_after(changed, 11.0, again, turn, 25.0) == pytest.approx(18.0)


PRINTED = 0.5
"""mm or degrees beyond a tolerance that nobody sees: numbers are judged as they are printed."""


@given(
    slide=st.floats(-40.0, 40.0),
    height=st.floats(-60.0, 60.0),
    pullback=st.floats(-50.0, 50.0),
    levers=st.tuples(st.floats(0.0, 40.0), st.floats(0.0, 40.0)),
    pedal=st.floats(-40.0, 40.0),
)
def test_whoever_follows_the_list_to_the_letter_is_inside(
    slide: float, height: float, pullback: float, levers: tuple[float, float], pedal: float
) -> None:
    """A bike changed by hand, measured, and the list done to it by hand in whole mm and degrees.

    What was inside and is not asked to change stays where it was. Of wished 26 left, 14 right the
    left hand's is the clutch's.
    """
    rider, peg = RIDER, MADE.points.peg
    work = {"grip_slide_mm": slide, "riser_height_mm": height, "riser_pullback_mm": pullback}
    changed = by_hand.changed(plain(MADE.points), work, 25.0)
    end = changed["grip_end"]
    taken = entry(
        grip_above_peg=end[2] - float(peg.z),
        grip_ahead_of_peg=end[0] - float(peg.x),
        bar_width=2.0 * end[1],
        lever_angle_brake=levers[0],
        lever_angle_clutch=levers[1],
        brake_pedal=pedal,
    )
    found = verify_standing(MADE, rider.standing["trail"], taken, SHOP)
    names = ("bar_width_change_mm", "riser_height_mm", "riser_pullback_mm")
    wider, up, back = (round(float(getattr(found.left, name))) for name in names)
    axis = float(moves.grip_axis(MADE.points).y)
    again = {
        "grip_slide_mm": wider / (2.0 * axis),
        "riser_height_mm": up,
        "riser_pullback_mm": back,
    }
    after = by_hand.changed(changed, again, 25.0)
    end = after["grip_end"]
    assert abs(end[2] - float(peg.z) - 720.0) <= 10.0 + PRINTED
    assert abs(end[0] - float(peg.x) - 370.0) <= 10.0 + PRINTED
    assert abs(2.0 * end[1] - 790.0) <= 10.0 + PRINTED
    assert found.pedals_left is not None
    assert abs(pedal + round(found.pedals_left["brake_pedal"]) + 5.0) <= 5.0 + PRINTED
    turned = found.left.lever_rotation_deg
    for lever, turn, wished in zip(
        levers, (turned.brake, turned.clutch), (14.0, 26.0), strict=True
    ):
        shown = by_hand.lever_after(changed, lever, again, round(float(turn)), 25.0)
        assert abs(shown - wished) <= 3.0 + PRINTED


def test_what_is_inside_is_left_alone() -> None:
    """Everything a little off, then the width alone: nothing else is touched, to the last digit."""
    near = {
        "grip_above_peg": 729.0,
        "grip_ahead_of_peg": 361.0,
        "lever_angle_brake": 20.5,
        "lever_angle_clutch": 15.5,
        "brake_pedal": -1.0,
    }
    for width, wider in ((799.0, 0.0), (801.0, -11.0)):
        found = check(entry(bar_width=width, **near))
        left = found.left
        assert float(left.bar_width_change_mm) == pytest.approx(wider)
        assert found.pedals_left is not None
        still = [found.pedals_left["brake_pedal"], left.riser_pullback_mm]
        still += [left.lever_rotation_deg.brake, left.lever_rotation_deg.clutch]
        assert {float(value) for value in still} == {0.0}


def test_grips_slid_far_bring_the_riser_in() -> None:
    """110 too wide, the place as wished: sweep carries the ends forward as they are slid in, by
    15 mm of 55 to a side, and the riser brings them back; 60 too wide it is 8, and stays.
    """
    some = check(entry(bar_width=850.0, grip_above_peg=720.0, grip_ahead_of_peg=370.0)).left
    assert (some.riser_height_mm, some.riser_pullback_mm) == (0.0, 0.0)
    wide = {"bar_width": 900.0, "grip_above_peg": 720.0, "grip_ahead_of_peg": 370.0}
    left = check(entry(**wide)).left
    axis = moves.grip_axis(MADE.points)
    moved = -float(left.riser_pullback_mm) * cos(radians(25.0))
    moved -= float(left.riser_height_mm) * sin(radians(25.0))
    assert moved == pytest.approx(55.0 * float(axis.x / axis.y))
    assert -16.0 < moved < -14.0


def test_each_arm_is_held_against_its_own_wish() -> None:
    """Wished 26 left and 14 right: the left hand's lever is the clutch's.

    Read of both sides, each is its own; read of none it is their mean, and says nothing of either.
    """
    one = RIDER.standing["trail"]
    both = Reading(21.0, count=2, sides=(27.0, 15.0))
    found = verify_standing(MADE, one, entry(lever_angle=both), SHOP)
    assert [held(found, f"lever_angle.{side}").difference for side in ("brake", "clutch")] == [
        pytest.approx(1.0),
        pytest.approx(1.0),
    ]
    swapped = Reading(21.0, count=2, sides=(15.0, 27.0))
    assert not verify_standing(MADE, one, entry(lever_angle=swapped), SHOP).inside
    mean = verify_standing(MADE, one, entry(lever_angle=20.0, lever_angle_brake=14.0), SHOP)
    assert [each.number for each in mean.numbers] == ["lever_angle.brake"]
    (note,) = [p for p in mean.problems if p.key == "lever_angle"]
    assert "says nothing of the clutch lever; record --lever-angle-clutch" in note.text
    assert (note.level, note.line) == (NOTE, 9)
    alone = verify_standing(MADE, one, entry(lever_angle_brake=14.0), SHOP)
    assert "clutch lever angle" in alone.missing


def test_what_the_bike_no_longer_allows_is_named() -> None:
    """Grips wished where they are as found: lowered by 30 along the axis in a band of -40 to 5.

    15 below the wish they were lowered by 15 cos 25 = 13.6, and pulled forward by 6.3, which only
    the riser's band says something of: -26.4 to 18.6 are left, and 13.6 up is allowed. 60 below,
    the band's end is 40 down: 45 up are left, 54.4 are needed, 9.4 missing. The clutch's perch is
    pinned.
    """
    near = check(entry(grip_above_peg=705.0), allows=Allows(riser=(-40.0, 5.0)))
    assert near.limits == ()
    low = entry(grip_above_peg=660.0, grip_ahead_of_peg=370.0, lever_angle_clutch=10.0)
    riser, perch = check(low, allows=Allows(riser=(-40.0, 5.0))).limits
    assert riser.what == "riser_height"
    assert riser.allowed == pytest.approx((0.0, 45.0))
    assert riser.residual == pytest.approx(60.0 * cos(radians(25.0)) - 45.0)
    assert (perch.what, perch.allowed) == ("lever_rotation.clutch", (0.0, 0.0))


def test_a_lever_angle_in_line_is_that_of_every_lever_the_bike_has() -> None:
    """With standing up again in its spread; a side's own figure stands in place of it."""
    one = evolve(FREE, clutch=None)
    found = check(entry(lever_angle=19.0), levers=one)
    assert [each.number for each in found.numbers] == ["lever_angle.brake"]
    assert found.numbers[0].give_or_take == pytest.approx(2.0 * np.hypot(1.5, 3.0))
    own = held(check(entry(lever_angle=19.0, lever_angle_brake=12.0)), "lever_angle.brake")
    assert own.measured == 12.0
    assert own.give_or_take == pytest.approx(3.0)


def test_what_was_not_measured_is_said() -> None:
    """One of two places the grips with a note; the rest is listed, a lever only if it is there."""
    found = check(entry(grip_above_peg=700.0), levers=Levers())
    notes = {p.key: p for p in found.problems}
    assert "takes it as wished" in notes["grip_ahead_of_peg"].text
    assert notes[None].text.endswith("nothing is said of: bar width, brake pedal")
    assert all((p.level, p.line) == (NOTE, 9) for p in found.problems)
    assert np.isfinite(found.left.riser_height_mm)
    none = check(entry(brake_pedal=-5.0))
    assert np.isnan(none.left.riser_height_mm)
    assert "grips above the peg, grips ahead of the peg, bar width, lever angle" in (
        none.problems[-1].text
    )


def test_at_the_wish_nothing_is_left() -> None:
    """Every change is zero, and readings that contradict are named all the same."""
    above = Reading(720.0, count=2, scatter=40.0)
    found = check(
        entry(
            grip_above_peg=above,
            grip_ahead_of_peg=370.0,
            bar_width=790.0,
            lever_angle=18.0,
            brake_pedal=-5.0,
        )
    )
    assert found.inside
    left = found.left
    values = [left.bar_width_change_mm, left.riser_height_mm, left.riser_pullback_mm]
    values += [left.lever_rotation_deg.brake, left.lever_rotation_deg.clutch]
    assert np.abs(np.array(values, dtype=float)).max() < 1e-9
    (problem,) = [p for p in found.problems if p.level == WARNING]
    assert (problem.key, problem.line) == ("grip_above_peg", 9)
