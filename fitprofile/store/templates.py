"""Commented files to fill in: every key of the model with what to hold where.

A line that begins with ``# `` explains. A line that begins with ``#`` and a key is a figure
that is still to be measured: the ``#`` comes off and the figure goes between the quotes. A
line that was forgotten between the two is no figure and is reported as such.
"""

from __future__ import annotations

import json
from collections.abc import Container, Iterable, Mapping
from textwrap import wrap
from typing import Any

import tomli_w
from attrs import Attribute, fields, resolve_types

from fitprofile.model.bike import (
    MID_POINTS,
    PAIR_POINTS,
    Allows,
    Bike,
    Handlebar,
    Hoses,
    Lever,
    Obstacle,
    Stand,
    Steering,
)
from fitprofile.model.quantity import ANGLE, LENGTH, MASS, Q
from fitprofile.model.rider import BODY, HELP, REQUIRED_BODY, SEXES, Cockpit, Rider, RiderLimits
from fitprofile.model.shop import SPREADS, TOLERANCES
from fitprofile.store.bikes import OBSTACLE, POINTS
from fitprofile.store.folders import SCHEMA_FOLDER, SHARED
from fitprofile.store.guide import BODY_GUIDE, CLASS_GUIDE, POINT_GUIDE, TABLE_GUIDE
from fitprofile.store.mistakes import listed
from fitprofile.store.riders import ALTERNATIVES, BODY_TABLE, COCKPIT, SEX
from fitprofile.store.schema_version import CURRENT
from fitprofile.store.shops import spread_range
from fitprofile.store.structure import choices, is_pair, quantity

WIDTH = 88
"""Characters of a comment line."""

_CM, _MM = '" cm"', '" mm"'
_BLANKS: Mapping[str, str] = {ANGLE: '" deg"', MASS: '" kg"'}

SMALL = 300.0
"""mm; what is never longer is offered in mm, the rest in cm."""

NEEDED = "[needed]"
QUICK = "[quick]"

QUICK_SET = frozenset(
    {
        "widths.grip_end",
        "heights.seat",
        "heights.peg",
        "heights.grip_end",
        "spans.seat-peg",
        "spans.seat-grip_end",
        "spans.peg-grip_end",
    }
)
"""Enough for a first answer, as at a seller's: no axles, nothing taken apart."""

SPANS = (
    "seat-peg",
    "seat-grip_end",
    "peg-grip_end",
    "seat-clamp",
    "clamp-grip_end",
    "peg-rear_axle",
    "rear_axle-front_axle",
)
"""Spans that a template offers; any two points may be taped."""

_HOW_TO = """\
Lines that begin with "# " explain. Lines that begin with "#" and a key are to be
filled in: take the # off and put the figure between the quotes; leave out what was
not measured. Lengths: "82 cm", "820 mm", "32 5/16 in", "5 ft 7 in", or a bare number
of mm. Angles: degrees. Several readings of one thing: ["51 cm", "51.6 cm"]. How far
to trust a figure (holds 19 times in 20):
{ value = "51 cm", give_or_take = "8 mm", how = "tape" }
"""


def rider_template(name: str) -> str:
    """``profiles/KEY.toml`` to fill in; parses as it is."""
    guide = CLASS_GUIDE[Rider]
    lines = [
        *_head("rider", name, f"A rider. What is marked {NEEDED} has to be there."),
        *_class_lines(Rider, active={"tape"}, without={"name", SEX}),
        *_table(BODY_TABLE),
        *_entry(SEX, f'"{SEXES[0]}"', guide[SEX]),
    ]
    for key, q in BODY.items():
        lines += _entry(key, _blank(q), BODY_GUIDE[key], NEEDED if key in REQUIRED_BODY else "")
    lines += [
        *_table(COCKPIT, f"[{COCKPIT}.road]"),
        *_class_lines(Cockpit, marks=_COCKPIT_MARKS),
        *_table("limits"),
        *_class_lines(RiderLimits),
        *_table("tolerances", "#[tolerances]"),
    ]
    for key in TOLERANCES:
        lines += _entry(key, _blank(spread_range(key)))
    return _text(lines)


def bike_template(name: str) -> str:
    """``bikes/KEY.toml`` to fill in; parses as it is."""
    first = f"A bike. What is marked {QUICK} is enough for a first answer; more makes it surer."
    lines = [
        *_head("bike", name, first),
        *_class_lines(Bike, active={"state", "tape"}, without={"name"}),
        *_points("widths", PAIR_POINTS, told=PAIR_POINTS),
        *_points("heights", POINTS, told=MID_POINTS),
        *_points("ahead", [point for point in POINTS if point != "rear_axle"]),
        *_table("spans"),
    ]
    for span in SPANS:
        lines += _entry(f'"{span}"', _CM, mark=QUICK if f"spans.{span}" in QUICK_SET else "")
    for table, header, cls, told, active in _BIKE_TABLES:
        lines += [*_table(table, header, told=told), *_class_lines(cls, active=active, told=told)]
    return _text(lines)


def tolerances_template() -> str:
    """``shared/tolerances.toml``: the figures to start from, each as a comment."""
    lines = [
        f"#:schema {SCHEMA_FOLDER}/tolerances.json",
        *_comment(
            "The shop's own figures. Every line is a figure in use as it is: take the # off "
            "and change it where yours differs. Bare numbers are mm, degrees or kg."
        ),
        f"schema = {CURRENT}",
        *_table("shop_tolerances", "[tolerances]"),
    ]
    lines += [f"#{name} = {value:g}" for name, value in TOLERANCES.items()]
    lines += _table("spreads", f"[spreads.{HELP[0]}]")
    lines += [f"#{name} = {alone:g}" for name, (alone, _) in SPREADS.items()]
    lines += ["", f"[spreads.{HELP[1]}]"]
    lines += [f"#{name} = {helped:g}" for name, (_, helped) in SPREADS.items()]
    return _text(lines)


_COCKPIT_MARKS: Mapping[str, str] = {
    "bar_width": NEEDED,
    "knee_angle": NEEDED,
    **{one: f"{NEEDED} this or {other}" for one, other in ALTERNATIVES},
    **{other: f"in place of {one}" for one, other in ALTERNATIVES},
}

_BIKE_TABLES: tuple[tuple[str, str, type, bool, frozenset[str]], ...] = (
    ("steering", "[steering]", Steering, True, frozenset()),
    ("handlebar", "[handlebar]", Handlebar, True, frozenset({"kind"})),
    ("levers", "[levers.brake]", Lever, True, frozenset()),
    ("levers", "[levers.clutch]", Lever, False, frozenset()),
    ("stand", "#[stand]", Stand, True, frozenset()),
    ("wheels", "#[wheels]", Stand, False, frozenset()),
    ("hoses", "#[hoses]", Hoses, True, frozenset()),
    (OBSTACLE, f"#[[{OBSTACLE}]]", Obstacle, True, frozenset()),
    ("allows", "[allows]", Allows, True, frozenset()),
)
"""Key in the guide, header, class, whether each key is explained, keys with a default."""


def _text(lines: Iterable[str]) -> str:
    return "\n".join(lines) + "\n"


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in wrap(text, WIDTH - 2)]


def _head(kind: str, name: str, first: str) -> list[str]:
    """First lines of a file: the schema for editors, how to fill it in, its name."""
    return [
        f"#:schema ../{SHARED}/{SCHEMA_FOLDER}/{kind}.json",
        *_comment(first),
        *(f"# {line}" for line in _HOW_TO.splitlines()),
        f"schema = {CURRENT}",
        tomli_w.dumps({"name": name}).rstrip("\n"),
    ]


def _table(name: str, header: str = "", *, told: bool = True) -> list[str]:
    return ["", *(_comment(TABLE_GUIDE[name]) if told else ()), header or f"[{name}]"]


def _points(table: str, points: Iterable[str], *, told: Container[str] = ()) -> list[str]:
    """One entry for each point of ``[widths]``, ``[heights]`` or ``[ahead]``.

    Those in ``told`` are explained; each point is where it comes first in the file.
    """
    lines = _table(table)
    for point in points:
        guide = f"{POINT_GUIDE[point].capitalize()}." if point in told else ""
        mark = QUICK if f"{table}.{point}" in QUICK_SET else ""
        lines += _entry(point, _CM, guide, mark)
    return lines


def _class_lines(
    cls: type,
    *,
    active: Iterable[str] = (),
    without: Iterable[str] = (),
    marks: Mapping[str, str] | None = None,
    told: bool = True,
) -> list[str]:
    """One entry for each field of a class that stands in the class's own table."""
    guide = CLASS_GUIDE[cls]
    lines: list[str] = []
    for field in fields(resolve_types(cls)):
        name = field.name
        if name not in guide or name in without:
            continue
        words = choices(field.type)
        text = guide[name] if told else ""
        if words and told:
            text += f" It is {listed([json.dumps(word) for word in words])}."
        mark = (marks or {}).get(name, "")
        lines += _entry(name, _value(field), text, mark, active=name in active)
    return lines


def _entry(
    key: str, value: str, guide: str = "", mark: str = "", *, active: bool = False
) -> list[str]:
    """A key with its explanation before it; commented out unless it holds good as it is."""
    line = f"{'' if active else '#'}{key} = {value}"
    return [*_comment(guide), f"{line}  # {mark}" if mark else line]


def _value(field: Attribute[Any]) -> str:
    """What stands behind the equals sign until it is filled in."""
    q = quantity(field.type)
    if q is not None and is_pair(field.type):
        return f"[{_blank(q, pair=True)}, {_blank(q, pair=True)}]"
    if q is not None:
        return _blank(q)
    words = choices(field.type)
    if words:
        return json.dumps(field.default if field.default in words else words[0])
    return "false" if field.type is bool else '""'


def _blank(q: Q, *, pair: bool = False) -> str:
    """An empty figure with its unit; bands of change are small and offered in mm."""
    if q.kind == LENGTH:
        return _MM if q.high <= SMALL or (pair and q.low < 0.0) else _CM
    return _BLANKS[q.kind]
