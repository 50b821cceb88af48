"""Lines of commented files: explained, short, and empty until filled in."""

from __future__ import annotations

from fitprofile.model.bike import Allows, Lever, Steering
from fitprofile.model.parts import Labour
from fitprofile.model.quantity import LENGTH, Q
from fitprofile.store.guide import CLASS_GUIDE, TABLE_GUIDE
from fitprofile.store.lines import WIDTH, blank, class_lines, comment, entry, heading, joined


def test_an_entry_is_explained_first_and_commented_out() -> None:
    """The # comes off where the value holds good as it is; a mark stands behind the value."""
    assert entry("a", "1", "What it is.") == ["# What it is.", "#a = 1"]
    assert entry("a", "1", mark="[needed]", active=True) == ["a = 1  # [needed]"]


def test_sentences_are_wrapped() -> None:
    """Long sentences keep to the width, every word of them."""
    long = "many words " * 40
    lines = comment(long)
    assert all(line.startswith("# ") and len(line) <= WIDTH for line in lines)
    assert " ".join(line[2:] for line in lines) == long.strip()


def test_a_heading_says_what_the_table_is_for() -> None:
    """An empty line, the sentence, the header; the sentence may be left out."""
    assert heading("labour") == ["", f"# {TABLE_GUIDE['labour']}", "[labour]"]
    assert heading("labour", "#[labour]", told=False) == ["", "#[labour]"]


def test_a_class_offers_each_of_its_fields() -> None:
    """Figures with their unit, words with those allowed, lists of words with two of them."""
    lines = class_lines(Steering)
    assert '#lock = " deg"' in lines
    assert '#rake_read_on = "wheels"' in lines
    assert any(line.endswith('It is "wheels" or "stand".') for line in lines)
    assert '#keep = ["seat", "lever_set"]' in class_lines(Allows, told=False)
    assert '#reach_range = [" mm", " mm"]' in class_lines(Lever, told=False)
    assert "Any of" in " ".join(class_lines(Allows))


def test_values_take_the_place_of_empty_figures() -> None:
    """As in a catalogue's examples; what is left out is not offered."""
    lines = class_lines(Labour, values={"roll": "12"}, without={"reach"}, told=False)
    assert lines[0] == "#roll = 12"
    assert not any("reach" in line for line in lines)
    assert len(lines) == len(CLASS_GUIDE[Labour]) - 1


def test_small_lengths_are_offered_in_mm() -> None:
    """Short things and bands of change in mm, long ones in cm."""
    assert blank(Q(LENGTH, 0.0, 200.0)) == '" mm"'
    assert blank(Q(LENGTH, 0.0, 900.0)) == '" cm"'
    assert blank(Q(LENGTH, -500.0, 900.0), pair=True) == '" mm"'


def test_a_file_ends_with_a_line_end() -> None:
    """And holds its lines in order."""
    assert joined(["a", "b"]) == "a\nb\n"
