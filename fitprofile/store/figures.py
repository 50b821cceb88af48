"""Figures of a file to `Reading` values and bands: number, text with a unit, list or table."""

from __future__ import annotations

from math import fsum

from attrs import evolve

from fitprofile.model.quantity import ANGLE, LENGTH, Band, Q, Reading
from fitprofile.store.mistakes import Gather, Mistakes, mistake, nearest, unknown
from fitprofile.store.words import read_text
from fitprofile.units import (
    BASE,
    MM_PER_INCH,
    UnitError,
    describe,
    lone_fraction,
    of_a_degree,
    read,
)

COVERAGE = 2.0
"""Expanded uncertainty over standard deviation (JCGM 100: k = 2 holds 19 times in 20)."""

TOP = "top"
TABLE_KEYS = ("value", "give_or_take", "how")
SIDE_KEYS = ("left", "right")

MOST_READINGS = 50
"""Repeated readings in one list; nobody tapes more."""

LONGEST_HOW = 80
"""Characters of the tool's name."""


def read_figure(raw: object, q: Q) -> float:
    """One figure inside its range.

    Parameters
    ----------
    raw : object
        Number (mm, degrees, kg) or text with a unit.
    q : Q
        Kind and range.

    Returns
    -------
    float
        mm, degrees, kg or the plain number.

    Raises
    ------
    Mistakes
        Where it is no figure of this kind or lies outside the range.
    """
    try:
        value = read(raw, q.kind)
    except UnitError as error:
        raise mistake(_sides_meant(raw, q) or _unit_meant(raw, q) or str(error)) from None
    if not q.low <= value <= q.high:
        raise mistake(_outside(raw, value, q))
    return value


def read_reading(raw: object, q: Q, *, top: bool = False, sides: bool = False) -> Reading:
    """One measured figure with what was said about it.

    Parameters
    ----------
    raw : object
        Number, text, list of repeated readings (where ``q.many``) or table.
    q : Q
        Kind and range.
    top : bool
        ``to = "top"`` makes sense here.
    sides : bool
        A table may hold ``left`` and ``right`` in place of ``value``; always so where
        ``q.sides``.

    Raises
    ------
    Mistakes
        All that is wrong with it.
    """
    if isinstance(raw, dict):
        return _read_table(raw, q, top=top, sides=sides or q.sides)
    value, count, scatter = _read_value(raw, q)
    return Reading(value, count=count, scatter=scatter)


def read_band(raw: object, q: Q) -> Band:
    """Lower and upper end, ``[low, high]``, of what is allowed.

    Raises
    ------
    Mistakes
        Where it is no list of two figures in rising order.
    """
    low, high = read_pair(raw, q, "[low, high]")
    if low > high:
        raise mistake(f"the band runs backward: write [{high:g}, {low:g}]")
    return low, high


def read_pair(raw: object, q: Q, form: str) -> Band:
    """Two plain figures in a list; ``form`` says what they are, for the sentence."""
    if not isinstance(raw, list) or len(raw) != 2:  # noqa: PLR2004 - a pair
        raise mistake(f"{_a_list(raw)} where two figures are wanted: write {form}")
    gather = Gather()
    first = gather.part(0, read_figure, raw[0], q)
    second = gather.part(1, read_figure, raw[1], q)
    if first is None or second is None:
        raise Mistakes(gather.found)
    return first, second


def _a_list(raw: object) -> str:
    return f"a list of {len(raw)}" if isinstance(raw, list) else describe(raw)


def _outside(raw: object, value: float, q: Q) -> str:
    """Sentence for a figure outside its range."""
    unit = BASE[q.kind]
    said = f"{value:.6g} {unit}".strip()
    band = f"{q.low:g} to {q.high:g} {unit}".strip()
    if value < 0.0 <= q.low:
        return f"{said} is negative: it must lie in {band}"
    if q.kind == LENGTH and not isinstance(raw, str):
        meant = _in_range(value, q)
        if meant is not None:
            return f"{said} lies outside {band}: a bare number is mm, {meant}"
    return f"{said} lies outside {band}: check the figure and its unit"


def _in_range(value: float, q: Q) -> str | None:
    """``did you mean "175 cm"?`` for a length that lies in its range in another unit than mm."""
    for word, factor in (("cm", 10.0), ("in", MM_PER_INCH)):
        if q.low < value * factor <= q.high:
            return f'did you mean "{value:g} {word}"?'
    return None


def _sides_meant(raw: object, q: Q) -> str:
    """Sentence for an angle written like 14/20 where left and right may differ; else empty."""
    pair = lone_fraction(raw) if isinstance(raw, str) and q.kind == ANGLE and q.sides else None
    if pair is None:
        return ""
    left, right = pair
    way = f"for left and right write {{ left = {left}, right = {right} }}"
    return of_a_degree(str(raw), way)


def _unit_meant(raw: object, q: Q) -> str:
    """``did you mean`` for text that is a bare number, and no millimetres; else empty."""
    if q.kind != LENGTH or not isinstance(raw, str):
        return ""
    try:
        value = float(raw)
    except ValueError:
        return ""
    meant = None if q.low <= value <= q.high else _in_range(value, q)
    return f"'{raw}' is text without a unit: {meant}" if meant else ""


def _read_value(raw: object, q: Q) -> tuple[float, int, float]:
    """Mean, number and scatter of readings."""
    if not isinstance(raw, list):
        return read_figure(raw, q), 1, 0.0
    if not q.many:
        raise mistake("a list of readings is not taken here: write one figure")
    if not 0 < len(raw) <= MOST_READINGS:
        raise mistake(f"a list of repeated readings holds 1 to {MOST_READINGS} figures")
    gather = Gather()
    values = [gather.part(index, read_figure, item, q) for index, item in enumerate(raw)]
    gather.check()
    figures = [v for v in values if v is not None]
    return fsum(figures) / len(figures), len(figures), max(figures) - min(figures)


def _read_table(raw: dict[str, object], q: Q, *, top: bool, sides: bool) -> Reading:
    """A figure written as a table."""
    gather = Gather()
    allowed = TABLE_KEYS + (SIDE_KEYS if sides else ()) + (("to",) if top else ())
    for key in raw:
        if key not in allowed and not (key in SIDE_KEYS[1:] and SIDE_KEYS[0] in raw):
            gather.add(_why_not(key, allowed), key)
    given = {key: raw[key] for key in allowed if key in raw}
    sd = (
        gather.part("give_or_take", _read_sd, given["give_or_take"], q)
        if "give_or_take" in given
        else None
    )
    how = gather.part("how", read_text, given["how"], LONGEST_HOW) if "how" in given else None
    at_top = gather.part("to", _read_to, given["to"]) if "to" in given else None
    pair = _read_sides(given, q, gather) if sides else None
    value, count, scatter = (fsum(pair) / 2.0, 2, 0.0) if pair else _read_one(raw, q, gather)
    gather.check()
    return Reading(value, sd, count, how, bool(at_top), pair, scatter)


def _read_one(raw: dict[str, object], q: Q, gather: Gather) -> tuple[float, int, float]:
    """Mean, number and scatter of readings of a table's ``value``."""
    if "value" in raw:
        return gather.part("value", _read_value, raw["value"], q) or (0.0, 1, 0.0)
    if not any(key in SIDE_KEYS or nearest(key, TABLE_KEYS) == "value" for key in raw):
        gather.add("the figure itself is missing: add value = ...")
    return 0.0, 1, 0.0


def _read_sides(given: dict[str, object], q: Q, gather: Gather) -> tuple[float, float] | None:
    """Left and right of a pair taped on both sides; ``None`` where neither was given."""
    if given.keys().isdisjoint(SIDE_KEYS):
        return None
    if "value" in given:
        gather.add("give either value, or left and right", "value")
    for side in SIDE_KEYS:
        if side not in given:
            gather.add(f"{side} is missing: give both sides, or one figure as value")
    left, right = (
        gather.part(side, read_figure, given[side], evolve(q, sides=False))
        if side in given
        else None
        for side in SIDE_KEYS
    )
    return None if left is None or right is None else (left, right)


def _read_sd(raw: object, q: Q) -> float:
    """Standard deviation from a half-width."""
    widest = q.high - q.low
    half = read_figure(raw, Q(q.kind, min(0.0, -widest), widest))
    if half <= 0.0:
        raise mistake("give_or_take is a half-width above 0: leave it out where it is not known")
    return half / COVERAGE


def _read_to(raw: object) -> bool:
    if raw != TOP:
        raise mistake(f'{describe(raw)} is not understood: write to = "top", or leave it out')
    return True


def _why_not(key: str, allowed: tuple[str, ...]) -> str:
    """Sentence for a key that a figure's table does not take."""
    if key == "to":
        return 'to = "top" is for heights and spans that end at a grip, the clamp or a peg'
    if key in SIDE_KEYS:
        return (
            "left and right are not told apart here: write one figure for both, as value = ...; "
            "they may differ for points of a bike, for knees, levers and forearms of a cockpit and "
            "for levers of a standing use"
        )
    return unknown(key, allowed)
