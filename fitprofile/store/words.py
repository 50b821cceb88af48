"""Words of a file: free text, names, choices and dates, read strictly."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime

from fitprofile.store.mistakes import Gather, listed, mistake, nearest
from fitprofile.store.toml import visible
from fitprofile.units import describe

LONGEST_NAME = 80
"""Characters of a rider's, a bike's or an obstacle's name."""

LONGEST_NOTES = 4000
"""Characters of notes, which may run over several lines."""

FILE_KEY = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}")
"""What a file of the workspace may be called, and a use in ``[cockpit.USE]``."""

_LEANING = ("side stand", "sidestand", "side-stand", "kickstand", "kick stand", "prop stand")
_LINE_ENDS = "\n\t"


def read_text(raw: object, longest: int = LONGEST_NAME, *, lines: bool = False) -> str:
    """Free text without control characters, not empty; ``lines`` lets it run over several."""
    if not isinstance(raw, str):
        raise mistake(f"{describe(raw)} is not text: write it in quotes")
    text = raw.strip()
    if not text:
        raise mistake("the text is empty: fill it in or take the key out")
    if len(text) > longest:
        raise mistake(f"{len(text)} characters are too many: {longest} is the most")
    for char in text:
        if not char.isprintable() and not (lines and char in _LINE_ENDS):
            raise mistake(f"the character U+{ord(char):04X} cannot be shown: take it out")
    return text


def read_notes(raw: object) -> str:
    """Free text over several lines."""
    return read_text(raw, LONGEST_NOTES, lines=True)


def read_choice(raw: object, choices: Sequence[str]) -> str:
    """One of a few words."""
    if isinstance(raw, str) and raw in choices:
        return raw
    allowed = listed([f'"{choice}"' for choice in choices])
    if not isinstance(raw, str):
        raise mistake(f"{describe(raw)} is not understood: write {allowed}")
    near = nearest(raw.lower(), choices)
    hint = f', did you mean "{near}"?' if near else ""
    raise mistake(f"'{visible(raw, 40)}' is not {allowed}{hint}")


def read_choices(raw: object, choices: Sequence[str]) -> tuple[str, ...]:
    """Some of a few words, in a list that may be empty."""
    if not isinstance(raw, list):
        example = ", ".join(f'"{choice}"' for choice in choices[:2])
        raise mistake(f"{describe(raw)} where a list of words is wanted, as in [{example}]")
    gather = Gather()
    words = [gather.part(index, read_choice, item, choices) for index, item in enumerate(raw)]
    gather.check()
    return tuple(word for word in words if word is not None)


def read_bike_key(raw: object) -> str:
    """The file name of a bike, with or without its ending.

    Whether there is such a bike is the workspace's question.
    """
    if not isinstance(raw, str):
        raise mistake(f"{describe(raw)} is not the name of a bike's file: write it in quotes")
    key = raw.removesuffix(".toml")
    why = why_no_file_key(key)
    if why is not None:
        raise mistake(why)
    return key


def read_state(raw: object, choices: Sequence[str]) -> str:
    """How the bike stood while it was taped; a side stand is refused with the reason."""
    if isinstance(raw, str) and raw.strip().lower() in _LEANING:
        raise mistake(
            "on a side stand the bike leans, which spoils every height and both sides: "
            'hold it upright, tape again and write "wheels" or "stand"'
        )
    return read_choice(raw, choices)


def read_flag(raw: object) -> bool:
    """``true`` or ``false``, and nothing that only looks like it."""
    if not isinstance(raw, bool):
        raise mistake(f"{describe(raw)} is neither true nor false: write one of them, no quotes")
    return raw


def read_date(raw: object) -> str:
    """A day, from a TOML date or from text, as ``YYYY-MM-DD``."""
    if isinstance(raw, datetime):
        return raw.date().isoformat()
    if isinstance(raw, date):
        return raw.isoformat()
    try:
        return date.fromisoformat(read_text(raw)).isoformat()
    except ValueError:
        raise mistake(f"{describe(raw)} is no date: write it like 2026-05-17") from None


def read_mileage(raw: object) -> str:
    """What the odometer showed, as text; a bare whole number is taken as it is."""
    if isinstance(raw, int) and not isinstance(raw, bool) and 0 <= raw < 10**8:
        return str(raw)
    return read_text(raw)


def why_no_file_key(key: str) -> str | None:
    """Sentence for a word that cannot be a file's name, ``None`` where it can."""
    if FILE_KEY.fullmatch(key):
        return None
    return (
        f"'{visible(key, 40)}' cannot be a name here: use 1 to 64 letters a-z, digits, - and _, "
        "beginning with a letter or digit (the full name goes into the file, as name = ...)"
    )
