"""Stage 8j: from where to where a part's figure may go, by trying parts that are not made yet."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fitprofile.geometry.vectors import Floats
from fitprofile.model.quantity import Band

ROOM = 40.0
"""mm round the exact answer that a part's figure is looked through finely."""

CLOSELY = 7
"""Parts beyond either end of a range that are looked at together: more than one coarse step."""

FINE, ROUGH = 1.0, 5.0
"""mm between two figures looked at: of the one that is told as a range, and of the other."""


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
    """Longest run of a figure that fits beside the other one, wherever it lies in its band.

    Finely round the exact answer and in coarse steps elsewhere, so that what is shorter than one
    of these is found near the exact answer alone.
    """

    def tried(figures: Sequence[float]) -> NDArray[np.bool_]:
        return fits([(one, other) for one in figures])

    figures = np.array(sorted({*steps(first.near, FINE), *steps(first.band, ROUGH)}))
    span = longest_run(figures, tried(figures.tolist()))
    return span and _widened(span, first, tried)


def _widened(
    span: Band, first: Figure, tried: Callable[[Sequence[float]], NDArray[np.bool_]]
) -> Band:
    """A run with what fits beyond an end of it that was looked for in coarse steps alone."""
    low, high = first.near
    while True:
        below, above = (
            [
                x
                for n in range(1, CLOSELY + 1)
                if first.band[0] <= (x := end + step * n) <= first.band[1] and coarse
            ]
            for end, step, coarse in (
                (span[0], -FINE, not low < span[0] <= high),
                (span[1], FINE, not low <= span[1] < high),
            )
        )
        fit = tried([*below, *above]).tolist() if below or above else []
        less, more = _leading(fit[: len(below)]), _leading(fit[len(below) :])
        span = span[0] - FINE * less, span[1] + FINE * more
        if CLOSELY not in (less, more):
            return span


def _leading(fit: Sequence[bool]) -> int:
    """How many in a row fit, from the first on."""
    return next((index for index, one in enumerate(fit) if not one), len(fit))


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


def longest_run(values: Floats, fits: NDArray[np.bool_]) -> Band | None:
    """Longest run of values that fit; ``None`` where none does."""
    best: Band | None = None
    for start, end in _runs(fits):
        run = float(values[start]), float(values[end])
        if best is None or run[1] - run[0] > best[1] - best[0]:
            best = run
    return best


def _runs(fits: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """First and last index of each run of fits."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], fits, [False]]).astype(int)))
    for start, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        yield start, end - 1
