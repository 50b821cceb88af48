"""The chain for the sake of standing uses: with a seat and for a rider who has none."""

from __future__ import annotations

import numpy as np
import pytest
from attrs import asdict, evolve

from fitprofile.errors import NOTE, WARNING
from fitprofile.model.bike import Bike
from fitprofile.model.log import Entry
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Rider
from fitprofile.stages.chain import Prepared, prepare, transfer
from fitprofile.stages.standing import USUAL_WIDTH
from fitprofile.stages.standing_chain import transfer_standing, with_standing_plans
from tests.stages.invented import SHOP
from tests.stages.test_standing_plans import SHELF
from tests.stages.test_uses import GOOD, TALL, rider

STANDS = evolve(rider(), cockpits={})
"""The same rider with the standing use alone."""


def ready(person: Rider, *log: Entry) -> Prepared:
    """Prepared with both bikes known."""
    found, problems = prepare(person, {"good": GOOD, "tall": TALL}, SHOP, log)
    assert found is not None, problems
    return found


def test_with_a_seat_it_is_the_first_seated_uses_transfer() -> None:
    """Number by number."""
    prepared = ready(rider())
    made, problems = transfer_standing(prepared, GOOD)
    same, others = transfer(prepared, GOOD, "road")
    assert made is not None
    assert same is not None
    assert (made.use, problems) == ("road", others)
    assert repr(made.exact) == repr(same.exact)


def test_without_a_seat_the_grips_go_where_they_go_with_one() -> None:
    """Their place hangs on no body, but the sit-on moves the bike's points by some tenths of a mm.

    Pose and balance are the body's as measured, so near.
    """
    alone, seated = (transfer_standing(ready(one), GOOD)[0] for one in (STANDS, rider()))
    assert alone is not None
    assert seated is not None
    mine, other = alone.standing["trail"], seated.standing["trail"]
    for name in ("riser_height_mm", "riser_pullback_mm", "bar_width_change_mm"):
        one, two = (float(getattr(on.exact.bar, name)) for on in (mine, other))
        assert one == pytest.approx(two, abs=0.5)
    near = float(other.target.forearm_angle_deg)
    assert float(mine.target.forearm_angle_deg) == pytest.approx(near, abs=10.0)


def test_plans_for_one_who_never_sits_cost_no_other_use() -> None:
    """The same parts and prices as for one who also sits, and nobody else to ask."""
    made = {}
    for person in (STANDS, rider()):
        prepared = ready(person)
        one, _ = transfer_standing(prepared, GOOD)
        assert one is not None
        made[bool(person.cockpits)] = with_standing_plans(prepared, one, "trail", SHELF).offers
    alone, seated = made[False], made[True]
    assert alone is not None
    assert seated is not None
    for mine, other in zip(alone.offers, seated.offers, strict=True):
        assert mine.plan.choice == other.plan.choice
        assert mine.plan.price == other.plan.price
        assert mine.others == {}
        assert np.isnan(mine.plan.chance)


def test_a_bike_that_is_not_taped_well_enough_has_no_transfer() -> None:
    """The survey's own sentences come with it."""
    bare: Bike = evolve(GOOD, key="bare", heights={}, spans={})
    made, problems = transfer_standing(ready(STANDS), bare)
    assert made is None
    assert problems


def test_that_nobody_measured_the_rider_sitting_is_a_note() -> None:
    """At the standing tables; a rider who sits has no such note, one without a use an error."""
    _, problems = prepare(STANDS, {"tall": TALL}, SHOP)
    (note,) = [p for p in problems if p.key == "standing"]
    assert (note.level, note.file) == (NOTE, STANDS.file)
    assert "add a table [cockpit.road]" in note.text
    assert not [
        p for p in prepare(rider(), {"tall": TALL, "good": GOOD}, SHOP)[1] if p.key == "standing"
    ]
    nothing, (*_, missing) = prepare(evolve(STANDS, standing={}), {}, SHOP)
    assert nothing is None
    assert "no riding position" in missing.text


def test_the_log_of_one_who_never_sits_counts() -> None:
    """What felt right moves the wish; a figure that its bike refutes is named."""
    entry = Entry(
        bike="tall",
        use="trail",
        date="2026-05-02",
        tape="helper",
        felt_right=True,
        grip_above_peg=Reading(740.0),
        bar_width=Reading(900.0),
        line=3,
    )
    prepared, problems = prepare(STANDS, {"tall": TALL, "good": GOOD}, SHOP, [entry])
    assert prepared is not None
    assert 720.0 < float(prepared.standing["trail"].target.grip_above_peg_mm) < 740.0
    assert "bar_width" in {p.key for p in problems if p.level == WARNING}


def test_without_any_width_a_usual_one_is_taken_for_the_pose() -> None:
    """Neither wish nor bike nor cockpit: the pose of one who stands at a usual bar."""
    wish = evolve(STANDS.standing["trail"], measured_on=None)
    bare, wide = (
        ready(evolve(STANDS, standing={"trail": one})).standing["trail"].target
        for one in (wish, evolve(wish, bar_width=Reading(USUAL_WIDTH)))
    )
    assert np.isnan(float(bare.bar_width_mm))
    assert float(bare.forearm_angle_deg) == float(wide.forearm_angle_deg)
    assert asdict(bare)["hip_to_grip_mm"] == asdict(wide)["hip_to_grip_mm"]
