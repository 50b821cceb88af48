"""Lengths, masses and angles: from what a person writes, and back to what a person reads.

Inside the program lengths are millimetres, masses kilograms and angles degrees, all plain
floats. A number in a file is already in that unit; text carries its own unit.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from math import gcd, isfinite

LENGTH = "length"
ANGLE = "angle"
MASS = "mass"
NUMBER = "number"

MM_PER_INCH = 25.4
"""mm, exact (NIST Special Publication 811, 2008, appendix B.8: 1 in = 2.54 E-02 m)."""

KG_PER_POUND = 0.45359237
"""kg, exact (NIST Special Publication 811, 2008, appendix B.8: avoirdupois pound)."""

POUNDS_PER_STONE = 14
INCHES_PER_FOOT = 12

INCH_STEPS = 16
"""Sixteenths of an inch: what a workshop's tape is divided in."""

LONGEST_TEXT = 40
"""Characters; no honest figure with its unit is longer."""

_LENGTHS: Mapping[str, float] = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), 1.0),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), 10.0),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1000.0),
    **dict.fromkeys(("in", "inch", "inches", '"', "''"), MM_PER_INCH),
    **dict.fromkeys(("ft", "foot", "feet", "'"), INCHES_PER_FOOT * MM_PER_INCH),
}
_MASSES: Mapping[str, float] = {
    **dict.fromkeys(("kg", "kilogram", "kilograms", "kilo", "kilos"), 1.0),
    **dict.fromkeys(("g", "gram", "grams"), 0.001),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), KG_PER_POUND),
    **dict.fromkeys(("st", "stone", "stones"), POUNDS_PER_STONE * KG_PER_POUND),
}
_ANGLES: Mapping[str, float] = dict.fromkeys(("deg", "degree", "degrees", "°"), 1.0)

FACTORS: Mapping[str, Mapping[str, float]] = {LENGTH: _LENGTHS, MASS: _MASSES, ANGLE: _ANGLES}
"""Unit words of each kind with their size in mm, kg or degrees."""

BASE: Mapping[str, str] = {LENGTH: "mm", MASS: "kg", ANGLE: "deg", NUMBER: ""}
"""The unit of a bare number of each kind."""

_EXAMPLES: Mapping[str, str] = {
    LENGTH: 'a number of mm or text with a unit, like "82 cm" or "32 5/16 in"',
    MASS: 'a number of kg or text with a unit, like "82 kg" or "180 lb"',
    ANGLE: "a number of degrees, like 14",
    NUMBER: "a number",
}
_COMPOUNDS: Mapping[float, tuple[str, float, float]] = {
    _LENGTHS["ft"]: ("feet and inches", _LENGTHS["in"], INCHES_PER_FOOT),
    _MASSES["st"]: ("stones and pounds", _MASSES["lb"], POUNDS_PER_STONE),
}
_FRACTIONS: Mapping[str, str] = dict(
    zip(
        "½¼¾⅛⅜⅝⅞⅓⅔",
        ("1/2", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8", "1/3", "2/3"),
        strict=True,
    )
)
_ALIKE: Mapping[str, str] = {
    "/": "\N{FRACTION SLASH}\N{DIVISION SLASH}",
    "-": "\N{MINUS SIGN}\N{EN DASH}\N{NON-BREAKING HYPHEN}",
    '"': "\N{DOUBLE PRIME}\N{RIGHT DOUBLE QUOTATION MARK}",
    "'": "\N{PRIME}\N{RIGHT SINGLE QUOTATION MARK}",
    " ": "\N{NO-BREAK SPACE}\N{THIN SPACE}\N{NARROW NO-BREAK SPACE}",
    "°": "\N{MASCULINE ORDINAL INDICATOR}",
}
"""Signs that mean the same as a plain one, as keyboards and word processors write them."""

_PLAIN = str.maketrans(
    {sign: f" {value}" for sign, value in _FRACTIONS.items()}
    | {sign: plain for plain, signs in _ALIKE.items() for sign in signs}
)

_AMOUNT = r"(?:(?:([0-9]+)[ -]+)?([0-9]+) ?/ ?([0-9]+)|([0-9]+(?:[.,][0-9]+)?|[.,][0-9]+))"
_WORD = r"([a-z]+|\"|''|'|°)\.?"
_FIGURE = re.compile(rf"([+-]?) *{_AMOUNT} *{_WORD}(?: *{_AMOUNT} *{_WORD})?")
_BARE = re.compile(rf"[+-]? *{_AMOUNT}")
_LONE_FRACTION = re.compile(rf"[+-]?\s*([0-9]+)\s*[/{_ALIKE['/']}]\s*([0-9]+)\s*\D*")
_HUGE = 10**12
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


class UnitError(ValueError):
    """A figure that cannot be read; its text is a sentence for the person who wrote it."""


def read(value: object, kind: str) -> float:
    """The figure that a person wrote.

    Parameters
    ----------
    value : object
        Number in the unit of the kind, or text with a unit; anything else is refused.
    kind : str
        `LENGTH`, `MASS`, `ANGLE` or `NUMBER`.

    Returns
    -------
    float
        mm, kg, degrees or the plain number; always finite.

    Raises
    ------
    UnitError
        Where it is no figure of this kind, with the way to mend it.

    Examples
    --------
    >>> read("32 5/16 in", LENGTH)
    820.7375
    >>> read("5 ft 7 in", LENGTH)
    1701.8
    >>> read(860, LENGTH)
    860.0
    """
    if isinstance(value, str):
        if kind == NUMBER:
            raise UnitError(f"{_quote(value)} is text where {_EXAMPLES[kind]} is wanted")
        if kind == ANGLE and lone_fraction(value) is not None:
            raise UnitError(of_a_degree(value, "write one figure, as in 6.5"))
        return _read_text(value, kind)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise UnitError(f"{describe(value)} is not a figure: write {_EXAMPLES[kind]}")
    return _finite(value)


def lone_fraction(text: str) -> tuple[str, str] | None:
    """Upper and lower figure of text that is a fraction with no whole figure before it.

    Nobody reads an angle to 14/20 of a degree: whoever writes that means left and right, so of
    angles `read` refuses it. A sign such as ½ is no such text.

    Examples
    --------
    >>> lone_fraction("14/20 deg")
    ('14', '20')
    >>> lone_fraction("6 1/2 deg") is None
    True
    """
    found = _LONE_FRACTION.fullmatch(text.strip())
    return None if found is None else (found[1], found[2])


def of_a_degree(text: str, remedy: str) -> str:
    """The sentence for an angle written as a `lone_fraction`, with the way to mend it."""
    return f"'{'/'.join(lone_fraction(text) or ())}' is a fraction of a degree: {remedy}"


def text_pattern(kind: str) -> str:
    """Regular expression, in the dialect of JSON Schema, that text of a kind matches.

    It lets through all that `read` takes, and little else: a fraction of 1 or more, say,
    only `read` refuses.
    """
    alike = {plain: f"[{signs}{plain}]" for plain, signs in _ALIKE.items()}
    dash, slash, gap = alike["-"], alike["/"], f"{alike[' ']}*"
    over = rf"[0-9]+ ?{slash} ?0*[1-9][0-9]*"
    whole = rf"(?:[0-9]+(?:{alike[' ']}|{dash})+){'' if kind == ANGLE else '?'}"
    amount = (
        rf"(?:{whole}{over}|[0-9]*{gap}[{''.join(_FRACTIONS)}]"
        r"|[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
    )
    single = f"{amount}{gap}{_words(FACTORS[kind])}"
    pairs = [
        f"{amount}{gap}{_words(w for w, f in FACTORS[kind].items() if f == big)}{gap}{amount}"
        f"{gap}{_words(w for w, f in FACTORS[kind].items() if f == small)}"
        for big, (_, small, _) in _COMPOUNDS.items()
        if big in FACTORS[kind].values()
    ]
    return rf"^\s*(?:\+|{dash})?{gap}(?:{'|'.join([single, *pairs])})\s*$"


def _words(words: Iterable[str]) -> str:
    """Expression for any of some unit words in any case, with or without a full stop."""
    alike = {plain: f"[{signs}{plain}]" for plain, signs in _ALIKE.items()}
    spelt = [
        "".join(alike.get(c, f"[{c}{c.upper()}]" if c.isalpha() else c) for c in word)
        for word in words
    ]
    return rf"(?:{'|'.join(sorted(spelt, key=len, reverse=True))})\.?"


def describe(value: object) -> str:
    """What a value of a TOML file is, in a few words, for use in a sentence."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f"the text {_quote(value)}"
    if isinstance(value, float) or (isinstance(value, int) and abs(value) < _HUGE):
        return f"the number {value:.12g}"
    if isinstance(value, int):
        return "a huge number"
    if isinstance(value, dict):
        return "a table"
    return "a list" if isinstance(value, list) else "a date or time"


def _finite(value: float) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = float("inf")
    if not isfinite(number):
        raise UnitError("not a number that can be measured: write the figure itself")
    return number


def _read_text(text: str, kind: str) -> float:
    """Millimetres, kilograms or degrees from text with a unit."""
    plain = text.strip().lower()
    if not plain.isascii():
        plain = plain.translate(_PLAIN).strip().replace("  ", " ")
    match = _FIGURE.fullmatch(plain) if len(text) <= LONGEST_TEXT else None
    if match is None:
        raise UnitError(_why_unread(text, plain, kind))
    sign, whole, top, bottom, decimal, word, *rest = match.groups()
    factor = _factor(word, kind, text)
    thousands = kind == LENGTH and factor == 1.0
    size = _amount(whole, top, bottom, decimal, thousands=thousands)
    if rest[-1] is not None:
        size, factor = _compound(size, factor, rest, kind, text)
    return _finite(-size * factor if sign == "-" else size * factor)


def _compound(
    first: float, factor: float, rest: list[str | None], kind: str, text: str
) -> tuple[float, float]:
    """Feet and inches as inches, stones and pounds as pounds, with the size of that unit."""
    whole, top, bottom, decimal, word = rest
    small = _factor(word or "", kind, text)
    names, expected, most = _COMPOUNDS.get(factor, ("", 0.0, 0.0))
    if small != expected:
        raise UnitError(f"{_quote(text)} mixes two units: write one, or feet and inches")
    second = _amount(whole, top, bottom, decimal)
    if first % 1.0 or not second < most:
        raise UnitError(
            f"{_quote(text)} is not how {names} go: the first figure is whole "
            f"and the second below {most:g}"
        )
    return first * most + second, small


def _amount(
    whole: str | None,
    top: str | None,
    bottom: str | None,
    decimal: str | None,
    *,
    thousands: bool = False,
) -> float:
    """A decimal with point or comma, a fraction or a mixed fraction.

    With ``thousands`` a comma before three figures is refused: it may part thousands.
    """
    if decimal is not None:
        if thousands and _THOUSANDS.fullmatch(decimal):
            joined, pointed = decimal.replace(",", ""), decimal.replace(",", ".")
            raise UnitError(
                f"{decimal} can be read as {joined} or as {pointed}: write one of the two"
            )
        return float(decimal.replace(",", "."))
    upper, lower = int(top or "0"), int(bottom or "0")
    if lower == 0:
        raise UnitError(f"{upper}/0 is no fraction: the lower figure cannot be 0")
    if whole is None:
        return upper / lower
    if upper >= lower:
        raise UnitError(f"{upper}/{lower} after a whole number must be less than 1")
    return (int(whole) * lower + upper) / lower


def _factor(word: str, kind: str, text: str) -> float:
    """Size of a unit word in the unit of the kind."""
    factor = FACTORS[kind].get(word)
    if factor is not None:
        return factor
    for other, words in FACTORS.items():
        if word in words:
            raise UnitError(f"{_quote(text)} is {_article(other)}: write {_EXAMPLES[kind]}")
    from difflib import get_close_matches  # 4 ms that only a mistake has to pay

    near = get_close_matches(word, [w for w in FACTORS[kind] if len(w) > 1], n=1)
    hint = f"did you mean {near[0]}?" if near else f"write {_EXAMPLES[kind]}"
    raise UnitError(f"the unit in {_quote(text)} is not known: {hint}")


def _article(kind: str) -> str:
    return f"an {kind}" if kind == ANGLE else f"a {kind}"


def _why_unread(text: str, plain: str, kind: str) -> str:
    """Sentence for text that is no figure with a unit."""
    if len(text) > LONGEST_TEXT:
        return f"{_quote(text)} is too long for a figure: write {_EXAMPLES[kind]}"
    if not plain:
        return f"the text is empty: write {_EXAMPLES[kind]}"
    if _BARE.fullmatch(plain):
        unit = BASE[kind]
        return (
            f"{_quote(text)} is text without a unit: take the quotes off "
            f'(a bare number is {unit}) or add a unit, as in "{plain} {unit}"'
        )
    if plain.strip("+-. ") in FACTORS[kind]:
        return f"{_quote(text)} holds a unit and no figure: fill it in"
    return f"{_quote(text)} cannot be read: write {_EXAMPLES[kind]}"


def _quote(text: str) -> str:
    """Somebody's text, printable and short enough for one line."""
    shown = "".join(c if c.isprintable() else "?" for c in text[: LONGEST_TEXT + 1])
    return f"'{shown[:LONGEST_TEXT]}...'" if len(text) > LONGEST_TEXT else f"'{shown}'"


NOTHING = "\N{EM DASH}"
"""Printed for a figure that does not exist (nan)."""


def format_mm(mm: float, *, signed: bool = False) -> str:
    """Whole millimetres: ``"820 mm"``; ``signed`` puts a plus before a positive figure."""
    return f"{_whole(mm, signed=signed)} mm" if isfinite(mm) else NOTHING


def format_degrees(degrees: float, *, signed: bool = False) -> str:
    """Whole degrees: ``"14°"``; ``signed`` puts a plus before a positive figure."""
    return f"{_whole(degrees, signed=signed)}°" if isfinite(degrees) else NOTHING


def format_inches(mm: float, *, signed: bool = False) -> str:
    """Inches and the nearest sixteenth, reduced, from millimetres.

    Examples
    --------
    >>> format_inches(820.7375)
    '32 5/16″'
    >>> format_inches(-12.7)
    '-1/2″'
    """
    if not isfinite(mm):
        return NOTHING
    steps = whole(mm / MM_PER_INCH * INCH_STEPS)
    full, part = divmod(abs(steps), INCH_STEPS)
    shared = gcd(part, INCH_STEPS)
    fraction = f"{part // shared}/{INCH_STEPS // shared}" if part else ""
    size = " ".join(p for p in (str(full) if full or not part else "", fraction) if p)
    return f"{_sign(steps, signed=signed)}{size}″"


NOISE = 1e-6
"""Of a half, mm or degrees: what was taped to the half comes back from arithmetic just off it."""


def whole(value: float) -> int:
    """The whole number that a figure is printed as: the nearest, a half away from zero.

    Examples
    --------
    >>> [whole(value) for value in (61.4, 61.5, 62.5, -0.5)]
    [61, 62, 63, -1]
    """
    towards_zero = int(value)
    if abs(value - towards_zero) < 0.5 - NOISE:
        return towards_zero
    return towards_zero + (1 if value > 0.0 else -1)


def _whole(value: float, *, signed: bool) -> str:
    number = whole(value)
    return f"{_sign(number, signed=signed)}{abs(number)}"


def _sign(number: int, *, signed: bool) -> str:
    if number < 0:
        return "-"
    return "+" if signed and number > 0 else ""
