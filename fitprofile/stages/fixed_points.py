"""Stage 8k: where things that were taped beside the survey stand once the bike is on its wheels.

Obstacles and the far ends of hoses are taped in the frame the bike stood in; the survey has
turned its own points back from a stand, so these are turned alike. Millimetres.
"""

from __future__ import annotations

import numpy as np

from fitprofile.geometry.angles import from_opposite
from fitprofile.geometry.rotations import roll
from fitprofile.geometry.vectors import Vec, norm
from fitprofile.model.bike import Hose, Obstacle
from fitprofile.model.quantity import Reading
from fitprofile.stages.job import Job
from fitprofile.stages.readings import AXLES, STAND_STATE, axles_as_taped, axles_on_wheels
from fitprofile.stages.stand import AXLE_HEIGHT
from fitprofile.stages.survey import BikePoints

NEEDED = ("seat", "peg", "clamp", "grip_end", "grip_inner")


def on_wheels(job: Job, taped: Obstacle | Hose) -> Vec | None:
    """Point that was taped by its height, distance ahead of the rear axle and offset, mm.

    Returns
    -------
    Vec or None
        In the bike's frame, on the wheels; ``offset`` to the left. ``None`` where it was not
        taped, or where no point of the survey is tied to the rear axle.
    """
    height, ahead, offset = taped.height, taped.ahead, taped.offset
    if height is None or ahead is None or offset is None or not from_rear_axle(job):
        return None
    found = Vec(ahead.value, offset.value, height.value)
    if job.bike.state != STAND_STATE:
        return found
    pitch, centre, lift = _stood(job)
    turned = roll(found, -np.radians(pitch), Vec(0.0, 0.0, centre))
    return turned.plus(Vec(0.0, 0.0, lift))


def from_rear_axle(job: Job) -> bool:
    """Whether the bike's points are counted from the rear axle (else from the sit point)."""
    others = job.points.others
    known = {*NEEDED, *others}
    return any(name in others for name in AXLES) or any(name in known for name in job.bike.ahead)


def _stood(job: Job) -> tuple[float, float, float]:
    """Pitch on the stand, degrees; height turned about there, and lift down to the wheels, mm."""
    bike, stand = job.bike, job.bike.stand
    stood = {name: reading.value for _, name, reading in axles_as_taped(bike)}
    wheels = [_value(reading) for reading in axles_on_wheels(bike)]
    distance, slope = _axle_line(job.points)
    pitch = _value(stand.pitch if stand else None, 0.0)
    if len(stood) == len(AXLES) and np.isfinite([*wheels, distance]).all():
        rise = (stood[AXLES[1]] - stood[AXLES[0]]) / distance
        pitch = float(np.degrees(from_opposite(rise, 1.0) - slope))
    centre = stood.get(AXLES[0], AXLE_HEIGHT)
    lift = wheels[0] - centre if AXLES[0] in stood else np.nan
    return pitch, centre, float(np.nan_to_num(lift))


def _axle_line(points: BikePoints) -> tuple[float, float]:
    """Distance between the axles, mm, and the slope from rear to front, rad; ``nan``: not taped."""
    rear, front = (points.others.get(name) for name in AXLES)
    if rear is None or front is None:
        return np.nan, np.nan
    line = front.minus(rear)
    return float(norm(line)), float(np.arctan2(line.z, line.x))


def _value(reading: Reading | None, otherwise: float = np.nan) -> float:
    return otherwise if reading is None else reading.value
