"""What every card ends with."""

from __future__ import annotations

from fitprofile.report.card_blocks import BEFORE_SITTING, cautions, check_columns, stop_section
from fitprofile.report.checks import CAUTIONS, CLIP_ON_CHECK, SIGNED, STOP_CHECKS
from fitprofile.report.page import Boxes, Items
from tests.report.tables import all_words, walk


def test_checks_stand_in_two_columns_in_their_order() -> None:
    """The first has one more where they are odd."""
    lists = [one for one in walk((check_columns(("a", "b", "c")),)) if isinstance(one, Items)]
    assert [len(one.items) for one in lists] == [2, 1]
    assert all(one.kind == "check" for one in lists)
    assert all_words((check_columns(("a", "b", "c")),)).split() == ["a", "b", "c"]


def test_stop_checks_are_those_of_every_sheet() -> None:
    """Clip-ons have one more; who signs can be said."""
    section = stop_section("", clip_on=False)
    assert all(line in all_words((section,)) for line in STOP_CHECKS)
    assert CLIP_ON_CHECK not in all_words((section,))
    assert CLIP_ON_CHECK in all_words((stop_section("", clip_on=True),))
    (boxes,) = (one for one in walk((section,)) if isinstance(one, Boxes))
    assert boxes.labels == SIGNED
    (boxes,) = (
        one
        for one in walk((stop_section("", clip_on=False, signed=("Owner",)),))
        if isinstance(one, Boxes)
    )
    assert boxes.labels == ("Owner",)


def test_own_words_come_before_the_common_ones() -> None:
    """All of them in one paragraph."""
    told = all_words((cautions(BEFORE_SITTING),))
    assert told.startswith(BEFORE_SITTING)
    assert all(line in told for line in CAUTIONS)
