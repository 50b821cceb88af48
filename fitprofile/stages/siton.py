"""Stage 4a: a sit-on, what was measured with the rider on one bike, with its spreads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from fitprofile.errors import ERROR, NOTE, Problem
from fitprofile.geometry.vectors import Floats, Real, Vec, leftward_axis
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import HELP, MID_FOOT, Cockpit, Rider, Standing
from fitprofile.model.shop import Shop
from fitprofile.stages.repeats import contradictions_sat, mean_sd
from fitprofile.stages.survey import BikePoints, Surveyed
from fitprofile.values import frozen

if TYPE_CHECKING:
    from fitprofile.model.log import Entry

GRIP_LENGTH = 125.0
"""mm; grip assumed where no bike is known (common practice, no source)."""

GRIP_SWEEP = 15.0
"""Degrees; sweep assumed where no bike is known (common practice, no source)."""

LEAN, LEAN_SD = 10.0, 5.0
"""Degrees; lean before anything is known, and its spread (estimate)."""

GIVEN_LEAN_SD = 3.0
"""Degrees; spread of a lean that the rider gave."""

TWIST = 20.0
"""mm between the two tapes navel to grip end above which the rider sat askew."""

COVERAGE = 2.0
"""Give or take over standard deviation (JCGM 100, k = 2)."""

ORIGIN = Vec(0.0, 0.0, 0.0)

MOVED = ("seat", "peg", "clamp", "grip_end", "grip_inner")
"""Points that posture feels, in the order of `SitOn.gain`."""

BAR_FIGURES = ("bar_width", "grip_tilt", "grip_sweep")
"""The bike's own figures that a rider feels."""

BAR = ("grip_end", "grip_inner", "clamp")
"""Points of one rigid body: bar, grips, and where the bar is clamped."""


@frozen
class Reported:
    """One observation: value (...) float, and the standard deviation of it; mm or degrees."""

    value: Real
    sd: float

    def told(self) -> bool:
        """Whether there is an observation at all; see `MISSING`."""
        return isfinite(self.sd)


MISSING = Reported(np.nan, np.inf)
"""What was not measured: no value, no weight."""


@frozen(kw_only=True)
class SitOn:
    """One sit-on, ready for calibration.

    Parameters
    ----------
    use : str
        Cockpit it belongs to.
    bike : str or None
        Key of the bike, ``None`` where the numbers come from memory or the bike was changed since
        it was taped.
    navel_to_bar, forearm_angle, knee_angle : Reported
        Re-sitting included in the spreads; `MISSING` where an entry of the log has no figure.
    lean : Reported
        Prior of the lean, `MISSING` for an entry of the log: it has its cockpit's.
    lean_seen : Reported
        Lean that was measured in an entry of the log, else `MISSING`.
    bar_width, grip_tilt, grip_sweep : Reported
        The bar it was sat at, with the spread of `felt`; `MISSING` where that was not read.
    felt_right : bool
        Whether it counts as a wish.
    entry : Entry or None
        The entry of the log it was made from, ``None`` for the profile's own cockpit.
    mid_foot : bool
        Peg under the middle of the foot instead of the ball.
    points : BikePoints or None
        As surveyed, mm; components scalars or (n,).
    gain : (5, 3, 2) float or None
        Move of each point of `MOVED`, mm, by one standard deviation along either principal
        direction of the seat-to-bar vector.
    half_grip : triple of float
        Without a bike: grip end less grip centre, mm.
    hand_side : float
        Without a bike: distance of the grip end from the mid-plane, mm.
    """

    use: str
    bike: str | None
    navel_to_bar: Reported
    forearm_angle: Reported
    knee_angle: Reported
    lean: Reported
    mid_foot: bool
    points: BikePoints | None = None
    gain: Floats | None = None
    half_grip: Vec = ORIGIN
    hand_side: float = 0.0
    lean_seen: Reported = MISSING
    bar_width: Reported = MISSING
    grip_tilt: Reported = MISSING
    grip_sweep: Reported = MISSING
    felt_right: bool = True
    entry: Entry | None = None

    def label(self) -> str:
        """What it is called where several sit-ons of one use are named."""
        if self.entry is None:
            return self.use
        return f"{self.use} on {self.entry.bike}, {self.entry.date}"


def sit_on(
    rider: Rider, use: str, surveyed: Surveyed | None, shop: Shop
) -> tuple[SitOn | None, tuple[Problem, ...]]:
    """The cockpit of one use as a sit-on.

    Parameters
    ----------
    surveyed : Surveyed or None
        The bike it was measured on; ``None`` where no bike is known.

    Returns
    -------
    sit_on : SitOn or None
        ``None`` where the two tapes contradict the bar's width.
    problems : tuple of Problem
        With ``file`` and ``key`` of the rider's file.
    """
    cockpit = rider.cockpits[use]
    column = HELP.index(rider.tape)
    spread = {name: pair[column] for name, pair in shop.spreads.items()}
    width = cockpit.bar_width.value
    if surveyed is not None:
        width = 2.0 * float(surveyed.points.grip_end.y)
    key = f"cockpit.{use}.navel_to_grip_ends"
    distance, problems = distance_of(cockpit, width, spread, key, rider.file)
    problems += (
        *contradictions_sat(cockpit, spread, f"cockpit.{use}.", rider.file),
        *alike(cockpit, f"cockpit.{use}.", rider.file),
    )
    if distance is None:
        return None, problems
    axis = leftward_axis(
        np.radians(_value(cockpit.grip_tilt, 0.0)),
        np.radians(_value(cockpit.grip_sweep, GRIP_SWEEP)),
    )
    bar = bar_felt(cockpit, spread, {**shop.tolerances, **rider.tolerances})
    made = SitOn(
        use=use,
        bike=None if surveyed is None else cockpit.measured_on,
        navel_to_bar=distance,
        forearm_angle=forearm_read(cockpit, spread),
        knee_angle=reported(cockpit.knee_angle, spread["knee_angle"], spread["resit_angle"]),
        lean=_lean(cockpit),
        mid_foot=cockpit.foot == MID_FOOT,
        points=None if surveyed is None else surveyed.points,
        gain=None if surveyed is None else seat_to_bar_gain(surveyed, MOVED),
        half_grip=axis.times(0.5 * GRIP_LENGTH),
        hand_side=0.5 * width,
        bar_width=bar["bar_width"],
        grip_tilt=bar["grip_tilt"],
        grip_sweep=bar["grip_sweep"],
    )
    return made, problems


def bar_felt(
    taken: Cockpit | Entry, spread: Mapping[str, float], tolerances: Mapping[str, float]
) -> dict[str, Reported]:
    """The bar's own figures of a sit-on, by name, as far as the rider feels them."""
    return {
        name: felt(getattr(taken, name), spread[name], tolerances[name]) for name in BAR_FIGURES
    }


def felt(reading: Reading | None, table: float, tolerance: float) -> Reported:
    """A figure of the bike itself as a wish, mm or degrees; `MISSING` where it was not read.

    Parameters
    ----------
    reading : Reading or None
    table : float
        Standard deviation of one reading.
    tolerance : float
        Within it the rider counts the figure as wished, so that a bike which felt right tells the
        wish to no more than that: half of it is added to the spread (k = 2), however often the
        same bike is taped.
    """
    if reading is None:
        return MISSING
    taped = reported(reading, table, 0.0)
    return Reported(taped.value, float(np.hypot(taped.sd, tolerance / COVERAGE)))


def seat_to_bar_gain(surveyed: Surveyed, names: tuple[str, ...]) -> Floats:
    """Most probable move of points when the seat-to-bar vector is one spread off.

    Parameters
    ----------
    names : tuple of str
        n points of the survey.

    Returns
    -------
    (n, 3, 2) float, mm
        For a unit step along either principal direction of the side-view vector from seat to
        bar, x and z. Zero where the survey leaves the vector no spread.

    Notes
    -----
    Conditional mean of a multivariate normal: with v = M p and cov(v) = E diag(w) E^T, the step
    sqrt(w_i) E_i of v moves p by C M^T E_i / sqrt(w_i). The points of `BAR` all move along and up
    as the grip end does: where the bar stands is in doubt here, not its bend or its width, so tilt,
    sweep and the roll's pivot stay as taped.
    """
    size = 3 * len(surveyed.names)
    pick = np.zeros((2, size))
    seat, bar = (3 * surveyed.names.index(name) for name in ("seat", "grip_end"))
    pick[0, bar], pick[0, seat] = 1.0, -1.0
    pick[1, bar + 2], pick[1, seat + 2] = 1.0, -1.0
    weights, axes = np.linalg.eigh(pick @ surveyed.covariance @ pick.T)
    spread = np.sqrt(np.maximum(weights, 0.0))
    steps = surveyed.covariance @ pick.T @ axes
    steps = np.where(spread > 0.0, steps / np.where(spread > 0.0, spread, 1.0), 0.0)
    rigid = steps[bar : bar + 3] * np.array([[1.0], [0.0], [1.0]])
    rows = {name: 3 * surveyed.names.index(name) for name in names}
    return np.stack([rigid if n in BAR else steps[row : row + 3] for n, row in rows.items()])


def shifted(points: Mapping[str, Vec], gain: Floats, first: Real, second: Real) -> dict[str, Vec]:
    """Points moved by a seat-to-bar step, in units of spread along either principal direction.

    ``gain`` is (n, 3, 2) in the order of ``points``; ``first`` and ``second`` (...) float.
    """
    return {
        name: Vec(*(c + (g[0] * first + g[1] * second) for c, g in zip(point, rows, strict=True)))
        for (name, point), rows in zip(points.items(), gain, strict=True)
    }


def with_points(points: BikePoints, moved: Mapping[str, Vec]) -> BikePoints:
    """The bike with the points of `MOVED` elsewhere; a fork tube's clamp follows ``clamp``."""
    clamp, tube = moved["clamp"], points.tube
    return BikePoints(
        seat=moved["seat"],
        peg=moved["peg"],
        clamp=clamp,
        grip_end=moved["grip_end"],
        grip_inner=moved["grip_inner"],
        tube=None if tube is None else Vec(clamp.x, tube.y, clamp.z),
        others={name: moved.get(name, point) for name, point in points.others.items()},
    )


def distance_of(
    taken: Cockpit | Entry, width: float, spread: Mapping[str, float], key: str, file: str
) -> tuple[Reported | None, tuple[Problem, ...]]:
    """Navel-to-bar from a string or from two tapes: d^2 = (a^2 + b^2) / 2 - (w / 2)^2.

    ``None`` where the two tapes are too short for the bar's ``width``, mm; `MISSING` where neither
    string nor tapes were read. ``key`` and ``file`` go into problems.
    """
    resit = spread["resit_length"]
    if taken.navel_to_bar is not None:
        return reported(taken.navel_to_bar, spread["navel_to_bar"], resit), ()
    if taken.navel_to_grip_ends is None:
        return MISSING, ()
    left, right = taken.navel_to_grip_ends
    square = 0.5 * (left.value**2 + right.value**2) - (0.5 * width) ** 2
    if square <= 0.0:
        text = (
            f"the tapes navel to grip end ({left.value:.0f} and {right.value:.0f} mm) are "
            f"shorter than half the bar's width ({0.5 * width:.0f} mm); measure both tapes and "
            "the width again"
        )
        return None, (Problem(text, key, file, level=ERROR),)
    value = float(np.sqrt(square))
    tapes = [reported(tape, spread["navel_to_grip_ends"], 0.0) for tape in (left, right)]
    tape_sd = float(np.hypot(left.value * tapes[0].sd, right.value * tapes[1].sd)) / (2.0 * value)
    count = min(left.count, right.count)
    made = Reported(value, float(np.hypot(tape_sd, resit / np.sqrt(count))))
    apart = left.value - right.value
    if abs(apart) <= TWIST:
        return made, ()
    side = "left" if apart > 0.0 else "right"
    text = (
        f"the {side} tape is {abs(apart):.0f} mm longer: the rider sat turned or the bar was not "
        "straight; sit square and measure again, or leave it if that is how the rider sits"
    )
    return made, (Problem(text, key, file, level=NOTE),)


EACH_SIDE = ("lever_angle", "forearm_angle", "knee_angle", "lever_reach")
"""Numbers of a use that may be wished left and right."""


def alike(wish: Cockpit | Standing, table: str, file: str) -> Iterator[Problem]:
    """A note where a number is wished left and right and both are the same.

    ``table`` is what stands before the number's name in a key, with its dot.
    """
    for name in EACH_SIDE:
        reading: Reading | None = getattr(wish, name, None)
        if reading is None or reading.sides is None or reading.sides[0] != reading.sides[1]:
            continue
        text = (
            f"left and right are the same, so both sides count as alike: write "
            f"{name} = {reading.value:g}, or the side's own figure"
        )
        yield Problem(text, f"{table}{name}", file, level=NOTE)


def forearm_read(cockpit: Cockpit, spread: Mapping[str, float]) -> Reported:
    """Forearm angle, read from a photo or from a lever set in line with the forearm.

    Of arms that differ it is their mean.
    """
    if cockpit.forearm_angle is not None:
        return reported(cockpit.forearm_angle, spread["forearm_angle"], spread["resit_angle"])
    lever = cockpit.lever_angle or Reading(0.0)
    return reported(lever, spread["lever_angle"], spread["resit_angle"])


def reported(reading: Reading, table: float, resit: float) -> Reported:
    """Reading with its spread, sitting down again included; repeated readings share it out."""
    one = table if reading.sd is None else reading.sd
    return Reported(reading.value, mean_sd(reading, float(np.hypot(one, resit))))


def _lean(cockpit: Cockpit) -> Reported:
    """Prior of the lean."""
    if cockpit.lean is None:
        return Reported(LEAN, LEAN_SD)
    return Reported(cockpit.lean.value, GIVEN_LEAN_SD)


def _value(reading: Reading | None, default: float) -> float:
    """Value of a reading, or the default where there is none."""
    return default if reading is None else reading.value
