"""Problems: how they read, and how they are gathered."""

from __future__ import annotations

from fitprofile.errors import ERROR, LEVELS, NOTE, WARNING, Problem, has_errors


def test_a_sentence_leads_to_the_place() -> None:
    """File and line first, then the key, then what is wrong; what is unknown is left out."""
    whole = Problem("too long", "heights.seat", "bikes/x.toml", 7)
    assert whole.sentence() == "bikes/x.toml:7: heights.seat: too long"
    assert Problem("too long", file="bikes/x.toml").sentence() == "bikes/x.toml: too long"
    assert Problem("too long", "heights.seat").sentence() == "heights.seat: too long"
    assert Problem("too long", line=3).sentence() == "too long"


def test_only_errors_stop_the_work() -> None:
    """Warnings and notes do not."""
    assert LEVELS == (ERROR, WARNING, NOTE)
    assert has_errors((Problem("a", level=NOTE), Problem("b")))
    assert not has_errors((Problem("a", level=NOTE), Problem("b", level=WARNING)))
