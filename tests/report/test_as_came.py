"""A bike as it came: figures as surveyed, and the work backwards."""

from __future__ import annotations

import math
from functools import cache

import pytest
from attrs import evolve

from fitprofile.model.bike import Fitted
from fitprofile.model.shop import Shop
from fitprofile.report.as_came import fitted_parts, found_figures, found_points, order_back
from fitprofile.stages.survey import Surveyed, survey
from tests.report import samples
from tests.report.cards import STOOD
from tests.report.samples import r

BIKES = {one.key: one for one in (samples.TWIN, samples.SPORT, samples.GOOD, STOOD)}


@cache
def surveyed(key: str) -> Surveyed:
    found, problems = survey(BIKES[key], Shop())
    assert found is not None, problems
    return found


@pytest.mark.parametrize("key", BIKES)
def test_points_are_the_survey_s_own(key: str) -> None:
    """On the wheels; raw tapes beside them only where the bike stood on a stand."""
    for one in found_points(BIKES[key], surveyed(key)):
        at = getattr(surveyed(key).points, one.name)
        assert (one.up, one.ahead, one.across) == (float(at.z), float(at.x), 2.0 * float(at.y))
        assert (one.stand_up is not None) is (key == "stood")
        assert (one.stand_ahead is not None) is (key == "stood")


def test_clip_ons_have_no_bar_in_clamps() -> None:
    """Their place at the fork tube stands for it."""
    names = [one.name for one in found_points(samples.SPORT, surveyed("wren"))]
    assert "tube" in names
    assert "clamp" not in names
    assert "clamp" in [one.name for one in found_points(samples.TWIN, surveyed("teal"))]


def test_grips_stand_as_their_two_ends_say() -> None:
    """Tilt and sweep by hand from the points, with the arc tangent alone."""
    figures = {one.key: one for one in found_figures(samples.TWIN, surveyed("teal"))}
    end, inner = (
        [float(part) for part in at]
        for at in (surveyed("teal").points.grip_end, surveyed("teal").points.grip_inner)
    )
    x, y, z = (a - b for a, b in zip(end, inner, strict=True))
    tilt, sweep = figures["handlebar.grip_tilt"], figures["handlebar.grip_sweep"]
    assert tilt.value == pytest.approx(math.degrees(math.atan2(z, math.hypot(x, y))))
    assert sweep.value == pytest.approx(math.degrees(math.atan2(-x, y)))


def test_parts_it_came_with_have_their_kind() -> None:
    """None: the maker's own."""
    fitted = evolve(samples.TWIN, fitted=Fitted(riser="Old block", lever_set="Short levers"))
    assert fitted_parts(fitted) == ("Old block (riser)", "Short levers (levers)")
    assert fitted_parts(samples.TWIN) == ()


def test_angles_reaches_and_widths_are_there_as_read() -> None:
    """A lever whose angle nobody read is left out, its reach is not; a guess is marked."""
    figures = {one.key: one for one in found_figures(samples.SPORT, surveyed("wren"))}
    assert "levers.clutch.angle" not in figures
    assert figures["levers.clutch.reach"].value == 62.0
    wide = evolve(samples.TWIN.handlebar, overall_width=r(860.0))
    twin = {
        one.key: one
        for one in found_figures(evolve(samples.TWIN, handlebar=wide), surveyed("teal"))
    }
    assert twin["handlebar.overall_width"].value == 860.0
    assert twin["levers.brake.angle"].value == pytest.approx(24.0)


def test_the_way_back_is_the_order_of_work_backwards() -> None:
    """Controls come off last in the work's order, so they go back first; feet and seat last."""
    lines = order_back(samples.TWIN)
    at = {
        word: next(i for i, line in enumerate(lines) if word in line)
        for word in ("reach", "Perches", "housing", "Grips", "risers", "pegs", "Measure again")
    }
    assert list(at.values()) == sorted(at.values())
    assert "the pin of the clutch perch back in its hole" in lines[at["Perches"]]
    assert "pins back in their holes" in lines[at["housing"]]
    assert any("tabs in the yokes" in line for line in order_back(samples.SPORT))
    assert "pin" not in " ".join(order_back(samples.GOOD))
