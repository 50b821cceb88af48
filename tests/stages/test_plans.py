"""Plans put together: what they say agrees with itself, with the bike and with the search."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import PINNED, Allows, Fitted, Handlebar, Lever, Levers
from fitprofile.model.parts import WITHOUT, Bar, Catalogue, Labour, LeverSet, PegPlate, Riser, Seat
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import RiderLimits
from fitprofile.stages.bar_setting import GROUPS, Bars
from fitprofile.stages.job import SIDES, Job, deviations, missed, out_of_line
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.placement import bar_as_drawn
from fitprofile.stages.plan import CHEAPEST, CLOSEST, FREE, PLAN_NAMES, QUICKEST, Plan
from fitprofile.stages.plans import built, misfits_of, plans_for
from fitprofile.stages.posture import Sides
from fitprofile.stages.reaches import reach_set
from fitprofile.stages.search import search
from tests.stages import jobs
from tests.stages.applied import applied
from tests.stages.by_force import SLIDE_SEEN, Force, combo_of, slide_of
from tests.stages.plans import array
from tests.stages.shelves import KINDS, a_job, cases, shelf
from tests.stages.taped import TRUE

R = Reading


def plans(job: Job, shop: Catalogue) -> dict[str, Plan]:
    return {plan.name: plan for plan in plans_for(((job, 1.0),), shop)}


BOTH_SIDES = {"both": SIDES, "brake": (), "clutch": ()}


@given(case=cases())
def test_a_plan_carried_out_and_sought_again_asks_for_nothing(case: tuple[Job, Catalogue]) -> None:
    """Each by its own name: no part, no step, and as much inside as before.

    A new bar's band of roll counts from where it stands as drawn, the old one's from where it was
    found, so the bar itself is kept for the second search. Pins that were freed are pins again in
    the second search, so the closest may then lie elsewhere: there it only loses nothing.
    """
    job, shop = case
    pinned = any(getattr(job.bike.levers, side).perch == PINNED for side in SIDES)
    for name, plan in plans(job, shop).items():
        there = applied(job, plan)
        keep = evolve(there.bike.allows, keep=("bar", "clip_on"))
        again = plans(evolve(there, bike=evolve(there.bike, allows=keep)), shop)[name]
        assert again.inside == plan.inside
        if name == CLOSEST and pinned:
            continue
        assert again.steps == ()
        assert list(again.choice.parts()) == []
        assert (again.price, again.minutes, again.cannot_undo) == (0.0, 0.0, ())
        assert array(again.points.grip_end) == pytest.approx(array(plan.points.grip_end))


@given(case=cases())
def test_points_are_those_that_the_parts_and_settings_give_by_hand(
    case: tuple[Job, Catalogue],
) -> None:
    """Built again from the plan's fields, and by scipy's turns of the drawings in `by_force`."""
    job, shop = case
    force = Force(job, shop)
    for plan in plans(job, shop).values():
        combo = combo_of(job, plan)
        setting = plan.clip_slide_mm if job.clip_on else plan.roll_deg
        expected = force.placed(combo, setting)
        again = built(job, plan, job.points, job.rake)
        for name in ("seat", "peg", "clamp", "grip_end", "grip_inner"):
            there = array(getattr(plan.points, name))
            assert there == pytest.approx(expected[name], abs=1e-7)
            assert array(getattr(again, name)) == pytest.approx(there, abs=1e-12)


@given(case=cases())
def test_inside_is_every_deviation_inside(case: tuple[Job, Catalogue]) -> None:
    """Cheapest and quickest always are; closest wherever those are there."""
    job, shop = case
    made = plans(job, shop)
    for plan in made.values():
        assert plan.inside == all(abs(value) <= INSIDE for value in plan.deviations.values())
        assert plan.worst == max(abs(value) for value in plan.deviations.values())
        assert (
            misfits_of(job, plan) == plan.deviations or plan.after.lean_deg != job.target.lean_deg
        )
    assert all(made[name].inside for name in (CHEAPEST, QUICKEST) if name in made)


@given(case=cases())
def test_deviations_agree_with_the_judgement_of_the_job(case: tuple[Job, Catalogue]) -> None:
    """The same numbers missed, the same deviations in mm and degrees.

    A lever is held against its own forearm as it will be, a clip-on's tilt is left out, and more
    open knees count against the rider's limit.
    """
    job, shop = case
    for plan in plans(job, shop).values():
        outside = {name for name, value in plan.deviations.items() if abs(value) > INSIDE}
        judged = set(missed(job, plan.after)) - ({"grip_tilt"} if job.clip_on else set())
        for side in SIDES:
            # Without a forearm angle a lever is held against the wished one.
            if np.isnan(plan.after.forearm_angle_deg):
                judged.discard(f"lever_angle.{side}")
                outside.discard(f"lever_angle.{side}")
        border = {name for name, v in plan.deviations.items() if abs(abs(v) - 1.0) < 1e-6}
        assert outside ^ judged <= border
        off = deviations(job.target, plan.after)
        for name, value in plan.deviations.items():
            number = name.partition(".")[0]
            if number == "lever_angle":
                side = name.partition(".")[2]
                reading = getattr(plan.after.lever_angle_deg, side)
                aim = plan.after.forearm_angle_deg
                aim = job.target.forearm_angle_deg if np.isnan(aim) else aim
                aim = aim + getattr(job.target.lever_angle_deg, side) - job.target.forearm_angle_deg
                assert value * job.tolerances[number] == pytest.approx(reading - aim, abs=1e-9)
            elif np.isfinite(value) and not (number == "knee_angle" and value > 0.0):
                assert value * job.tolerances[number] == pytest.approx(off[name], abs=1e-9)


@given(case=cases())
def test_price_and_minutes_are_those_of_parts_and_adjustments(case: tuple[Job, Catalogue]) -> None:
    """Added up by hand from what the plan says is done."""
    job, shop = case
    labour, force = shop.labour, Force(job, shop)
    for plan in plans(job, shop).values():
        choice, parts = plan.choice, list(plan.choice.parts())
        new = choice.bar is not None or choice.clip_on is not None
        head = choice.bar or choice.clip_on
        slide = slide_of(
            job, force.placed_head(head), force.was, head, choice.extender,
            slid=combo_of(job, plan).slid,
        )  # fmt: skip
        minutes = sum(part.minutes.value for part in parts)
        if not new:
            setting = plan.clip_slide_mm if job.clip_on else plan.roll_deg
            own = labour.clip_slide if job.clip_on else labour.roll
            minutes += own.value if setting else 0.0
            slid = abs(slide) > SLIDE_SEEN and choice.extender is None
            minutes += labour.slide.value if slid else 0.0
            minutes += labour.perch.value * sum(
                getattr(plan.lever_rotation_deg, side) != 0.0 for side in SIDES
            )
        bought = {side for one in choice.lever_sets for side in (one.side, *BOTH_SIDES[one.side])}
        minutes += labour.reach.value * sum(
            getattr(plan.lever_reach_change_mm, side) != 0.0 for side in SIDES if side not in bought
        )
        assert plan.price == pytest.approx(sum(part.price.value for part in parts))
        assert plan.minutes == pytest.approx(minutes)


@given(case=cases())
def test_a_plan_costs_what_the_search_counted(case: tuple[Job, Catalogue]) -> None:
    """Price and minutes of the combination chosen, at the setting chosen; never more."""
    job, shop = case
    searched, made = search(((job, 1.0),), shop), plans(job, shop)
    options, rows = searched.options, searched.rows
    for name, found in searched.found.items():
        seat = options.seats[found.seat]
        step = Vec(0.0, 0.0, 0.0) if seat is None else Vec(seat.x.value, 0.0, seat.z.value)
        place = np.array([[float(v) for v in job.points.seat.plus(step)]])
        bars = Bars(
            ((job, 1.0),), rows, np.array([found.row]), np.array([0]), place, shop.labour,
            freed=found.freed,
        )  # fmt: skip
        group = np.array([GROUPS.index(found.trued)])
        at = bars.at(np.array([found.setting]), np.array([found.lean_deg]), group)
        others = [
            seat, options.peg_plates[found.plate], *options.lever_sets[found.lever_set],
        ]  # fmt: skip
        bought = [part for part in others if part is not None]
        sets = options.lever_sets[found.lever_set]
        adjusted = sum(
            reach_set(((job, 1.0),), side, None, to_wish=side in found.reached)
            != getattr(job.now.lever_reach_mm, side)
            for side in SIDES
            if not any(one.side in ("both", side) for one in sets)
        )
        minutes = float(rows.minutes[found.row] + at.minutes[0])
        minutes += sum(part.minutes.value for part in bought) + shop.labour.reach.value * adjusted
        price = float(rows.price[found.row]) + sum(part.price.value for part in bought)
        assert made[name].price == pytest.approx(price)
        if name in (CHEAPEST, QUICKEST):
            assert made[name].minutes == pytest.approx(minutes)
        assert made[name].minutes <= minutes + 1e-9
        assert len(made[name].cannot_undo) <= rows.undo[found.row] + at.undo[0]


@given(case=cases())
def test_what_is_left_alone_is_inside(case: tuple[Job, Catalogue]) -> None:
    job, shop = case
    for plan in plans(job, shop).values():
        assert not set(plan.leave) & {
            name for name, v in plan.deviations.items() if abs(v) > INSIDE
        }


BARE = ("angles", "reaches", "levers", "tube", "sweep", "lean", "shelf")
"""What may be missing of a job."""


def without(job: Job, shop: Catalogue, gone: set[str]) -> tuple[Job, Catalogue]:
    none, target, now, bike = Sides(np.nan, np.nan), job.target, job.now, job.bike
    if "angles" in gone or "levers" in gone:
        now = evolve(now, lever_angle_deg=none)
    if "reaches" in gone or "levers" in gone:
        now = evolve(now, lever_reach_mm=none)
    if "reaches" in gone:
        target = evolve(target, lever_reach_mm=none)
    if "levers" in gone:
        bike = evolve(bike, levers=Levers())
    if "sweep" in gone:
        target = evolve(target, grip_sweep_deg=np.nan, grip_tilt_deg=np.nan)
    points = evolve(job.points, tube=None) if "tube" in gone else job.points
    limits = RiderLimits() if "lean" in gone else job.limits
    shop = Catalogue() if "shelf" in gone else shop
    return evolve(job, target=target, now=now, bike=bike, points=points, limits=limits), shop


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_whatever_is_missing_there_is_a_plan(kind: str) -> None:
    """Every subset of missing levers, angles, reaches, tube, sweep, lean band and shelf."""
    rng = np.random.default_rng(11)
    job = a_job(rng, **KINDS[kind])
    shop = shelf(rng, most=2, clip_on=job.clip_on)
    for flags in product((False, True), repeat=len(BARE)):
        gone = {name for name, flag in zip(BARE, flags, strict=True) if flag}
        made = plans(*without(job, shop, gone))
        assert {FREE, CLOSEST} <= made.keys() <= set(PLAN_NAMES)
        names = set(made[FREE].deviations)
        if gone & {"angles", "levers"}:
            assert not any(name.startswith("lever_angle") for name in names)
        if gone & {"reaches", "levers"}:
            assert not any(name.startswith("lever_reach") for name in names)
        if "tube" in gone:
            assert all(plan.choice.clip_on is None for plan in made.values())


@given(case=cases(), by=st.floats(400.0, 900.0), down=st.booleans())
def test_a_rider_who_cannot_reach_still_has_a_plan(
    case: tuple[Job, Catalogue], by: float, down: bool
) -> None:
    """The bar far ahead, or the pegs far below: the number that is not there is infinitely off."""
    job, shop = case
    ahead = Vec(by, 0.0, 0.0)
    points = (
        evolve(job.points, peg=job.points.peg.plus(Vec(0.0, 0.0, -by)))
        if down
        else evolve(
            job.points,
            clamp=job.points.clamp.plus(ahead),
            grip_end=job.points.grip_end.plus(ahead),
            grip_inner=job.points.grip_inner.plus(ahead),
            tube=None if job.points.tube is None else job.points.tube.plus(ahead),
        )
    )
    far = evolve(job, points=points)
    made = plans(far, shop)
    assert not made[FREE].inside
    shown = made[FREE].after.knee_angle_deg if down else made[FREE].after.forearm_angle_deg
    number = "knee_angle" if down else "forearm_angle"
    assert (made[FREE].deviations[number] == np.inf) == bool(np.isnan(shown))


def a_shop(**more: Any) -> Catalogue:
    return Catalogue(labour=Labour(), **more)


RISER = Riser(name="Up 30", height=R(30.0), price=R(80.0), minutes=R(45.0))
LOW = Riser(name="Up 10", height=R(10.0), price=R(20.0), minutes=R(40.0))
STIFF = RiderLimits()


def low_job(**more: Any) -> Job:
    """The bar of the wished bike 30 mm down the steering axis; levers in line when it is back."""
    up = np.radians(jobs.RAKE)
    return jobs.job(
        jobs.bar(30.0 * float(np.sin(up)), -30.0 * float(np.cos(up))),
        handlebar=Handlebar(roll=(-0.1, 0.1)),
        **more,
    )


def test_the_riser_that_is_missing_is_bought() -> None:
    """30 mm down the axis, 30 mm of riser: cheapest, quickest and closest, nothing else done."""
    made = plans(low_job(), a_shop(risers=(RISER, LOW)))
    for name in (CHEAPEST, QUICKEST, CLOSEST):
        assert [part.name for part in made[name].choice.parts()] == ["Up 30"]
        assert (made[name].price, made[name].minutes) == (80.0, 45.0)
        assert [step.what for step in made[name].steps] == ["riser_height"]
        assert made[name].worst == pytest.approx(0.0, abs=1e-6)
        assert made[name].cannot_undo == ()
    assert not made[FREE].inside
    assert made[FREE].choice.riser is None


def test_a_fitted_riser_is_replaced_not_stacked() -> None:
    """With 10 mm on, the bar stands 20 too low: the 30 mm riser goes in its place, up by 20."""
    up = np.radians(jobs.RAKE)
    job = jobs.job(
        jobs.bar(20.0 * float(np.sin(up)), -20.0 * float(np.cos(up))),
        handlebar=Handlebar(roll=(-0.1, 0.1)),
        fitted=Fitted(riser="Up 10"),
    )
    plan = plans(job, a_shop(risers=(RISER, LOW)))[CLOSEST]
    assert plan.riser_move_mm == (20.0, 0.0)
    assert [step.what for step in plan.steps] == ["riser_height"]


def test_a_fitted_riser_too_high_is_taken_off() -> None:
    """The bar stands 30 too high on a riser of 30: it goes, for its minutes and no money."""
    up = np.radians(jobs.RAKE)
    job = jobs.job(
        jobs.bar(-30.0 * float(np.sin(up)), 30.0 * float(np.cos(up))),
        handlebar=Handlebar(roll=(-0.1, 0.1)),
        fitted=Fitted(riser="Up 30"),
    )
    plan = plans(job, a_shop(risers=(RISER,)))[CHEAPEST]
    assert [part.name for part in plan.choice.parts()] == [WITHOUT + "Up 30"]
    assert (plan.price, plan.minutes) == (0.0, 45.0)
    assert plan.riser_move_mm == (-30.0, 0.0)


def test_what_the_bike_keeps_is_never_bought() -> None:
    job = low_job(allows=Allows(keep=("riser",)))
    made = plans(job, a_shop(risers=(RISER, LOW)))
    assert all(plan.choice.riser is None for plan in made.values())
    assert CHEAPEST not in made


def test_a_bar_that_is_cut_is_said_to_be_cut_and_a_pinned_housing_freed() -> None:
    """800 wide, 750 wished: 25 off each end; the housing's pin goes with it."""
    points = dict(TRUE)
    points["grip_end"], points["grip_inner"] = (900.0, 400.0, 1030.0), (931.0, 280.0, 1025.0)
    job = jobs.job(points, handlebar=Handlebar(pins=True))
    plan = plans(job, a_shop())[FREE]
    assert plan.cannot_undo == ("cut.bar", "free_pin.housing")
    assert "bar_width" in [step.what for step in plan.steps]


def test_a_new_bar_is_cut_from_its_width_as_drawn() -> None:
    """780 wide as drawn, 750 wished: 15 off each side, whatever the old bar's width was."""
    ahead, _, up, tilt, sweep = map(float, bar_as_drawn(jobs.job().points))
    new = Bar(
        name="Wide", width=R(780.0), rise=R(up), pullback=R(-ahead),
        backsweep=R(sweep), upsweep=R(tilt), clamp_diameter=R(28.6), price=R(50.0),
    )  # fmt: skip
    points = dict(TRUE)
    for name in ("grip_end", "grip_inner"):
        x, y, z = points[name]
        points[name] = (x + 60.0, y - 60.0, z)
    job = jobs.job(points, handlebar=Handlebar(clamp_diameter=R(28.6), roll=(-0.1, 0.1)))
    plan = plans(job, a_shop(bars=(new,)))[CLOSEST]
    assert plan.choice.bar == new
    step = next(step for step in plan.steps if step.what == "bar_width")
    wish = float(jobs.WISH.bar_width_mm)
    assert (step.start, step.end) == pytest.approx((780.0, wish))
    assert step.change == pytest.approx(wish - 780.0)
    assert "cut.bar" in plan.cannot_undo


@pytest.mark.parametrize("pinned", [False, True])
def test_a_lever_out_of_line_is_turned_or_its_pin_freed(pinned: bool) -> None:
    """10 degrees off: free, its perch is turned by that; pinned, only by freeing the pin."""
    forearm = float(jobs.WISH.forearm_angle_deg)
    lever = Lever(perch="pinned" if pinned else "free")
    job = jobs.job(
        lever=forearm + 10.0,
        levers=Levers(brake=lever, clutch=Lever(perch="free")),
        handlebar=Handlebar(roll=(-0.1, 0.1)),
    )
    made = plans(job, a_shop())
    assert made[FREE].inside is not pinned
    turned = made[CHEAPEST]
    assert turned.cannot_undo == (("free_pin.brake",) if pinned else ())
    assert 9.0 < float(turned.lever_rotation_deg.brake) < 11.0
    assert float(turned.after.lever_angle_deg.brake) == pytest.approx(forearm, abs=0.5)
    assert 9.0 < float(turned.lever_rotation_deg.clutch) < 11.0


def test_each_part_moves_what_it_is_for() -> None:
    """Seat up 10 and ahead 5, pegs down 20: the points say so, and steps in that order."""
    seat = Seat(name="High", z=R(10.0), x=R(5.0), price=R(9.0), minutes=R(3.0))
    plates = PegPlate(name="Lower", x=R(0.0), z=R(-20.0), price=R(9.0), minutes=R(3.0))
    base = jobs.job()
    points = evolve(
        base.points,
        seat=base.points.seat.minus(Vec(5.0, 0.0, 10.0)),
        peg=base.points.peg.plus(Vec(0.0, 0.0, 20.0)),
    )
    job = evolve(base, points=points)
    plan = plans(job, a_shop(seats=(seat,), peg_plates=(plates,)))[CLOSEST]
    assert plan.worst == pytest.approx(0.0, abs=1e-9)
    assert (plan.seat_move_mm, plan.peg_move_mm) == ((5.0, 10.0), (0.0, -20.0))
    keys = [step.what for step in plan.steps]
    assert keys[:3] == ["seat", "seat_ahead", "pegs_up"]


def test_a_lever_set_brings_a_reach_inside_that_the_old_adjuster_cannot() -> None:
    """60 wished, 70 found, the adjuster ends at 66: the short set goes to 60."""
    short = LeverSet(name="Short", reach_range=(45.0, 62.0), price=R(70.0), minutes=R(20.0))
    lever = Lever(perch="free", reach_range=(66.0, 80.0))
    job = jobs.job(reach=70.0, levers=Levers(brake=lever, clutch=lever))
    made = plans(job, a_shop(lever_sets=(short,)))
    assert made[FREE].deviations["lever_reach.brake"] == pytest.approx(1.2)
    plan = made[CHEAPEST]
    assert plan.choice.lever_sets == (short,)
    assert float(plan.after.lever_reach_mm.brake) == 60.0
    assert (plan.price, plan.minutes) == (70.0, 20.0)


def test_a_set_for_the_brake_and_one_for_the_clutch_go_on_together() -> None:
    """Neither alone brings both reaches inside; a pair for both at more money is not bought."""
    low: dict[str, Any] = {"reach_range": (45.0, 62.0), "minutes": R(20.0)}
    brake = LeverSet(name="Z brake", side="brake", price=R(40.0), **low)
    clutch = LeverSet(name="A clutch", side="clutch", price=R(30.0), **low)
    both = LeverSet(name="Both", price=R(90.0), **low)
    lever = Lever(perch="free", reach_range=(66.0, 80.0))
    job = jobs.job(reach=70.0, levers=Levers(brake=lever, clutch=lever))
    made = plans(job, a_shop(lever_sets=(clutch, both, brake)))
    plan = made[CHEAPEST]
    assert plan.choice.lever_sets == (brake, clutch)
    assert (plan.price, plan.minutes) == (70.0, 40.0)
    assert [(step.what, step.part) for step in plan.steps] == [
        ("lever_reach.brake", "Z brake"),
        ("lever_reach.clutch", "A clutch"),
    ]
    assert made[QUICKEST].choice.lever_sets == (both,)
    alone = plans(job, a_shop(lever_sets=(brake,)))
    assert CHEAPEST not in alone
    assert alone[CLOSEST].choice.lever_sets == (brake,)


def test_a_lever_that_is_not_bought_is_set_at_its_own_minutes() -> None:
    """A new brake lever, 20 minutes, and the clutch's adjuster, 2: one set beside the other."""
    brake = LeverSet(name="Short", side="brake", reach_range=(45.0, 62.0), minutes=R(20.0))
    stiff, free = (Lever(perch="free", reach_range=band) for band in ((66.0, 80.0), None))
    job = jobs.job(reach=70.0, levers=Levers(brake=stiff, clutch=free))
    plan = plans(job, a_shop(lever_sets=(brake,)))[QUICKEST]
    assert plan.minutes == 22.0


def test_plans_stand_in_their_order_and_only_where_something_fits() -> None:
    fits = [plan.name for plan in plans_for(((jobs.job(), 1.0),), a_shop())]
    assert fits == list(PLAN_NAMES)
    misses = [plan.name for plan in plans_for(((low_job(), 1.0),), a_shop(risers=(LOW,)))]
    assert misses == [FREE, CLOSEST]


def test_a_bike_as_wished_asks_for_nothing_and_leaves_every_number() -> None:
    for plan in plans_for(((jobs.job(), 1.0),), a_shop(risers=(RISER,))):
        assert plan.steps == ()
        assert set(plan.leave) == set(plan.deviations)
        assert (plan.price, plan.minutes) == (0.0, 0.0)


@given(case=cases())
def test_a_lever_that_is_turned_does_not_speak_for_the_other(case: tuple[Job, Catalogue]) -> None:
    """On the bike's own bar each side is left alone, or not, for what is done to itself."""
    job, shop = case
    fine = {
        f"lever_angle.{side}"
        for side in SIDES
        if abs(dict(out_of_line(job.target, job.now)).get(f"lever_angle.{side}", np.inf))
        <= job.tolerances["lever_angle"]
    }
    for plan in plans(job, shop).values():
        if plan.choice.bar is not None or plan.choice.clip_on is not None:
            continue
        turned = {step.what.replace("rotation", "angle") for step in plan.steps}
        outside = {name for name, value in plan.deviations.items() if abs(value) > INSIDE}
        left = {name for name in plan.leave if name.startswith("lever_angle")}
        assert left == fine - turned - outside
