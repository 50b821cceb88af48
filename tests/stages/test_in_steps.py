"""A plan's steps: each says what it alone changes, one after the other."""

from __future__ import annotations

from collections.abc import Iterator
from math import atan2, cos, degrees, hypot, radians

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given

from fitprofile.model.parts import Catalogue
from fitprofile.model.quantity import Reading
from fitprofile.stages.in_steps import steps_of, with_parts
from fitprofile.stages.job import Job
from fitprofile.stages.plan import CLOSEST, FREE, Plan, PlanStep
from fitprofile.stages.plans import built, plans_for
from tests import by_hand
from tests.stages.by_force import NAMES, Force
from tests.stages.shelves import a_job, cases, shelf

Places = dict[str, by_hand.Triple]


def plans(job: Job, shop: Catalogue) -> dict[str, Plan]:
    return {plan.name: plan for plan in plans_for(((job, 1.0),), shop)}


def done(job: Job, plan: Plan, step: PlanStep, at: Places) -> Places:
    """One bar step carried out by hand, with scipy's turns."""
    choice = plan.choice
    up, back = plan.riser_move_mm
    changes = {
        "riser_height": {"riser_height_mm": up, "riser_pullback_mm": back},
        "clip_slide": {"clip_slide_mm": plan.clip_slide_mm},
        "bar_roll": {"bar_roll_deg": plan.roll_deg},
        "bar_width": {"grip_slide_mm": plan.grip_slide_mm},
        "extender": {"grip_slide_mm": plan.grip_slide_mm},
    }.get(step.what)
    if step.what == "riser_pullback":
        return at
    if changes is not None:
        return by_hand.changed(at, changes, job.rake)
    force = Force(job, Catalogue())
    drawn = force.placed_head(choice.bar or choice.clip_on)
    raised = by_hand.less(at["clamp"], force.was["clamp"])
    return {**at, **{name: by_hand.add(drawn[name], raised) for name in ("grip_end", "grip_inner")}}


def shown(step: PlanStep, at: Places) -> float:
    """What a tape or a phone shows of a bar step, by hand."""
    end, inner = at["grip_end"], at["grip_inner"]
    x, y, z = by_hand.less(end, inner)
    return {
        "riser_height": at["clamp"][2],
        "riser_pullback": at["clamp"][0],
        "bar": end[2],
        "clip_on": end[2],
        "clip_slide": end[2],
        "bar_width": 2.0 * end[1],
        "extender": 2.0 * end[1],
        "bar_roll": degrees(atan2(z, hypot(x, y))),
    }[step.what]


def bar_steps(plan: Plan) -> Iterator[PlanStep]:
    """Those before the controls, of the bar."""
    others = ("seat", "pegs", "lever")
    return (step for step in plan.steps if not step.what.startswith(others))


@given(case=cases())
def test_each_step_begins_where_the_one_before_it_left_the_bike(
    case: tuple[Job, Catalogue],
) -> None:
    """Every bar step carried out alone, in its order; after the last one the plan is done."""
    job, shop = case
    for plan in plans(job, shop).values():
        at: Places = by_hand.as_plain(job.points, NAMES)
        for step in bar_steps(plan):
            before, at = at, done(job, plan, step, at)
            if step.what == "riser_height":
                riser = before
            # Height and pullback come with one part.
            start = riser if step.what == "riser_pullback" else before
            assert step.start == pytest.approx(shown(step, start), abs=1e-6)
            assert step.end == pytest.approx(shown(step, at), abs=1e-6)
        left = float(plan.points.grip_end.z)
        assert at["grip_end"][2] == pytest.approx(left, abs=1e-2)


@given(case=cases())
def test_no_part_and_no_figure_comes_twice(case: tuple[Job, Catalogue]) -> None:
    job, shop = case
    for plan in plans(job, shop).values():
        keys = [step.what for step in plan.steps]
        assert len(keys) == len(set(keys))
        named = {step.part for step in plan.steps if step.part is not None}
        assert named == {part.name for part in plan.choice.parts()}


@given(case=cases())
def test_seat_width_and_reach_change_by_what_a_tape_shows(case: tuple[Job, Catalogue]) -> None:
    """And a bar is cut exactly where its width shrinks."""
    job, shop = case
    for plan in plans(job, shop).values():
        for step in plan.steps:
            name = step.what.partition(".")[0]
            if name == "seat":
                ends = (float(job.points.seat.z), float(plan.points.seat.z))
                assert (step.start, step.end) == pytest.approx(ends)
            if name in ("seat", "bar", "clip_on", "extender", "bar_width", "lever_reach"):
                assert step.change == pytest.approx(step.end - step.start)
            if name in ("bar_width", "extender"):
                assert ("cut.bar" in plan.cannot_undo) == (step.change < 0.0)


@given(case=cases())
def test_a_lever_begins_as_the_roll_left_it(case: tuple[Job, Catalogue]) -> None:
    """A roll lowers the reading by its angle, a turn up does too; a new bar has none before."""
    job, shop = case
    for plan in plans(job, shop).values():
        new = plan.choice.bar is not None or plan.choice.clip_on is not None
        roll = 0.0 if job.clip_on else plan.roll_deg
        for step in plan.steps:
            name, _, side = step.what.partition(".")
            if name != "lever_rotation":
                continue
            assert step.end == float(getattr(plan.after.lever_angle_deg, side))
            if new:
                assert np.isnan(step.start)
            else:
                found = float(getattr(job.now.lever_angle_deg, side))
                assert step.start == pytest.approx(found - roll)
                assert (step.end - step.start) * step.change < 0.0


def test_clip_ons_are_fitted_first_and_slid_then() -> None:
    """Two steps with figures of their own: by the parts' drop, and by the slide along the tube."""
    job = a_job(np.random.default_rng(5), clip_on=True)
    shop = shelf(np.random.default_rng(3), clip_on=True)
    clip = shop.clip_ons[0]
    plan = plans(job, shop)[FREE]
    plan = evolve(plan, choice=evolve(plan.choice, clip_on=clip), clip_slide_mm=20.0)
    fit, slid = (step for step in steps_of(job, plan) if step.what.startswith("clip"))
    drawn = with_parts(job, job.points, plan.choice, job.rake)
    assert (fit.start, fit.end) == (float(job.points.grip_end.z), float(drawn.grip_end.z))
    assert slid.start == fit.end
    assert slid.end - slid.start == pytest.approx(20.0 * cos(radians(job.rake)))
    assert slid.change == 20.0


def test_a_turn_that_is_asked_for_is_a_step() -> None:
    """12 degrees about the fork tube, by hand; with other clip-ons it is how they are fitted."""
    job = a_job(np.random.default_rng(5), clip_on=True)
    job = evolve(job, bike=evolve(job.bike, clip_turn=Reading(12.0)))
    shop = shelf(np.random.default_rng(3), clip_on=True)
    plan = plans(job, Catalogue())[CLOSEST]
    turn = next(step for step in plan.steps if step.what == "clip_turn")
    was = by_hand.as_plain(job.points, (*NAMES, "tube"))
    will = by_hand.changed(was, {"clip_turn_deg": 12.0}, job.rake)
    sweeps = []
    for at in (was, will):
        x, y, _ = by_hand.less(at["grip_end"], at["grip_inner"])
        sweeps.append(degrees(atan2(-x, y)))
    assert (turn.start, turn.end) == pytest.approx(sweeps)
    assert turn.change == 12.0
    slid = [step for step in plan.steps if step.what == "clip_slide"]
    assert [step.start for step in slid] == pytest.approx([will["grip_end"][2] for _ in slid])
    fitted = evolve(plan, choice=evolve(plan.choice, clip_on=shop.clip_ons[0]))
    fitted = evolve(fitted, points=built(job, fitted, job.points, job.rake))
    assert "clip_turn" not in {step.what for step in steps_of(job, fitted)}
