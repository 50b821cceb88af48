"""The dry-fit card: what to stack, what is expected to fail, what to tape with the rider on."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.report.dry_fit import (
    clearance_checks,
    dry_fit_page,
    expected,
    hose_checks,
)
from fitprofile.report.html import render_html
from fitprofile.report.page import BOX, Boxes, Page
from fitprofile.report.shopping import Chosen, choose
from fitprofile.stages.check import held
from tests.report import samples
from tests.report.cards import SPORT, STOOD, TWIN, planned, read_pdf
from tests.report.tables import all_words, row, row_words, table, words

ALL = ((TWIN, False), (TWIN, True), (SPORT, False), (samples.GOOD, True), (STOOD, True))


def chosen(bike: object = TWIN, *, tall: bool = False, plan: str | None = None) -> Chosen:
    return choose(planned(bike, tall=tall), plan)  # type: ignore[arg-type]


def page(one: Chosen) -> Page:
    return dry_fit_page(one, samples.DATE)


def plain(told: str) -> str:
    return told.replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-")


def test_hoses_that_are_expected_to_fail_stand_first_and_are_marked() -> None:
    """In capitals, since a copy in black and white carries no colour."""
    one = chosen()
    first = hose_checks(one)[0]
    assert (first.what, expected(first)) == ("hose.front_brake", "expected to fail")
    hoses = table(page(one).blocks, "hoses")
    line = plain(row_words(hoses.rows[0]))
    assert line.startswith("front brake hose | +33 mm | 5 mm | EXPECTED TO FAIL")
    assert hoses.rows[0].kind == "missed"
    assert [cell.kind for cell in hoses.rows[0].cells[-4:]] == [BOX] * 4
    assert "enough" in row_words(row(hoses, "clutch hose"))


def test_a_hose_of_which_nothing_is_known_is_to_be_looked_at() -> None:
    """Neither spare nor holding point: the figure is the most it can be."""
    line = plain(row_words(table(page(chosen(SPORT)).blocks, "hoses").rows[0]))
    assert line.startswith("hoses and cables | +83 mm | not taped | look and write")


def test_the_nearest_of_each_hand_is_always_shown() -> None:
    """Fist, bar end and thumb, what is nearest first, seven at most."""
    shown = clearance_checks(chosen())
    assert [one.what.split(".")[0] for one in shown] == ["thumb", "lock", "lock"]
    assert [one.value for one in shown] == sorted(one.value for one in shown)
    many = tuple(
        held(f"{part}.thing {index}", f"{part} {index}", 10.0 + index + far, 20.0, "", least=True)
        for part, far in (("lock.fist", 0.0), ("lock.bar_end", 50.0), ("thumb", 90.0))
        for index in range(9)
    )
    one = chosen()
    crowded = clearance_checks(evolve(one, offer=evolve(one.offer, checks=many)))
    assert len(crowded) == 7
    assert {"lock.bar_end.thing 0", "thumb.thing 0"} <= {check.what for check in crowded}


def test_room_expected_to_fail_is_marked() -> None:
    """The tall rider's fist comes within 15 mm of the tank."""
    room = table(page(chosen(tall=True)).blocks, "room")
    line = plain(row_words(room.rows[0]))
    assert line.startswith("fist to tank, left flank | 15 mm | EXPECTED TO FAIL")


def test_with_nothing_taped_the_card_leaves_room_to_write() -> None:
    """No obstacle on the sport bike."""
    assert "Nothing that stays was taped" in all_words(page(chosen(SPORT)).blocks)


def test_the_rider_s_numbers_stand_with_wish_tolerance_and_empty_boxes() -> None:
    """What to tape with the rider on."""
    sat = table(page(chosen()).blocks, "sat")
    line = row(sat, "Navel-to-bar")
    made = chosen().transfer
    wish = round(float(made.target.navel_to_bar_mm))
    assert f"{wish} mm ±10 mm" in plain(row_words(line))
    assert [cell.kind for cell in line.cells[-2:]] == [BOX, BOX]
    assert "no figure" in row_words(row(table(page(chosen(SPORT)).blocks, "sat"), "Forearm"))


def test_what_is_at_stake_is_in_the_head() -> None:
    """Plan, parts, money, time, and what stays outside."""
    facts = {label: plain(words(value)) for label, value in page(chosen(SPORT)).facts}
    assert facts["Plan"] == "closest"
    assert facts["Would buy"] == "High clips; Ends"
    assert facts["At stake"] == "225 EUR, 1 h 54 min"
    assert "forearm angle out of reach" in facts["Still outside"]


def test_a_plan_that_is_not_there_says_so() -> None:
    """The closest stands in for it."""
    facts = {label: words(value) for label, value in page(chosen(SPORT, plan="cheapest")).facts}
    assert facts["Plan"] == "closest (the one asked for is not there)"


def test_what_cannot_be_undone_waits_for_the_signature() -> None:
    """And nobody rides on packers."""
    told = all_words(page(chosen()).blocks)
    assert "The plan cannot be undone: the pins of throttle housing" in told
    assert "never ride on packers" in told
    assert "chock" in told


def test_nothing_to_try_is_said() -> None:
    """The good bike as it stands."""
    told = all_words(page(chosen(samples.GOOD)).blocks)
    assert "Nothing to try" in told
    assert "No hose or cable has to be longer" in told
    (boxes,) = (one for one in page(chosen(samples.GOOD)).blocks if isinstance(one, Boxes))
    assert boxes.labels[0] == "Go ahead: yes / no"


def test_what_is_left_out_of_the_catalogue_stands_on_the_card() -> None:
    """In the words of whoever read the file; nothing where all of it is used."""
    one = chosen()
    assert "Left out" not in all_words(page(one).blocks)
    offers = evolve(one.offers, remark="parts.toml: 1 part is left out: Block 20 (line 3)")
    told = all_words(page(evolve(one, transfer=evolve(one.transfer, offers=offers))).blocks)
    assert "Left out: parts.toml: 1 part is left out: Block 20 (line 3)." in told


def test_without_a_catalogue_nothing_has_a_price() -> None:
    """What is at stake is time."""
    one = chosen()
    bare = evolve(one.transfer, offers=evolve(one.offers, listed=False))
    facts = dict(page(evolve(one, transfer=bare)).facts)
    assert words(facts["At stake"]).startswith("free adjustments alone, ")


@pytest.mark.parametrize(("bike", "tall"), ALL)
def test_it_is_one_page_on_both_papers(bike: object, tall: bool) -> None:
    """With hoses, numbers and safety to be read."""
    shown = page(chosen(bike, tall=tall, plan="closest"))
    assert "nan" not in all_words(shown.blocks).split()
    for count, told in read_pdf(shown).values():
        assert count == 1
        for wanted in ("DRY-FIT CARD", "never ride on packers", "Order the parts", "Knee angle"):
            assert wanted in told


def test_names_are_escaped() -> None:
    """Of riders, bikes, uses and parts."""
    nasty = "<script>alert(1)</script>"
    one = chosen()
    made = one.transfer
    named = evolve(
        one,
        transfer=evolve(
            made,
            rider=evolve(made.rider, name=nasty),
            bike=evolve(made.bike, name=nasty),
            use=nasty,
        ),
    )
    html = render_html(page(named))
    assert "<script" not in html
    assert html.count("&lt;script&gt;") >= 3
