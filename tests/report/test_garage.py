"""The garage comparison."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot, inf

import pytest
from attrs import evolve

from fitprofile.errors import NOTE, Problem
from fitprofile.report.garage import (
    LEAVE_IT,
    Failed,
    amount,
    by_work,
    cannot_lines,
    exact_lines,
    garage_page,
    prospect,
)
from fitprofile.report.page import Drawing, Page
from fitprofile.stages.outcome import Transfer
from tests.report import samples
from tests.report.tables import all_words, cell_words, row, row_words, table, walk

LOST = Failed(
    key="crow",
    name="Crow 125 (invented)",
    problems=(
        Problem("the bar width is missing: tape it", "widths.grip_end", "bikes/crow.toml"),
        Problem("a remark", level=NOTE),
    ),
)


def garage(*transfers: Transfer, failed: Sequence[Failed] = ()) -> Page:
    return garage_page(samples.RIDER, samples.USE, transfers, failed, samples.DATE)


def test_the_amount_is_changes_over_tolerances() -> None:
    """Worked out by hand from the practical changes of one bike."""
    made = samples.straight_bar()
    changes = evolve(
        made.practical.changes,
        bar_width_change_mm=-20.0,
        bar_roll_deg=8.0,
        riser_height_mm=30.0,
        riser_pullback_mm=-40.0,
        peg_move_mm=evolve(made.exact.peg_move_mm, x=0.0, z=10.0),
    )
    # Width 20 of 10, bar 50 (a 30-40-50 triangle) of 10, pegs 10 of 10, roll 8 of 4.
    shown = evolve(made, practical=evolve(made.practical, changes=changes))
    assert amount(shown) == pytest.approx(2.0 + 5.0 + 1.0 + 2.0)


def test_what_fits_comes_first_then_least_work_and_gaps_last() -> None:
    """A bike that nothing brings to the rider is no little work; no answer after everything."""
    rows = by_work([samples.no_answer(), samples.stuck(), samples.one_piece(), samples.at_home()])
    assert rows[0].bike.key == "heron"
    misses = [len(one.practical.missed) for one in rows]
    assert misses == sorted(misses)
    assert amount(samples.stuck()) < amount(samples.one_piece())
    assert amount(samples.no_answer()) == inf


def test_a_row_shows_the_deviations_as_found() -> None:
    """Found less wished, signed, with inches; bold where outside tolerance; the worse lever."""
    made = samples.one_piece()
    found = table(garage(made).blocks, "garage")
    shown = [cell_words(cell) for cell in row(found, made.bike.name).cells]
    plain = shown[1].replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-")
    assert plain == "-58 mm / -2 5/16″"
    lever = round(24.0 - float(made.target.forearm_angle_deg))
    assert shown[4] == f"+{lever}°"
    knee = round(float(made.now.knee_angle_deg) - float(made.target.knee_angle_deg))
    assert shown[5] == f"\N{MINUS SIGN}{abs(knee)}°"
    cells = row(found, made.bike.name).cells
    kinds = [cells[at].lines[0][0].kind for at in (1, 4, 5)]
    assert kinds == ["strong", "strong", "plain"]


def test_a_bike_that_fits_is_left_alone() -> None:
    """No exact change of a few millimetres is ordered where every number is inside."""
    home = samples.at_home()
    assert list(exact_lines(home)) == [LEAVE_IT]
    assert prospect(home).startswith("first try: ")
    stuck = samples.stuck()
    assert prospect(stuck) == f"{len(stuck.practical.missed)} number stays outside"


def test_a_bike_whose_file_sets_no_limits_says_so() -> None:
    """That all of it can be reached is not known then."""
    assert "No limits in the bike's file" not in list(cannot_lines(samples.at_home()))
    free = evolve(samples.GOOD, handlebar=evolve(samples.GOOD.handlebar, roll=None))
    assert "No limits in the bike's file" in list(cannot_lines(samples.made(free)))


def test_gaps_are_marked() -> None:
    """Arms that do not reach have no forearm angle."""
    made = samples.out_of_reach()
    assert "out of reach" in row_words(row(table(garage(made).blocks, "garage"), made.bike.name))


def test_exact_changes_are_said_in_lines() -> None:
    """With inches; what prints as zero is left out; the other bar kind never shows."""
    lines = list(exact_lines(samples.one_piece()))
    assert "bar width: +58\N{NO-BREAK SPACE}mm (+2\N{NO-BREAK SPACE}5/16″)" in lines
    assert any(line.startswith("roll: ") for line in lines)
    assert not any("slide" in line or "″″" in line or "(0″)" in line for line in lines)
    assert any(line.startswith("bar: slide") for line in exact_lines(samples.clip_on()))
    assert "bar: no place of it gives the wish" in list(exact_lines(samples.no_answer()))


def test_what_cannot_be_reached_says_why() -> None:
    """Numbers that stay outside, what the bike allows, and warnings about this bike."""
    lines = list(cannot_lines(samples.one_piece()))
    assert lines[0].startswith("Outside stay: lever angle, clutch (")
    assert any("the perch is pinned" in line for line in lines)
    assert any("too far" in line for line in cannot_lines(samples.out_of_reach()))


def test_a_bike_with_errors_has_a_row_that_says_what_is_missing() -> None:
    """After all others, remarks left out."""
    found = table(garage(samples.at_home(), failed=[LOST]).blocks, "garage")
    assert row_words(found.rows[-1]) == (
        "Crow 125 (invented) | missing: the bar width is missing: tape it (widths.grip_end)"
    )
    assert {sum(cell.columns for cell in one.cells) for one in found.rows} == {len(found.head)}


def test_one_triangle_a_bike() -> None:
    """And none for a garage where nothing could be worked out."""
    page = garage(samples.at_home(), samples.one_piece(), failed=[LOST])
    assert sum(isinstance(block, Drawing) for block in walk(page.blocks)) == 2
    empty = garage(failed=[LOST])
    assert not any(isinstance(block, Drawing) for block in walk(empty.blocks))
    assert "Crow 125 (invented)" in all_words(empty.blocks)
    assert page.landscape


def test_distance_of_a_move_is_its_length() -> None:
    """Pythagoras, not the sum."""
    made = samples.one_piece()
    done = made.practical.changes
    bar = hypot(float(done.riser_height_mm), float(done.riser_pullback_mm))
    still = evolve(done, riser_height_mm=0.0, riser_pullback_mm=0.0)
    less = evolve(made, practical=evolve(made.practical, changes=still))
    assert amount(made) - amount(less) == pytest.approx(bar / made.tolerances["navel_to_bar"])
