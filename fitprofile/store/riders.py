"""A rider's file to a `Rider`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache, partial
from typing import TypeVar

from fitprofile.model.quantity import Q, Reading
from fitprofile.model.rider import (
    BODY,
    REQUIRED_BODY,
    SEXES,
    BarWidth,
    Cockpit,
    NavelToBar,
    Rider,
    Standing,
)
from fitprofile.store.figures import SIDE_KEYS, read_reading
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
from fitprofile.store.words import read_bike_key, read_choice, read_notes, why_no_file_key

ALTERNATIVES = (("navel_to_bar", "navel_to_grip_ends"), ("lever_angle", "forearm_angle"))
"""Keys of a cockpit of which exactly one is given."""

T = TypeVar("T")

MEASURED_ON = "measured_on"
SEX = "sex"
BODY_TABLE = "body"
COCKPIT = "cockpit"
"""Name in the file of the tables that become ``Rider.cockpits``."""

STANDING = "standing"
"""Name in the file of the tables of standing uses."""

_EXAMPLE_USES: Mapping[str, str] = {COCKPIT: "road", STANDING: "trail"}


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
    for use in _shared_uses(data):
        told = f"'{use}' is the name of a cockpit already: name one of the two differently"
        gather.add(told, STANDING, use)
    if rider is None or gather.found:
        raise Mistakes(sent_home(gather.found, _homes()))
    return rider


def _homes() -> Mapping[str, str]:
    """Where the keys of this file belong."""
    return homes_of(
        [
            (f"in [{BODY_TABLE}]", (SEX, *BODY)),
            (f"in [{COCKPIT}.USE]", _COCKPIT_KEYS),
            (f"in [{STANDING}.USE]", _STANDING_KEYS),
            ("at the top, above the first table", ("schema", "name", "tape")),
        ]
    )


def measured_on(document: Document) -> tuple[tuple[str, str, str], ...]:
    """Table, use and bike's file name of each use that names one, also in a file with mistakes."""
    named = tuple(
        (name, use, item[MEASURED_ON].removesuffix(".toml"))
        for name in (COCKPIT, STANDING)
        for use, item in _uses(document.data, name).items()
        if isinstance(item, dict) and isinstance(item.get(MEASURED_ON), str)
    )
    return tuple(one for one in named if why_no_file_key(one[-1]) is None)


def _uses(data: Mapping[str, object], name: str) -> Mapping[str, object]:
    uses = data.get(name)
    return uses if isinstance(uses, dict) else {}


def _shared_uses(data: Mapping[str, object]) -> list[str]:
    """Uses that stand both under ``[cockpit.USE]`` and under ``[standing.USE]``."""
    sitting = _uses(data, COCKPIT)
    return [use for use in _uses(data, STANDING) if use in sitting and not why_no_file_key(use)]


_COCKPIT_KEYS = tuple(Cockpit.__annotations__)
_STANDING_KEYS = tuple(Standing.__annotations__)


@lru_cache(maxsize=1)
def _rider_reader() -> Callable[[object, Mapping[str, object]], Rider]:
    """Reader of the whole file, made at the first rider."""
    hook_for = make_converter().get_structure_hook
    grip_ends, width = range_of(NavelToBar), range_of(BarWidth)
    sit_on = class_reader(
        Cockpit,
        Shape(
            readers={
                "bar_width": lambda raw: read_bar_width(raw, width),
                "navel_to_grip_ends": lambda raw: read_grip_ends(raw, grip_ends),
                MEASURED_ON: read_bike_key,
                "notes": read_notes,
            }
        ),
        hook_for,
    )
    standing = Shape(readers={MEASURED_ON: read_bike_key, "notes": read_notes})
    stood = class_reader(Standing, standing, hook_for)
    shape = Shape(
        {"cockpits": COCKPIT},
        {
            "body": _read_body,
            "cockpits": lambda raw: _read_uses(raw, COCKPIT, partial(_read_cockpit, sit_on=sit_on)),
            "standing": lambda raw: _read_uses(raw, STANDING, lambda item: stood(item, {})),
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


def _read_uses(raw: object, name: str, reader: Callable[[dict[str, object]], T]) -> Mapping[str, T]:
    """``[cockpit.USE]`` or ``[standing.USE]``: one table for each use."""
    data = table(raw)
    gather = Gather()
    if not all(isinstance(item, dict) for item in data.values()):
        shown = f"[{name}.{_EXAMPLE_USES[name]}]"
        gather.add(f"figures stand directly in [{name}]: name it by its use, as in {shown}")
    found: dict[str, T | None] = {}
    for use, item in data.items():
        why = why_no_file_key(use)
        if isinstance(item, dict) and why is not None:
            gather.add(why, use)
        elif isinstance(item, dict):
            found[use] = gather.part(use, reader, item)
    gather.check()
    return {use: one for use, one in found.items() if one is not None}


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


ONE_WIDTH = (
    "the bar's width is one figure from grip end to grip end, and both grips stand alike: write it "
    "as such; a hand nearer to the middle than the other is set by hand on the finished bike"
)


def read_bar_width(raw: object, q: Q) -> Reading:
    """A bar's width, which has no left and right."""
    if isinstance(raw, dict) and not raw.keys().isdisjoint(SIDE_KEYS):
        raise mistake(ONE_WIDTH)
    return read_reading(raw, q)


def read_grip_ends(raw: object, q: Q) -> tuple[Reading, Reading]:
    """Two tapes, left and right, each a figure, a list of readings or a table."""
    if not isinstance(raw, list) or len(raw) != 2:  # noqa: PLR2004 - left and right
        raise mistake("two tapes are wanted: write [left, right], each from navel to grip end")
    gather = Gather()
    left = gather.part(0, read_reading, raw[0], q)
    right = gather.part(1, read_reading, raw[1], q)
    if left is None or right is None:
        raise Mistakes(gather.found)
    return left, right
