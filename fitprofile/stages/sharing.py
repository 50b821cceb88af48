"""Stage 9e: one bike, two riders: what to set when the other takes over, and where to mark it.

Only what can be set and set back takes part. Each setting stands at its rider's own best; no bar
is cut and no pin freed for a swap, so where a width would ask for that it stays as found.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from attrs import evolve

from fitprofile.model.bike import Bike
from fitprofile.model.parts import PARTS, Catalogue, Labour
from fitprofile.stages.check import Check
from fitprofile.stages.clearance import workshop_checks
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.limits import BAR_RADIUS, beyond_usual
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import FREE, Plan
from fitprofile.stages.plans import plans_for
from fitprofile.stages.posture import Numbers
from fitprofile.stages.readings import CLAMP_DIAMETER
from fitprofile.values import frozen

DEG, MM = "deg", "mm"

FOR_GOOD = ("cut.bar", "free_pin.housing")
"""What a width may ask for and no swap can take back."""


@frozen(kw_only=True)
class Setting:
    """One adjustment that both riders set, mm or degrees.

    Parameters
    ----------
    what : str
        ``"bar_roll"``, ``"clip_slide"``, ``"bar_width"``, ``"lever_rotation.brake"``,
        ``"lever_reach.brake"`` and the clutch's.
    unit : str
        Of ``first`` and ``second``.
    first, second : float
        From as found, for the first and for the second rider.
    seen : str
        Number that shows it: ``"grip_tilt"``, ``"grip_end"`` (height, mm), ``"bar_width"``,
        ``"lever_angle.brake"``, ``"lever_reach.brake"``.
    seen_first, seen_second : float
        That number, set for each.
    diameter_mm : float
        Of what a mark goes round; ``nan`` where marks lie along a tube or there are none.
    taped : bool
        Whether that diameter was measured.
    usual : float
        How far such a setting usually goes either way, where one of the two goes further and the
        bike's file gives no band; else ``nan``.
    """

    what: str
    unit: str
    first: float
    second: float
    seen: str
    seen_first: float
    seen_second: float
    diameter_mm: float = float("nan")
    taped: bool = True
    usual: float = float("nan")

    @property
    def change(self) -> float:
        """From the first rider's setting to the second's."""
        return self.second - self.first

    @property
    def apart_mm(self) -> float:
        """From the first rider's mark to the second's: round the bar, or along what slides.

        Signed as the change; ``nan`` for a reach, which its adjuster marks.
        """
        if self.unit == DEG:
            return float(0.5 * self.diameter_mm * np.radians(self.change))
        return float("nan") if self.what.startswith("lever_reach") else self.change


@frozen
class Stay:
    """A part that one or both riders' plans fit, and which no swap changes."""

    name: str
    kind: str
    first: bool
    second: bool


@frozen(kw_only=True)
class Shared:
    """One bike as two riders set it.

    Parameters
    ----------
    first, second : Transfer
        With their plans, as far as they have some.
    first_plan, second_plan : Plan
        Free adjustments alone.
    first_checks, second_checks : tuple of Check
        Workshop checks of those.
    settings : tuple of Setting
        In the order of work.
    stays : tuple of Stay
    width_kept : bool
        Whether the bar width stays as found because a swap could not take its change back.
    """

    first: Transfer
    second: Transfer
    first_plan: Plan
    second_plan: Plan
    first_checks: tuple[Check, ...]
    second_checks: tuple[Check, ...]
    settings: tuple[Setting, ...]
    stays: tuple[Stay, ...]
    width_kept: bool


def share(first: Transfer, second: Transfer, labour: Labour) -> Shared:
    """What two riders set differently on one bike.

    Parameters
    ----------
    first, second : Transfer
        Of two riders to the same bike.
    labour : Labour
        Decides between adjustments that are equally good.

    Raises
    ------
    ValueError
        Where the bikes differ.
    """
    if first.bike.key != second.bike.key:
        raise ValueError("a swap is between two riders of one bike")
    jobs = first.job, second.job
    plans = tuple(_free(job, labour) for job in jobs)
    kept = any(name in plan.cannot_undo for plan in plans for name in FOR_GOOD)
    if kept:
        jobs = _width_kept(jobs[0]), _width_kept(jobs[1])
        plans = tuple(_free(job, labour) for job in jobs)
    return Shared(
        first=first,
        second=second,
        first_plan=plans[0],
        second_plan=plans[1],
        first_checks=workshop_checks(jobs[0], first.body, plans[0], None),
        second_checks=workshop_checks(jobs[1], second.body, plans[1], None),
        settings=tuple(
            _with_usual(first.bike, one) for one in _settings(jobs[0], plans[0], plans[1])
        ),
        stays=tuple(_stays(first, second)),
        width_kept=kept,
    )


def _free(job: Job, labour: Labour) -> Plan:
    """The plan of free adjustments."""
    plans = plans_for(((job, 1.0),), Catalogue(labour=labour))
    return next(plan for plan in plans if plan.name == FREE)


def _width_kept(job: Job) -> Job:
    """The same job on a bike whose bar width stays as found."""
    width = 2.0 * float(job.points.grip_end.y)
    allows = evolve(job.bike.allows, bar_width=(width, width))
    return evolve(job, bike=evolve(job.bike, allows=allows))


def _settings(job: Job, first: Plan, second: Plan) -> Iterator[Setting]:
    bar, points = job.bike.handlebar, (first.points, second.points)
    if job.clip_on:
        heights = [float(at.grip_end.z) for at in points]
        slides = first.clip_slide_mm, second.clip_slide_mm
        yield _setting("clip_slide", MM, slides, "grip_end", heights)
    else:
        round_bar = CLAMP_DIAMETER if bar.clamp_diameter is None else bar.clamp_diameter.value
        tilts = [float(plan.after.grip_tilt_deg) for plan in (first, second)]
        made = _setting("bar_roll", DEG, (first.roll_deg, second.roll_deg), "grip_tilt", tilts)
        yield evolve(made, diameter_mm=round_bar, taped=bar.clamp_diameter is not None)
    widths = [float(plan.after.bar_width_mm) for plan in (first, second)]
    slides = first.grip_slide_mm, second.grip_slide_mm
    yield _setting("bar_width", MM, slides, "bar_width", widths)
    control = 2.0 * BAR_RADIUS if bar.bar_diameter is None else bar.bar_diameter.value
    for side in SIDES:
        turns = [float(getattr(plan.lever_rotation_deg, side)) for plan in (first, second)]
        if np.isfinite(turns).all():
            name = f"lever_angle.{side}"
            shown = [_side(plan.after, "lever_angle_deg", side) for plan in (first, second)]
            made = _setting(f"lever_rotation.{side}", DEG, turns, name, shown)
            yield evolve(made, diameter_mm=control, taped=bar.bar_diameter is not None)
    for side in SIDES:
        changes = [float(getattr(plan.lever_reach_change_mm, side)) for plan in (first, second)]
        if np.isfinite(changes).all():
            name = f"lever_reach.{side}"
            shown = [_side(plan.after, "lever_reach_mm", side) for plan in (first, second)]
            yield _setting(name, MM, changes, name, shown)


def _with_usual(bike: Bike, setting: Setting) -> Setting:
    """A setting with how far it usually goes, where that is less than what is asked for."""
    most = max(setting.first, setting.second, key=abs)
    usual = beyond_usual(bike, setting.what, most)
    return setting if usual is None else evolve(setting, usual=usual)


def _setting(
    what: str,
    unit: str,
    values: tuple[float, float] | list[float],
    seen: str,
    shown: list[float],
) -> Setting:
    return Setting(
        what=what,
        unit=unit,
        first=float(values[0]),
        second=float(values[1]),
        seen=seen,
        seen_first=shown[0],
        seen_second=shown[1],
    )


def _side(numbers: Numbers, name: str, side: str) -> float:
    return float(getattr(getattr(numbers, name), side))


def _stays(first: Transfer, second: Transfer) -> Iterator[Stay]:
    """Parts of both riders' chosen plans, in the order of work, each once."""
    wanted = [
        {} if one.offers is None else {p.name: p for p in one.offers.chosen.plan.choice.parts()}
        for one in (first, second)
    ]
    kinds = {made: kind for kind, made in PARTS.items()}
    for name, part in {**wanted[0], **wanted[1]}.items():
        yield Stay(name, kinds[type(part)], name in wanted[0], name in wanted[1])
