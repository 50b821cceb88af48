"""The practical changes as steps."""

from __future__ import annotations

from math import cos, pi, radians, sin

import pytest
from attrs import evolve

from fitprofile.model.bike import Allows
from fitprofile.report.change_steps import changes
from fitprofile.report.step import BAR, CONTROLS, FEET, Step
from fitprofile.report.wording import bare
from fitprofile.stages.moves import PegMove, done_to
from fitprofile.stages.outcome import Transfer
from tests.report import samples
from tests.report.test_uses import lame


def find(transfer: Transfer, words: str) -> Step:
    return next(step for step in changes(transfer) if words in step.what)


def test_a_roll_is_said_as_an_arc_round_the_clamp() -> None:
    """8 degrees round a 28.6 mm clamp is 8/360 of 89.8 mm: 2 mm."""
    step = find(samples.one_piece(), "Roll the bar")
    assert "away from the rider" in step.what
    assert round(8.0 / 360.0 * pi * 28.6 * 2.0) / 2.0 == 2.0
    assert "2.0\N{NO-BREAK SPACE}mm round the clamp" in step.hint
    assert step.remarks == ("Stops at its limit.",)
    assert step.phase == BAR


def test_moves_show_what_a_tape_sees() -> None:
    """The clamp's height and the bar width before and after, as the points have them."""
    made = samples.one_piece()
    riser, width = find(made, "Risers"), find(made, "Slide each grip")
    assert riser.moves[0].start == float(made.points.clamp.z)
    assert riser.moves[0].end == float(made.practical.points.clamp.z)
    assert riser.moves[0].exact == float(made.exact.riser_height_mm)
    assert width.moves[0].end - width.moves[0].start == pytest.approx(width.moves[0].change)
    assert width.phase == CONTROLS


def test_a_pinned_perch_is_no_step_where_it_cannot_turn() -> None:
    """Its slot stands among what the bike does not allow."""
    assert not any("clutch perch" in step.what for step in changes(samples.one_piece()))


def test_clip_ons_slide_and_do_not_roll() -> None:
    """Names of the other bar kind never show."""
    words = [step.what for step in changes(samples.clip_on())]
    assert any("Clip-ons" in what for what in words)
    assert not any("Roll" in what or "Riser" in what for what in words)


def test_gaps_are_steps_without_figures() -> None:
    """No place of the bar, a straight bar, a lever nobody read: each points to its problem."""
    assert find(samples.no_answer(), "Risers").missing == ("handlebar",)
    assert find(samples.straight_bar(), "Roll").missing == ("handlebar",)
    assert find(samples.clip_on(), "clutch perch").missing == ("levers.clutch",)


def test_pegs_say_both_directions_and_what_does_not_print_is_left_out() -> None:
    """A peg move of 20 down and 0.2 back is an order to go down."""
    made = samples.one_piece()
    practical = made.practical
    moved = evolve(practical.changes, peg_move_mm=PegMove(-0.2, -20.0))
    leave = tuple(name for name in practical.leave if name != "knee_angle")
    points = done_to(made.points, moved, made.surveyed.rake.value)
    done = evolve(practical, changes=moved, leave=leave, points=points)
    step = find(evolve(made, practical=done), "pegs")
    assert step.what == "Move both pegs down"
    assert step.phase == FEET


def test_nothing_to_do_at_home() -> None:
    """The good bike keeps its bar, its pegs and its width."""
    assert not any(step.phase in {BAR, FEET} for step in changes(samples.at_home()))


def test_widening_asks_whether_the_bar_is_long_enough_and_narrowing_forbids_the_saw() -> None:
    """Nothing is cut before the ride, and that it cannot be undone is said."""
    made = samples.one_piece()
    assert "weights off, tape" in find(made, "Slide each grip").remarks[0]
    assert not any("cut" in remark for remark in find(made, "Slide each grip").remarks)
    turned = evolve(made.practical.changes, bar_width_change_mm=-20.0, grip_slide_mm=-10.0)
    less = evolve(made, practical=evolve(made.practical, changes=turned))
    assert find(less, "inward").remarks[0].startswith("Cannot be undone: the ends of the bar are")


def test_a_turn_asked_for_is_a_step() -> None:
    """Clip-ons turned as the bike's file asks."""
    made = samples.made(evolve(samples.SPORT, key="turned", clip_turn=samples.r(4.0)))
    assert "rearward" in find(made, "Turn both clip-ons").what


def test_what_stops_says_what_follows_from_it() -> None:
    """One of two directions at its limit makes the other differ; both at theirs is said too."""
    riser = find(samples.one_piece(), "Risers")
    assert riser.remarks == (
        "Riser height stops at its limit, so pullback differs from the exact change.",
    )
    clips = find(samples.clip_on(), "Clip-ons")
    assert clips.remarks == (
        "Slide and offset stop at their limits and differ from the exact changes.",
    )


def test_a_change_far_beyond_the_usual_says_so_where_the_file_sets_no_limit() -> None:
    """25 mm of pullback are usual (common practice), 234 are another bar."""
    made = samples.one_piece()
    practical = made.practical
    far = evolve(practical.changes, riser_pullback_mm=-234.0)
    free = evolve(made.bike, allows=Allows())
    shown = evolve(made, bike=free, practical=evolve(practical, changes=far, at_limit=()))
    (remark,) = find(shown, "Risers").remarks
    assert remark.startswith("Beyond what is usual for pullback (to 25\N{NO-BREAK SPACE}mm)")
    told = evolve(free, allows=Allows(pullback=(-300.0, 0.0)))
    assert find(evolve(shown, bike=told), "Risers").remarks == ()


def test_a_bar_that_goes_down_takes_shorter_risers() -> None:
    """Nothing to stack: what is fitted is lowered."""
    made = samples.one_piece()
    down = evolve(made.practical.changes, riser_height_mm=-12.0)
    step = find(evolve(made, practical=evolve(made.practical, changes=down)), "risers fitted")
    assert step.what.startswith("Lower or remove the risers fitted: bar down")
    assert step.tool == "shorter risers, bolts to suit"


def test_each_step_shows_what_it_alone_changes() -> None:
    """A roll lowers the levers before their perches turn; clip-ons slide before the grips do."""
    made = samples.one_piece()
    roll = float(made.practical.changes.bar_roll_deg)
    assert abs(roll) > 1.0
    (move,) = find(made, "Turn the brake perch").moves
    assert move.start == pytest.approx(float(made.now.lever_angle_deg.brake) - roll)
    assert move.end == float(made.practical.after.lever_angle_deg.brake)
    made = samples.clip_on()
    done, rake = made.practical.changes, radians(made.surveyed.rake.value)
    up, back = find(made, "Clip-ons").moves
    slide, offset = float(done.clip_slide_mm), float(done.clip_offset_mm)
    assert up.end - up.start == pytest.approx(slide * cos(rake) - offset * sin(rake))
    assert back.end - back.start == pytest.approx(-slide * sin(rake) - offset * cos(rake))


def test_a_change_is_the_difference_of_the_figures_seen() -> None:
    """742 to 800 is 58, whatever the decimals behind them."""
    made = samples.one_piece()
    moves = [move for step in changes(made) for move in step.moves]
    same = [move for move in moves if move.words in ("width", "reach", "upward", "forward")]
    assert {move.words for move in same} >= {"width", "reach"}
    for move in same:
        shown = [bare(value, move.unit) for value in (move.start, move.end)]
        assert move.printed == int(shown[1]) - int(shown[0])


def test_legs_that_differ_are_a_step_each() -> None:
    """The left peg and the right one, each with its own heights; never both at once."""
    made = lame()
    assert made.pegs is not None
    words = [step.what for step in changes(made) if step.phase == FEET]
    assert not any("both pegs" in what for what in words)
    for side, leg in (("left", made.pegs.left), ("right", made.pegs.right)):
        moved = max(abs(float(leg.practical.z)), abs(float(leg.practical.x))) >= 0.5
        found = [what for what in words if what.startswith(f"Move the {side} peg")]
        assert len(found) == int(moved)
        if moved:
            step = find(made, f"Move the {side} peg")
            up = step.moves[0]
            assert up.end - up.start == pytest.approx(float(leg.practical.z))
    assert words
