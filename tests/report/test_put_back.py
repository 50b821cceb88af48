"""The put-back card: figures as found, in the state they were taped in, and the way back."""

from __future__ import annotations

from functools import cache

import pytest
from attrs import evolve

from fitprofile.model.bike import Bike, Fitted, Stand
from fitprofile.model.shop import Shop
from fitprofile.report.as_came import found_figures, found_points
from fitprofile.report.checks import CAUTIONS, CLIP_ON_CHECK, STOP_CHECKS
from fitprofile.report.html import render_html
from fitprofile.report.page import BOX, TICK, Boxes, Page
from fitprofile.report.put_back import FASTENERS, put_back_page
from fitprofile.stages.survey import Surveyed, survey
from tests.report import samples
from tests.report.cards import STOOD, read_pdf
from tests.report.samples import r
from tests.report.tables import all_words, row, row_words, table, walk, words

BIKES = {one.key: one for one in (samples.TWIN, samples.SPORT, samples.GOOD, STOOD)}


@cache
def surveyed(key: str) -> Surveyed:
    found, problems = survey(BIKES[key], Shop())
    assert found is not None, problems
    return found


def page(bike: Bike) -> Page:
    return put_back_page(bike, surveyed(bike.key), samples.DATE)


def plain(told: str) -> str:
    return told.replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-")


def test_every_point_that_work_can_move_is_there_as_surveyed() -> None:
    """With inches, boxes to measure again and a box to tick."""
    points = table(page(samples.TWIN).blocks, "back")
    named = [row_words(one).partition(" | ")[0] for one in points.rows]
    assert named == [
        "Sit point",
        "Peg, top",
        "Bar in its clamps",
        "Grip, outer end",
        "Grip, inner end",
    ]
    peg = row(points, "Peg")
    assert plain(row_words(peg)).startswith(
        "Peg, top | 392  15 7/16″ | 650  25 9/16″ | 470  18 1/2″"
    )
    assert [cell.kind for cell in peg.cells[-3:]] == [BOX, BOX, TICK]
    assert "in the middle" in row_words(row(points, "Sit point"))


def test_on_a_stand_both_states_are_given() -> None:
    """What the tape read there, and where the point lies on the wheels."""
    points = table(page(STOOD).blocks, "back stood")
    assert "On the stand: above, ahead" in points.head
    seat = plain(row_words(row(points, "Sit point")))
    assert "815, 560" in seat
    there = next(one for one in found_points(STOOD, surveyed("stood")) if one.name == "seat")
    assert there.up < 815.0 - 20.0
    assert f"{round(there.up)} " in seat
    brake = plain(row_words(row(table(page(STOOD).blocks, "angles"), "Brake lever below")))
    assert "24° on the stand" in brake
    assert round(next(iter(found_figures(STOOD, surveyed("stood")))).value) == 22


def test_what_was_not_taped_on_the_stand_is_a_gap() -> None:
    """And a tape to the top of a grip says so."""
    top = evolve(r(1050.0), top=True)
    ahead = {name: at for name, at in STOOD.ahead.items() if name != "seat"}
    bike = evolve(STOOD, heights={**STOOD.heights, "grip_end": top}, ahead=ahead)
    shown = put_back_page(bike, surveyed("stood"), samples.DATE)
    points = table(shown.blocks, "back stood")
    assert "1050 to its top, 1010" in row_words(row(points, "Grip, outer"))
    assert "815, \N{EM DASH}" in row_words(row(points, "Sit point"))
    bare = evolve(bike, heights={}, ahead={})
    points = table(put_back_page(bare, surveyed("stood"), samples.DATE).blocks, "back stood")
    assert "not taped" in row_words(row(points, "Sit point"))


def test_torque_is_the_maker_s_and_has_a_box_for_each_fastener() -> None:
    """Nothing is filled in here."""
    torque = table(page(samples.TWIN).blocks, "torque")
    assert [row_words(one).partition(" | ")[0] for one in torque.rows] == list(FASTENERS)
    assert all(one.cells[1].kind == BOX for one in torque.rows)


def test_owner_and_borrower_sign() -> None:
    """Out and back."""
    boxes = [one.labels for one in walk(page(samples.TWIN).blocks) if isinstance(one, Boxes)]
    assert ("Owner, signature", "Borrower, signature", "Date out", "Date back") in boxes


def test_the_head_says_when_in_which_state_and_what_was_on_it() -> None:
    """Parts with their kind."""
    fitted = evolve(samples.TWIN, fitted=Fitted(riser="Old block", lever_set="Short levers"))
    facts = {label: plain(words(value)) for label, value in page(fitted).facts}
    assert facts == {
        "Taped": "2026-05-09, on its wheels, two people",
        "Mileage": "12 480 km",
        "Rake": "27°",
        "Fitted when it came": "Old block (riser) and Short levers (levers)",
    }
    found = surveyed("teal")
    half = evolve(found, rake=evolve(found.rake, value=23.5))
    told = put_back_page(samples.TWIN, half, samples.DATE).facts
    assert ("Rake", "23.5°") in [(label, words(value)) for label, value in told]
    facts = {label: words(value) for label, value in page(samples.SPORT).facts}
    assert facts["Taped"] == "day not written, on its wheels, one person"


@pytest.mark.parametrize("key", BIKES)
def test_it_is_one_page_on_both_papers(key: str) -> None:
    """With figures, checks and cautions to be read."""
    shown = page(BIKES[key])
    told = all_words(shown.blocks)
    for line in (*STOP_CHECKS, *CAUTIONS):
        assert line in told
    assert (CLIP_ON_CHECK in told) is (key == "wren")
    for count, text in read_pdf(shown).values():
        assert count == 1
        for wanted in ("PUT-BACK CARD", BIKES[key].name, "Nothing is cut", "Maker's Nm"):
            assert wanted in text


def test_notes_and_names_are_escaped() -> None:
    """Words out of the file."""
    nasty = "<script>alert(1)</script>"
    bike = evolve(samples.TWIN, name=nasty, notes=nasty, mileage=nasty, stand=Stand())
    html = render_html(put_back_page(bike, surveyed("teal"), nasty))
    assert "<script" not in html
    assert html.count("&lt;script&gt;") >= 4
