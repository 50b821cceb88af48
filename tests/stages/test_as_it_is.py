"""The bike as it now is: against bikes changed by hand, and what the work leaves of their bands."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest
from attrs import asdict, evolve

from fitprofile.model.bike import Allows, Bike, Handlebar
from fitprofile.stages.adjust import exact
from fitprofile.stages.as_it_is import as_it_is, done_so_far, limits_left, rolled_too_far
from fitprofile.stages.chain import Transfer
from fitprofile.stages.limits import Limit
from fitprofile.stages.posture import NO_SIDES
from fitprofile.stages.siton import Reported
from fitprofile.stages.verify import readings
from tests import by_hand
from tests.stages.invented import LEVERS, SHOP, bike, plain
from tests.stages.test_verify import OTHER, entry, made

RAKE = 25.0
WORK: Mapping[str, float] = {
    "grip_slide_mm": -6.0,
    "bar_roll_deg": 4.0,
    "riser_height_mm": 22.0,
    "riser_pullback_mm": 14.0,
}
NUMBERS = ("bar_width", "navel_to_bar", "forearm_angle", "knee_angle", "grip_tilt")


def measured(done: Transfer, work: Mapping[str, float] = WORK) -> dict[str, Reported]:
    """Every number of the bike changed by hand, read without error; the brake lever too."""
    before = plain(done.points)
    after = by_hand.changed(before, work, RAKE)
    shown = by_hand.numbers(asdict(done.linkage), float(done.target.lean_deg), after)
    told = {
        name: Reported(shown[f"{name}_{'mm' if name in NUMBERS[:2] else 'deg'}"], 1.0)
        for name in NUMBERS
    }
    lever = by_hand.lever_after(before, 20.0, work, -7.0, RAKE)
    return told | {"lever_angle.brake": Reported(lever, 1.0)}


def held(allows: Allows, handlebar: Handlebar | None = None) -> tuple[Limit, ...]:
    """What a bike with these bands does not allow of what is left after the work."""
    new: Bike = bike("new", OTHER, allows=allows, handlebar=handlebar or Handlebar())
    done = made(new)
    told, job = measured(done), done.job
    now, _ = as_it_is(job, told)
    left = exact(job.rider, job.target, now, job.rake, NO_SIDES, NO_SIDES, clip_on=job.clip_on)
    return limits_left(job, now, left, told)


def test_the_bike_as_it_is_shows_the_measured_numbers() -> None:
    """By the posture in plain Python."""
    done = made()
    told, _ = readings(
        done, entry(bar_width=760.0, navel_to_bar=430.0, forearm_angle=14.0, knee_angle=84.0), SHOP
    )
    now, stands = as_it_is(done.job, told)
    assert stands
    shown = by_hand.numbers(asdict(done.linkage), float(done.target.lean_deg), plain(now))
    for name, value in (
        ("bar_width_mm", 760.0),
        ("navel_to_bar_mm", 430.0),
        ("forearm_angle_deg", 14.0),
        ("knee_angle_deg", 84.0),
    ):
        assert shown[name] == pytest.approx(value, abs=1e-3)


def test_the_work_is_found_again_from_what_was_measured() -> None:
    """Slide, roll, riser, pullback, and a perch turned 7 degrees down, all done by hand."""
    done = done_so_far(made().job, measured(made()))
    for name, value in WORK.items():
        assert float(getattr(done, name)) == pytest.approx(value, abs=1e-3)
    assert float(done.lever_rotation_deg.brake) == pytest.approx(-7.0, abs=1e-3)
    assert np.isnan(done.lever_rotation_deg.clutch)
    assert float(done.peg_move_mm.x) == pytest.approx(0.0, abs=1e-3)


def test_reach_is_counted_from_as_found() -> None:
    """70 mm at the brake as taped, 65 now."""
    assert LEVERS.brake is not None
    assert LEVERS.brake.reach is not None
    told = {"lever_reach.brake": Reported(65.0, 1.5)}
    done = done_so_far(made().job, told)
    assert done.lever_reach_change_mm.brake == pytest.approx(65.0 - LEVERS.brake.reach.value)


def test_what_the_work_used_of_a_band_is_gone() -> None:
    """A riser of 22 mm stands in a band that ends at 30: 8 are left, and 22 the other way."""
    free = {one.what: one for one in held(Allows(riser=(-1.0, 30.0)))}
    assert "riser_height" in free
    assert free["riser_height"].allowed == pytest.approx((-23.0, 8.0), abs=1e-3)
    wanted = free["riser_height"].wanted
    assert abs(wanted - free["riser_height"].residual) < 23.1
    assert held(Allows(riser=(-200.0, 200.0))) == ()


def test_a_bike_stands_inside_its_bands_whatever_was_measured() -> None:
    """Risen by 22 where 10 is the most: it counts as 10, and 10 is what goes down again."""
    (one,) = held(Allows(riser=(0.0, 10.0), pullback=(-200.0, 200.0)))
    assert one.what == "riser_height"
    assert one.allowed == pytest.approx((-10.0, 0.0))


@pytest.mark.parametrize(
    ("band", "sd", "said"),
    [((-8.0, 8.0), 0.1, False), ((-8.0, 2.0), 0.1, True), ((-8.0, 2.0), 5.0, False)],
)
def test_a_tilt_that_the_bar_cannot_be_rolled_to_is_said(
    band: tuple[float, float], sd: float, said: bool
) -> None:
    """Rolled by 4 degrees where 2 is the most, unless the tape explains the rest."""
    done = made(bike("new", OTHER, handlebar=Handlebar(roll=band)))
    told = measured(done)
    told["grip_tilt"] = evolve(told["grip_tilt"], sd=sd)
    words = rolled_too_far(done.job, told)
    assert bool(words) == said
    if said:
        assert "the bar was rolled by 4 since it was taped" in words
        assert "bikes/new.toml allows -8 to 2" in words
    assert rolled_too_far(done.job, {"knee_angle": told["knee_angle"]}) == ""


def test_clip_ons_that_droop_are_not_levelled_by_any_change() -> None:
    """Only where the tilt was measured, and with nothing that the bike allows."""
    done = made(bike("new", OTHER, handlebar=Handlebar(kind="clip-on")))
    told = {"grip_tilt": Reported(-12.0, 0.7)}
    now, _ = as_it_is(done.job, told)
    (one,) = limits_left(done.job, now, done.exact, told)[-1:]
    assert (one.what, one.allowed) == ("grip_tilt", None)
    assert one.residual == pytest.approx(12.0, abs=1.0)
