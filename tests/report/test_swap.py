"""The swap card: each setting for both riders, the way from one to the other, what stays."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.report.checks import CAUTIONS, CLIP_ON_CHECK, STOP_CHECKS
from fitprofile.report.html import render_html
from fitprofile.report.page import Boxes, Columns, Drawing, Heading, Page
from fitprofile.report.swap import caution_lines, change_words, mark_lines, stay_lines, swap_page
from fitprofile.stages.sharing import Shared, Stay
from tests.report import samples
from tests.report.cards import read_pdf, shared
from tests.report.tables import all_words, row, row_words, table, walk, words

KEYS = ("teal", "wren", "heron")


def page(made: Shared) -> Page:
    return swap_page(made, samples.DATE)


def plain(told: str) -> str:
    return told.replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-")


def test_each_setting_has_both_values_the_change_and_a_tool() -> None:
    """Seen as something a tape or level shows."""
    made = shared()
    line = plain(row_words(row(table(page(made).blocks, "swap"), " | Bar roll")))
    roll = made.settings[0]
    assert "seen as grip tilt" in line
    assert f"{round(roll.seen_first)}°" in line
    assert f"{round(roll.seen_second)}°" in line
    assert f"{round(roll.second) - round(roll.first):+d}°, top away from the rider" in line
    assert "torque wrench" in line
    reach = plain(row_words(row(table(page(made).blocks, "swap"), " | Clutch lever's reach")))
    assert "58 mm" in reach
    assert "70 mm" in reach
    assert "+12 mm, longer" in reach


def test_what_a_tape_shows_and_the_change_add_up() -> None:
    """61.5 and 63.5 are 62 and 64, and the change is +2; 61.6 and 62.3 are one figure."""
    one = next(one for one in shared().settings if one.what == "lever_reach.brake")
    apart = evolve(one, first=0.0, second=2.0, seen_first=61.5, seen_second=63.5)
    assert plain(change_words(apart)) == "+2 mm, longer"
    near = evolve(one, first=0.0, second=0.7, seen_first=61.6, seen_second=62.3)
    assert change_words(near) == "same for both"
    roll = next(one for one in shared().settings if one.what == "bar_roll")
    alike = evolve(roll, first=6.6, second=7.4, seen_first=0.1, seen_second=-0.1)
    assert change_words(alike) == "same for both"
    assert plain(change_words(evolve(alike, second=7.6))).startswith("+1°, top toward")


def test_what_is_the_same_for_both_is_set_once() -> None:
    """And what stays as found for both has no row."""
    swapped = table(page(shared()).blocks, "swap")
    assert "same for both / set once" in row_words(row(swapped, " | Brake perch"))
    assert not any("Clutch perch" in row_words(one) for one in swapped.rows)
    assert not any("Grips along" in row_words(one) for one in swapped.rows)


def test_what_goes_further_than_usual_is_to_be_looked_at() -> None:
    """By the letter of who asks for it; nothing is said where the bike's file has a band."""
    made = shared()
    assert not any("beyond the usual" in words(one) for one in caution_lines(made))
    wide = evolve(made.settings[0], first=9.4, second=-3.0, usual=8.0)
    far = evolve(made, settings=(wide, *made.settings[1:]))
    told = [plain(words(one)) for one in caution_lines(far)]
    assert told[0] == (
        "Bar roll: A +9° from as found is beyond the usual 8°, and the bike's file has no band: "
        "check hoses, tank, screen."
    )
    both = evolve(made, settings=(evolve(wide, second=-11.0),))
    assert plain(words(caution_lines(both)[0])).startswith("Bar roll: A +9° and B -11° from")


@pytest.mark.parametrize("key", KEYS)
def test_every_number_with_a_wish_is_there_for_both(key: str) -> None:
    """Inside, or outside by how much."""
    made = shared(key)
    both = table(page(made).blocks, "both")
    for plan, at in ((made.first_plan, 1), (made.second_plan, 2)):
        said = [words(one.cells[at].lines[0]) for one in both.rows]
        outside = sum(abs(value) > 1.0 for value in plan.deviations.values())
        assert sum("inside" in one for one in said) == len(plan.deviations) - outside
        assert sum("out of reach" in one for one in said) == sum(
            value == float("inf") for value in plan.deviations.values()
        )


def test_marks_are_drawn_where_they_differ_and_named_where_they_do_not() -> None:
    """One drawing a pair; one mark is enough for what both set alike."""
    made = shared("wren")
    drawn = [one for one in walk(page(made).blocks) if isinstance(one, Drawing)]
    assert [words(one.caption)[:22] for one in drawn] == ["Brake perch on the bar"]
    told = all_words(page(made).blocks)
    assert "Clip-ons on the fork tubes: one mark for both, set once." in told
    assert any("two on the bar" in line for line in mark_lines(made))


def test_a_guessed_diameter_is_to_be_measured_first() -> None:
    """Marks from it are no better than it."""
    made = shared("wren")
    guessed = evolve(made, settings=tuple(evolve(one, taped=False) for one in made.settings))
    told = all_words(page(guessed).blocks)
    assert "Diameter not taped, measure it first: brake perch on the bar." in told


def test_clicks_are_to_be_filled_in() -> None:
    """A box for each rider and lever whose reach differs."""
    boxes = [one.labels for one in walk(page(shared()).blocks) if isinstance(one, Boxes)]
    assert boxes[0] == tuple(
        f"{side} clicks from fully out, {who}" for side in ("Brake", "Clutch") for who in "AB"
    )
    same = evolve(shared(), settings=shared().settings[:1])
    assert len([one for one in walk(page(same).blocks) if isinstance(one, Boxes)]) == 1


def test_parts_say_whose_plan_wants_them() -> None:
    """Both: it may stay for good. One that is taken off says so."""
    stays = (
        Stay("Block", "riser", first=True, second=True),
        Stay("Seat", "seat", first=False, second=True),
        Stay("without Plates", "peg_plate", first=True, second=False),
    )
    told = [words(one) for one in stay_lines(evolve(shared(), stays=stays))]
    assert told[:3] == [
        "Block (riser): both plans fit it, so it can go on for good.",
        "Seat (seat): only B's plan fits it.",
        "Plates (peg plates): only A's plan takes it off.",
    ]
    assert plain(told[3]) == (
        "Bar width stays 742 mm (wished 800 mm and 700 mm): a cut or a freed pin cannot be swapped "
        "back."
    )


def test_every_way_of_every_setting_has_words() -> None:
    """A change the other way says the other word."""
    for one in shared().settings:
        more, less = (change_words(evolve(one, first=0.0, second=step)) for step in (9.0, -9.0))
        assert more.startswith("+9")
        assert plain(less).startswith("-9")
        assert more.partition(", ")[2] != less.partition(", ")[2]


@pytest.mark.parametrize("key", KEYS)
def test_every_card_has_stop_checks_and_cautions(key: str) -> None:
    """The brake lever is touched each time."""
    told = all_words(page(shared(key)).blocks)
    for line in (*STOP_CHECKS, *CAUTIONS, "Every swap touches the brake lever"):
        assert line in told
    assert (CLIP_ON_CHECK in told) is (key == "wren")
    assert "nan" not in told.split()


@pytest.mark.parametrize("key", KEYS)
def test_it_is_one_page_on_both_papers(key: str) -> None:
    """Names, letters and checks to be read."""
    for count, told in read_pdf(page(shared(key))).values():
        assert count == 1
        for wanted in ("SWAP CARD", "Ada (invented)", "Bo (invented)", STOP_CHECKS[0]):
            assert wanted in told


def test_a_failing_check_of_one_rider_is_told_under_the_letter() -> None:
    """The thumb comes too near the tank for either."""
    told = plain(all_words(page(shared()).blocks))
    assert "A fails: either thumb to tank, left flank" in told
    made = shared()
    assert not any("fails: " in words(one) for one in stay_lines(made))
    (both,) = (b for b in page(made).blocks if isinstance(b, Columns) and b.kind == "swapped")
    heads = [one.words for one in both.columns[1] if isinstance(one, Heading)]
    assert heads[-1] == "Checks"
    assert "at least 20 mm" in told


def test_names_are_escaped() -> None:
    """Of riders, uses and parts."""
    nasty = "<script>alert(1)</script>"
    made = shared()
    named = evolve(
        made,
        first=evolve(made.first, rider=evolve(made.first.rider, name=nasty), use=nasty),
        stays=(Stay(nasty, "seat", first=True, second=False),),
    )
    html = render_html(page(named))
    assert "<script" not in html
    assert html.count("&lt;script&gt;") >= 3
