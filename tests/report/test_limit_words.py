"""What the bike does not allow, in words."""

from __future__ import annotations

from fitprofile.report.limit_words import limit_words, way
from fitprofile.stages.limits import Limit
from tests.report import samples


def said(limit: Limit) -> str:
    words = limit_words(samples.one_piece(), limit).sentence
    return words.replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-")


def test_a_band_says_needed_allowed_and_missing() -> None:
    """The three figures add up as they are printed."""
    roll = Limit("bar_roll", 10.4, (-2.0, 2.0), 8.4, "")
    assert said(roll) == "Bar roll: needs +10°, the bike allows -2° to +2°, 8° missing"
    back = Limit("riser_pullback", -21.6, (0.0, 15.0), -21.6, "")
    assert said(back) == "Riser pullback: needs -22 mm, the bike allows 0 to +15 mm, 22 mm missing"


def test_pegs_are_told_by_their_direction() -> None:
    """Down 15 mm, not up -15."""
    pegs = Limit("peg_move.z", -77.0, (-15.0, 15.0), -62.0, "")
    assert said(pegs) == (
        "Pegs: needs down 77 mm, the bike allows down 15 mm to up 15 mm, 62 mm missing"
    )
    assert way("peg_move.x", 3.0, "mm") == "forward\N{NO-BREAK SPACE}3\N{NO-BREAK SPACE}mm"
    fixed = Limit("peg_move.z", -13.0, (0.0, 0.0), -13.0, "")
    assert "the bike allows none, 13 mm missing" in said(fixed)


def test_a_pinned_perch_says_what_freeing_it_would_cost() -> None:
    """The turn is that of the table: lever less forearm, both as printed."""
    made = samples.one_piece()
    (limit,) = (one for one in made.practical.held if one.what == "lever_rotation.clutch")
    after = made.practical.after
    off = round(float(after.lever_angle_deg.clutch)) - round(float(after.forearm_angle_deg))
    assert said(limit) == (
        f"Lever rotation, clutch: needs +{off}°, the perch is pinned; to turn it {off}° the hole "
        "would become a slot 7 mm long (cannot be undone)"
    )


def test_what_no_change_does_gives_its_reason() -> None:
    """The change that is needed, not the wish."""
    (tilt,) = (one for one in samples.clip_on().practical.held if one.what == "grip_tilt")
    words = limit_words(samples.clip_on(), tilt)
    assert words.allowed == "no change does it"
    assert words.sentence.endswith("clip-ons droop by design")
    assert words.needed == f"+{round(tilt.residual)}°"
