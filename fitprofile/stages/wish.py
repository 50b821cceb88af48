"""Stage 4d: one wish from several right-feeling sit-ons, and where they disagree.

A use has one wish. Each right-feeling sit-on shows it but for what sitting down again and the tape
add, and both are in the spread of each reading. So the most probable wish is, number by number, the
mean of what the calibrated body shows in those sit-ons, each weighed by one over the square of its
reading's spread: three readings on one bike weigh three times one on another, and a number that was
not measured in a sit-on weighs nothing there. Lean and elbows need no mean: they are one unknown of
the use already (`fitprofile.stages.evidence`). A knee angle counts only with the foot placed as in
the cockpit.

Bar width, grip tilt and sweep are the bike's own figures: the mean is that of the readings, and
each has the spread of what the rider feels of it (`fitprofile.stages.siton.felt`). They have a mean
only where the profile says the number too: a wish left to the good bike stays that bike's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np
from attrs import evolve

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.geometry.vectors import Real
from fitprofile.stages.calibrate import Settled
from fitprofile.stages.siton import BAR_FIGURES, Reported, SitOn

SITTING = "tape and sitting down again explain"
TOLERANCE = "tape and tolerance explain"


class Told(NamedTuple):
    """A number in words: name, unit, what more of it is called, and what explains a little more."""

    words: str
    unit: str
    more: str
    explained: str = SITTING


NUMBERS: Mapping[str, Told] = {
    "navel_to_bar": Told("navel-to-bar", "mm", "longer"),
    "forearm_angle": Told("forearm angle", "degrees", "steeper"),
    "knee_angle": Told("knee angle", "degrees", "more open"),
    "lean_seen": Told("lean", "degrees", "further forward"),
    "bar_width": Told("bar width", "mm", "wider", TOLERANCE),
    "grip_tilt": Told("grip tilt", "degrees", "further up", TOLERANCE),
    "grip_sweep": Told("grip sweep", "degrees", "further back", TOLERANCE),
}
"""By field of `SitOn`."""

BOTH_SIDES = 1.96
"""Normal deviate of 95 %, two-sided."""


class Seen(NamedTuple):
    """One reading of a wish: on which bike (empty: from memory), what was read, line of the log.

    The line is 0 for the profile's own.
    """

    where: str
    read: Reported
    line: int


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
                bar_width_mm=_common_bar(sit_ons, group, "bar_width"),
                grip_tilt_deg=_common_bar(sit_ons, group, "grip_tilt"),
                grip_sweep_deg=_common_bar(sit_ons, group, "grip_sweep"),
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
    shown = [getattr(settled[at], f"{name}_{_ENDING[NUMBERS[name].unit]}") for at in counted]
    return _mean([getattr(sit_ons[at], name) for at in counted], shown)


_ENDING = {"mm": "mm", "degrees": "deg"}


def _common_bar(sit_ons: Sequence[SitOn], group: Sequence[int], name: str) -> Real:
    """One figure of the bar, as read; ``nan`` where the profile does not wish it."""
    counted = _counted(sit_ons, group, name)
    return (
        mean_of([getattr(sit_ons[at], name) for at in counted]) if group[0] in counted else np.nan
    )


def mean_of(seen: Sequence[Reported]) -> float:
    """Mean of readings, each weighed by one over the square of its spread."""
    return float(_mean(seen, [one.value for one in seen]))


def _mean(seen: Sequence[Reported], shown: Sequence[Real]) -> Real:
    """Mean of what is shown, weighed by how well it was seen."""
    weights = [1.0 / one.sd**2 for one in seen]
    total = sum(np.multiply(value, weight) for value, weight in zip(shown, weights, strict=True))
    return np.asarray(total) / sum(weights)


def disagreements(sit_ons: Sequence[SitOn], file: str) -> tuple[Problem, ...]:
    """Where a use's readings differ between bikes by more than their spreads explain.

    Parameters
    ----------
    file : str
        The rider's log.

    Returns
    -------
    tuple of Problem
        At most one warning for each use and number, see `disagreement`.
    """
    found: list[Problem] = []
    for use in dict.fromkeys(sat.use for sat in sit_ons):
        group = _right(sit_ons, use)
        for name, told in NUMBERS.items():
            counted = (sit_ons[at] for at in _counted(sit_ons, group, name))
            seen = [Seen(_where(sat), getattr(sat, name), _line(sat)) for sat in counted]
            found += disagreement(use, name.removesuffix("_seen"), told, seen, file)
    return tuple(found)


def bar_notes(
    sit_ons: Sequence[SitOn], wish: Mapping[str, Settled], file: str
) -> Iterator[Problem]:
    """A note where what felt right moves a bar's figure off the one that the profile says.

    Parameters
    ----------
    wish : mapping of str to Settled
        From `wishes`, scalars.
    file : str
        The rider's own.
    """
    for use, common in wish.items():
        group = _right(sit_ons, use)
        for name in BAR_FIGURES:
            told, counted = NUMBERS[name], _counted(sit_ons, group, name)
            now = float(getattr(common, f"{name}_{_ENDING[told.unit]}"))
            own = float(getattr(sit_ons[group[0]], name).value)
            if np.isfinite(now) and round(now) != round(own):
                text = moved_words(told, now, own, len(counted))
                yield Problem(text, f"cockpit.{use}.{name}", file, level=NOTE)


def moved_words(told: Told, now: float, own: float, count: int) -> str:
    """Sentence for a wish that the log moved off the profile's figure."""
    return (
        f"{own:.0f} {told.unit} here; the {told.words} wished is {now:.0f}, the mean of {count} "
        f"that felt right, this one and those of the log"
    )


def _where(sat: SitOn) -> str:
    """The bike that was sat on, empty for a cockpit from memory."""
    return (sat.bike if sat.entry is None else sat.entry.bike) or ""


def _line(sat: SitOn) -> int:
    """Line of the log, 0 for a cockpit."""
    return 0 if sat.entry is None else sat.entry.line or 0


def disagreement(
    use: str, key: str, told: Told, seen: Sequence[Seen], file: str
) -> Iterator[Problem]:
    """A warning where one number felt right on two bikes and differs by more than its spreads.

    Named are the two bikes furthest apart in units of the spread of their difference, where that
    is beyond `BOTH_SIDES`. Readings of one bike are pooled first.
    """
    pairs = list(combinations(_by_bike(seen), 2))
    if not pairs:
        return
    one, other = max(pairs, key=_apart)
    if _apart((one, other)) > BOTH_SIDES:
        text = _sentence(use, told, one, other)
        yield Problem(text, key, file, max(one.line, other.line) or None, WARNING)


def _by_bike(seen: Sequence[Seen]) -> Iterator[Seen]:
    """Readings of one number pooled by the bike they were taken on, with the last one's line."""
    for where in dict.fromkeys(one.where for one in seen):
        members = [one for one in seen if one.where == where]
        weight = sum(1.0 / one.read.sd**2 for one in members)
        value = mean_of([one.read for one in members])
        yield Seen(where, Reported(value, float(weight**-0.5)), members[-1].line)


def _apart(pair: tuple[Seen, Seen]) -> float:
    """How far two readings lie apart in spreads of their difference."""
    one, other = (each.read for each in pair)
    return float(abs(one.value - other.value) / np.hypot(one.sd, other.sd))


def _sentence(use: str, told: Told, one: Seen, other: Seen) -> str:
    """The warning, the larger figure first."""
    there, here = sorted((one, other), key=lambda each: -float(each.read.value))
    large, small = round(float(there.read.value)), round(float(here.read.value))
    return (
        f"for {use} the {told.words} that felt right is {large} {told.unit} {_on(there)} and "
        f"{small} {_on(here)}, {large - small} {told.more}, more than {told.explained}: "
        f"either the wish differs between them or one was mismeasured; give it a use of its own, "
        f"or measure again"
    )


def _on(seen: Seen) -> str:
    """A bike in a sentence."""
    return f"on {seen.where}" if seen.where else "from memory"
