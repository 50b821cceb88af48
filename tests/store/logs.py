"""Records that the tests of the log share."""

from __future__ import annotations

from pathlib import Path

from fitprofile.store.append import append_record
from fitprofile.store.log import read_log

SHOWN = "profiles/ida.log.toml"


def record(knee: float = 88, **others: object) -> dict[str, object]:
    """One sit-on of Ida's on the heron."""
    return {
        "date": "2026-05-17",
        "bike": "heron",
        "use": "road",
        "when": "before",
        "navel_to_bar": ["51.2 cm", "51.6 cm"],
        "knee_angle": knee,
        "notes": 'two\nlines, "quoted", with ½ and a [[sit_on]]\nwhole = true',
        **others,
    }


def log_of(path: Path, *knees: float) -> bytes:
    """A log with one record for each knee angle; its bytes."""
    for knee in knees:
        assert append_record(path, SHOWN, record(knee)) is None
    return path.read_bytes()


def knees_in(content: bytes) -> list[float]:
    """Knee angles of the records that can be used, in order."""
    entries, _ = read_log(content, SHOWN)
    return [entry.knee_angle.value for entry in entries if entry.knee_angle is not None]
