"""Stage 8j: from where to where a part's figure may go, by trying parts that are not made yet."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Floats
from fitprofile.model.quantity import Band

ROOM = 50.0
"""mm round the exact answer that a part's figure is looked through first, and farther from there
while parts at the end of what was looked through still fit."""

CLOSELY = 3
"""Parts beyond either end of a range that are looked at once more."""

FINE, ROUGH = 1.0, 5.0
"""mm between two figures looked at: the one that is told as a range, and the other."""


class Figure(NamedTuple):
    """One figure of a part: where the exact answer has it, and from where to where it may go."""

    exact: float
    band: Band

    @classmethod
    def of_move(cls, exact: float, band: Band, own: float) -> Figure:
        """Of a part that moves something from as found, ``own`` being the fitted one's figure."""
        return cls(exact + own, plus(band, own))

    @property
    def near(self) -> Band:
        """What of the band lies round the exact answer; its nearer end where nothing does."""
        return kept(self.exact - ROOM, self.band), kept(self.exact + ROOM, self.band)

    @property
    def rough(self) -> float:
        """The nearest whole step in the band."""
        places = steps(self.band, ROUGH)
        return float(places[np.argmin(np.abs(places - self.exact))])


Grid = Sequence[tuple[float, float]]

Fits = Callable[[Grid], NDArray[np.bool_]]
"""Which parts, by two figures of each, mend what is to be mended."""


def span_of(first: Figure, second: Figure, fits: Fits) -> tuple[Band, float] | None:
    """All figures in a row that fit, and the other figure they go with; ``None``: none does.

    The other figure is the exact answer's in whole steps, or else the one near it with which
    most of a coarse grid fit.
    """
    other = second.rough
    span = _run_of(first, other, fits)
    if span is None:
        ones, others = steps(first.near, ROUGH), steps(second.near, ROUGH)
        grid = [(one, two) for two in others.tolist() for one in ones.tolist()]
        count = fits(grid).reshape(len(others), len(ones)).sum(axis=1)
        if not count.any():
            return None
        other = float(others[np.argmax(count)])
        span = _run_of(first, other, fits)
    return None if span is None else (span, other)


def _run_of(first: Figure, other: float, fits: Fits) -> Band | None:
    """Longest run of a figure that fits beside the other one; looked for as far as it goes.

    Where none does near the exact answer, in whole steps through the whole band.
    """
    (low, high), looked, known = first.band, first.near, dict[float, bool]()
    while True:
        figures = steps(looked, FINE)
        new = [one for one in figures.tolist() if one not in known]
        known.update(zip(new, fits([(one, other) for one in new]).tolist(), strict=True))
        span = longest_run(figures, np.array([known[one] for one in figures.tolist()]))
        if span is None:
            rough = steps(first.band, ROUGH) if looked == first.near else np.array([])
            rough = rough[fits([(one, other) for one in rough.tolist()])] if len(rough) else rough
            if not len(rough):
                return None
            wider = max(float(rough[0]) - ROUGH, low), min(float(rough[-1]) + ROUGH, high)
        else:
            wider = (
                max(looked[0] - ROOM, low) if span[0] == figures[0] else looked[0],
                min(looked[1] + ROOM, high) if span[1] == figures[-1] else looked[1],
            )
        if wider == looked:
            return span and _widened(span, first.band, lambda xs: fits([(x, other) for x in xs]))
        looked = wider


def _widened(span: Band, band: Band, fits: Callable[[Sequence[float]], NDArray[np.bool_]]) -> Band:
    """A run with what next to its ends fits as well, looked at closely.

    Many parts together are set less finely than few, which may miss what is just inside.
    """
    ends = [
        [x for n in range(1, CLOSELY + 1) if band[0] <= (x := end + step * n) <= band[1]]
        for end, step in zip(span, (-FINE, FINE), strict=True)
    ]
    below, above = ends
    kept = fits([*below, *above]).tolist() if below or above else []
    more = (_leading(kept[: len(below)]), _leading(kept[len(below) :]))
    return span[0] - FINE * more[0], span[1] + FINE * more[1]


def _leading(kept: Sequence[bool]) -> int:
    """How many in a row fit, from the first on."""
    return next((index for index, one in enumerate(kept) if not one), len(kept))


def kept(value: float, band: Band) -> float:
    """The nearest figure inside a band."""
    return min(max(value, band[0]), band[1])


def plus(band: Band, own: float) -> Band:
    """A band of moves as one of a part's figure, what is fitted counted in."""
    return band[0] + own, band[1] + own


def steps(band: Band, step: float) -> Floats:
    """Whole steps inside a band; its ends where there is none."""
    first, last = np.ceil(band[0] / step - 1e-9), np.floor(band[1] / step + 1e-9)
    if first > last:
        return np.array(sorted({*map(float, band)}))
    return np.asarray(np.arange(first, last + 1.0) * step)


def longest_run(values: Floats, fits: NDArray[np.bool_]) -> tuple[float, float] | None:
    """Longest run of values that fit; ``None`` where none does."""
    best: tuple[int, int] | None = None
    for start, end in _runs(fits):
        if best is None or end - start > best[1] - best[0]:
            best = start, end
    return None if best is None else (float(values[best[0]]), float(values[best[1]]))


def _runs(fits: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """First and last index of each run of fits."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], fits, [False]]).astype(int)))
    for start, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        yield start, end - 1
