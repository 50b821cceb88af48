"""From a bike's file to its points: exact tapes, blunders, stands, clip-ons and what is missing."""

from __future__ import annotations

from math import cos, radians, sin
from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.errors import ERROR, NOTE, WARNING, Problem
from fitprofile.model.bike import CLIP_ON, ON_STAND, Bike, Handlebar, Lever, Levers, Stand, Steering
from fitprofile.model.quantity import Reading
from fitprofile.model.shop import Shop
from fitprofile.stages.survey import (
    ASSUMED,
    OK,
    SUSPECT,
    UNCHECKED,
    Surveyed,
    sample,
    survey,
)
from tests.stages.taped import BODY, TRIANGLE, TRUE, Point, bike, changed, full, named, quick, tapes

SHOP = Shop()


def done(one: Bike) -> Surveyed:
    surveyed, problems = survey(one, SHOP)
    assert surveyed is not None, [p.sentence() for p in problems]
    return surveyed


def errors(one: Bike) -> list[Problem]:
    surveyed, problems = survey(one, SHOP)
    assert surveyed is None
    return [p for p in problems if p.level == ERROR]


def warnings(one: Bike) -> list[Problem]:
    return [p for p in survey(one, SHOP)[1] if p.level == WARNING]


def tilted(angle: float, lift: float = 0.0) -> dict[str, Point]:
    """The bike on a stand: nose up by ``angle`` degrees about the rear axle, raised by ``lift``."""
    c, s, height = cos(radians(angle)), sin(radians(angle)), TRUE["rear_axle"][2]
    return {
        n: (x * c - (z - height) * s, y, x * s + (z - height) * c + height + lift)
        for n, (x, y, z) in TRUE.items()
    }


def stood(angle: float, lift: float = 0.0, **more: Any) -> Bike:
    """Everything read on the stand, axles on both."""
    there = full(tilted(angle, lift))
    axles = {n: there.heights[n] for n in ("rear_axle", "front_axle")}
    heights = {n: r for n, r in there.heights.items() if n not in axles}
    on_wheels = Stand(**{n: Reading(TRUE[n][2]) for n in axles})
    return evolve(
        there, state="stand", heights=heights, stand=Stand(**axles), wheels=on_wheels, **more
    )


def test_exact_tapes_give_the_points_back() -> None:
    """Every point to a millionth of a millimetre, nothing assumed or suspected."""
    surveyed = done(full())
    for name, point in TRUE.items():
        assert named(surveyed)[name] == pytest.approx(point, abs=1e-6)
    assert {o.status for o in surveyed.observations} <= {OK, UNCHECKED}
    assert surveyed.redundancy == pytest.approx(3.0)
    assert surveyed.names[:5] == BODY
    assert surveyed.covariance.shape == (21, 21)


def test_heights_and_distances_alone_carry_the_tapes_spreads() -> None:
    """No redundancy: each coordinate has the sd of its own reading, and is unchecked."""
    one = evolve(full(), spans={})
    surveyed = done(one)
    sd = np.sqrt(np.diag(surveyed.covariance)).reshape(-1, 3)
    assert sd[0] == pytest.approx((20.0, 0.0, 10.0), rel=1e-6)
    assert sd[1] == pytest.approx((6.0, 1.0, 4.0), rel=1e-6)
    assert sd[2] == pytest.approx((3.0, 0.0, 3.0), rel=1e-6)
    assert {o.status for o in surveyed.observations} == {UNCHECKED}


def test_a_bike_in_whole_numbers_can_be_checked_by_hand() -> None:
    """Boxes of 3 x 2 x 6 and 6 x 2 x 9, whose diagonals are 7 and 11: spans 490 and 550."""
    points = {
        "seat": (0.0, 0.0, 800.0),
        "peg": (420.0, 140.0, 590.0),
        "grip_end": (450.0, 300.0, 900.0),
    }
    widths = {"peg": Reading(280.0), "grip_end": Reading(600.0)}
    readings = tapes(points, points, (), (("seat", "peg"), ("seat", "grip_end")), ())
    assert [r.value for r in readings["spans"].values()] == [490.0, 550.0]
    found = named(done(bike(**{**readings, "widths": widths})))
    assert found["peg"] == pytest.approx((420.0, 140.0, 590.0), abs=1e-6)
    assert found["grip_end"] == pytest.approx((450.0, 300.0, 900.0), abs=1e-6)


def test_the_quick_set_without_axles_is_enough() -> None:
    """Points relative to the sit point; clamp, rake and grip assumed, each noted."""
    surveyed, problems = survey(quick(), SHOP)
    assert surveyed is not None
    found = named(surveyed)
    for name in ("seat", "peg", "grip_end"):
        x, y, z = TRUE[name]
        assert found[name] == pytest.approx((x - 450.0, y, z), abs=1e-6)
    gx, gy, gz = np.subtract(found["grip_inner"], found["grip_end"])
    assert (gx, gy, gz) == pytest.approx(
        (125 * sin(radians(15)), -125 * cos(radians(15)), 0.0), abs=1e-6
    )
    assert np.subtract(found["clamp"], found["grip_end"])[[0, 2]] == pytest.approx((90.0, -30.0))
    assert (surveyed.rake.value, surveyed.rake.sd, surveyed.rake.assumed) == (26.0, 3.0, True)
    assert {p.level for p in problems} == {NOTE}
    assert {p.key for p in problems} == {
        "ahead.clamp",
        "handlebar.grip_sweep",
        "handlebar.grip_length",
        "handlebar.grip_tilt",
        "steering.rake",
    }
    assert surveyed.redundancy == pytest.approx(1.0)
    status = {o.key: o.status for o in surveyed.observations}
    assert status["handlebar.grip_tilt"] == status["heights.grip_end-clamp"] == ASSUMED
    clamp = 3 * surveyed.names.index("clamp")
    assert surveyed.covariance[clamp, clamp] > 40.0**2


def test_a_planted_blunder_is_found_and_named() -> None:
    """50 mm on one span of a network with three tapes to spare."""
    one = full()
    wrong = evolve(one, spans=changed(one.spans, ("peg", "grip_end"), 50.0))
    (problem,) = warnings(wrong)
    assert problem.key == "spans.peg-grip_end"
    assert "about 50 mm too large" in problem.text
    found = done(wrong)
    assert [o.key for o in found.observations if o.status == SUSPECT] == ["spans.peg-grip_end"]


def test_blunders_that_cannot_be_told_apart_are_all_named() -> None:
    """Quick set with one tape to spare: its checked readings tie, and are all named."""
    one = quick()
    (problem,) = warnings(evolve(one, spans=changed(one.spans, ("seat", "peg"), 60.0)))
    for key in ("heights.seat", "heights.peg", "spans.seat-peg", "spans.peg-grip_end"):
        assert key in problem.text
    assert "cannot be told apart" in problem.text


def test_the_span_asked_for_is_named() -> None:
    """A clamp taped by height and from two points ties; the peg is the place to tape from."""
    spans = (*TRIANGLE, ("seat", "clamp"), ("grip_end", "clamp"))
    heights = ("seat", "peg", "grip_end", "clamp")
    fields = tapes(heights=heights, ahead=("seat", "peg", "grip_end"), spans=spans)
    fields["spans"] = changed(fields["spans"], ("seat", "clamp"), 90.0)
    (problem,) = warnings(bike(**fields))
    assert "spans.seat-clamp" in problem.text
    assert "one more span, from the peg to the bar clamp (spans.peg-clamp)" in problem.text


def test_a_new_point_is_asked_for_where_every_span_is_taped() -> None:
    """The quick set has no span left between its points; taping the clamp tells them apart."""
    one = quick()
    wrong = evolve(one, heights=changed(one.heights, "seat", 60.0))
    (problem,) = warnings(wrong)
    for key in ("heights.clamp", "spans.seat-clamp", "spans.peg-clamp"):
        assert key in problem.text
    before = [o.key for o in done(wrong).observations if o.status == SUSPECT]
    clamp = tapes(heights=("clamp",), spans=(("seat", "clamp"), ("peg", "clamp")))
    told = evolve(
        wrong,
        heights={**wrong.heights, **clamp["heights"]},
        spans={**wrong.spans, **clamp["spans"]},
    )
    after = [o.key for o in done(told).observations if o.status == SUSPECT]
    assert len(before) == 5
    assert "heights.seat" in after
    assert len(after) < len(before)


def test_points_that_cannot_be_a_motorcycle_s_stop_the_survey() -> None:
    """Grips without a width: one error, and no numbers."""
    one = full()
    (problem,) = errors(evolve(one, widths={**one.widths, "grip_end": Reading(0.0)}, spans={}))
    assert problem.key == "widths.grip_end"


def test_readings_that_contradict_each_other_are_questioned_and_weigh_less() -> None:
    """700 and 890 for the seat: a warning with both, and a spread of half their distance."""
    one = evolve(full(), spans={})
    seat = Reading(795.0, count=2, scatter=190.0)
    wrong = evolve(one, heights={**one.heights, "seat": seat})
    (problem,) = warnings(wrong)
    assert problem.key == "heights.seat"
    assert "190 mm apart, more than the tape explains" in problem.text
    assert np.sqrt(done(wrong).covariance[2, 2]) == pytest.approx(95.0)


def test_every_repeated_figure_of_a_bike_is_looked_at() -> None:
    """Widths, spans, grip, rake and levers, each by its own row of the table."""
    one = full()
    far: dict[str, Any] = {"count": 2, "scatter": 40.0}
    wide: dict[str, Any] = {"count": 2, "scatter": 20.0}
    lever = Lever(angle=Reading(11.0, **wide), reach=Reading(60.0, **wide))
    wrong = evolve(
        one,
        widths={**one.widths, "peg": Reading(460.0, **far)},
        spans={**one.spans, ("seat", "peg"): evolve(one.spans["seat", "peg"], **far)},
        handlebar=Handlebar(grip_tilt=Reading(2.0, **wide)),
        steering=Steering(rake=Reading(26.0, **wide)),
        levers=Levers(brake=lever),
    )
    assert {p.key for p in warnings(wrong)} == {
        "widths.peg",
        "spans.seat-peg",
        "handlebar.grip_tilt",
        "steering.rake",
        "levers.brake.angle",
        "levers.brake.reach",
    }


def test_unfixed_points_are_named_all_at_once() -> None:
    """No seat height, a peg that nothing ties: one error each, with the key to fill in."""
    fields = tapes(heights=("peg", "grip_end"), ahead=("seat", "grip_end"))
    assert [p.key for p in errors(bike(**fields))] == ["heights.seat", "ahead.peg"]


def test_an_empty_bike_asks_for_the_quick_set() -> None:
    """Bar width and three heights."""
    keys = [p.key for p in errors(bike())]
    assert keys == ["widths.grip_end", "heights.seat", "heights.peg", "heights.grip_end"]


def test_an_axle_that_nothing_uses_is_no_error() -> None:
    """Its height is kept aside without a word."""
    one = quick()
    heights = {**one.heights, "rear_axle": Reading(310.0), "front_axle": Reading(300.0)}
    assert {p.level for p in survey(evolve(one, heights=heights), SHOP)[1]} == {NOTE}
    assert done(evolve(one, heights=heights)).points.others == {}


def test_a_height_and_a_steep_span_are_refused() -> None:
    """The peg 15 degrees off upright below the sit point, with one span: tape it ahead."""
    one = full()
    ahead = {n: r for n, r in one.ahead.items() if n != "peg"}
    (problem,) = errors(evolve(one, ahead=ahead, spans={("seat", "peg"): one.spans["seat", "peg"]}))
    assert problem.key == "ahead.peg"
    assert "30 degrees" in problem.text


QUICK = (
    *("heights.seat", "heights.peg", "heights.grip_end"),
    *("spans.seat-peg", "spans.seat-grip_end", "spans.peg-grip_end"),
)


def quick_without(*keys: str) -> Bike:
    """The quick set with some of its six tapes left out."""
    one = quick()
    heights = {n: r for n, r in one.heights.items() if f"heights.{n}" not in keys}
    spans = {(a, b): r for (a, b), r in one.spans.items() if f"spans.{a}-{b}" not in keys}
    return evolve(one, heights=heights, spans=spans)


@pytest.mark.parametrize("key", QUICK)
def test_the_one_tape_that_the_quick_set_lacks_is_named(key: str) -> None:
    """One cause, one sentence, whichever of the six is missing."""
    (problem,) = errors(quick_without(key))
    assert problem.key == key
    assert f"({key}) is missing" in problem.text
    others = [other for other in QUICK if other != key]
    assert not any(other in problem.text for other in others)


@pytest.mark.parametrize(
    "keys", [QUICK[:1] + QUICK[5:], QUICK[3:], ("heights.peg", "spans.seat-peg", "heights.seat")]
)
def test_what_the_quick_set_lacks_comes_in_one_sentence(keys: tuple[str, ...]) -> None:
    """Two or three of its six."""
    found = errors(quick_without(*keys))
    if len(found) == 1:
        assert all(key in found[0].text for key in keys)
    told = " ".join(problem.text for problem in found)
    assert all(key in told for key in keys)
    assert len(found) == 1


def test_a_missing_bar_width_causes_no_other_error() -> None:
    """It is asked for, and the rest is looked at with a usual width."""
    assert [p.key for p in errors(evolve(quick(), widths={}))] == ["widths.grip_end"]


def test_impossible_spans_are_named() -> None:
    """A span of 200 across a height of 230: both keys, and how far apart they are."""
    fields = tapes(heights=("seat", "peg", "grip_end"), spans=TRIANGLE)
    fields["widths"]["grip_end"] = Reading(0.0)
    del fields["spans"]["peg", "grip_end"]
    fields["spans"]["seat", "grip_end"] = Reading(190.0)
    found = [p for p in errors(bike(**fields)) if p.key == "spans.seat-grip_end"]
    assert len(found) == 1
    assert "heights.grip_end" in found[0].text
    assert "by 40 mm" in found[0].text


def test_readings_that_pull_points_upright_leave_them_loose() -> None:
    """A span 320 short and a height 80 too large put grip end, sit point and peg in one upright."""
    one = quick()
    spans = {**one.spans, ("seat", "grip_end"): Reading(311.0)}
    wrong = evolve(one, spans=spans, heights=changed(one.heights, "grip_end", 79.0))
    found = errors(wrong)
    assert [p.key for p in found] == ["heights.peg", "heights.grip_end"]
    assert all("contradict each other too far" in p.text for p in found)
    assert len(warnings(wrong)) == 1


@pytest.mark.parametrize(
    ("name", "bar", "radius"),
    [
        ("grip_end", Handlebar(), 16.5),
        ("grip_end", Handlebar(grip_diameter=Reading(36.0)), 18.0),
        ("clamp", Handlebar(clamp_diameter=Reading(22.0)), 11.0),
    ],
)
def test_a_tape_to_the_top_is_brought_to_the_centre(
    name: str, bar: Handlebar, radius: float
) -> None:
    """Height and spans to the top give the same centre."""
    one = full(handlebar=bar)
    x, y, z = TRUE[name]
    raised = tapes({**TRUE, name: (x, y, z + radius)}, TRUE, (), (("seat", name),))
    top = evolve(raised["heights"][name], top=True)
    spans = {("seat", name): evolve(raised["spans"]["seat", name], top=True)}
    surveyed = done(evolve(one, heights={**one.heights, name: top}, spans=spans))
    assert named(surveyed)[name] == pytest.approx(TRUE[name], abs=1e-6)
    assert max(abs(o.residual) for o in surveyed.observations) < 1e-6


def test_the_grip_comes_from_its_angles() -> None:
    """Length 120, tilt -4, sweep 20: unit axis (-sin 20 cos 4, cos 20 cos 4, -sin 4)."""
    bar = Handlebar(grip_length=Reading(120.0), grip_tilt=Reading(-4.0), grip_sweep=Reading(20.0))
    found = named(done(evolve(quick(), handlebar=bar)))
    axis = np.subtract(found["grip_end"], found["grip_inner"]) / 120.0
    level = cos(radians(4.0))
    expected = (-sin(radians(20.0)) * level, cos(radians(20.0)) * level, -sin(radians(4.0)))
    assert axis == pytest.approx(expected, abs=1e-9)


def test_a_peg_without_width_is_assumed_with_a_wide_spread() -> None:
    """460 across, sd 40: half of each to one side."""
    one = evolve(full(), spans={})
    surveyed, problems = survey(evolve(one, widths=changed_without(one, "peg")), SHOP)
    assert surveyed is not None
    assert "widths.peg" in {p.key for p in problems if p.level == NOTE}
    at = 3 * surveyed.names.index("peg") + 1
    assert surveyed.points.peg.y == pytest.approx(230.0)
    assert np.sqrt(surveyed.covariance[at, at]) == pytest.approx(20.0)


def test_spans_stand_in_for_a_peg_width() -> None:
    """Heights and distances ahead leave the span to tell how far out the peg lies."""
    one = full()
    surveyed, problems = survey(evolve(one, widths=changed_without(one, "peg")), SHOP)
    assert surveyed is not None
    assert "widths.peg" not in {p.key for p in problems}
    assert surveyed.points.peg.y == pytest.approx(230.0, abs=1e-6)


def changed_without(one: Bike, name: str) -> dict[str, Reading]:
    return {n: r for n, r in one.widths.items() if n != name}


def test_the_fork_tube_stands_beside_the_clamp_of_clip_ons() -> None:
    """Same x and z, half the spacing; singular with the clamp in the covariance."""
    one = full(handlebar=Handlebar(kind=CLIP_ON))
    surveyed = done(evolve(one, widths={**one.widths, "tube": Reading(210.0)}))
    assert named(surveyed)["tube"] == pytest.approx((985.0, 105.0, 1000.0), abs=1e-6)
    assert named(surveyed)["clamp"] == pytest.approx((985.0, 0.0, 1000.0), abs=1e-6)
    tube, clamp = (3 * surveyed.names.index(n) for n in ("tube", "clamp"))
    assert surveyed.covariance[tube, clamp] == pytest.approx(surveyed.covariance[clamp, clamp])
    assert surveyed.covariance[clamp + 1] == pytest.approx(0.0)
    assert surveyed.covariance[tube + 1, tube + 1] == pytest.approx(1.0)


def test_without_their_spacing_clip_ons_have_no_tube() -> None:
    """A note says what is missing."""
    surveyed, problems = survey(full(handlebar=Handlebar(kind=CLIP_ON)), SHOP)
    assert surveyed is not None
    assert surveyed.points.tube is None
    assert "widths.tube" in {p.key for p in problems if p.level == NOTE}


SPAN = ("clamp", "grip_end")


def clip_on(spacing: float, spans: tuple[tuple[str, str], ...] = (*TRIANGLE, SPAN)) -> Bike:
    """Clip-ons on tubes this far apart, exact tapes laid to the left tube; no ``tube``."""
    true = {**TRUE, "clamp": (985.0, spacing / 2.0, 1000.0)}
    fields = tapes(true, true, true, spans, ("grip_end", "grip_inner", "peg"))
    del fields["ahead"]["rear_axle"]
    return bike(**fields, handlebar=Handlebar(kind=CLIP_ON))


@pytest.mark.parametrize("spacing", [180.0, 212.0, 240.0])
def test_a_span_to_the_tube_of_a_clip_on_condemns_no_tape(spacing: float) -> None:
    """It goes to the tube, half the spacing off the mid-plane, whether that was taped or not."""
    one = clip_on(spacing)
    surveyed, problems = survey(one, SHOP)
    assert surveyed is not None
    assert [(p.key, p.level) for p in problems if p.key == "widths.tube"] == [("widths.tube", NOTE)]
    assert not [p.sentence() for p in problems if p.level == WARNING]
    assert SUSPECT not in {one.status for one in surveyed.observations}
    assert surveyed.points.tube is None
    taped = done(evolve(one, widths={**one.widths, "tube": Reading(spacing)}))
    for name in BODY:
        assert named(surveyed)[name] == pytest.approx(named(taped)[name], abs=0.01)


@pytest.mark.parametrize("spacing", [180.0, 210.0, 220.0])
def test_where_nothing_tells_the_spacing_it_is_assumed_with_its_spread(spacing: float) -> None:
    """Without ``ahead.clamp`` the span needs it: right within the give or take it then has."""
    one = clip_on(spacing)
    ahead = {n: r for n, r in one.ahead.items() if n != "clamp"}
    surveyed = done(evolve(one, ahead=ahead))
    status = {one.key: one.status for one in surveyed.observations}
    assert status["widths.tube"] == ASSUMED
    off = float(surveyed.points.clamp.x) - 985.0
    at = 3 * surveyed.names.index("clamp")
    assert abs(off) <= 2.0 * float(np.sqrt(surveyed.covariance[at, at])) < 60.0


def test_side_lean_is_averaged_out_or_refused() -> None:
    """0.76 degrees shown and used; 3.8 degrees refused."""
    one = full()
    small = Reading(1030.0, sides=(1035.0, 1025.0))
    surveyed = done(evolve(one, heights={**one.heights, "grip_end": small}))
    assert surveyed.side_lean_deg == pytest.approx(0.764, abs=1e-3)
    assert surveyed.points.grip_end.z == pytest.approx(1030.0, abs=1e-6)
    large = Reading(1030.0, sides=(1055.0, 1005.0))
    (problem,) = errors(evolve(one, heights={**one.heights, "grip_end": large}))
    assert "stand" in problem.text
    assert done(one).side_lean_deg is None


@given(st.floats(-8.0, 8.0), st.floats(0.0, 120.0))
def test_pitching_the_stand_with_its_readings_changes_nothing(angle: float, lift: float) -> None:
    """Points on the wheels, whatever the stand."""
    surveyed = done(stood(angle, lift))
    assert surveyed.stand_pitch_deg == pytest.approx(angle, abs=1e-9)
    for name, point in TRUE.items():
        assert named(surveyed)[name] == pytest.approx(point, abs=1e-6)


@given(st.floats(-300.0, 900.0))
def test_moving_the_origin_changes_nothing(shift: float) -> None:
    """The quick set taped ahead from anywhere along the floor."""
    moved = {n: (x + shift, y, z) for n, (x, y, z) in TRUE.items() if "axle" not in n}
    fields = tapes(moved, BODY, BODY, TRIANGLE)
    one, same = done(bike(**fields)), done(bike(**tapes(TRUE, BODY, BODY, TRIANGLE)))
    here, there = named(one), named(same)
    for name in BODY:
        assert np.subtract(here[name], here["seat"]) == pytest.approx(
            np.subtract(there[name], there["seat"]), abs=1e-6
        )
    assert one.covariance == pytest.approx(same.covariance, abs=1e-5)


def test_angles_read_on_the_stand_turn_with_it() -> None:
    """Nose up by 3: a lever angle gains 3 on the wheels, a rake loses 3, only if read there."""
    levers = Levers(brake=Lever(angle=Reading(11.0)), clutch=Lever())
    rake = Steering(rake=Reading(29.0), rake_read_on=ON_STAND)
    surveyed = done(stood(3.0, levers=levers, steering=rake))
    assert surveyed.lever_angle["brake"].value == pytest.approx(14.0)
    assert surveyed.lever_angle["brake"].sd > 2.0
    assert "clutch" not in surveyed.lever_angle
    assert surveyed.rake.value == pytest.approx(26.0)
    assert not surveyed.rake.assumed
    surveyed = done(stood(3.0, steering=Steering(rake=Reading(29.0))))
    assert (surveyed.rake.value, surveyed.rake.sd) == (29.0, 1.0)


def test_grip_tilt_is_read_in_the_stand_s_frame() -> None:
    """Nose up by 5 with a level reading of a grip swept 30: on the wheels the grip is not level."""
    bar = Handlebar(grip_length=Reading(125.0), grip_tilt=Reading(0.0), grip_sweep=Reading(30.0))
    one = stood(5.0, handlebar=bar)
    heights = {n: r for n, r in one.heights.items() if n != "grip_inner"}
    ahead = {n: r for n, r in one.ahead.items() if n != "grip_inner"}
    widths = changed_without(one, "grip_inner")
    found = named(done(evolve(one, heights=heights, ahead=ahead, widths=widths)))
    rise = found["grip_end"][2] - found["grip_inner"][2]
    assert rise == pytest.approx(125.0 * sin(radians(30.0)) * sin(radians(5.0)), abs=1e-6)


def test_the_quick_set_on_a_stand_turns_about_the_sit_point() -> None:
    """Given pitch: spans stay, the sit point keeps its height."""
    one = evolve(quick(tilted(4.0)), state="stand", stand=Stand(pitch=Reading(4.0)))
    found = named(done(one))
    for name in ("peg", "grip_end"):
        expected = np.subtract(TRUE[name], TRUE["seat"])
        assert np.subtract(found[name], found["seat"]) == pytest.approx(expected, abs=1e-6)


def test_samples_spread_as_the_covariance_says() -> None:
    """Mean and covariance of 20,000 draws, on a bike whose covariance is singular."""
    one = full(handlebar=Handlebar(kind=CLIP_ON))
    surveyed = done(evolve(one, widths={**one.widths, "tube": Reading(210.0)}))
    drawn = sample(surveyed, 20000, np.random.default_rng(1))
    assert np.shape(drawn.seat.x) == (20000,)
    assert np.ptp(drawn.clamp.y) == 0.0
    assert drawn.tube is not None
    assert drawn.tube.x == pytest.approx(drawn.clamp.x, abs=1e-9)
    assert np.std(drawn.others["front_axle"].x) == pytest.approx(6.0, rel=0.03)
    seat = np.cov(drawn.seat.x, drawn.seat.z)
    assert seat == pytest.approx(surveyed.covariance[np.ix_([0, 2], [0, 2])], abs=2.0)
    assert np.mean(drawn.grip_end.x) == pytest.approx(900.0, abs=0.2)


def test_samples_of_one_seed_are_the_same() -> None:
    """Fixed seed, same answer."""
    one = done(quick())
    first, again = (sample(one, 4, np.random.default_rng(7)).peg.x for _ in range(2))
    assert np.array_equal(first, again)
