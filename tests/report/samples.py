"""Invented transfers for the tests of reports: each shows one thing that a report has to bear.

Riders and bikes are invented. They go through the stages as the demo's do, so that reports are
tried on values which can really occur.
"""

from __future__ import annotations

from functools import cache

from attrs import evolve

from fitprofile.model.bike import (
    CLIP_ON,
    PINNED,
    Allows,
    Bike,
    Handlebar,
    Lever,
    Levers,
    Stand,
    Steering,
)
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Cockpit, Rider, RiderLimits
from fitprofile.model.shop import Shop
from fitprofile.stages.chain import Prepared, prepare, transfer
from fitprofile.stages.limits import PINNED_PERCH, Limit
from fitprofile.stages.outcome import Transfer

DATE = "25 November 2026"
USE = "road"


def r(value: float) -> Reading:
    """A plain reading, mm or degrees."""
    return Reading(value)


GOOD = Bike(
    key="heron",
    file="bikes/heron.toml",
    name="Heron 400 (invented)",
    date="2026-05-02",
    tape="helper",
    steering=Steering(rake=r(25.0)),
    handlebar=Handlebar(bar_diameter=r(22.2), clamp_diameter=r(28.6), roll=(-8.0, 8.0)),
    widths={"grip_end": r(800.0), "grip_inner": r(566.0), "peg": r(480.0)},
    heights={
        "seat": r(800.0),
        "peg": r(330.0),
        "clamp": r(1000.0),
        "grip_end": r(1040.0),
        "grip_inner": r(1035.0),
        "rear_axle": r(310.0),
        "front_axle": r(305.0),
    },
    ahead={
        "seat": r(520.0),
        "peg": r(640.0),
        "clamp": r(1060.0),
        "grip_end": r(985.0),
        "grip_inner": r(1025.0),
        "front_axle": r(1390.0),
    },
    spans={("seat", "peg"): r(486.0), ("peg", "grip_end"): r(800.0)},
    levers=Levers(
        brake=Lever(angle=r(14.0), reach=r(58.0)), clutch=Lever(angle=r(15.0), reach=r(60.0))
    ),
)
"""The bike that the cockpit was measured on."""

RIDER = Rider(
    key="ada",
    file="profiles/ada.toml",
    name="Ada (invented)",
    sex="female",
    tape="helper",
    body={
        "stature": r(1680.0),
        "navel_height_sitting": r(215.0),
        "inseam": r(780.0),
        "abdominal_depth_sitting": r(230.0),
    },
    cockpits={
        USE: Cockpit(
            bar_width=r(800.0),
            navel_to_bar=r(490.0),
            lever_angle=r(14.0),
            knee_angle=r(80.0),
            lever_reach=r(58.0),
            measured_on="heron",
            gear="boots with 25 mm soles",
        )
    },
    limits=RiderLimits(knee_angle=(70.0, 115.0)),
)

TWIN = Bike(
    key="teal",
    file="bikes/teal.toml",
    name="Teal 650 twin (invented)",
    date="2026-05-09",
    mileage="12 480 km",
    tape="helper",
    steering=Steering(rake=r(27.0)),
    handlebar=Handlebar(bar_diameter=r(22.2), clamp_diameter=r(28.6), roll=(-8.0, 8.0), pins=True),
    widths={"grip_end": r(742.0), "grip_inner": r(505.0), "peg": r(470.0)},
    heights={
        "seat": r(815.0),
        "peg": r(392.0),
        "clamp": r(1020.0),
        "grip_end": r(1050.0),
        "grip_inner": r(1058.0),
        "rear_axle": r(318.0),
        "front_axle": r(306.0),
    },
    ahead={
        "seat": r(560.0),
        "peg": r(650.0),
        "clamp": r(1090.0),
        "grip_end": r(1010.0),
        "grip_inner": r(1052.0),
        "front_axle": r(1430.0),
    },
    spans={("seat", "peg"): r(489.0)},
    levers=Levers(
        brake=Lever(angle=r(24.0), reach=r(66.0), reach_range=(60.0, 80.0)),
        clutch=Lever(angle=r(21.0), reach=r(70.0), perch=PINNED, pin=r(4.0)),
    ),
    allows=Allows(riser=(0.0, 15.0), peg_up=(-40.0, 10.0)),
)
"""A bar that rolls too far, pegs too high, a pinned perch, a reach adjuster at its end."""

SPORT = Bike(
    key="wren",
    file="bikes/wren.toml",
    name="Wren 600 sport (invented)",
    steering=Steering(rake=r(24.0)),
    handlebar=Handlebar(kind=CLIP_ON, bar_diameter=r(22.2)),
    widths={"grip_end": r(680.0), "grip_inner": r(450.0), "peg": r(430.0), "tube": r(210.0)},
    heights={
        "seat": r(820.0),
        "peg": r(390.0),
        "clamp": r(900.0),
        "grip_end": r(880.0),
        "grip_inner": r(900.0),
    },
    ahead={
        "seat": r(540.0),
        "peg": r(560.0),
        "clamp": r(1120.0),
        "grip_end": r(1050.0),
        "grip_inner": r(1095.0),
    },
    levers=Levers(brake=Lever(angle=r(20.0), reach=r(60.0)), clutch=Lever(reach=r(62.0))),
    allows=Allows(clip_slide=(-10.0, 20.0), clip_offset=(0.0, 0.0)),
)
"""Clip-ons on short tubes, and a clutch lever whose angle nobody read."""


@cache
def prepared(rider: Rider | None = None) -> Prepared:
    """The rider, calibrated on the good bike."""
    found, problems = prepare(rider or RIDER, {GOOD.key: GOOD}, Shop())
    assert found is not None, problems
    return found


def made(bike: Bike, rider: Rider | None = None) -> Transfer:
    """The finished transfer of the rider to a bike."""
    found, problems = transfer(prepared(rider), bike, USE)
    assert found is not None, problems
    return found


@cache
def one_piece() -> Transfer:
    """Needs nearly everything, and meets four limits."""
    return made(TWIN)


@cache
def uneven() -> Transfer:
    """The same bike for arms that differ: the left forearm flatter, the right one steeper."""
    arms = Reading(14.0, count=2, sides=(11.0, 17.0))
    wish = evolve(RIDER.cockpits[USE], lever_angle=arms)
    ready, _ = prepare(evolve(RIDER, cockpits={USE: wish}), {GOOD.key: GOOD}, Shop())
    assert ready is not None
    found, problems = transfer(ready, TWIN, USE)
    assert found is not None, problems
    return found


@cache
def clip_on() -> Transfer:
    """Clip-ons, one lever angle missing."""
    return made(SPORT)


@cache
def at_home() -> Transfer:
    """The good bike itself: nothing to change."""
    return made(GOOD)


@cache
def out_of_reach() -> Transfer:
    """Grips so far ahead that the hands do not reach them as found."""
    ahead = {**TWIN.ahead, "grip_end": r(1500.0), "grip_inner": r(1540.0), "clamp": r(1560.0)}
    return made(evolve(TWIN, key="far", name="Far reach (invented)", ahead=ahead))


@cache
def straight_bar() -> Transfer:
    """A bar too straight to be levelled by rolling it, no levers at all."""
    bike = evolve(
        TWIN,
        key="straight",
        name="Straight bar (invented)",
        levers=Levers(),
        heights={**TWIN.heights, "grip_inner": r(1030.0)},
        ahead={**TWIN.ahead, "grip_inner": r(1011.0)},
    )
    return made(bike)


@cache
def no_answer() -> Transfer:
    """A wish so far from the navel that no place of the bar gives its forearm angle."""
    found = one_piece()
    nan = float("nan")
    exact = evolve(found.exact, riser_height_mm=nan, riser_pullback_mm=nan)
    zero = evolve(found.practical.changes, riser_height_mm=0.0, riser_pullback_mm=0.0)
    return evolve(found, exact=exact, practical=evolve(found.practical, changes=zero))


@cache
def stuck() -> Transfer:
    """The good bike with its brake perch pinned at 24 degrees: one number off, no step."""
    found = at_home()
    lever = Lever(angle=r(24.0), reach=r(58.0), perch=PINNED, pin=r(4.0))
    bike = evolve(GOOD, key="stuck", levers=evolve(GOOD.levers, brake=lever))
    name, done = "lever_angle.brake", found.practical
    off = 24.0 - float(done.after.forearm_angle_deg)
    pinned = Limit("lever_rotation.brake", off, (0.0, 0.0), off, PINNED_PERCH, 6.3)
    now, after = (
        evolve(shown, lever_angle_deg=evolve(shown.lever_angle_deg, brake=24.0))
        for shown in (found.now, done.after)
    )
    practical = evolve(
        done,
        after=after,
        leave=tuple(left for left in done.leave if left != name),
        missed=(name,),
        found_outside=(name,),
        held=(pinned,),
    )
    return evolve(found, bike=bike, now=now, practical=practical)


@cache
def beyond() -> Transfer:
    """Grips that stay out of the arms' reach: the bike allows too little."""
    far = out_of_reach().bike
    return made(evolve(far, key="beyond", allows=Allows(riser=(0.0, 15.0), pullback=(0.0, 20.0))))


@cache
def mistaped() -> Transfer:
    """One span that a slip of the tape made 200 mm too long."""
    spans = {**TWIN.spans, ("seat", "grip_end"): r(829.0), ("peg", "grip_end"): r(762.0)}
    return made(evolve(TWIN, key="slip", spans=spans))


@cache
def lifted() -> Transfer:
    """Taped on a stand that lifts the rear wheel by 20 mm."""
    stand = Stand(rear_axle=r(318.0), front_axle=r(306.0))
    on_floor = Stand(rear_axle=r(298.0), front_axle=r(306.0))
    return made(evolve(TWIN, key="lifted", state="stand", stand=stand, wheels=on_floor))


EVERYTHING = (
    one_piece,
    uneven,
    clip_on,
    at_home,
    out_of_reach,
    straight_bar,
    no_answer,
    stuck,
    beyond,
)
