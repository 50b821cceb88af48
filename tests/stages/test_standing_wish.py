"""What felt right standing in the wish: weighted means by hand, and what is said of them."""

from __future__ import annotations

from math import sqrt
from typing import Any

import pytest
from attrs import evolve

from fitprofile.errors import NOTE, WARNING
from fitprofile.model.log import STOOD, Entry
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Rider
from fitprofile.stages.chain import prepare
from fitprofile.stages.repeats import SAT
from fitprofile.stages.standing_wish import NUMBERS, wished_standing
from tests.stages import invented
from tests.stages.invented import SHOP
from tests.stages.test_standing import BIKE, wish


def stander(**figures: float) -> Rider:
    """The invented rider, taped with a helper, grips at 720 and 370 mm."""
    return invented.rider(
        {"road": invented.sat()},
        tape="helper",
        standing={"trail": evolve(wish(**figures), measured_on="heron")},
    )


def entry(**figures: Any) -> Entry:
    """A stand on another bike that felt right."""
    read = {n: Reading(v) if isinstance(v, float) else v for n, v in figures.items()}
    given = {"bike": "tern", "use": "trail", "date": "2026-05-02", "line": 9, "tape": "helper"}
    return Entry(**{**given, "felt_right": True, **read})  # type: ignore[arg-type]


def test_every_number_of_a_standing_use_is_read_one_way() -> None:
    """All of the log's but levers said of one side, which are the bike's own and no wish."""
    sided = {"lever_angle_brake", "lever_angle_clutch"}
    assert set(NUMBERS) == set(STOOD) - sided
    assert set(STOOD) <= set(SAT)


def test_the_wish_is_the_mean_weighed_by_the_spreads() -> None:
    """Height, with a helper 2 mm, alone 4, tolerance 10: variances 4 + 25 and 16 + 25.

    720 and 730: (720 / 29 + 730 / 41) / (1 / 29 + 1 / 41). Hip-to-grip, tape 6 and 8 for standing
    up again, 550 once and 560 twice: weights 1 to 2.
    """
    log = (
        entry(grip_above_peg=730.0, tape="alone", hip_to_grip=Reading(560.0, count=2, scatter=2.0)),
    )
    found, problems = wished_standing(stander(hip_to_grip=550.0), "trail", log, SHOP)
    expected = (720.0 / 29.0 + 730.0 / 41.0) / (1.0 / 29.0 + 1.0 / 41.0)
    assert found.grip_above_peg.value == pytest.approx(expected)
    assert found.grip_ahead_of_peg.value == 370.0
    assert found.hip_to_grip is not None
    alone = 12.0**2 + 8.0**2
    hip = (550.0 / 100.0 + 560.0 * 2.0 / alone) / (1.0 / 100.0 + 2.0 / alone)
    assert found.hip_to_grip.value == pytest.approx(hip)
    assert [p.level for p in problems] == [NOTE, NOTE]
    assert "720 mm here; the place of the grips above the peg wished is 724" in problems[0].text
    assert problems[0].file == "profiles/ida.toml"
    assert problems[0].key == "standing.trail.grip_above_peg"


def test_arms_that_differ_keep_their_distance_from_the_mean() -> None:
    """26 and 14 wished, twice 22 read on another bike: as sure as the pair, so 21, 27 and 15."""
    mine = Reading(20.0, count=2, sides=(26.0, 14.0))
    person = stander()
    own = evolve(person.standing["trail"], lever_angle=mine)
    log = (entry(lever_angle=Reading(22.0, count=2)),)
    found, _ = wished_standing(evolve(person, standing={"trail": own}), "trail", log, SHOP)
    assert found.lever_angle is not None
    assert found.lever_angle.sides == pytest.approx((27.0, 15.0))
    assert found.lever_angle.value == pytest.approx(21.0)


def test_sides_that_are_the_same_are_a_note() -> None:
    """As sitting."""
    person = stander()
    own = evolve(person.standing["trail"], lever_angle=Reading(20.0, count=2, sides=(20.0, 20.0)))
    _, (note,) = wished_standing(evolve(person, standing={"trail": own}), "trail", (), SHOP)
    assert (note.key, note.level) == ("standing.trail.lever_angle", NOTE)
    assert "write lever_angle = 20, or the side's own figure" in note.text


def test_only_what_felt_right_in_this_use_counts() -> None:
    """Another use, or a stand that did not feel right, leaves the wish as it is written."""
    rider = stander()
    log = (entry(grip_above_peg=760.0, felt_right=False), entry(grip_above_peg=760.0, use="road"))
    assert wished_standing(rider, "trail", log, SHOP) == (rider.standing["trail"], ())


def test_what_the_profile_does_not_wish_is_said_and_left() -> None:
    """A note with the table to write it in."""
    found, (problem,) = wished_standing(stander(), "trail", (entry(brake_pedal=-8.0),), SHOP)
    assert found.brake_pedal is None
    assert (problem.level, problem.key, problem.line) == (NOTE, "brake_pedal", 9)
    assert "write it under [standing.trail] to wish it" in problem.text


@pytest.mark.parametrize(("off", "said"), [(14.0, False), (16.0, True)])
def test_bikes_that_disagree_are_named(off: float, said: bool) -> None:
    """Each to 2 mm of tape and half of 10: 1.96 x sqrt(2 x 29) = 14.9 mm between them."""
    assert 14.0 < 1.96 * sqrt(2.0 * 29.0) < 16.0
    log = (entry(grip_above_peg=720.0 + off),)
    _, problems = wished_standing(stander(), "trail", log, SHOP)
    found = [p for p in problems if p.level == WARNING]
    assert bool(found) == said
    for problem in found:
        assert "is 736 mm on tern and 720 on heron, 16 higher" in problem.text
        assert "more than tape and tolerance explain" in problem.text


def test_the_prepared_rider_stands_as_the_log_has_it() -> None:
    """The target moves half way, and what is written stays what is written."""
    log = (entry(grip_above_peg=730.0, grip_ahead_of_peg=380.0),)
    ready, problems = prepare(stander(), {"heron": BIKE}, SHOP, log)
    assert ready is not None
    one = ready.standing["trail"]
    assert float(one.target.grip_above_peg_mm) == pytest.approx(725.0)
    assert float(one.target.grip_ahead_of_peg_mm) == pytest.approx(375.0)
    assert one.wish.grip_above_peg.value == 720.0
    keys = {p.key for p in problems if p.level == NOTE}
    assert keys >= {"standing.trail.grip_above_peg", "standing.trail.grip_ahead_of_peg"}


def test_readings_of_the_profile_that_contradict_are_named() -> None:
    """Heights 40 mm apart with a helper, 2 mm each."""
    rider = stander()
    own = evolve(rider.standing["trail"], grip_above_peg=Reading(720.0, count=2, scatter=40.0))
    _, (problem,) = wished_standing(evolve(rider, standing={"trail": own}), "trail", (), SHOP)
    assert (problem.key, problem.level) == ("standing.trail.grip_above_peg", WARNING)
    assert "40 mm apart" in problem.text
