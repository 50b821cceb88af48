"""Stage 4d: one wish from several right-feeling sit-ons, and where they disagree.

A use has one wish. Each right-feeling sit-on shows it but for what sitting down again and the tape
add, and both are in the spread of each reading. So the most probable wish is, number by number, the
mean of what the calibrated body shows in those sit-ons, each weighed by one over the square of its
reading's spread: three readings on one bike weigh three times one on another, and a number that was
not measured in a sit-on weighs nothing there. Lean and elbows need no mean: they are one unknown of
the use already (`fitprofile.stages.evidence`). A knee angle counts only with the foot placed as in
the cockpit.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

import numpy as np
from attrs import evolve

from fitprofile.errors import WARNING, Problem
from fitprofile.geometry.vectors import Real
from fitprofile.stages.calibrate import Settled
from fitprofile.stages.siton import Reported, SitOn

NUMBERS: Mapping[str, tuple[str, str, str, str]] = {
    "navel_to_bar": ("navel-to-bar", "mm", "longer", "navel_to_bar_mm"),
    "forearm_angle": ("forearm angle", "degrees", "steeper", "forearm_angle_deg"),
    "knee_angle": ("knee angle", "degrees", "more open", "knee_angle_deg"),
    "lean_seen": ("lean", "degrees", "further forward", "lean_deg"),
}
"""By field of `SitOn`: words, unit, what more of it is called, field of `Settled`."""

BOTH_SIDES = 1.96
"""Normal deviate of 95 %, two-sided."""


def wishes(sit_ons: Sequence[SitOn], settled: Sequence[Settled]) -> dict[str, Settled]:
    """What is to be brought about elsewhere, by use.

    Parameters
    ----------
    sit_ons, settled : sequences of equal length
        Cockpits first; fields of ``settled`` scalars or (n,).

    Returns
    -------
    dict of str to Settled
        The cockpit's own where no other sit-on of its use felt right. Bike, points and joints are
        the cockpit's, or where it is from memory those of the first right-feeling sit-on on a bike
        that is known as it was then.
    """
    found: dict[str, Settled] = {}
    for use in dict.fromkeys(sat.use for sat in sit_ons):
        group = _right(sit_ons, use)
        base = settled[_base(sit_ons, group)]
        if len(group) > 1:
            base = evolve(
                base,
                lean_deg=settled[group[0]].lean_deg,
                navel_to_bar_mm=_common(sit_ons, settled, group, "navel_to_bar"),
                forearm_angle_deg=_common(sit_ons, settled, group, "forearm_angle"),
                knee_angle_deg=_common(sit_ons, settled, group, "knee_angle"),
            )
        found[use] = base
    return found


def _right(sit_ons: Sequence[SitOn], use: str) -> list[int]:
    """Sit-ons of one use that felt right, the cockpit first."""
    return [at for at, sat in enumerate(sit_ons) if sat.use == use and sat.felt_right]


def _base(sit_ons: Sequence[SitOn], group: Sequence[int]) -> int:
    """The sit-on whose bike stands in for what the wish does not say."""
    own = sit_ons[group[0]]
    known = (
        at for at in group if sit_ons[at].bike is not None and sit_ons[at].mid_foot == own.mid_foot
    )
    return group[0] if own.bike is not None else next(known, group[0])


def _counted(sit_ons: Sequence[SitOn], group: Sequence[int], name: str) -> list[int]:
    """Sit-ons in which one number was measured, for the knee with the cockpit's foot."""
    foot = sit_ons[group[0]].mid_foot
    return [
        at
        for at in group
        if getattr(sit_ons[at], name).told()
        and (name != "knee_angle" or sit_ons[at].mid_foot == foot)
    ]


def _common(
    sit_ons: Sequence[SitOn], settled: Sequence[Settled], group: Sequence[int], name: str
) -> Real:
    """One number of the wish."""
    counted = _counted(sit_ons, group, name)
    shown = [getattr(settled[at], NUMBERS[name][3]) for at in counted]
    return _mean([getattr(sit_ons[at], name) for at in counted], shown)


def _mean(seen: Sequence[Reported], shown: Sequence[Real]) -> Real:
    """Mean of what is shown, weighed by how well it was seen."""
    weights = [1.0 / one.sd**2 for one in seen]
    total = sum(np.multiply(value, weight) for value, weight in zip(shown, weights, strict=True))
    return np.asarray(total) / sum(weights)


def disagreements(sit_ons: Sequence[SitOn], file: str) -> tuple[Problem, ...]:
    """Where a use's readings differ between bikes by more than tape and re-sitting explain.

    Parameters
    ----------
    file : str
        The rider's log.

    Returns
    -------
    tuple of Problem
        At most one warning for each use and number, for the two bikes furthest apart in units of
        the spread of their difference, beyond 1.96 of it. Readings of one bike are pooled first.
    """
    found: list[Problem] = []
    for use in dict.fromkeys(sat.use for sat in sit_ons):
        group = _right(sit_ons, use)
        for name in NUMBERS:
            pairs = list(combinations(_by_bike(sit_ons, _counted(sit_ons, group, name), name), 2))
            if not pairs:
                continue
            (one, own, first), (two, other, second) = max(pairs, key=_apart)
            if _apart(((one, own, first), (two, other, second))) > BOTH_SIDES:
                line = max(_line(sit_ons[first]), _line(sit_ons[second]))
                text = _sentence(use, name, (one, float(own.value)), (two, float(other.value)))
                key = name.removesuffix("_seen")
                found.append(Problem(text, key, file, line or None, WARNING))
    return tuple(found)


def _line(sat: SitOn) -> int:
    """Line of the log, 0 for a cockpit."""
    return 0 if sat.entry is None else sat.entry.line or 0


Pooled = tuple[str, Reported, int]
"""Where, what was read there, and the last sit-on of it."""


def _by_bike(sit_ons: Sequence[SitOn], counted: Sequence[int], name: str) -> Iterator[Pooled]:
    """Readings of one number pooled by the bike they were taken on."""
    bikes: dict[str, list[int]] = {}
    for at in counted:
        sat = sit_ons[at]
        where = sat.bike if sat.entry is None else sat.entry.bike
        bikes.setdefault(where or "", []).append(at)
    for where, members in bikes.items():
        seen = [getattr(sit_ons[at], name) for at in members]
        weight = sum(1.0 / one.sd**2 for one in seen)
        value = float(_mean(seen, [one.value for one in seen]))
        yield where, Reported(value, float(weight**-0.5)), members[-1]


def _apart(pair: tuple[Pooled, Pooled]) -> float:
    """How far two readings lie apart in spreads of their difference."""
    (_, one, _), (_, other, _) = pair
    return float(abs(one.value - other.value) / np.hypot(one.sd, other.sd))


def _sentence(use: str, name: str, one: tuple[str, float], other: tuple[str, float]) -> str:
    """The warning, the larger figure first."""
    words, unit, more, _ = NUMBERS[name]
    (there, large), (here, small) = sorted((one, other), key=lambda pair: -pair[1])
    return (
        f"for {use} the {words} that felt right is {large:.0f} {unit} {_where(there)} and "
        f"{small:.0f} {_where(here)}, {large - small:.0f} {more}, more than tape and sitting down "
        f"again explain: either the wish differs between them or one was mismeasured; give it a "
        f"use of its own, or measure again"
    )


def _where(bike: str) -> str:
    """A bike in a sentence."""
    return f"on {bike}" if bike else "from memory"
