"""The rider's numbers on a bike, both halves, and calf against hamstring."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest
from attrs import asdict
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.stages import linkage as body
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.posture import (
    CONTACT_FLEXION,
    CONTACT_PER_GIRTH,
    NO_SIDES,
    Numbers,
    Sides,
    calf_contact,
    numbers_on,
)
from tests import by_hand
from tests.shapes import SHAPES
from tests.strategies import BIKE, BODY, bikes, leans, linkages, make_points, scattered

NAMES = ("seat", "peg", "clamp", "grip_end", "grip_inner")
REFERENCES = Path(__file__).parents[1] / "references"


def shown(numbers: Numbers, place: tuple[int, ...] = ()) -> dict[str, float]:
    """Posture's own numbers of one element."""
    return {n: float(np.asarray(getattr(numbers, n))[place]) for n in NUMBERS}


NUMBERS = (
    "bar_width_mm",
    "navel_to_bar_mm",
    "grip_tilt_deg",
    "grip_sweep_deg",
    "forearm_angle_deg",
    "knee_angle_deg",
    "elbow_angle_deg",
)


@given(rider=linkages(), bike=bikes(), lean=leans())
def test_numbers_agree_with_the_formulas_in_plain_python(
    rider: Linkage, bike: dict[str, float], lean: float
) -> None:
    """Section 6, an elbow built in space; 1e-9 mm and 1e-6 degrees."""
    points = make_points(bike)
    found = numbers_on(rider, lean, points)
    expected = by_hand.numbers(asdict(rider), lean, by_hand.as_plain(points, NAMES))
    assert shown(found) == pytest.approx(expected, abs=1e-6, nan_ok=True)
    assert bool(found.reachable) == np.isfinite(expected["elbow_angle_deg"])
    assert found.lean_deg == lean


@given(rider=linkages(), bike=bikes(), lean=leans())
def test_the_right_half_mirrors_the_left(
    rider: Linkage, bike: dict[str, float], lean: float
) -> None:
    """The same numbers from the right arm and leg, elbows out to the right."""
    points = make_points(bike)
    right = by_hand.mirrored(by_hand.as_plain(points, NAMES))
    expected = by_hand.numbers(asdict(rider), lean, right, side=-1)
    assert shown(numbers_on(rider, lean, points)) == pytest.approx(expected, abs=1e-6, nan_ok=True)


@given(rider=linkages(), bike=bikes(), lean=leans(), east=st.floats(-1e4, 1e4))
def test_moving_the_origin_changes_nothing(
    rider: Linkage, bike: dict[str, float], lean: float, east: float
) -> None:
    """Along the floor and up a ramp of 100."""
    moved = {**bike, "seat_x": bike["seat_x"] + east, "seat_z": bike["seat_z"] + 100.0}
    there = numbers_on(rider, lean, make_points(moved))
    here = numbers_on(rider, lean, make_points(bike))
    assert shown(there) == pytest.approx(shown(here), abs=1e-4, nan_ok=True)


@given(rider=linkages(), bike=bikes(), lean=leans(), factor=st.floats(0.5, 2.0))
def test_scaling_all_lengths_keeps_angles(
    rider: Linkage, bike: dict[str, float], lean: float, factor: float
) -> None:
    """The 22 mm between forearm and rod are a length of the body and scale with it."""
    angles = ("tilt", "sweep", "rake", "brake", "clutch")
    grown = Linkage(
        **{n: v if n.endswith("_deg") else v * factor for n, v in asdict(rider).items()}
    )
    bigger = {n: v if n in angles else v * factor for n, v in bike.items()}
    expected = {
        n: v if n.endswith("_deg") else v * factor
        for n, v in shown(numbers_on(rider, lean, make_points(bike))).items()
    }
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(body, "GRIP_BELOW_FOREARM", body.GRIP_BELOW_FOREARM * factor)
        found = shown(numbers_on(grown, lean, make_points(bigger)))
    assert found == pytest.approx(expected, abs=1e-6, nan_ok=True)


def test_levers_as_read_are_passed_on() -> None:
    """A bike without a clutch lever has no figure for one."""
    rng = np.random.default_rng(1)
    rider = Linkage(**{n: float(v) for n, v in scattered(rng, BODY, ()).items()})
    points = make_points(scattered(rng, BIKE, ()))
    found = numbers_on(rider, 5.0, points, Sides(14.0, np.nan), Sides(60.0, np.nan))
    assert (found.lever_angle_deg.brake, found.lever_reach_mm.brake) == (14.0, 60.0)
    assert np.isnan(found.lever_angle_deg.clutch)
    assert numbers_on(rider, 5.0, points).lever_angle_deg is NO_SIDES


@pytest.mark.parametrize("shape", SHAPES)
def test_a_batch_equals_the_stack_of_its_singles(shape: tuple[int, ...]) -> None:
    """Shape and figures, to the last bits."""
    rng = np.random.default_rng(8)
    figures, bike = scattered(rng, BODY, shape), scattered(rng, BIKE, shape)
    lean = rng.uniform(0.0, 30.0, shape)
    batch = numbers_on(Linkage(**figures), lean, make_points(bike))
    for name in NUMBERS:
        assert np.shape(getattr(batch, name)) == shape
    for place in np.ndindex(shape):
        one = Linkage(**{n: float(v[place]) for n, v in figures.items()})
        points = make_points({n: float(v[place]) for n, v in bike.items()})
        single = shown(numbers_on(one, float(lean[place]), points))
        assert shown(batch, place) == pytest.approx(single, abs=1e-9, nan_ok=True)


def test_contact_begins_at_the_minimum_of_zelles_fit() -> None:
    """Force over flexion falls and then rises: the turn is where thigh and calf meet."""
    fit = tomllib.loads((REFERENCES / "zelle_2009_contact.toml").read_text("utf-8"))
    square, linear, _ = fit["coefficients"]
    assert pytest.approx(-linear / (2.0 * square), abs=0.05) == CONTACT_FLEXION


def test_ten_millimetres_of_girth_cost_six_tenths_of_a_degree() -> None:
    """Calf plus lower thigh above the survey's mean; the contract's figure."""
    assert pytest.approx(0.6 / 10.0) == CONTACT_PER_GIRTH


@given(rider=linkages(), bike=bikes(), girth=st.floats(-150.0, 250.0))
def test_calf_is_clear_of_hamstring_at_ball_and_mid_foot(
    rider: Linkage, bike: dict[str, float], girth: float
) -> None:
    """Common practice, no source: look at both places of the foot.

    Room is what is left of the flexion: onset less (180 less the knee angle).
    """
    points = make_points(bike)
    contact = calf_contact(rider, points, girth)
    plain, figures = by_hand.as_plain(points, NAMES), asdict(rider)
    half = figures | {"ankle_back_mm": 0.5 * figures["ankle_back_mm"]}
    onset = 130.0 - 0.06 * girth
    assert float(contact.onset_flexion_deg) == pytest.approx(onset)
    for angle, room, knee in (
        (contact.knee_angle_deg.ball, contact.room_deg.ball, by_hand.knee_angle(figures, plain)),
        (
            contact.knee_angle_deg.mid_foot,
            contact.room_deg.mid_foot,
            by_hand.knee_angle(half, plain),
        ),
    ):
        assert float(angle) == pytest.approx(knee, abs=1e-6, nan_ok=True)
        assert float(room) == pytest.approx(onset - 180.0 + knee, abs=1e-6, nan_ok=True)
