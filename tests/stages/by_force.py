"""Plans by force: every combination of parts by itself, each set by scipy's optimisers.

The rules of a plan written out anew on `tests.by_hand`; nothing of the search is used. Misfits
are in tolerances.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations, product
from math import atan2, cos, degrees, inf, isfinite, isnan, nan, radians, sin
from typing import Any, NamedTuple

import numpy as np
from attrs import asdict
from scipy.optimize import minimize

from fitprofile.model.parts import Catalogue
from fitprofile.stages.job import Job
from fitprofile.stages.plan import Plan
from tests import by_hand
from tests.by_hand import Points, Triple

SIDES = ("brake", "clutch")
NAMES = ("seat", "peg", "clamp", "grip_end", "grip_inner", "tube")

NO_REACH = 90.0
"""Degrees that count for a forearm that cannot reach, and one more for each mm."""

UNTOUCHED = 0.01
"""Squared tolerances below which the bike's own bar is not touched."""

SLIDE_SEEN = 0.5
"""mm of slide below which no grip is moved."""


class Combo(NamedTuple):
    """One combination of parts; ``None`` is what is on the bike.

    ``slid``: the grips are slid to the wished width although it is inside its tolerance, or by so
    many mm.
    """

    riser: Any = None
    head: Any = None
    extender: Any = None
    seat: Any = None
    plate: Any = None
    levers: tuple[Any, ...] = ()
    slid: bool | float = False

    def parts(self) -> list[Any]:
        """What is bought."""
        return [part for part in (*self[:-2], *self.levers) if part is not None]


class Set(NamedTuple):
    """A combination with its settings chosen: how far it is, and what it costs."""

    far: float
    worst: float
    minutes: float
    setting: float
    lean: float


def body_of(job: Job) -> dict[str, float]:
    return {name: float(value) for name, value in asdict(job.rider).items()}


def band_of(job: Job) -> tuple[float, float]:
    """What roll or slide may do; 8 degrees either way or 30 mm up where the file says nothing."""
    if job.clip_on:
        return job.bike.allows.clip_slide or (0.0, 30.0)
    return job.bike.handlebar.roll or (-8.0, 8.0)


def _figure(part: Any, name: str) -> float:
    value = None if part is None else getattr(part, name)
    return 0.0 if value is None else float(value.value)


def _with_head(job: Job, points: Points, head: Any) -> dict[str, Triple]:
    """Another bar or clip-on in the clamps, standing as drawn."""
    length = by_hand.size(by_hand.less(points["grip_end"], points["grip_inner"]))
    made = dict(points)
    if not job.clip_on:
        t, s = radians(_figure(head, "upsweep")), radians(head.backsweep.value)
        axis = (-cos(t) * sin(s), cos(t) * cos(s), sin(t))
        half = 0.5 * head.width.value
        end = by_hand.add(points["clamp"], (-head.pullback.value, half, head.rise.value))
    else:
        # Upright the tube: everything is then read off the drawing.
        across, tube = (0.0, 1.0, 0.0), points["tube"]
        stood = [by_hand.turned(points[n], across, job.rake, tube) for n in ("grip_end",)]
        inner = by_hand.turned(points["grip_inner"], across, job.rake, tube)
        along = by_hand.along(by_hand.less(stood[0], inner))
        own_length = (stood[0][1] - tube[1]) / along[1]
        droop = -degrees(np.arcsin(along[2])) if head.droop is None else head.droop.value
        sweep = degrees(atan2(-along[0], along[1])) if head.sweep is None else head.sweep.value
        long = own_length if head.length is None else head.length.value
        d, s = radians(droop), radians(sweep)
        flat = (-cos(d) * sin(s), cos(d) * cos(s), -sin(d))
        root = by_hand.add(tube, (-head.offset.value, 0.0, -head.drop.value))
        end = by_hand.turned(by_hand.add(root, flat, long), across, -job.rake, tube)
        axis = by_hand.turned(flat, across, -job.rake)
    made["grip_end"], made["grip_inner"] = end, by_hand.add(end, axis, -length)
    return made


def slide_of(
    job: Job, points: Points, was: Points, head: Any, extender: Any, *, slid: bool | float = False
) -> float:
    """Slide of each grip along its axis to the wished width, as far as the tube goes, mm.

    A width inside its tolerance is left alone, unless ``slid``; a number says by how many mm.
    """
    if not isinstance(slid, bool):
        return slid
    axis = by_hand.along(by_hand.less(points["grip_end"], points["grip_inner"]))
    here, wish = 2.0 * points["grip_end"][1], float(job.target.bar_width_mm)
    allowed, longer = job.bike.allows.bar_width, _figure(extender, "length")
    tube = here if head is not None else max(2.0 * was["grip_end"][1], allowed[1] if allowed else 0)
    widest = tube + 2.0 * longer * axis[1]
    if allowed:
        # What already is wider than allowed may stay as it is.
        widest = min(widest, max(allowed[1], here if head is None else 0.0))
    near = abs(here - wish) <= job.tolerances["bar_width"] + 1e-8
    if not slid and near and longer == 0.0 and (head is None or here <= widest):
        return 0.0
    return (
        0.5 * min(max(wish, allowed[0] if allowed else 0.0), widest) - points["grip_end"][1]
    ) / (axis[1])


def combo_of(job: Job, plan: Plan) -> Combo:
    """What a plan fits, by its own fields."""
    choice = plan.choice
    head, force = choice.bar or choice.clip_on, Force(job, Catalogue())
    done, full = (
        slide_of(job, force.placed_head(head), force.was, head, choice.extender, slid=slid)
        for slid in (False, True)
    )
    slid: bool | float = False
    if abs(plan.grip_slide_mm - done) > 1e-6:
        slid = True if abs(plan.grip_slide_mm - full) <= 1e-6 else plan.grip_slide_mm
    return Combo(
        choice.riser,
        head,
        choice.extender,
        choice.seat,
        choice.peg_plate,
        choice.lever_sets,
        slid=slid,
    )


class Force:
    """One job and catalogue, every combination set by itself."""

    def __init__(self, job: Job, catalogue: Catalogue) -> None:
        self.job, self.catalogue = job, catalogue
        self.body, self.lean = body_of(job), float(job.target.lean_deg)
        self.was = by_hand.as_plain(job.points, NAMES)

    def placed_head(self, head: Any) -> dict[str, Triple]:
        """The bike with another bar or clip-on, as drawn."""
        return dict(self.was) if head is None else _with_head(self.job, self.was, head)

    def placed(self, combo: Combo, setting: float) -> dict[str, Triple]:
        """The bike with a combination on it."""
        job, points = self.job, self.placed_head(combo.head)
        slide = slide_of(job, points, self.was, combo.head, combo.extender, slid=combo.slid)
        changes = {
            "grip_slide_mm": slide,
            "riser_height_mm": _figure(combo.riser, "height"),
            "riser_pullback_mm": _figure(combo.riser, "pullback"),
            "clip_slide_mm" if job.clip_on else "bar_roll_deg": setting,
            "peg_x_mm": _figure(combo.plate, "x"),
            "peg_z_mm": _figure(combo.plate, "z"),
        }
        points = by_hand.changed(points, changes, job.rake)
        step = (_figure(combo.seat, "x"), 0.0, _figure(combo.seat, "z"))
        points["seat"] = by_hand.add(points["seat"], step)
        return points

    def bar_misfits(
        self, combo: Combo, setting: float, lean: float, held: Sequence[str], freed: Sequence[str]
    ) -> dict[str, float]:
        """Misfits of bar and levers; a lever in ``held`` is left as the bar carries it."""
        job, points = self.job, self.placed(combo, setting)
        shown, wish, allowed = by_hand.numbers(self.body, lean, points), job.target, job.tolerances
        forearm = shown["forearm_angle_deg"]
        off = forearm - float(wish.forearm_angle_deg)
        if isnan(forearm):
            joint, grip = by_hand.arm(self.body, lean, points)
            reach = by_hand.size(by_hand.less(grip, joint))
            upper, fore = self.body["upper_arm_mm"], self.body["forearm_grip_mm"]
            off = NO_REACH + max(reach - upper - fore, abs(upper - fore) - reach)
            forearm = float(wish.forearm_angle_deg) + off
        found = {
            "bar_width": (shown["bar_width_mm"] - float(wish.bar_width_mm)) / allowed["bar_width"],
            "navel_to_bar": (shown["navel_to_bar_mm"] - float(wish.navel_to_bar_mm))
            / allowed["navel_to_bar"],
            "forearm_angle": off / allowed["forearm_angle"],
        }
        for name in ("grip_sweep",) if job.clip_on else ("grip_tilt", "grip_sweep"):
            wished = float(getattr(wish, f"{name}_deg"))
            if isfinite(wished):
                found[name] = (shown[f"{name}_deg"] - wished) / allowed[name]
        for side in SIDES:
            reading = float(getattr(job.now.lever_angle_deg, side))
            lever = getattr(job.bike.levers, side)
            if isnan(reading) or lever is None or combo.head is not None:
                continue
            carried = reading if job.clip_on else reading - setting
            turns = lever.perch == "free" or side in freed
            own = float(getattr(wish.lever_angle_deg, side)) - float(wish.forearm_angle_deg)
            aim = forearm + own  # that arm's, which keeps its distance from the mean of both
            if turns and side not in held:
                carried = self._turned(points, carried, aim, lever.rotation)
            found[f"lever_angle.{side}"] = (carried - aim) / allowed["lever_angle"]
        return found

    def _turned(
        self, points: Points, carried: float, aim: float, band: tuple[float, float] | None
    ) -> float:
        """Slope of a lever turned as near to the aim as its perch goes."""
        axis = by_hand.along(by_hand.less(points["grip_end"], points["grip_inner"]))
        start, end = by_hand.blade(axis, carried), by_hand.blade(axis, aim)
        # A left grip points to the left: lifting is a left-handed turn about it.
        wanted = -degrees(
            atan2(by_hand.dot(axis, by_hand.cross(start, end)), by_hand.dot(start, end))
        )
        if band is None or band[0] <= wanted <= band[1]:
            return aim
        made = by_hand.turned(start, axis, -min(max(wanted, band[0]), band[1]))
        return degrees(atan2(-made[2], made[0]))

    def knee(self, combo: Combo) -> float:
        job = self.job
        angle = by_hand.knee_angle(self.body, self.placed(combo, 0.0))
        if isnan(angle):
            return 1e3
        off, allowed = angle - float(job.target.knee_angle_deg), job.tolerances["knee_angle"]
        band = job.limits.knee_angle
        if off > 0.0 and band is not None:
            allowed = max(allowed, band[1] - float(job.target.knee_angle_deg))
        return off / allowed

    def reaches(self, levers: Sequence[Any]) -> tuple[float, float, float]:
        """Score, largest misfit and minutes of the levers' reach."""
        job, far, worst, minutes = self.job, 0.0, 0.0, 0.0
        allowed = job.tolerances["lever_reach"]
        for side in SIDES:
            here = float(getattr(job.now.lever_reach_mm, side))
            wish = float(getattr(job.target.lever_reach_mm, side))
            lever = getattr(job.bike.levers, side)
            if lever is None or isnan(here) or isnan(wish):
                continue
            new = [one for one in levers if one.side in ("both", side)]
            will = here
            if new or abs(here - wish) > allowed:
                band = new[0].reach_range if new else lever.reach_range
                will = wish if band is None else min(max(wish, band[0]), band[1])
            if will != here and not new:
                minutes += self.catalogue.labour.reach.value
            far += score({"": (will - wish) / allowed})
            worst = max(worst, abs(will - wish) / allowed)
        return far, worst, minutes

    def settings(self, combo: Combo, freed: Sequence[str]) -> tuple[Set, list[Set]]:
        """A bar set as near as it goes, and set to be inside with each group of levers untouched.

        The latter are every way to get inside, ``worst`` telling how far inside (or not) it gets.
        """
        job, labour = self.job, self.catalogue.labour
        new = combo.head is not None
        own = (labour.clip_slide if job.clip_on else labour.roll).value
        turnable = [
            side
            for side in SIDES
            if not new
            and getattr(job.bike.levers, side) is not None
            and isfinite(float(getattr(job.now.lever_angle_deg, side)))
            and (side in freed or getattr(job.bike.levers, side).perch == "free")
        ]
        near = self._nearest(combo, freed)
        ways = []
        band = job.limits.lean
        for lean in (None, band) if band is not None else (None,):
            for count in range(len(turnable) + 1):
                for held in combinations(turnable, count):
                    minutes = labour.perch.value * (len(turnable) - count)
                    if not new:
                        ways.append(self._inside(combo, held, freed, (0.0, 0.0), lean, minutes))
                    ways.append(
                        self._inside(
                            combo, held, freed, band_of(job), lean, minutes + (0.0 if new else own)
                        )
                    )
        return near, ways

    def _nearest(self, combo: Combo, freed: Sequence[str]) -> Set:
        """Smallest sum of squares over the setting, rider in the own lean."""

        def far(x: float) -> float:
            return score(self.bar_misfits(combo, x, self.lean, (), freed))

        low, high = band_of(self.job)
        grid = np.linspace(low, high, 41)
        start = grid[int(np.argmin([far(x) for x in grid]))]
        x = _polish(lambda q: far(q[0]), [start], [(low, high)])[0]
        if combo.head is None and far(0.0) - far(x) < UNTOUCHED:
            x = 0.0
        worst = _largest(_settable(self.bar_misfits(combo, x, self.lean, (), freed)))
        return Set(far(x), worst, nan, x, self.lean)

    def _inside(
        self,
        combo: Combo,
        held: Sequence[str],
        freed: Sequence[str],
        band: tuple[float, float],
        lean: tuple[float, float] | None,
        minutes: float,
    ) -> Set:
        """The setting (and lean) with the smallest largest misfit."""
        box = [band, (self.lean, self.lean) if lean is None else lean]

        def misfits(q: Sequence[float]) -> dict[str, float]:
            return _settable(self.bar_misfits(combo, q[0], q[1], held, freed))

        counts = [1 if ends[0] == ends[1] else n for ends, n in zip(box, (13, 9), strict=True)]
        places = list(product(*(np.linspace(*e, n) for e, n in zip(box, counts, strict=True))))
        worst = [_largest(misfits(q)) for q in places]
        best = min(range(len(places)), key=lambda i: worst[i])
        place, least = list(places[best]), worst[best]
        if least > 4.0 or (free := [i for i, n in enumerate(counts) if n > 1]) == []:
            return Set(inf, least, minutes, *place)

        def full(q: Sequence[float]) -> list[float]:
            made = list(place)
            for i, x in zip(free, q, strict=False):
                made[i] = float(x)
            return made

        start = [place[i] for i in free]
        found = minimize(
            lambda q: q[-1],
            [*start, least],
            method="SLSQP",
            bounds=[*(box[i] for i in free), (0.0, None)],
            constraints={
                "type": "ineq",
                "fun": lambda q: q[-1] - np.abs(list(misfits(full(q[:-1])).values())),
            },
            options={"maxiter": 60, "ftol": 1e-9},
        )
        there = full(np.clip(found.x[:-1], *np.array([box[i] for i in free]).T))
        if _largest(misfits(there)) < least:
            place, least = there, _largest(misfits(there))
        return Set(inf, least, minutes, *place)


def _settable(misfits: Mapping[str, float]) -> dict[str, float]:
    """All but the bar width, which no setting changes."""
    return {name: value for name, value in misfits.items() if name != "bar_width"}


def _largest(misfits: Mapping[str, float]) -> float:
    return max(abs(value) for value in misfits.values())


def _polish(
    cost: Callable[[Sequence[float]], float],
    start: Sequence[float],
    box: Sequence[tuple[float, float]],
) -> list[float]:
    found = minimize(cost, start, bounds=box, method="Nelder-Mead", options={"xatol": 1e-6})
    return [float(x) for x in (found.x if found.fun < cost(start) else start)]


def score(misfits: Mapping[str, float]) -> float:
    """Squares, and ten times the square of what lies beyond a tolerance."""
    return float(sum(v * v + 10.0 * max(abs(v) - 1.0, 0.0) ** 2 for v in misfits.values()))


def as_left(
    force: Force,
    combo: Combo,
    place: tuple[float, float],
    freed: Sequence[str],
    trued: Sequence[str] = (),
) -> dict[str, float]:
    """Misfits of a bar, its width apart, with levers inside their tolerance left alone.

    But those in ``trued``, as far as they have no pin.
    """
    carried = force.bar_misfits(combo, *place, SIDES, freed)
    held = [
        side
        for side in SIDES
        if abs(carried.get(f"lever_angle.{side}", 0.0)) <= 1.0
        and (side not in trued or is_pinned(force.job, side))
    ]
    return _settable(force.bar_misfits(combo, *place, held, freed))


class Best(NamedTuple):
    """The least price with its least minutes, and the least minutes with their least price."""

    cheapest: tuple[float, float]
    quickest: tuple[float, float]


NONE = Best((inf, inf), (inf, inf))


class Row(NamedTuple):
    """One combination: its cost, and what its bar, pegs and reaches come to."""

    combo: Combo
    freed: tuple[str, ...]
    price: float
    minutes: float
    near: Set
    ways: list[Set]
    width: float
    knee: float
    reach: tuple[float, float]
    untouched: list[Set] | None = None
    """Ways of the same bar with its width left alone, where this one is slid all the same."""

    def is_idle(self, edge: float) -> bool:
        """Whether the grips need not be slid at all."""
        return any(way.worst <= edge for way in self.untouched or ())

    def outside(self, edge: float) -> bool:
        """Whether width, knee or reach is, whatever the bar's setting."""
        return max(abs(self.width), abs(self.knee), self.reach[1]) > edge


def rows_of(force: Force) -> list[Row]:
    """Every combination with its bar set every way."""
    job, shop = force.job, force.catalogue
    heads = shop.clip_ons if job.clip_on else shop.bars
    pinned = [side for side in SIDES if is_pinned(job, side)]
    groups = [one for size in range(len(pinned) + 1) for one in combinations(pinned, size)]
    found = []
    for riser, head, extender, seat in product(
        (None, *shop.risers), (None, *heads), (None, *shop.extenders), (None, *shop.seats)
    ):
        bar = Combo(riser, head, extender, seat)
        if extender is not None and not nearer(force, bar):
            continue
        placed = force.placed_head(head)
        done, full = (
            slide_of(job, placed, force.was, head, extender, slid=slid) for slid in (False, True)
        )
        found += list(_both_ways(force, bar, groups if head is None else [()], done, full))
    return found


def _both_ways(
    force: Force, bar: Combo, groups: Sequence[tuple[str, ...]], done: float, full: float
) -> Iterator[Row]:
    """One bar with its width as it is done, and where that leaves it alone, slid all the same."""
    shop, untouched = force.catalogue, dict[tuple[str, ...], list[Set]]()
    for slid in (False, True) if abs(full - done) > SLIDE_SEEN else (False,):
        bar = bar._replace(slid=slid)
        moved = abs(full if slid else done) > SLIDE_SEEN
        own = bar.head is None and bar.extender is None
        labour = shop.labour.slide.value if moved and own else 0.0
        for freed in groups:
            near, ways = force.settings(bar, freed)
            width = force.bar_misfits(bar, 0.0, force.lean, (), freed)["bar_width"]
            for plate, levers in product((None, *shop.peg_plates), lever_choices(shop)):
                combo = bar._replace(plate=plate, levers=levers)
                far, worst, minutes = force.reaches(levers)
                yield Row(
                    combo,
                    freed,
                    sum(_figure(part, "price") for part in combo.parts()),
                    sum(_figure(part, "minutes") for part in combo.parts()) + labour + minutes,
                    near,
                    ways,
                    width,
                    force.knee(combo),
                    (far, worst),
                    untouched.get(freed),
                )
            untouched.setdefault(freed, ways)


def lever_choices(shop: Catalogue) -> list[tuple[Any, ...]]:
    """Every group of lever sets in which no side is there twice."""
    found: list[tuple[Any, ...]] = []
    for count in range(len(shop.lever_sets) + 1):
        for group in combinations(shop.lever_sets, count):
            sides = [s for one in group for s in (SIDES if one.side == "both" else (one.side,))]
            if len(sides) == len(set(sides)):
                found.append(group)
    return found


def nearer(force: Force, bar: Combo) -> bool:
    """Whether an extender makes the bar wider and nearer to the wish than it is without."""
    wish = float(force.job.target.bar_width_mm)
    wide, bare = (
        2.0 * force.placed(one, 0.0)["grip_end"][1] for one in (bar, bar._replace(extender=None))
    )
    return wide > bare and abs(wide - wish) < abs(bare - wish) - 1e-9


def best(force: Force, rows: Sequence[Row], edge: float) -> Best:
    """Cheapest and quickest where a misfit up to ``edge`` is inside."""
    cheap, quick = [], []
    for row in rows:
        ways = list(_used(force, row.ways, edge))
        if row.outside(edge) or not ways or row.is_idle(edge):
            continue
        minutes = row.minutes + min(way.minutes for way in ways)
        cheap.append((row.price, minutes))
        quick.append((minutes, row.price))
    return Best(min(cheap), min(quick)) if cheap else NONE


def _used(force: Force, ways: Sequence[Set], edge: float) -> Iterator[Set]:
    """Ways that get inside; the rider leans only where the own lean does not."""
    inside = [way for way in ways if way.worst <= edge]
    own = [way for way in inside if way.lean == force.lean]
    yield from own or inside


def is_pinned(job: Job, side: str) -> bool:
    lever = getattr(job.bike.levers, side)
    return lever is not None and bool(lever.perch == "pinned")
