"""Tolerances and tape spreads to start from: common practice, no source."""

from __future__ import annotations

import pytest

from fitprofile.model.shop import SPREADS, TOLERANCES, Shop


@pytest.mark.parametrize("name", SPREADS)
def test_a_helper_never_makes_a_tape_worse(name: str) -> None:
    """Both spreads are above zero, and the helper's is no larger."""
    alone, helper = SPREADS[name]
    assert 0.0 < helper <= alone


def test_the_defaults_are_the_shop_s_until_a_file_says_otherwise() -> None:
    """Bar width and navel-to-bar 10 mm, forearm and lever 3 degrees, tilt and sweep 4."""
    shop = Shop()
    assert shop.tolerances == TOLERANCES
    assert (TOLERANCES["bar_width"], TOLERANCES["navel_to_bar"]) == (10.0, 10.0)
    assert {TOLERANCES[n] for n in ("forearm_angle", "lever_angle", "knee_angle")} == {3.0}
    assert {TOLERANCES[n] for n in ("grip_tilt", "grip_sweep")} == {4.0}
    assert TOLERANCES["lever_reach"] == 5.0


def test_two_shops_do_not_share_their_figures() -> None:
    """Each has a table of its own."""
    assert Shop().tolerances is not Shop().tolerances
