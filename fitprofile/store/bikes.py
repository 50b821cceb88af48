"""A bike's file to a `Bike`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache, partial

from fitprofile.model.bike import (
    MID_POINTS,
    PAIR_POINTS,
    ROUND_POINTS,
    Allows,
    Bike,
    Fitted,
    Handlebar,
    Hose,
    Hoses,
    Lever,
    Obstacle,
    Steering,
    Straddle,
)
from fitprofile.model.quantity import Across, Height, Q, Reading, Span, Spare, Tape
from fitprofile.store.figures import TABLE_KEYS, read_reading
from fitprofile.store.mistakes import Gather, Mistakes, listed, mistake, sent_home, unknown
from fitprofile.store.structure import (
    Shape,
    class_reader,
    homes_of,
    keys_of,
    make_converter,
    range_of,
    read_names,
    read_tables,
    table,
)
from fitprofile.store.toml import LONGEST_KEY, Document, visible
from fitprofile.store.words import read_date, read_mileage, read_notes

POINTS = MID_POINTS + PAIR_POINTS
"""Every point that a tape can go to by name."""

OBSTACLE = "obstacle"
"""Name in the file of the tables that become ``Bike.obstacles``."""

HOLDING_POINT = ("height", "ahead", "offset")
"""Keys that together say where the far end of a hose is held."""

MEASURED = ("widths", "heights", "ahead", "spans")
"""Tables of which at least one holds a figure once the bike has been taped."""

NOTHING_TAPED = (
    "nothing has been taped on this bike yet: fill in at least [widths] grip_end, [heights] "
    "seat, peg and grip_end, and the [spans] between these three or how far they lie [ahead]"
)


def read_bike(document: Document, key: str) -> Bike:
    """The bike that a document describes.

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
    bike = gather.here(_bike_reader(), data, {"key": key, "file": document.shown})
    if not any(data.get(name) for name in MEASURED):
        gather.add(NOTHING_TAPED)
    if bike is None or gather.found:
        raise Mistakes(sent_home(gather.found, _homes()))
    return bike


def _homes() -> Mapping[str, str]:
    """Where the keys of this file belong."""
    return homes_of(
        [
            (
                "at the top, above the first table",
                ("schema", "name", "state", "tape", "date", "mileage"),
            ),
            ("in [steering]", keys_of(Steering)),
            ("in [handlebar]", keys_of(Handlebar)),
            ("in [levers.brake] or [levers.clutch]", keys_of(Lever)),
            ("in [heights], [ahead] or [widths]", POINTS),
            ("in [stand]", ["pitch"]),
            ("in [hoses]", list(Hoses.__annotations__)),
            ("in the line's own table, as in [hoses.front_brake]", ["spare", "held_by"]),
            ("in [[obstacle]]", keys_of(Obstacle)),
            ("in [allows]", keys_of(Allows)),
            ("in [straddle]", keys_of(Straddle)),
            ("in [fitted]", keys_of(Fitted)),
        ]
    )


@lru_cache(maxsize=1)
def _bike_reader() -> Callable[[object, Mapping[str, object]], Bike]:
    """Reader of the whole file, made at the first bike."""
    hook_for = make_converter().get_structure_hook
    obstacle = class_reader(Obstacle, Shape(), hook_for)
    hose = partial(_read_hose, reader=class_reader(Hose, Shape(), hook_for))
    lines = Shape(readers=dict.fromkeys(Hoses.__annotations__, hose))
    hoses = class_reader(Hoses, lines, hook_for)
    tapes = partial(_read_points, points=POINTS, sides=True)
    shape = Shape(
        {"obstacles": OBSTACLE},
        {
            "widths": partial(_read_points, q=range_of(Across), points=PAIR_POINTS),
            "heights": partial(tapes, q=range_of(Height), top=True),
            "ahead": partial(tapes, q=range_of(Tape)),
            "spans": partial(_read_spans, q=range_of(Span)),
            "obstacles": lambda raw: read_tables(raw, OBSTACLE, obstacle),
            "hoses": lambda raw: hoses(raw, {}),
            "date": read_date,
            "mileage": read_mileage,
            "notes": read_notes,
        },
        ("key", "file"),
    )
    return class_reader(Bike, shape, hook_for)


def _read_points(
    raw: object, *, q: Q, points: tuple[str, ...], top: bool = False, sides: bool = False
) -> Mapping[str, Reading]:
    """Tapes by point name."""

    def read(name: str, item: object) -> Reading:
        return read_reading(
            item, q, top=top and name in ROUND_POINTS, sides=sides and name in PAIR_POINTS
        )

    return read_names(raw, points, read, what="point")


def _read_spans(raw: object, *, q: Q) -> Mapping[tuple[str, str], Reading]:
    """``"seat-peg" = ...``: tapes from point to point, either order."""
    gather = Gather()
    spans: dict[tuple[str, str], Reading] = {}
    for name, item in table(raw).items():
        ends = gather.part(name, _span_ends, name)
        if ends is None:
            continue
        if ends in spans or ends[::-1] in spans:
            gather.add("this span is given twice, in both orders: keep one of the two", name)
        top = not set(ends).isdisjoint(ROUND_POINTS)
        reading = gather.part(name, read_reading, item, q, top=top)
        if reading is not None:
            spans[ends] = reading
    gather.check()
    return spans


def _span_ends(name: str) -> tuple[str, str]:
    """Both points of a span's name."""
    first, dash, second = name.partition("-")
    if not dash:
        shown = visible(name, LONGEST_KEY)
        raise mistake(f"'{shown}' is no span: name its two points, as in \"seat-peg\"")
    for end in (first, second):
        if end not in POINTS:
            raise mistake(unknown(end, POINTS, "point"))
    if first == second:
        raise mistake("a span goes from one point to another; left to right belongs in [widths]")
    return first, second


def _is_figure(raw: dict[str, object]) -> bool:
    """Whether a line's table is that of a figure, not one with a holding point."""
    return raw.keys().isdisjoint(Hose.__annotations__) and not raw.keys().isdisjoint(TABLE_KEYS)


def _read_hose(raw: object, *, reader: Callable[[object, Mapping[str, object]], Hose]) -> Hose:
    """One line: its spare length as a figure, or a table that also says where it is held."""
    if not isinstance(raw, dict) or _is_figure(raw):
        return Hose(spare=read_reading(raw, range_of(Spare)))
    gather = Gather()
    given = [name for name in HOLDING_POINT if name in raw]
    if 0 < len(given) < len(HOLDING_POINT):
        lost = [name for name in HOLDING_POINT if name not in raw]
        gather.add(
            f"{listed(lost, 'and')} missing: give {listed(HOLDING_POINT, 'and')} of the place "
            "where it is held, or none of them"
        )
    hose = gather.here(reader, raw, {})
    if hose is None or gather.found:
        raise Mistakes(gather.found)
    return hose
