"""The demo garage: three invented riders, seven invented bikes, and every shape of file.

The points and bodies behind the figures were chosen on paper; the tapes carry the noise of
reading, so no survey may find a blunder and no calibration a contradiction.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from attrs import asdict, fields
from scipy.spatial.transform import Rotation

from fitprofile.errors import NOTE, Problem
from fitprofile.model.bike import (
    CLIP_ON,
    FORK,
    FRAME,
    FREE,
    PINNED,
    YOKE,
    Bike,
    Hose,
    Hoses,
)
from fitprofile.model.log import Entry
from fitprofile.model.parts import PARTS
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import MID_FOOT, Rider
from fitprofile.model.shop import Shop
from fitprofile.stages.chain import Prepared, Transfer, prepare, transfer, with_plans
from fitprofile.stages.moves import STRAIGHT_BAR, grip_axis
from fitprofile.stages.posture import Numbers
from fitprofile.stages.survey import SUSPECT, Surveyed, survey
from fitprofile.stages.verify import verify
from fitprofile.store.create import init
from fitprofile.store.schema import schema_files
from fitprofile.store.workspace import Workspace

ROOT = Path(__file__).parents[1]
WORKSPACE = Workspace(ROOT)
RIDERS = ("ash", "nela", "torvan")
BIKES = ("bracken", "clover", "juniper", "lichen", "sorrel", "tansy", "thistle")
FILES = (
    *(f"profiles/{key}.toml" for key in RIDERS),
    *(f"bikes/{key}.toml" for key in BIKES),
    "shared/tolerances.toml",
    "shared/parts.toml",
)
USES = (("ash", "road"), ("ash", "town"), ("nela", "road"), ("torvan", "road"), ("torvan", "track"))
SAT_ON = (("ash", "road"), ("nela", "road"), ("torvan", "road"), ("torvan", "track"))


@cache
def shop() -> Shop:
    found, problems = WORKSPACE.shop()
    assert found is not None
    assert problems == ()
    return found


@cache
def rider(key: str) -> Rider:
    found, problems = WORKSPACE.rider(key)
    assert found is not None
    assert problems == ()
    return found


@cache
def bikes() -> Mapping[str, Bike]:
    found = {key: WORKSPACE.bike(key)[0] for key in BIKES}
    return {key: bike for key, bike in found.items() if bike is not None}


@cache
def surveyed(key: str) -> tuple[Surveyed, tuple[Problem, ...]]:
    found, problems = survey(bikes()[key], shop())
    assert found is not None
    return found, problems


@cache
def prepared(key: str) -> tuple[Prepared, tuple[Problem, ...]]:
    found, problems = prepare(rider(key), bikes(), shop())
    assert found is not None
    return found, problems


@cache
def made(key: str, use: str, bike: str) -> Transfer:
    found, _ = transfer(prepared(key)[0], bikes()[bike], use)
    assert found is not None
    return found


def text(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def louder_than_notes(problems: tuple[Problem, ...]) -> list[str]:
    return [problem.sentence() for problem in problems if problem.level != NOTE]


def test_the_demo_holds_three_riders_and_seven_bikes() -> None:
    """The garage is the one that the README and `make demo` speak of."""
    assert WORKSPACE.rider_keys() == RIDERS
    assert WORKSPACE.bike_keys() == BIKES


def test_nothing_is_wrong_with_any_file() -> None:
    """`fitprofile check` has nothing to say about the demo."""
    assert WORKSPACE.check() == ()


@pytest.mark.parametrize("name", FILES)
def test_every_file_says_that_it_is_invented(name: str) -> None:
    """A comment says so before the first figure, and the printed name of a rider or bike too."""
    before = text(name).partition("schema = 1")[0]
    assert any(line.startswith("# Invented for the demo") for line in before.splitlines())
    if not name.startswith("shared/"):
        printed = [line for line in text(name).splitlines() if line.startswith("name = ")][:1]
        assert "(invented)" in printed[0]


@pytest.mark.parametrize("name", FILES)
def test_the_schema_line_names_a_schema_of_the_workspace(name: str) -> None:
    """The first line leads an editor to a schema that `fitprofile init` writes."""
    first = text(name).splitlines()[0]
    target = (ROOT / name).parent / first.removeprefix("#:schema ")
    assert target.resolve().parent == ROOT / "shared" / "schema"
    assert target.stem in schema_files()


@pytest.mark.parametrize("key", BIKES)
def test_no_survey_finds_a_blunder(key: str) -> None:
    """The tapes of each bike agree with each other within their spreads."""
    found, problems = surveyed(key)
    assert louder_than_notes(problems) == []
    assert all(one.status != SUSPECT for one in found.observations)


CLIP_ONS = {  # mm up and back of the maker's, as their names say, and tilt in degrees as meant
    "Clip-ons, as low as the maker's": (0.0, 0.0, -8.3),
    "Clip-ons, 20 up": (20.0, 0.0, -6.0),
    "Clip-ons, 35 up, 15 back": (35.0, 15.0, -5.0),
    "Clip-ons, 20 down": (-20.0, 0.0, -9.0),
}


@pytest.mark.parametrize("name", CLIP_ONS)
def test_clip_ons_put_the_grips_where_their_names_say(name: str) -> None:
    """Drawn on an upright tube, then tilted back with the fork by scipy's rotations."""
    catalogue = WORKSPACE.catalogue()[0]
    assert catalogue is not None
    assert {one.name for one in catalogue.clip_ons} == set(CLIP_ONS)
    part = next(one for one in catalogue.clip_ons if one.name == name)
    assert part.droop is not None
    assert part.sweep is not None
    found = surveyed("sorrel")[0]
    tube, end, inner = (
        np.array(point, dtype=float)
        for point in (found.points.tube, found.points.grip_end, found.points.grip_inner)
    )
    grip = (end - inner) / np.linalg.norm(end - inner)
    length = part.length.value if part.length else (end - tube)[1] / grip[1]
    bend = Rotation.from_euler("ZX", (part.sweep.value, -part.droop.value), degrees=True)
    axis = bend.apply([0.0, 1.0, 0.0])
    drawn = np.array([-part.offset.value, 0.0, -part.drop.value]) + length * axis
    fork = Rotation.from_euler("y", -found.rake.value, degrees=True)
    placed = tube + fork.apply(drawn)
    up, back, tilt = CLIP_ONS[name]
    assert placed[2] - end[2] == pytest.approx(up, abs=3.0)
    assert end[0] - placed[0] == pytest.approx(back, abs=3.0)
    assert np.degrees(np.arcsin(fork.apply(axis)[2])) == pytest.approx(tilt, abs=1.0)


@pytest.mark.parametrize("key", BIKES)
def test_each_bike_has_the_shape_of_a_motorcycle(key: str) -> None:
    """Sit point, pegs, grips and rake lie where they do on motorcycles (common practice)."""
    found, _ = surveyed(key)
    points = found.points
    assert 23.0 <= found.rake.value <= 33.0
    assert 680.0 <= float(points.seat.z) <= 890.0
    assert 270.0 <= float(points.peg.z) <= 430.0
    assert 860.0 <= float(points.grip_end.z) <= 1150.0
    assert 640.0 <= 2.0 * float(points.grip_end.y) <= 930.0
    wheelbase = points.others.get("front_axle")
    assert wheelbase is None or 1380.0 <= float(wheelbase.x) <= 1630.0


@pytest.mark.parametrize("key", RIDERS)
def test_no_riders_numbers_contradict_each_other(key: str) -> None:
    """Body, sit-ons and reference bikes fit together in the calibration."""
    _, problems = prepared(key)
    assert louder_than_notes(problems) == []


@pytest.mark.parametrize("bike", BIKES)
@pytest.mark.parametrize(("key", "use"), USES)
def test_every_transfer_computes_and_its_exact_answer_is_on_target(
    key: str, use: str, bike: str
) -> None:
    """For each rider, use and bike the exact changes give the rider's own numbers."""
    found = made(key, use, bike)
    after, target = found.exact_after, found.target
    assert after.reachable
    assert float(after.bar_width_mm) == pytest.approx(float(target.bar_width_mm), abs=0.01)
    assert float(after.navel_to_bar_mm) == pytest.approx(float(target.navel_to_bar_mm), abs=0.01)
    for name in ("forearm_angle_deg", "knee_angle_deg"):
        assert float(getattr(after, name)) == pytest.approx(float(getattr(target, name)), abs=0.001)
    assert not [problem for problem in found.problems if problem.level == "error"]
    assert 0.0 <= found.chance <= 1.0


@pytest.mark.parametrize(("key", "use"), SAT_ON)
def test_the_bike_a_cockpit_was_measured_on_already_fits(key: str, use: str) -> None:
    """Bar and pegs of the good bike stay as they are."""
    measured_on = rider(key).cockpits[use].measured_on or ""
    done = made(key, use, measured_on).practical
    assert done.missed == ()
    assert {"navel_to_bar", "forearm_angle", "knee_angle", "bar_width"} <= set(done.leave)


def test_a_cockpit_from_memory_is_trusted_less_than_a_measured_one() -> None:
    """On the same bike the chance at the first try is smaller and the riser's spread larger."""
    memory, measured = made("ash", "town", "clover"), made("ash", "road", "clover")
    assert memory.chance < measured.chance
    assert memory.give_or_take.riser_height_mm > 2.0 * measured.give_or_take.riser_height_mm


def test_the_straight_bar_is_not_levelled_by_roll() -> None:
    """The scrambler's bar has no roll that levels it, and a warning says so."""
    found = made("ash", "road", "lichen")
    assert abs(float(grip_axis(found.points).x)) < STRAIGHT_BAR
    assert np.isnan(found.exact.bar_roll_deg)
    assert any("too straight" in problem.text for problem in found.problems)


def test_the_stand_is_turned_out_of_the_points() -> None:
    """The adventure bike stood nose down on its stand and leaned a little."""
    found, _ = surveyed("bracken")
    assert -2.5 < found.stand_pitch_deg < -1.0
    assert found.side_lean_deg is not None
    assert 0.0 < abs(found.side_lean_deg) < 1.0


def test_limits_bite_on_the_automatic() -> None:
    """Rolling, raising and moving the pegs of the automatic end at what it allows."""
    wanted = {limit.what for limit in made("torvan", "road", "clover").limits}
    assert {"bar_width_change", "bar_roll", "riser_pullback", "peg_move.z"} <= wanted


def test_the_cruisers_pegs_are_more_open_than_wished_and_stay() -> None:
    """A knee more open than wished, inside the rider's limit, needs no move of the pegs."""
    found = made("nela", "road", "juniper")
    assert float(found.now.knee_angle_deg) > float(found.target.knee_angle_deg) + 3.0
    assert "knee_angle" in found.practical.leave


RIDER_SHAPES: Mapping[str, Callable[[Rider], bool]] = {
    "sex unsaid": lambda one: one.sex is None,
    "female": lambda one: one.sex == "female",
    "male": lambda one: one.sex == "male",
    "much of the body measured": lambda one: len(one.body) >= 15,
    "little of the body measured": lambda one: len(one.body) <= 6,
    "taped alone": lambda one: one.tape == "alone",
    "repeated readings": lambda one: one.body["navel_height_sitting"].count > 1,
    "give or take in the body": lambda one: any(r.sd is not None for r in one.body.values()),
    "two cockpits on two bikes": lambda one: (
        len({cockpit.measured_on for cockpit in one.cockpits.values()} - {None}) == 2
    ),
    "from memory": lambda one: any(c.measured_on is None for c in one.cockpits.values()),
    "two tapes": lambda one: any(c.navel_to_grip_ends for c in one.cockpits.values()),
    "forearm from a photo": lambda one: any(c.forearm_angle for c in one.cockpits.values()),
    "middle of the foot": lambda one: any(c.foot == MID_FOOT for c in one.cockpits.values()),
    "own tolerances": lambda one: any(
        value < shop().tolerances[name] for name, value in one.tolerances.items()
    ),
    "limits": lambda one: one.limits.lean is not None and one.limits.knee_angle is not None,
    "standing": lambda one: any(use.hip_to_grip for use in one.standing.values()),
    "hands that differ": lambda one: any(
        cockpit.lever_reach is not None and cockpit.lever_reach.sides is not None
        for cockpit in one.cockpits.values()
    ),
}

BIKE_SHAPES: Mapping[str, Callable[[Bike], bool]] = {
    "clip-ons with tubes": lambda one: one.handlebar.kind == CLIP_ON and "tube" in one.widths,
    "stand": lambda one: one.state == "stand" and one.stand is not None and one.wheels is not None,
    "quick set": lambda one: not one.ahead and len(one.heights) == 3 and len(one.spans) == 3,
    "no clutch lever": lambda one: one.levers.brake is not None and one.levers.clutch is None,
    "pinned perch with pin": lambda one: (
        one.levers.brake is not None
        and one.levers.brake.perch == PINNED
        and one.levers.brake.pin is not None
    ),
    "free perch with its band": lambda one: (
        one.levers.clutch is not None
        and one.levers.clutch.perch == FREE
        and one.levers.clutch.rotation is not None
    ),
    "reach adjuster": lambda one: (
        one.levers.brake is not None and one.levers.brake.reach_range is not None
    ),
    "tape to the top": lambda one: any(reading.top for reading in one.heights.values()),
    "taped on both sides": lambda one: any(r.sides is not None for r in one.heights.values()),
    "repeated readings": lambda one: any(r.count > 1 for r in one.heights.values() if not r.sides),
    "give or take": lambda one: any(r.sd is not None for r in one.ahead.values()),
    "hoses": lambda one: one.hoses is not None and one.hoses.front_brake is not None,
    "obstacles": lambda one: len(one.obstacles) > 0,
    "hardly any roll": lambda one: one.handlebar.roll is not None and one.handlebar.roll[1] <= 3.0,
    "pegs far forward": lambda one: (
        "peg" in one.ahead and one.ahead["peg"].value > one.ahead["seat"].value + 400.0
    ),
    "redundant spans": lambda one: len(one.spans) >= 7,
    "taped alone": lambda one: one.tape == "alone",
    "pedals": lambda one: {"brake_pedal", "gear_lever"} <= one.heights.keys(),
    "hose held by the frame": lambda one: FRAME in held(one),
    "hose held by the yokes": lambda one: YOKE in held(one),
    "hose held by the fork": lambda one: FORK in held(one),
    "hose with its spare length only": lambda one: any(
        hose.spare is not None and hose.height is None for hose in hoses(one)
    ),
    "fork travel": lambda one: one.steering.fork_extension is not None,
    "parts to keep": lambda one: len(one.allows.keep) > 0,
    "fitted parts": lambda one: one.fitted.riser is not None,
    "straddle": lambda one: one.straddle.seat_width is not None,
    "reservoir": lambda one: (
        one.levers.brake is not None and one.levers.brake.cap_limit is not None
    ),
}


def hoses(one: Bike) -> list[Hose]:
    """Every line of a bike of which something was said."""
    if one.hoses is None:
        return []
    lines = (getattr(one.hoses, field.name) for field in fields(Hoses))
    return [line for line in lines if line is not None]


def held(one: Bike) -> set[str]:
    """What the lines of a bike are held by, where their holding points are known."""
    return {hose.held_by for hose in hoses(one) if hose.height is not None}


@pytest.mark.parametrize("shape", RIDER_SHAPES)
def test_some_rider_has_each_shape(shape: str) -> None:
    """The demo keeps exercising what a rider's file may hold."""
    assert any(RIDER_SHAPES[shape](rider(key)) for key in RIDERS)


@pytest.mark.parametrize("shape", BIKE_SHAPES)
def test_some_bike_has_each_shape(shape: str) -> None:
    """The demo keeps exercising what a bike's file may hold."""
    assert any(BIKE_SHAPES[shape](bike) for bike in bikes().values())


@pytest.mark.parametrize("unit", [' cm"', ' mm"', ' in"', "/16 in", " ft ", "½", ' lb"', ' kg"'])
def test_figures_are_written_in_many_units(unit: str) -> None:
    """Centimetres, millimetres, inches with fractions, feet and inches, pounds and kilograms."""
    assert any(unit in text(name) for name in FILES)


def test_the_shop_differs_from_the_figures_to_start_from() -> None:
    """Some line of the shop's file is in force."""
    assert shop().tolerances != Shop().tolerances
    assert shop().spreads != Shop().spreads


def test_the_catalogue_holds_every_kind_of_part() -> None:
    """And each part has a price and minutes, in one currency."""
    found, problems = WORKSPACE.catalogue()
    assert found is not None
    assert problems == ()
    assert found.currency == "EUR"
    for kind in PARTS:
        assert len(found.of(kind)) >= 2
        assert all(part.price.value > 0.0 < part.minutes.value for part in found.of(kind))
    assert any(part.fits for kind in PARTS for part in found.of(kind))


def test_the_demo_s_schemas_are_those_that_init_writes(tmp_path: Path) -> None:
    """Editors complete the demo's files as they do a user's own."""
    fresh = tmp_path / "garage"
    assert not init(fresh)[1]
    written = sorted(path.name for path in (fresh / "shared" / "schema").iterdir())
    assert written == sorted(path.name for path in (ROOT / "shared" / "schema").iterdir())
    for name in written:
        mine = (ROOT / "shared" / "schema" / name).read_bytes()
        assert mine == (fresh / "shared" / "schema" / name).read_bytes(), name


SHOWN = {
    "bar_width": "bar_width_mm",
    "navel_to_bar": "navel_to_bar_mm",
    "forearm_angle": "forearm_angle_deg",
    "knee_angle": "knee_angle_deg",
    "grip_tilt": "grip_tilt_deg",
}


def taken(rider_key: str, bike: str, use: str, after: Numbers) -> Entry:
    """An entry that reads exactly what a plan says will show; what is not there is not read."""
    figures = {key: float(getattr(after, name)) for key, name in SHOWN.items()}
    for side in ("brake", "clutch"):
        figures[f"lever_angle_{side}"] = float(getattr(after.lever_angle_deg, side))
        figures[f"lever_reach_{side}"] = float(getattr(after.lever_reach_mm, side))
    read = {key: Reading(value) for key, value in figures.items() if np.isfinite(value)}
    return Entry(bike=bike, use=use, date="2026-06-01", when="after", line=1, **read)  # type: ignore[arg-type]


@pytest.mark.parametrize(("key", "use"), USES)
def test_a_plan_carried_out_exactly_is_verified_as_it_was_promised(key: str, use: str) -> None:
    """Inside every tolerance as planned: inside as measured, and nothing is left to change."""
    catalogue, _ = WORKSPACE.catalogue()
    assert catalogue is not None
    promised = 0
    for bike in BIKES:
        planned = with_plans(prepared(key)[0], made(key, use, bike), catalogue)
        assert planned.offers is not None
        for offer in planned.offers.offers:
            if not offer.plan.inside:
                continue
            promised += 1
            found = verify(planned, taken(key, bike, use, offer.plan.after), shop())
            outside = [one for one in found.numbers if one.inside is False]
            assert found.inside, (bike, offer.plan.name, outside)
            left = [value for value in asdict(found.left).values() if not isinstance(value, dict)]
            left += [getattr(found.left.lever_rotation_deg, side) for side in ("brake", "clutch")]
            assert not np.nan_to_num(left).any(), (bike, offer.plan.name, found.left)
    assert promised
