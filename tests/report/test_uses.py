"""What a plan gives each use, standing numbers and legs that differ: words and blocks."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
from attrs import evolve

from fitprofile.model.bike import Bike
from fitprofile.model.parts import Catalogue
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Cockpit, Rider, Standing
from fitprofile.model.shop import Shop
from fitprofile.report import uses
from fitprofile.report.page import Heading, Items, Paragraph, Table
from fitprofile.report.plan_steps import plan_steps
from fitprofile.stages.chain import Prepared, prepare, transfer, with_plans
from fitprofile.stages.offer import Offer
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import PlanStep
from fitprofile.stages.standing import StandingNumbers
from tests.report import samples

r = samples.r

TRAIL = Standing(
    grip_above_peg=r(735.0),
    grip_ahead_of_peg=r(360.0),
    lever_angle=r(20.0),
    brake_pedal=r(-5.0),
    lean=r(30.0),
)
TRACK = Cockpit(bar_width=r(700.0), navel_to_bar=r(560.0), lever_angle=r(24.0), knee_angle=r(72.0))


def rider(**more: Any) -> Rider:
    """Ada with a track cockpit and a way of standing."""
    seated = {**samples.RIDER.cockpits, "track": TRACK}
    return evolve(samples.RIDER, **{"cockpits": seated, "standing": {"trail": TRAIL}, **more})


def ready(person: Rider) -> Prepared:
    """A rider calibrated on the good bike."""
    found, problems = prepare(person, {samples.GOOD.key: samples.GOOD}, Shop())
    assert found is not None, problems
    return found


def on(bike: Bike, person: Rider) -> Transfer:
    """The finished transfer of a rider to a bike."""
    found, problems = transfer(ready(person), bike, samples.USE)
    assert found is not None, problems
    return found


@cache
def made(weighed: bool = False) -> Transfer:
    """The twin, with free adjustments as its plans."""
    person = rider()
    weights = {"road": 80.0, "track": 20.0} if weighed else None
    one = on(samples.TWIN, person)
    return with_plans(ready(person), one, Catalogue(), weights=weights)


def offer(one: Transfer) -> Offer:
    assert one.offers is not None
    return one.offers.chosen


@cache
def lame() -> Transfer:
    """A left knee that bends less than the right one."""
    road = samples.RIDER.cockpits[samples.USE]
    uneven = evolve(road, knee_angle=Reading(84.0, sides=(94.0, 74.0)))
    return on(samples.TWIN, evolve(samples.RIDER, cockpits={samples.USE: uneven}))


def words(blocks: Any) -> str:
    """All running text of some blocks."""
    found = []
    for block in blocks:
        if isinstance(block, Heading):
            found.append(block.words)
        elif isinstance(block, Paragraph):
            found.append("".join(span.text for span in block.text))
        elif isinstance(block, Items):
            found += ["".join(span.text for span in item) for item in block.items]
        elif isinstance(block, Table):
            found += [
                "".join(span.text for line in cell.lines for span in line)
                for row in block.rows
                for cell in row.cells
            ]
    return "\n".join(found)


def test_each_use_has_its_line() -> None:
    """The plan's own use first, then the other seated one, then standing with its balance."""
    lines = list(uses.use_lines(made(), offer(made())))
    assert [line.split(":")[0] for line in lines] == ["road", "track", "trail (standing)"]
    assert "tolerances off" in lines[1]
    assert "the pegs" in lines[2] or "let go" in lines[2]


def test_a_pedal_between_uses_says_between_what() -> None:
    """In the lines of the uses, for text; without weights there is no such line."""
    one = made(True)
    plan = offer(one).plan
    step = PlanStep("brake_pedal", 2.0, -1.0, -3.0, "mm")
    trail = one.standing["trail"]
    now = evolve(trail.now, brake_pedal_mm=2.0)
    taped = evolve(one, standing={"trail": evolve(trail, now=now)})
    shared = evolve(taped, weights={"road": 0.6, "trail": 0.4})
    stepped = evolve(offer(one), plan=evolve(plan, steps=(*plan.steps, step)))
    line = list(uses.use_lines(shared, stepped))[-1].replace("\N{NO-BREAK SPACE}", " ")
    assert line == (
        "brake pedal above the peg: \N{MINUS SIGN}1 mm, "
        "between \N{MINUS SIGN}5 mm for trail and 2 mm as found for the seat"
    )
    (bare,) = (
        line
        for line in uses.use_lines(evolve(one, weights=shared.weights), offer(one))
        if line.startswith("brake pedal")
    )
    assert bare == "brake pedal above the peg: not taped on this bike, so it is not set"
    hints = {made.what: made.hint for made in plan_steps(shared, stepped.plan)}
    assert "between" in hints["Set the brake pedal down"]
    assert uses.between_words(made(), "brake_pedal") == ""


def test_weights_stand_beside_their_uses() -> None:
    """As shares of a hundred."""
    lines = list(uses.use_lines(made(True), offer(made(True))))
    assert lines[0].startswith("road (80 %): ")
    assert lines[1].startswith("track (20 %): ")


def test_one_use_alone_says_nothing() -> None:
    """Neither lines nor blocks."""
    person = evolve(samples.RIDER, standing={})
    one = with_plans(ready(person), on(samples.TWIN, person), Catalogue())
    assert list(uses.use_lines(one, offer(one))) == []
    assert uses.side_blocks(one) == ()


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        ({"bar_width": 0.4, "knee_angle": -1.0}, "inside every tolerance"),
        ({"forearm_angle": 2.14, "bar_width": 0.2}, "forearm angle 2.1 tolerances off"),
        ({"forearm_angle": np.inf}, "forearm angle out of reach"),
        (
            {"grip_above_peg": -3.0, "lever_angle.brake": 1.5},
            "grips above the peg 3.0 and lever angle, brake 1.5 tolerances off",
        ),
    ],
)
def test_what_is_off_is_said_in_tolerances(found: dict[str, float], expected: str) -> None:
    """One is just inside; a number that is not there is out of reach."""
    assert uses.outside_words(found) == expected


@pytest.mark.parametrize(
    ("balance", "expected"),
    [
        (12.0, "the hands let go without falling"),
        (-30.0, "the hands let go without falling"),
        (
            74.0,
            "the body stands about 70~mm ahead of the pegs and rests on the hands",
        ),
        (
            -41.0,
            "the body stands about 40~mm behind the pegs and hangs on the hands",
        ),
        (np.nan, ""),
    ],
)
def test_balance_in_words(balance: float, expected: str) -> None:
    """Behind the pegs the rider hangs on the bar, ahead of them leans on it; tens are enough."""
    shown = StandingNumbers(
        grip_above_peg_mm=700.0,
        grip_ahead_of_peg_mm=300.0,
        bar_width_mm=800.0,
        balance_mm=balance,
    )
    assert uses.balance_words(shown).replace("\N{NO-BREAK SPACE}", "~") == expected


def test_standing_rows_show_what_there_is() -> None:
    """A number that was neither wished nor taped has no row; estimates are called so."""
    rows = {line[0]: line for line in uses.standing_lines(made().standing["trail"])}
    assert "Gear lever above the peg" not in rows
    assert rows["Grips above the peg"][2] == "735\N{NO-BREAK SPACE}mm"
    assert rows["Hip to grips, in balance"][4] == "estimated"


def test_standing_changes_say_where_they_stop() -> None:
    """The twin's riser goes 15 mm up and no further."""
    lines = list(uses.change_lines(made().standing["trail"]))
    assert "riser height +15\N{NO-BREAK SPACE}mm; stops at what the bike allows" in lines


def test_each_leg_has_its_peg() -> None:
    """Left and right apart, with the knee wished and what it becomes."""
    lines = list(uses.side_lines(lame()))
    assert [line.split(":")[0] for line in lines] == ["left peg", "right peg"]
    assert lines[0] != lines[1].replace("right", "left")
    assert "both sides alike" in uses.side_blocks(lame())[0].remark  # type: ignore[union-attr]


def test_a_bar_that_is_cut_for_standing_says_that_it_cannot_be_undone() -> None:
    """Inward alone; outward nothing is cut."""
    one = made().standing["trail"]
    for change, cut in ((-20.0, True), (20.0, False)):
        bar = evolve(one.practical.bar, bar_width_change_mm=change)
        lines = uses.change_lines(evolve(one, practical=evolve(one.practical, bar=bar)))
        (line,) = (line for line in lines if line.startswith("bar width"))
        assert ("cannot be undone" in line) == cut
