"""Plain text for a terminal."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from attrs import evolve

from fitprofile.errors import Problem
from fitprofile.report import terminal
from fitprofile.report.garage import Failed
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan
from tests.report import samples
from tests.report.cards import SPORT, STOOD, TWIN, planned


@pytest.mark.parametrize("width", [60, 80, 120])
@pytest.mark.parametrize("sample", samples.EVERYTHING)
def test_lines_fit_the_terminal(sample: Callable[[], Transfer], width: int) -> None:
    """Words wrap; the table of numbers fits 80."""
    lines = terminal.transfer_text(sample(), width).splitlines()
    assert all(len(line) <= max(width, 80) for line in lines)
    assert not any("\x1b" in line for line in lines)


def test_a_transfer_says_numbers_changes_limits_and_chance() -> None:
    """In the order of work."""
    text = terminal.transfer_text(samples.one_piece(), 200)
    for wanted in (
        "Ada (invented) on Teal 650 twin (invented), road",
        "outside tolerance",
        "left alone",
        "Slide each grip and its controls outward: width +58",
        "a slot 7\N{NO-BREAK SPACE}mm long (cannot be undone)",
        "If all of it could be done exactly: about",
    ):
        assert wanted in text
    assert text.index("Risers") < text.index("Slide each grip") < text.index("brake perch")


def test_gaps_and_problems_are_told() -> None:
    """Without a figure, with the reason below."""
    text = terminal.transfer_text(samples.clip_on(), 200)
    assert "Turn of the clutch perch: no figure, see the warnings and notes" in text
    assert "note: bikes/wren.toml: levers.clutch: the clutch lever's angle was not read" in text
    assert "out of reach" in text


def test_nothing_to_do_is_said() -> None:
    """A bike that fits."""
    made = samples.at_home()
    text = terminal.transfer_text(made)
    assert "Nothing to change: every number is inside its tolerance." in text
    assert "at the first try, with the exact changes" in text


def test_nothing_can_be_done_is_not_nothing_to_change() -> None:
    """Rows outside tolerance and no step: what stays is named with how far."""
    made = samples.stuck()
    off = 24 - round(float(made.practical.after.forearm_angle_deg))
    text = terminal.transfer_text(made, 400)
    assert "Nothing to change" not in text
    assert "Nothing can be done within what this bike allows; outside tolerance stay: " in text
    assert f"lever angle, brake (+{off}°)" in text
    assert "in 10" not in text.split("If all of it", 1)[0]


def test_warnings_stand_before_the_steps() -> None:
    """Hands out of reach, and reach that the work does not give back."""
    text = terminal.transfer_text(samples.beyond(), 400)
    assert text.index("After this work the grips are still") < text.index("What to change")
    assert text.index("warning: ") < text.index("What to change")
    assert text.count("grips are still") == 1


def test_a_bike_on_a_stand_says_so_first() -> None:
    """Its figures are as on the floor."""
    lines = terminal.transfer_text(samples.lifted(), 100).splitlines()
    assert lines[1] == "Taped on a stand; all figures here are as with both wheels on the floor."


def test_a_garage_lists_bikes_with_least_work_first_and_the_lost_ones_last() -> None:
    """A star marks what is outside tolerance, so that no colour is needed."""
    lost = Failed(key="crow", name="Crow", problems=(Problem("tape it", "widths.grip_end", "b"),))
    bikes = [samples.one_piece(), samples.at_home()]
    text = terminal.garage_text(bikes, [lost])
    assert "inside every tolerance: leave it" in text
    assert "* outside tolerance as found" in text
    table = text.splitlines()[1:4]
    assert table[1].startswith("Heron")
    assert "58\N{NO-BREAK SPACE}mm *" in table[2]
    assert text.rstrip().endswith("b: widths.grip_end: tape it")


def test_a_rider_is_shown_with_sources() -> None:
    """Every dimension and every cockpit."""
    made = samples.one_piece()
    text = terminal.rider_text(samples.RIDER, made.body)
    assert "measured" in text
    assert "estimated" in text
    assert "cockpit road" in text
    cockpit = samples.RIDER.cockpits[samples.USE]
    ends = evolve(
        cockpit,
        navel_to_bar=None,
        navel_to_grip_ends=(samples.r(640.0), samples.r(644.0)),
        measured_on=None,
    )
    text = terminal.rider_text(evolve(samples.RIDER, cockpits={"tour": ends}), made.body)
    assert "640\N{NO-BREAK SPACE}mm and 644\N{NO-BREAK SPACE}mm" in text
    assert "from memory" in text


def test_a_bike_is_shown_with_what_checks_what() -> None:
    """Points, angles, and each tape with its residual."""
    text = terminal.bike_text(samples.TWIN, samples.one_piece().surveyed)
    assert "ahead of rear axle" in text
    assert "rake 27°" in text
    assert "unchecked" in text
    assert "spans, seat-peg" in text
    clip = terminal.bike_text(samples.SPORT, samples.clip_on().surveyed)
    assert "tube" in clip
    assert "on a day not written" in clip


def test_wide_characters_keep_columns_in_line() -> None:
    """They take two columns each; combining marks none."""
    rows = [("\u5c71\u7530", "1"), ("abcd", "2"), ("e\N{COMBINING ACUTE ACCENT}bcd", "3")]
    lines = list(terminal.table(("", ""), rows))
    assert lines == ["\u5c71\u7530  1", "abcd  2", "e\N{COMBINING ACUTE ACCENT}bcd  3"]


def test_long_names_are_cut_in_tables_and_whole_below() -> None:
    """80 characters would tear the table apart."""
    name = "Long " * 16
    made = evolve(samples.at_home(), bike=evolve(samples.GOOD, name=name))
    lines = terminal.garage_text([made], [], 80).splitlines()
    assert "\N{HORIZONTAL ELLIPSIS}" in lines[2]
    assert len(lines[2]) <= 80
    assert name in lines


def test_an_empty_table_is_nothing() -> None:
    """No rows and no heads."""
    assert list(terminal.table(("", ""), [])) == []


def test_a_bike_with_a_plan_says_once_what_stays_outside_and_labels_the_exact_changes() -> None:
    """Its plan, then the exact changes under their own name; no second count of what is missed."""
    made = next(one for one in map(planned, (TWIN, SPORT, STOOD)) if not chosen(one).inside)
    text = terminal.garage_text([made], [])
    assert text.count("Stays outside: ") == 1
    assert " stay outside" not in text
    assert "exact, for reference: " in text


def chosen(made: Transfer) -> Plan:
    assert made.offers is not None
    return made.offers.chosen.plan
