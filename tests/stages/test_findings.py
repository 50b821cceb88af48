"""Findings: every value that does not exist comes with a sentence that says why."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import asdict, evolve

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.model.bike import Allows, Bike, Handlebar, Lever, Levers
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import RiderLimits
from fitprofile.stages.chain import Transfer, prepare, transfer
from fitprofile.stages.findings import find
from fitprofile.stages.posture import Feet
from fitprofile.stages.work_findings import STILL
from tests.stages.invented import LEVERS, SHOP, bike, moved, rider, sat
from tests.stages.taped import TRUE, Point


def made(one: Bike, limits: RiderLimits | None = None, **wish: Any) -> Transfer:
    """One transfer of the invented rider, the cockpit measured on the true bike."""
    cockpit = sat(measured_on="good", **wish)
    person = rider({"road": cockpit}, **({} if limits is None else {"limits": limits}))
    prepared, _ = prepare(person, {"good": bike("good")}, SHOP)
    assert prepared is not None
    found, problems = transfer(prepared, one, "road")
    assert found is not None, problems
    return found


def said(one: Transfer, words: str) -> Problem:
    """The one finding that says these words."""
    found = [problem for problem in find(one) if words in problem.text]
    assert len(found) == 1, find(one)
    return found[0]


def far_grips() -> dict[str, Point]:
    """Grips 300 mm further ahead."""
    return moved(grip_end=(300.0, 0.0), grip_inner=(300.0, 0.0), clamp=(300.0, 0.0))


def straight_bar() -> dict[str, Point]:
    """Grips that point straight out and droop by five degrees."""
    points = dict(TRUE)
    x, y, z = points["grip_end"]
    inner = points["grip_inner"][1]
    points["grip_inner"] = (x, inner, z + (y - inner) * np.tan(np.radians(5.0)))
    return points


def test_grips_out_of_reach_are_said_with_how_far() -> None:
    """No forearm angle as found, and the sentence gives the distance."""
    one = made(bike("new", far_grips()))
    assert not one.now.reachable
    problem = said(one, "too far for the rider's arms")
    assert problem.level == WARNING
    assert problem.file == "bikes/new.toml"


def test_grips_that_stay_out_of_reach_are_said_apart() -> None:
    """Where the bike allows too little; silent where the work brings them back."""
    stay = Allows(riser=(0.0, 10.0), pullback=(0.0, 10.0))
    one = made(bike("new", far_grips(), allows=stay))
    assert not one.practical.after.reachable
    problem = said(one, "after this work the grips are still")
    assert (problem.level, problem.key) == (WARNING, STILL)
    free = made(bike("new", far_grips()))
    assert free.practical.after.reachable
    assert not [each for each in find(free) if each.key == STILL]


def test_a_straight_bar_is_not_levelled_by_rolling_it() -> None:
    """Roll is null because another bend is needed."""
    one = made(bike("new", straight_bar()), grip_tilt=0.0)
    assert np.isnan(one.exact.bar_roll_deg)
    assert said(one, "too straight for roll").level == WARNING


def test_a_sweep_that_nobody_said_is_a_note() -> None:
    """From memory, without a wish: null, and the note says what to read."""
    prepared, _ = prepare(rider({"road": sat()}), {}, SHOP)
    assert prepared is not None
    one, _ = transfer(prepared, bike("new"), "road")
    assert one is not None
    assert np.isnan(one.target.grip_sweep_deg)
    problem = said(one, "no grip sweep is wished")
    assert (problem.level, problem.key) == (NOTE, "cockpit.road.grip_sweep")
    told = made(bike("new"))
    assert not [p for p in find(told) if "grip sweep" in p.text]


def test_one_degree_is_no_plural() -> None:
    """Nor is it two."""
    points = dict(TRUE)
    x, y, z = points["grip_end"]
    inner = points["grip_inner"][1]
    for slope, words in ((1.0, "1 degree off"), (2.0, "2 degrees off")):
        points["grip_inner"] = (x, inner, z + (y - inner) * np.tan(np.radians(slope)))
        said(made(bike("new", points), grip_tilt=0.0), words)


def test_a_turn_asked_of_a_one_piece_bar_is_said_to_be_left_out() -> None:
    """It would otherwise be ignored in silence."""
    turned = evolve(bike("new"), clip_turn=Reading(4.0))
    assert said(made(turned), "clip_turn is for clip-ons").level == NOTE
    clips = evolve(turned, handlebar=Handlebar(kind="clip-on"))
    assert not [one for one in find(made(clips)) if one.key == "clip_turn"]


def test_clip_ons_droop_and_the_levelling_turn_stands_beside() -> None:
    """The residual is a note; the turn about the fork tubes that would level is given."""
    points = dict(TRUE)
    x, y, z = points["grip_end"]
    points["grip_end"] = (x, y, z - 20.0)
    one = made(bike("new", points, handlebar=Handlebar(kind="clip-on")), grip_tilt=0.0)
    assert "grip_tilt" in one.practical.missed
    assert said(one, "about its fork tube").level == NOTE


def test_no_place_of_the_bar_names_the_largest_navel_to_bar() -> None:
    """A forearm steeper than a straight arm allows: the sentence says what would do."""
    one = made(bike("good"))
    target = evolve(one.target, forearm_angle_deg=75.0)
    gone = evolve(one.exact, riser_height_mm=np.nan, riser_pullback_mm=np.nan)
    problem = said(evolve(one, target=target, exact=gone), "no place of this bar")
    assert "the largest navel-to-bar with that forearm angle is" in problem.text


@pytest.mark.parametrize(
    ("lower", "words"),
    [(24.0, "check every hose and cable"), (50.0, "one hose or cable too short")],
)
def test_a_bar_that_goes_far_up_asks_for_the_hoses(lower: float, words: str) -> None:
    """Above 20 mm they are to be checked, above 30 expected too short (common practice)."""
    down = dict.fromkeys(("grip_end", "grip_inner", "clamp"), (0.0, -lower))
    assert said(made(bike("new", moved(**down))), "the bar goes up").text.count(words) == 1
    calm = dict.fromkeys(down, (0.0, -8.0))
    assert not [p for p in find(made(bike("new", moved(**calm)))) if "goes up" in p.text]


@pytest.mark.parametrize(
    ("away", "level"), [((33.0, -34.0), NOTE), ((45.0, -48.0), WARNING), ((45.0, -20.0), None)]
)
def test_hands_that_go_far_up_and_back_leave_the_front_light(
    away: tuple[float, float], level: str | None
) -> None:
    """From 30 to 40 mm of both a note, above a warning; far back but hardly up is neither."""
    by = dict.fromkeys(("grip_end", "grip_inner", "clamp"), away)
    one = made(bike("new", moved(**by)))
    light = [p.level for p in find(one) if "weight leaves the front wheel" in p.text]
    assert light == ([] if level is None else [level])


def test_a_lever_that_was_not_read_is_asked_for() -> None:
    """The note says how to read it."""
    one = bike("new")
    assert one.levers.clutch is not None
    levers = evolve(one.levers, clutch=evolve(one.levers.clutch, angle=None))
    problem = said(made(evolve(one, levers=levers)), "clutch lever's angle was not read")
    assert (problem.level, problem.key) == (NOTE, "levers.clutch")


def test_calf_against_hamstring_is_warned_of() -> None:
    """Pegs right under the seat: they touch at ball and mid-foot (common practice, no source)."""
    one = made(bike("good"))
    room = evolve(one.contact_after.room_deg, ball=-3.0, mid_foot=-1.0)
    tight = evolve(one, contact_after=evolve(one.contact_after, room_deg=room))
    found = [p for p in find(tight) if "calf and hamstring still touch" in p.text]
    assert [p.level for p in found] == [WARNING, WARNING]


def test_lean_and_knee_outside_the_rider_s_own_bands() -> None:
    """Both bands are held against the cockpit."""
    limits = RiderLimits(lean=(20.0, 30.0), knee_angle=(150.0, 170.0))
    one = made(bike("good"), limits)
    assert said(one, "leans").key == "limits.lean"
    assert said(one, "bends the knee to").key == "limits.knee_angle"


def test_a_lean_beyond_what_iso_11226_recommends_is_noted() -> None:
    """ISO 11226:2000: trunk inclination above 60 degrees is not recommended."""
    one = made(bike("good"))
    target = evolve(one.target, lean_deg=61.0)
    assert said(evolve(one, target=target), "ISO 11226").level == NOTE
    calm = evolve(one, target=evolve(one.target, lean_deg=59.0))
    assert not [p for p in find(calm) if "ISO 11226" in p.text]


def test_pegs_that_no_move_brings_right_are_said() -> None:
    """Null peg move and null seat raise each have their sentence."""
    one = made(bike("good"))
    gone = evolve(one.exact, peg_move_mm=evolve(one.exact.peg_move_mm, x=np.nan, z=np.nan))
    assert said(evolve(one, exact=gone), "too far apart").key == "widths.peg"
    seat = evolve(one.exact.with_seat_raise, seat_raise_mm=np.nan)
    there = evolve(one, exact=evolve(one.exact, with_seat_raise=seat))
    assert said(there, "no seat height gives").level == NOTE


WHY = {
    "forearm_angle": ("for the rider's arms", "no place of this bar"),
    "elbow_angle": ("for the rider's arms", "no place of this bar", "longer arms"),
    "bar_roll": ("too straight for roll",),
    "riser": ("no place of this bar",),
    "clip_slide": ("no place of this bar",),
    "clip_offset": ("no place of this bar",),
    "knee_angle": ("out of the legs' reach",),
    "peg_move": ("no peg on the line",),
    "seat_raise": ("no seat height gives",),
    "lever_angle": ("lever's angle was not read", "has no {side} lever", "no place of this bar"),
    "lever_rotation": ("lever's angle was not read", "has no {side} lever"),
    "lever_reach": ("lever's reach was not taped", "has no {side} lever", "no lever reach"),
}
"""What a sentence must say for each number that may be missing."""


def gaps(values: Any, path: str = "") -> list[str]:
    """Paths of all numbers that are not there."""
    if isinstance(values, dict):
        return [gap for name, value in values.items() for gap in gaps(value, f"{path}.{name}")]
    return [path] if np.isnan(values) else []


def silent(one: Transfer) -> list[str]:
    """Gaps that no sentence explains; those of the other kind of bar need none."""
    other = ("bar_roll", "riser") if one.clip_on else ("clip_",)
    text = " ".join(problem.text for problem in find(one))
    found = []
    for part in (one.now, one.target, one.exact, one.exact_after, one.practical.changes):
        for gap in gaps(asdict(part)):
            side = "clutch" if gap.endswith("clutch") else "brake"
            words = [w.format(side=side) for key, ws in WHY.items() if key in gap for w in ws]
            mine = not any(name in gap for name in other)
            if mine and not any(word in text for word in words):
                found.append(gap)
    return found


STEEP = {"forearm_angle": 55.0}


def far_below() -> dict[str, Point]:
    """Pegs 600 further below seat and bar than they were, and still above the floor."""
    up = (0.0, 230.0)
    return moved(seat=up, clamp=up, grip_end=up, grip_inner=up, peg=(0.0, -370.0))


@pytest.mark.parametrize("kind", ["one-piece", "clip-on"])
@pytest.mark.parametrize("wish", [{}, STEEP], ids=["as sat", "too steep"])
@pytest.mark.parametrize(
    "levers",
    [LEVERS, Levers(), Levers(brake=Lever(angle=Reading(20.0)), clutch=Lever(reach=Reading(60.0)))],
    ids=["both", "none", "half read"],
)
@pytest.mark.parametrize(
    "points",
    [TRUE, straight_bar(), far_grips(), moved(peg=(700.0, 300.0)), far_below()],
    ids=["true", "straight", "far", "far pegs", "low pegs"],
)
def test_every_gap_has_a_sentence(
    points: dict[str, Point], levers: Levers, wish: dict[str, Any], kind: str
) -> None:
    """Nothing is null without a reason, whatever the bike and however little was read."""
    new = bike("new", points, levers=levers, handlebar=Handlebar(kind=kind))
    assert silent(made(new, grip_tilt=0.0, **wish)) == []


def test_a_gap_without_its_sentence_would_be_seen() -> None:
    """The test above bites: an elbow angle lost on a bike that is in reach."""
    one = made(bike("new"))
    lost = evolve(one.target, elbow_angle_deg=np.nan)
    assert silent(evolve(one, target=lost)) == [".elbow_angle_deg"]


def test_a_bike_without_a_lever_and_one_without_its_reach() -> None:
    """Both are notes that name the side."""
    levers = Levers(brake=Lever(angle=Reading(20.0)))
    one = made(bike("new", levers=levers))
    assert said(one, "the brake lever's reach was not taped").key == "levers.brake"
    assert said(one, "has no clutch lever").level == NOTE


def test_a_straight_bar_inside_tolerance_may_stay() -> None:
    """Roll is null and the sentence is a note."""
    points = straight_bar()
    x, y, z = points["grip_end"]
    inner = points["grip_inner"]
    points["grip_inner"] = (inner[0], inner[1], z + (y - inner[1]) * np.tan(np.radians(2.0)))
    problem = said(made(bike("new", points), grip_tilt=0.0), "too straight for roll")
    assert problem.level == NOTE
    assert "it may stay" in problem.text
    assert x == inner[0]


def test_a_bike_at_target_has_nothing_to_say() -> None:
    """No finding where everything is as wished and the knees are open."""
    one = made(bike("good"))
    there = evolve(
        one, contact_after=evolve(one.contact_after, knee_angle_deg=Feet(ball=90.0, mid_foot=88.0))
    )
    assert find(there) == ()


def test_arms_that_differ_are_said_with_what_each_is_set_to() -> None:
    """Named under the key that the rider wrote; nothing of it for arms alike."""
    forearm = sat().forearm_angle
    assert forearm is not None
    pair = Reading(forearm.value, count=2, sides=(forearm.value - 5.0, forearm.value + 5.0))
    one = made(bike("new"), forearm_angle=pair)
    found = said(one, "the arms are wished differently")
    assert (found.level, found.key) == (NOTE, "cockpit.road.forearm_angle")
    mean = float(one.target.forearm_angle_deg)
    assert f"the mean of both, {mean:.0f} degrees" in found.text
    assert found.text.endswith(f"left {mean - 5.0:.0f} and right {mean + 5.0:.0f}")
    even = find(made(bike("new")))
    assert not any("arms are wished" in one.text for one in even)
