"""Stage 8j: the best of groups whose figures add up, one candidate of each.

Seat apart, the numbers fall into groups that do not feel each other: the bar (with its roll or
slide, the rider's lean and the levers), the pegs, and the levers' reach. Misfits, prices and
minutes add up over the groups, and an order by sums is kept when a sum is added to both sides:
so what is no better than another of its group in any figure that decides is in no best choice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Floats
from fitprofile.stages.bar_nearest import STEP
from fitprofile.stages.plan import CHEAPEST, CLOSEST, QUICKEST

KEYS: Mapping[str, tuple[str, ...]] = {
    CHEAPEST: ("price", "minutes", "undo", "far", "pieces"),
    QUICKEST: ("minutes", "price", "undo", "far", "pieces"),
    CLOSEST: ("undo", "price", "minutes", "pieces", "leaned", "far"),
}
"""What decides, in this order; then the names of the parts. For the cheapest and the quickest
among the combinations that are inside every tolerance; for the closest among those, or among all
where none is inside, that come within `STEP` of the least score that any of them reaches.

``far`` is the score (see `fitprofile.stages.misfit.score`), ``undo`` the number of things that
cannot be taken back, ``pieces`` that of parts, ``leaned`` whether the rider's own lean is left."""

SAME = 1e-9
"""By which two figures may differ and count as one: rounding."""


class Group(NamedTuple):
    """Candidates of one group, fields (n,): how far off, what it costs, what is inside."""

    far: Floats
    inside: NDArray[np.bool_]
    price: Floats
    minutes: Floats
    undo: Floats
    pieces: Floats
    leaned: Floats

    @classmethod
    def of_parts(
        cls, far: Floats, worst_inside: NDArray[np.bool_], costs: Mapping[str, Floats]
    ) -> Group:
        """Parts beside the bar, which undo nothing and leave the lean as it is."""
        none = np.zeros(len(far))
        return cls(far=far, inside=worst_inside, undo=none, leaned=none, **costs)

    def best(self, keys: Sequence[str], mask: NDArray[np.bool_]) -> int | None:
        """Index of the first candidate by keys; ``None`` where the mask is empty."""
        left = np.flatnonzero(mask)
        for key in keys:
            if len(left) < 2:  # noqa: PLR2004 - one is decided
                break
            values = getattr(self, key)[left]
            left = left[values <= values.min() + SAME]
        return int(left[0]) if len(left) else None

    def nearest(self, mask: NDArray[np.bool_]) -> int | None:
        """The same by what decides for the closest."""
        least = np.min(self.far[mask], initial=np.inf)
        return self.best(KEYS[CLOSEST], mask & (self.far <= least + STEP + SAME))

    def sums(self, keys: Sequence[str], index: int | NDArray[np.int_]) -> Floats:
        """Figures of a candidate, or (keys, k) of some, in the order of the keys."""
        return np.array([getattr(self, key)[index] for key in keys])

    def stairs(self, keys: Sequence[str], mask: NDArray[np.bool_]) -> NDArray[np.int_]:
        """Candidates that no other betters both by the keys and in ``far``, best by keys first."""
        left = np.flatnonzero(mask)
        figures = np.round(self.sums(keys, left), 9)
        left = left[np.lexsort(figures[::-1])]
        far = np.round(self.far[left], 9)
        before = np.concatenate([[np.inf], np.minimum.accumulate(far)[:-1]])
        return np.asarray(left[far < before])


class Table(NamedTuple):
    """Groups that go together under one seat: bar, pegs, levers' reach; and what the seats cost."""

    groups: tuple[Group, ...]
    seats: Group
    seat: int

    def least(self, *, fits: bool) -> float:
        """Smallest score of a combination; ``inf`` where none is inside and that is asked for."""
        return float(self.seats.far[self.seat] + sum(self._leasts(fits=fits)))

    def _leasts(self, *, fits: bool) -> list[float]:
        return [
            float(np.min(one.far[one.inside | (not fits)], initial=np.inf)) for one in self.groups
        ]


class Order(NamedTuple):
    """A choice with what decides between it and another: the figures, the seat, the indices."""

    figures: tuple[float, ...]
    seat: int
    which: tuple[int, ...]


def best_inside(name: str, tables: Sequence[Table]) -> tuple[Order, int] | None:
    """Cheapest or quickest of all combinations inside, and the number of its table."""
    keys, found = KEYS[name], list[tuple[Order, int]]()
    for number, table in enumerate(tables):
        picks = [one.best(keys, one.inside) for one in table.groups]
        which = tuple(pick for pick in picks if pick is not None)
        if len(which) == len(picks):
            found.append((_order(keys, table, which), number))
    return min(found, default=None)


def nearest(tables: Sequence[Table], *, fits: bool) -> tuple[Order, int] | None:
    """Closest of all combinations, and the number of its table.

    Notes
    -----
    Exact. With more parts the least score is as small or smaller, so that the choice is never
    farther than `STEP` from what was the least before; it may be farther than what was chosen
    before by no more than that, where it costs less by the keys.
    """
    least = min((table.least(fits=fits) for table in tables), default=np.inf)
    found: list[tuple[Order, int]] = []
    for number, table in enumerate(tables):
        found += [
            (_order(KEYS[CLOSEST], table, which), number)
            for which in _near(table, least + STEP + SAME, fits=fits)
        ]
    return min(found, default=None)


def _near(table: Table, most: float, *, fits: bool) -> Iterator[tuple[int, ...]]:
    """One candidate of each group, score together up to ``most``: the best by the keys."""
    room = most - table.least(fits=fits)
    if not room >= 0.0:
        return
    keys = KEYS[CLOSEST][:-1]
    steps = []
    for one in table.groups:
        mask = one.inside | (not fits)
        mask &= one.far <= np.min(one.far[mask], initial=np.inf) + room
        steps.append(one.stairs(keys, mask))
    places = [line.ravel() for line in np.meshgrid(*steps, indexing="ij")]
    pairs = list(zip(table.groups, places, strict=True))
    far = sum((one.far[at] for one, at in pairs), table.seats.far[table.seat])
    near = np.flatnonzero(far <= most)
    sums = sum(one.sums(KEYS[CLOSEST], at[near]) for one, at in pairs)
    first = np.lexsort(np.round(sums, 9)[::-1])[0]
    yield tuple(int(at[near[first]]) for at in places)


def _order(keys: Sequence[str], table: Table, which: tuple[int, ...]) -> Order:
    pairs = zip(table.groups, which, strict=True)
    sums = sum((one.sums(keys, pick) for one, pick in pairs), table.seats.sums(keys, table.seat))
    return Order(tuple(np.round(sums, 9).tolist()), table.seat, which)
