"""The transfer sheet as a page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from attrs import evolve

from fitprofile.model.parts import Catalogue
from fitprofile.report.checks import (
    CAUTIONS,
    CLIP_ON_CHECK,
    CLUTCH,
    STOP_CHECKS,
    WITHOUT_CLUTCH,
    stop_checks,
)
from fitprofile.report.html import render_html
from fitprofile.report.page import Boxes, Drawing, Heading, Items, Page, Section, Table
from fitprofile.report.plan_words import kind_of as part_kind
from fitprofile.report.sheet import transfer_sheet
from fitprofile.stages.outcome import Transfer
from tests.report import cards, samples
from tests.report.tables import all_words, cell_words, row, row_words, table, walk, words


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
    for line in (*stop_checks(made), *CAUTIONS):
        assert line in told
    assert (CLIP_ON_CHECK in told) is made.clip_on
    blocks = list(walk(page.blocks))
    assert sum(isinstance(block, Boxes) for block in blocks) == 1
    assert {b.kind for b in blocks if isinstance(b, Drawing)} == {"plan", "side", "dial"}
    assert all(block.alt for block in blocks if isinstance(block, Drawing))
    checks = [b for b in blocks if isinstance(b, Items) and b.kind == "check"]
    assert sum(len(block.items) for block in checks) == len(STOP_CHECKS) + made.clip_on


def test_limits_name_what_makes_a_number_miss_and_the_slot() -> None:
    """For the job that is ordered: a pinned perch, bar radius 11.1 times its turn, pin of 4."""
    made = samples.one_piece()
    limits = table(sheet(made).blocks, "limits")
    assert {one.what for one in made.practical.held} == {"lever_rotation.clutch"}
    after = made.practical.after
    off = float(after.lever_angle_deg.clutch - after.forearm_angle_deg)
    slot = 11.1 * off * 3.14159265 / 180.0 + 4.0
    clutch = row_words(row(limits, "Lever rotation, clutch")).replace("\N{NO-BREAK SPACE}", " ")
    assert f"would become a slot {round(slot)} mm long (cannot be undone)" in clutch
    assert "no change does it" in row_words(
        row(table(sheet(samples.clip_on()).blocks, "limits"), "Grip tilt")
    )


def test_what_was_left_alone_on_purpose_is_no_limit() -> None:
    """Riser and reach stop at the bike's ends, and their numbers come inside tolerance."""
    made = samples.one_piece()
    assert {"riser_height", "lever_reach_change.brake"} <= set(made.practical.at_limit)
    told = "\n".join(row_words(one) for one in table(sheet(made).blocks, "limits").rows)
    assert "Riser" not in told
    assert "Lever reach" not in told


def test_a_bike_that_fits_has_no_empty_table() -> None:
    """A sentence stands in place of the work; where nothing can be done it says what stays."""
    assert "Nothing to change: every number is inside its tolerance." in all_words(
        sheet(samples.at_home()).blocks
    )
    assert not [b for b in walk(sheet(samples.at_home()).blocks) if kind_of(b) == "work"]
    told = all_words(sheet(samples.stuck()).blocks)
    assert "Nothing can be done within what this bike allows; outside tolerance stay: " in told


def kind_of(block: object) -> str:
    return block.kind if isinstance(block, Table) else ""


def test_what_must_be_known_first_stands_in_a_box_on_top() -> None:
    """Hands out of reach after the work, and a slip of the tape; nothing else has a box."""
    assert first_box(samples.one_piece()) == ""
    assert "After this work the grips are still" in first_box(samples.beyond())
    slip = first_box(samples.mistaped())
    assert slip.startswith("Do not start: ")
    assert "too large" in slip


def first_box(made: Transfer) -> str:
    first = sheet(made).blocks[0]
    if not isinstance(first, Section):
        return ""
    assert first.kind == "alert"
    return all_words((first,))


def test_a_bike_taped_on_a_stand_says_so() -> None:
    """In the header, below the figures as found, and where it is measured again."""
    page = sheet(samples.lifted())
    stood = "Taped on a stand; all figures here are as with both wheels on the floor."
    assert facts(page)["Stand"] == stood
    told = all_words(page.blocks)
    assert stood in told
    assert "Measure again on its wheels" in told
    assert "Stand" not in facts(sheet(samples.one_piece()))


def test_the_clutch_check_fits_the_bike() -> None:
    """An automatic has none; a file may have forgotten one."""
    levers = evolve(samples.TWIN.levers, clutch=None)
    told = all_words(sheet(samples.made(evolve(samples.TWIN, levers=levers))).blocks)
    assert WITHOUT_CLUTCH in told
    assert CLUTCH not in told


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
    moved = evolve(made, practical=evolve(made.practical, changes=changes))
    told = all_words(sheet(moved).blocks).replace("\N{NO-BREAK SPACE}", " ")
    assert "seat +13 mm (+1/2″), and then riser +25 mm (+1″)" in told
    low = evolve(moved, bike=evolve(made.bike, allows=evolve(made.bike.allows, seat=(-5.0, 8.0))))
    told = all_words(sheet(low).blocks).replace("\N{NO-BREAK SPACE}", " ")
    assert "the seat would have to rise 13 mm; this bike takes 8 mm." in told
    assert "and then riser" not in told


def test_problems_become_numbered_notes() -> None:
    """And a sheet without any has no such heading."""
    headings = [b.words for b in walk(sheet(samples.clip_on()).blocks) if isinstance(b, Heading)]
    assert "Notes" in headings
    assert "the clutch lever's angle was not read" in all_words(sheet(samples.clip_on()).blocks)
    quiet = evolve(samples.at_home(), problems=())
    headings = [b.words for b in walk(sheet(quiet).blocks) if isinstance(b, Heading)]
    assert "Notes" not in headings


def test_nothing_prints_a_nan() -> None:
    """Gaps are words."""
    for sample in samples.EVERYTHING:
        assert "nan" not in all_words(sheet(sample()).blocks).split()


def planned_sheet(made: Transfer) -> Page:
    return transfer_sheet(made, samples.DATE)


def test_with_a_catalogue_the_plan_is_the_job() -> None:
    """Steps with parts, plans side by side and checks; without one the practical answer as ever."""
    made = cards.planned(cards.STOOD)
    kinds = {block.kind for block in walk(planned_sheet(made).blocks) if isinstance(block, Table)}
    assert {"planned", "plans", "checks", "numbers", "found"} <= kinds
    assert "work" not in kinds
    bare = cards.planned(cards.STOOD, catalogue=Catalogue())
    kinds = {block.kind for block in walk(planned_sheet(bare).blocks) if isinstance(block, Table)}
    assert "work" in kinds
    assert not {"planned", "plans", "checks"} & kinds


def test_numbers_after_are_the_plan_s() -> None:
    """Of the plan that was picked, in the table and in the drawings."""
    made = cards.planned(cards.STOOD)
    assert made.offers is not None
    for name in (one.plan.name for one in made.offers.offers):
        picked = evolve(made, offers=evolve(made.offers, picked=name))
        plan = picked.offers.chosen.plan  # type: ignore[union-attr]
        assert plan.name == name
        page = planned_sheet(picked)
        width = cell_words(row(table(page.blocks, "numbers"), "Bar width").cells[3])
        assert width.startswith(f"{round(float(plan.after.bar_width_mm))}\N{NO-BREAK SPACE}mm")
        assert f"{name} (this sheet)" in " ".join(table(page.blocks, "plans").head)
        side = next(b for b in walk(page.blocks) if isinstance(b, Drawing) and b.kind == "side")
        up = round(float(plan.points.grip_end.z))
        start = round(float(made.points.grip_end.z))
        assert up == start or f"afterwards {up}" in side.alt


def test_names_of_parts_are_told_as_they_are_and_escaped() -> None:
    """Markup, quotes, a long name: text, never markup, and it stays on the page."""
    made = cards.planned(cards.STOOD)
    assert made.offers is not None
    chosen = made.offers.chosen
    part = next(iter(chosen.plan.choice.parts()))
    kind = part_kind(part)
    nasty = "<b>\"Bar\"</b> & 'more' " + "x" * 120
    named: dict[str, Any] = {kind: evolve(part, name=nasty)}
    renamed = evolve(chosen.plan.choice, **named)
    steps = tuple(
        step._replace(part=nasty) if step.part == part.name else step for step in chosen.plan.steps
    )
    plan = evolve(chosen.plan, choice=renamed, steps=steps, name="closest")
    offers = evolve(made.offers, offers=(evolve(chosen, plan=plan),), picked="")
    html = render_html(planned_sheet(evolve(made, offers=offers)))
    assert "<b>" not in html
    assert html.count("&lt;b&gt;&#34;Bar&#34;&lt;/b&gt; &amp; &#39;more&#39;") >= 2


def test_verdicts_are_words_for_black_and_white_print() -> None:
    """Fails, look and what cannot be undone are told, not coloured; the style has no colour."""
    made = cards.planned(cards.TWIN)
    verdicts = {
        cell_words(one.cells[2]) for one in table(planned_sheet(made).blocks, "checks").rows
    }
    assert verdicts <= {"fails", "look"}
    assert "fails" in verdicts
    html = render_html(planned_sheet(made))
    styled = [
        line for line in html.splitlines() if line.startswith((".planned", ".checks", ".plans"))
    ]
    assert styled
    assert not any("color" in line.replace("#111", "").replace("solid #bbb", "") for line in styled)


def test_a_planned_sheet_takes_two_pages() -> None:
    """A4 and letter."""
    for bike in (cards.TWIN, cards.SPORT, cards.STOOD):
        for pages, text in cards.read_pdf(planned_sheet(cards.planned(bike))).values():
            assert pages <= 2
            assert "Plans side by side" in text
            assert "Workshop checks" in text
            assert "Signature" in text
