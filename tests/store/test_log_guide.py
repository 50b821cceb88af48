"""Every question of a sit-on says what to hold where."""

from __future__ import annotations

from fitprofile.model.log import MEASURED
from fitprofile.store.log_guide import DANGER, LOG_GUIDE


def test_every_number_and_remark_is_explained() -> None:
    """In a sentence, and without the names that keys have in a file."""
    assert LOG_GUIDE.keys() == {*MEASURED, "gear", "done", "by", "notes"}
    for text in (DANGER, *LOG_GUIDE.values()):
        assert text[0].isupper()
        assert text.endswith(".")
        assert "_" not in text


def test_the_first_danger_is_named() -> None:
    """Bike upright in a chock or straps and somebody who holds it, before feet go up."""
    for word in ("feet", "pegs", "upright", "chock", "straps", "helper", "tips over"):
        assert word in DANGER
