"""Lines of a commented file to fill in: a key, what to hold where, and an empty figure.

A line that begins with ``# `` explains. A line that begins with ``#`` and a key is to be filled
in: the ``#`` comes off.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from textwrap import wrap
from typing import Any

from attrs import Attribute, fields, resolve_types

from fitprofile.model.quantity import ANGLE, LENGTH, MASS, NUMBER, Q
from fitprofile.store.guide import CLASS_GUIDE, TABLE_GUIDE
from fitprofile.store.mistakes import listed
from fitprofile.store.structure import choices, is_pair, quantity

WIDTH = 88
"""Characters of a comment line."""

CM, MM = '" cm"', '" mm"'
_BLANKS: Mapping[str, str] = {ANGLE: '" deg"', MASS: '" kg"', NUMBER: '""'}

SMALL = 300.0
"""mm; what is never longer is offered in mm, the rest in cm."""


def joined(lines: Iterable[str]) -> str:
    """Text of a whole file."""
    return "\n".join(lines) + "\n"


def comment(text: str) -> list[str]:
    """A sentence as lines that explain."""
    return [f"# {line}" for line in wrap(text, WIDTH - 2)]


def heading(name: str, header: str = "", *, told: bool = True) -> list[str]:
    """The line that begins a table, what the table is for before it."""
    return ["", *(comment(TABLE_GUIDE[name]) if told else ()), header or f"[{name}]"]


def class_lines(
    cls: type,
    *,
    active: Iterable[str] = (),
    without: Iterable[str] = (),
    marks: Mapping[str, str] | None = None,
    values: Mapping[str, str] | None = None,
    told: bool = True,
) -> list[str]:
    """One entry for each field of a class that stands in the class's own table.

    ``values`` holds what stands behind the equals sign in place of an empty figure.
    """
    guide = CLASS_GUIDE[cls]
    lines: list[str] = []
    for field in fields(resolve_types(cls)):
        name = field.name
        if name not in guide or name in without:
            continue
        words = choices(field.type)
        text = guide[name] if told else ""
        if words and told:
            some = "Any of" if is_pair(field.type) else "It is"
            text += f" {some} {listed([json.dumps(word) for word in words])}."
        mark = (marks or {}).get(name, "")
        shown = (values or {}).get(name) or _empty(field)
        lines += entry(name, shown, text, mark, active=name in active)
    return lines


def entry(
    key: str, value: str, guide: str = "", mark: str = "", *, active: bool = False
) -> list[str]:
    """A key with its explanation before it; commented out unless it holds good as it is."""
    line = f"{'' if active else '#'}{key} = {value}"
    return [*comment(guide), f"{line}  # {mark}" if mark else line]


def _empty(field: Attribute[Any]) -> str:
    """What stands behind the equals sign until it is filled in."""
    q = quantity(field.type)
    if q is not None and is_pair(field.type):
        return f"[{blank(q, pair=True)}, {blank(q, pair=True)}]"
    if q is not None:
        return blank(q)
    words = choices(field.type)
    if words and is_pair(field.type):
        return json.dumps(words[-2:])
    if words:
        return json.dumps(field.default if field.default in words else words[0])
    return "false" if field.type is bool else '""'


def blank(q: Q, *, pair: bool = False) -> str:
    """An empty figure with its unit; bands of change are small and offered in mm."""
    if q.kind == LENGTH:
        return MM if q.high <= SMALL or (pair and q.low < 0.0) else CM
    return _BLANKS[q.kind]
