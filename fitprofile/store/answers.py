"""Answers and options of `record`: text that a person typed, to what stands in the log."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from attrs import evolve, fields_dict, resolve_types

from fitprofile.errors import Problem
from fitprofile.model.log import MEASURED, Entry
from fitprofile.model.quantity import ANGLE, Q
from fitprofile.store.figures import MOST_READINGS, SIDE_KEYS, read_figure
from fitprofile.store.log import both_given, read_moment
from fitprofile.store.mistakes import Mistakes, mistake
from fitprofile.store.structure import choices, range_of
from fitprofile.store.words import read_choice, read_notes, read_text
from fitprofile.units import BASE, lone_fraction

SEPARATOR = ";"
MIXED = "some figures have a unit and some have none: write it behind each, as in 51.2 cm; 51.6 cm"

SIDES_ALONE = (
    "write both sides as one answer and nothing beside it, each with one figure: "
    "{ left = 14, right = 20 }"
)

_SIDE = re.compile(r"\b(?:left|right)\b", re.IGNORECASE)
_SIDES = re.compile(
    r"\{?\s*(left|right)\b\s*[=:]?\s*(.+?)\s*[,;]?\s*\b(left|right)\b\s*[=:]?\s*(.+?)\s*,?\s*\}?",
    re.IGNORECASE,
)
"""Both sides of a pair as a file would hold them, or as a log is shown: left 14, right 20."""

_SIGNS = "\"'\N{DEGREE SIGN}\N{PRIME}\N{DOUBLE PRIME}\N{RIGHT SINGLE QUOTATION MARK}"
_SIGNS += "\N{RIGHT DOUBLE QUOTATION MARK}"
_UNIT = re.compile(rf"[^\W\d_]|[{_SIGNS}]")
"""A letter or a sign that stands for a unit."""


def read_answer(key: str, *texts: str) -> object | Problem:
    """What stands behind a key of a record, or why it cannot.

    Parameters
    ----------
    key : str
        Field of `Entry`.
    *texts : str
        As typed. Of a measured number each text may hold several readings, parted by semicolons
        or spaces; a bare number is in mm or degrees. Where the sides may differ, one text may
        hold both: ``{ left = 14, right = 20 }``. Of two tapes, one side's.

    Returns
    -------
    object or Problem
        Figures stay as they were typed, with their unit; several make a list, both sides a dict.
    """
    kind = fields_dict(resolve_types(Entry))[key].type
    try:
        if key in MEASURED:
            return _figures(texts, range_of(kind))
        (text,) = texts
        if choices(kind):
            return read_choice(text.strip().lower(), choices(kind))
        reader = {"date": read_moment, "done": read_notes, "notes": read_notes}.get(key, read_text)
        return reader(text)
    except Mistakes as mistakes:
        return Problem(str(mistakes.args[0]), key)


def twice_given(record: Mapping[str, object]) -> list[Problem]:
    """Two ways of measuring one number, where a record holds both."""
    return [Problem(text, str(path[0])) for path, text in both_given(record)]


def _figures(texts: Iterable[str], q: Q) -> object:
    """One figure, a list of readings or both sides, each checked against the range."""
    texts = tuple(texts)
    if q.sides and any(map(_SIDE.search, texts)):
        return _both_sides(texts, q)
    words = [word for text in texts for word in _words(text, q)]
    bare = [_UNIT.search(word) is None for word in words]
    if any(bare) and not all(bare):
        raise mistake(MIXED)
    if len(words) > MOST_READINGS:
        raise mistake(f"{len(words)} readings are too many: {MOST_READINGS} is the most")
    found = [_figure(word, q) for word in words]
    if not found:
        raise mistake("the text is empty: write the figure")
    return found[0] if len(found) == 1 else found


def _both_sides(texts: Sequence[str], q: Q) -> dict[str, object]:
    """Left and right, in this order, each one figure."""
    found = _SIDES.fullmatch(texts[0].strip())
    if found is None or len(texts) > 1:
        raise mistake(SIDES_ALONE)
    given = {found[1].lower(): found[2], found[3].lower(): found[4]}
    if len(given) < len(SIDE_KEYS) or any(SEPARATOR in text for text in given.values()):
        raise mistake(SIDES_ALONE)
    one = evolve(q, sides=False)
    return {side: _figure(given[side].strip("\"'"), one) for side in SIDE_KEYS}


def _figure(word: str, q: Q) -> float | str:
    """A figure inside its range: text with its unit, or a plain number."""
    if _UNIT.search(word) is not None:
        read_figure(word, q)
        return word
    plain = read_figure(f"{word} {BASE[q.kind]}", q)
    return int(plain) if plain.is_integer() else plain


def _words(text: str, q: Q) -> Iterator[str]:
    """The readings of one text; spaces part them where each is a figure by itself."""
    for part in filter(str.strip, text.split(SEPARATOR)):
        figures = _parted(part.split(), q)
        yield from figures or [part.strip()]


def _parted(words: list[str], q: Q) -> list[str]:
    """Words put together to figures, each as long as it can be; empty where some are none."""
    figures: list[str] = []
    while words:
        most = next((n for n in range(len(words), 0, -1) if _reads(words[:n], q)), 0)
        if not most:
            return []
        figures.append(" ".join(words[:most]))
        words = words[most:]
    return figures


def _reads(words: list[str], q: Q) -> bool:
    """Whether some words together are one figure, be it in range or not, or an angle's 14/20."""
    text = " ".join(words)
    if q.kind == ANGLE and lone_fraction(text) is not None:
        return True
    with_unit = text if _UNIT.search(text) else f"{text} {BASE[q.kind]}"
    try:
        read_figure(with_unit, Q(q.kind, float("-inf"), float("inf")))
    except Mistakes:
        return False
    return True
