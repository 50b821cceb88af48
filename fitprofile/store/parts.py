"""``shared/parts.toml`` to a `Catalogue`: what the shop can fit."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache, partial

from fitprofile.model.parts import PARTS, Catalogue, Labour, Part
from fitprofile.store.mistakes import Found, Gather, Mistakes, mistake, sent_home
from fitprofile.store.structure import (
    Shape,
    class_reader,
    homes_of,
    keys_of,
    make_converter,
    read_tables,
)
from fitprofile.store.toml import Document, visible
from fitprofile.store.words import LONGEST_NAME, read_bike_key, read_text
from fitprofile.units import describe

LONGEST_CURRENCY = 12
"""Characters of the word that stands behind every price."""

COMMON = ("name", "price", "minutes", "fits")
"""Keys of every part."""


def read_catalogue(document: Document) -> Catalogue:
    """The parts that a document lists.

    Parameters
    ----------
    document : Document
        Its schema has been checked.

    Raises
    ------
    Mistakes
        Everything that is wrong with the file, with paths from its top.
    """
    data = {name: item for name, item in document.data.items() if name != "schema"}
    gather = Gather()
    catalogue = gather.here(_catalogue_reader(), data, {"file": document.shown})
    gather.found += _shared_names(document)
    if catalogue is None or gather.found:
        raise Mistakes(sent_home(gather.found, _homes()))
    return catalogue


def _homes() -> Mapping[str, str]:
    """Where the keys of this file belong."""
    return homes_of(
        [
            ("at the top, above the first table", ("schema", "currency")),
            ("in the table of one part, as in [[riser]]", COMMON),
            ("in [labour]", keys_of(Labour)),
            *((f"in [[{kind}]]", keys_of(cls)) for kind, cls in PARTS.items()),
        ]
    )


@lru_cache(maxsize=1)
def _catalogue_reader() -> Callable[[object, Mapping[str, object]], Catalogue]:
    """Reader of the whole file, made at the first catalogue."""
    hook_for = make_converter().get_structure_hook
    fits = Shape(readers={"fits": _read_fits})

    def parts(raw: object, kind: str) -> tuple[Part, ...]:
        return read_tables(raw, kind, class_reader(PARTS[kind], fits, hook_for))

    shape = Shape(
        {f"{kind}s": kind for kind in PARTS},
        {
            "currency": partial(read_text, longest=LONGEST_CURRENCY),
            **{f"{kind}s": partial(parts, kind=kind) for kind in PARTS},
        },
        ("file",),
    )
    return class_reader(Catalogue, shape, hook_for)


def _read_fits(raw: object) -> tuple[str, ...]:
    """File names of the bikes that take a part."""
    if not isinstance(raw, list):
        raise mistake(f'{describe(raw)} where a list of bikes is wanted, as in ["my-bike"]')
    if not raw:
        raise mistake("an empty list fits no bike: name bikes, or take fits out if any takes it")
    gather = Gather()
    keys = [gather.part(index, read_bike_key, item) for index, item in enumerate(raw)]
    gather.check()
    return tuple(key for key in keys if key is not None)


def _shared_names(document: Document) -> Iterator[Found]:
    """Parts that are called as another one, capitals or not; plans name parts by their names."""
    first: dict[str, tuple[str, int, str]] = {}
    for kind, index, name in _names(document.data):
        at = (kind, index, "name")
        if first.setdefault(name.casefold(), at) != at:
            line = document.line_of(first[name.casefold()])
            shown = visible(name, LONGEST_NAME)
            told = (
                f"'{shown}' is the name of another part as well, on line {line}: plans call "
                "parts by their names, so give each its own"
            )
            yield at, told


def _names(data: Mapping[str, object]) -> Iterator[tuple[str, int, str]]:
    """Kind, place in the list and name of every part that has one."""
    for kind in PARTS:
        items = data.get(kind)
        for index, item in enumerate(items if isinstance(items, list) else ()):
            name = item.get("name") if isinstance(item, dict) else None
            if isinstance(name, str):
                yield kind, index, name.strip()
