"""Answers and options of `record`: text that a person typed, to what stands in the log."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from attrs import fields_dict, resolve_types

from fitprofile.errors import Problem
from fitprofile.model.log import MEASURED, Entry
from fitprofile.model.quantity import Q
from fitprofile.store.figures import MOST_READINGS, read_figure
from fitprofile.store.log import both_given, read_moment
from fitprofile.store.mistakes import Mistakes, mistake
from fitprofile.store.structure import choices, range_of
from fitprofile.store.words import read_choice, read_notes, read_text
from fitprofile.units import BASE

SEPARATOR = ";"
MIXED = "some figures have a unit and some have none: write it behind each, as in 51.2 cm; 51.6 cm"

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
        or spaces; a bare number is in mm or degrees. Of two tapes, one side's.

    Returns
    -------
    object or Problem
        Figures stay as they were typed, with their unit; several make a list.
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
    """One figure or a list of readings, each checked against the range."""
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
    """Whether some words together are one figure, be it in range or not."""
    text = " ".join(words)
    with_unit = text if _UNIT.search(text) else f"{text} {BASE[q.kind]}"
    try:
        read_figure(with_unit, Q(q.kind, float("-inf"), float("inf")))
    except Mistakes:
        return False
    return True
