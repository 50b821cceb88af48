"""What part would mend a number: checked by fitting that very part and searching again."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.model.bike import Allows, Fitted, Handlebar
from fitprofile.model.parts import Bar, Catalogue, ClipOn, Extender, LeverSet, PegPlate, Riser, Seat
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import RiderLimits
from fitprofile.stages.job import Job
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.plan import CLOSEST, Plan
from fitprofile.stages.plans import plans_for
from fitprofile.stages.remedy import Remedy, remedies
from tests.stages.garage import a_demo_case, catalogue, demo_jobs
from tests.stages.jobs import job
from tests.stages.shelves import KINDS, a_job, shelf
from tests.stages.taped import TRUE

R = Reading

BAR = {"navel_to_bar", "forearm_angle", "grip_tilt", "grip_sweep"}

EMPTY = Catalogue(file="shared/parts.toml")
NO_ROLL = Handlebar(roll=(0.0, 0.0), clamp_diameter=R(28.6), bar_diameter=R(22.2))


def closest(one: Job, catalogue: Catalogue = EMPTY) -> Plan:
    """The closest plan."""
    return next(plan for plan in plans_for(((one, 1.0),), catalogue) if plan.name == CLOSEST)


def lowered(down: float, back: float = 0.0) -> Job:
    """A job whose bar stands lower and farther ahead than wished, in a clamp that does not roll."""
    given = {
        name: (x + back, y, z - down) if name in {"clamp", "grip_end", "grip_inner"} else (x, y, z)
        for name, (x, y, z) in TRUE.items()
    }
    return job(given, handlebar=NO_ROLL)


def misses(plan: Plan, names: tuple[str, ...]) -> list[str]:
    """Which of these numbers a plan leaves outside."""
    return [name for name in names if abs(plan.deviations[name]) > INSIDE]


def test_nothing_is_mended_where_nothing_misses() -> None:
    """A bike that fits needs no part."""
    one = job(handlebar=NO_ROLL)
    assert remedies(one, closest(one), EMPTY) == ()


@given(st.floats(15.0, 60.0), st.floats(-15.0, 15.0))
def test_either_end_of_a_range_mends_and_a_little_beyond_does_not(down: float, back: float) -> None:
    """The heights named are just those that bring the bar's numbers inside; no width is wished."""
    one = lowered(down, back)
    one = evolve(one, target=evolve(one.target, bar_width_mm=np.nan))
    before = closest(one)
    found = [remedy for remedy in remedies(one, before, EMPTY) if remedy.kind == "riser"]
    if not found:
        return
    low, high = found[0].figures["height"]
    pullback = found[0].figures["pullback"][0]
    for height, fits in ((low, True), (high, True), (low - 1.5, False), (high + 1.5, False)):
        riser = Riser(name="one", height=R(height), pullback=R(pullback))
        after = closest(one, Catalogue(risers=(riser,), file="x"))
        if fits:
            assert not misses(after, tuple(BAR & after.deviations.keys()))
        elif after.choice.riser is not None and -40.0 < height < 80.0:
            assert misses(after, tuple(BAR & after.deviations.keys()))


GROUPS = {
    "bar": BAR | {"lever_angle"},
    "bar_width": {"bar_width"},
    "knee_angle": {"knee_angle"},
}
"""Numbers that one part mends together; the others are left out of the judgement by tolerance."""

LOOSE = 1e6

KIND = {
    "riser": (Riser, "risers", "height", (-40.0, 80.0)),
    "bar": (Bar, "bars", "rise", (-60.0, 300.0)),
    "clip_on": (ClipOn, "clip_ons", "offset", (-60.0, 60.0)),
    "peg_plate": (PegPlate, "peg_plates", "z", (-60.0, 60.0)),
    "seat": (Seat, "seats", "z", (-60.0, 80.0)),
    "extender": (Extender, "extenders", "length", (1.0, 150.0)),
}
"""Class and list of each kind of part, the figure told as a range, and how far it is looked for."""


def with_part(remedy: Remedy, value: float) -> Catalogue:
    """A shelf with just the part that a remedy names, at one figure of its range."""
    made, several, ranged, _ = KIND[remedy.kind]
    figures = {name: R(low) for name, (low, _) in remedy.figures.items()}
    more = {"clamp_diameter": R(28.6)} if remedy.kind == "bar" else {}
    part = made(name="one", **{**figures, ranged: R(value)}, **more)
    shelves: dict[str, Any] = {several: (part,)}
    return Catalogue(file="x", **shelves)


@given(seed=st.integers(0, 2**32 - 1), group=st.sampled_from(sorted(GROUPS)), data=st.data())
def test_a_range_is_what_the_search_takes(seed: int, group: str, data: st.DataObject) -> None:
    """A part drawn inside the range, put on the shelf, brings the plan inside; one a mm beyond
    either end of it does not. Jobs of every kind, leaning riders and pinned levers among them."""
    rng = np.random.default_rng(seed)
    one = a_job(rng, **KINDS[data.draw(st.sampled_from(sorted(KINDS)))], spread=40.0)
    tight = {
        name: half if name in GROUPS[group] else LOOSE for name, half in one.tolerances.items()
    }
    # Nor may a width that does not count make room for the others.
    wish = evolve(one.target, bar_width_mm=np.nan) if group == "bar" else one.target
    one = evolve(one, tolerances=tight, target=wish)
    for remedy in remedies(one, closest(one), EMPTY):
        _, _, ranged, (least, most) = KIND[remedy.kind]
        low, high = remedy.figures[ranged]
        assert (low, high) == (round(low), round(high))
        inner = data.draw(st.floats(low, high))
        for value in (low, inner, high):
            assert closest(one, with_part(remedy, value)).inside
        for value in (low - 1.0, high + 1.0):
            if least <= value <= most:
                assert not closest(one, with_part(remedy, value)).inside


def test_a_range_is_looked_for_as_far_as_it_goes() -> None:
    """A rider who leans freely takes risers of more than 40 mm either side of the exact one."""
    one = evolve(lowered(60.0, 30.0), limits=RiderLimits(lean=(4.0, 20.0)))
    (riser,) = (r for r in remedies(one, closest(one), EMPTY) if r.kind == "riser")
    low, high = riser.figures["height"]
    assert high - low > 50.0
    assert closest(one, with_part(riser, low)).inside
    assert not closest(one, with_part(riser, low - 1.0)).inside


def test_a_bar_45_mm_low_asks_for_a_riser_about_45_mm_high() -> None:
    """Worked by hand: lowered straight down by 45 mm in a clamp raked by 25 degrees, the bar goes
    back up along the steering axis by 45 cos 25 = 41 mm with 45 sin 25 = 19 mm of pullback
    forward; within +-10 mm and +-3 degrees the range holds that height."""
    one = lowered(45.0)
    (riser,) = (r for r in remedies(one, closest(one), EMPTY) if r.kind == "riser")
    low, high = riser.figures["height"]
    assert low <= 41.0 <= high
    assert high - low < 40.0


def test_a_riser_counts_what_is_fitted_already() -> None:
    """The figure named is that of a part, not of the move from the riser that is on the bike."""
    one = lowered(30.0)
    fitted = Riser(name="old", height=R(20.0), pullback=R(5.0))
    shop = Catalogue(risers=(fitted,), file="x")
    bare = remedies(one, closest(one), EMPTY)[0]
    bike = evolve(one.bike, fitted=evolve(one.bike.fitted, riser="old"))
    more = remedies(evolve(one, bike=bike), closest(evolve(one, bike=bike), shop), shop)[0]
    assert more.figures["height"] == pytest.approx([h + 20.0 for h in bare.figures["height"]])
    assert more.figures["pullback"][0] == pytest.approx(bare.figures["pullback"][0] + 5.0)


def test_what_has_to_stay_is_not_asked_for() -> None:
    """`keep` names kinds that no remedy may be of; another kind may take its place."""
    one = lowered(45.0)
    kept = evolve(one, bike=evolve(one.bike, allows=Allows(keep=("riser", "bar"))))
    assert all(r.kind not in {"riser", "bar"} for r in remedies(kept, closest(kept), EMPTY))


def test_without_risers_another_bar_is_named_and_fits() -> None:
    """A bar of the named rise, pullback, sweep and tilt brings the numbers inside."""
    one = lowered(45.0)
    kept = evolve(one, bike=evolve(one.bike, allows=Allows(keep=("riser",))))
    (bar,) = (r for r in remedies(kept, closest(kept), EMPTY) if r.kind == "bar")
    for rise in bar.figures["rise"]:
        part = Bar(
            name="new",
            width=R(bar.figures["width"][0]),
            rise=R(rise),
            pullback=R(bar.figures["pullback"][0]),
            backsweep=R(bar.figures["backsweep"][0]),
            upsweep=R(bar.figures["upsweep"][0]),
            clamp_diameter=R(28.6),
        )
        after = closest(kept, Catalogue(bars=(part,), file="x"))
        assert not misses(after, bar.mends)


def test_a_peg_plate_of_either_end_mends_the_knee() -> None:
    """Pegs 40 mm too high: the plate named brings the knee angle inside, 2 mm less does not."""
    x, y, z = TRUE["peg"]
    one = job({**TRUE, "peg": (x, y, z + 40.0)}, handlebar=NO_ROLL)
    (plate,) = (r for r in remedies(one, closest(one), EMPTY) if r.kind == "peg_plate")
    assert plate.mends == ("knee_angle",)
    low, high = plate.figures["z"]
    for up, fits in ((low, True), (high, True), (high + 2.0, False)):
        part = PegPlate(name="p", x=R(plate.figures["x"][0]), z=R(up))
        after = closest(one, Catalogue(peg_plates=(part,), file="x"))
        assert (not misses(after, plate.mends)) == fits


def test_a_seat_is_named_where_the_pegs_stay() -> None:
    """Pegs that stay and cannot go down: the seat goes up instead."""
    x, y, z = TRUE["peg"]
    allows = Allows(keep=("peg_plate",))
    one = job({**TRUE, "peg": (x, y, z + 30.0)}, handlebar=NO_ROLL, allows=allows)
    (seat,) = (r for r in remedies(one, closest(one), EMPTY) if r.kind == "seat")
    part = Seat(name="s", z=R(seat.figures["z"][0]))
    after = closest(one, Catalogue(seats=(part,), file="x"))
    assert not misses(after, ("knee_angle",)) or after.choice.seat is None


def test_an_extender_of_either_end_mends_the_width() -> None:
    """Grips 60 mm too close together: extenders of the named lengths bring the width inside."""
    given = {
        name: (x, y - 30.0, z) if name in {"grip_end", "grip_inner"} else (x, y, z)
        for name, (x, y, z) in TRUE.items()
    }
    one = job(given, handlebar=NO_ROLL)
    (ends,) = (r for r in remedies(one, closest(one), EMPTY) if r.kind == "extender")
    for length in ends.figures["length"]:
        part = Extender(name="e", length=R(length + 1e-6))
        after = closest(one, Catalogue(extenders=(part,), file="x"))
        assert not misses(after, ("bar_width",))


def test_a_lever_that_reaches_the_range_mends_the_reach() -> None:
    """The adjuster has to come within the tolerance of the wish: 60 +- 5 mm."""
    one = job(reach=80.0, handlebar=NO_ROLL)
    brake = one.bike.levers.brake
    assert brake is not None
    stiff = evolve(brake, reach=R(80.0), reach_range=(75.0, 90.0))
    levers = evolve(one.bike.levers, brake=stiff)
    one = evolve(one, bike=evolve(one.bike, levers=levers))
    found = [r for r in remedies(one, closest(one), EMPTY) if r.kind == "lever_set"]
    assert found[0] == Remedy(
        kind="lever_set", figures={"reach": (55.0, 65.0)}, mends=("lever_reach.brake",)
    )


def test_clip_ons_of_either_end_mend_the_bar() -> None:
    """Clip-ons too far ahead: those named, at either end, bring the bar's numbers inside."""
    given = {
        name: (x + 30.0, y, z) if name in {"grip_end", "grip_inner"} else (x, y, z)
        for name, (x, y, z) in TRUE.items()
    }
    clip_on, no_slide = Handlebar(kind="clip-on"), Allows(clip_slide=(0.0, 0.0))
    one = job(given, clip_on=True, handlebar=clip_on, allows=no_slide)
    clamp = one.points.clamp
    one = evolve(one, points=evolve(one.points, tube=Vec(clamp.x, 105.0, clamp.z)))
    found = [r for r in remedies(one, closest(one), EMPTY) if r.kind == "clip_on"]
    assert found
    figures = found[0].figures
    for offset in figures["offset"]:
        part = ClipOn(
            name="c",
            offset=R(offset),
            drop=R(figures["drop"][0]),
            sweep=R(figures["sweep"][0]),
            length=R(figures["length"][0]),
        )
        after = closest(one, Catalogue(clip_ons=(part,), file="x"))
        assert not misses(after, found[0].mends)


def narrow(by: float, **bike: Any) -> Job:
    """Grips that stand ``by`` mm too close together, in all."""
    given = {
        name: (x, y - 0.5 * by, z) if name in {"grip_end", "grip_inner"} else (x, y, z)
        for name, (x, y, z) in TRUE.items()
    }
    return job(given, handlebar=NO_ROLL, **bike)


def test_an_extender_takes_the_place_of_the_one_that_is_fitted() -> None:
    """With 20 mm on each end already the part has to be 20 mm longer."""
    old = Extender(name="old", length=R(20.0))
    shop = Catalogue(extenders=(old,), file="x")
    bare, fitted = narrow(60.0), narrow(60.0, fitted=Fitted(extender="old"))
    least = [
        next(r for r in remedies(one, closest(one, on), on) if r.kind == "extender")
        for one, on in ((bare, EMPTY), (fitted, shop))
    ]
    low, more = (one.figures["length"][0] for one in least)
    assert more == low + 20.0
    for length, fits in ((more, True), (more - 1.0, False)):
        part = Extender(name="new", length=R(length))
        after = closest(fitted, evolve(shop, extenders=(old, part)))
        assert (not misses(after, ("bar_width",))) == fits


def test_no_extender_is_named_beyond_what_the_bike_takes() -> None:
    """A band that ends more than the tolerance below the wish: nothing lengthens that."""
    wish = float(job().target.bar_width_mm)
    free = narrow(60.0)
    kinds = {r.kind for r in remedies(free, closest(free), EMPTY)}
    assert "extender" in kinds
    tight = narrow(60.0, allows=Allows(bar_width=(600.0, wish - 12.0)))
    assert "bar_width" in {n for n, off in closest(tight).deviations.items() if abs(off) > INSIDE}
    assert all(r.kind != "extender" for r in remedies(tight, closest(tight), EMPTY))


def test_where_a_fitted_part_is_not_listed_no_other_of_its_kind_is_named() -> None:
    """Its figures are what the other one's would be counted from."""
    one = lowered(45.0)
    lost = evolve(one, bike=evolve(one.bike, fitted=Fitted(riser="Gone")))
    assert all(r.kind != "riser" for r in remedies(lost, closest(lost), EMPTY))
    assert any(r.kind == "riser" for r in remedies(one, closest(one), EMPTY))


def test_what_is_not_wished_stays_as_it_is_in_the_bar_that_is_named() -> None:
    """Without a wished width, tilt or sweep the bar has those of the one that is on the bike."""
    one = lowered(45.0)
    kept = evolve(
        one,
        bike=evolve(one.bike, allows=Allows(keep=("riser",))),
        target=evolve(one.target, bar_width_mm=np.nan, grip_tilt_deg=np.nan, grip_sweep_deg=np.nan),
    )
    (bar,) = (r for r in remedies(kept, closest(kept), EMPTY) if r.kind == "bar")
    assert bar.figures["width"][0] == round(float(one.now.bar_width_mm))
    assert bar.figures["upsweep"][0] == round(float(one.now.grip_tilt_deg))
    assert bar.figures["backsweep"][0] == round(float(one.now.grip_sweep_deg))


def trial(remedy: Remedy, where: float, job: Job) -> tuple[str, Any]:
    """List and part that a remedy names, its range taken at a share of it."""
    if remedy.kind == "lever_set":
        side = remedy.mends[0].partition(".")[2]
        return "lever_sets", LeverSet(name="one", reach_range=remedy.figures["reach"], side=side)
    part, several, ranged, _ = KIND[remedy.kind]
    low, high = remedy.figures[ranged]
    figures = {name: R(least) for name, (least, _) in remedy.figures.items()}
    clamp = {"clamp_diameter": job.bike.handlebar.clamp_diameter or R(22.2)}
    more = clamp if remedy.kind == "bar" else {}
    figures[ranged] = R(low + where * (high - low))
    return several, part(name="one", **figures, **more)


def told_holds(job: Job, shop: Catalogue) -> int:
    """Each part that is named, put on the shelf, brings a combination inside; how many were named.

    At both ends and in the middle of its range; what else misses, which another part mends or
    none, is left out of the judgement. Nothing is asked of an arm that cannot reach at all.
    """
    plan = closest(job, shop)
    told = remedies(job, plan, shop) if np.isfinite(plan.worst) else ()
    for remedy in told:
        others = {name.partition(".")[0] for name in misses(plan, tuple(plan.deviations))}
        others -= {name.partition(".")[0] for name in remedy.mends}
        kept = {name: LOOSE if name in others else half for name, half in job.tolerances.items()}
        one = evolve(job, tolerances=kept)
        for where in (0.0, 0.5, 1.0):
            several, part = trial(remedy, where, job)
            shelves: dict[str, Any] = {several: (*getattr(shop, several), part)}
            assert closest(one, evolve(shop, **shelves)).inside
    return len(told)


def test_what_is_told_holds_when_tried_in_the_demo_s_garage() -> None:
    """Every rider and use on every bike, beside all of the demo's parts."""
    assert sum(told_holds(job, catalogue()) for job in demo_jobs().values()) > 10


@given(seed=st.integers(0, 2**32 - 1))
def test_what_is_told_holds_when_tried_beside_other_parts(seed: int) -> None:
    """Random small shelves for the demo's bikes and for invented ones."""
    _, job, shop = a_demo_case(seed)
    tight = {name: 0.7 * half for name, half in job.tolerances.items()}
    told_holds(evolve(job, tolerances=tight), shop)
    rng = np.random.default_rng(seed)
    one = a_job(rng, **KINDS[sorted(KINDS)[seed % len(KINDS)]], spread=40.0)
    told_holds(one, evolve(shelf(rng, clip_on=one.clip_on), file="x"))
