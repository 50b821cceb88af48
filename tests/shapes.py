"""Shapes that every array function must serve alike: one, many, riders x bikes, none."""

from __future__ import annotations

SHAPES: tuple[tuple[int, ...], ...] = ((), (1,), (3,), (4, 1), (2, 3), (0,))
