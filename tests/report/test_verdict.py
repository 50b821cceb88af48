"""What the work comes to, in words."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.report.numbers import number_rows
from fitprofile.report.verdict import (
    ALL_WELL,
    chance_parts,
    first_lines,
    nothing_to_do,
    off_after,
    outside,
    printed_off,
    read_first,
)
from tests.report import samples

STUCK = (
    f"lever angle, brake (+{24 - round(float(samples.stuck().practical.after.forearm_angle_deg))}°)"
)
"""Printed figures: the lever was read as 24 degrees."""


def test_a_lever_is_off_the_forearm_and_not_the_wish() -> None:
    """Pinned ten degrees away from a forearm that stays."""
    made = samples.stuck()
    after = made.practical.after
    off = float(after.lever_angle_deg.brake - after.forearm_angle_deg)
    assert off_after(made)["lever_angle.brake"] == off
    (row,) = (one for one in number_rows(made) if one.key == "lever_angle.brake")
    assert printed_off(made, row) == 24 - round(float(after.forearm_angle_deg))


def test_what_stays_outside_is_named_with_how_far() -> None:
    """A forearm that no arm reaches has no figure."""
    assert outside(samples.stuck()) == STUCK
    assert "forearm angle (out of reach)" in outside(samples.beyond())
    assert outside(samples.at_home()) == ""


def test_nothing_to_do_is_well_only_where_nothing_is_missed() -> None:
    """The same empty list of steps, two sentences."""
    assert nothing_to_do(samples.at_home()) == ALL_WELL
    assert nothing_to_do(samples.stuck()).endswith(f"stay: {STUCK}.")


def test_the_chance_speaks_of_the_work_that_is_ordered() -> None:
    """Where a number stays outside, the chance is that of a job nobody ordered, and says so."""
    lead, _, behind = chance_parts(samples.at_home())
    assert lead.startswith("Every number inside its tolerance at the first try")
    assert behind == "."
    lead, _, _ = chance_parts(samples.stuck())
    assert lead.startswith("With this work the bike does not come inside every tolerance")
    assert lead.endswith("If all of it could be done exactly: ")


def test_a_chance_without_levers_says_so() -> None:
    """A file without [levers] says nothing of them."""
    assert "without the levers" in chance_parts(samples.straight_bar())[2]


def test_slips_and_hands_out_of_reach_come_first_and_nothing_else() -> None:
    """Of the rider's file only what says that the cockpit contradicts itself."""
    assert read_first(samples.at_home()) == ()
    assert [line[:13] for line in first_lines(samples.mistaped())] == ["Do not start:"]
    assert [line[:10] for line in first_lines(samples.beyond())] == ["After this"]
    made = samples.at_home()
    told = evolve(
        made,
        problems=(
            Problem("a", "cockpit", made.rider.file, level=WARNING),
            Problem("b", "cockpit.road.navel_to_bar", made.rider.file, level=WARNING),
            Problem("c", "limits.lean", made.rider.file, level=WARNING),
            Problem("d", "hoses", made.bike.file, level=WARNING),
            Problem("e", "cockpit", made.rider.file, level=NOTE),
            Problem("f", "spans.seat-peg", "bikes/other.toml", level=WARNING),
        ),
    )
    assert [one.text for one in read_first(told)] == ["a", "b", "f"]


def test_a_lever_is_off_its_own_arm() -> None:
    """The left arm 3 flatter than the mean, the right 3 steeper; brake in line, clutch pinned."""
    made = samples.uneven()
    after = made.practical.after
    forearm = float(after.forearm_angle_deg)
    for side, apart in (("brake", 3.0), ("clutch", -3.0)):
        name, lever = f"lever_angle.{side}", float(getattr(after.lever_angle_deg, side))
        assert off_after(made)[name] == pytest.approx(lever - forearm - apart)
        (row,) = (one for one in number_rows(made) if one.key == name)
        assert printed_off(made, row) == round(lever) - round(forearm + apart)
