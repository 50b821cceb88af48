"""The transfer sheet as a page."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from attrs import evolve

from fitprofile.report.checks import CAUTIONS, CLIP_ON_CHECK, STOP_CHECKS
from fitprofile.report.page import Boxes, Drawing, Heading, Items, Page
from fitprofile.report.sheet import transfer_sheet
from fitprofile.stages.outcome import Transfer
from tests.report import samples
from tests.report.tables import all_words, row, row_words, table, walk, words


def sheet(transfer: Transfer) -> Page:
    return transfer_sheet(transfer, samples.DATE)


def facts(page: Page) -> dict[str, str]:
    return {label: words(value) for label, value in page.facts}


def test_the_head_says_who_which_bike_when_and_in_which_state() -> None:
    """With the gear worn and the bike the cockpit was measured on."""
    page = sheet(samples.one_piece())
    bike = samples.TWIN.name
    assert page.title == f"Transfer sheet: Ada (invented) \N{RIGHTWARDS ARROW} {bike}"
    assert facts(page) == {
        "Use": "road",
        "Bike taped": "2026-05-09, on its wheels, two people",
        "Mileage": "12 480 km",
        "Own cockpit measured on": "bike heron",
        "Gear": "boots with 25 mm soles",
    }
    assert page.date == samples.DATE


def test_a_day_nobody_wrote_down_is_no_day() -> None:
    """The clip-on bike was taped at an unknown time, by one person."""
    assert facts(sheet(samples.clip_on()))["Bike taped"] == (
        "day not written, on its wheels, one person"
    )


@pytest.mark.parametrize("sample", samples.EVERYTHING)
def test_every_sheet_has_checks_cautions_and_drawings(
    sample: Callable[[], Transfer],
) -> None:
    """Whatever else is on it."""
    made = sample()
    page = sheet(made)
    told = all_words(page.blocks)
    for line in (*STOP_CHECKS, *CAUTIONS):
        assert line in told
    assert (CLIP_ON_CHECK in told) is made.clip_on
    blocks = list(walk(page.blocks))
    assert sum(isinstance(block, Boxes) for block in blocks) == 1
    assert {b.kind for b in blocks if isinstance(b, Drawing)} == {"plan", "side", "dial"}
    assert all(block.alt for block in blocks if isinstance(block, Drawing))
    checks = [b for b in blocks if isinstance(b, Items) and b.kind == "check"]
    assert sum(len(block.items) for block in checks) == len(STOP_CHECKS) + made.clip_on


def test_limits_name_what_is_short_and_the_slot() -> None:
    """A pinned perch: bar radius 11.1 times the turn, plus the pin of 4."""
    made = samples.one_piece()
    limits = table(sheet(made).blocks, "limits")
    (slot,) = (one.slot_length_mm for one in made.limits if one.slot_length_mm is not None)
    turn = float(made.exact.lever_rotation_deg.clutch)
    assert slot == pytest.approx(11.1 * turn * 3.14159265 / 180.0 + 4.0, abs=1e-3)
    assert f"a slot {round(slot)}\N{NO-BREAK SPACE}mm long would free it" in row_words(
        row(limits, "Lever rotation, clutch")
    )
    assert "no change does it" in row_words(
        row(table(sheet(samples.clip_on()).blocks, "limits"), "Grip tilt")
    )


def test_numbers_left_alone_are_said_with_their_tolerance() -> None:
    """So that nobody wonders whether they were forgotten."""
    told = all_words(sheet(samples.one_piece()).blocks)
    assert "Left alone: knee angle (" in told
    assert "±3° allowed)" in told


def test_a_knee_that_is_more_open_is_left_alone_for_a_reason() -> None:
    """Ten degrees are more than the tolerance, and still inside the rider's own limit."""
    made = samples.one_piece()
    open_knee = float(made.target.knee_angle_deg) + 10.0
    after = evolve(made.practical.after, knee_angle_deg=open_knee)
    shown = evolve(made, practical=evolve(made.practical, after=after))
    told = all_words(sheet(shown).blocks)
    assert "knee angle (10° more open, inside the rider's own limit)" in told
    assert "+10° fine" in told


def test_the_seat_is_offered_instead_of_the_pegs() -> None:
    """With the bar that goes with it, inches beside; silent where nothing moves."""
    made = samples.one_piece()
    assert "Instead of moving the pegs" not in all_words(sheet(made).blocks)
    raised = evolve(
        made.practical.changes.with_seat_raise,
        seat_raise_mm=12.7,
        riser_height_mm=25.4,
        riser_pullback_mm=-5.0,
    )
    changes = evolve(made.practical.changes, with_seat_raise=raised)
    told = all_words(sheet(evolve(made, practical=evolve(made.practical, changes=changes))).blocks)
    told = told.replace("\N{NO-BREAK SPACE}", " ")
    assert "seat +13 mm (+1/2″), and then riser +25 mm (+1″)" in told


def test_problems_become_numbered_notes() -> None:
    """And a sheet without any has no such heading."""
    headings = [b.words for b in walk(sheet(samples.clip_on()).blocks) if isinstance(b, Heading)]
    assert "Notes" in headings
    assert "the clutch lever's angle was not read" in all_words(sheet(samples.clip_on()).blocks)
    headings = [b.words for b in walk(sheet(samples.at_home()).blocks) if isinstance(b, Heading)]
    assert "Notes" not in headings


def test_nothing_prints_a_nan() -> None:
    """Gaps are words."""
    for sample in samples.EVERYTHING:
        assert "nan" not in all_words(sheet(sample()).blocks).split()
