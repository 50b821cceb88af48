"""JSON Schemas (draft 2020-12) of the files, from the same annotations that read them.

Editors complete and check with them. A schema cannot turn text into millimetres, so it holds
the form of such text and the range of bare numbers; the rest is for ``fitprofile check``.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from attrs import NOTHING, Attribute, fields, resolve_types

from fitprofile.model.bike import (
    PAIR_POINTS,
    ROUND_POINTS,
    Bike,
    Hose,
    Hoses,
    Obstacle,
)
from fitprofile.model.parts import PARTS, Catalogue
from fitprofile.model.quantity import ANGLE, LENGTH, MASS, Across, Height, Q, Span, Spare, Tape
from fitprofile.model.rider import BODY, HELP, REQUIRED_BODY, SEXES, Cockpit, Rider, Standing
from fitprofile.model.shop import SPREADS, TOLERANCES
from fitprofile.store.bikes import HOLDING_POINT, OBSTACLE, POINTS
from fitprofile.store.figures import LONGEST_HOW, MOST_READINGS, TOP
from fitprofile.store.guide import (
    BODY_GUIDE,
    CLASS_GUIDE,
    CURRENCY_GUIDE,
    PLACE_GUIDE,
    POINT_GUIDE,
    TABLE_GUIDE,
)
from fitprofile.store.parts import LONGEST_CURRENCY
from fitprofile.store.riders import ALTERNATIVES, BODY_TABLE, COCKPIT, MEASURED_ON, SEX, STANDING
from fitprofile.store.schema_version import CURRENT
from fitprofile.store.shops import PLACE, spread_range
from fitprofile.store.structure import choices, is_pair, nested_class, quantity, range_of
from fitprofile.store.words import FILE_KEY, LONGEST_NAME, LONGEST_NOTES
from fitprofile.units import BASE, text_pattern

_DIALECT = "https://json-schema.org/draft/2020-12/schema"

Schema = dict[str, Any]
"""A part of a JSON Schema."""


def schema_files() -> Mapping[str, str]:
    """Texts of the schemas by file kind: rider, bike, tolerances, parts."""
    return {
        name: json.dumps(schema, ensure_ascii=False) + "\n"
        for name, schema in (
            ("rider", rider_schema()),
            ("bike", bike_schema()),
            ("tolerances", tolerances_schema()),
            ("parts", parts_schema()),
        )
    }


def rider_schema() -> Schema:
    """Schema of ``profiles/KEY.toml``."""
    body = {name: figure(q) | _told(BODY_GUIDE[name]) for name, q in BODY.items()}
    body[SEX] = {"enum": list(SEXES)} | _told(CLASS_GUIDE[Rider][SEX])
    cockpit = _class(Cockpit, {MEASURED_ON: _bike_key()})
    cockpit["allOf"] = [
        {"oneOf": [{"required": [one]}, {"required": [other]}]} for one, other in ALTERNATIVES
    ]
    standing = _class(Standing, {MEASURED_ON: _bike_key()})
    uses = {f"^{FILE_KEY.pattern}$": cockpit}
    own = {
        BODY_TABLE: _table(BODY_TABLE, body, REQUIRED_BODY),
        COCKPIT: _named(COCKPIT, uses),
        STANDING: _named(STANDING, {f"^{FILE_KEY.pattern}$": standing}),
        "tolerances": _figures("tolerances", TOLERANCES),
    }
    rider = _class(Rider, own, names={"cockpits": COCKPIT}, without={"key", "file", SEX})
    return _document("A rider, as fitprofile reads it", rider)


def bike_schema() -> Schema:
    """Schema of ``bikes/KEY.toml``."""
    tapes = {
        table: _table(table, {name: _point(name, table) for name in points})
        for table, points in (("widths", PAIR_POINTS), ("heights", POINTS), ("ahead", POINTS))
    }
    span = f"^(?:{'|'.join(POINTS)})-(?:{'|'.join(POINTS)})$"
    obstacles = {"type": "array", "items": _class(Obstacle, {})} | _told(TABLE_GUIDE[OBSTACLE])
    own = {
        **tapes,
        "spans": _named("spans", {span: figure(range_of(Span), top=True)}),
        OBSTACLE: obstacles,
        "hoses": _class(Hoses, {line: _hose() for line in Hoses.__annotations__}),
        "mileage": {"anyOf": [_text(), {"type": "integer", "minimum": 0}]},
    }
    bike = _class(Bike, own, names={"obstacles": OBSTACLE}, without={"key", "file"})
    return _document("A bike, as fitprofile reads it", bike)


def tolerances_schema() -> Schema:
    """Schema of ``shared/tolerances.toml``."""
    columns = {who: _figures("spreads", SPREADS) for who in HELP}
    sections = {
        PLACE: _text() | _told(PLACE_GUIDE),
        "tolerances": _figures("shop_tolerances", TOLERANCES),
        "spreads": _table("spreads", columns),
    }
    shop = _object(sections)
    return _document("The shop's figures, as fitprofile reads them", shop, required=False)


def parts_schema() -> Schema:
    """Schema of ``shared/parts.toml``."""
    fits = {"type": "array", "items": _bike_key(), "minItems": 1}
    lists = {
        kind: {"type": "array", "items": _class(cls, {"fits": fits})} | _told(TABLE_GUIDE[kind])
        for kind, cls in PARTS.items()
    }
    own = {**lists, "currency": _text(LONGEST_CURRENCY) | _told(CURRENCY_GUIDE)}
    names = {f"{kind}s": kind for kind in PARTS}
    catalogue = _class(Catalogue, own, names=names, without={"file", "left_out", "remark"})
    return _document("What the shop can fit, as fitprofile reads it", catalogue)


def _hose() -> Schema:
    """One line from the bar: its spare length, or a table with its holding point."""
    held = _class(Hose, {})
    held["dependentRequired"] = {name: list(HOLDING_POINT) for name in HOLDING_POINT}
    return {"anyOf": [*figure(range_of(Spare))["anyOf"], held]}


def figure(q: Q, *, top: bool = False, sides: bool = False) -> Schema:
    """One figure: number, text with a unit, list of readings, or table."""
    sides = sides or q.sides
    plain = _plain(q)
    many = {"type": "array", "items": plain, "minItems": 1, "maxItems": MOST_READINGS}
    value: Schema = {"anyOf": [*plain["anyOf"], many]} if q.many else plain
    keys: Schema = {
        "value": value,
        "give_or_take": _plain(Q(q.kind, 0.0, q.high - q.low), above=True),
        "how": _text(LONGEST_HOW),
    }
    needed: list[Schema] = [{"required": ["value"]}]
    if top:
        keys["to"] = {"const": TOP}
    if sides:
        keys |= {"left": plain, "right": plain}
        needed.append({"required": ["left", "right"]})
        needed[0]["not"] = {"anyOf": [{"required": ["left"]}, {"required": ["right"]}]}
        needed[1]["not"] = {"required": ["value"]}
    table = {"type": "object", "properties": keys, "additionalProperties": False, "oneOf": needed}
    return {"anyOf": [*value["anyOf"], table]}


def _plain(q: Q, *, above: bool = False) -> Schema:
    """A bare number in its range, or text with a unit where the kind has one."""
    low = "exclusiveMinimum" if above else "minimum"
    number = {"type": "number", low: q.low, "maximum": q.high}
    if not BASE[q.kind]:
        return {"anyOf": [number]}
    return {"anyOf": [number, {"$ref": f"#/$defs/{q.kind}"}]}


def _point(name: str, table: str) -> Schema:
    """A tape to a point."""
    q = range_of({"widths": Across, "heights": Height, "ahead": Tape}[table])
    across = table == "widths"
    top = table == "heights" and name in ROUND_POINTS
    made = figure(q, top=top, sides=not across and name in PAIR_POINTS)
    return made | _told(f"{POINT_GUIDE[name].capitalize()}.")


def _class(
    cls: type,
    own: Mapping[str, Schema],
    *,
    names: Mapping[str, str] | None = None,
    without: Iterable[str] = (),
) -> Schema:
    """A class of the model: its fields, with ``own`` schemas in place of those from types."""
    guide, skipped = CLASS_GUIDE.get(cls, {}), set(without)
    properties: Schema = {}
    needed: list[str] = []
    for field in fields(resolve_types(cls)):
        if field.name in skipped:
            continue
        key = (names or {}).get(field.name, field.name)
        text = guide.get(field.name) or TABLE_GUIDE.get(key, "")
        properties[key] = (own[key] if key in own else _field(field)) | _told(text)
        if field.default is NOTHING:
            needed.append(key)
    return _object(properties, needed)


def _field(field: Attribute[Any]) -> Schema:
    """Schema of a field from its annotation."""
    q = quantity(field.type)
    if q is not None and is_pair(field.type):
        one = figure(q) if q.many else _plain(q)
        return {"type": "array", "items": one, "minItems": 2, "maxItems": 2}
    if q is not None:
        return figure(q)
    words = choices(field.type)
    if words:
        word = {"enum": list(words)}
        return {"type": "array", "items": word} if is_pair(field.type) else word
    nested = nested_class(field.type)
    if nested is not None:
        return _class(nested, {})
    if field.type is bool:
        return {"type": "boolean"}
    return _text(LONGEST_NOTES if field.name == "notes" else LONGEST_NAME)


def _object(properties: Schema, needed: Iterable[str] = ()) -> Schema:
    """A table with these keys and no others."""
    made: Schema = {"type": "object", "properties": properties, "additionalProperties": False}
    required = list(needed)
    return made | ({"required": required} if required else {})


def _table(name: str, properties: Schema, needed: Iterable[str] = ()) -> Schema:
    return _object(properties, needed) | _told(TABLE_GUIDE[name])


def _named(name: str, patterns: Schema) -> Schema:
    """A table whose keys follow a pattern."""
    made = {"type": "object", "patternProperties": patterns, "additionalProperties": False}
    return made | _told(TABLE_GUIDE[name])


def _figures(guide: str, names: Iterable[str]) -> Schema:
    """A table of half-widths or spreads by name."""
    return _table(guide, {name: _plain(spread_range(name)) for name in names})


def _document(title: str, schema: Schema, *, required: bool = True) -> Schema:
    """The schema of a whole file."""
    version = {"type": "integer", "const": CURRENT} | _told(TABLE_GUIDE["schema"])
    needed = (["schema"] if required else []) + schema.get("required", [])
    texts = {
        kind: {"type": "string", "pattern": text_pattern(kind)} for kind in (LENGTH, ANGLE, MASS)
    }
    top = {
        "$schema": _DIALECT,
        "title": title,
        **schema,
        "properties": {"schema": version, **schema["properties"]},
        "$defs": texts,
    }
    return top | ({"required": needed} if needed else {})


def _text(longest: int = LONGEST_NAME) -> Schema:
    return {"type": "string", "pattern": r"\S", "maxLength": longest}


def _bike_key() -> Schema:
    """File name of a bike, with or without its ending."""
    return {"type": "string", "pattern": rf"^{FILE_KEY.pattern}(?:\.toml)?$"}


def _told(text: str) -> Schema:
    return {"description": text} if text else {}
