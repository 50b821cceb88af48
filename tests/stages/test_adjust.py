"""The exact transfer: held against scipy's optimisers, against sweeps, and against itself.

The oracle is `tests.by_hand`, which shares no code with the stage.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from attrs import asdict, evolve
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from fitprofile.geometry.vectors import Floats, Vec
from fitprofile.stages import linkage as body
from fitprofile.stages import moves
from fitprofile.stages.adjust import exact, largest_navel_to_bar, riser, steepest_forearm
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.moves import Changes
from fitprofile.stages.posture import Numbers, Sides, numbers_on
from fitprofile.stages.survey import BikePoints
from tests import by_hand
from tests.shapes import SHAPES
from tests.strategies import BIKE, BODY, LEAN, bikes, leans, linkages, make_points, scattered

NAMES = ("seat", "peg", "clamp", "grip_end", "grip_inner", "tube")
BAR = ("grip_slide_mm", "bar_roll_deg", "riser_height_mm", "riser_pullback_mm")
CLIP = ("grip_slide_mm", "clip_slide_mm", "clip_offset_mm")
WISH = {
    "bar_width_mm": (600.0, 900.0),
    "navel_to_bar_mm": (330.0, 620.0),
    "grip_tilt_deg": (-8.0, 8.0),
    "forearm_angle_deg": (-5.0, 40.0),
    "knee_angle_deg": (65.0, 125.0),
}
LENGTHS = ("bar_width_change_mm", *BAR, *CLIP[1:])

Figures = dict[str, Any]


def wishes() -> st.SearchStrategy[dict[str, float]]:
    return st.fixed_dictionaries({name: st.floats(*ends) for name, ends in WISH.items()})


def target_of(wish: Figures, lean: Any) -> Numbers:
    """Levers in line with the forearm, lever reach 60."""
    line = wish["forearm_angle_deg"]
    return Numbers(
        **wish,
        grip_sweep_deg=np.nan,
        lever_angle_deg=Sides(line, line),
        lever_reach_mm=Sides(60.0, 60.0),
        lean_deg=lean,
    )


def answer(
    rider: Linkage, wish: Figures, lean: Any, bike: Figures, *, clip_on: bool, turn: Any = 0.0
) -> tuple[Changes, BikePoints]:
    points = make_points(bike, tube=clip_on)
    levers = Sides(bike["brake"], bike["clutch"])
    changes = exact(
        rider,
        target_of(wish, lean),
        points,
        bike["rake"],
        levers,
        Sides(55.0, 66.0),
        clip_on=clip_on,
        clip_turn=turn,
    )
    return changes, points


def bar_found(changes: Changes, *, clip_on: bool) -> bool:
    parts = CLIP if clip_on else BAR
    return all(np.isfinite(getattr(changes, name)) for name in parts)


def made(changes: Changes) -> dict[str, float]:
    """Changes under the names of the oracle."""
    found = {n: float(getattr(changes, n)) for n in by_hand.CHANGES if not n.startswith("peg")}
    return found | {
        "peg_x_mm": float(changes.peg_move_mm.x),
        "peg_z_mm": float(changes.peg_move_mm.z),
    }


def shown_after(
    rider: Linkage, lean: float, bike: Figures, points: BikePoints, changes: Changes
) -> dict[str, float]:
    """Numbers once the work is done, by the oracle."""
    plain, work = by_hand.as_plain(points, NAMES), made(changes)
    after = by_hand.numbers(asdict(rider), lean, by_hand.changed(plain, work, bike["rake"]))
    for side in ("brake", "clutch"):
        carried = {n: 0.0 if np.isnan(v) else v for n, v in work.items()}
        turn = float(getattr(changes.lever_rotation_deg, side))
        after[side] = by_hand.lever_after(plain, bike[side], carried, turn, bike["rake"])
    return after


def reachable(bike: Figures, lean: float, rider: Linkage, wish: Figures, phis: Floats) -> Floats:
    """Forearm angle, degrees, with the bar at elevations ``phis`` (degrees) round the navel."""
    points, figures = by_hand.as_plain(make_points(bike), NAMES), asdict(rider)
    navel = by_hand.trunk(figures, points["seat"], lean, "navel")
    found = []
    for phi in np.radians(phis):
        end = points["grip_end"]
        step = (
            navel[0] + wish["navel_to_bar_mm"] * np.cos(phi) - end[0],
            0.0,
            navel[2] + wish["navel_to_bar_mm"] * np.sin(phi) - end[2],
        )
        moved = points | {n: by_hand.add(points[n], step) for n in ("grip_end", "grip_inner")}
        found.append(by_hand.forearm_angle(figures, lean, moved))
    return np.array(found)


@given(
    rider=linkages(), wish=wishes(), lean=leans(), bike=bikes(), clip_on=st.booleans(),
    turn=st.floats(-10.0, 10.0),
)  # fmt: skip
def test_exact_gives_the_target_back(
    rider: Linkage,
    wish: dict[str, float],
    lean: float,
    bike: dict[str, float],
    clip_on: bool,
    turn: float,
) -> None:
    """To 0.01 mm and 0.001 degrees, lean the rider's own, the contract's promise."""
    changes, points = answer(rider, wish, lean, bike, clip_on=clip_on, turn=turn)
    assume(bar_found(changes, clip_on=clip_on))
    after = shown_after(rider, lean, bike, points, changes)
    for name in ("bar_width_mm", "navel_to_bar_mm"):
        assert after[name] == pytest.approx(wish[name], abs=0.01)
    for name in ("forearm_angle_deg", "brake", "clutch"):
        assert after[name] == pytest.approx(wish["forearm_angle_deg"], abs=0.001)
    if not clip_on:
        assert after["grip_tilt_deg"] == pytest.approx(wish["grip_tilt_deg"], abs=0.001)
        assert np.isnan(changes.clip_slide_mm)
    else:
        assert changes.clip_turn_deg == turn
        assert np.isnan(changes.bar_roll_deg)
        assert np.isnan(changes.riser_height_mm)
    if np.isfinite(changes.peg_move_mm.x):
        assert after["knee_angle_deg"] == pytest.approx(wish["knee_angle_deg"], abs=0.001)
    assert changes.lever_reach_change_mm == Sides(5.0, -6.0)


@given(rider=linkages(), wish=wishes(), lean=leans(), bike=bikes())
def test_the_pegs_move_along_the_line_from_hip_to_ankle(
    rider: Linkage, wish: dict[str, float], lean: float, bike: dict[str, float]
) -> None:
    """Seen from the side, and only there."""
    changes, points = answer(rider, wish, lean, bike, clip_on=False)
    assume(np.isfinite(changes.peg_move_mm.x))
    joint, foot = by_hand.leg(asdict(rider), by_hand.as_plain(points, NAMES))
    line = by_hand.less(foot, joint)
    x, z = changes.peg_move_mm.x, changes.peg_move_mm.z
    assert x * line[2] - z * line[0] == pytest.approx(0.0, abs=1e-6)


@given(rider=linkages(), wish=wishes(), lean=leans(), bike=bikes())
def test_raising_the_seat_instead_gives_knee_and_hands(
    rider: Linkage, wish: dict[str, float], lean: float, bike: dict[str, float]
) -> None:
    """The rider goes up with the seat, the bar follows, the pegs stay."""
    changes, points = answer(rider, wish, lean, bike, clip_on=False)
    other = changes.with_seat_raise
    assume(bar_found(changes, clip_on=False) and np.isfinite(other.seat_raise_mm))
    work = made(changes) | {
        "peg_x_mm": 0.0,
        "peg_z_mm": 0.0,
        "riser_height_mm": float(other.riser_height_mm),
        "riser_pullback_mm": float(other.riser_pullback_mm),
    }
    plain = by_hand.changed(by_hand.as_plain(points, NAMES), work, bike["rake"])
    plain["seat"] = by_hand.add(plain["seat"], (0.0, 0.0, float(other.seat_raise_mm)))
    after = by_hand.numbers(asdict(rider), lean, plain)
    for name in ("knee_angle_deg", "forearm_angle_deg", "navel_to_bar_mm", "bar_width_mm"):
        assert after[name] == pytest.approx(wish[name], abs=0.001)


@settings(suppress_health_check=[HealthCheck.filter_too_much])  # few bikes are in reach
@given(rider=linkages(), lean=leans(), bike=bikes(), clip_on=st.booleans())
def test_a_bike_at_target_needs_nothing(
    rider: Linkage, lean: float, bike: dict[str, float], clip_on: bool
) -> None:
    """Its own numbers as the wish: every change is zero."""
    points = make_points(bike, tube=clip_on)
    own = numbers_on(rider, lean, points)
    wish = {name: float(getattr(own, name)) for name in WISH}
    assume(np.isfinite(list(wish.values())).all())
    # A nearly straight arm leaves the bar's place on its circle to the square root of rounding.
    assume(float(own.elbow_angle_deg) < 179.0 and wish["knee_angle_deg"] < 179.0)
    assume(-59.0 < bar_elevation(rider, lean, points) < 59.0)
    # With the bar at the belly, or the forearms pointing up, a second place gives both numbers.
    line = wish["forearm_angle_deg"]
    assume(-20.0 < line < 60.0 and wish["navel_to_bar_mm"] > 300.0)
    bike = bike | {"brake": line, "clutch": line}
    changes, _ = answer(rider, wish, lean, bike, clip_on=clip_on)
    left = made(changes) | {
        "brake": float(changes.lever_rotation_deg.brake),
        "clutch": float(changes.lever_rotation_deg.clutch),
        "seat": float(changes.with_seat_raise.seat_raise_mm),
        "width": float(changes.bar_width_change_mm),
    }
    there = {n: v for n, v in left.items() if np.isfinite(v)}
    assert len(there) >= 8
    assert there == pytest.approx(dict.fromkeys(there, 0.0), abs=1e-6)


def bar_elevation(rider: Linkage, lean: float, points: BikePoints) -> float:
    line = body.bar_point(points).minus(body.navel(rider, points.seat, lean))
    return float(np.degrees(np.arctan2(line.z, line.x)))


@given(
    rider=linkages(), wish=wishes(), lean=leans(), bike=bikes(), clip_on=st.booleans(),
    turn=st.floats(-8.0, 8.0),
)  # fmt: skip
def test_apply_then_transfer_is_zero(
    rider: Linkage,
    wish: dict[str, float],
    lean: float,
    bike: dict[str, float],
    clip_on: bool,
    turn: float,
) -> None:
    """The second sheet for a finished bike is empty."""
    changes, points = answer(rider, wish, lean, bike, clip_on=clip_on, turn=turn)
    assume(bar_found(changes, clip_on=clip_on) and np.isfinite(changes.peg_move_mm.x))
    done = moves.done_to(points, changes, bike["rake"])
    levers = moves.levers_after(points, Sides(bike["brake"], bike["clutch"]), changes, bike["rake"])
    again = exact(
        rider,
        target_of(wish, lean),
        done,
        bike["rake"],
        levers,
        Sides(60.0, 60.0),
        clip_on=clip_on,
    )
    left = made(again) | {"brake": float(again.lever_rotation_deg.brake)}
    there = {n: v for n, v in left.items() if np.isfinite(v)}
    assert there == pytest.approx(dict.fromkeys(there, 0.0), abs=1e-5)


@given(rider=linkages(), wish=wishes(), lean=leans(), a=bikes(), b=bikes())
def test_a_to_b_to_a_returns_a(
    rider: Linkage, wish: dict[str, float], lean: float, a: dict[str, float], b: dict[str, float]
) -> None:
    """Bike A at target; its numbers make bike B; B's numbers then ask nothing of A."""
    changes, points = answer(rider, wish, lean, a, clip_on=False)
    assume(bar_found(changes, clip_on=False) and np.isfinite(changes.peg_move_mm.x))
    first = moves.done_to(points, changes, a["rake"])
    shown = numbers_on(rider, lean, first)
    carried = {name: float(getattr(shown, name)) for name in WISH}
    there, other = answer(rider, carried, lean, b, clip_on=True)
    assume(bar_found(there, clip_on=True) and np.isfinite(there.peg_move_mm.x))
    shown = numbers_on(rider, lean, moves.done_to(other, there, b["rake"]))
    back = {name: float(getattr(shown, name)) for name in WISH}
    back["grip_tilt_deg"] = wish["grip_tilt_deg"]  # clip-ons droop as they do
    home = exact(
        rider,
        target_of(back, lean),
        first,
        a["rake"],
        Sides(wish["forearm_angle_deg"], wish["forearm_angle_deg"]),
        Sides(60.0, 60.0),
        clip_on=False,
    )
    left = {n: v for n, v in made(home).items() if np.isfinite(v)}
    assert left == pytest.approx(dict.fromkeys(left, 0.0), abs=1e-4)


@given(
    rider=linkages(), wish=wishes(), lean=leans(), bike=bikes(), x=st.floats(-5e3, 5e3),
    z=st.floats(-500.0, 500.0),
)  # fmt: skip
def test_moving_the_origin_changes_nothing(
    rider: Linkage,
    wish: dict[str, float],
    lean: float,
    bike: dict[str, float],
    x: float,
    z: float,
) -> None:
    """Taped from the sit point or from the axle: the same work."""
    here, _ = answer(rider, wish, lean, bike, clip_on=False)
    moved = bike | {"seat_x": bike["seat_x"] + x, "seat_z": bike["seat_z"] + z}
    there, _ = answer(rider, wish, lean, moved, clip_on=False)
    assert made(there) == pytest.approx(made(here), abs=1e-5, nan_ok=True)


@given(
    rider=linkages(), wish=wishes(), lean=leans(), bike=bikes(), factor=st.floats(0.6, 1.6),
    clip_on=st.booleans(),
)  # fmt: skip
def test_scaling_everything_scales_lengths_and_keeps_angles(
    rider: Linkage,
    wish: dict[str, float],
    lean: float,
    bike: dict[str, float],
    factor: float,
    clip_on: bool,
) -> None:
    """Linkage, points and wished lengths together, the 22 mm at the wrist among them."""

    def grown(figures: Mapping[str, float]) -> dict[str, float]:
        kept = ("tilt", "sweep", "rake", "brake", "clutch")
        return {n: v if n.endswith("_deg") or n in kept else v * factor for n, v in figures.items()}

    # A bar that must stand on end to give the tilt does so, or not, by rounding.
    across = np.cos(np.radians(bike["tilt"])) * np.cos(np.radians(bike["sweep"]))
    most, wished = np.sqrt(1.0 - across**2), abs(np.sin(np.radians(wish["grip_tilt_deg"])))
    assume(abs(most - wished) > 1e-6)
    here, _ = answer(rider, wish, lean, bike, clip_on=clip_on)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(body, "GRIP_BELOW_FOREARM", body.GRIP_BELOW_FOREARM * factor)
        there, _ = answer(
            Linkage(**grown(asdict(rider))), grown(wish), lean, grown(bike), clip_on=clip_on
        )
    assert made(there) == pytest.approx(grown(made(here)), abs=1e-5, nan_ok=True)
    assert float(there.lever_rotation_deg.brake) == pytest.approx(
        float(here.lever_rotation_deg.brake), abs=1e-6, nan_ok=True
    )


def residuals(
    unknowns: Floats,
    names: tuple[str, ...],
    rider: Figures,
    wish: Figures,
    lean: float,
    points: by_hand.Points,
    bike: Figures,
) -> Floats:
    """Deviations of the oracle's numbers from the wish; beyond reach the arm counts as straight."""
    work = dict.fromkeys(by_hand.CHANGES, 0.0) | dict(
        zip(names, unknowns[: len(names)], strict=True)
    )
    after = by_hand.changed(points, work, bike["rake"])
    shown = by_hand.numbers(rider, lean, after)
    joint, grip = by_hand.arm(rider, lean, after)
    if np.isnan(shown["forearm_angle_deg"]):
        beyond = by_hand.size(by_hand.less(grip, joint)) - (
            rider["upper_arm_mm"] + rider["forearm_grip_mm"]
        )
        shown["forearm_angle_deg"] = by_hand.slope(joint, grip) + max(beyond, 0.0)
    wanted = ["bar_width_mm", "navel_to_bar_mm", "forearm_angle_deg"]
    if "bar_roll_deg" in names:
        wanted.append("grip_tilt_deg")
    off = [shown[n] - wish[n] for n in wanted]
    for side, turn in zip(("brake", "clutch"), unknowns[len(names) :], strict=True):
        read = by_hand.lever_after(points, bike[side], work, turn, bike["rake"])
        off.append(read - wish["forearm_angle_deg"])
    return np.array(off)


STARTS = [(up, back) for back in (0, 150) for up in (0, 100, -150)]
STOPS = ("xtol", "ftol", "gtol")


@pytest.mark.parametrize("clip_on", [False, True], ids=["one-piece", "clip-on"])
def test_a_general_optimiser_finds_the_same_changes(clip_on: bool) -> None:
    """scipy's least_squares on the oracle's deviations, 30 random riders and bikes.

    It starts from no change at all and, where it stalls beyond reach, from a few other places.
    One or two stall everywhere next to a straight arm, or end with the bar upside down, where
    only our answer is at the target.
    Slide, roll, riser (or slide and offset) and both levers at once, to 1e-4 mm and degrees.
    """
    rng = np.random.default_rng(7 + clip_on)
    names = CLIP if clip_on else BAR
    compared = stalled = 0
    while compared < 30:
        figures = {n: float(v) for n, v in scattered(rng, BODY, ()).items()}
        bike = {n: float(v) for n, v in scattered(rng, BIKE, ()).items()}
        wish = {n: float(v) for n, v in scattered(rng, WISH, ()).items()}
        lean = float(rng.uniform(*LEAN))
        changes, points = answer(Linkage(**figures), wish, lean, bike, clip_on=clip_on)
        if not bar_found(changes, clip_on=clip_on):
            continue
        compared += 1
        ours = [float(getattr(changes, n)) for n in names]
        levers = changes.lever_rotation_deg
        ours += [float(levers.brake), float(levers.clutch)]
        plain = by_hand.as_plain(points, NAMES)
        args = (names, figures, wish, lean, plain, bike)
        for up, back in STARTS:
            start = np.zeros(len(ours))
            start[[len(names) - 2, len(names) - 1]] = up, back
            found = least_squares(
                residuals,
                start,
                args=args,
                method="lm",
                max_nfev=200,
                **dict.fromkeys(STOPS, 1e-13),
            )
            there = found.cost < 1e-12 and (clip_on or abs(found.x[1]) < 90.0)
            if there:
                break
        assert residuals(np.array(ours), *args) == pytest.approx(0.0, abs=1e-6)
        if not there:
            stalled += 1
            continue
        assert ours == pytest.approx(found.x, abs=1e-4), (figures, bike, wish, lean)
    assert stalled <= 3


def test_a_general_optimiser_finds_the_same_pegs_and_seat() -> None:
    """Knee angle with the peg on the hip-ankle line, and by the seat alone."""
    rng = np.random.default_rng(12)
    for _ in range(40):
        figures = {n: float(v) for n, v in scattered(rng, BODY, ()).items()}
        bike = {n: float(v) for n, v in scattered(rng, BIKE, ()).items()}
        wish = {n: float(v) for n, v in scattered(rng, WISH, ()).items()}
        changes, points = answer(Linkage(**figures), wish, 10.0, bike, clip_on=False)
        plain = by_hand.as_plain(points, NAMES)
        joint, foot = by_hand.leg(figures, plain)
        line = by_hand.less(foot, joint)
        upper, lower = figures["thigh_mm"], figures["shank_mm"]
        square = (
            upper**2 + lower**2 - 2 * upper * lower * np.cos(np.radians(wish["knee_angle_deg"]))
        )

        def pegs(p: Floats, line: by_hand.Triple = line, square: float = square) -> list[float]:
            at = by_hand.add(line, (p[0], 0.0, p[1]))
            return [by_hand.dot(at, at) / 500.0 - square / 500.0, p[0] * line[2] - p[1] * line[0]]

        found = least_squares(pegs, [0.0, 0.0], xtol=1e-15, ftol=1e-15, gtol=1e-15)
        move = changes.peg_move_mm
        assert [float(move.x), float(move.z)] == pytest.approx(found.x, abs=1e-3)
        raised = float(changes.with_seat_raise.seat_raise_mm)
        if np.isnan(raised):
            assert square < line[0] ** 2 + line[1] ** 2
            continue
        at = by_hand.add(line, (0.0, 0.0, -raised))
        assert by_hand.dot(at, at) == pytest.approx(square)
        assert at[2] <= 0.0


def test_where_no_place_of_the_bar_is_found_a_sweep_finds_none() -> None:
    """Every half degree of the bar's circle from -60 to 60, for 150 riders that got no answer."""
    rng = np.random.default_rng(31)
    refused = solved = 0
    while refused < 150:
        rider = Linkage(**{n: float(v) for n, v in scattered(rng, BODY, ()).items()})
        bike = {n: float(v) for n, v in scattered(rng, BIKE, ()).items()}
        wish = {n: float(v) for n, v in scattered(rng, WISH, ()).items()}
        lean = float(rng.uniform(*LEAN))
        shape = make_points(bike)
        if np.isfinite(riser(rider, target_of(wish, lean), shape, bike["rake"])[0]):
            solved += 1
            continue
        refused += 1
        angles = reachable(bike, lean, rider, wish, np.arange(-60.0, 60.5, 0.5))
        off = angles[np.isfinite(angles)] - wish["forearm_angle_deg"]
        # Next to a straight arm the angle falls by many degrees within half a degree of bar.
        assert (off < 0.0).all() or (off > 0.0).all(), (rider, bike, wish, lean)
    assert solved > refused


def test_the_place_of_the_bar_does_not_hang_on_where_it_was_found() -> None:
    """20,000 stooping riders, their bar as found and 200 lower and further ahead: one answer.

    High and close the forearm may point back over the shoulder, half a turn past any wish.
    """
    rng, count = np.random.default_rng(5), (20_000,)
    figures, wish = scattered(rng, BODY, count), scattered(rng, WISH, count)
    bike = scattered(rng, {**BIKE, "bar_above": (150.0, 700.0)}, count)
    aim, rider = target_of(wish, rng.uniform(30.0, 50.0, count)), Linkage(**figures)
    lower = bike | {"bar_above": bike["bar_above"] - 200.0, "bar_ahead": bike["bar_ahead"] + 200.0}
    places = []
    for one in (bike, lower):
        points = make_points(one)
        moved = moves.raise_bar(points, *riser(rider, aim, points, one["rake"]), one["rake"])
        places.append(np.stack([moved.grip_end.x, moved.grip_end.z]))
    first, second = places
    assert (np.isnan(first) == np.isnan(second)).all()
    assert np.isfinite(first).all(axis=0).mean() > 0.4
    assert first == pytest.approx(second, abs=1e-5, nan_ok=True)


def test_the_steepest_forearm_is_the_largest_of_a_sweep() -> None:
    """Fine steps of the bar's circle, for 60 riders; reached where the arm is straight."""
    rng = np.random.default_rng(17)
    compared = 0
    while compared < 60:
        rider = Linkage(
            **{n: float(v) for n, v in scattered(rng, BODY, ()).items()} | {"elbows_out_deg": 15.0}
        )
        bike = {n: float(v) for n, v in scattered(rng, BIKE, ()).items()}
        wish = {n: float(v) for n, v in scattered(rng, WISH, ()).items()}
        lean = float(rng.uniform(0.0, 30.0))
        found = float(steepest_forearm(rider, lean, make_points(bike), wish["navel_to_bar_mm"]))
        angles = reachable(bike, lean, rider, wish, np.linspace(-60.0, 60.0, 481))
        seen = np.isfinite(angles)
        if np.isnan(found):
            assert not seen.any()
            continue
        if not seen.any():
            continue
        compared += 1
        if seen[0]:
            assert found == pytest.approx(angles[0], abs=1e-6)
            continue
        # The slope is infinite at a straight arm: look at the quarter degree before the first.
        first = np.linspace(-60.0, 60.0, 481)[seen.argmax()]
        close = reachable(bike, lean, rider, wish, np.linspace(first - 0.25, first, 400))
        assert found >= np.nanmax(close) - 1e-6
        assert found == pytest.approx(np.nanmax(close), abs=1.5)


def test_the_largest_navel_to_bar_is_the_end_of_a_sweep() -> None:
    """A millimetre less has a solution and a millimetre more has none, for 60 riders."""
    rng = np.random.default_rng(23)
    compared = 0
    while compared < 60:
        rider = Linkage(**{n: float(v) for n, v in scattered(rng, BODY, ()).items()})
        bike = {n: float(v) for n, v in scattered(rng, BIKE, ()).items()}
        wish = {n: float(v) for n, v in scattered(rng, WISH, ()).items()}
        lean, points = float(rng.uniform(0.0, 40.0)), make_points(bike)
        largest = float(largest_navel_to_bar(rider, lean, points, wish["forearm_angle_deg"]))
        bar = straight_arm_bar(rider, lean, points, wish["forearm_angle_deg"])
        if not -59.0 < bar < 59.0:
            continue
        compared += 1
        for step, exists in ((-1.0, True), (1.0, False)):
            aim = target_of(wish | {"navel_to_bar_mm": largest + step}, lean)
            assert np.isfinite(riser(rider, aim, points, bike["rake"])[0]) == exists


def straight_arm_bar(rider: Linkage, lean: float, points: BikePoints, forearm: float) -> float:
    """Elevation of the bar seen from the navel, arm straight and sloping as the forearm; deg."""
    figures, plain = asdict(rider), by_hand.as_plain(points, NAMES)
    joint, grip = by_hand.arm(figures, lean, plain)
    reach = figures["upper_arm_mm"] + figures["forearm_grip_mm"]
    flat = np.sqrt(max(reach**2 - (grip[1] - joint[1]) ** 2, 0.0))
    slope = np.radians(forearm + np.degrees(np.arcsin(22.0 / figures["forearm_grip_mm"])))
    navel = by_hand.trunk(figures, plain["seat"], lean, "navel")
    half = by_hand.less(plain["grip_end"], grip)
    x = joint[0] + flat * np.cos(slope) + half[0] - navel[0]
    z = joint[2] - flat * np.sin(slope) + half[2] - navel[2]
    return float(np.degrees(np.arctan2(z, x)))


def test_grips_too_wide_for_the_arms_have_no_answer_and_no_warning() -> None:
    """Arms of 420 between grips 1100 apart."""
    figures = {n: low for n, (low, _) in BODY.items()}
    rider, points = Linkage(**figures), make_points({n: low for n, (low, _) in BIKE.items()})
    wide = evolve(points, grip_end=Vec(900.0, 700.0, 900.0), grip_inner=Vec(920.0, 600.0, 900.0))
    assert np.isnan(largest_navel_to_bar(rider, 10.0, wide, 15.0))
    assert np.isnan(steepest_forearm(rider, 10.0, wide, 450.0))


NEAR = {n: 0.5 * sum(ends) for n, ends in WISH.items()} | {"navel_to_bar_mm": 400.0}
"""A wish that the middle body reaches."""


def test_a_straight_bar_gets_risers_but_no_roll() -> None:
    """Roll is null, the rest is worked out for the bar as it lies."""
    bike = {n: 0.5 * sum(ends) for n, ends in BIKE.items()} | {"sweep": 0.0, "tilt": 0.0}
    figures = {n: 0.5 * sum(ends) for n, ends in BODY.items()}
    wish = NEAR | {"grip_tilt_deg": 6.0}
    changes, points = answer(Linkage(**figures), wish, 10.0, bike, clip_on=False)
    assert np.isnan(changes.bar_roll_deg)
    after = shown_after(Linkage(**figures), 10.0, bike, points, changes)
    assert after["navel_to_bar_mm"] == pytest.approx(wish["navel_to_bar_mm"], abs=0.01)
    assert after["forearm_angle_deg"] == pytest.approx(wish["forearm_angle_deg"], abs=0.001)
    assert after["grip_tilt_deg"] == pytest.approx(0.0, abs=1e-9)


def test_a_turn_without_a_taped_tube_is_not_worked_out() -> None:
    """Null, and everything else as for clip-ons that stay as they are."""
    bike = {n: 0.5 * sum(ends) for n, ends in BIKE.items()}
    rider = Linkage(**{n: 0.5 * sum(ends) for n, ends in BODY.items()})
    wish = NEAR
    levers, reach = Sides(bike["brake"], bike["clutch"]), Sides(60.0, 60.0)
    still, turned = (
        exact(
            rider,
            target_of(wish, 10.0),
            make_points(bike),
            bike["rake"],
            levers,
            reach,
            clip_on=True,
            clip_turn=turn,
        )
        for turn in (0.0, 5.0)
    )
    assert float(still.clip_turn_deg) == 0.0
    assert np.isnan(turned.clip_turn_deg)
    assert turned.lever_rotation_deg == still.lever_rotation_deg
    assert float(turned.clip_slide_mm) == float(still.clip_slide_mm)


@pytest.mark.parametrize("clip_on", [False, True])
@pytest.mark.parametrize("shape", SHAPES)
def test_a_batch_equals_the_stack_of_its_singles(shape: tuple[int, ...], clip_on: bool) -> None:
    """Riders x bikes in arrays of any shape; nan at the same places."""
    rng = np.random.default_rng(2)
    figures, bike, wish = (scattered(rng, ranges, shape) for ranges in (BODY, BIKE, WISH))
    lean = rng.uniform(*LEAN, shape)
    turn = rng.uniform(-5.0, 5.0, shape)
    batch, _ = answer(Linkage(**figures), wish, lean, bike, clip_on=clip_on, turn=turn)
    names = ("bar_width_change_mm", *(CLIP if clip_on else BAR))
    assert {np.shape(getattr(batch, n)) for n in names} == {shape}
    for place in np.ndindex(shape):
        f, b, w = ({n: float(v[place]) for n, v in d.items()} for d in (figures, bike, wish))
        one, _ = answer(
            Linkage(**f), w, float(lean[place]), b, clip_on=clip_on, turn=float(turn[place])
        )
        for n in names:
            picked = float(getattr(batch, n)[place])
            assert picked == pytest.approx(float(getattr(one, n)), abs=1e-9, nan_ok=True)
        for have, single in (
            (batch.lever_rotation_deg.brake, one.lever_rotation_deg.brake),
            (batch.peg_move_mm.x, one.peg_move_mm.x),
            (batch.with_seat_raise.seat_raise_mm, one.with_seat_raise.seat_raise_mm),
        ):
            picked = float(np.asarray(have)[place])
            assert picked == pytest.approx(float(single), abs=1e-9, nan_ok=True)
