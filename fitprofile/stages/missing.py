"""One tape that is missing behind several points that are not placed: which, and the sentence."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

import numpy as np

from fitprofile.errors import ERROR, Problem
from fitprofile.geometry.vectors import Floats
from fitprofile.stages.doubts import WHERE, listed, word
from fitprofile.stages.network import AHEAD, HEIGHT, LENGTH, Row
from fitprofile.stages.placing import USUAL
from fitprofile.stages.readings import AXLES, NEEDED

QUICK_POINTS = ("seat", "peg", "grip_end")
QUICK_SPANS = (("seat", "peg"), ("seat", "grip_end"), ("peg", "grip_end"))
"""The quick set: levelled heights of three points, and the spans between them."""

MOST_ASKED = 3
"""Tapes of the quick set that one sentence asks for: half of it. With more missing, each point is
asked for by itself."""

USUAL_SD = 5.0
"""mm; a tape not yet taken. Common practice, no source."""


def one_more(rows: Sequence[Row], points: Mapping[str, Floats], origin: str) -> Iterator[Row]:
    """Tapes that were not taken, one of which may place everything, the cheapest first.

    Parameters
    ----------
    rows : sequence of Row
        Measured ones.
    points : mapping of str to (3,) float, mm
        Where the points are for now.
    origin : str
        Heights come first; where some point was taped ahead, the other distances ahead are next;
        spans of the quick set, and distances ahead of the rear axle where that is the origin.
    """
    taken = {(row.kind, frozenset(filter(None, (row.start, row.end)))) for row in rows}
    axles = [name for name in AXLES if name in points]
    heights = [_height(name) for name in (*QUICK_POINTS, *axles)]
    spans = [_span(a, b, points) for a, b in QUICK_SPANS]
    ahead = [_ahead(name) for name in QUICK_POINTS] if origin in AXLES else []
    along = (*ahead, *spans) if _by_plumb(rows) else (*spans, *ahead)
    for row in (*heights, *along):
        if (row.kind, frozenset(filter(None, (row.start, row.end)))) not in taken:
            yield row


def rest_of_quick_set(
    rows: Sequence[Row], points: Mapping[str, Floats], origin: str
) -> tuple[Row, ...]:
    """What the quick set lacks; nothing where another way of taping was begun, or hardly any."""
    if origin in AXLES or _by_plumb(rows):
        return ()
    asked = tuple(row for row in one_more(rows, points, origin) if row.end not in AXLES)
    return asked if len(asked) <= MOST_ASKED else ()


def _by_plumb(rows: Sequence[Row]) -> bool:
    """Whether some needed point was taped along the floor."""
    return any(row.kind == AHEAD and row.end in NEEDED for row in rows)


def _height(name: str) -> Row:
    return Row(f"heights.{name}", HEIGHT, name, None, USUAL[name][1], USUAL_SD)


def _ahead(name: str) -> Row:
    return Row(f"ahead.{name}", AHEAD, name, None, USUAL[name][0], USUAL_SD)


def _span(a: str, b: str, points: Mapping[str, Floats]) -> Row:
    length = float(np.linalg.norm(points[b] - points[a]))
    return Row(f"spans.{a}-{b}", LENGTH, b, a, length, USUAL_SD)


def asked_for(
    asked: Sequence[Row], lost: Collection[str], steep: Collection[str], origin: str, file: str
) -> Problem:
    """The error that asks for tapes, and says which points hang on them.

    Parameters
    ----------
    asked : sequence of Row
        What to tape.
    lost, steep : collection of str
        Points that nothing fixes, and those that only a nearly upright span would place.
    origin, file : str
    """
    one = len(asked) == 1
    hang = [f"the {word(n)}" for n in NEEDED if n in lost or n in steep]
    text = (
        f"{listed([_in_words(row) for row in asked])} {'is' if one else 'are'} missing, and "
        f"without {'it' if one else 'them'} the other tapes do not place {listed(hang)}: tape "
        f"{'it' if one else 'them'}"
    )
    if steep and asked[0].kind == LENGTH:
        dropped = [f"ahead.{n}" for n in (*steep, *(["seat"] if origin not in AXLES else []))]
        text += (
            f"; a span within 30 degrees of upright places nothing along the bike, and a plumb "
            f"line to the floor ({listed(list(dict.fromkeys(dropped)))}) would do as well"
        )
    return Problem(text, asked[0].key, file, level=ERROR)


def _in_words(row: Row) -> str:
    if row.kind == HEIGHT:
        return f"the height above the floor of {WHERE[row.end]} ({row.key})"
    if row.kind == AHEAD:
        return (
            f"how far the {word(row.end)} lies ahead of the rear axle along the floor ({row.key})"
        )
    return f"the span from the {word(row.start or '')} to the {word(row.end)} ({row.key})"
