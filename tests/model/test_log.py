"""An entry of the log: what it has unless said otherwise, and what counts as measured."""

from __future__ import annotations

from attrs import fields

from fitprofile.model.log import BEFORE, MEASURED, SEATED, STOOD, WHENS, Entry
from fitprofile.model.rider import HELP, Cockpit, Standing


def test_an_entry_is_before_the_work_and_no_wish_unless_said() -> None:
    """Nothing that was not written makes a sit-on count as the rider's wish."""
    plain = Entry(bike="x", use="road", date="2026-05-17")
    assert plain.when == BEFORE == WHENS[0]
    assert not plain.felt_right
    assert plain.tape == HELP[0] == "alone"
    assert all(getattr(plain, name) is None for name in MEASURED)


def test_what_is_measured_is_a_field_and_the_rest_is_words() -> None:
    """Every field is measured, or says when, where, how and by whom."""
    words = {"bike", "use", "date", "when", "felt_right", "tape", "foot", "line"}
    words |= {"fitted", "planned_lean", "gear", "done", "by", "notes"}
    assert {field.name for field in fields(Entry)} == words | set(MEASURED)


def test_each_kind_of_use_has_the_numbers_of_its_wish() -> None:
    """All of a standing use's figures, and of a cockpit's all but what only a wish has."""
    told = {field.name for field in fields(Standing)} - {"measured_on", "gear", "notes"}
    assert set(STOOD) == told | {"lever_angle_brake", "lever_angle_clutch"}
    seated = {field.name for field in fields(Cockpit)} & set(MEASURED)
    assert seated <= set(SEATED)
    assert set(MEASURED) == {*SEATED, *STOOD}
    assert not {"navel_to_bar", "knee_angle"} & set(STOOD)
