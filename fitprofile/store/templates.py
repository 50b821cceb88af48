"""Commented files to fill in: every key of the model with what to hold where.

A line that begins with ``# `` explains. A line that begins with ``#`` and a key is a figure
that is still to be measured: the ``#`` comes off and the figure goes between the quotes. A
line that was forgotten between the two is no figure and is reported as such.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping

import tomli_w
from attrs import asdict

from fitprofile.model.bike import (
    MID_POINTS,
    PAIR_POINTS,
    Allows,
    Bike,
    Fitted,
    Handlebar,
    Hose,
    Hoses,
    Lever,
    Obstacle,
    Stand,
    Steering,
    Straddle,
)
from fitprofile.model.parts import PARTS, Labour
from fitprofile.model.rider import (
    BODY,
    HELP,
    REQUIRED_BODY,
    SEXES,
    Cockpit,
    Rider,
    RiderLimits,
    Standing,
)
from fitprofile.model.shop import SPREADS, TOLERANCES
from fitprofile.store.bikes import OBSTACLE, POINTS
from fitprofile.store.folders import SCHEMA_FOLDER, SHARED
from fitprofile.store.guide import (
    BODY_GUIDE,
    CLASS_GUIDE,
    CURRENCY_GUIDE,
    PLACE_GUIDE,
    POINT_GUIDE,
)
from fitprofile.store.lines import CM, blank, class_lines, comment, entry, heading, joined
from fitprofile.store.riders import ALTERNATIVES, BODY_TABLE, COCKPIT, SEX, STANDING
from fitprofile.store.schema_version import CURRENT
from fitprofile.store.shops import PLACE, spread_range

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
        *class_lines(Rider, active={"tape"}, without={"name", SEX}),
        *heading(BODY_TABLE),
        *entry(SEX, f'"{SEXES[0]}"', guide[SEX]),
    ]
    for key, q in BODY.items():
        lines += entry(key, blank(q), BODY_GUIDE[key], NEEDED if key in REQUIRED_BODY else "")
    lines += [
        *heading(COCKPIT, f"[{COCKPIT}.road]"),
        *class_lines(Cockpit, marks=_COCKPIT_MARKS),
        *heading(STANDING, f"#[{STANDING}.trail]"),
        *class_lines(Standing, marks=dict.fromkeys(_STANDING_NEEDED, NEEDED)),
        *heading("limits"),
        *class_lines(RiderLimits),
        *heading("tolerances", "#[tolerances]"),
    ]
    for key in TOLERANCES:
        lines += entry(key, blank(spread_range(key)))
    return joined(lines)


def bike_template(name: str) -> str:
    """``bikes/KEY.toml`` to fill in; parses as it is."""
    first = f"A bike. What is marked {QUICK} is enough for a first answer; more makes it surer."
    lines = [
        *_head("bike", name, first),
        *class_lines(Bike, active={"state", "tape"}, without={"name"}),
        *_points("widths", PAIR_POINTS, told=PAIR_POINTS),
        *_points("heights", POINTS, told=MID_POINTS),
        *_points("ahead", [point for point in POINTS if point != "rear_axle"]),
        *heading("spans"),
    ]
    for span in SPANS:
        lines += entry(f'"{span}"', CM, mark=QUICK if f"spans.{span}" in QUICK_SET else "")
    for table, header, cls, told, active in _BIKE_TABLES:
        lines += [*heading(table, header, told=told), *class_lines(cls, active=active, told=told)]
    return joined(lines)


def tolerances_template() -> str:
    """``shared/tolerances.toml``: the figures to start from, each as a comment."""
    lines = [
        f"#:schema {SCHEMA_FOLDER}/tolerances.json",
        *comment(
            "The shop's own figures. Every line is a figure in use as it is: take the # off "
            "and change it where yours differs. Bare numbers are mm, degrees or kg."
        ),
        f"schema = {CURRENT}",
        *entry(PLACE, '""', PLACE_GUIDE),
        *heading("shop_tolerances", "[tolerances]"),
    ]
    lines += [f"#{name} = {value:g}" for name, value in TOLERANCES.items()]
    lines += heading("spreads", f"[spreads.{HELP[0]}]")
    lines += [f"#{name} = {alone:g}" for name, (alone, _) in SPREADS.items()]
    lines += ["", f"[spreads.{HELP[1]}]"]
    lines += [f"#{name} = {helped:g}" for name, (_, helped) in SPREADS.items()]
    return joined(lines)


def parts_template() -> str:
    """``shared/parts.toml``: one example of each kind of part, each as a comment."""
    lines = [
        f"#:schema {SCHEMA_FOLDER}/parts.json",
        *comment(
            "What the shop can fit: parts that can be bought or lie on the shelf. The examples "
            "are invented; figures, prices and minutes are your own to write. Each part begins "
            'with its kind in double brackets, as often as there are parts of it. Lines with "#" '
            "and a key are examples: take the # off and change the figure."
        ),
        f"schema = {CURRENT}",
        *entry("currency", '"EUR"', CURRENCY_GUIDE, active=True),
        *heading("labour"),
        *class_lines(Labour, values=_LABOUR),
    ]
    for kind, examples in PART_EXAMPLES.items():
        lines += [
            *heading(kind, f"#[[{kind}]]"),
            *class_lines(PARTS[kind], values={**examples, "fits": '["my-bike"]'}),
        ]
    return joined(lines)


_COCKPIT_MARKS: Mapping[str, str] = {
    "bar_width": NEEDED,
    "knee_angle": NEEDED,
    **{one: f"{NEEDED} this or {other}" for one, other in ALTERNATIVES},
    **{other: f"in place of {one}" for one, other in ALTERNATIVES},
}

_STANDING_NEEDED = ("grip_above_peg", "grip_ahead_of_peg")

PART_EXAMPLES: Mapping[str, Mapping[str, str]] = {
    "riser": {
        "name": '"Riser 20 up, 10 back"',
        "height": '"20 mm"',
        "pullback": '"10 mm"',
        "clamp_diameter": '"28.6 mm"',
        "price": "60",
        "minutes": "45",
    },
    "bar": {
        "name": '"Touring bar 780"',
        "width": '"780 mm"',
        "rise": '"60 mm"',
        "pullback": '"90 mm"',
        "backsweep": "18",
        "upsweep": "2",
        "clamp_diameter": '"28.6 mm"',
        "bar_diameter": '"22.2 mm"',
        "price": "90",
        "minutes": "90",
    },
    "extender": {
        "name": '"Bar ends, 15 longer"',
        "length": '"15 mm"',
        "bar_diameter": '"22.2 mm"',
        "price": "35",
        "minutes": "30",
    },
    "clip_on": {
        "name": '"Clip-ons 20 lower"',
        "offset": '"28 mm"',
        "drop": '"20 mm"',
        "droop": "-2",
        "sweep": "24",
        "length": '"240 mm"',
        "tube_diameter": '"41 mm"',
        "bar_diameter": '"22.2 mm"',
        "price": "180",
        "minutes": "75",
    },
    "peg_plate": {
        "name": '"Peg plates 20 lower"',
        "x": '"0 mm"',
        "z": '"-20 mm"',
        "price": "70",
        "minutes": "40",
    },
    "seat": {
        "name": '"High seat"',
        "z": '"25 mm"',
        "x": '"5 mm"',
        "price": "260",
        "minutes": "10",
    },
    "lever_set": {
        "name": '"Short-reach levers"',
        "reach_range": '["45 mm", "75 mm"]',
        "side": '"both"',
        "price": "110",
        "minutes": "20",
    },
}
"""One invented part of each kind, as the template shows it."""

_LABOUR: Mapping[str, str] = {
    name: f"{minutes.value:g}" for name, minutes in asdict(Labour(), recurse=False).items()
}

_BIKE_TABLES: tuple[tuple[str, str, type, bool, frozenset[str]], ...] = (
    ("steering", "[steering]", Steering, True, frozenset()),
    ("handlebar", "[handlebar]", Handlebar, True, frozenset({"kind"})),
    ("levers", "[levers.brake]", Lever, True, frozenset()),
    ("levers", "[levers.clutch]", Lever, False, frozenset()),
    ("stand", "#[stand]", Stand, True, frozenset()),
    ("wheels", "#[wheels]", Stand, False, frozenset()),
    *(
        ("hoses", f"#[hoses.{line}]", Hose, line == "front_brake", frozenset[str]())
        for line in Hoses.__annotations__
    ),
    (OBSTACLE, f"#[[{OBSTACLE}]]", Obstacle, True, frozenset()),
    ("allows", "[allows]", Allows, True, frozenset()),
    ("fitted", "#[fitted]", Fitted, True, frozenset()),
    ("straddle", "[straddle]", Straddle, True, frozenset()),
)
"""Key in the guide, header, class, whether each key is explained, keys with a default."""


def _head(kind: str, name: str, first: str) -> list[str]:
    """First lines of a file: the schema for editors, how to fill it in, its name."""
    return [
        f"#:schema ../{SHARED}/{SCHEMA_FOLDER}/{kind}.json",
        *comment(first),
        *(f"# {line}" for line in _HOW_TO.splitlines()),
        f"schema = {CURRENT}",
        tomli_w.dumps({"name": name}).rstrip("\n"),
    ]


def _points(name: str, points: Iterable[str], *, told: Container[str] = ()) -> list[str]:
    """One entry for each point of ``[widths]``, ``[heights]`` or ``[ahead]``.

    Those in ``told`` are explained; each point is where it comes first in the file.
    """
    lines = heading(name)
    for point in points:
        guide = f"{POINT_GUIDE[point].capitalize()}." if point in told else ""
        mark = QUICK if f"{name}.{point}" in QUICK_SET else ""
        lines += entry(point, CM, guide, mark)
    return lines
