"""TOML data to the model: strict hooks picked by the model's own annotations.

Each class of the model is read by one hook that tries every field and keeps every mistake
with its path. cattrs picks the hook of a field from its annotation; its generated class
readers are not used, because compiling them takes longer (15 ms) than reading a rider and a
bike, and because their errors would have to be taken apart again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Annotated, Any, TypeVar, get_args, get_origin

from attrs import NOTHING, Attribute, fields, has, resolve_types
from cattrs.converters import BaseConverter

from fitprofile.model.bike import STATES
from fitprofile.model.quantity import ANGLE, LENGTH, MASS, Q, Reading
from fitprofile.store.figures import read_band, read_reading
from fitprofile.store.mistakes import Gather, mistake, nearest, unknown
from fitprofile.store.words import read_choice, read_choices, read_flag, read_state, read_text
from fitprofile.units import describe
from fitprofile.values import frozen

T = TypeVar("T")

Reader = Callable[[object], Any]
"""Turns a raw value into a value of the model, or raises `Mistakes`."""

EXAMPLES: Mapping[str, str] = {LENGTH: '"{} cm"', ANGLE: "{}", MASS: '"{} kg"'}
"""How a figure of each kind is written, for sentences and templates."""


@frozen
class Shape:
    """How one table of a file differs from its class in the model.

    Parameters
    ----------
    names : mapping of str to str
        Field to the key it has in the file, where the two differ.
    readers : mapping of str to Reader
        Field to its own reader, in place of the one for its annotation.
    given : tuple of str
        Fields that do not stand in the file.
    """

    names: Mapping[str, str] = {}
    readers: Mapping[str, Reader] = {}
    given: tuple[str, ...] = ()


def table(raw: object) -> dict[str, object]:
    """The same, if it is a table."""
    if not isinstance(raw, dict):
        raise mistake(f"{describe(raw)} where a table of keys is wanted")
    return raw


def metadata(annotation: Any) -> tuple[Any, ...]:
    """What stands behind the type in ``Annotated``; empty for any other annotation."""
    if get_origin(annotation) is not Annotated:
        return ()
    return tuple(get_args(annotation)[1:])


def quantity(annotation: Any) -> Q | None:
    """The `Q` of an annotation, also inside ``X | None`` and ``tuple[X, X]``."""
    for item in metadata(annotation):
        if isinstance(item, Q):
            return item
    return next((q for part in get_args(annotation) if (q := quantity(part)) is not None), None)


def range_of(annotation: Any) -> Q:
    """The `Q` of an annotation that has one.

    Raises
    ------
    TypeError
        Where it has none.
    """
    q = quantity(annotation)
    if q is None:
        raise TypeError(f"{annotation} carries no range")
    return q


def choices(annotation: Any) -> tuple[str, ...]:
    """The words that a field may hold, also inside ``X | None``; empty for any other field."""
    for part in (annotation, *get_args(annotation)):
        for item in metadata(part):
            if isinstance(item, tuple):
                return item
    return ()


def is_pair(annotation: Any) -> bool:
    """Whether a list is meant: a band, a tape to each side, or several words."""
    return get_origin(annotation) is tuple or any(map(is_pair, get_args(annotation)))


def nested_class(annotation: Any) -> type | None:
    """The class of the model that a field holds, also inside ``X | None``."""
    if metadata(annotation):
        return None
    kinds = (kind for kind in (annotation, *get_args(annotation)) if not metadata(kind))
    return next((kind for kind in kinds if has(kind)), None)


def homes_of(places: Iterable[tuple[str, Iterable[str]]]) -> dict[str, str]:
    """Where each key belongs, for `sent_home`; of several places the first one named."""
    return {key: place for place, keys in reversed(list(places)) for key in keys}


def keys_of(cls: type) -> list[str]:
    """Names of a class's fields that hold no table of their own."""
    return [f.name for f in fields(resolve_types(cls)) if nested_class(f.type) is None]


def example(q: Q) -> str:
    """A figure in the middle of a range, as it is written in a file."""
    middle = (q.low + q.high) / 2.0
    return EXAMPLES[q.kind].format(f"{middle / (10.0 if q.kind == LENGTH else 1.0):.0f}")


def class_reader(
    cls: type, shape: Shape, hook_for: Callable[[Any], Callable[[Any, Any], Any]]
) -> Callable[[object, Mapping[str, object]], Any]:
    """A reader of one class: every field tried, every mistake kept, unknown keys named."""
    columns = [
        (field, shape.names.get(field.name, field.name), _field_reader(field, shape, hook_for))
        for field in fields(resolve_types(cls))
        if field.name not in shape.given
    ]
    known = [key for _, key, _ in columns]
    needed = {key: quantity(f.type) for f, key, _ in columns if f.default is NOTHING}

    def structure(raw: object, given: Mapping[str, object]) -> Any:
        data = table(raw)
        gather = Gather()
        values: dict[str, object] = dict(given)
        check_keys(gather, data, known, needed)
        for field, key, reader in columns:
            if key in data:
                values[field.name] = gather.part(key, reader, data[key])
        gather.check()
        return cls(**values)

    return structure


def _field_reader(
    field: Attribute[Any], shape: Shape, hook_for: Callable[[Any], Callable[[Any, Any], Any]]
) -> Reader:
    own = shape.readers.get(field.name)
    if own is not None:
        return own
    hook = hook_for(field.type)
    return lambda raw: hook(raw, field.type)


def check_keys(
    gather: Gather,
    data: Mapping[str, object],
    known: Iterable[str],
    needed: Mapping[str, Q | None],
    what: str = "key",
) -> None:
    """Keep what is wrong with the keys of a table: unknown ones and missing ones.

    A needed key that an unknown one was most likely meant to be is not called missing as well.
    """
    names = tuple(known)
    strangers = [key for key in data if key not in names]
    for key in strangers:
        gather.add(unknown(key, names, what), key)
    meant = {nearest(key, names) for key in strangers}
    for key, q in needed.items():
        if key not in data and key not in meant:
            gather.add(missing(key, q), key)


def missing(key: str, q: Q | None) -> str:
    """Sentence for a key that must be given."""
    if q is None:
        return f'{key} is missing: add {key} = "..."'
    return f"{key} is missing: measure it and add it, as in {key} = {example(q)}"


def make_converter() -> BaseConverter:
    """A converter with strict hooks for everything that the model holds."""
    converter = BaseConverter()
    converter.register_structure_hook(str, lambda raw, _: read_text(raw))
    converter.register_structure_hook(bool, lambda raw, _: read_flag(raw))
    converter.register_structure_hook_factory(has, lambda cls: _nested(cls, converter))
    converter.register_structure_hook_factory(lambda t: bool(metadata(t)), _annotated)
    return converter


def _nested(cls: Any, converter: BaseConverter) -> Callable[[object, Any], Any]:
    reader = class_reader(cls, Shape(), converter.get_structure_hook)
    return lambda raw, _: reader(raw, {})


def _annotated(annotation: Any) -> Callable[[object, Any], Any]:
    """Hook for a figure, a band, a choice or a list of choices."""
    inner, tag = get_args(annotation)[:2]
    if not isinstance(tag, Q) and is_pair(inner):
        return lambda raw, _: read_choices(raw, tag)
    if not isinstance(tag, Q):
        choose = read_state if tag == STATES else read_choice
        return lambda raw, _: choose(raw, tag)
    if inner is Reading:
        return lambda raw, _: read_reading(raw, tag)
    return lambda raw, _: read_band(raw, tag)


def read_tables(
    raw: object, name: str, reader: Callable[[object, Mapping[str, object]], T]
) -> tuple[T, ...]:
    """``[[name]]``: one value for each table."""
    if not isinstance(raw, list):
        raise mistake(f"{describe(raw)} where tables are wanted: begin each with [[{name}]]")
    gather = Gather()
    found = [gather.part(index, reader, item, {}) for index, item in enumerate(raw)]
    gather.check()
    return tuple(value for value in found if value is not None)


def read_names(
    raw: object,
    known: Iterable[str],
    reader: Callable[[str, object], T],
    *,
    needed: Mapping[str, Q | None] | None = None,
    what: str = "key",
) -> dict[str, T]:
    """A table whose keys are names from a list; ``reader`` takes name and value."""
    names, data = tuple(known), table(raw)
    gather = Gather()
    check_keys(gather, data, names, needed or {}, what)
    parts = {
        name: gather.part(name, reader, name, item) for name, item in data.items() if name in names
    }
    gather.check()
    return {name: part for name, part in parts.items() if part is not None}
