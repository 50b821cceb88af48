"""A bike's words: points, kinds and states that reader and stages share."""

from __future__ import annotations

from fitprofile.model.bike import KINDS, MID_POINTS, PAIR_POINTS, ROUND_POINTS, STATES, Bike


def test_a_point_is_in_the_middle_or_a_pair_never_both() -> None:
    """And a tape can meet only known points at their top."""
    assert not set(MID_POINTS) & set(PAIR_POINTS)
    assert set(ROUND_POINTS) <= {*MID_POINTS, *PAIR_POINTS}


def test_a_bike_stands_on_its_wheels_with_a_one_piece_bar_unless_said() -> None:
    """The first word of each list is the default."""
    plain = Bike(key="x", file="bikes/x.toml", name="X")
    assert plain.state == STATES[0] == "wheels"
    assert plain.handlebar.kind == KINDS[0] == "one-piece"
    assert plain.levers.brake is None
