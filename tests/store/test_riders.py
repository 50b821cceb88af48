"""A rider's file: what comes out, and what is said about mistakes."""

from __future__ import annotations

import pytest

from fitprofile.model.quantity import Reading
from fitprofile.model.rider import BODY, Rider
from fitprofile.store.mistakes import Mistakes
from fitprofile.store.riders import measured_on, read_rider
from fitprofile.store.toml import Document, parse_document
from fitprofile.units import KG_PER_POUND
from tests.store.examples import RIDER


def document(text: str) -> Document:
    """A rider's file that is TOML."""
    made, problems = parse_document(text.encode(), "profiles/ida.toml")
    assert made is not None, problems
    return made


def mistakes(text: str) -> dict[str, str]:
    """What is said about a rider's file, by dotted path."""
    with pytest.raises(Mistakes) as caught:
        read_rider(document(text), "ida")
    return {".".join(map(str, path)): told for path, told in caught.value.found}


def rider(text: str = RIDER) -> Rider:
    """The rider of a right file."""
    return read_rider(document(text), "ida")


def test_every_key_comes_out() -> None:
    """Body, cockpits in their order, limits and tolerances, each in mm, degrees and kg."""
    ida = rider()
    assert (ida.key, ida.file, ida.name) == ("ida", "profiles/ida.toml", "Ida Invented")
    assert (ida.sex, ida.tape, ida.notes) == ("female", "helper", "two\nlines")
    assert ida.body == {
        "stature": Reading(1680.0),
        "navel_height_sitting": Reading(216.0, count=2, scatter=2.0),
        "weight": Reading(140 * KG_PER_POUND),
    }
    assert list(ida.cockpits) == ["road", "track"]
    road, track = ida.cockpits["road"], ida.cockpits["track"]
    assert road.bar_width.value == pytest.approx(800.1)
    assert road.navel_to_bar == Reading(515.0, 4.0, how="tape")
    assert road.navel_to_grip_ends is None
    assert road.lever_angle == Reading(14.0)
    assert road.knee_angle == Reading(89.0, count=2, scatter=2.0)
    assert road.measured_on == "heron"
    assert track.navel_to_grip_ends == (Reading(640.0), Reading(643.0, count=2, scatter=2.0))
    assert track.forearm_angle == Reading(18.0)
    assert (track.foot, track.measured_on) == ("ball", None)
    assert track.lever_reach == Reading(59.0, count=2, sides=(58.0, 60.0))
    assert list(ida.standing) == ["trail"]
    trail = ida.standing["trail"]
    assert trail.grip_above_peg == Reading(993.0, count=2, scatter=6.0)
    assert trail.grip_ahead_of_peg == Reading(320.0)
    assert (trail.hip_to_grip, trail.lever_angle) == (Reading(520.0), Reading(32.0))
    assert (trail.lean, trail.brake_pedal) == (Reading(30.0), Reading(-20.0))
    assert (trail.bar_width, trail.gear_lever, trail.measured_on) == (None, None, "heron")
    assert ida.limits.lean == (5.0, 25.0)
    assert ida.limits.knee_angle is None
    assert ida.tolerances == {"bar_width": 5.0}


def test_only_a_few_figures_are_needed() -> None:
    """Name, stature, navel height and one cockpit of four figures make a rider."""
    ida = rider(
        'schema = 1\nname = "Ida"\n[body]\nstature = 1680\nnavel_height_sitting = 215\n'
        "[cockpit.road]\nbar_width = 760\nnavel_to_bar = 515\nlever_angle = 14\nknee_angle = 88\n"
    )
    assert ida.sex is None
    assert ida.tape == "alone"
    assert ida.tolerances == {}


@pytest.mark.parametrize(
    ("old", "new", "path", "said"),
    [
        ("[body]", "[bdy]", "bdy", "did you mean 'body'?"),
        ('"female"', '"femal"', "body.sex", 'did you mean "female"?'),
        ('"female"', "1", "body.sex", "the number 1"),
        ('"168 cm"', "168", "body.stature", 'did you mean "168 cm"?'),
        ('"168 cm"', "1680000", "body.stature", "outside 1000 to 2300 mm"),
        ('stature = "168 cm"', "", "body.stature", "stature is missing"),
        ("weight =", "wieght =", "body.wieght", "did you mean 'weight'?"),
        ("knee_angle = 84", "", "cockpit.track.knee_angle", "knee_angle is missing"),
        ("knee_angle = 84", "kneeangle = 84", "cockpit.track.kneeangle", "'knee_angle'?"),
        (
            "lever_angle = 14",
            "lever_angle = 14\nforearm_angle = 15",
            "cockpit.road.forearm_angle",
            "both given",
        ),
        ("lever_angle = 14", "", "cockpit.road.lever_angle", "give lever_angle or forearm_angle"),
        (
            "navel_to_bar = {",
            'navel_to_grip_ends = ["64 cm", "64 cm"]\nnavel_to_bar = {',
            "cockpit.road.navel_to_grip_ends",
            "both given",
        ),
        ('    "64 cm",\n', "", "cockpit.track.navel_to_grip_ends", "[left, right]"),
        ('"64.2 cm"', '"64.2 deg"', "cockpit.track.navel_to_grip_ends.1.1", "an angle"),
        ('"heron"', '"bikes/heron.toml"', "cockpit.road.measured_on", "cannot be a name"),
        ('"heron"', "3", "cockpit.road.measured_on", "not the name of a bike's file"),
        ("[cockpit.track]", '[cockpit."../x"]', "cockpit.../x", "cannot be a name"),
        ("lean = [5, 25]", "lean = [25, 5]", "limits.lean", "write [5, 25]"),
        ("bar_width = 5", "lean = 5", "tolerances.lean", "belongs in [cockpit.USE]"),
        ('tape = "helper"', 'tape = "helper"\nstature = 3', "stature", "belongs in [body]"),
        ("[standing.trail]", "[standing.road]", "standing.road", "of a cockpit already"),
        ("[standing.trail]", '[standing."a b"]', "standing.a b", "cannot be a name"),
        ("[standing.trail]", "[standng.trail]", "standng", "did you mean 'standing'?"),
        ("hip_to_grip", "hip_to_gripp", "standing.trail.hip_to_gripp", "'hip_to_grip'?"),
        ("grip_ahead_of_peg = 320", "", "standing.trail.grip_ahead_of_peg", "is missing"),
        ("brake_pedal = -20", "brake_pedal = -200", "standing.trail.brake_pedal", "-150 to 150"),
        ("brake_pedal = -20", "foot = 'arch'", "standing.trail.foot", "in [cockpit.USE]"),
        (
            "lever_angle = 32",
            'lever_angle = "14/20 deg"',
            "standing.trail.lever_angle",
            "write { left = 14, right = 20 }",
        ),
        ("{ left = 58, right", "{ left = 5, right", "cockpit.track.lever_reach.left", "20 to 150"),
        ("{ left = 58, right", "{ right", "cockpit.track.lever_reach", "left is missing"),
        (
            'bar_width = "31 1/2 in"',
            "bar_width = { left = 395, right = 370 }",
            "cockpit.road.bar_width",
            "both grips stand alike",
        ),
        (
            "lever_angle = 14",
            "lever_angle = { right = 20 }",
            "cockpit.road.lever_angle",
            "left is missing: give both sides",
        ),
        (
            "lever_angle = 14",
            "lever_angle = 14\nforearm_angle = { left = 14, right = 20 }",
            "cockpit.road.forearm_angle",
            "both given",
        ),
        (
            "lever_angle = 14",
            "lever_angle = { left = 14, right = 80 }",
            "cockpit.road.lever_angle.right",
            "-60 to 60",
        ),
        ("foot =", "tape =", "cockpit.road.tape", "belongs at the top"),
        ("'''", '"""', "", ""),
    ],
)
def test_one_mistake(old: str, new: str, path: str, said: str) -> None:
    """Each mistake is said once, at its key, with the way to mend it."""
    assert old in RIDER
    text = RIDER.replace(old, new)
    if not path:
        assert rider(text) == rider()
        return
    found = mistakes(text)
    assert said in found[path]
    assert len(found) == 1 or path == "bdy"


def test_no_cockpit_at_all() -> None:
    """Without a riding position the body is read; figures without a use are named once."""
    text = RIDER[: RIDER.index("[cockpit.road]")]
    assert dict(rider(text).cockpits) == {}
    direct = mistakes(text + "[cockpit]\nbar_width = 760\nlever_angle = 14\n")
    assert list(direct) == ["cockpit"]
    assert "name it by its use" in direct["cockpit"]
    for wrong in ("cockpit = 3\n", "[[cockpit]]\n"):
        assert mistakes(wrong + text.replace("#:", "#"))["cockpit"]


def test_internal_fields_are_no_keys() -> None:
    """What the program fills in itself cannot be written into a file."""
    for key in ("key", "file", "cockpits"):
        assert "unknown key" in mistakes(f"{key} = 'x'\n{RIDER}")[key]


def test_every_landmark_is_read() -> None:
    """All names of the body's list are taken, each within its own range."""
    middle = {name: (q.low + q.high) / 2.0 for name, q in BODY.items()}
    lines = "\n".join(f"{name} = {value}" for name, value in middle.items())
    cut = RIDER.index("sex ="), RIDER.index("[cockpit.road]")
    body = rider(f"{RIDER[: cut[0]]}{lines}\n{RIDER[cut[1] :]}").body
    assert {name: reading.value for name, reading in body.items()} == middle


def test_bikes_are_named_even_beside_mistakes() -> None:
    """The references of a file are known also where the rest of it is wrong."""
    assert measured_on(document(RIDER.replace("stature", "x"))) == (
        ("cockpit", "road", "heron"),
        ("standing", "trail", "heron"),
    )
    assert measured_on(document("cockpit = 3")) == ()
    assert measured_on(document("[cockpit.a]\nmeasured_on = '../x'")) == ()


def test_a_bike_is_named_with_or_without_its_ending() -> None:
    """`measured_on` takes the file's name either way."""
    assert rider(RIDER.replace('"heron"', '"heron.toml"')) == rider()


def test_arms_that_differ_standing() -> None:
    """Left and right of the standing lever angle, as sitting."""
    told = RIDER.replace("lever_angle = 32", 'lever_angle = { left = 26, right = "14 deg" }')
    read = rider(told).standing["trail"].lever_angle
    assert read == Reading(20.0, count=2, sides=(26.0, 14.0))


def test_a_standing_use_without_a_name_of_its_own() -> None:
    """Figures directly in [standing] are met with the form that names them."""
    head, rest = RIDER.split("[standing.trail]", 1)
    tail = rest[rest.index("[limits]") :]
    told = mistakes(f"{head}[standing]\ngrip_above_peg = 990\n{tail}")
    assert told == {
        "standing": "figures stand directly in [standing]: name it by its use, as in "
        "[standing.trail]"
    }
    assert dict(rider(head + tail).standing) == {}


def test_only_knees_arms_and_hands_differ_from_side_to_side() -> None:
    """A lean has no left and right."""
    found = mistakes(RIDER.replace("lean = 12", "lean = { left = 12, right = 12 }"))
    assert list(found) == ["cockpit.road.lean.left"]
    assert "write one figure for both" in found["cockpit.road.lean.left"]
    lone = mistakes(RIDER.replace("lean = 12", "lean = { value = 12, right = 12 }"))
    assert list(lone) == ["cockpit.road.lean.right"]
    knees = rider(RIDER.replace("knee_angle = 84", "knee_angle = { left = 84, right = 90 }"))
    assert knees.cockpits["track"].knee_angle == Reading(87.0, count=2, sides=(84.0, 90.0))
    levers = rider(RIDER.replace("lever_angle = 14", "lever_angle = { left = 14, right = 20 }"))
    assert levers.cockpits["road"].lever_angle == Reading(17.0, count=2, sides=(14.0, 20.0))
    arms = RIDER.replace('forearm_angle = "18°"', 'forearm_angle = { left = "18°", right = 21 }')
    assert rider(arms).cockpits["track"].forearm_angle == Reading(19.5, count=2, sides=(18.0, 21.0))
