"""A bike's file: what comes out, and what is said about mistakes."""

from __future__ import annotations

import pytest

from fitprofile.model.bike import Bike, Fitted, Hose, Lever, Straddle
from fitprofile.model.quantity import Reading
from fitprofile.store.bikes import NOTHING_TAPED, POINTS, read_bike
from fitprofile.store.mistakes import Mistakes
from fitprofile.store.toml import Document, parse_document
from tests.store.examples import BIKE


def document(text: str) -> Document:
    """A bike's file that is TOML."""
    made, problems = parse_document(text.encode(), "bikes/heron.toml")
    assert made is not None, problems
    return made


def bike(text: str = BIKE) -> Bike:
    """The bike of a right file."""
    return read_bike(document(text), "heron")


def mistakes(text: str) -> dict[str, str]:
    """What is said about a bike's file, by dotted path."""
    with pytest.raises(Mistakes) as caught:
        bike(text)
    return {".".join(map(str, path)): told for path, told in caught.value.found}


def test_every_key_comes_out() -> None:
    """Each table of a bike, in mm and degrees."""
    heron = bike()
    assert (heron.name, heron.state, heron.tape) == ("Heron (invented)", "wheels", "alone")
    assert (heron.date, heron.mileage, heron.clip_turn) == ("2026-05-17", "12400", Reading(0.0))
    assert heron.steering.rake == Reading(25.5)
    assert heron.handlebar.roll == (-8.0, 8.0)
    assert heron.handlebar.pins is True
    assert heron.widths == {"grip_end": Reading(800.0), "peg": Reading(480.0)}
    assert heron.heights["seat"] == Reading(810.0, 5.0)
    assert heron.heights["peg"] == Reading(311.0, count=2, sides=(310.0, 312.0))
    assert heron.heights["grip_end"] == Reading(1050.0, top=True)
    assert heron.heights["clamp"] == Reading(1011.0, count=2, scatter=2.0)
    assert heron.spans == {
        ("seat", "peg"): Reading(512.0),
        ("peg", "grip_end"): Reading(820.0, top=True),
    }
    assert heron.stand is not None
    assert heron.stand.rear_axle == Reading(380.0)
    assert heron.wheels is None
    brake = heron.levers.brake
    assert brake is not None
    assert brake.angle is not None
    assert brake.angle.value == pytest.approx(37 / 3)
    assert (brake.reach_range, brake.perch, brake.rotation) == ((55.0, 90.0), "pinned", (-12, 12))
    assert heron.levers.clutch == Lever()
    assert heron.hoses is not None
    assert heron.hoses.front_brake == Hose(spare=Reading(30.0))
    assert heron.hoses.throttle == Hose(spare=Reading(25.0, 2.0))
    assert heron.hoses.wiring == Hose(
        height=Reading(900.0), ahead=Reading(950.0), offset=Reading(-40.0), held_by="yoke"
    )
    assert heron.hoses.clutch is None
    assert heron.steering.fork_extension == Reading(20.0)
    assert heron.steering.fork_compression == Reading(90.0)
    assert heron.handlebar.tube_diameter == Reading(41.0)
    assert heron.handlebar.overall_width == Reading(860.0)
    assert (brake.cap_limit, brake.pull) == (Reading(15.0), Reading(40.0))
    assert heron.allows.keep == ("seat", "peg_plate")
    assert (heron.fitted.riser, heron.fitted.bar) == ("Riser 20", None)
    assert heron.straddle == Straddle(seat_width=Reading(240.0), sag=Reading(25.0))
    assert [o.name for o in heron.obstacles] == ["mirror stem", "screen edge"]
    assert heron.obstacles[0].offset == Reading(-100.0)
    assert heron.allows.bar_width == (700.0, 820.0)
    assert heron.allows.seat is None


def test_what_was_not_said_is_none() -> None:
    """A bike of one figure has empty tables and nothing made up."""
    heron = bike('schema = 1\nname = "x"\n[heights]\nseat = 810\n')
    assert heron.levers.brake is None
    assert heron.stand is None
    assert heron.wheels is None
    assert heron.hoses is None
    assert heron.obstacles == ()
    assert heron.fitted == Fitted()
    assert heron.straddle == Straddle()
    assert heron.allows.keep == ()
    assert heron.state == "wheels"
    assert heron.handlebar.kind == "one-piece"


@pytest.mark.parametrize(
    ("old", "new", "path", "said"),
    [
        ('state = "wheels"', 'state = "sidestand"', "state", "the bike leans"),
        ('state = "wheels"', 'state = "Side Stand"', "state", "the bike leans"),
        ('state = "wheels"', 'state = "wheel"', "state", 'did you mean "wheels"?'),
        ('state = "wheels"', "state = true", "state", "true is not understood"),
        ("date = 2026-05-17", 'date = "17.5.2026"', "date", "like 2026-05-17"),
        ("date = 2026-05-17", "date = 5", "date", "not text"),
        ("mileage = 12400", "mileage = 1.5", "mileage", "not text"),
        ("rake = 25.5", "rake = 64", "steering.rake", "outside 5 to 60 deg"),
        ("rake = 25.5", 'rake = "25 mm"', "steering.rake", "is a length"),
        ("pins = true", "pins = 1", "handlebar.pins", "neither true nor false"),
        ('grip_end = "80 cm"', 'grip_end = "20 m"', "widths.grip_end", "outside 0 to 1500 mm"),
        ("peg = 480", "seat = 480", "widths.seat", "belongs in [heights]"),
        ("peg = 480", "pegs = 480", "widths.pegs", "did you mean 'peg'?"),
        ('seat = { value = "81 cm"', 'seat = { value = "-81 cm"', "heights.seat.value", "negative"),
        ("peg = 560", "peg = { left = 560 }", "ahead.peg", "right is missing"),
        ("peg = 560", 'peg = { value = 560, to = "top" }', "ahead.peg.to", "heights and spans"),
        ('"seat-peg"', '"seat-pegg"', "spans.seat-pegg", "did you mean 'peg'?"),
        ('"seat-peg"', '"seat"', "spans.seat", 'as in "seat-peg"'),
        ('"seat-peg"', '"peg-peg"', "spans.peg-peg", "left to right belongs in [widths]"),
        ('"seat-peg"', '"grip_end-peg"', "spans.peg-grip_end", "twice, in both orders"),
        ('"seat-peg" = "512 mm"', '"seat-clamp" = 0', "spans.seat-clamp", "outside 1 to 3000"),
        ("[levers.clutch]", "[levers.cluch]", "levers.cluch", "did you mean 'clutch'?"),
        ('perch = "pinned"', 'perch = "pined"', "levers.brake.perch", 'did you mean "pinned"?'),
        ("pin = 4", "roll = 4", "levers.brake.roll", "belongs in [handlebar]"),
        ("offset = 0", "", "obstacle.1.offset", "offset is missing"),
        ('name = "screen edge"', 'name = ""', "obstacle.1.name", "empty"),
        ("bar_width = [700, 820]", "bar_width = [820, 700]", "allows.bar_width", "[700, 820]"),
        ("bar_width = [700, 820]", "bar_width = 700", "allows.bar_width", "two figures"),
        ("[hoses]", "[hose]", "hose", "did you mean 'hoses'?"),
        ("front_brake", "front_break", "hoses.front_break", "did you mean 'front_brake'?"),
        ("front_brake = 30", "front_brake = 3000", "hoses.front_brake", "outside -200 to 300 mm"),
        ('"yoke"', '"yolk"', "hoses.wiring.held_by", 'did you mean "yoke"?'),
        ("height = 900,", "", "hoses.wiring", "height missing: give height, ahead and offset of"),
        ("height = 900, ahead = 950,", "", "hoses.wiring", "height and ahead missing: give"),
        ("height = 900,", "hight = 900, height = 900,", "hoses.wiring.hight", "'height'?"),
        ("give_or_take = 4 }", "spare = 4 }", "hoses.throttle.value", "it can be spare"),
        ('"peg_plate"]', '"peg_plates"]', "allows.keep.1", 'did you mean "peg_plate"?'),
        ('["seat", "peg_plate"]', '"seat"', "allows.keep", "where a list of words is wanted"),
        ('["seat", "peg_plate"]', '["seat", 3]', "allows.keep.1", "the number 3"),
        ('riser = "Riser 20"', 'risr = "Riser 20"', "fitted.risr", "did you mean 'riser'?"),
        ('riser = "Riser 20"', "riser = 20", "fitted.riser", "not text: write it in quotes"),
        ('riser = "Riser 20"', 'riser = ""', "fitted.riser", "empty"),
        ("sag = 25", "sag = -5", "straddle.sag", "-5 mm is negative"),
        ("sag = 25", "cap_limit = 5", "straddle.cap_limit", "belongs in [levers.brake]"),
        ("cap_limit = 15", "cap_limit = 90", "levers.brake.cap_limit", "outside 1 to 45 deg"),
        ("fork_extension = 20", "fork_extention = 20", "steering.fork_extention", "did you mean"),
    ],
)  # fmt: skip
def test_one_mistake(old: str, new: str, path: str, said: str) -> None:
    """Each mistake is said once, at its key, with the way to mend it."""
    assert old in BIKE
    found = mistakes(BIKE.replace(old, new, 1))
    assert list(found) == [path]
    assert said in found[path]


@pytest.mark.parametrize("wrong", ["obstacle = 3", "obstacle = [3]", "[obstacle]\nname = 'x'"])
def test_obstacles_are_tables(wrong: str) -> None:
    """Anything but tables under [[obstacle]] is refused."""
    head, _, _ = BIKE.partition("[[obstacle]]")
    text = f"{wrong}\n{head}" if "[" not in wrong[:1] else f"{head}{wrong}\n"
    assert any(path.startswith("obstacle") for path in mistakes(text))


@pytest.mark.parametrize("key", ["steering", "heights", "spans", "levers", "stand", "allows"])
def test_a_figure_in_place_of_a_table(key: str) -> None:
    """A table that is none is said to be missing its keys."""
    found = mistakes(f"schema = 1\nname = 'x'\n{key} = 3\n[widths]\npeg = 480\n")
    assert found == {key: "the number 3 where a table of keys is wanted"}


def test_a_bike_nobody_taped() -> None:
    """A file without any measurement asks for the quick set in one sentence."""
    assert mistakes("schema = 1\nname = 'x'\n[heights]\n[spans]\n") == {"": NOTHING_TAPED}


def test_every_point_has_a_height_and_a_place() -> None:
    """Each point can be taped above the floor and along it."""
    lines = "\n".join(f"{name} = 400" for name in POINTS)
    heron = bike(f"schema = 1\nname = 'x'\n[heights]\n{lines}\n[ahead]\n{lines}\n")
    assert heron.heights.keys() == heron.ahead.keys() == set(POINTS)
