"""Stage 8g: some bars under some seats, how far off they are at a setting and a lean.

Arrays of rows x places.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import copy
from itertools import product
from typing import NamedTuple

import numpy as np
from attrs import evolve
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Floats, Real, Vec
from fitprofile.model.bike import PINNED, Lever
from fitprofile.model.parts import Labour
from fitprofile.model.quantity import Band
from fitprofile.stages import moves
from fitprofile.stages.bar_rows import BarRows, set_to
from fitprofile.stages.job import SIDES, Job
from fitprofile.stages.limits import perch_band
from fitprofile.stages.misfit import (
    INSIDE,
    Torso,
    bar_misfits,
    forearm_of,
    lever_aims,
    lever_misfit,
    perch_turn,
    score,
    turned_reading,
)
from fitprofile.stages.survey import BikePoints

Uses = Sequence[tuple[Job, float]]
"""One rider on one bike, once for each use, with weights that add up to 1."""

OVER = 1e3
"""Price of each tolerance of the worst misfit, where a fit is sought and it is not inside: more
than anything inside can come to, so that no point outside ever wins."""


Levers = tuple[str, ...]
"""Names of sides, of `SIDES`: whose pins are freed, or whose levers are set to the wish."""

GROUPS: Sequence[Levers] = ((), SIDES[:1], SIDES[1:], SIDES)
"""Every group of levers, by the number that candidates carry."""


class SetBars(NamedTuple):
    """Bars at one kind of setting, fields (n,): row, seat, setting, lean, what comes of it.

    ``far`` sums what the misfits are off, ``worst`` is the largest; ``minutes`` and ``undo`` are
    those of setting it, the row's own not counted. ``trued`` is the group, of `GROUPS`, of levers
    that are set to the wish although they are inside their tolerance.
    """

    row: NDArray[np.int_]
    seat: NDArray[np.int_]
    setting: Floats
    lean: Floats
    far: Floats
    worst: Floats
    minutes: Floats
    undo: Floats
    trued: NDArray[np.int_]
    freed: Levers

    def some(self, kept: NDArray[np.int_]) -> SetBars:
        """Fewer of them."""
        return SetBars(
            row=self.row[kept],
            seat=self.seat[kept],
            setting=self.setting[kept],
            lean=self.lean[kept],
            far=self.far[kept],
            worst=self.worst[kept],
            minutes=self.minutes[kept],
            undo=self.undo[kept],
            trued=self.trued[kept],
            freed=self.freed,
        )


class Bars:
    """Some rows under some seats; the bar's misfits as functions of setting and lean."""

    def __init__(
        self,
        jobs: Uses,
        rows: BarRows,
        row: NDArray[np.int_],
        seat: NDArray[np.int_],
        seats: Floats,
        labour: Labour,
        *,
        freed: Levers,
        held: NDArray[np.bool_] | None = None,
    ) -> None:
        self.jobs, self.rows, self.row, self.seat = jobs, rows, row, seat
        self.seats, self.freed, self.labour = seats, freed, labour
        self.held = np.zeros((len(row), len(SIDES)), dtype=bool) if held is None else held
        self.own_lean = float(jobs[0][0].target.lean_deg)
        self.is_new = bool(len(row)) and bool(rows.new[row[0]])
        self._torsos: dict[int, Torso] = {}
        here, parts = seats[seat].T[:, :, None], rows.table[:, row][:, :, None]
        self.points = evolve(
            rows.points,
            seat=Vec(*here),
            grip_end=Vec(*parts[:3]),
            grip_inner=Vec(*parts[3:6]),
            clamp=Vec(*parts[6:]),
            tube=None,
        )

    def some(self, kept: NDArray[np.int_], held: NDArray[np.bool_] | None = None) -> Bars:
        """Fewer of them; ``held`` (n, 2): brake and clutch left as the bar carries them."""
        left = self.held[kept] if held is None else held
        return self.others(self.row[kept], self.seat[kept], left)

    def others(
        self,
        row: NDArray[np.int_],
        seat: NDArray[np.int_],
        held: NDArray[np.bool_] | None = None,
    ) -> Bars:
        """Other rows and seats for the same uses, with the same pins freed."""
        return Bars(
            self.jobs, self.rows, row, seat, self.seats, self.labour, freed=self.freed, held=held
        )

    def slid(self, slide: Floats) -> Bars:
        """The same with the grips slid along their bars by as many mm more, (n, k)."""
        made = copy(self)
        made.points = moves.slide_grips(self.points, slide)
        return made

    def groups(self) -> NDArray[np.bool_]:
        """Every group of levers that could be turned and may be held, (groups, 2); none first."""
        can = [
            not self.is_new
            and getattr(self.jobs[0][0].bike.levers, side) is not None
            and np.isfinite(getattr(self.jobs[0][0].now.lever_angle_deg, side))
            and self.perch(side) != (0.0, 0.0)
            for side in SIDES
        ]
        every = product(*((False, True) if one else (False,) for one in can))
        return np.array(sorted(every, key=sum))

    def holds_freed(self, group: NDArray[np.bool_]) -> bool:
        """Whether a group of levers that are held, (2,) bool, has one whose pin is freed."""
        return any(side in self.freed for side, held in zip(SIDES, group, strict=True) if held)

    def as_sat(self) -> Iterator[SetBars]:
        """Bars as they stand under a rider who leans already, inside the band that suits."""
        first = self.jobs[0][0]
        lean, band = float(first.now.lean_deg), first.limits.lean
        if band is not None and band[0] <= lean <= band[1] and lean != self.own_lean:
            made = self.at(np.zeros(len(self.row)), np.full(len(self.row), lean))
            yield made.some(np.flatnonzero(made.worst <= INSIDE))

    def torso(self, job: Job, lean: Real | None) -> Torso:
        """The rider of one use; ``lean`` ``None`` is that use's own."""
        if lean is not None:
            return Torso.of(job.rider, self.points.seat, lean)
        key = id(job)
        if key not in self._torsos:
            self._torsos[key] = Torso.of(job.rider, self.points.seat, job.target.lean_deg)
        return self._torsos[key]

    def shown(
        self, setting: Floats, lean: Real | None
    ) -> tuple[list[tuple[Floats, float]], list[Floats]]:
        """Each misfit (n, k) with its use's weight, and each use's forearm angle, degrees."""
        points, found, forearms = self._without_levers(setting, lean)
        aims = lever_aims(self.jobs, forearms)
        for side in SIDES:
            readings = self.lever(side, points, setting, getattr(aims, side))
            if readings is not None:
                found += self._off(side, readings, forearms)
        return found, forearms

    def _without_levers(
        self, setting: Floats, lean: Real | None
    ) -> tuple[BikePoints, list[tuple[Floats, float]], list[Floats]]:
        """Points, misfits but those of the levers, and forearm angles."""
        points = set_to(self.jobs[0][0], self.points, setting)
        found: list[tuple[Floats, float]] = []
        forearms: list[Floats] = []
        for index, (job, weight) in enumerate(self.jobs):
            misfits = bar_misfits(job, points, self.torso(job, None if index else lean))
            forearms.append(forearm_of(job, misfits["forearm_angle"]))
            found += [(misfit, weight) for misfit in misfits.values()]
        return points, found, forearms

    def _off(
        self, side: str, reading: Floats, forearms: Sequence[Floats]
    ) -> list[tuple[Floats, float]]:
        """Misfit of a lever that shows a slope, with the weight of each use."""
        return [
            (lever_misfit(job, side, reading, forearm), weight)
            for forearm, (job, weight) in zip(forearms, self.jobs, strict=True)
        ]

    def lever(self, side: str, points: BikePoints, setting: Floats, aim: Floats) -> Floats | None:
        """Slope of a lever turned as near to the aim as its perch goes.

        ``None`` where there is no lever, or one that always follows and one use alone.
        """
        reading = float(getattr(self.jobs[0][0].now.lever_angle_deg, side))
        if not np.isfinite(reading):
            return None
        band = self.perch(side)
        left = self.held[:, SIDES.index(side)][:, None]
        if band is None and not left.any():
            return None if len(self.jobs) == 1 else aim
        carried = self.carried(reading, setting)
        slope = self.turned(side, points, carried, aim)
        return np.where(left, carried, slope) if left.any() else slope

    def carried(self, reading: float, setting: Floats) -> Floats:
        """Slope of a lever that is left alone on its bar."""
        return np.asarray(reading if self.jobs[0][0].clip_on else reading - setting)

    def turned(self, side: str, points: BikePoints, carried: Floats, aim: Floats) -> Floats:
        """Slope of a lever turned on its bar as near to the aim as its perch goes."""
        band = self.perch(side)
        if band == (0.0, 0.0):
            return np.broadcast_to(carried, aim.shape)
        if band is None:
            return aim
        axis = moves.grip_axis(points)
        turn = perch_turn(axis, carried, aim)
        kept = np.clip(turn, *band)
        return np.where(kept == turn, aim, turned_reading(axis, carried, kept))

    def perch(self, side: str) -> Band | None:
        """Band of a perch's turn, degrees; ``None``: free, as on every new bar."""
        lever: Lever | None = getattr(self.jobs[0][0].bike.levers, side)
        if lever is None or self.is_new:
            return None
        if side in self.freed:
            return lever.rotation
        return perch_band(lever)

    def far(self, setting: Floats, lean: Real | None = None) -> Floats:
        """How far off the misfits are together, (n, k); see `score`."""
        misfits, _ = self.shown(setting, lean)
        return far_of(misfits)

    def over(self, setting: Floats, lean: Real | None = None) -> Floats:
        """The same with, outside, the worst misfit on top at a high price, (n, k)."""
        misfits, _ = self.shown(setting, lean)
        return over_of(far_of(misfits), worst_of(misfits))

    def at(self, setting: Floats, lean: Floats, trued: NDArray[np.int_] | None = None) -> SetBars:
        """Candidates at a setting and lean, (n,) each, every lever as it then is.

        On the bike's own bar one that is inside its tolerance is left alone unless ``trued``, of
        `GROUPS`, has it; a pin is freed for none that is inside.
        """
        used = None if np.all(lean == self.own_lean) else lean[:, None]
        points, misfits, forearms = self._without_levers(setting[:, None], used)
        aims = lever_aims(self.jobs, forearms)
        group = np.zeros(len(self.row), dtype=int) if trued is None else trued
        turned, freed = np.zeros(len(self.row)), np.zeros(len(self.row))
        for bit, side in enumerate(SIDES):
            lever: Lever | None = getattr(self.jobs[0][0].bike.levers, side)
            reading = float(getattr(self.jobs[0][0].now.lever_angle_deg, side))
            if not np.isfinite(reading):
                continue
            aim = getattr(aims, side)
            if lever is None or self.is_new:
                misfits += self._off(side, aim, forearms)
                freed = freed + (lever is not None and lever.perch == PINNED)
                continue
            pinned = lever.perch == PINNED
            carried = self.carried(reading, setting[:, None])
            done = (group & (1 << bit) != 0)[:, None] & (not pinned)
            for off, _ in self._off(side, carried, forearms):
                done = done | (np.abs(off) > 1.0)
            band = self.perch(side)
            if band is not None:
                done = done & np.where(carried > aim, band[1] > 0.0, band[0] < 0.0)
            slope = self.turned(side, points, carried, aim)
            misfits += self._off(side, np.where(done, slope, carried), forearms)
            turned, freed = turned + done[:, 0], freed + (done[:, 0] & pinned)
        labour = self.labour
        own = (labour.clip_slide if self.jobs[0][0].clip_on else labour.roll).value
        rolled = np.where((setting != 0.0) & (not self.is_new), own, 0.0)
        return SetBars(
            row=self.row,
            seat=self.seat,
            setting=setting,
            lean=lean,
            far=far_of(misfits)[:, 0],
            worst=worst_of(misfits)[:, 0],
            minutes=rolled + labour.perch.value * turned,
            undo=freed,
            trued=group,
            freed=self.freed,
        )


def far_of(misfits: Sequence[tuple[Floats, float]]) -> Floats:
    """Weighed sum of what the misfits are off, (n, k)."""
    return np.asarray(sum(weight * score(misfit) for misfit, weight in misfits))


def over_of(far: Floats, worst: Floats) -> Floats:
    """Score with the worst misfit on top at a high price where it is not inside."""
    return np.asarray(far + np.where(worst <= INSIDE, 0.0, OVER * worst))


def worst_of(misfits: Sequence[tuple[Floats, float]]) -> Floats:
    """Largest misfit, (n, k)."""
    worst = np.abs(misfits[0][0])
    for misfit, _ in misfits[1:]:
        worst = np.maximum(worst, np.abs(misfit))
    return worst
