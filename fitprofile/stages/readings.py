"""A tape's readings of a bike as rows of a network, and what is assumed where there are none."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import atan2, degrees

from fitprofile.errors import ERROR, NOTE, WARNING, Problem
from fitprofile.model.bike import CLIP_ON, PAIR_POINTS, Bike
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import HELP
from fitprofile.model.shop import Shop
from fitprofile.stages.network import AHEAD, HEIGHT, LENGTH, SPACING, SWEEP, TILT, Row
from fitprofile.stages.repeats import contradiction, mean_sd
from fitprofile.values import frozen

NEEDED = ("seat", "peg", "clamp", "grip_end", "grip_inner")
"""Points without which nothing can be transferred."""

AXLES = ("rear_axle", "front_axle")
STAND_STATE = "stand"

CLAMP_DIAMETER = 28.6
"""mm; bar in its clamps where not taped. Common practice, no source."""

GRIP_DIAMETER = 33.0
"""mm; grip over its rubber where not taped. Common practice, no source."""

CLAMP_AHEAD, CLAMP_ABOVE, CLAMP_SD = 90.0, -30.0, 40.0
"""mm; bar in its clamps, from the grip end, where not taped. Common practice, no source."""

GRIP_LENGTH = (125.0, 6.0)
GRIP_SWEEP = (15.0, 6.0)
GRIP_TILT = (0.0, 3.0)
"""Value and spread, mm and degrees, of a grip that was not taped. Common practice, no source."""

PEG_SPACING = (460.0, 40.0)
"""mm, middle to middle of the rubbers, also for pedals. Common practice, no source."""

LEAN_ALLOWED = 2.0
"""Degrees of roll seen in pairs taped on both sides; more, and the bike was not upright."""

LEAN_SHOWN = 0.05
"""Degrees; less would be printed as 0.0."""

TUBE_SPACING = (210.0, 15.0)
"""mm, middle to middle of the fork tubes and its spread. Common practice, no source."""

WORDS: Mapping[str, str] = {
    "seat": "sit point",
    "peg": "peg",
    "clamp": "bar clamp",
    "grip_end": "grip end",
    "grip_inner": "inner end of the grip",
    "tube": "fork tube",
    "rear_axle": "rear axle",
    "front_axle": "front axle",
    "brake_pedal": "brake pedal",
    "gear_lever": "gear lever",
}
"""Points in words; a point that is not listed is called by its own name."""

ANGLES = frozenset({"rake", "lever_angle", "grip_tilt", "grip_sweep"})
"""Rows of the table of spreads that are in degrees."""

_HEIGHT_KIND = {
    "seat": "seat_height",
    "clamp": "clamp",
    "grip_inner": "clamp",
}
_AHEAD_KIND = {"seat": "seat_ahead", "clamp": "clamp", "grip_inner": "clamp"}


@frozen(eq=False)
class Readings:
    """Rows that were measured, rows to fall back on, and what is wrong or assumed so far.

    ``measured`` stands in the order of the file. ``pairs`` are the points off the mid-plane.
    """

    measured: tuple[Row, ...]
    assumed: tuple[Row, ...]
    pairs: frozenset[str]
    problems: tuple[Problem, ...]


def spread(reading: Reading, kind: str, bike: Bike, shop: Shop) -> float:
    """Standard deviation of a reading's mean, mm or degrees; ``kind`` names the table's row."""
    return mean_sd(reading, _one(reading, kind, bike, shop))


def _one(reading: Reading, kind: str, bike: Bike, shop: Shop) -> float:
    """Standard deviation of one reading."""
    return reading.sd if reading.sd is not None else shop.spreads[kind][HELP.index(bike.tape)]


def read_tapes(bike: Bike, shop: Shop) -> Readings:
    """Rows of a bike's network, in the frame it stood in while it was taped.

    Parameters
    ----------
    bike : Bike
    shop : Shop
        Spreads for readings that carry none.

    Returns
    -------
    Readings
        On clip-ons, ``clamp`` stands for the fork tube's axis: it is one of the pairs where the
        spacing of the tubes was taped or a span goes to it, so that spans go to the tube itself.
        Where only a span does, the spacing falls back on `TUBE_SPACING`.
    """
    rows = tuple(_rows(bike, shop))
    beside = bike.handlebar.kind == CLIP_ON and any(
        row.kind in (SPACING, LENGTH) and "clamp" in (row.end, row.start) for row in rows
    )
    pairs = frozenset(PAIR_POINTS) | ({"clamp"} if beside else frozenset())
    problems = (
        *_missing(bike, beside=beside),
        *_contradictions(bike, shop),
        *_leaning(bike),
        *_top_notes(bike),
        *_stand_notes(bike),
    )
    return Readings(rows, _fallback(rows, beside=beside), pairs, problems)


def _rows(bike: Bike, shop: Shop) -> Iterator[Row]:
    """Measured rows in the order of the file; the fork tube is known on clip-ons only."""
    clip = bike.handlebar.kind == CLIP_ON
    for key, kind, ends, r, table in (*_taped(bike), *_grip(bike)):
        if clip or "tube" not in ends:
            top = [_radius(bike, n) if r.top and n else 0.0 for n in ends]
            end, start = ("clamp" if n == "tube" else n for n in ends)
            sd = spread(r, table, bike, shop)
            yield Row(key, kind, end or "", start, r.value, sd, top[0] - top[1])


_Taped = tuple[str, int, tuple[str, str | None], Reading, str]
"""Key, kind of row, end and start, reading, and its row in the table of spreads."""


def _taped(bike: Bike) -> Iterator[_Taped]:
    for name, r in bike.widths.items():
        yield f"widths.{name}", SPACING, (name, None), r, "bar_width"
    for name, r in bike.heights.items():
        if name not in AXLES:
            yield f"heights.{name}", HEIGHT, (name, None), r, _HEIGHT_KIND.get(name, "height")
    for key, name, r in axles_as_taped(bike):
        yield key, HEIGHT, (name, None), r, "axle_height"
    for name, r in bike.ahead.items():
        yield f"ahead.{name}", AHEAD, (name, None), r, _AHEAD_KIND.get(name, "ahead")
    for (a, b), r in bike.spans.items():
        yield f"spans.{a}-{b}", LENGTH, (b, a), r, "span"


def _grip(bike: Bike) -> Iterator[_Taped]:
    bar = bike.handlebar
    for key, kind, r, table in (
        ("grip_length", LENGTH, bar.grip_length, "clamp"),
        ("grip_tilt", TILT, bar.grip_tilt, "grip_tilt"),
        ("grip_sweep", SWEEP, bar.grip_sweep, "grip_sweep"),
    ):
        if r is not None:
            yield f"handlebar.{key}", kind, ("grip_end", "grip_inner"), r, table


def _contradictions(bike: Bike, shop: Shop) -> Iterator[Problem]:
    """Repeated readings of one figure of the bike that lie too far apart."""
    told = {key: (r, table) for key, _, _, r, table in (*_taped(bike), *_grip(bike))}
    told |= {key: (r, table) for key, r, table in _beside(bike) if r is not None}
    for key, (r, table) in told.items():
        unit = "degrees" if table in ANGLES else "mm"
        yield from contradiction(r, _one(r, table, bike, shop), key, bike.file, unit=unit)


def _beside(bike: Bike) -> Iterator[tuple[str, Reading | None, str]]:
    """Figures that make no row of the network."""
    yield "steering.rake", bike.steering.rake, "rake"
    for name in AXLES:
        yield f"wheels.{name}", getattr(bike.wheels, name, None), "axle_height"
    for side in ("brake", "clutch"):
        lever = getattr(bike.levers, side)
        yield f"levers.{side}.angle", getattr(lever, "angle", None), "lever_angle"
        yield f"levers.{side}.reach", getattr(lever, "reach", None), "lever_reach"


def axles_as_taped(bike: Bike) -> tuple[tuple[str, str, Reading], ...]:
    """Axle heights in the frame the bike was taped in: (key, name, reading).

    On a stand these are those of ``[stand]``; where ``[wheels]`` holds an axle and ``[stand]``
    does not, those of ``[heights]``; and where only one end was lifted, the other axle's height
    on its wheel.
    """
    found = []
    for name in AXLES:
        written = bike.heights.get(name)
        lifted = getattr(bike.stand, name, None)
        if bike.state != STAND_STATE:
            reading, key = written, f"heights.{name}"
        elif lifted is not None:
            reading, key = lifted, f"stand.{name}"
        elif written is not None:
            reading, key = written, f"heights.{name}"
        else:
            reading, key = getattr(bike.wheels, name, None), f"wheels.{name}"
        if reading is not None:
            found.append((key, name, reading))
    return tuple(found)


def axles_on_wheels(bike: Bike) -> tuple[Reading | None, Reading | None]:
    """Heights of the rear and front axle with both wheels on the ground, where known."""
    both = any(getattr(on, name, None) for on in (bike.stand, bike.wheels) for name in AXLES)
    rear, front = (
        getattr(bike.wheels, name, None) or (bike.heights.get(name) if both else None)
        for name in AXLES
    )
    return rear, front


def _radius(bike: Bike, name: str) -> float:
    """Distance, mm, from the centre-line to the top that a tape met; the peg's point is its top."""
    bar = bike.handlebar
    if name in {"grip_end", "grip_inner"}:
        return (bar.grip_diameter.value if bar.grip_diameter else GRIP_DIAMETER) / 2.0
    if name == "clamp":
        return (bar.clamp_diameter.value if bar.clamp_diameter else CLAMP_DIAMETER) / 2.0
    return 0.0


def _top_notes(bike: Bike) -> Iterator[Problem]:
    """Notes on diameters that a tape to the top needs and that were not taped."""
    tops = {name for name, r in bike.heights.items() if r.top}
    tops |= {name for pair, r in bike.spans.items() if r.top for name in pair}
    bar = bike.handlebar
    for key, taped, usual, names in (
        ("grip_diameter", bar.grip_diameter, GRIP_DIAMETER, {"grip_end", "grip_inner"}),
        ("clamp_diameter", bar.clamp_diameter, CLAMP_DIAMETER, {"clamp"}),
    ):
        if tops & names and taped is None:
            what = "grip" if key == "grip_diameter" else "bar in its clamp"
            text = (
                f"the thickness of the {what} was not taped and is taken to be {usual:g} mm where "
                f"the tape went to its top; measure it with a calliper"
            )
            yield Problem(text, f"handlebar.{key}", bike.file, level=NOTE)


def _missing(bike: Bike, *, beside: bool) -> Iterator[Problem]:
    """Spacings that were not taped; ``beside``: a span goes to the tube of a clip-on."""
    if "grip_end" not in bike.widths:
        text = (
            "the bar width is missing: tape from the outer centre of the left grip to the outer "
            "centre of the right one, without bar-end weights"
        )
        yield Problem(text, "widths.grip_end", bike.file, level=ERROR)
    if bike.handlebar.kind == CLIP_ON and "tube" not in bike.widths:
        usual, sd = TUBE_SPACING
        guess = (
            f", and for spans to the bar clamp the tubes are taken to stand {usual:g} mm apart, "
            f"give or take {2.0 * sd:g}, unless the other tapes tell"
        )
        text = (
            f"the spacing of the fork tubes was not taped, so the turn of the clip-ons is not "
            f"worked out{guess if beside else ''}: tape from the middle of the left tube to the "
            f"middle of the right one"
        )
        yield Problem(text, "widths.tube", bike.file, level=NOTE)


def _leaning(bike: Bike) -> Iterator[Problem]:
    lean = side_lean(bike)
    if lean is None or abs(lean[0]) < LEAN_SHOWN:
        return
    roll, names = lean
    side = "left" if roll < 0.0 else "right"
    key = f"heights.{names[0]}"
    if abs(roll) > LEAN_ALLOWED:
        text = (
            f"the bike leaned {abs(roll):.1f} degrees to the {side} while it was taped, and "
            f"more than {LEAN_ALLOWED:g} cannot be averaged out: hold it upright or put it on a "
            f"level stand, and tape the heights again"
        )
        yield Problem(text, key, bike.file, level=ERROR)
        return
    text = (
        f"left and right show that the bike leaned {abs(roll):.1f} degrees to the {side}; "
        f"their mean is used"
    )
    yield Problem(text, key, bike.file, level=NOTE)


def side_lean(bike: Bike) -> tuple[float, tuple[str, ...]] | None:
    """Mean roll, degrees, left side up positive, and the pairs it was read from.

    ``None`` where no pair has both a height on each side and a spacing.
    """
    rolls = {
        name: degrees(atan2(r.sides[0] - r.sides[1], bike.widths[name].value))
        for name, r in bike.heights.items()
        if r.sides and name in bike.widths
    }
    return (sum(rolls.values()) / len(rolls), tuple(rolls)) if rolls else None


def _stand_notes(bike: Bike) -> Iterator[Problem]:
    if bike.stand is not None and bike.state != STAND_STATE:
        text = (
            f'the table [stand] is not used, since state is "{bike.state}": write '
            f'state = "stand" if the bike stood on it while it was taped'
        )
        yield Problem(text, "stand", bike.file, level=WARNING)


def _fallback(rows: tuple[Row, ...], *, beside: bool) -> tuple[Row, ...]:
    """Rows for what is often not taped, in the order in which they are to be tried.

    ``beside``: the clamp is a fork tube's, beside the mid-plane.
    """
    grip = ("grip_end", "grip_inner")
    named = {row.end for row in rows} | {row.start for row in rows if row.start}
    pedals = [name for name in ("brake_pedal", "gear_lever") if name in named]
    return (
        Row("handlebar.grip_sweep", SWEEP, *grip, *GRIP_SWEEP),
        Row("handlebar.grip_length", LENGTH, *grip, *GRIP_LENGTH),
        Row("handlebar.grip_tilt", TILT, *grip, *GRIP_TILT),
        Row("ahead.grip_end-clamp", AHEAD, "clamp", "grip_end", CLAMP_AHEAD, CLAMP_SD),
        Row("heights.grip_end-clamp", HEIGHT, "clamp", "grip_end", CLAMP_ABOVE, CLAMP_SD),
        *(Row(f"widths.{n}", SPACING, n, None, *PEG_SPACING) for n in ("peg", *pedals)),
        *([Row("widths.tube", SPACING, "clamp", None, *TUBE_SPACING)] if beside else []),
    )
