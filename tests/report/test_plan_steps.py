"""Plans as steps: the order of work, how each part is seen, what cannot be undone."""

from __future__ import annotations

from math import isfinite, nan

from attrs import evolve

from fitprofile.model.bike import Fitted
from fitprofile.model.parts import Bar, Extender, Riser
from fitprofile.report.for_good import FOR_GOOD, HOUSING
from fitprofile.report.plan_steps import plan_steps, plan_work
from fitprofile.report.step import BAR, BEFORE, CLOSE, CONTROLS, DRY, FEET, LAST
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Choice, Plan, PlanStep
from tests.report.cards import SPORT, STOOD, TWIN, planned
from tests.report.samples import r

ORDER = (BEFORE, FEET, DRY, BAR, CONTROLS, CLOSE, LAST)


def chosen(made: Transfer) -> Plan:
    assert made.offers is not None
    return made.offers.chosen.plan


def made_of(*steps: PlanStep, undo: tuple[str, ...] = (), choice: Choice | None = None) -> Plan:
    """The chosen plan of the twin with other steps."""
    plan = chosen(planned())
    return evolve(plan, steps=steps, cannot_undo=undo, choice=choice or Choice())


def test_steps_stand_in_the_order_of_work() -> None:
    """Photo first, seat and feet, dry fit before parts, bar, controls, close up, last the ride."""
    for bike in (TWIN, SPORT, STOOD):
        made = planned(bike)
        phases = [step.phase for step in plan_work(made, chosen(made))]
        assert phases == sorted(phases, key=ORDER.index)
        assert (phases[0], phases[-1]) == (BEFORE, LAST)
        assert DRY in phases


def test_every_change_of_a_plan_is_told() -> None:
    """Figures, parts and prices of the plan itself; nothing is said twice."""
    for bike in (TWIN, SPORT, STOOD):
        made = planned(bike)
        plan = chosen(made)
        steps = plan_steps(made, plan)
        changes = [move.change for step in steps for move in step.moves if isfinite(move.change)]
        wanted = [s.change for s in plan.steps if isfinite(s.change) and round(s.change)]
        assert [c for c in changes if round(c)] == wanted
        fitted = [step for step in steps if step.part]
        assert {step.part for step in fitted} == {part.name for part in plan.choice.parts()}
        assert all(step.price.endswith("EUR") for step in fitted)


def test_structure_steering_and_brakes_carry_a_caution_and_a_torque_box() -> None:
    """Bars, risers, perches; reach and seat are not tightened to a figure."""
    made = planned(SPORT)
    for step in plan_steps(made, chosen(made)):
        assert step.caution
        assert step.tool
        if step.phase == BAR:
            assert step.torque
    brake = next(s for s in plan_steps(made, chosen(made)) if "brake perch" in s.what)
    assert "banjo stays" in brake.caution


def test_a_new_part_has_no_figure_before() -> None:
    """The new bar is rolled from as drawn, a perch on a new bar is set by straightedge."""
    plan = made_of(
        PlanStep("bar_roll", 1.0, 2.0, -3.0, "deg"),
        PlanStep("lever_rotation.brake", nan, 11.0, nan, "deg"),
        choice=Choice(bar=BAR_780),
    )
    roll, perch = plan_steps(planned(), plan)
    assert roll.what == "Set the new bar's roll"
    assert roll.hint == "\N{MINUS SIGN}3° from standing as drawn; grip tilt tells"
    assert perch.what == "Set the brake perch by straightedge"
    assert perch.moves[0].end == 11.0


def test_a_part_that_is_taken_off_says_so() -> None:
    """At no price."""
    part = Riser(name="without Block 20", height=r(0.0))
    plan = made_of(
        PlanStep("riser_height", 1000.0, 982.0, -20.0, "mm", part.name), choice=Choice(riser=part)
    )
    (step,) = plan_steps(planned(), plan)
    assert (step.what, step.part, step.price) == ("Take off the riser", "Block 20", "")


def test_what_cannot_be_undone_is_told_where_it_is_done() -> None:
    """The housing's pin before the bar's, never the bar tube; cutting comes last."""
    plan = made_of(
        PlanStep("bar_width", 800.0, 760.0, -40.0, "mm"),
        PlanStep("lever_rotation.clutch", 12.0, 20.0, -8.0, "deg"),
        undo=("cut.bar", "free_pin.housing", "free_pin.brake", "free_pin.clutch"),
    )
    housings, width, clutch, brake = plan_steps(planned(), plan)
    assert FOR_GOOD["cut.bar"] in width.for_good
    assert housings.what.endswith("pinned on this bike, go along with the grips")
    assert housings.for_good == FOR_GOOD[HOUSING]
    assert "before the bar's; never slot the bar tube" in clutch.for_good
    assert (brake.what, brake.moves) == ("Pin of the brake perch", ())
    assert brake.for_good == FOR_GOOD["free_pin.brake"]


def test_what_is_pinned_goes_onto_a_new_bar_before_the_perches() -> None:
    """Whether there is a hole is looked at first, a mechanic takes pins off, no bar is drilled."""
    plan = made_of(
        PlanStep("lever_rotation.brake", nan, 11.0, nan, "deg"),
        PlanStep("lever_reach.brake", 66.0, 58.0, -8.0, "mm"),
        undo=(HOUSING, "free_pin.brake", "free_pin.clutch"),
        choice=Choice(bar=BAR_780),
    )
    pins, perch, other, reach = plan_steps(planned(), plan)
    assert pins.what.endswith("pinned on this bike, go onto the new bar")
    assert (perch.what, other.what) == (
        "Set the brake perch by straightedge",
        "Pin of the clutch perch",
    )
    assert reach.what == "Set the reach of the brake lever"
    work = [step.what for step in plan_work(planned(), plan)]
    assert sum("Throttle housing" in what for what in work) == 1
    assert "go with the bar" not in " ".join(work)
    for step in (pins, perch, other):
        assert "hole in the new bar, else a mechanic" in step.for_good.replace("holes", "hole")
        assert "by the maker's manual" in step.for_good
        assert "drill" not in step.for_good


BAR_780 = Bar(
    name="Wide", width=r(780.0), rise=r(60.0), pullback=r(90.0), backsweep=r(15.0),
    clamp_diameter=r(28.6),
)  # fmt: skip
ON_BAR = PlanStep("bar", 1000.0, 1020.0, 20.0, "mm", "Wide")


def last_words(plan: Plan) -> str:
    return plan_work(planned(), plan)[-1].what


def test_a_new_bar_that_is_cut_tells_its_own_width() -> None:
    """780 as drawn, 18.2 mm off each end along the tube; the ride comes before the saw."""
    cut = PlanStep("bar_width", 780.0, 745.0, -35.0, "mm")
    plan = made_of(ON_BAR, cut, undo=("cut.bar",), choice=Choice(bar=BAR_780))
    plan = evolve(plan, grip_slide_mm=-18.2)
    bar, width = plan_steps(planned(), plan)
    assert bar.hint == "standing as drawn, 780\xa0mm wide, too wide: cut last"
    assert width.what == "Set grips in from the ends of the new bar"
    assert width.moves[0].words == "width against drawn"
    assert (width.moves[0].start, width.moves[0].end) == (780.0, 745.0)
    assert width.hint == "18\xa0mm on each side, along the bar"
    assert width.for_good.startswith("the new bar is cut, 18\xa0mm off each end: ")
    assert last_words(plan).endswith("only now: 18\xa0mm off each end of the new bar.")


def test_a_bar_that_is_not_cut_is_not_sawn_at_the_end() -> None:
    """A new one carries the grips at its ends; the bike's own is named where it is cut."""
    plan = evolve(made_of(ON_BAR, choice=Choice(bar=BAR_780)), grip_slide_mm=0.0)
    plan = evolve(plan, after=evolve(plan.after, bar_width_mm=780.0))
    (bar,) = plan_steps(planned(), plan)
    assert bar.hint == "standing as drawn, 780\xa0mm wide, grips flush with its ends"
    assert last_words(plan) == "Short ride, torque again; cut, drill or slot only now."
    slid = PlanStep("bar_width", 800.0, 760.0, -40.0, "mm")
    own = evolve(made_of(slid, undo=("cut.bar",)), grip_slide_mm=-20.7)
    (width,) = plan_steps(planned(), own)
    assert width.what == "Slide each grip and its controls inward"
    assert width.for_good.startswith("the bar is cut, 21\xa0mm off each end: ")


def test_extenders_say_how_far_the_grips_go_along_them() -> None:
    """On a new bar, from that bar's width; on the bike's own, from as found."""
    longer = Extender(name="Ends", length=r(20.0))
    ends = PlanStep("extender", 780.0, 810.0, 30.0, "mm", "Ends")
    both = Choice(bar=BAR_780, extender=longer)
    plan = evolve(made_of(ON_BAR, ends, choice=both), grip_slide_mm=15.6)
    bar, step = plan_steps(planned(), plan)
    assert bar.hint == "standing as drawn, 780\xa0mm wide"
    assert step.what == "Fit the bar-end extenders to the new bar"
    assert step.hint == "grips and controls go 16\xa0mm out along each end"
    own = evolve(made_of(ends, choice=Choice(extender=longer)), grip_slide_mm=15.6)
    (step,) = plan_steps(planned(), own)
    assert step.what == "Fit the bar-end extenders"


def test_what_can_be_undone_is_not_marked() -> None:
    """Free adjustments and parts."""
    plan = made_of(PlanStep("bar_width", 760.0, 800.0, 40.0, "mm"))
    (step,) = plan_steps(planned(), plan)
    assert step.for_good == ""
    assert step.what == "Slide each grip and its controls outward"


def test_grips_go_out_only_as_far_as_the_tube_reaches() -> None:
    """What to tape, and how much is needed; a new bar or extenders were chosen for it."""
    out = made_of(PlanStep("bar_width", 760.0, 800.0, 40.0, "mm"))
    (step,) = plan_steps(planned(), evolve(out, grip_slide_mm=20.7))
    (said,) = step.remarks
    assert said.startswith("Only as far as the bar tube reaches: weights off, tape")
    assert "(21\xa0mm needed)" in said
    clips = evolve(out, grip_slide_mm=20.7, clip_slide_mm=0.0)
    assert "each clip-on's tube reaches" in plan_steps(planned(SPORT), clips)[0].remarks[0]
    inward = made_of(PlanStep("bar_width", 800.0, 760.0, -40.0, "mm"))
    assert plan_steps(planned(), inward)[0].remarks == ()


def test_a_setting_beyond_the_usual_is_to_be_looked_at_where_no_band_allows_it() -> None:
    """More than 8 degrees of roll; a part that is bought, and what is usual, are not."""
    made = planned()
    silent = evolve(made, bike=evolve(made.bike, handlebar=evolve(made.bike.handlebar, roll=None)))
    far = made_of(PlanStep("bar_roll", 4.0, 2.0, -11.0, "deg"))
    (step,) = plan_steps(silent, far)
    told = "is beyond the usual 8°, and the bike's file has no band: check hoses, tank, screen."
    assert step.remarks == (f"\N{MINUS SIGN}11° {told}",)
    assert plan_steps(made, far)[0].remarks == ()
    near = made_of(PlanStep("bar_roll", 4.0, 2.0, -7.0, "deg"))
    assert plan_steps(silent, near)[0].remarks == ()
    block = made_of(PlanStep("riser_height", 1000.0, 1045.0, 45.0, "mm", "Block"))
    assert plan_steps(silent, block)[0].remarks == ()


def test_pegs_that_only_go_down_show_no_move_ahead() -> None:
    """A figure of nothing is left out."""
    plan = made_of(
        PlanStep("pegs_up", 392.0, 372.0, -20.0, "mm", "Low pegs"),
        PlanStep("pegs_ahead", 650.0, 650.0, 0.0, "mm", "Low pegs"),
    )
    (step,) = plan_steps(planned(), plan)
    assert [move.words for move in step.moves] == ["upward"]


def test_a_change_that_nobody_sees_is_no_step_but_a_new_bar_s_roll_is_set() -> None:
    """A quarter of a degree of the bike's own bar is left out; roll 0 of a new one is an order."""
    roll = PlanStep("bar_roll", 1.0, 1.25, 0.25, "deg")
    made = planned()
    assert plan_steps(made, made_of(roll)) == ()
    plan = chosen(made)
    fresh = evolve(plan, steps=(roll._replace(start=nan, change=0.0),))
    assert plan.choice.bar is not None
    (step,) = plan_steps(made, evolve(fresh, cannot_undo=()))
    assert step.what == "Set the new bar's roll"


def test_both_levers_are_one_step() -> None:
    """With each side's reach."""
    plan = made_of(
        PlanStep("lever_reach.brake", 66.0, 58.0, -8.0, "mm"),
        PlanStep("lever_reach.clutch", 70.0, 58.0, -12.0, "mm"),
    )
    (step,) = plan_steps(planned(), plan)
    assert step.what == "Set the reach of the brake and clutch levers"
    assert [move.words for move in step.moves] == ["reach, brake", "reach, clutch"]


def test_a_lever_that_is_bought_is_a_step_of_its_own() -> None:
    """The other side is set, not fitted."""
    plan = made_of(
        PlanStep("lever_reach.brake", 66.0, 58.0, -8.0, "mm", "Short lever"),
        PlanStep("lever_reach.clutch", 70.0, 58.0, -12.0, "mm"),
    )
    brake, clutch = plan_steps(planned(), plan)
    assert brake.what == "Take off the old brake lever, fit the new, set the reach"
    assert brake.part == "Short lever"
    assert (clutch.what, clutch.part) == ("Set the reach of the clutch lever", "")


def test_clip_ons_come_off_and_go_on_before_they_slide() -> None:
    """Two steps, two figures; clip-ons have ends of their own, and what was on comes off."""
    made = planned(SPORT)
    plan = chosen(made)
    assert plan.choice.clip_on is not None
    fit = PlanStep("clip_on", 880.0, 896.0, 16.0, "mm", plan.choice.clip_on.name)
    slide = PlanStep("clip_slide", 896.0, 905.0, 10.0, "mm")
    plan = evolve(plan, choice=evolve(plan.choice, extender=None))
    steps = plan_steps(made, evolve(plan, steps=(fit, slide), cannot_undo=()))
    assert [step.what for step in steps] == [
        "Take off the old clip-ons, fit the new",
        "Slide both clip-ons up the fork tubes",
    ]
    assert steps[0].hint.startswith("where the old ones sat; ")
    assert steps[0].hint.endswith("from end to end, grips flush with their ends")
    assert [(s.moves[0].start, s.moves[0].end) for s in steps] == [(880.0, 896.0), (896.0, 905.0)]


def test_clip_ons_that_are_turned_say_which_way() -> None:
    made = planned(SPORT)
    turn = PlanStep("clip_turn", 14.0, 26.0, 12.0, "deg")
    (step,) = plan_steps(made, evolve(chosen(made), steps=(turn,), cannot_undo=()))
    assert step.what == "Turn both clip-ons round the tubes, rearward"
    assert (step.moves[0].words, step.moves[0].seen) == ("turn", "grip sweep")


def test_a_part_that_is_fitted_comes_off_for_another() -> None:
    """A riser only where one of the catalogue's is on."""
    made = planned()
    plan = made_of(PlanStep("riser_height", 1000.0, 1018.0, 20.0, "mm", "Block"))
    assert made.bike.fitted.riser is None
    assert plan_steps(made, plan)[0].what == "Fit the riser"
    fitted = evolve(made, bike=evolve(made.bike, fitted=Fitted(riser="Low", peg_plate="Plates")))
    assert plan_steps(fitted, plan)[0].what == "Take off the old riser, fit the new"
    plates = made_of(PlanStep("pegs_up", 392.0, 372.0, -20.0, "mm", "Low pegs"))
    assert plan_steps(fitted, plates)[0].what == "Take off the old peg plates, fit the new"
