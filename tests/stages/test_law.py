"""What each basis of law measures on a bike, by hand."""

from __future__ import annotations

import numpy as np
import pytest
from attrs import evolve

from fitprofile.data.places import Place, Rule, find_place
from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Handlebar
from fitprofile.model.quantity import Reading
from fitprofile.stages.check import Check
from fitprofile.stages.job import Job
from fitprofile.stages.law import BASES, law_checks
from tests.stages import plans

HANDLEBAR = Handlebar(grip_diameter=Reading(34.0))


def ruled(basis: str, limit: float = 100.0, *, least: bool = False, seat: str = "") -> Place:
    rule = Rule(
        basis=basis,
        limit_mm=limit,
        least=least,
        wording="invented",
        section="section 1",
        dated="2020",
        sure="invented",
        seat=seat,
    )
    return Place(name="Nowhere", rules=(rule,))


def check(one: Job, basis: str, limit: float = 100.0, room: float = np.nan) -> Check:
    (found,) = law_checks(one, plans.plan(one), ruled(basis, limit), room)
    return found


def shoulder_top(one: Job) -> float:
    """Hip, then the trunk leant by hand: up cos(lean) less ahead sin(lean)."""
    lean = np.radians(float(one.now.lean_deg))
    up = float(one.rider.shoulder_up_mm) + 51.0
    ahead = float(one.rider.shoulder_forward_mm)
    height = 800.0 + float(one.rider.hip_height_mm) + up * np.cos(lean) - ahead * np.sin(lean)
    return float(height)


def test_each_basis_by_hand() -> None:
    """Grip end at 1030, inner end at 1025, 34 mm thick; seat 800, clamp 1000, end 375 to a side."""
    one = plans.job(handlebar=HANDLEBAR)
    expected = {
        "hands above shoulder": 1027.5 - shoulder_top(one),
        "grips above shoulder": 1047.0 - shoulder_top(one),
        "grips above seat": 247.0,
        "lowest grip above seat": 208.0,
        "lowest grip above clamp": 8.0,
        "half width": 375.0,
        "overall width": 750.0,
        "clearance at lock": 17.0,
    }
    assert set(expected) == set(BASES)
    for basis, value in expected.items():
        assert check(one, basis, room=17.0).value == pytest.approx(value), basis


def test_lean_lowers_the_shoulder() -> None:
    """The rider's own lean counts, not the erect one."""
    one = plans.job(handlebar=HANDLEBAR)
    bent = evolve(one, now=evolve(one.now, lean_deg=40.0))
    assert check(bent, "hands above shoulder").value > check(one, "hands above shoulder").value + 50


def test_the_overall_width_grows_with_the_bar() -> None:
    """Taped 860 over the weights, both grips 10 mm out along an axis that points sideways."""
    one = plans.job(handlebar=Handlebar(overall_width=Reading(860.0)))
    end = one.points.grip_end
    wide = evolve(one.points, grip_end=Vec(end.x, end.y + 10.0, end.z))
    (found,) = law_checks(one, plans.plan(one, wide), ruled("overall width", 900.0))
    assert found.value == pytest.approx(880.0)
    assert found.ok is True


@pytest.mark.parametrize(("limit", "ok"), [(740.0, False), (800.0, None), (840.0, True)])
def test_an_overall_width_that_was_not_taped(limit: float, ok: bool | None) -> None:
    """750 of bar: too wide already, or not known for the weights, or far inside."""
    assert check(plans.job(), "overall width", limit).ok is ok


@pytest.mark.parametrize(("limit", "ok"), [(370.0, False), (400.0, None), (415.0, True)])
def test_half_a_width_without_its_weights(limit: float, ok: bool | None) -> None:
    """375 to the grip's end and 40 of weight: as with the overall width, of one side."""
    found = check(plans.job(), "half width", limit)
    assert found.ok is ok
    assert found.value == pytest.approx(375.0)
    assert "weights or levers beyond it come on top" in found.why


def test_an_overall_width_bounds_what_stands_beyond_a_grip() -> None:
    """Taped 790, so 395 to a side at most: sure at 400, which 375 and 40 alone were not."""
    one = plans.job(handlebar=Handlebar(overall_width=Reading(790.0)))
    assert check(one, "half width", 400.0).ok is True
    assert check(one, "half width", 394.0).ok is None


@pytest.mark.parametrize(("limit", "ok"), [(370.0, True), (400.0, None), (416.0, False)])
def test_weights_only_help_a_least_half_width(limit: float, ok: bool | None) -> None:
    """The grip alone is wide enough, or would be with its weights, or not even then."""
    one = plans.job()
    (found,) = law_checks(one, plans.plan(one), ruled("half width", limit, least=True))
    assert found.ok is ok


@pytest.mark.parametrize(
    ("seat", "limit", "ok"),
    [
        ("depressed", 246.0, False),
        ("depressed", 248.0, True),
        ("undepressed", 246.0, None),
        ("undepressed", 248.0, True),
        ("undepressed", 206.0, False),
        ("", 246.0, None),
        ("", 206.0, False),
    ],
)
def test_a_seat_under_the_rider_and_a_bare_one(seat: str, limit: float, ok: bool | None) -> None:
    """247 above the pressed foam; a bare seat may stand 40 higher, which leaves 207."""
    one = plans.job(handlebar=HANDLEBAR)
    (found,) = law_checks(one, plans.plan(one), ruled("grips above seat", limit, seat=seat))
    assert found.ok is ok
    assert found.value == pytest.approx(247.0)
    assert ("without a rider" in found.why) == (seat != "depressed")
    assert ("as this law does" in found.why) == (seat == "depressed")


def test_no_place_no_law() -> None:
    """Off unless somebody names a place."""
    one = plans.job()
    assert law_checks(one, plans.plan(one), None) == ()


@pytest.mark.parametrize(
    "name", ["California", "Indiana", "UK", "Germany", "NT", "Australia", "EU"]
)
def test_every_row_sends_to_the_law_itself(name: str) -> None:
    """Also where no figure is known: then it is not judged."""
    place = find_place(name)
    assert isinstance(place, Place)
    one = plans.job()
    found = law_checks(one, plans.plan(one), place, 30.0)
    assert len(found) == max(1, len(place.rules))
    for row in found:
        assert row.why.endswith("; check the law where you ride")
        assert row.what.startswith(f"law.{place.name}")
        assert place.rules or row.ok is None
