"""Stage 5: the rider's numbers on a bike, and whether calf and hamstring stay apart."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Real, elevation, rearward
from fitprofile.stages import linkage as body
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

CONTACT_FLEXION = 130.0
"""Degrees of knee flexion where calf and hamstring begin to touch: minimum of Zelle's (2009)
contact-force fit, read second-hand."""

CONTACT_PER_GIRTH = 0.06
"""Degrees earlier per mm of (calf + lower-thigh girth) above the survey mean (computed from the
body survey with a cone model; estimate)."""

COMFORT_STOP = 65.0
"""Included knee angle, degrees, below which trousers and boots already press (estimate)."""


@frozen
class Sides:
    """A figure for each hand lever; ``nan`` where there is no lever or no figure."""

    brake: Real
    clutch: Real

    @classmethod
    def of_hands(cls, left: Real, right: Real) -> Sides:
        """A figure of each hand: the right one's is at the brake, the left one's at the clutch."""
        return cls(brake=right, clutch=left)


@frozen
class Feet:
    """A figure with the peg under the ball of the foot and under the middle of the foot."""

    ball: Real
    mid_foot: Real


NO_SIDES = Sides(np.nan, np.nan)


@frozen(kw_only=True)
class Numbers:
    """The rider's numbers on one bike, each (...) float, mm and degrees; ``nan``: no such value.

    ``lean_deg`` is the rider's own; ``reachable`` says whether the hands reach the grips.
    """

    bar_width_mm: Real
    navel_to_bar_mm: Real
    grip_tilt_deg: Real
    grip_sweep_deg: Real
    forearm_angle_deg: Real
    lever_angle_deg: Sides = NO_SIDES
    lever_reach_mm: Sides = NO_SIDES
    knee_angle_deg: Real = np.nan
    lean_deg: Real = np.nan
    elbow_angle_deg: Real = np.nan
    reachable: bool | NDArray[np.bool_] = True


@frozen(kw_only=True)
class Contact:
    """Room between calf and hamstring, degrees of knee flexion left before they touch.

    ``knee_angle_deg`` is the included knee angle at either place of the foot.
    """

    onset_flexion_deg: Real
    knee_angle_deg: Feet
    room_deg: Feet


def numbers_on(
    rider: Linkage,
    lean: Real,
    points: BikePoints,
    lever_angle: Sides = NO_SIDES,
    lever_reach: Sides = NO_SIDES,
) -> Numbers:
    """The rider's numbers on a bike as it stands.

    Parameters
    ----------
    rider : Linkage
        Calibrated body, fields (...).
    lean : (...) float, degrees
        The rider's own lean, kept on a bike not yet changed.
    points : BikePoints
        Left side, mm, components (...).
    lever_angle, lever_reach : Sides
        As read on this bike, degrees and mm.

    Returns
    -------
    Numbers
        Shapes broadcast together. Forearm and elbow angle are ``nan`` and ``reachable`` false
        where the hands cannot reach; the knee angle is ``nan`` where the leg cannot.
    """
    from_shoulder, to_hand = body.shoulder(rider, points.seat, lean), body.hand(points)
    grip = points.grip_end.minus(points.grip_inner)
    return Numbers(
        bar_width_mm=np.multiply(points.grip_end.y, 2.0),
        navel_to_bar_mm=body.navel_to_bar(rider, lean, points),
        grip_tilt_deg=np.degrees(elevation(grip)),
        grip_sweep_deg=np.degrees(rearward(grip)),
        forearm_angle_deg=body.forearm_angle(rider, from_shoulder, to_hand),
        lever_angle_deg=lever_angle,
        lever_reach_mm=lever_reach,
        knee_angle_deg=body.knee_angle(rider, points.seat, points.peg),
        lean_deg=lean,
        elbow_angle_deg=body.elbow_angle(rider, from_shoulder, to_hand),
        reachable=body.out_of_reach(rider, from_shoulder, to_hand) == 0.0,
    )


def calf_contact(ball: Linkage, points: BikePoints, girth_excess: Real) -> Contact:
    """Whether the calf stays clear of the hamstring at the ball of the foot and at mid-foot.

    Parameters
    ----------
    ball : Linkage
        The body with the peg under the ball of the foot.
    girth_excess : (...) float, mm
        Calf plus lower-thigh circumference above the survey's mean.

    Returns
    -------
    Contact
        ``room_deg`` negative: they touch. "Calf clear of hamstring at ball and at mid-foot" is
        common practice, no source.

    References
    ----------
    J. Zelle et al., "Thigh-calf contact: does it affect the loading of the knee in the
    high-flexion range?", Journal of Biomechanics 42 (2009), 587-593; coefficients second-hand.
    """
    onset = CONTACT_FLEXION - CONTACT_PER_GIRTH * np.asarray(girth_excess)
    at_ball = body.knee_angle(ball, points.seat, points.peg)
    at_mid = body.knee_angle(body.at_mid_foot(ball), points.seat, points.peg)
    return Contact(
        onset_flexion_deg=onset,
        knee_angle_deg=Feet(at_ball, at_mid),
        room_deg=Feet(onset - (180.0 - at_ball), onset - (180.0 - at_mid)),
    )
