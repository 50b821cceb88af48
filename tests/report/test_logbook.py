"""A log in words and as dicts."""

from __future__ import annotations

import json

import pytest
from attrs import evolve

from fitprofile.model.log import MEASURED, Entry
from fitprofile.model.quantity import Reading
from fitprofile.report.logbook import LABELS, entry_lines, entry_record, history_text
from fitprofile.report.terminal import _columns as columns

ENTRY = Entry(
    bike="juniper",
    use="road",
    date="2026-05-17T14:30:00",
    when="after",
    felt_right=True,
    tape="helper",
    navel_to_bar=Reading(514.0, count=3),
    knee_angle=Reading(88.6, count=2, sides=(88.2, 89.0)),
    grip_tilt=Reading(-3.0),
    gear="summer jacket without back protector, touring boots, thin gloves, nothing in the pockets",
    done="riser 20 mm\nlevers turned",
    by="Nela",
    line=7,
)
PAIR = evolve(
    ENTRY,
    navel_to_bar=None,
    navel_to_grip_ends=(Reading(640.0), Reading(643.0, count=2)),
    when="before",
    felt_right=False,
    line=20,
)


def plain(text: str) -> str:
    """The same with ordinary spaces and minus signs."""
    return text.replace("\u00a0", " ").replace("\u2212", "-")


def test_every_measured_number_has_its_words_and_unit() -> None:
    """Lengths are mm, angles degrees."""
    assert set(LABELS) == set(MEASURED)
    assert not [words for words, _ in LABELS.values() if "balance" in words]  # that of a model
    for key, (words, unit) in LABELS.items():
        assert unit == (
            "deg" if "angle" in key or key in {"lean", "grip_tilt", "grip_sweep"} else "mm"
        )
        assert words[0].isupper()


def test_an_entry_says_when_where_and_what() -> None:
    """Means with their count, inches beside, and each remark on a line of its own."""
    assert plain("\n".join(entry_lines(ENTRY, 200))).split("\n") == [
        "2026-05-17 14:30:00: juniper, road, after the work, felt right; taped by two people",
        (
            "  Navel-to-bar 514 mm (20 1/4″, 3 readings); Knee angle left 88°, right 89°; "
            "Grip tilt -3°"
        ),
        f"  gear: {ENTRY.gear}",
        "  done: riser 20 mm",
        "  levers turned",
        "  by: Nela",
    ]
    both = plain("\n".join(entry_lines(PAIR, 200)))
    assert "before the work; taped" in both
    assert "Navel to grip ends 640 mm (25 3/16″) and 643 mm (25 5/16″, 2 readings)" in both


@pytest.mark.parametrize("width", [60, 80, 120])
def test_history_fits_the_terminal(width: int) -> None:
    """Every line, whatever was written into the notes."""
    long = evolve(ENTRY, notes="x" * 300 + " two\nthree")
    text = history_text("Nela " + "of the long name " * 10, [long, PAIR], width)
    assert max(columns(line) for line in text.split("\n")) <= width
    assert ": 2 sit-ons" in text.replace("\n", " ")
    assert history_text("Nela", [PAIR], width).startswith("Nela: 1 sit-on\n")


def test_a_record_carries_units_means_and_counts() -> None:
    """Every key is always there; what was not measured is null."""
    made = json.loads(json.dumps(entry_record(ENTRY)))
    assert made["navel_to_bar_mm"] == {"value": 514.0, "count": 3}
    assert made["knee_angle_deg"] == {"value": 88.6, "count": 2, "left": 88.2, "right": 89.0}
    assert made["lever_reach_brake_mm"] is None
    assert made["navel_to_grip_ends_mm"] is None
    assert (made["bike"], made["use"], made["when"], made["felt_right"], made["line"]) == (
        "juniper",
        "road",
        "after",
        True,
        7,
    )
    assert entry_record(PAIR)["navel_to_grip_ends_mm"] == {
        "left": {"value": 640.0, "count": 1},
        "right": {"value": 643.0, "count": 2},
    }
    assert entry_record(PAIR).keys() == made.keys()
