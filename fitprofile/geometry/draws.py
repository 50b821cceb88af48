"""Standard normal deviates from a fixed seed, without the 10 ms that importing numpy.random costs.

The one command that people script, a single transfer as JSON, would otherwise spend a twentieth
of its time on that import.
"""

from __future__ import annotations

import random
from math import prod
from typing import Protocol

import numpy as np

from fitprofile.geometry.vectors import Floats

BITS = 53
"""Digits of a double's fraction."""


class Normal(Protocol):
    """Anything that draws standard normal deviates, as numpy's generators do."""

    def standard_normal(self, size: tuple[int, ...] | int) -> Floats:
        """(size) float, mean 0, standard deviation 1."""


class Deviates:
    """Standard normal deviates; the same seed draws the same.

    Notes
    -----
    Uniform numbers come from the standard library's Mersenne Twister, pairs of deviates from
    them by the transform of Box and Muller.

    References
    ----------
    G. E. P. Box and M. E. Muller, "A Note on the Generation of Random Normal Deviates", Annals of
    Mathematical Statistics 29 (1958), 610-611.

    Examples
    --------
    >>> Deviates(1).standard_normal((2, 3)).shape
    (2, 3)
    """

    def __init__(self, seed: int) -> None:
        self._twister = random.Random(seed)  # noqa: S311 - samples, no secrets

    def standard_normal(self, size: tuple[int, ...] | int) -> Floats:
        """(size) float, mean 0, standard deviation 1."""
        shape = (size,) if isinstance(size, int) else size
        count = prod(shape)
        half = (count + 1) // 2
        words = np.frombuffer(self._twister.randbytes(16 * half), dtype="<u8") >> (64 - BITS)
        # Between 0 and 1 with both ends left out, so that the logarithm is finite.
        first, second = ((words + 0.5) * 2.0**-BITS).reshape(2, half)
        length, turn = np.sqrt(-2.0 * np.log(first)), 2.0 * np.pi * second
        both = np.concatenate([length * np.cos(turn), length * np.sin(turn)])
        return np.asarray(both[:count].reshape(shape))
