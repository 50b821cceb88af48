"""Workshop checks on a sheet: worst first, figure and limit, what already was so as found."""

from __future__ import annotations

from math import nan
from typing import Any

from attrs import evolve

from fitprofile.report.check_blocks import (
    as_found_words,
    check_blocks,
    held_words,
    limit_words,
    said_often,
    shortened,
    together,
    words_of,
    worst_first,
)
from fitprofile.report.page import Heading
from fitprofile.stages.check import Check, held, to_look_at
from tests.report.tables import all_words, row_words, table, walk

TANK = held(
    "lock.fist.tank, left flank",
    "either fist to tank, left flank, lock to lock",
    4.0,
    20.0,
    "nearest at full lock",
    least=True,
)
OTHER_FLANK = evolve(
    TANK,
    what="lock.fist.tank, right flank",
    words="either fist to tank, right flank, lock to lock",
)
HOSE = held("hose.clutch", "clutch hose: extra length", 60.0, 10.0, "longest way")
FREE_PLAY = to_look_at("lever.brake.free_play", "brake lever: free play", "set it")
FINE = held("front_end", "front end: hands up and back at once", 0.0, 30.0, "hands stay")


def plain(told: str) -> str:
    return told.replace("\N{NO-BREAK SPACE}", " ")


def test_worst_first_then_to_look_at_then_ok() -> None:
    """By how far beyond the limit."""
    order = worst_first((FINE, TANK, FREE_PLAY, HOSE))
    assert order == (HOSE, TANK, FREE_PLAY, FINE)


def test_left_and_right_alike_are_one_row() -> None:
    """Words that differ are joined; another figure or another verdict stays apart."""
    (group,) = together((TANK, OTHER_FLANK))
    assert words_of(group) == "either fist to tank, left flank and right flank, lock to lock"
    assert len(together((TANK, evolve(OTHER_FLANK, value=9.0)))) == 2
    assert len(together((TANK, evolve(OTHER_FLANK, ok=None)))) == 2
    assert len(together((TANK, HOSE))) == 2


def test_a_tail_behind_a_colon_is_told_once() -> None:
    """Two levers, one remark."""
    clutch = evolve(FREE_PLAY, what="lever.clutch.free_play", words="clutch lever: free play")
    (group,) = together((FREE_PLAY, clutch))
    assert words_of(group) == "brake lever and clutch lever: free play"


def test_rows_carry_verdict_figure_and_limit() -> None:
    """A box to tick, words for a verdict, so that black and white print says it too."""
    blocks = check_blocks((FINE, TANK, FREE_PLAY, HOSE), ())
    rows = [plain(row_words(row)) for row in table(blocks, "checks").rows]
    assert rows[0] == " | clutch hose: extra length | fails | 60 mm | at most 10 mm | longest way"
    assert rows[1].split(" | ")[2:5] == ["fails", "4 mm", "at least 20 mm"]
    assert rows[2] == " | brake lever: free play | look |  |  | set it"
    assert len(rows) == 3
    fine = "ok: at most 30 mm: front end: hands up and back at once 0 mm."
    assert fine in plain(all_words(blocks))
    (heading,) = (block for block in walk(blocks) if isinstance(block, Heading))
    assert heading.remark == "2 fail, 1 to look at, 1 ok; worst first"


def test_what_failed_as_found_is_marked() -> None:
    """The same, worse, or less; not what was fine or could not be judged."""
    assert as_found_words(TANK, TANK) == "so as found"
    assert plain(as_found_words(TANK, evolve(TANK, value=12.0))) == (
        "failed as found too (12 mm), now worse"
    )
    assert as_found_words(TANK, evolve(TANK, value=1.0)).endswith("now less")
    assert as_found_words(HOSE, evolve(HOSE, value=40.0)).endswith("now worse")
    assert as_found_words(TANK, evolve(TANK, ok=True, value=40.0)) == ""
    assert as_found_words(TANK, None) == ""
    assert as_found_words(FREE_PLAY, FREE_PLAY) == ""
    lost = evolve(TANK, value=nan)
    assert as_found_words(lost, lost) == "so as found"
    assert "so as found: " in all_words(check_blocks((TANK,), (TANK,)))


def test_what_comes_again_is_told_once_under_a_letter() -> None:
    """Only long clauses that stand in several sentences."""
    tail = "dry-fit on packers and steer lock to lock first"
    sentences = [f"way to the frame; {tail}", f"turns with the yokes; {tail}", "alone"]
    often = said_often(sentences)
    assert often == {tail: "a"}
    assert shortened(sentences[0], often) == "way to the frame (a)"
    assert shortened(tail, often) == "(a)"
    assert shortened("alone", often) == "alone"
    hoses = [evolve(HOSE, what=f"hose.{n}", why=why) for n, why in enumerate(sentences)]
    assert f"(a) {tail}." in all_words(check_blocks(hoses, ()))


def test_law_comes_with_its_reservation() -> None:
    """And without a place there is no word of law."""
    law = held("law.1", "lowest grip above seat", 700.0, 635.0, "an example of 2024")
    words = all_words(check_blocks((law,), ()))
    assert "check the law where you ride" in words
    assert "law" not in all_words(check_blocks((TANK,), ()))


def test_nothing_checked_says_nothing() -> None:
    """No heading over an empty block; a limit that is not there has no words."""
    assert check_blocks((), ()) == ()
    assert limit_words(FREE_PLAY) == ""
    assert not any(check.ok for check in (FREE_PLAY, TANK))


def check(**changes: Any) -> Check:
    return evolve(FINE, **changes)


def test_all_ok_needs_no_table() -> None:
    """One paragraph, those at lock under one limit."""
    near = check(what="lock.a", words="either thumb to tank, lock to lock", value=50.0)
    far = check(what="lock.b", words="either fist to tank, lock to lock", value=90.0)
    words = plain(all_words(check_blocks((near, far), ())))
    assert words == (
        "ok: lock to lock, at most 30 mm: either thumb to tank 50 mm, either fist to tank 90 mm."
    )


def test_a_decimal_shows_where_whole_figures_hide_that_a_check_fails() -> None:
    """17.6 mm of at least 18 both round to 18."""
    close = held("pull", "blade to grip", 17.6, 18.0, "", least=True)
    assert close.ok is False
    assert held_words(close).replace("\N{NO-BREAK SPACE}", " ") == "17.6 mm, at least 18.0 mm"
    fine = held("pull", "blade to grip", 18.2, 18.0, "", least=True)
    assert held_words(fine).replace("\N{NO-BREAK SPACE}", " ") == "18 mm, at least 18 mm"
    wide = held("tilt", "tilt", 15.0, 12.0, "", unit="deg")
    assert held_words(wide) == "15°, at most 12°"
