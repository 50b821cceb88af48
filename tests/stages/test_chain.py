"""The chain: a rider calibrated once, any bike answered, and the answer held from outside."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from attrs import asdict, evolve

from fitprofile.errors import WARNING
from fitprofile.model.bike import Bike, Handlebar, Levers, Stand, Steering
from fitprofile.model.log import Entry
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Cockpit
from fitprofile.stages import moves
from fitprofile.stages.chain import Prepared, Transfer, prepare, transfer
from fitprofile.stages.findings import find
from fitprofile.stages.posture import Sides
from tests import by_hand
from tests.stages.invented import BODY, LEVERS, SHOP, bike, moved, plain, rider, sat

OTHER = moved(
    grip_end=(25.0, -30.0), grip_inner=(25.0, -26.0), clamp=(20.0, -25.0), peg=(30.0, 15.0)
)
"""The same bike with bar and pegs elsewhere, so that every change has something to do."""


def ready(cockpits: Mapping[str, Cockpit], bikes: tuple[Bike, ...], **more: Any) -> Prepared:
    """A rider calibrated on these bikes, without a warning."""
    made, problems = prepare(rider(cockpits, **more), {one.key: one for one in bikes}, SHOP)
    assert made is not None, problems
    return made


def answered(prepared: Prepared, one: Bike, use: str = "road") -> Transfer:
    """The transfer to one bike."""
    made, problems = transfer(prepared, one, use)
    assert made is not None, problems
    return made


def on_reference(**more: Any) -> dict[str, Cockpit]:
    """One cockpit, measured without error on the bike called ``good``."""
    return {"road": sat(measured_on="good", **more)}


@pytest.mark.parametrize("kind", ["one-piece", "clip-on"])
def test_exact_gives_the_target_back_by_hand(kind: str) -> None:
    """The posture in plain Python, on the changed points, shows the target (DESIGN section 7).

    To 0.01 mm and 0.001 degrees, lean the rider's own; tilt is a clip-on's residual.
    """
    new = bike("new", OTHER, handlebar=Handlebar(kind=kind))
    made = answered(ready(on_reference(), (bike("good"),)), new)
    rake = made.surveyed.rake.value
    changed = plain(moves.done_to(made.points, made.exact, rake))
    shown = by_hand.numbers(asdict(made.linkage), float(made.target.lean_deg), changed)
    for name, room in (
        ("bar_width_mm", 0.01),
        ("navel_to_bar_mm", 0.01),
        ("forearm_angle_deg", 0.001),
        ("knee_angle_deg", 0.001),
    ):
        assert shown[name] == pytest.approx(float(getattr(made.target, name)), abs=room)
    tilt = math.degrees(
        math.asin(by_hand.along(by_hand.less(changed["grip_end"], changed["grip_inner"]))[2])
    )
    if kind == "one-piece":
        assert tilt == pytest.approx(float(made.target.grip_tilt_deg), abs=0.001)
    after = moves.levers_after(made.points, made.now.lever_angle_deg, made.exact, rake)
    for side in ("brake", "clutch"):
        assert float(getattr(after, side)) == pytest.approx(
            float(made.target.forearm_angle_deg), abs=0.001
        )


@pytest.mark.parametrize("kind", ["one-piece", "clip-on"])
def test_exact_gives_each_arm_its_own_lever(kind: str) -> None:
    """Arms wished 8 degrees apart: straightedges turned by rotation matrices, to 0.001 degrees.

    The bar itself goes where it goes for two arms alike, their mean.
    """
    alike = float(sat().forearm_angle.value)  # type: ignore[union-attr]
    pair = Reading(alike, sides=(alike - 4.0, alike + 4.0))
    new = bike("new", OTHER, handlebar=Handlebar(kind=kind))
    made, even = (
        answered(ready(on_reference(**more), (bike("good"),)), new)
        for more in ({"forearm_angle": pair}, {})
    )
    for name in ("riser_height_mm", "riser_pullback_mm", "bar_roll_deg", "clip_slide_mm"):
        same = pytest.approx(float(getattr(even.exact, name)), abs=1e-6, nan_ok=True)
        assert float(getattr(made.exact, name)) == same
    changes = {
        name: float(np.nan_to_num(getattr(made.exact, name)))
        for name in ("bar_roll_deg", "clip_turn_deg")
    }
    forearm, points = float(made.target.forearm_angle_deg), plain(made.points)
    for side, apart in (("brake", 4.0), ("clutch", -4.0)):
        reading = float(getattr(made.now.lever_angle_deg, side))
        turn = float(getattr(made.exact.lever_rotation_deg, side))
        shown = by_hand.lever_after(points, reading, changes, turn, made.surveyed.rake.value)
        assert shown == pytest.approx(forearm + apart, abs=0.001)
        assert float(getattr(made.target.lever_angle_deg, side)) == pytest.approx(forearm + apart)


def test_the_bike_of_the_sit_on_needs_nothing() -> None:
    """A to A: with its own width, tilt and reach as the wish, only the levers are turned."""
    made = answered(ready(on_reference(), (bike("good"),)), bike("good"))
    assert made.adjusted
    flat: list[Any] = [
        made.exact.bar_width_change_mm,
        made.exact.bar_roll_deg,
        made.exact.riser_height_mm,
        made.exact.riser_pullback_mm,
        made.exact.peg_move_mm.x,
        made.exact.peg_move_mm.z,
    ]
    # The taped width stands against the surveyed one; everything else is the bike's own.
    assert np.abs(flat[1:]).max() < 0.6
    assert abs(float(flat[0])) < 0.6


@pytest.mark.parametrize("kind", ["one-piece", "clip-on"])
@pytest.mark.parametrize("pitch", [-4.0, 6.0])
def test_pitching_the_stand_with_its_readings_changes_nothing(kind: str, pitch: float) -> None:
    """DESIGN section 7: the same bike nose up, every tape, rake and lever read there.

    Points turn by scipy about the rear axle, which stands 60 mm higher. Nose up the steering axis
    leans further back and a lever that falls by 20 degrees falls by less.
    """
    handlebar = Handlebar(kind=kind)
    rear = OTHER["rear_axle"]
    lifted = {
        name: by_hand.add(by_hand.turned(point, (0.0, 1.0, 0.0), -pitch, rear), (0.0, 0.0, 60.0))
        for name, point in OTHER.items()
    }
    levers = Levers(
        **{
            side: evolve(lever, angle=Reading(lever.angle.value - pitch))
            for side, lever in (("brake", LEVERS.brake), ("clutch", LEVERS.clutch))
            if lever is not None and lever.angle is not None
        }
    )
    on_wheels = bike("new", OTHER, handlebar=handlebar)
    on_stand = bike(
        "new",
        lifted,
        handlebar=handlebar,
        state="stand",
        levers=levers,
        steering=Steering(rake=Reading(25.0 + pitch), rake_read_on="stand"),
        stand=axles(lifted),
        wheels=axles(OTHER),
    )
    prepared = ready(on_reference(), (bike("good"),))
    level, pitched = answered(prepared, on_wheels), answered(prepared, on_stand)
    assert pitched.surveyed.stand_pitch_deg == pytest.approx(pitch)
    for one, other in ((level.exact, pitched.exact), (level.now, pitched.now)):
        for have, expected in zip(figures(other), figures(one), strict=True):
            assert have == pytest.approx(expected, abs=1e-4, nan_ok=True)


def axles(points: Mapping[str, by_hand.Triple]) -> Stand:
    """Heights of both axles."""
    rear, front = (Reading(points[name][2]) for name in ("rear_axle", "front_axle"))
    return Stand(rear_axle=rear, front_axle=front)


def figures(values: Any) -> list[float]:
    """Every number of changes or numbers, groups unfolded."""
    found: list[float] = []
    for value in asdict(values).values():
        found += [float(v) for v in (value.values() if isinstance(value, dict) else [value])]
    return found


def test_now_is_what_the_body_shows_on_the_points_used() -> None:
    """As found, by the posture in plain Python."""
    made = answered(ready(on_reference(), (bike("good"),)), bike("new", OTHER))
    shown = by_hand.numbers(asdict(made.linkage), float(made.now.lean_deg), plain(made.points))
    for name in ("navel_to_bar_mm", "forearm_angle_deg", "knee_angle_deg", "elbow_angle_deg"):
        assert float(getattr(made.now, name)) == pytest.approx(shown[name], abs=1e-6)


def test_a_cockpit_from_memory_has_an_answer_and_a_note() -> None:
    """Without a bike the numbers count as memory; the chance is smaller than with one."""
    near = ready(on_reference(), (bike("good"),))
    far, problems = prepare(rider({"road": sat()}), {}, SHOP)
    assert far is not None
    assert any("count as memory" in problem.text for problem in problems)
    new = bike("new", OTHER)
    known, guessed = answered(near, new), answered(far, new)
    assert guessed.chance < known.chance
    assert guessed.give_or_take.riser_height_mm > known.give_or_take.riser_height_mm
    assert guessed.target.knee_angle_deg == pytest.approx(float(sat().knee_angle.value), abs=1e-9)


def test_a_lost_reference_bike_is_said_and_the_rest_goes_on() -> None:
    """The sentence names the bike, with the rider's file and key."""
    made, problems = prepare(rider(on_reference()), {}, SHOP)
    assert made is not None
    found = [p for p in problems if p.key == "cockpit.road.measured_on"]
    assert [p.level for p in found] == [WARNING]
    assert "'good'" in found[0].text


def test_each_use_is_answered_with_its_own_cockpit() -> None:
    """Two cockpits on one bike share the body and differ in the wish."""
    cockpits = {
        "road": sat(measured_on="good"),
        "track": sat(measured_on="good", lean=25.0, forearm_angle=8.0),
    }
    prepared = ready(cockpits, (bike("good"),))
    new = bike("new", OTHER)
    road, track = (answered(prepared, new, use) for use in cockpits)
    assert float(track.target.lean_deg) > float(road.target.lean_deg)
    assert track.linkage.thigh_mm == road.linkage.thigh_mm


def test_a_planted_mistake_is_named() -> None:
    """Navel-to-bar 150 mm too long: the warning names it among what does not fit together."""
    true = sat(measured_on="good")
    assert true.navel_to_bar is not None
    wrong = evolve(
        true, navel_to_bar=evolve(true.navel_to_bar, value=true.navel_to_bar.value + 150)
    )
    _, problems = prepare(rider({"road": wrong}), {"good": bike("good")}, SHOP)
    found = [p for p in problems if "do not fit together" in p.text]
    assert len(found) == 1
    assert "navel-to-bar" in found[0].text


def test_once_the_work_is_done_what_was_found_of_the_bike_is_past() -> None:
    """What is said of the rider and by the survey stays, and every number."""
    person = ready(on_reference(), (bike("good"),))
    far = bike("new", moved(grip_end=(400.0, 0.0), grip_inner=(400.0, 0.0)))
    ahead, said = transfer(person, far, "road")
    done, kept = transfer(person, far, "road", work=False)
    assert ahead is not None
    assert done is not None
    past = [one for one in find(ahead) if one.file == far.file]
    assert past
    assert kept == tuple(one for one in said if one not in past)
    assert done.exact.riser_height_mm == ahead.exact.riser_height_mm


def test_a_transfer_is_the_same_twice() -> None:
    """Fixed seed: give or take and chance repeat to the last digit."""
    new = bike("new", OTHER)
    one, two = (answered(ready(on_reference(), (bike("good"),)), new) for _ in range(2))
    assert repr(one.give_or_take) == repr(two.give_or_take)
    assert one.chance == two.chance


def test_a_bike_that_cannot_be_surveyed_has_no_transfer() -> None:
    """No seat height: no answer, and an error that asks for the sit point."""
    prepared = ready(on_reference(), (bike("good"),))
    bare = bike("new", OTHER)
    bare = evolve(
        bare,
        heights={n: r for n, r in bare.heights.items() if n != "seat"},
        spans={n: r for n, r in bare.spans.items() if "seat" not in n},
    )
    made, problems = transfer(prepared, bare, "road")
    assert made is None
    assert any("sit point" in p.text for p in problems)


def test_levers_that_were_not_read_stay_unknown() -> None:
    """No angle: no rotation, never a made-up one."""
    new = bike("new", OTHER)
    assert new.levers.brake is not None
    levers = evolve(new.levers, brake=evolve(new.levers.brake, angle=None))
    made = answered(ready(on_reference(), (bike("good"),)), evolve(new, levers=levers))
    assert np.isnan(made.exact.lever_rotation_deg.brake)
    assert np.isfinite(made.exact.lever_rotation_deg.clutch)
    assert isinstance(made.now.lever_angle_deg, Sides)


def sat_on(points: Mapping[str, by_hand.Triple], on: str = "new", **more: Any) -> Entry:
    """An entry of the log: what the invented body shows on these points, read without error."""
    shown = by_hand.numbers(asdict(BODY), 12.0, points)
    given = {
        "bike": on,
        "use": "road",
        "date": "2026-05-01",
        "navel_to_bar": Reading(shown["navel_to_bar_mm"]),
        "forearm_angle": Reading(shown["forearm_angle_deg"]),
        "knee_angle": Reading(shown["knee_angle_deg"]),
    }
    return Entry(**{**given, **more})


def logged(*log: Entry) -> Transfer:
    """The transfer to the other bike with this log."""
    new = bike("new", OTHER)
    made, _ = prepare(rider(on_reference()), {"good": bike("good"), "new": new}, SHOP, log)
    assert made is not None
    return answered(made, new)


def test_a_sit_on_on_the_unchanged_bike_moves_its_points_and_not_the_wish_s_bike() -> None:
    """The seat-to-bar vector follows what was read there: 20 mm further makes it longer.

    By part of it: tape and sitting down again are as uncertain as the survey and the body.
    """
    without = logged()
    assert not without.adjusted
    entry = sat_on(OTHER)
    assert entry.navel_to_bar is not None
    longer = evolve(entry, navel_to_bar=Reading(entry.navel_to_bar.value + 20.0))
    exactly, further = logged(entry), logged(longer)
    assert exactly.adjusted
    assert further.adjusted

    def reach(one: Transfer) -> float:
        return float(one.points.grip_end.x) - float(one.points.seat.x)

    assert reach(further) > reach(exactly) + 1.0
    assert further.now.navel_to_bar_mm > exactly.now.navel_to_bar_mm + 5.0
    assert exactly.give_or_take.riser_height_mm < without.give_or_take.riser_height_mm


def test_a_bike_that_felt_right_shares_in_the_wish() -> None:
    """Target between the two bikes' numbers; the same entry not felt right is no wish."""
    right, wrong = logged(sat_on(OTHER, felt_right=True)), logged(sat_on(OTHER))
    good, new = (
        by_hand.numbers(asdict(BODY), 12.0, points)["navel_to_bar_mm"]
        for points in (by_hand_true(), OTHER)
    )
    middle = 0.5 * (good + new)
    assert float(right.target.navel_to_bar_mm) == pytest.approx(middle, abs=4.0)
    assert float(wrong.target.navel_to_bar_mm) == pytest.approx(good, abs=4.0)


def by_hand_true() -> Mapping[str, by_hand.Triple]:
    """The good bike's points."""
    return moved()


def test_wishes_that_disagree_warn_with_both_bikes() -> None:
    """Forearm angle 25 degrees steeper on the second bike."""
    entry = sat_on(OTHER, felt_right=True)
    assert entry.forearm_angle is not None
    steep = evolve(entry, forearm_angle=Reading(entry.forearm_angle.value + 25.0))
    _, problems = prepare(
        rider(on_reference()), {"good": bike("good"), "new": bike("new", OTHER)}, SHOP, (steep,)
    )
    (problem,) = [p for p in problems if "that felt right" in p.text]
    assert problem.level == WARNING
    assert "on new" in problem.text
    assert "on good" in problem.text


def test_an_empty_log_is_no_log() -> None:
    """To the last digit."""
    one, other = answered(ready(on_reference(), (bike("good"),)), bike("new", OTHER)), logged()
    assert repr(one.exact) == repr(other.exact)
    assert repr(one.give_or_take) == repr(other.give_or_take)
