"""A rider's file to a `Rider`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache

from fitprofile.model.quantity import Q, Reading
from fitprofile.model.rider import BODY, REQUIRED_BODY, SEXES, Cockpit, NavelToBar, Rider
from fitprofile.store.figures import read_reading
from fitprofile.store.mistakes import Gather, Mistakes, mistake, nearest, sent_home
from fitprofile.store.shops import read_tolerances
from fitprofile.store.structure import (
    Shape,
    class_reader,
    homes_of,
    make_converter,
    range_of,
    read_names,
    table,
)
from fitprofile.store.toml import Document
from fitprofile.store.words import read_choice, read_notes, why_no_file_key
from fitprofile.units import describe

ALTERNATIVES = (("navel_to_bar", "navel_to_grip_ends"), ("lever_angle", "forearm_angle"))
"""Keys of a cockpit of which exactly one is given."""

MEASURED_ON = "measured_on"
SEX = "sex"
BODY_TABLE = "body"
COCKPIT = "cockpit"
"""Name in the file of the tables that become ``Rider.cockpits``."""


def read_rider(document: Document, key: str) -> Rider:
    """The rider that a document describes.

    Parameters
    ----------
    document : Document
        Its schema has been checked.
    key : str
        File name without its ending.

    Raises
    ------
    Mistakes
        Everything that is wrong with the file, with paths from its top.
    """
    data = {name: item for name, item in document.data.items() if name != "schema"}
    gather = Gather()
    given = {"key": key, "file": document.shown, SEX: gather.here(_read_sex, data)}
    rider = gather.here(_rider_reader(), {BODY_TABLE: {}, COCKPIT: {}, **data}, given)
    if rider is None or gather.found:
        raise Mistakes(sent_home(gather.found, _homes()))
    return rider


def _homes() -> Mapping[str, str]:
    """Where the keys of this file belong."""
    return homes_of(
        [
            (f"in [{BODY_TABLE}]", (SEX, *BODY)),
            (f"in [{COCKPIT}.USE]", _COCKPIT_KEYS),
            ("at the top, above the first table", ("schema", "name", "tape")),
        ]
    )


def measured_on(document: Document) -> tuple[tuple[str, str], ...]:
    """Use and bike's file name of each cockpit that names one, also in a file with mistakes."""
    cockpits = document.data.get(COCKPIT)
    if not isinstance(cockpits, dict):
        return ()
    named = tuple(
        (use, item[MEASURED_ON].removesuffix(".toml"))
        for use, item in cockpits.items()
        if isinstance(item, dict) and isinstance(item.get(MEASURED_ON), str)
    )
    return tuple((use, bike) for use, bike in named if why_no_file_key(bike) is None)


_COCKPIT_KEYS = tuple(Cockpit.__annotations__)


@lru_cache(maxsize=1)
def _rider_reader() -> Callable[[object, Mapping[str, object]], Rider]:
    """Reader of the whole file, made at the first rider."""
    hook_for = make_converter().get_structure_hook
    grip_ends = range_of(NavelToBar)
    sit_on = class_reader(
        Cockpit,
        Shape(
            readers={
                "navel_to_grip_ends": lambda raw: _read_grip_ends(raw, grip_ends),
                MEASURED_ON: _read_bike_key,
                "notes": read_notes,
            }
        ),
        hook_for,
    )
    shape = Shape(
        {"cockpits": COCKPIT},
        {
            "body": _read_body,
            "cockpits": lambda raw: _read_cockpits(raw, sit_on),
            "tolerances": read_tolerances,
            "notes": read_notes,
        },
        ("key", "file", SEX),
    )
    return class_reader(Rider, shape, hook_for)


def _read_sex(data: Mapping[str, object]) -> str | None:
    """``sex`` of ``[body]``: the one word among its figures."""
    body = data.get(BODY_TABLE)
    if not isinstance(body, dict) or SEX not in body:
        return None
    try:
        return read_choice(body[SEX], SEXES)
    except Mistakes as mistakes:
        raise mistake(str(mistakes), BODY_TABLE, SEX) from None


def _read_body(raw: object) -> Mapping[str, Reading]:
    """``[body]``: landmarks by name, in the order of the file."""
    figures = {name: item for name, item in table(raw).items() if name != SEX}
    return read_names(
        figures,
        BODY,
        lambda name, item: read_reading(item, BODY[name]),
        needed={name: BODY[name] for name in REQUIRED_BODY},
    )


def _read_cockpits(
    raw: object, sit_on: Callable[[object, Mapping[str, object]], Cockpit]
) -> Mapping[str, Cockpit]:
    """``[cockpit.USE]``: one table for each use."""
    data = table(raw)
    gather = Gather()
    if not all(isinstance(item, dict) for item in data.values()):
        gather.add("figures stand directly in [cockpit]: name it by its use, as in [cockpit.road]")
    cockpits: dict[str, Cockpit | None] = {}
    for use, item in data.items():
        why = why_no_file_key(use)
        if isinstance(item, dict) and why is not None:
            gather.add(why, use)
        elif isinstance(item, dict):
            cockpits[use] = gather.part(use, _read_cockpit, item, sit_on)
    gather.check()
    return {use: cockpit for use, cockpit in cockpits.items() if cockpit is not None}


def _read_cockpit(
    data: dict[str, object], sit_on: Callable[[object, Mapping[str, object]], Cockpit]
) -> Cockpit:
    gather = Gather()
    meant = {nearest(key, _COCKPIT_KEYS) for key in data if key not in _COCKPIT_KEYS}
    for one, other in ALTERNATIVES:
        if one in data and other in data:
            gather.add(f"{one} and {other} are both given: keep the one that was measured", other)
        elif data.keys().isdisjoint({one, other}) and meant.isdisjoint({one, other}):
            gather.add(f"{one} is missing: give {one} or {other}", one)
    cockpit = gather.here(sit_on, data, {})
    if cockpit is None or gather.found:
        raise Mistakes(gather.found)
    return cockpit


def _read_grip_ends(raw: object, q: Q) -> tuple[Reading, Reading]:
    """Two tapes, left and right, each a figure, a list of readings or a table."""
    if not isinstance(raw, list) or len(raw) != 2:  # noqa: PLR2004 - left and right
        raise mistake("two tapes are wanted: write [left, right], each from navel to grip end")
    gather = Gather()
    left = gather.part(0, read_reading, raw[0], q)
    right = gather.part(1, read_reading, raw[1], q)
    if left is None or right is None:
        raise Mistakes(gather.found)
    return left, right


def _read_bike_key(raw: object) -> str:
    """The file name of a bike, with or without its ending.

    Whether there is such a bike is the workspace's question.
    """
    if not isinstance(raw, str):
        raise mistake(f"{describe(raw)} is not the name of a bike's file: write it in quotes")
    key = raw.removesuffix(".toml")
    why = why_no_file_key(key)
    if why is not None:
        raise mistake(why)
    return key
