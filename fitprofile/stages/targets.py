"""Stage 6: the numbers to bring about on another bike."""

from __future__ import annotations

import numpy as np

from fitprofile.geometry.vectors import Real
from fitprofile.model.bike import Bike
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import HELP, Cockpit
from fitprofile.model.shop import Shop
from fitprofile.stages.calibrate import Settled
from fitprofile.stages.posture import Numbers, Sides, numbers_on
from fitprofile.stages.repeats import mean_sd
from fitprofile.stages.siton import forearm_read


def target(cockpit: Cockpit, settled: Settled, reference: Bike | None) -> Numbers:
    """What the calibrated body shows in its right-feeling sit-on, with the wish's own hardware.

    Parameters
    ----------
    cockpit : Cockpit
        The wish: bar width, grip tilt and sweep, lever reach.
    settled : Settled
        Navel-to-bar, forearm angle, knee angle and lean, scalars or (n,); width, tilt and sweep
        where several sit-ons make the wish.
    reference : Bike or None
        The bike it was measured on: its tilt, sweep and reach stand in where the wish has none.

    Returns
    -------
    Numbers
        Lever angles equal the forearm angle (in line); where the arms are wished differently, each
        that of its own arm, and the forearm angle is their mean. Tilt is 0 where neither wish nor
        bike says otherwise; sweep and reach are then ``nan``. The elbow angle is ``nan`` where
        even the calibrated arms do not reach.
    """
    tilt: Real = 0.0
    sweep: Real = np.nan
    if settled.points is not None:
        own = numbers_on(settled.linkage, settled.lean_deg, settled.points)
        tilt, sweep = own.grip_tilt_deg, own.grip_sweep_deg
    forearm, elbow = settled.forearm_angle_deg, np.asarray(settled.elbow_angle_deg)
    reachable = (elbow >= FOLDED) & (elbow <= STRAIGHT)
    return Numbers(
        bar_width_mm=_or(settled.bar_width_mm, cockpit.bar_width.value),
        navel_to_bar_mm=settled.navel_to_bar_mm,
        grip_tilt_deg=tilt
        if cockpit.grip_tilt is None
        else _or(settled.grip_tilt_deg, cockpit.grip_tilt.value),
        grip_sweep_deg=sweep
        if cockpit.grip_sweep is None
        else _or(settled.grip_sweep_deg, cockpit.grip_sweep.value),
        forearm_angle_deg=forearm,
        lever_angle_deg=_in_line(cockpit, forearm),
        lever_reach_mm=_reach(cockpit.lever_reach, reference),
        knee_angle_deg=settled.knee_angle_deg,
        lean_deg=settled.lean_deg,
        elbow_angle_deg=np.where(reachable, elbow, np.nan),
        reachable=reachable,
    )


FOLDED, STRAIGHT = 0.0, 180.0
"""Degrees; an elbow angle beyond them is calibration's way to say out of reach."""


def _or(common: Real, own: float) -> Real:
    """What several sit-ons make of a wish, or the cockpit's own."""
    return common if np.isfinite(common).all() else own


def _reach(wish: Reading | None, reference: Bike | None) -> Sides:
    """Lever reach wished, mm, the right hand's at the brake; the good bike's own where none was."""
    if wish is not None:
        return Sides.of_hands(*(wish.sides or (wish.value, wish.value)))
    if reference is None:
        return Sides(np.nan, np.nan)
    return lever_reach(reference)


def _in_line(cockpit: Cockpit, forearm: Real) -> Sides:
    """Slope of a lever in line with its own arm, degrees.

    The body is one and the same on both sides and shows the mean of both arms, so each arm keeps
    its distance from that mean.
    """
    wish = cockpit.forearm_angle if cockpit.lever_angle is None else cockpit.lever_angle
    if wish is None or wish.sides is None:
        return Sides(forearm, forearm)
    return Sides.of_hands(*(np.add(forearm, side - wish.value) for side in wish.sides))


def arms_sd(cockpit: Cockpit, shop: Shop, tape: str) -> float:
    """Standard deviation of half the difference between the arms, degrees; 0 where they are alike.

    Each arm was read by itself, so half their difference is as sure as their mean.
    """
    wish = cockpit.forearm_angle if cockpit.lever_angle is None else cockpit.lever_angle
    if wish is None or wish.sides is None or wish.sides[0] == wish.sides[1]:
        return 0.0
    column = HELP.index(tape)
    return forearm_read(cockpit, {name: pair[column] for name, pair in shop.spreads.items()}).sd


def lever_reach_sd(bike: Bike, shop: Shop) -> Sides:
    """Standard deviation of each lever's reach as taped, mm; 0 where there is no figure."""
    table = shop.spreads["lever_reach"][HELP.index(bike.tape)]
    readings = (
        None if lever is None else lever.reach for lever in (bike.levers.brake, bike.levers.clutch)
    )
    return Sides(
        *(
            0.0
            if reading is None
            else mean_sd(reading, table if reading.sd is None else reading.sd)
            for reading in readings
        )
    )


def lever_reach(bike: Bike) -> Sides:
    """Lever reach as taped, mm; ``nan`` where there is no lever or no figure."""
    readings = (
        None if lever is None else lever.reach for lever in (bike.levers.brake, bike.levers.clutch)
    )
    return Sides(*(np.nan if reading is None else reading.value for reading in readings))
