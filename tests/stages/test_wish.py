"""One wish from several sit-ons: the weighted mean by hand, and where they disagree."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve

from fitprofile.errors import NOTE, WARNING
from fitprofile.model.log import Entry
from fitprofile.stages.calibrate import Settled
from fitprofile.stages.siton import MISSING, Reported, SitOn
from fitprofile.stages.wish import bar_notes, disagreements, wishes
from tests.stages.invented import BODY


def told(on: str | None = "good", *, entry: bool = True, **more: Any) -> SitOn:
    """A sit-on with round numbers: navel-to-bar 400 give or take 20, angles 12 and 90."""
    given: dict[str, Any] = {
        "use": "road",
        "bike": on,
        "navel_to_bar": Reported(400.0, 10.0),
        "forearm_angle": Reported(12.0, 4.0),
        "knee_angle": Reported(90.0, 5.0),
        "lean": Reported(10.0, 5.0),
        "mid_foot": False,
        "entry": Entry(bike=on or "other", use="road", date="2026-05-01", line=7)
        if entry
        else None,
        "felt_right": True,
    }
    return SitOn(**{**given, **more})


def shown(navel: float, forearm: float, knee: float, bike: str | None = "good") -> Settled:
    return Settled(
        use="road",
        bike=bike,
        linkage=BODY,
        lean_deg=11.0,
        navel_to_bar_mm=navel,
        forearm_angle_deg=forearm,
        knee_angle_deg=knee,
        elbow_angle_deg=130.0,
        points=None,
        step=None,
    )


def read(name: str, value: float, sd: float) -> dict[str, Any]:
    """One reading as a keyword of a sit-on."""
    return {name: Reported(value, sd)}


OWN = told(entry=False)


def test_the_wish_is_the_mean_weighed_by_the_spreads() -> None:
    """By hand: weights 1/10^2 and 1/5^2 for 402 and 412 mm: (402 + 4 x 412) / 5 = 410 mm.

    Forearm, weights 1/4^2 and 1/2^2 for 10 and 15 degrees: (10 + 4 x 15) / 5 = 14. The knee was
    not measured in the second, so it stays at 91.
    """
    other = told(
        "juniper",
        navel_to_bar=Reported(411.0, 5.0),
        forearm_angle=Reported(15.5, 2.0),
        knee_angle=MISSING,
    )
    settled = (shown(402.0, 10.0, 91.0), shown(412.0, 15.0, 70.0, "juniper"))
    wish = wishes((OWN, other), settled)["road"]
    assert wish.navel_to_bar_mm == pytest.approx(410.0)
    assert wish.forearm_angle_deg == pytest.approx(14.0)
    assert wish.knee_angle_deg == pytest.approx(91.0)
    assert (wish.bike, wish.lean_deg) == ("good", 11.0)


def test_samples_are_combined_each_on_its_own() -> None:
    """Arrays in, arrays out."""
    settled = (shown(402.0, 10.0, 91.0), shown(412.0, 15.0, 89.0, "juniper"))
    many = tuple(
        evolve(one, navel_to_bar_mm=one.navel_to_bar_mm + np.arange(3.0)) for one in settled
    )
    wish = wishes((OWN, told("juniper")), many)["road"]
    assert wish.navel_to_bar_mm == pytest.approx(407.0 + np.arange(3.0))


def test_one_sit_on_is_the_wish_itself() -> None:
    """Entries that did not feel right, and other uses, leave it alone."""
    wrong = told("juniper", felt_right=False)
    other = told("sorrel", entry=False, use="track")
    settled = (shown(402.0, 10.0, 91.0), evolve(shown(1.0, 1.0, 1.0), use="track"), shown(9, 9, 9))
    found = wishes((OWN, other, wrong), settled)
    assert found["road"] is settled[0]
    assert found["track"] is settled[1]


def test_another_place_of_the_foot_is_another_knee_angle() -> None:
    """Left out of the knee's mean, kept in the others'."""
    other = told("juniper", mid_foot=True)
    settled = (shown(402.0, 10.0, 91.0), shown(412.0, 15.0, 70.0, "juniper"))
    wish = wishes((OWN, other), settled)["road"]
    assert wish.knee_angle_deg == pytest.approx(91.0)
    assert wish.navel_to_bar_mm == pytest.approx(407.0)


def test_a_cockpit_from_memory_takes_the_hardware_of_a_bike_that_felt_right() -> None:
    """Its tilt, sweep and reach stand in for what the wish does not name."""
    memory = told(None, entry=False)
    settled = (shown(402.0, 10.0, 91.0, None), shown(412.0, 15.0, 89.0, "juniper"))
    assert wishes((memory, told("juniper")), settled)["road"].bike == "juniper"


@pytest.mark.parametrize(("second", "said"), [(32.0, True), (31.0, False)])
def test_wishes_that_disagree_are_said(second: float, said: bool) -> None:
    """Spreads 3 and 4 degrees, so 5 between them: 1.96 x 5 = 9.8; 10 apart is said, 9 is not."""
    own = told(entry=False, forearm_angle=Reported(22.0, 3.0))
    other = told("juniper", forearm_angle=Reported(second, 4.0))
    found = disagreements((own, other), "profiles/ida.log.toml")
    assert bool(found) == said
    for problem in found:
        assert (problem.level, problem.line, problem.key) == (WARNING, 7, "forearm_angle")
        for words in ("road", "forearm angle", "32 degrees on juniper", "22 on good", "10 steeper"):
            assert words in problem.text
        assert "a use of its own, or measure again" in problem.text


def test_readings_of_one_bike_are_pooled_before_bikes_are_compared() -> None:
    """Three times 420 mm, sd 10 each, against 400, sd 10: 20 apart.

    The spread of that is sqrt(100/3 + 100) = 11.5, and 20 < 1.96 x 11.5 = 22.6; with 425 it is 25.
    """
    for value, said in ((420.0, False), (425.0, True)):
        others = [told("juniper", navel_to_bar=Reported(value, 10.0)) for _ in range(3)]
        assert bool(disagreements((OWN, *others), "log")) == said


def test_sweep_has_its_say_as_tilt_has() -> None:
    """Weights 1/4^2 and 1/2^2, so 1 to 4: (10 + 4 x 20) / 5 = 18 degrees."""
    own = told(entry=False, grip_sweep=Reported(10.0, 4.0))
    other = told("juniper", grip_sweep=Reported(20.0, 2.0))
    settled = (shown(402.0, 10.0, 91.0), shown(412.0, 15.0, 70.0, "juniper"))
    wish = wishes((own, other), settled)
    assert wish["road"].grip_sweep_deg == pytest.approx(18.0)
    (note,) = bar_notes((own, other), wish, "profiles/ida.toml")
    assert "10 degrees here; the grip sweep wished is 18" in note.text


def test_sit_ons_that_did_not_feel_right_do_not_disagree() -> None:
    """They are no wish."""
    other = told("juniper", felt_right=False, navel_to_bar=Reported(700.0, 5.0))
    assert disagreements((OWN, other), "log") == ()


def test_bar_width_has_its_say_where_the_profile_wishes_it() -> None:
    """Weights 1/4^2 and 1/8^2, so 4 to 1: (4 x 745 + 770) / 5 = 750 mm; tilt was wished nowhere.

    The note names both figures; where the mean rounds to the profile's own there is none.
    """
    own = told(entry=False, bar_width=Reported(745.0, 4.0))
    other = told("juniper", bar_width=Reported(770.0, 8.0), grip_tilt=Reported(5.0, 2.0))
    settled = (shown(402.0, 10.0, 91.0), shown(412.0, 15.0, 70.0, "juniper"))
    wish = wishes((own, other), settled)
    assert wish["road"].bar_width_mm == pytest.approx(750.0)
    assert np.isnan(wish["road"].grip_tilt_deg)
    (note,) = bar_notes((own, other), wish, "profiles/ida.toml")
    assert (note.level, note.file) == (NOTE, "profiles/ida.toml")
    assert note.key == "cockpit.road.bar_width"
    assert "745 mm here; the bar width wished is 750, the mean of 2 that felt right" in note.text
    near = evolve(other, bar_width=Reported(746.0, 8.0))
    assert not list(bar_notes((own, near), wishes((own, near), settled), "log"))


@pytest.mark.parametrize(
    ("name", "values", "words"),
    [
        ("bar_width", (745.0, 760.0), ("760 mm on juniper and 745 on good", "15 wider")),
        ("grip_tilt", (1.5, 17.4), ("17 degrees on juniper and 2 on good", "15 further up")),
        ("grip_sweep", (11.0, 26.0), ("26 degrees on juniper and 11 on good", "15 further back")),
    ],
)
def test_bars_that_disagree_are_said(
    name: str, values: tuple[float, float], words: tuple[str, ...]
) -> None:
    """Spreads 3 and 4, so 5 between them: 15 is more than 9.8. One bike alone says nothing.

    The difference is that of the figures as they are printed.
    """
    own = told(entry=False, **read(name, values[0], 3.0))
    other = told("juniper", **read(name, values[1], 4.0))
    (problem,) = disagreements((own, other), "log")
    assert (problem.key, problem.line, problem.level) == (name, 7, WARNING)
    for part in (*words, "more than tape and tolerance explain", "a use of its own"):
        assert part in problem.text
    near = told("juniper", **read(name, values[0] + 9.0, 4.0))
    assert disagreements((own, near), "log") == ()
    assert disagreements((OWN, other), "log") == ()
