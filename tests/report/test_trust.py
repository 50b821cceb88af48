"""Chance, sources and notes."""

from __future__ import annotations

from attrs import evolve

from fitprofile.errors import ERROR, NOTE, WARNING, Problem
from fitprofile.report.page import Items, Paragraph, Text
from fitprofile.report.trust import chance_blocks, note_items, ordered, reference, source_blocks
from tests.report import samples


def words(text: Text) -> str:
    return "".join(span.text for span in text)


def test_notes_are_told_once_and_the_worst_first() -> None:
    """Errors, warnings, notes; twins go."""
    note, warning, error = (Problem(level, level=level) for level in (NOTE, WARNING, ERROR))
    assert ordered([note, warning, note, error]) == (error, warning, note)


def test_a_gap_points_to_the_note_that_explains_it() -> None:
    """By key; a warning goes before a remark with the same key."""
    notes = ordered(
        [
            Problem("a", "handlebar", level=WARNING),
            Problem("b", "handlebar", level=NOTE),
            Problem("c", "levers.brake", level=NOTE),
        ]
    )
    assert reference(notes, ["handlebar"]) == "see note 1"
    assert reference(notes, ["handlebar", "levers.brake"]) == "see note 1"
    assert reference(notes, ["levers.brake"]) == "see note 3"
    assert reference(notes, ["heights.peg"]) == ""


def test_notes_name_file_line_and_key() -> None:
    """So that it can be mended."""
    (item,) = note_items((Problem("mend it", "heights.seat", "bikes/teal.toml", 12),))
    assert words(item) == "Error: mend it (bikes/teal.toml:12 heights.seat)"


def test_the_chance_names_what_matters_most() -> None:
    """And is silent about it where nothing stands out."""
    made = samples.one_piece()
    texts = [words(block.text) for block in chance_blocks(made) if isinstance(block, Paragraph)]
    assert made.matters_most in texts[-1]
    assert "in 10" in texts[0]
    silent = chance_blocks(evolve(made, matters_most=""))
    assert not any("matters most" in words(b.text) for b in silent if isinstance(b, Paragraph))


def test_every_dimension_and_tape_has_a_source() -> None:
    """Measured, estimated and assumed together are the whole body and the whole survey."""
    made = samples.one_piece()
    (items,) = (block for block in source_blocks(made) if isinstance(block, Items))
    told = " ".join(words(item) for item in items.items)
    assert "Body, measured: stature" in told
    assert "shoulder-elbow length" in told
    assert "Body, assumed: sole." in told
    assert "spans (seat to peg)" in told


def test_an_assumed_rake_is_said() -> None:
    """Twenty-six degrees out of the blue are no measurement."""
    bike = evolve(samples.TWIN, key="norake", steering=evolve(samples.TWIN.steering, rake=None))
    (items,) = (b for b in source_blocks(samples.made(bike)) if isinstance(b, Items))
    assert any(words(item) == "Bike, assumed: rake." for item in items.items)
