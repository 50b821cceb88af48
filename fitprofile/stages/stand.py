"""From the frame a bike stood in while it was taped to wheels that stand level on the ground."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import nan

import numpy as np

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.geometry.rotations import roll
from fitprofile.geometry.vectors import Floats, Vec
from fitprofile.model.bike import Bike
from fitprofile.model.quantity import Reading
from fitprofile.model.shop import Shop
from fitprofile.stages.readings import AXLES, STAND_STATE, axles_on_wheels, spread
from fitprofile.values import frozen

AXLE_HEIGHT = 300.0
"""mm; turning point of a bike whose axle heights are not known. Where it is off by d mm, every
point moves by d sin(pitch), all alike. Common practice, no source."""

_STEP = 0.01  # mm or degrees; central differences


@frozen(eq=False)
class Turn:
    """What is known about a stand.

    Parameters
    ----------
    rear, front : int or None
        Rows of the axles among the points; ``front`` ``None``: the pitch was given or is 0.
    pivot : int or None
        Row of the point turned about, below which x is 0; ``None``: `AXLE_HEIGHT`.
    shift : bool
        Whether the rear axle goes to its height on the wheels.
    figures, spreads : (3,) float
        Pitch, degrees, and the heights of rear and front axle on the wheels, mm; ``nan`` where
        not known.
    """

    rear: int | None
    front: int | None
    pivot: int | None
    shift: bool
    figures: Floats
    spreads: Floats


@frozen(eq=False)
class Levelled:
    """Points (n, 3), mm, and covariance (3 n, 3 n), mm^2, on the wheels; pitch and sd, degrees."""

    points: Floats
    covariance: Floats
    pitch: float
    pitch_sd: float


def find_turn(
    bike: Bike, shop: Shop, names: Sequence[str], origin: str
) -> tuple[Turn | None, tuple[Problem, ...]]:
    """How a bike has to be turned back, from what was taped of its stand.

    Parameters
    ----------
    bike : Bike
    shop : Shop
    names : sequence of str
        Points that are fixed, in the order of their rows.
    origin : str
        Point below which x is 0.

    Returns
    -------
    turn : Turn or None
        ``None`` where the bike stood on its wheels.
    problems : tuple of Problem
        What had to be assumed.
    """
    if bike.state != STAND_STATE:
        return None, ()
    place = {name: i for i, name in enumerate(names)}
    rear, front = (place.get(name) for name in AXLES)
    on_wheels = axles_on_wheels(bike)
    heights = all(on_wheels)
    by_axles = heights and rear is not None and front is not None
    given = bike.stand.pitch if bike.stand else None
    taped = ((given, "grip_tilt"), *((r, "axle_height") for r in on_wheels))
    figures = np.array([r.value if r else nan for r, _ in taped])
    spreads = np.array([spread(r, table, bike, shop) if r else 0.0 for r, table in taped])
    figures[0] = np.nan_to_num(figures[0])
    turn = Turn(
        rear=rear,
        front=front if by_axles else None,
        pivot=place.get(origin),
        shift=origin == AXLES[0] and rear is not None and on_wheels[0] is not None,
        figures=figures,
        spreads=spreads,
    )
    return turn, tuple(_doubts(bike, by_axles=by_axles, heights=heights, given=given))


def _doubts(
    bike: Bike, *, by_axles: bool, heights: bool, given: Reading | None
) -> Iterator[Problem]:
    pitch = f"{given.value:g} degrees, as given," if given else "0"
    if by_axles:
        lifted = [name for name in AXLES if getattr(bike.stand, name, None)]
        kept = [name for name in AXLES if name not in lifted]
        if len(lifted) == 1 and not getattr(bike.wheels, kept[0], None):
            text = (
                f"only one axle was taped on the stand: the other wheel is taken to have stayed "
                f"on the ground, with its axle at the height of heights.{kept[0]}"
            )
            yield Problem(text, f"stand.{lifted[0]}", bike.file, level=NOTE)
    elif heights:
        text = (
            f"the axle heights do not give the pitch on the stand, since the distance between the "
            f"axles is missing; it is taken as {pitch} for now: tape how far the front axle lies "
            f"ahead of the rear one along the floor, ahead.front_axle"
        )
        yield Problem(text, "ahead.front_axle", bike.file, level=WARNING)
    elif given is None:
        text = (
            "the bike stood on a stand whose pitch is not known and is taken as 0: tape the axle "
            "heights on the stand, in [stand], and on the wheels, in [wheels], and ahead.front_axle"
        )
        yield Problem(text, "stand", bike.file, level=NOTE)


def level(turn: Turn, points: Floats, covariance: Floats) -> Levelled:
    """Points as they lie with both wheels on the ground.

    Parameters
    ----------
    turn : Turn
    points : (n, 3) float, mm
        x, y, z on the stand.
    covariance : (3 n, 3 n) float, mm^2

    Returns
    -------
    Levelled
        Carries the spread of the axle heights on both sides of the turn, or of the given pitch.
    """
    inputs = np.concatenate([points.ravel(), turn.figures])
    steps = _STEP * np.eye(len(inputs))
    stacked = _turned(turn, np.vstack([inputs, inputs + steps, inputs - steps]))
    count = len(inputs)
    slopes = ((stacked[1 : count + 1] - stacked[count + 1 :]) / (2.0 * _STEP)).T
    whole = np.zeros((count, count))
    whole[: covariance.shape[0], : covariance.shape[0]] = covariance
    whole[range(count - 3, count), range(count - 3, count)] = turn.spreads**2
    spread_after = slopes @ whole @ slopes.T
    return Levelled(
        points=stacked[0, :-1].reshape(-1, 3),
        covariance=spread_after[:-1, :-1],
        pitch=float(stacked[0, -1]),
        pitch_sd=float(np.sqrt(spread_after[-1, -1])),
    )


def _turned(turn: Turn, inputs: Floats) -> Floats:
    """Coordinates and pitch in degrees (b, 3 n + 1) from coordinates and figures (b, 3 n + 3)."""
    given, rear_height, front_height = inputs[:, -3:].T
    x, y, z = np.moveaxis(inputs[:, :-3].reshape(len(inputs), -1, 3), -1, 0)
    pitch = np.radians(given)
    if turn.front is not None:
        dx, dz = x[:, turn.front] - x[:, turn.rear], z[:, turn.front] - z[:, turn.rear]
        rise = front_height - rear_height
        run = np.sqrt(np.maximum(dx * dx + dz * dz - rise * rise, 0.0))
        pitch = np.arctan2(dz, dx) - np.arctan2(rise, run)
    centre = z[:, turn.pivot] if turn.pivot is not None else np.full(len(inputs), AXLE_HEIGHT)
    back = roll(Vec(x, y, z), -pitch[:, None], Vec(0.0, 0.0, centre[:, None]))
    lift = rear_height - centre if turn.shift else np.zeros(len(inputs))
    flat = np.stack([back.x, back.y, back.z + lift[:, None]], axis=-1)
    return np.column_stack([flat.reshape(len(inputs), -1), np.degrees(pitch)])
