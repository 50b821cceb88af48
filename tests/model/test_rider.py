"""A rider's words: body dimensions, feet, and who held the tape."""

from __future__ import annotations

from fitprofile.model.rider import BODY, FEET, HELP, REQUIRED_BODY, Rider


def test_only_stature_and_navel_height_are_needed() -> None:
    """Both are dimensions of the body."""
    assert set(REQUIRED_BODY) == {"stature", "navel_height_sitting"}
    assert set(REQUIRED_BODY) < set(BODY)


def test_a_rider_is_measured_alone_unless_said() -> None:
    """The wider spreads are the default, and the ball of the foot rests on the peg."""
    plain = Rider(key="x", file="profiles/x.toml", name="X", body={})
    assert plain.tape == HELP[0] == "alone"
    assert FEET[0] == "ball"
    assert plain.cockpits == {}
