"""The table of the rider's numbers."""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite

import pytest
from attrs import evolve

from fitprofile.model.quantity import Reading
from fitprofile.report.number_table import number_blocks
from fitprofile.report.numbers import number_rows
from fitprofile.report.page import BOX, GAP, Table
from fitprofile.report.verdict import printed_off
from fitprofile.stages.outcome import Transfer
from tests.report import samples
from tests.report.tables import all_words, cell_words, row, row_words, table


def numbers(transfer: Transfer) -> Table:
    return table(number_blocks(transfer), "numbers")


def test_a_length_shows_found_wished_after_and_how_far_off() -> None:
    """Whole millimetres with their mark and give or take, inches beside, a box at the end."""
    found = row(numbers(samples.one_piece()), "Bar width")
    shown = [cell_words(cell) for cell in found.cells]
    assert shown[1].startswith("742\N{NO-BREAK SPACE}mm M ±")
    assert "29\N{NO-BREAK SPACE}3/16″" in shown[1]
    assert shown[2] == "800\N{NO-BREAK SPACE}mm / 31\N{NO-BREAK SPACE}1/2″"
    assert shown[4] == "0\N{NO-BREAK SPACE}mm / of ±10\N{NO-BREAK SPACE}mm"
    assert found.cells[-1].kind == BOX


def test_what_still_misses_says_outside() -> None:
    """In words, since paper may be black and white."""
    found = row(numbers(samples.one_piece()), "Lever angle, clutch")
    assert "missed" in found.kind
    assert "outside ±3°" in cell_words(found.cells[4])


def test_a_lever_is_held_against_the_forearm_as_it_will_be() -> None:
    """In line, whatever the wish's own angle; off it, by the difference of the printed figures."""
    made = samples.one_piece()
    line = row(numbers(made), "Lever angle, brake")
    assert cell_words(line.cells[4]).startswith("in line")
    after = made.practical.after
    away = round(float(after.lever_angle_deg.clutch)) - round(float(after.forearm_angle_deg))
    off = row(numbers(made), "Lever angle, clutch")
    assert cell_words(off.cells[4]) == f"{away}° off forearm / outside ±3°"
    told = all_words(number_blocks(made))
    assert "Levers are set to the forearm as it will be, not to the wish." in told
    assert "Levers are set" not in all_words(number_blocks(samples.straight_bar()))


def test_arms_that_differ_are_said_under_the_table() -> None:
    """Two levers in line that do not show one angle would be a puzzle."""
    told = all_words(number_blocks(samples.uneven()))
    assert (
        "not to the wish: each to its own arm, left 3° flatter, right 3° steeper than the mean of "
        "both that is shown."
    ) in told
    line = row(numbers(samples.uneven()), "Lever angle, brake")
    assert cell_words(line.cells[4]).startswith("in line")


def test_what_the_file_says_is_said_as_it_is_written_there() -> None:
    """Both sides where it has both, and not their mean, which nobody wrote."""
    made = samples.uneven()
    for wish, said in (
        (Reading(20.0, count=2, sides=(17.0, 23.0)), "lever angle left 17° and right 23°"),
        (Reading(20.0), "lever angle 20°"),
    ):
        unlike = evolve(made, cockpit=evolve(made.cockpit, lever_angle=wish))
        told = all_words(number_blocks(unlike)).partition("Written in the file: ")[2]
        assert said in told.partition(". ")[0]


@pytest.mark.parametrize("sample", samples.EVERYTHING)
def test_off_is_the_difference_of_what_is_printed(sample: Callable[[], Transfer]) -> None:
    """Wished 2, after 1, and off 0 would be a puzzle."""
    made = sample()
    for one in number_rows(made):
        lever = one.key.startswith("lever_angle")
        if isfinite(one.after) and isfinite(one.target) and not lever:
            assert printed_off(made, one) == round(one.after) - round(one.target)


def test_gaps_are_marked_with_their_reason() -> None:
    """Never a made-up number."""
    made = numbers(samples.clip_on())
    for first, reason in (("Forearm angle", "out of reach"), ("Lever angle, clutch", "not read")):
        cell = row(made, first).cells[1]
        assert cell_words(cell) == reason
        assert cell.lines[0][0].kind == GAP
    lacking = row(numbers(samples.straight_bar()), "Lever angle, brake")
    assert "not in the file" in cell_words(lacking.cells[1])
    assert "no figure" in cell_words(lacking.cells[4])


@pytest.mark.parametrize("sample", samples.EVERYTHING)
def test_no_cell_is_silent(sample: Callable[[], Transfer]) -> None:
    """Every figure, as found, wished and after, is there or says why not."""
    for one in numbers(sample()).rows:
        assert all(cell_words(cell) for cell in one.cells[:-1]), row_words(one)
        assert "nan" not in row_words(one)
