"""All checks of a plan together: none raises, and a bike left alone is as found."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.data.places import Place, find_place, places
from fitprofile.geometry.vectors import Vec
from fitprofile.model import bike as model
from fitprofile.model.parts import Bar, Extender, LeverSet, Riser
from fitprofile.model.quantity import Reading
from fitprofile.stages import moves
from fitprofile.stages.clearance import front_end_check, least_room, workshop_checks
from fitprofile.stages.plan import Choice
from fitprofile.stages.posture import Sides
from tests.stages import plans
from tests.stages.plans import BODY

GROUPS = {
    "lock", "thumb", "hose", "diameter", "pins", "perch", "reservoir", "lever", "law", "pedals",
    "straddle", "front_end",
}  # fmt: skip


def maybe(low: float, high: float) -> st.SearchStrategy[Reading | None]:
    return st.none() | st.floats(low, high).map(Reading)


def band(low: float, high: float) -> st.SearchStrategy[tuple[float, float] | None]:
    return st.none() | st.just((low, high))


HOSE = st.none() | st.builds(
    plans.hose,
    st.none() | st.floats(-200.0, 300.0),
    st.none()
    | st.tuples(st.floats(500.0, 1500.0), st.floats(-300.0, 300.0), st.floats(0.0, 1200.0)),
    st.sampled_from(model.HOLDS),
)
LEVER = st.none() | st.builds(
    model.Lever,
    perch=st.sampled_from(model.PERCHES),
    rotation=band(-10.0, 10.0),
    pin=maybe(1.0, 10.0),
    cap_limit=maybe(1.0, 45.0),
    pull=maybe(5.0, 120.0),
)
THINGS = st.lists(
    st.builds(
        plans.obstacle,
        st.sampled_from(["tank", "screen", "horn"]),
        st.floats(500.0, 1400.0),
        st.floats(-400.0, 400.0),
        st.floats(500.0, 1400.0),
    ),
    max_size=3,
)
BIKES = st.fixed_dictionaries(
    {
        "steering": st.builds(
            model.Steering,
            lock=maybe(5.0, 80.0),
            fork_extension=maybe(0.0, 350.0),
            fork_compression=maybe(0.0, 350.0),
        ),
        "handlebar": st.builds(
            model.Handlebar,
            bar_diameter=maybe(10.0, 60.0),
            clamp_diameter=maybe(10.0, 60.0),
            grip_diameter=maybe(10.0, 60.0),
            overall_width=maybe(500.0, 1200.0),
            roll=band(-8.0, 8.0),
            pins=st.booleans(),
        ),
        "hoses": st.none()
        | st.builds(model.Hoses, front_brake=HOSE, clutch=HOSE, throttle=HOSE, wiring=HOSE),
        "levers": st.builds(model.Levers, brake=LEVER, clutch=LEVER),
        "obstacles": THINGS.map(tuple),
        "straddle": st.builds(model.Straddle, seat_width=maybe(50.0, 600.0), sag=maybe(0.0, 200.0)),
        "ahead": st.sampled_from([{}, plans.TAPED_AHEAD]),
        "others": st.sampled_from([{}, {"tank": Vec(750.0, 0.0, 950.0)}]),
        "clip_on": st.booleans(),
        "lever": st.sampled_from([None, 20.0, math.nan]),
        "reach": st.sampled_from([60.0, math.nan]),
    }
)
PLACES = st.none() | st.sampled_from(places())
SIDES = st.builds(Sides, *(st.sampled_from([0.0, 6.0, -15.0, math.nan]) for _ in range(2)))
BAR = Bar(
    name="invented bar", width=Reading(800.0), rise=Reading(60.0), pullback=Reading(90.0),
    backsweep=Reading(12.0), clamp_diameter=Reading(28.6),
)  # fmt: skip
CHOICES = st.builds(
    Choice,
    bar=st.sampled_from([None, BAR]),
    riser=st.sampled_from([None, Riser(name="invented riser", height=Reading(20.0))]),
    extender=st.sampled_from([None, Extender(name="invented", length=Reading(20.0))]),
    lever_sets=st.sampled_from([(), (LeverSet(name="invented", reach_range=(50.0, 80.0)),)]),
)


@given(fields=BIKES, place=PLACES, choice=CHOICES, turns=SIDES, reaches=SIDES, data=st.data())
def test_nothing_that_is_missing_raises(
    fields: dict[str, Any],
    place: Place | None,
    choice: Choice,
    turns: Sides,
    reaches: Sides,
    data: st.DataObject,
) -> None:
    """Every optional field there or not: each check is judged by its figures, or says why not."""
    one = plans.job(**fields)
    up, back, roll, slide = (data.draw(st.floats(-60.0, 60.0)) for _ in range(4))
    end = moves.roll_bar(moves.slide_grips(plans.risen(one, up, back), slide), 0.2 * roll)
    plan = plans.plan(
        one,
        end,
        roll_deg=0.2 * roll,
        grip_slide_mm=slide,
        choice=choice,
        lever_rotation_deg=turns,
        lever_reach_change_mm=reaches,
    )
    found = workshop_checks(one, BODY, plan, place)
    keys = [check.what for check in found]
    assert len(keys) == len(set(keys))
    for check in found:
        assert check.what.split(".")[0] in GROUPS
        assert check.words
        assert check.why
        assert "nan" not in check.why
        if check.ok is None:
            continue
        inside = check.value >= check.limit if check.least else check.value <= check.limit
        assert check.ok is inside


@given(fields=BIKES)
def test_a_bike_left_alone_is_as_found(fields: dict[str, Any]) -> None:
    """No move: no hose needs more, no perch turns, nothing tips, no hand goes up and back."""
    one = plans.job(**fields)
    found = workshop_checks(one, BODY, plans.plan(one), None)
    for check in found:
        group = check.what.split(".")[0]
        if group in {"hose", "front_end", "pedals", "pins"}:
            assert check.value == 0.0
        if group == "reservoir" and np.isfinite(check.value):
            assert check.value == pytest.approx(0.0, abs=1e-6)
        if check.what.startswith(("lock.fist", "thumb")):
            assert f"as found it was {round(check.value)} mm" in check.why


@pytest.mark.parametrize(
    ("up", "back", "value", "ok"),
    [
        (29.0, 60.0, 29.0, True),
        (60.0, 29.0, 29.0, True),
        (35.0, 36.0, 35.0, None),
        (41.0, 45.0, 41.0, False),
        (80.0, -5.0, 0.0, True),
        (-20.0, 60.0, 0.0, True),
    ],
)
def test_hands_up_and_back_make_the_front_light(
    up: float, back: float, value: float, ok: bool | None
) -> None:
    """Both at once count: from 30 mm somebody looks, beyond 40 it is marked."""
    one = plans.job()
    step = Vec(-back, 0.0, up)
    end = evolve(
        one.points,
        grip_end=one.points.grip_end.plus(step),
        grip_inner=one.points.grip_inner.plus(step),
    )
    check = front_end_check(one, plans.plan(one, end))
    assert check.value == pytest.approx(value)
    assert (check.ok, check.limit) == (ok, 30.0)


def test_the_law_s_room_at_lock_is_the_least_of_the_lock_checks() -> None:
    """One figure, two rows."""
    one = plans.job(
        steering=model.Steering(lock=Reading(35.0)),
        obstacles=(plans.obstacle("tank", 760.0, 130.0, 960.0),),
    )
    place = find_place("Germany")
    assert isinstance(place, Place)
    found = workshop_checks(one, BODY, plans.plan(one), place)
    lock = tuple(c for c in found if c.what.startswith(("lock", "thumb")))
    assert plans.only(found, "law.Germany.2").value == min(c.value for c in lock)
    assert math.isnan(least_room(()))


def test_a_fitted_riser_moves_the_steering_axis() -> None:
    """The clamp stands behind the yoke by its pullback, so the same bar swings otherwise."""
    one = plans.job(
        steering=model.Steering(lock=Reading(35.0)),
        obstacles=(plans.obstacle("tank", 760.0, 130.0, 960.0),),
    )
    near, far = (
        workshop_checks(evolve(one, fitted_pullback_mm=pullback), BODY, plans.plan(one), None)[
            0
        ].value
        for pullback in (0.0, 30.0)
    )
    assert abs(near - far) > 1.0
