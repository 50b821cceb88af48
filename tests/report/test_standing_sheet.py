"""The sheet of a standing use: one page, every number, every change to tick."""

from __future__ import annotations

from attrs import evolve

from fitprofile.report.html import render_html
from fitprofile.report.page import Page
from fitprofile.report.standing_sheet import STEADY, standing_sheet
from fitprofile.report.uses import change_lines, standing_lines
from tests.report import cards
from tests.report.tables import all_words
from tests.report.test_uses import made

DATE = "2026-11-25"


def page() -> Page:
    """The sheet of the use that the samples stand in."""
    return standing_sheet(made(), "trail", DATE)


def test_every_number_has_its_row_and_every_change_its_tick() -> None:
    """In the order of the terminal; routine round the changes."""
    transfer = made()
    told = all_words(page().blocks)
    one = transfer.standing["trail"]
    for name, *_ in standing_lines(one):
        assert name in told
    for line in (*change_lines(one), *STEADY):
        assert line in told
    assert "Balance as found" in told
    assert "chock" in told


def test_it_takes_one_page_on_either_paper() -> None:
    """A4 and letter, signature included."""
    for pages, text in cards.read_pdf(page()).values():
        assert pages == 1
        assert "Signature" in text
        assert "Standing numbers" in text


def test_names_are_escaped() -> None:
    """Markup in a name is text."""
    transfer = made()
    nasty = evolve(transfer, bike=evolve(transfer.bike, name="<b>bike</b>"))
    html = render_html(standing_sheet(nasty, "trail", DATE))
    assert "<b>bike</b>" not in html
    assert "&lt;b&gt;bike" in html
