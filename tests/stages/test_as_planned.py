"""The transfer as a plan leaves it, and the checks of the bike as found."""

from __future__ import annotations

import numpy as np
from attrs import evolve

from fitprofile.geometry.vectors import Vec
from fitprofile.stages.as_planned import as_planned, checks_as_found
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan
from fitprofile.stages.work_findings import STILL, find_of_work
from tests.report.cards import SPORT, STOOD, TWIN, planned


def chosen(made: Transfer) -> Plan:
    assert made.offers is not None
    return made.offers.chosen.plan


def test_the_plan_stands_where_the_practical_answer_stood() -> None:
    """Points, numbers, what is left and what misses are the plan's; the exact answer stays."""
    for bike in (TWIN, SPORT, STOOD):
        made = planned(bike)
        plan = chosen(made)
        done = as_planned(made, plan)
        assert done.practical.points is plan.points
        assert done.practical.after is plan.after
        outside = {name for name, off in plan.deviations.items() if abs(off) > 1.0 + 1e-9}
        assert set(done.practical.missed) == outside
        assert not outside & set(done.practical.leave)
        assert done.exact is made.exact
        assert done.practical.found_outside == made.practical.found_outside
        assert done.chance == float(plan.chance)


def test_figures_of_the_changes_are_the_plan_s() -> None:
    """Width and settings; a plan never counts a new bar's own roll as a roll of the old one."""
    made = planned(STOOD)
    plan = chosen(made)
    changes = as_planned(made, plan).practical.changes
    wider = 2.0 * (float(plan.points.grip_end.y) - float(made.points.grip_end.y))
    np.testing.assert_allclose(changes.bar_width_change_mm, wider, atol=1e-9)
    assert (plan.choice.bar is None) or changes.bar_roll_deg == 0.0


def test_room_behind_the_knee_follows_seat_and_pegs() -> None:
    """A peg lower by 25 mm opens the knee and gives the calf room."""
    made = planned(STOOD)
    plan = chosen(made)
    lower = evolve(plan.points, peg=plan.points.peg.plus(Vec(0.0, 0.0, -25.0)))
    near, far = (
        as_planned(made, evolve(plan, points=at)).contact_after.room_deg.ball
        for at in (plan.points, lower)
    )
    assert far > near


def test_out_of_reach_is_told_as_the_plan_leaves_it() -> None:
    """The practical answer's own sentence goes, also where the plan brings the bar to the rider."""
    made = planned(STOOD)
    ahead, grips = Vec(900.0, 0.0, 0.0), ("grip_end", "grip_inner")
    gone = evolve(made.points, **{name: getattr(made.points, name).plus(ahead) for name in grips})
    made = evolve(made, practical=evolve(made.practical, points=gone))
    (old,) = (one for one in find_of_work(made) if one.key == STILL)
    made = evolve(made, problems=(*made.problems, old))
    plan = chosen(made)
    assert not [one for one in as_planned(made, plan).problems if one.key == STILL]
    far = evolve(
        plan.points,
        grip_end=plan.points.grip_end.plus(ahead),
        grip_inner=plan.points.grip_inner.plus(ahead),
    )
    (told,) = (
        one for one in as_planned(made, evolve(plan, points=far)).problems if one.key == STILL
    )
    assert "too far for the rider's arms" in told.text


def test_a_bar_that_only_the_practical_answer_raises_is_not_said_of_a_plan() -> None:
    """Hoses and front end of the plan stand in its workshop checks."""
    made = planned(STOOD)
    up = Vec(-50.0, 0.0, 50.0)
    moved = {
        name: getattr(made.points, name).plus(up) for name in ("grip_end", "grip_inner", "clamp")
    }
    practical = evolve(
        made.practical,
        changes=evolve(made.practical.changes, riser_height_mm=55.0),
        points=evolve(made.points, **moved),
    )
    raised = evolve(made, practical=practical)
    raised = evolve(raised, problems=(*made.problems, *find_of_work(raised)))
    words = ("the bar goes up", "weight leaves the front wheel")
    assert all(any(each in p.text for p in raised.problems) for each in words)
    done = as_planned(raised, chosen(made))
    assert done.problems == as_planned(made, chosen(made)).problems
    assert not any(each in p.text for p in done.problems for each in words)
    assert made.offers is not None
    assert "front_end" in {one.what for one in made.offers.chosen.checks}


def test_the_tilt_of_the_grips_is_said_only_of_clip_ons_that_stay() -> None:
    """With its line, as it was looked up; new clip-ons have another tilt and another turn."""
    made = planned(SPORT)
    (tilt,) = (one for one in made.problems if "would level them" in one.text)
    located = tuple(evolve(one, line=7) if one == tilt else one for one in made.problems)
    made, plan = evolve(made, problems=located), chosen(made)
    assert plan.choice.clip_on is not None
    assert not [p for p in as_planned(made, plan).problems if "would level them" in p.text]
    kept = evolve(
        plan,
        choice=evolve(plan.choice, clip_on=None),
        deviations={**plan.deviations, "grip_tilt": 2.0},
    )
    told = [p for p in as_planned(made, kept).problems if "would level them" in p.text]
    assert [p.line for p in told] == [7]


def test_knees_are_said_as_the_plan_leaves_them() -> None:
    """Pegs close under the seat bring calf and hamstring together, in the plan alone."""
    made = planned(STOOD)
    plan = chosen(made)
    assert not [p for p in as_planned(made, plan).problems if p.key == "heights.peg"]
    high = evolve(plan.points, peg=plan.points.peg.plus(Vec(-150.0, 0.0, 250.0)))
    told = [p.text for p in as_planned(made, evolve(plan, points=high)).problems]
    assert any("calf and hamstring still touch" in text for text in told)


def test_the_bike_as_found_has_its_own_checks() -> None:
    """Nothing moves: no hose is asked for more, no front gets light; no law."""
    for bike in (TWIN, SPORT):
        found = {one.what: one for one in checks_as_found(planned(bike))}
        assert found["front_end"].value == 0.0
        hoses = [one for what, one in found.items() if what.startswith("hose.")]
        assert all(one.value <= 1e-6 for one in hoses if np.isfinite(one.value))
        assert not any(what.startswith("law") for what in found)
