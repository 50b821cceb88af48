"""Where a catalogue's bars and clip-ons put the grips: by hand, by scipy and by mpmath."""

from __future__ import annotations

from math import cos, radians, sin, sqrt
from typing import Any

import mpmath
import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fitprofile.geometry.vectors import Vec, elevation, norm, rearward
from fitprofile.model.parts import Bar, ClipOn
from fitprofile.model.quantity import Reading
from fitprofile.stages import moves
from fitprofile.stages.placement import (
    bar_as_drawn,
    clip_found,
    drawn_bar,
    drawn_clip,
    slide_to_width,
    with_bar,
    with_clip,
)
from fitprofile.stages.survey import BikePoints
from tests.shapes import SHAPES
from tests.stages.plans import array
from tests.strategies import BIKE, bikes, make_points, scattered

R = Reading

RAKED = BikePoints(
    seat=Vec(450.0, 0.0, 800.0),
    peg=Vec(560.0, 230.0, 390.0),
    clamp=Vec(1000.0, 0.0, 1000.0),
    grip_end=Vec(900.0, 375.0, 1030.0),
    grip_inner=Vec(930.0, 255.0, 1030.0),
    tube=Vec(1010.0, 100.0, 980.0),
)
"""A bike in round figures, mm; its grips are sqrt(30² + 120²) long."""

LENGTH = sqrt(30.0**2 + 120.0**2)


def a_bar(**more: Any) -> Bar:
    figures = {
        "width": 760.0,
        "rise": 60.0,
        "pullback": 90.0,
        "backsweep": 12.0,
        "upsweep": 4.0,
        "clamp_diameter": 28.6,
        **more,
    }
    read: dict[str, Any] = {name: R(value) for name, value in figures.items()}
    return Bar(name="Invented", **read)


def a_clip(**more: float) -> ClipOn:
    read: dict[str, Any] = {name: R(value) for name, value in more.items()}
    return ClipOn(name="Invented", **read)


def tilt_sweep(points: BikePoints) -> tuple[float, float]:
    axis = moves.grip_axis(points)
    return float(np.degrees(elevation(axis))), float(np.degrees(rearward(axis)))


def test_a_bar_stands_in_the_clamps_as_its_drawing_says() -> None:
    """Width 760, rise 60, pullback 90 from a clamp at (1000, 1000): ends at (910, 380, 1060)."""
    found = with_bar(RAKED, drawn_bar(a_bar()))
    assert array(found.grip_end) == pytest.approx([910.0, 380.0, 1060.0], abs=1e-12)
    assert tilt_sweep(found) == pytest.approx((4.0, 12.0), abs=1e-12)
    # Inner end: back along (-cos 4 sin 12, cos 4 cos 12, sin 4) by the length of the old grip.
    inner = [
        910.0 + LENGTH * cos(radians(4)) * sin(radians(12)),
        380.0 - LENGTH * cos(radians(4)) * cos(radians(12)),
        1060.0 - LENGTH * sin(radians(4)),
    ]
    assert array(found.grip_inner) == pytest.approx(inner, abs=1e-10)
    assert (found.clamp, found.seat, found.peg) == (RAKED.clamp, RAKED.seat, RAKED.peg)


def test_a_bar_on_a_riser_rolled_in_a_raked_clamp_by_hand() -> None:
    """Rake 30: riser 20 up the axis and 10 back moves the bar by (-10 - 8.66, 17.32 - 5);
    rolled by 90 degrees a point 60 above and 90 behind the clamp comes 60 behind and 90 below."""
    made = with_bar(RAKED, drawn_bar(a_bar()))
    made = moves.raise_bar(made, 20.0, 10.0, 30.0)
    x, z = 1000.0 - 10.0 - 5.0 * sqrt(3.0), 1000.0 + 10.0 * sqrt(3.0) - 5.0
    assert array(made.clamp) == pytest.approx([x, 0.0, z], abs=1e-12)
    assert array(made.grip_end) == pytest.approx([x - 90.0, 380.0, z + 60.0], abs=1e-12)
    rolled = moves.roll_bar(made, 90.0)
    assert array(rolled.grip_end) == pytest.approx([x - 60.0, 380.0, z - 90.0], abs=1e-10)


@given(
    bike=bikes(),
    width=st.floats(600.0, 900.0),
    rise=st.floats(-100.0, 300.0),
    back=st.floats(-50.0, 250.0),
    sweep=st.floats(0.0, 40.0),
    upsweep=st.floats(-10.0, 10.0),
    riser=st.tuples(st.floats(0.0, 80.0), st.floats(-10.0, 50.0)),
    roll=st.floats(-30.0, 30.0),
)
def test_a_rolled_bar_on_a_riser_lies_where_scipy_turns_it(
    bike: dict[str, float],
    width: float,
    rise: float,
    back: float,
    sweep: float,
    upsweep: float,
    riser: tuple[float, float],
    roll: float,
) -> None:
    """The drawing turned as one body about +y, the clamp carried up the raked axis by another."""
    points, rake = make_points(bike), bike["rake"]
    drawing = a_bar(width=width, rise=rise, pullback=back, backsweep=sweep, upsweep=upsweep)
    found = with_bar(points, drawn_bar(drawing))
    found = moves.roll_bar(moves.raise_bar(found, *riser, rake), roll)
    # Upright, a riser goes up by its height and back by its pullback; then lean with the rake.
    step = Rotation.from_euler("y", -rake, degrees=True).apply([-riser[1], 0.0, riser[0]])
    clamp = array(points.clamp) + step
    # A grip along +y, swept back about z (positive turns y to -x), raised about its own x.
    grip = Rotation.from_euler("xz", [upsweep, sweep], degrees=True).apply([0.0, 1.0, 0.0])
    end = np.array([-back, 0.5 * width, rise])
    inner = end - bike["grip"] * grip
    turn = Rotation.from_euler("y", -roll, degrees=True)
    assert array(found.grip_end) == pytest.approx(clamp + turn.apply(end), abs=1e-8)
    assert array(found.grip_inner) == pytest.approx(clamp + turn.apply(inner), abs=1e-8)
    assert array(found.clamp) == pytest.approx(clamp, abs=1e-8)


def test_a_rolled_bar_at_forty_digits() -> None:
    """mpmath: backsweep 17, upsweep 5, rolled by 6.5 in its clamps."""
    made = moves.roll_bar(with_bar(RAKED, drawn_bar(a_bar(backsweep=17.0, upsweep=5.0))), 6.5)
    with mpmath.workdps(40):
        up, back, roll = (mpmath.radians(mpmath.mpf(v)) for v in ("5", "17", "6.5"))
        axis = (
            -mpmath.cos(up) * mpmath.sin(back),
            mpmath.cos(up) * mpmath.cos(back),
            mpmath.sin(up),
        )
        c, s = mpmath.cos(roll), mpmath.sin(roll)
        grip = (axis[0] * c - axis[2] * s, axis[1], axis[0] * s + axis[2] * c)
        tilt = float(mpmath.degrees(mpmath.asin(grip[2])))
        sweep = float(mpmath.degrees(mpmath.atan2(-grip[0], grip[1])))
        end = (1000 + (-90 * c - 60 * s), 380, 1000 + (-90 * s + 60 * c))
        expected = [float(v) for v in end]
    assert tilt_sweep(made) == pytest.approx((tilt, sweep), abs=1e-12)
    assert array(made.grip_end) == pytest.approx(expected, abs=1e-12)


@given(bike=bikes(), shift=st.tuples(st.floats(-40.0, 40.0), st.floats(-40.0, 40.0)))
def test_the_bar_on_the_bike_as_a_drawing_gives_the_bike_back(
    bike: dict[str, float], shift: tuple[float, float]
) -> None:
    """And on a clamp moved elsewhere it gives the bike with the whole bar moved."""
    points = make_points(bike)
    shape = bar_as_drawn(points)
    same = with_bar(points, shape)
    step = Vec(shift[0], 0.0, shift[1])
    carried = with_bar(evolve(points, clamp=points.clamp.plus(step)), shape)
    for name in ("grip_end", "grip_inner", "clamp"):
        was = array(getattr(points, name))
        assert array(getattr(same, name)) == pytest.approx(was, abs=1e-9)
        assert array(getattr(carried, name)) == pytest.approx(was + array(step), abs=1e-9)


@given(bike=bikes())
def test_the_clip_on_found_gives_the_bike_back(bike: dict[str, float]) -> None:
    points, rake = make_points(bike, tube=True), bike["rake"]
    shape = clip_found(points, rake)
    assert shape is not None
    again = with_clip(points, shape, rake)
    assert array(again.grip_end) == pytest.approx(array(points.grip_end), abs=1e-8)
    assert array(again.grip_inner) == pytest.approx(array(points.grip_inner), abs=1e-8)
    assert again.tube == points.tube


@given(
    rake=st.floats(15.0, 40.0),
    offset=st.floats(-50.0, 80.0),
    drop=st.floats(-60.0, 60.0),
    droop=st.floats(-20.0, 20.0),
    sweep=st.floats(-10.0, 35.0),
    length=st.floats(150.0, 400.0),
)
def test_a_clip_on_is_its_upright_drawing_leaned_with_the_tube(
    rake: float, offset: float, drop: float, droop: float, sweep: float, length: float
) -> None:
    """Drawn beside an upright tube in plain axes, then leaned back by scipy; and read back."""
    found = clip_found(RAKED, rake)
    assert found is not None
    clip = a_clip(offset=offset, drop=drop, droop=droop, sweep=sweep, length=length)
    made = with_clip(RAKED, drawn_clip(clip, found), rake)
    along = Rotation.from_euler("xz", [-droop, sweep], degrees=True).apply([0.0, 1.0, 0.0])
    end = np.array([-offset, 0.0, -drop]) + length * along
    lean = Rotation.from_euler("y", -rake, degrees=True)
    tube = np.array([1010.0, 100.0, 980.0])
    assert array(made.grip_end) == pytest.approx(tube + lean.apply(end), abs=1e-9)
    inner = tube + lean.apply(end - LENGTH * along)
    assert array(made.grip_inner) == pytest.approx(inner, abs=1e-9)
    back = clip_found(made, rake)
    assert back is not None
    assert (back.offset, back.drop, back.droop, back.sweep, back.length) == pytest.approx(
        (offset, drop, droop, sweep, length), abs=1e-7
    )


def test_what_a_clip_on_does_not_say_is_as_on_the_present_one() -> None:
    """Only offset and drop differ: the grip moves by that alone, up and back the tube."""
    found = clip_found(RAKED, 0.0)
    assert found is not None
    up_and_back = a_clip(offset=float(found.offset) + 15.0, drop=float(found.drop) - 35.0)
    made = with_clip(RAKED, drawn_clip(up_and_back, found), 0.0)
    assert array(made.grip_end) == pytest.approx([900.0 - 15.0, 375.0, 1030.0 + 35.0], abs=1e-9)
    assert tilt_sweep(made) == pytest.approx(tilt_sweep(RAKED), abs=1e-9)


def test_no_clip_on_without_a_fork_tube() -> None:
    """Nothing to say where it is; asked to place one all the same it refuses."""
    bare = evolve(RAKED, tube=None)
    assert clip_found(bare, 25.0) is None
    found = clip_found(RAKED, 25.0)
    assert found is not None
    with pytest.raises(ValueError, match="fork tube"):
        with_clip(bare, found, 25.0)


def test_an_extender_takes_the_grip_along_its_axis_by_its_length() -> None:
    """Of 20 mm along a grip 30 back and 120 out, 20 x 120 / 123.7 go out and 4.85 back."""
    made = moves.slide_grips(RAKED, 20.0)
    out, back = 20.0 * 120.0 / LENGTH, 20.0 * 30.0 / LENGTH
    assert array(made.grip_end) == pytest.approx([900.0 - back, 375.0 + out, 1030.0], abs=1e-12)
    assert float(slide_to_width(RAKED, 2.0 * (375.0 + out))) == pytest.approx(20.0, abs=1e-12)


@given(bike=bikes(), width=st.floats(500.0, 1000.0))
def test_a_slide_to_a_width_gives_that_width(bike: dict[str, float], width: float) -> None:
    points = make_points(bike)
    made = moves.slide_grips(points, slide_to_width(points, width))
    assert 2.0 * float(made.grip_end.y) == pytest.approx(width, abs=1e-9)
    assert float(norm(made.grip_end.minus(made.grip_inner))) == pytest.approx(bike["grip"])


@pytest.mark.parametrize("shape", SHAPES)
def test_a_batch_equals_its_singles(shape: tuple[int, ...]) -> None:
    """Bars and clip-ons placed on arrays of bikes."""
    rng = np.random.default_rng(4)
    figures = scattered(rng, BIKE, shape)
    clip = a_clip(offset=12.0, drop=-20.0)

    def made(drawn: dict[str, Any]) -> tuple[BikePoints, BikePoints]:
        points = make_points(drawn, tube=True)
        found = clip_found(points, drawn["rake"])
        assert found is not None
        placed = with_clip(points, drawn_clip(clip, found), drawn["rake"])
        return with_bar(points, drawn_bar(a_bar())), placed

    batch = made(figures)
    for place in np.ndindex(shape):
        single = made({name: float(value[place]) for name, value in figures.items()})
        for many, one in zip(batch, single, strict=True):
            for name in ("grip_end", "grip_inner"):
                have = [float(np.broadcast_to(v, shape)[place]) for v in getattr(many, name)]
                assert have == pytest.approx(array(getattr(one, name)), abs=1e-9)
