"""What each change moves and what it leaves alone; turns against scipy's rotations."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import mpmath
import numpy as np
import pytest
from attrs import evolve
from hypothesis import assume, given
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec, elevation, leftward_axis, norm, rearward
from fitprofile.stages import moves
from fitprofile.stages.moves import PegMove
from fitprofile.stages.posture import Sides
from fitprofile.stages.survey import BikePoints
from tests import by_hand
from tests.shapes import SHAPES
from tests.strategies import BIKE, bikes, make_points, scattered

NAMES = ("seat", "peg", "clamp", "grip_end", "grip_inner", "tube")
ANGLE = st.floats(-30.0, 30.0)
STEP = st.floats(-80.0, 80.0)
RAKE = st.floats(15.0, 40.0)


def plain(points: BikePoints) -> dict[str, by_hand.Triple]:
    return by_hand.as_plain(points, NAMES)


def gaps(points: BikePoints) -> list[float]:
    """Distances from the clamp to both ends of the grip."""
    return [float(norm(at.minus(points.clamp))) for at in (points.grip_end, points.grip_inner)]


def grip(points: BikePoints) -> tuple[float, float]:
    """Tilt and sweep, degrees."""
    axis = moves.grip_axis(points)
    return float(np.degrees(elevation(axis))), float(np.degrees(rearward(axis)))


def assert_same(found: BikePoints, expected: Mapping[str, Any], within: float = 1e-7) -> None:
    have = plain(found)
    assert have.keys() == expected.keys()
    for name, point in have.items():
        assert point == pytest.approx(expected[name], abs=within), name


@given(
    bike=bikes(), slide=STEP, angles=st.tuples(ANGLE, ANGLE), up=STEP, back=STEP,
    peg=st.tuples(STEP, STEP), clip_on=st.booleans(),
)  # fmt: skip
def test_changes_move_the_points_as_a_second_construction_does(
    bike: dict[str, float],
    slide: float,
    angles: tuple[float, float],
    up: float,
    back: float,
    peg: tuple[float, float],
    clip_on: bool,
) -> None:
    """Turn, slide, roll, riser and pegs by scipy's rotations, left half and mirrored right half."""
    (roll, turn), (x, z) = angles, peg
    points = make_points(bike, tube=clip_on)
    changes = moves.bar_changes(
        clip_on=clip_on, width_change=0.0, slide=slide, roll=roll, turn=turn, height=up,
        pullback=back,
    )  # fmt: skip
    changes = evolve(changes, peg_move_mm=PegMove(x, z))
    after = moves.done_to(points, changes, bike["rake"])
    made = {n: float(getattr(changes, n)) for n in by_hand.CHANGES if not n.startswith("peg")}
    made |= {"peg_x_mm": x, "peg_z_mm": z}
    left = plain(points)
    assert_same(after, by_hand.changed(left, made, bike["rake"]))
    right = by_hand.changed(by_hand.mirrored(left), made, bike["rake"], side=-1)
    assert_same(after, by_hand.mirrored(right))


@given(bike=bikes(), up=STEP, back=STEP, rake=RAKE)
def test_risers_keep_tilt_and_sweep(
    bike: dict[str, float], up: float, back: float, rake: float
) -> None:
    """And carry the whole bar by the same step."""
    points = make_points(bike)
    raised = moves.raise_bar(points, up, back, rake)
    assert grip(raised) == pytest.approx(grip(points), abs=1e-9)
    assert gaps(raised) == pytest.approx(gaps(points))
    step = raised.clamp.minus(points.clamp)
    assert float(norm(step)) == pytest.approx(np.hypot(up, back))


@given(rake=RAKE)
def test_the_clamp_axis_leans_back_and_pullback_is_square_to_it(rake: float) -> None:
    """Height along (-sin, cos) of the rake, pullback along (-cos, -sin)."""
    up, back = moves.clamp_axes(rake)
    r = np.radians(rake)
    assert [float(v) for v in up] == pytest.approx([-np.sin(r), 0.0, np.cos(r)])
    assert [float(v) for v in back] == pytest.approx([-np.cos(r), 0.0, -np.sin(r)])


@given(bike=bikes(), roll=st.floats(-90.0, 90.0))
def test_roll_keeps_distances_to_the_clamp(bike: dict[str, float], roll: float) -> None:
    """And the bar width."""
    points = make_points(bike)
    rolled = moves.roll_bar(points, roll)
    assert gaps(rolled) == pytest.approx(gaps(points))
    assert float(rolled.grip_end.y) == bike["bar_half"]


@given(bike=bikes(), roll=ANGLE, slide=STEP)
def test_roll_and_width_commute(bike: dict[str, float], roll: float, slide: float) -> None:
    """Trim and then roll, or roll and then trim."""
    points = make_points(bike)
    first = moves.roll_bar(moves.slide_grips(points, slide), roll)
    second = moves.slide_grips(moves.roll_bar(points, roll), slide)
    assert_same(first, plain(second), 1e-9)


def test_positive_turn_carries_the_grip_end_rearward() -> None:
    """A clip-on straight out, 10 degrees on an upright tube; the tube stays."""
    at = Vec(1000.0, 100.0, 900.0)
    points = BikePoints(
        seat=at, peg=at, clamp=at, grip_end=Vec(1000.0, 400.0, 900.0), tube=at,
        grip_inner=Vec(1000.0, 280.0, 900.0),
    )  # fmt: skip
    turned = moves.turn_clips(points, 10.0, 0.0)
    assert float(turned.grip_end.x) == pytest.approx(1000.0 - 300.0 * np.sin(np.radians(10.0)))
    assert turned.tube == at


def test_positive_roll_carries_the_top_toward_the_rider() -> None:
    """A grip end above the clamp goes back."""
    points = make_points({n: low for n, (low, _) in BIKE.items()} | {"clamp_below": 100.0})
    assert float(moves.roll_bar(points, 5.0).grip_end.x) < float(points.grip_end.x)


@given(tilt=st.floats(-25.0, 25.0), sweep=st.floats(2.5, 50.0), wish=st.floats(-20.0, 20.0))
def test_the_levelling_roll_gives_the_tilt_and_is_the_nearest(
    tilt: float, sweep: float, wish: float
) -> None:
    """Found again by trying every roll in steps of a tenth of a degree."""
    axis = leftward_axis(np.radians(tilt), np.radians(sweep))
    roll = float(moves.levelling_roll(axis, wish))
    tries = np.linspace(-180.0, 180.0, 3601)
    by_trying = np.degrees(elevation(moves.carried_axis(axis, tries, 0.0, 25.0))) - wish
    if np.isnan(roll):
        assert np.abs(by_trying).min() > 0.0
        assert (np.sign(by_trying) == np.sign(by_trying[0])).all()
        return
    after = moves.carried_axis(axis, roll, 0.0, 25.0)
    assert float(np.degrees(elevation(after))) == pytest.approx(wish, abs=1e-6)
    # Where a try changes sign there is a root within a tenth of a degree; none is nearer zero.
    roots = tries[:-1][by_trying[:-1] * by_trying[1:] < 0.0]
    assert np.abs(roots).min(initial=180.0) >= abs(roll) - 0.1001


def test_a_bar_with_eight_degrees_of_sweep_needs_six_to_seven_degrees_of_roll_a_degree() -> None:
    """The contract's example, from cot of the sweep and the foreshortened grip: about 7."""
    axis = leftward_axis(np.radians(-1.0), np.radians(8.0))
    assert float(moves.levelling_roll(axis, 0.0)) == pytest.approx(-7.1, abs=0.5)


@pytest.mark.parametrize(
    ("tilt", "sweep", "wish", "roll"),
    [
        (0.0, 0.0, 0.0, 0.0),  # straight out and level
        (5.0, 0.5, 0.0, np.nan),  # straight bar, drooping: roll cannot
        (5.0, 0.5, 5.0, 0.0),  # straight bar, already as wished
        (0.0, 0.0, 4.0, np.nan),  # level, but another tilt wished
        (0.0, 12.0, 40.0, np.nan),  # more than the bend has
    ],
)
def test_bars_that_roll_cannot_level(tilt: float, sweep: float, wish: float, roll: float) -> None:
    """nan is said, never a made-up roll."""
    axis = leftward_axis(np.radians(tilt), np.radians(sweep))
    assert float(moves.levelling_roll(axis, wish)) == pytest.approx(roll, nan_ok=True, abs=1e-9)


@given(
    tilt=st.floats(-25.0, 10.0), sweep=st.floats(0.0, 40.0), wish=st.floats(-15.0, 5.0), rake=RAKE
)
def test_the_levelling_turn_gives_the_tilt(
    tilt: float, sweep: float, wish: float, rake: float
) -> None:
    """nan only where no turn in a whole circle does."""
    axis = leftward_axis(np.radians(tilt), np.radians(sweep))
    turn = float(moves.levelling_turn(axis, wish, rake))
    if np.isnan(turn):
        circle = moves.carried_axis(axis, 0.0, np.linspace(-180.0, 180.0, 721), rake)
        off = np.degrees(elevation(circle)) - wish
        assert (off > 0.0).all() or (off < 0.0).all()
        return
    after = moves.carried_axis(axis, 0.0, turn, rake)
    assert float(np.degrees(elevation(after))) == pytest.approx(wish, abs=1e-6)


@given(bike=bikes(), reading=st.floats(-20.0, 60.0), roll=ANGLE)
def test_roll_lowers_the_reading_by_exactly_the_roll(
    bike: dict[str, float], reading: float, roll: float
) -> None:
    """Whatever the sweep: roll turns the side view itself."""
    axis = moves.grip_axis(make_points(bike))
    edge = moves.carried_edge(axis, reading, roll, 0.0, 25.0)
    assert float(moves.lever_reading(edge)) == pytest.approx(reading - roll, abs=1e-9)


@given(bike=bikes(), reading=st.floats(-20.0, 60.0), wish=st.floats(-20.0, 60.0))
def test_a_lever_turned_as_told_reads_as_wished(
    bike: dict[str, float], reading: float, wish: float
) -> None:
    """And a positive turn lifts the blade: the reading falls."""
    axis = moves.grip_axis(make_points(bike))
    edge = moves.straightedge(axis, reading)
    turn = float(moves.lever_rotation(axis, edge, wish))
    assert float(moves.lever_reading(moves.rotate_lever(axis, edge, turn))) == pytest.approx(
        wish, abs=1e-9
    )
    assume(abs(wish - reading) > 1e-6)
    assert (turn > 0.0) == (wish < reading)


@given(
    bike=bikes(), reading=st.floats(-20.0, 60.0), rotation=ANGLE, roll=ANGLE, turn=ANGLE,
    clip_on=st.booleans(),
)  # fmt: skip
def test_lever_angles_after_the_work_agree_with_a_second_construction(
    bike: dict[str, float],
    reading: float,
    rotation: float,
    roll: float,
    turn: float,
    clip_on: bool,
) -> None:
    """A straightedge square to the grip, carried by scipy's rotations."""
    points = make_points(bike, tube=True)
    changes = moves.bar_changes(
        clip_on=clip_on, width_change=0.0, slide=9.0, roll=roll, turn=turn, height=5.0, pullback=5.0
    )
    changes = evolve(changes, lever_rotation_deg=Sides(rotation, rotation))
    found = moves.levers_after(points, Sides(reading, np.nan), changes, bike["rake"])
    made = {"clip_turn_deg": turn} if clip_on else {"bar_roll_deg": roll}
    expected = by_hand.lever_after(plain(points), reading, made, rotation, bike["rake"])
    assert float(found.brake) == pytest.approx(expected, abs=1e-9)
    assert np.isnan(found.clutch)


def test_raising_the_seat_raises_the_riser_answer_along_and_forward() -> None:
    """Straight up by 20 on a rake of 30: 17.3 along the clamp axis and 10 forward of it."""
    changes = moves.bar_changes(
        clip_on=False, width_change=0.0, slide=0.0, roll=0.0, turn=0.0, height=5.0, pullback=3.0
    )
    found = moves.with_seat(changes, 20.0, 30.0)
    assert (found.riser_height_mm, found.riser_pullback_mm) == pytest.approx(
        (5.0 + 17.3205, 3.0 - 10.0), abs=1e-4
    )
    assert np.isnan(found.clip_slide_mm)


@pytest.mark.parametrize("shape", SHAPES)
def test_a_batch_equals_its_singles(shape: tuple[int, ...]) -> None:
    """Points after every change, in arrays of any shape."""
    rng = np.random.default_rng(5)
    bike, steps = scattered(rng, BIKE, shape), rng.uniform(-10.0, 10.0, (5, *shape))

    def done(pick: tuple[int, ...] | None) -> BikePoints:
        figures = bike if pick is None else {n: float(v[pick]) for n, v in bike.items()}
        s = steps if pick is None else [step[pick] for step in steps]
        changes = moves.bar_changes(
            clip_on=True, width_change=0.0, slide=s[0], roll=0.0, turn=s[1], height=s[2],
            pullback=s[3],
        )  # fmt: skip
        changes = evolve(changes, peg_move_mm=PegMove(s[4], s[4]))
        return moves.done_to(make_points(figures, tube=True), changes, figures["rake"])

    batch = done(None)
    assert {np.shape(v) for v in batch.grip_end} == {shape}
    for place in np.ndindex(shape):
        single = plain(done(place))
        for name in NAMES:
            have = [float(np.broadcast_to(v, shape)[place]) for v in getattr(batch, name)]
            assert have == pytest.approx(single[name], abs=1e-9)


AXIS = st.tuples(st.floats(-15.0, 15.0), st.floats(-10.0, 40.0))
"""Tilt and sweep of a grip, degrees."""

SLOPE = st.floats(-60.0, 60.0)


def axis_of(tilt_sweep: tuple[float, float]) -> Vec:
    return leftward_axis(*np.radians(tilt_sweep))


@given(axis=AXIS, reading=SLOPE, wish=SLOPE)
def test_two_blade_angles_differ_by_the_turn_of_the_perch(
    axis: tuple[float, float], reading: float, wish: float
) -> None:
    """Against `lever_rotation`, which measures it between two straightedges in space."""
    grip_axis = axis_of(axis)
    turn = moves.lever_rotation(grip_axis, moves.straightedge(grip_axis, reading), wish)
    found = moves.blade_angle(grip_axis, reading) - moves.blade_angle(grip_axis, wish)
    assert float(found) == pytest.approx(float(turn), abs=1e-9)


@given(axis=AXIS, reading=SLOPE, turn=st.floats(-40.0, 40.0))
def test_blade_slope_is_what_a_turned_straightedge_shows(
    axis: tuple[float, float], reading: float, turn: float
) -> None:
    """Against the straightedge turned in space by scipy, and there and back again."""
    a = axis_of(axis)
    plain_axis = (float(a.x), float(a.y), float(a.z))
    edge = by_hand.turned(by_hand.blade(plain_axis, reading), plain_axis, -turn)
    found = moves.blade_slope(a, moves.blade_angle(a, reading) - turn)
    assert float(found) == pytest.approx(np.degrees(np.arctan2(-edge[2], edge[0])), abs=1e-9)
    assert float(moves.blade_slope(a, moves.blade_angle(a, reading))) == pytest.approx(reading)


@pytest.mark.parametrize(("tilt", "sweep", "slope"), [(0, 0, 20), (3, 15, 12), (-8, 25, 40)])
def test_blade_angle_at_forty_digits(tilt: float, sweep: float, slope: float) -> None:
    """mpmath: the angle round the grip between the level straightedge and the sloping one."""
    with mpmath.workdps(40):
        t, s, d = (mpmath.radians(mpmath.mpf(v)) for v in (tilt, sweep, slope))
        g = mpmath.matrix(
            [
                -mpmath.cos(t) * mpmath.sin(s),
                mpmath.cos(t) * mpmath.cos(s),
                mpmath.sin(t),
            ]
        )

        def square(down: Any) -> Any:
            x, z = mpmath.cos(down), -mpmath.sin(down)
            edge = mpmath.matrix([x, -(g[0] * x + g[2] * z) / g[1], z])
            return edge / mpmath.norm(edge)

        level, sloping = square(mpmath.mpf(0)), square(d)
        cosine = sum(level[i] * sloping[i] for i in range(3))
        expected = float(mpmath.degrees(mpmath.acos(cosine)))
    axis = leftward_axis(np.radians(tilt), np.radians(sweep))
    assert float(moves.blade_angle(axis, float(slope))) == pytest.approx(expected, abs=1e-12)


def test_on_a_straight_level_grip_the_blade_angle_is_the_slope() -> None:
    """Square to the side view nothing foreshortens it."""
    axis = Vec(0.0, 1.0, 0.0)
    assert float(moves.blade_angle(axis, 23.0)) == pytest.approx(23.0)
    assert float(moves.blade_slope(axis, -7.0)) == pytest.approx(-7.0)
