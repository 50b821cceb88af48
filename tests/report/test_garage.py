"""The garage comparison."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from fitprofile.errors import NOTE, Problem
from fitprofile.report.garage import (
    LEAVE_IT,
    Failed,
    cannot_lines,
    exact_lines,
    garage_page,
    prospect,
)
from fitprofile.report.page import Drawing, Page
from fitprofile.report.plan_words import mending
from fitprofile.stages.as_planned import as_planned
from fitprofile.stages.outcome import Transfer
from tests.report import samples
from tests.report.cards import SPORT, planned
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
    assert lines[0].startswith("Stays outside: lever angle, clutch (")
    assert any("the perch is pinned" in line for line in lines)
    assert any("too far" in line for line in cannot_lines(samples.out_of_reach()))


def test_where_a_plan_stands_behind_a_row_the_reason_is_what_it_lacks() -> None:
    """The part that would mend it, or the plan that does."""
    made = planned(SPORT)
    assert made.offers is not None
    plan = made.offers.chosen.plan
    assert not plan.inside
    lines = list(cannot_lines(as_planned(made, plan), plan))
    assert lines[0].startswith("Stays outside: ")
    (reason, *_) = mending(made, plan)
    assert lines[1] == f"{reason[:1].upper()}{reason[1:]}"


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
