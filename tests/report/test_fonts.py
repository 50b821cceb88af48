"""Asking the machine for its fonts."""

from __future__ import annotations

import pytest

from fitprofile.report import fonts

LOST = "\N{CJK UNIFIED IDEOGRAPH-5C71}"


def test_there_are_fonts_and_they_have_letters() -> None:
    """The set-up brings two families."""
    every, latin = fonts.count_fonts(), fonts.count_fonts("A")
    assert every is not None
    assert latin is not None
    assert 0 < latin <= every


def test_what_sheets_themselves_print_is_there() -> None:
    """Arrows, fractions' primes, signs."""
    assert fonts.without_glyph(["\N{RIGHTWARDS ARROW}±°″\N{MINUS SIGN}\N{EM DASH}"]) == ()


def test_a_character_that_no_font_has_is_found_once() -> None:
    """A private-use one that nobody draws; spaces and joiners need none."""
    odd = "\U0001fbff\N{ZERO WIDTH JOINER}\N{NO-BREAK SPACE}\U00013460"
    missing = fonts.without_glyph([odd, odd])
    assert len(missing) == len(set(missing))
    assert all(fonts.count_fonts(char) == 0 for char in missing)
    assert "\N{ZERO WIDTH JOINER}" not in missing


def test_without_fontconfig_nothing_is_claimed(monkeypatch: pytest.MonkeyPatch) -> None:
    """No answer is no warning."""
    monkeypatch.setattr(fonts, "_fontconfig", lambda: None)
    assert fonts.count_fonts() is None
    assert fonts.without_glyph([LOST]) == ()


def test_a_missing_library_is_no_crash(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no name can be loaded."""
    monkeypatch.setattr(fonts, "LIBRARIES", ("libnothing-of-the-kind.so.9",))
    fonts._fontconfig.cache_clear()
    assert fonts.count_fonts() is None
    fonts._fontconfig.cache_clear()
