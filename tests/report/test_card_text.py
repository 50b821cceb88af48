"""Shopping list and cards on a terminal."""

from __future__ import annotations

import pytest

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.model.bike import Bike
from fitprofile.model.shop import Shop
from fitprofile.report.card_text import dry_fit_text, put_back_text, shopping_text, swap_text
from fitprofile.report.garage import Failed
from fitprofile.report.shopping import choose
from fitprofile.stages.survey import survey
from tests.report import samples
from tests.report.cards import SPORT, STOOD, TWIN, planned, shared

TOLD = (Problem("look here", level=WARNING), Problem("not so urgent", level=NOTE))


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-")


def squeezed(text: str) -> str:
    """The same words with one space between them: columns are a matter of taste."""
    return " ".join(plain(text).split())


def shopping(width: int = 80) -> str:
    chosen = [choose(planned(one), None) for one in (TWIN, STOOD, SPORT)]
    failed = [Failed(key="crow", name="Crow", problems=(Problem("no seat"),))]
    return plain(shopping_text(chosen, failed, "EUR", width))


def put_back(bike: Bike, width: int = 80) -> str:
    found, _ = survey(bike, Shop())
    assert found is not None
    return plain(put_back_text(bike, found, TOLD, width))


def test_the_list_has_parts_sum_and_each_bike() -> None:
    """What is missing and what cannot be undone too."""
    told = shopping()
    assert "Wide bar bar 2 90.50 EUR 181 EUR teal, stood" in squeezed(told)
    assert "636 EUR for 6 parts, 5 h 28 min of work" in told
    assert "Teal 650 twin (invented): cheapest, 90.50 EUR, 1 h 34 min\n  inside every" in told
    assert "outside: bar width" in told
    assert "Crow\n  no seat" in told
    assert "cannot be undone: the pins of throttle" in told


def test_one_part_is_one_part_and_none_has_no_table() -> None:
    """Grammar, and the good bike."""
    assert "for 1 part," in plain(shopping_text([choose(planned(), None)], [], "EUR"))
    nothing = plain(shopping_text([choose(planned(samples.GOOD), None)], [], "EUR"))
    assert nothing.startswith("0 EUR for 0 parts, 0 min of work")


def test_a_swap_tells_settings_marks_numbers_and_what_stays() -> None:
    """Notes belong to the transfer sheet, warnings do not wait."""
    told = plain(swap_text(shared(), TOLD))
    assert "A is Ada (invented), road" in told
    assert "-3°, top away from the rider" in told
    assert "Bar in its clamp: one line on the clamp, two on the bar: B 1 mm behind A" in told
    assert "* outside tolerance" in told
    assert "742 mm *" in told
    assert "Wide bar (bar): both plans fit it" in told
    assert "\nChecks that fail, or go beyond what is usual:\n  A fails: " in told
    assert "warning: look here" in told
    assert "not so urgent" not in told


def test_a_dry_fit_tells_what_to_stack_and_what_fails() -> None:
    """In the order of the card."""
    told = plain(dry_fit_text(choose(planned(samples.GOOD, tall=True), "closest"), TOLD))
    assert "Bar clamp: stack packers 20 mm high" in told
    assert "clamp above floor 1000 \N{RIGHTWARDS ARROW} 1014" in told
    told = plain(dry_fit_text(choose(planned(), None), ()))
    assert "front brake hose +33 mm 5 mm expected to fail" in squeezed(told)
    assert "either thumb to tank, left flank" in told
    nothing = plain(dry_fit_text(choose(planned(samples.GOOD), None), ()))
    assert "nothing: the bike stays as it is" in nothing
    assert "(the one asked for is not there)" in squeezed(
        dry_fit_text(choose(planned(SPORT), "quickest"), ())
    )


def test_a_put_back_tells_figures_and_the_order() -> None:
    """Numbered."""
    told = squeezed(put_back(samples.TWIN))
    assert "Peg, top 392 mm 650 mm 470 mm" in told
    assert "Brake lever's reach 66 mm 2 5/8″" in told
    assert "1. Photograph it as it stands now" in told


@pytest.mark.parametrize("width", [50, 80, 120])
def test_sentences_wrap_inside_the_terminal(width: int) -> None:
    """Tables keep their columns and may run over."""
    for told in (shopping(width), put_back(samples.TWIN, width)):
        sentences = [line for line in told.splitlines() if line.startswith("  ")]
        assert all(len(line) <= width for line in sentences)
