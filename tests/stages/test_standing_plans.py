"""Plans for a standing use alone: against every combination by force, and what they leave out."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest
from attrs import evolve

from fitprofile.model.bike import Allows, Bike, Lever, Levers
from fitprofile.model.parts import Bar, Catalogue, PegPlate, Riser, Seat
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Standing
from fitprofile.stages.bar_nearest import STEP
from fitprofile.stages.chain import prepare, transfer
from fitprofile.stages.job import Job
from fitprofile.stages.misfit import OUTSIDE
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import CHEAPEST, CLOSEST, FREE
from fitprofile.stages.plans import plans_for
from fitprofile.stages.standing_chain import with_standing_plans
from fitprofile.stages.standing_plans import as_stood
from fitprofile.stages.uses import standing_findings, standing_job
from tests import by_hand
from tests.stages import invented
from tests.stages.test_stance import HIGH
from tests.stages.test_weighing import NAMES, a_pair, few, standing

R = Reading
EDGE = 0.01
"""Tolerances from the border within which two computations may judge differently."""


def wanting(rng: np.random.Generator) -> Job:
    """Nobody sits: grips 10 to 60 mm from where they are, the bike's own tilt and sweep."""
    sits = a_pair(rng)[0]
    stood = standing(rng, sits, float(sits.now.bar_width_mm))
    assert stood.stands is not None
    points = sits.points
    bar = np.array([float(points.grip_end.x), float(points.grip_end.z)])
    peg = np.array([float(points.peg.x), float(points.peg.z)])
    ahead, above = bar - peg + rng.choice((-1.0, 1.0), 2) * rng.uniform(10.0, 60.0, 2)
    wish = evolve(
        stood.target,
        grip_tilt_deg=sits.now.grip_tilt_deg,
        grip_sweep_deg=sits.now.grip_sweep_deg,
        lean_deg=sits.target.lean_deg,
    )
    place = stood.stands._replace(above_mm=float(above), ahead_mm=float(ahead))
    return evolve(stood, target=wish, stands=place, limits=evolve(stood.limits, lean=None))


def by_force(job: Job, shelf: Catalogue) -> list[tuple[float, float, float]]:
    """Each combination: price, least score, and least largest misfit, on a fine grid of roll."""
    was, band, stands = by_hand.as_plain(job.points, NAMES), job.bike.handlebar.roll, job.stands
    assert band is not None
    assert stands is not None
    found = []
    for riser, plate in product((None, *shelf.risers), (None, *shelf.peg_plates)):
        scores, worst = [], []
        for roll in np.linspace(*band, 321):
            changes = {
                "riser_height_mm": 0.0 if riser is None else riser.height.value,
                "riser_pullback_mm": 0.0 if riser is None else riser.pullback.value,
                "bar_roll_deg": float(roll),
                "peg_x_mm": 0.0 if plate is None else plate.x.value,
                "peg_z_mm": 0.0 if plate is None else plate.z.value,
            }
            points = by_hand.changed(was, changes, job.rake)
            off = misfits(job, points)
            scores.append(sum(m * m + OUTSIDE * max(abs(m) - 1.0, 0.0) ** 2 for m in off))
            worst.append(max(map(abs, off)))
        price = sum(0.0 if part is None else part.price.value for part in (riser, plate))
        found.append((price, min(scores), min(worst)))
    return found


def misfits(job: Job, points: dict[str, Any]) -> list[float]:
    """Grips' place against the peg, tilt and sweep of their axis, in plain Python."""
    end, peg, stands = points["grip_end"], points["peg"], job.stands
    assert stands is not None
    x, y, z = by_hand.along(by_hand.less(end, points["grip_inner"]))
    near, allowed = job.tolerances["navel_to_bar"], job.tolerances
    tilt = np.degrees(np.arctan2(z, np.hypot(x, y)))
    sweep = np.degrees(np.arctan2(-x, y))
    return [
        (end[2] - peg[2] - stands.above_mm) / near,
        (end[0] - peg[0] - stands.ahead_mm) / near,
        float(tilt - job.target.grip_tilt_deg) / allowed["grip_tilt"],
        float(sweep - job.target.grip_sweep_deg) / allowed["grip_sweep"],
    ]


@pytest.mark.parametrize("seed", range(12))
def test_plans_are_those_of_every_riser_with_every_plate_by_force(seed: int) -> None:
    """The closest as near as any, the cheapest as cheap as the cheapest that is inside."""
    rng = np.random.default_rng(seed)
    job = wanting(rng)
    shelf = evolve(few(rng), risers=tuple(evolve(one, price=R(40.0)) for one in few(rng).risers))
    made = {plan.name: plan for plan in plans_for(((job, 1.0),), shelf)}
    rows = by_force(job, shelf)
    inside = [row for row in rows if row[2] <= 1.0 - EDGE]
    maybe = [row for row in rows if row[2] <= 1.0 + EDGE]
    if CHEAPEST in made:
        assert made[CHEAPEST].inside
        assert min(row[0] for row in maybe) <= made[CHEAPEST].price
    if inside:
        assert made[CHEAPEST].price <= min(row[0] for row in inside)
    near = made[CLOSEST]
    far = sum(v * v + OUTSIDE * max(abs(v) - 1.0, 0.0) ** 2 for v in near.deviations.values())
    # Inside every tolerance comes before near.
    best = min(row[1] for row in (inside or rows))
    assert far <= best + STEP + EDGE


def test_some_of_these_stands_can_be_had_and_some_cannot() -> None:
    """The test above sees both."""
    found = []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        found.append(any(p.name == CHEAPEST for p in plans_for(((wanting(rng), 1.0),), few(rng))))
    assert 2 <= sum(found) <= 10


SHELF = Catalogue(
    risers=(Riser(name="Riser 30", height=R(30.0), pullback=R(5.0), price=R(40.0)),),
    peg_plates=(PegPlate(name="Plates 20 lower", x=R(0.0), z=R(-20.0), price=R(90.0)),),
    seats=(Seat(name="High seat", z=R(30.0), price=R(5.0)),),
    file="shared/parts.toml",
)
PEDAL = {"brake_pedal": (700.0, 200.0, 380.0)}


def made(
    *,
    gear: float | None = None,
    above: float = 670.0,
    allows: Allows | None = None,
    shelf: Catalogue | None = None,
    levers: Levers | None = None,
    **more: Any,
) -> Transfer:
    """A rider who sits on the one bike and stood well on the taller one, for the first."""
    tall, good = invented.bike("tall", HIGH), with_pedal(invented.bike("good"))
    good = evolve(good, allows=allows or Allows(), levers=levers or good.levers)
    figures: dict[str, Any] = {
        "grip_above_peg": R(above),
        "grip_ahead_of_peg": R(372.0),
        "lean": R(30.0),
        "lever_angle": R(22.0),
        "measured_on": "tall",
        "brake_pedal": None if gear is None else R(gear),
    }
    wish = Standing(**{**figures, **more})
    person = invented.rider(
        {"road": invented.sat(measured_on="good")}, standing={"trail": wish}, sex="male"
    )
    ready, problems = prepare(person, {"good": good, "tall": tall}, invented.SHOP)
    assert ready is not None, problems
    found, problems = transfer(ready, good, "road")
    assert found is not None, problems
    return with_standing_plans(ready, found, "trail", SHELF if shelf is None else shelf)


def with_pedal(bike: Bike) -> Bike:
    """Its brake pedal taped as well."""
    x, y, z = PEDAL["brake_pedal"]
    return evolve(
        bike,
        heights={**bike.heights, "brake_pedal": R(z)},
        ahead={**bike.ahead, "brake_pedal": R(x)},
        widths={**bike.widths, "brake_pedal": R(2.0 * y)},
    )


def test_each_lever_goes_to_its_own_arm() -> None:
    """Read 20 and 20, wished 26 left and 14 right: free perches bring each to its own arm's."""
    arms = R(20.0, count=2, sides=(26.0, 14.0))
    free = Lever(angle=R(20.0), perch="free")
    found = made(lever_angle=arms, levers=Levers(brake=free, clutch=free))
    assert found.offers is not None
    for offer in found.offers.offers:
        after = offer.plan.after.lever_angle_deg
        assert abs(float(after.clutch) - 26.0) <= 3.0
        assert abs(float(after.brake) - 14.0) <= 3.0
        off = offer.plan.deviations["lever_angle.brake"]
        assert off == pytest.approx((float(after.brake) - 14.0) / 3.0)


def test_nobody_who_stands_buys_a_seat() -> None:
    """However cheap; and no lever's reach is set."""
    offers = made().offers
    assert offers is not None
    for offer in offers.offers:
        assert offer.plan.choice.seat is None
        assert not any("lever_reach" in step.what for step in offer.plan.steps)


def test_a_plan_says_what_it_costs_those_who_sit_and_has_no_chance() -> None:
    """The use itself is no other use; its numbers stand beside the plan."""
    offers = made().offers
    assert offers is not None
    for offer in offers.offers:
        assert set(offer.others) == {"road"}
        assert set(offer.standing) == {"trail"}
        assert np.isnan(offer.plan.chance)
    free = offers.named(FREE)
    assert free is not None
    assert free.others["road"]["knee_angle"] == pytest.approx(0.0, abs=0.2)


def test_pedals_are_set_to_their_height_above_pegs_that_moved() -> None:
    """Whatever the plates do to the peg, the pedal follows it and is then set: minutes count."""
    offers = made(gear=8.0).offers
    assert offers is not None
    for offer in offers.offers:
        (step,) = (one for one in offer.plan.steps if one.what == "brake_pedal")
        # The bike's pedal stands 380 - 390 = -10 mm from its peg, and so it does on every plate.
        assert (step.start, step.end, step.change) == pytest.approx((-10.0, 8.0, 18.0), abs=0.5)
        assert offer.standing["trail"].brake_pedal_mm == 8.0
        assert offer.plan.deviations["brake_pedal"] == 0.0
    bare = made(gear=-10.0).offers
    assert bare is not None
    pairs = zip(offers.offers, bare.offers, strict=True)
    assert all(one.plan.minutes == other.plan.minutes + 10.0 for one, other in pairs)


@pytest.mark.parametrize("wish", [-6.0, -14.0, None])
def test_a_pedal_at_its_height_is_left_alone(wish: float | None) -> None:
    """Inside 5 mm, or not wished at all, nothing is done about it."""
    offers = made(gear=wish).offers
    assert offers is not None
    whats = {step.what for offer in offers.offers for step in offer.plan.steps}
    assert "brake_pedal" not in whats


def test_the_chosen_plan_takes_the_place_of_the_practical_answer() -> None:
    """Numbers after it, what it misses and what it leaves; without plans nothing changes."""
    found = made()
    assert found.offers is not None
    chosen = found.offers.chosen
    stood = as_stood(found, "trail").standing["trail"]
    assert stood.after == chosen.standing["trail"]
    assert stood.practical == found.standing["trail"].practical
    assert bool(stood.missed) != chosen.plan.inside
    bare = evolve(found, offers=None)
    assert as_stood(bare, "trail") is bare


def test_alone_it_wishes_the_tilt_and_sweep_it_was_measured_with() -> None:
    """As on its bike; from memory any sweep will do. Weighed with a seat neither counts."""
    person = invented.rider(
        {"road": invented.sat(measured_on="good")},
        standing={
            name: Standing(grip_above_peg=R(670.0), grip_ahead_of_peg=R(372.0), measured_on=bike)
            for name, bike in (("trail", "tall"), ("memory", None))
        },
        sex="male",
    )
    good, tall = invented.bike("good"), invented.bike("tall", HIGH)
    ready, _ = prepare(person, {"good": good, "tall": tall}, invented.SHOP)
    assert ready is not None
    found, _ = transfer(ready, good, "road")
    assert found is not None
    axis = by_hand.along(by_hand.less(HIGH["grip_end"], HIGH["grip_inner"]))
    trail = standing_job(ready.standing["trail"], found.job, alone=True).target
    assert trail.grip_tilt_deg == pytest.approx(np.degrees(np.arcsin(axis[2])), abs=0.1)
    assert trail.grip_sweep_deg == pytest.approx(np.degrees(np.arctan2(-axis[0], axis[1])), abs=0.1)
    memory = standing_job(ready.standing["memory"], found.job, alone=True).target
    assert np.isnan(memory.grip_sweep_deg)
    weighed = standing_job(ready.standing["trail"], found.job).target
    assert np.isnan(weighed.grip_tilt_deg)


def test_a_new_bar_wider_than_the_bike_takes_is_cut_to_that_where_no_width_is_wished() -> None:
    """And stays in the search: 820 wide, 760 allowed, high enough to be the closest."""
    high = Bar(
        name="High",
        width=R(820.0),
        rise=R(110.0),
        pullback=R(80.0),
        backsweep=R(10.0),
        clamp_diameter=R(28.6),
    )
    shelf = evolve(SHELF, risers=(), bars=(high,))
    offers = made(above=730.0, allows=Allows(bar_width=(600.0, 760.0)), shelf=shelf).offers
    assert offers is not None
    near = offers.named(CLOSEST)
    assert near is not None
    assert near.plan.choice.bar is high
    assert float(near.plan.after.bar_width_mm) == pytest.approx(760.0)
    assert "bar_width" not in near.plan.deviations


def test_no_lever_is_touched_that_nobody_wished() -> None:
    """Neither an angle nor arms long enough to have one: no step, no deviation, nothing missed."""
    found = made(above=900.0, grip_ahead_of_peg=R(900.0), lever_angle=None)
    assert np.isnan(float(found.standing["trail"].target.lever_angle_deg.brake))
    assert found.offers is not None
    for offer in found.offers.offers:
        assert not any("lever" in name for name in offer.plan.deviations)
        assert not any("lever" in step.what for step in offer.plan.steps)
        assert not any("free_pin" in key for key in offer.plan.cannot_undo)


def test_what_the_bike_does_not_allow_of_the_exact_answer_is_named() -> None:
    """Risers up to 20 mm, and the wish 130 mm higher than the grips are."""
    limits = made(above=770.0, allows=Allows(riser=(0.0, 20.0))).standing["trail"].limits
    (limit,) = (one for one in limits if one.what == "riser_height")
    assert limit.allowed == (0.0, 20.0)
    assert limit.residual == pytest.approx(limit.wanted - 20.0)


def test_pegs_that_go_down_do_not_lift_the_bar() -> None:
    """Plates 20 lower alone bring the grips 20 mm further above the pegs, and no hose is short."""
    shelf = evolve(SHELF, risers=())
    found = made(above=670.0, shelf=shelf)
    assert found.offers is not None
    pegs = evolve(found, offers=evolve(found.offers, picked=CLOSEST))
    assert pegs.offers is not None
    assert pegs.offers.chosen.plan.peg_move_mm == (0.0, -20.0)
    after = as_stood(pegs, "trail").standing["trail"].after
    assert float(after.grip_above_peg_mm) > 650.0
    assert not any("the bar goes up" in p.text for p in standing_findings(pegs, "trail"))


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_a_missing_part_that_is_put_on_the_shelf_mends_what_it_says(share: float) -> None:
    """Here a bar of another bend, at any rise of its range; the plan is then inside."""
    bare = evolve(SHELF, risers=(), peg_plates=())
    offers = made(above=680.0, shelf=bare).offers
    assert offers is not None
    (missing,) = offers.remedies
    assert missing.kind == "bar"
    assert "grip_above_peg" in missing.mends
    figures: dict[str, Any] = {
        name: R(low + share * (high - low)) for name, (low, high) in missing.figures.items()
    }
    low, high = missing.figures["rise"]
    assert high > low
    part = Bar(name="New", clamp_diameter=R(28.6), price=R(1.0), **figures)
    mended = made(above=680.0, shelf=evolve(bare, bars=(part,))).offers
    assert mended is not None
    near = mended.named(CLOSEST)
    assert near is not None
    assert near.plan.inside
    assert near.plan.choice.bar == part
