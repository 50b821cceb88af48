"""What workshops say of a good cockpit, held against the whole chain.

The rules are common practice, no source, unless one is named.
"""

from __future__ import annotations

import pytest
from attrs import asdict, evolve

from fitprofile.geometry.vectors import Vec
from fitprofile.stages import moves
from fitprofile.stages.chain import Transfer, prepare, transfer
from fitprofile.stages.posture import CONTACT_FLEXION, calf_contact
from tests import by_hand
from tests.stages.invented import SHOP, bike, moved, plain, rider, sat


@pytest.fixture(scope="module")
def made() -> Transfer:
    """A rider at home on one bike, transferred to another with every number off."""
    cockpit = sat(measured_on="good", grip_tilt=0.0, lever_reach=58.0)
    prepared, _ = prepare(rider({"road": cockpit}), {"good": bike("good")}, SHOP)
    assert prepared is not None
    other = moved(grip_end=(30.0, -35.0), grip_inner=(30.0, -22.0), clamp=(25.0, -25.0))
    found, _ = transfer(prepared, bike("new", other), "road")
    assert found is not None
    return found


def test_the_grip_is_level_with_the_ground(made: Transfer) -> None:
    """After the exact roll both ends of the grip are equally high (common practice, no source)."""
    done = moves.done_to(made.points, made.exact, made.surveyed.rake.value)
    assert float(done.grip_end.z) == pytest.approx(float(done.grip_inner.z), abs=1e-6)


@pytest.mark.parametrize("side", ["brake", "clutch"])
def test_a_straightedge_over_grip_and_blade_is_in_line_with_the_forearm(
    made: Transfer, side: str
) -> None:
    """Lever and forearm slope alike, seen from the side (common practice, no source)."""
    rake = made.surveyed.rake.value
    points = plain(moves.done_to(made.points, made.exact, rake))
    shown = by_hand.numbers(asdict(made.linkage), float(made.target.lean_deg), points)
    after = moves.levers_after(made.points, made.now.lever_angle_deg, made.exact, rake)
    assert float(getattr(after, side)) == pytest.approx(shown["forearm_angle_deg"], abs=1e-3)


def test_the_first_finger_s_last_crease_lies_on_the_blade(made: Transfer) -> None:
    """Both levers are set to the reach that the rider's own hand has (common practice)."""
    for side in ("brake", "clutch"):
        found = float(getattr(made.now.lever_reach_mm, side))
        change = float(getattr(made.exact.lever_reach_change_mm, side))
        assert found + change == pytest.approx(58.0)


def test_calf_never_meets_hamstring_at_ball_and_mid_foot(made: Transfer) -> None:
    """Clear at both places of the foot; folded to Zelle's onset of 130 degrees they touch.

    The room is onset less flexion; sitting 290 mm lower folds the knee past it.
    """
    room = made.contact_after.room_deg
    assert room.ball > 0.0
    assert room.mid_foot > 0.0
    assert pytest.approx(130.0) == CONTACT_FLEXION
    for lower in (0.0, 100.0, 200.0, 290.0):
        seat = Vec(made.points.seat.x, 0.0, made.points.seat.z - lower)
        folded = calf_contact(made.linkage, evolve(made.points, seat=seat), 0.0)
        knee, left = float(folded.knee_angle_deg.ball), float(folded.room_deg.ball)
        assert (left < 0.0) == (knee < 180.0 - 130.0)


def test_hands_as_far_apart_as_the_rider_has_them(made: Transfer) -> None:
    """Bar width is the wish's own after the grips slid (common practice, no source)."""
    width = made.cockpit.bar_width.value
    assert float(made.exact_after.bar_width_mm) == pytest.approx(width, abs=1e-6)
