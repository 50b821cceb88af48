"""``shared/parts.toml`` to a `Catalogue`: what the shop can fit."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache, partial

from fitprofile.model.parts import BETWEEN, NONE, PARTS, WITHOUT, Catalogue, Labour, Part
from fitprofile.store.mistakes import MOST_LISTED, Found, Gather, listed, mistake, sent_home
from fitprofile.store.structure import (
    Shape,
    class_reader,
    homes_of,
    keys_of,
    make_converter,
    read_tables,
)
from fitprofile.store.toml import LONGEST_KEY, Document, KeyPath, dotted, visible
from fitprofile.store.words import LONGEST_NAME, read_bike_key, read_text
from fitprofile.units import describe

LONGEST_CURRENCY = 12
"""Characters of the word that stands behind every price."""

LABOUR = "labour"

NOT_USED = "the catalogue is not used until this file is mended, so nothing is said of parts"
"""What is said of a file of which nothing can be read."""

COMMON = ("name", "price", "minutes", "fits")
"""Keys of every part."""


def read_catalogue(document: Document) -> tuple[Catalogue, tuple[Found, ...]]:
    """The parts that a document lists and that are right, and what is wrong with the others.

    Parameters
    ----------
    document : Document
        Its schema has been checked.

    Returns
    -------
    Catalogue, tuple of Found
        The catalogue is the one that the file would give without what the mistakes are about: a
        part with one is left out whole, and so is every part that shares its name with another.
        Paths of the mistakes start at the top of the file.
    """
    data = {name: item for name, item in document.data.items() if name != "schema"}
    gather = Gather()
    gather.here(_catalogue_reader(), data, {"file": document.shown})
    twins, odd = _twins(data), tuple(_odd_names(data))
    found = (*gather.found, *odd, *_shared_names(document, twins))
    bad = {_whole(path) for path, _ in (*gather.found, *odd)}
    bad |= {path for group in twins for path in group}
    lost = sorted(_lost_parts(document, bad), key=lambda one: one[1])
    remark = _remark(document, lost, bad)
    given = {
        "file": document.shown,
        "left_out": tuple(name for name, _ in lost),
        "remark": f"{document.shown}: {remark}" if remark else "",
    }
    return _catalogue_reader()(_without(data, bad), given), tuple(sent_home(found, _homes()))


def unread_catalogue(shown: str) -> Catalogue:
    """No part at all, where nothing of the file of this name can be read."""
    return Catalogue(remark=f"{shown}: {NOT_USED}")


def _whole(path: KeyPath) -> KeyPath:
    """What is left out for a mistake: a part, a figure of [labour], or a key of the file."""
    inside = path[0] in PARTS or path[0] == LABOUR
    return path[: 2 if inside else 1]


def _without(data: Mapping[str, object], bad: Iterable[KeyPath]) -> dict[str, object]:
    """The file's data without some of its parts and keys."""
    made: dict[str, object] = {}
    for name, item in data.items():
        if (name,) in bad:
            continue
        if isinstance(item, list):
            made[name] = [one for index, one in enumerate(item) if (name, index) not in bad]
        elif isinstance(item, dict):
            made[name] = {key: one for key, one in item.items() if (name, key) not in bad}
        else:
            made[name] = item
    return made


def _lost_parts(document: Document, bad: Iterable[KeyPath]) -> Iterator[tuple[str, int]]:
    """Name with line, and line, of every part that is left out; also of a kind that is none."""
    for path in bad:
        item = document.data.get(str(path[0]))
        if path[0] not in PARTS and not isinstance(item, list):
            continue
        items = item if isinstance(item, list) else [item]
        places = [path] if len(path) > 1 else [(*path, index) for index in range(len(items))]
        for place in places:
            part = items[int(place[-1])] if isinstance(place[-1], int) else None
            if isinstance(part, dict):
                line = document.line_of(place)
                yield f"{_called(str(path[0]), part)} (line {line})", line


def _called(kind: str, part: Mapping[str, object]) -> str:
    name = part.get("name")
    if isinstance(name, str) and name.strip():
        return visible(name.strip(), LONGEST_NAME)
    return f"a [[{visible(kind, LONGEST_KEY)}]] without a name"


def _is_no_part(document: Document, path: KeyPath) -> bool:
    """Whether a path leads to a figure of [labour], or to a table that is no kind of part."""
    top = document.data.get(str(path[0]))
    return path[0] == LABOUR or (path[0] not in PARTS and isinstance(top, dict))


def _remark(document: Document, lost: Sequence[tuple[str, int]], bad: Iterable[KeyPath]) -> str:
    """What of the file is not used, in a sentence; empty where all of it is."""
    told = []
    if lost:
        names = [name for name, _ in lost[:MOST_LISTED]]
        if len(lost) > MOST_LISTED:
            names.append(f"{len(lost) - MOST_LISTED} more")
        one = len(lost) == 1
        told.append(
            f"{len(lost)} part{' is' if one else 's are'} left out of every plan and list until "
            f"{'it is' if one else 'they are'} mended: {listed(names, 'and')}"
        )
    figures = [dotted(path) or "" for path in sorted(bad, key=str) if _is_no_part(document, path)]
    if figures:
        verb = "is" if len(figures) == 1 else "are"
        told.append(f"{listed(figures, 'and')} {verb} not used: our own minutes stand in")
    if ("currency",) in bad:
        told.append("prices stand without their currency")
    return "; ".join(told)


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
        ("file", "left_out", "remark"),
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


def _twins(data: Mapping[str, object]) -> list[tuple[KeyPath, ...]]:
    """Parts that are called alike, capitals or not, in groups; plans name parts by their names."""
    groups: dict[str, list[KeyPath]] = {}
    for kind, index, name in _names(data):
        groups.setdefault(name.casefold(), []).append((kind, index))
    return [tuple(group) for group in groups.values() if len(group) > 1]


def _shared_names(document: Document, twins: Iterable[Sequence[KeyPath]]) -> Iterator[Found]:
    """What is said at each part whose name an earlier one has."""
    names = {(kind, index): name for kind, index, name in _names(document.data)}
    for first, *others in twins:
        line = document.line_of((*first, "name"))
        for at in others:
            shown = visible(names[str(at[0]), int(at[1])], LONGEST_NAME)
            told = (
                f"'{shown}' is the name of another part as well, on line {line}: plans call parts "
                "by their names, so neither is used until each has its own"
            )
            yield (*at, "name"), told


def _odd_names(data: Mapping[str, object]) -> Iterator[Found]:
    """What is said of names that a log would read as something else."""
    for kind, index, name in _names(data):
        why = ""
        if name.casefold().startswith(WITHOUT):
            why = f"begins with '{WITHOUT}', by which a log says that a part was taken off"
        elif name.casefold() == NONE:
            why = "is what record --fitted takes for no part"
        elif BETWEEN in name:
            why = "holds a semicolon, which stands between the names in record --fitted"
        if why:
            told = f"'{visible(name, LONGEST_NAME)}' {why}: give the part another name"
            yield (kind, index, "name"), told


def _names(data: Mapping[str, object]) -> Iterator[tuple[str, int, str]]:
    """Kind, place in the list and name of every part that has one."""
    for kind in PARTS:
        items = data.get(kind)
        for index, item in enumerate(items if isinstance(items, list) else ()):
            name = item.get("name") if isinstance(item, dict) else None
            if isinstance(name, str):
                yield kind, index, name.strip()
