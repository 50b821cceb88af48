"""Stage 8m: how near fists, bar ends and thumbs come to what does not turn, lock to lock.

The bar's points turn about the raked steering axis; tank, screen, fairing and named obstacles
stay. The bike is taken as symmetric, so the left hand, swung to both locks and held against
each thing and its mirror image, stands for both hands. Millimetres, angles in degrees.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from fitprofile.geometry.swings import swing
from fitprofile.geometry.vectors import Floats, Vec, dot, unit
from fitprofile.stages import moves
from fitprofile.stages.check import Check, held, to_look_at
from fitprofile.stages.complete import Completed
from fitprofile.stages.fixed_points import on_wheels
from fitprofile.stages.job import Job
from fitprofile.stages.linkage import hand
from fitprofile.stages.plan import Plan
from fitprofile.stages.steering import USUAL_LOCK, Axis, axis_doubt, lock_of, steering_axis
from fitprofile.stages.survey import BikePoints

CLEARANCE = 20.0
"""mm to every fixed part at full lock (German inspection practice, read second-hand)."""

WIDEST_LOCK = 50.0
"""Degrees that hardly any bike's lock exceeds (estimate)."""

GLOVE = 8.0
"""mm by which knuckles and glove stand proud of half the hand's breadth (estimate)."""

BAR_END = 20.0
"""mm; radius about the grip's end that holds its weight or cap (estimate)."""

THUMB_BEHIND = 30.0
"""mm; middle of the thumb behind the grip's inner end, toward the rider (estimate)."""

THUMB = 14.0
"""mm; half the thumb's thickness, glove included (estimate)."""

MIDDLE = ("tank", "screen", "fairing")
"""Surveyed points of things that stay; they are in the mid-plane, so they say nothing of sides."""

THUMBS_NEVER_MEET = ("screen", "fairing")

NONE_TAPED = (
    "no tank, screen, fairing or other obstacle was taped: turn the bar to both locks with gloved "
    "hands on it and look, or tape what comes near as [[obstacle]]"
)
NO_AXLE = (
    "it was taped from the rear axle, but no point of the bike was: tape how far the grip ends lie "
    "ahead of the rear axle, or turn the bar to both locks and look"
)


class Thing(NamedTuple):
    """Something that stays when the bar turns, at ``at``, mm; ``whole``: its sides are known."""

    name: str
    at: Vec
    whole: bool = True


class Part(NamedTuple):
    """What swings with the bar: a ball about ``at`` of ``radius`` mm."""

    key: str
    words: str
    at: Vec
    radius: float


def swinging(points: BikePoints, hand_breadth: float) -> tuple[Part, ...]:
    """Left fist, bar end and thumb with the steering straight; ``hand_breadth`` in mm."""
    grip = moves.grip_axis(points)
    to_rider = Vec(-1.0, 0.0, 0.0)
    behind = unit(to_rider.minus(grip.times(dot(to_rider, grip))))
    thumb = points.grip_inner.plus(behind.times(THUMB_BEHIND))
    return (
        Part("lock.fist", "either fist", hand(points), 0.5 * hand_breadth + GLOVE),
        Part("lock.bar_end", "either bar end", points.grip_end, BAR_END),
        Part("thumb", "either thumb", thumb, THUMB),
    )


def lock_checks(
    job: Job, body: Completed, plan: Plan, fitted_pullback: float = 0.0
) -> tuple[Check, ...]:
    """Room to everything that stays, at the nearest place of the whole swing.

    Returns
    -------
    tuple of Check
        For each thing that was taped: fists and bar ends, and thumbs except for screen and
        fairing. ``value`` is surface to point, negative where they meet. Not judged without a
        taped lock, unless the room holds at `WIDEST_LOCK` too; nor where the room is enough but
        only the middle of tank, screen or fairing was taped, since their sides stand nearer.
    """
    things, lost = things_that_stay(job)
    words = "room to {} at full lock"
    unplaced = tuple(to_look_at(f"lock.{one}", words.format(one), NO_AXLE) for one in lost)
    if not things:
        nothing = to_look_at("lock", "room for the hands at full lock", NONE_TAPED)
        return unplaced or (nothing,)
    axis = steering_axis(job, fitted_pullback)
    breadth = body.measurements["hand_breadth"].value
    room = _Room(axis, things, lock_of(job))
    return (
        *_checks(room, swinging(plan.points, breadth), swinging(job.points, breadth)),
        *unplaced,
    )


def things_that_stay(job: Job) -> tuple[tuple[Thing, ...], tuple[str, ...]]:
    """What the hands may meet, and the names of obstacles that cannot be placed."""
    surveyed = [name for name in MIDDLE if name in job.points.others]
    names = _told_apart([*surveyed, *(one.name for one in job.bike.obstacles)])[len(surveyed) :]
    taped = [
        (name, on_wheels(job, one)) for name, one in zip(names, job.bike.obstacles, strict=True)
    ]
    found = [Thing(name, at) for name, at in taped if at is not None]
    said = " ".join(one.name.casefold() for one in found)
    middles = [Thing(name, job.points.others[name], whole=name in said) for name in surveyed]
    return (*middles, *found), tuple(name for name, at in taped if at is None)


def _told_apart(names: list[str]) -> list[str]:
    """The names, a second one of the same name numbered."""
    counts = [names[: i + 1].count(name) for i, name in enumerate(names)]
    return [
        name if count == 1 else f"{name} ({count})"
        for name, count in zip(names, counts, strict=True)
    ]


class _Room(NamedTuple):
    """What stays, the axis, and the taped lock or ``None``."""

    axis: Axis
    things: tuple[Thing, ...]
    lock: float | None

    def least(self, parts: tuple[Part, ...], lock: float) -> tuple[list[float], list[float]]:
        """Least room of each part to each thing or its mirror image, mm, and where, degrees.

        Flat, things running fastest.
        """
        at, radius = _stacked([part.at for part in parts]), [[part.radius] for part in parts]
        fixed = _stacked([one.at for one in self.things])
        swinging_parts = Vec(*(c[:, None, None] for c in at))
        both = Vec(fixed[0], np.stack([fixed[1], -fixed[1]]), fixed[2])
        found = swing(swinging_parts, both, self.axis.up, self.axis.pivot, np.radians(lock))
        side = found.least.argmin(axis=1)[:, None]
        least = np.take_along_axis(found.least, side, axis=1)[:, 0] - radius
        where = np.take_along_axis(found.nearest_at, side, axis=1)[:, 0]
        return least.ravel().tolist(), np.degrees(where).ravel().tolist()


def _stacked(points: list[Vec]) -> tuple[Floats, Floats, Floats]:
    """Components (n,) of points."""
    x, y, z = np.array(points, dtype=np.float64).T
    return x, y, z


def _checks(room: _Room, after: tuple[Part, ...], before: tuple[Part, ...]) -> Iterator[Check]:
    lock = USUAL_LOCK if room.lock is None else room.lock
    new, where = room.least(after, lock)
    old, _ = room.least(before, lock)
    wide = room.least(after, WIDEST_LOCK)[0] if room.lock is None else new
    pairs = [(part, thing) for part in after for thing in room.things]
    for index, (part, thing) in enumerate(pairs):
        if part.key == "thumb" and thing.name in THUMBS_NEVER_MEET:
            continue
        enough = new[index] >= CLEARANCE
        sure = room.lock is not None or wide[index] >= CLEARANCE
        yield held(
            f"{part.key}.{thing.name}",
            f"{part.words} to {thing.name}, lock to lock",
            new[index],
            CLEARANCE,
            _why(room, thing, where[index], old[index], lock, enough=enough),
            least=True,
            sure=sure and (thing.whole or not enough),
        )


def _why(room: _Room, thing: Thing, at: float, before: float, lock: float, *, enough: bool) -> str:
    side = "left" if at > 0.0 else "right"
    other = "right" if at > 0.0 else "left"
    place = (
        f"turned {abs(at):.0f} degrees to the {side} for the left hand, to the {other} for the "
        "right one"
        if abs(at) >= 1.0
        else "straight ahead"
    )
    text = (
        f"nearest with the bar {place}; as found it was {round(before)} mm; the steering axis is "
        f"guessed from the clamp, which may be {axis_doubt(lock):.0f} mm out"
    )
    if room.lock is None:
        text += f"; the lock was not taped and is taken as {lock:.0f} degrees: tape it"
    if enough and not thing.whole:
        text += f"; only its middle was taped, and its sides stand nearer: tape the {thing.name}'s"
        text += " side as [[obstacle]], or look"
    return text
