"""Every question of a sit-on says what to hold where."""

from __future__ import annotations

from fitprofile.model.log import MEASURED
from fitprofile.store.log_guide import DANGER, FELT_RIGHT, LETS_GO, LOG_GUIDE, STANDING_GUIDE


def test_every_number_and_remark_is_explained() -> None:
    """In a sentence, and without the names that keys have in a file."""
    assert LOG_GUIDE.keys() == {*MEASURED, "fitted", "gear", "done", "by", "notes"}
    assert STANDING_GUIDE.keys() == LOG_GUIDE.keys()
    for text in (DANGER, *LOG_GUIDE.values(), *STANDING_GUIDE.values()):
        assert text[0].isupper()
        assert text.endswith(".")
        assert "_" not in text


def test_the_first_danger_is_named() -> None:
    """Bike upright in a chock or straps and somebody who holds it, before feet go up."""
    for word in ("feet", "pegs", "upright", "chock", "straps", "helper", "tips over"):
        assert word in DANGER


def test_standing_has_words_of_its_own() -> None:
    """For what is held differently, and for what it means that it felt right: balance."""
    assert "standing forearm" in STANDING_GUIDE["lever_angle"]
    assert "standing forearm" not in LOG_GUIDE["lever_angle"]
    assert "upright" in STANDING_GUIDE["lean"]
    assert "hands let go" in LETS_GO
    assert "hands" not in FELT_RIGHT
