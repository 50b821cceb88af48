"""The job as a table."""

from __future__ import annotations

from fitprofile.report.page import BOX, TICK, Row, Table
from fitprofile.report.trust import ordered
from fitprofile.report.work import steps
from fitprofile.report.work_table import work_blocks
from fitprofile.stages.outcome import Transfer
from tests.report import samples
from tests.report.tables import cell_words, row_words, table


def job(transfer: Transfer) -> Table:
    return table(work_blocks(transfer, ordered(transfer.problems)), "work")


def line(transfer: Transfer, words: str) -> Row:
    return next(one for one in job(transfer).rows if words in row_words(one))


def test_every_step_is_a_numbered_row_with_a_box_to_tick() -> None:
    """In the order of work."""
    made = samples.one_piece()
    rows = job(made).rows
    assert [cell_words(one.cells[1]) for one in rows] == [
        str(number) for number in range(1, len(steps(made)) + 1)
    ]
    assert all(one.cells[0].kind == TICK for one in rows)


def test_a_change_shows_seen_change_exact_tool_and_a_box_for_the_torque() -> None:
    """Practical change bold with inches, the exact one with its half-width beside."""
    made = samples.one_piece()
    cells = line(made, "Slide each grip").cells
    assert cell_words(cells[3]) == "742 \N{RIGHTWARDS ARROW} 800 / bar width"
    assert cell_words(cells[4]).startswith("+58\N{NO-BREAK SPACE}mm  +2\N{NO-BREAK SPACE}5/16″")
    assert cell_words(cells[5]).startswith("+58\N{NO-BREAK SPACE}mm / ±")
    assert "tape" in cell_words(cells[6])
    assert cells[7].kind == BOX


def test_an_adjuster_has_no_torque() -> None:
    """Nothing is tightened there."""
    assert line(samples.one_piece(), "brake lever's reach").cells[7].kind != BOX


def test_limits_are_said_where_they_bind() -> None:
    """The roll stops at 8 degrees of 17."""
    made = line(samples.one_piece(), "Roll the bar")
    assert "Stops at its limit." in row_words(made)
    assert "\N{MINUS SIGN}8°" in cell_words(made.cells[4])
    assert "\N{MINUS SIGN}17°" in cell_words(made.cells[5])


def test_a_gap_points_to_its_note() -> None:
    """The straight bar's roll, the unread lever."""
    assert "no figure, see note" in row_words(line(samples.straight_bar(), "Roll of the bar"))
    assert "no figure, see note" in row_words(line(samples.clip_on(), "clutch perch"))


def test_rows_take_all_columns() -> None:
    """Every row is as wide as the head."""
    made = job(samples.clip_on())
    assert {sum(cell.columns for cell in one.cells) for one in made.rows} == {len(made.head)}
