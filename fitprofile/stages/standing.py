"""Stage 9a: a rider's standing uses on one bike: numbers, what to change, and balance.

Everything counts from the top of the peg; there is no seat in it. mm and degrees.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from attrs import evolve, fields

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.geometry.vectors import Real, Vec, elevation, leftward_axis, rearward
from fitprofile.model.bike import Bike
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Rider, Standing
from fitprofile.stages import linkage as body
from fitprofile.stages import moves, stance
from fitprofile.stages.complete import Completed
from fitprofile.stages.job import SIDES
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.posture import NO_SIDES, Sides
from fitprofile.stages.siton import GRIP_LENGTH, GRIP_SWEEP
from fitprofile.stages.stance import Stander
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

PEG_SIDE = 250.0
"""mm from the mid-plane to the peg where no bike is known (common practice, no source)."""

USUAL_WIDTH = 800.0
"""mm; bar width of a stand where neither wish, bike nor cockpit says it (common practice, no
source)."""

PEDAL_TOLERANCE = 5.0
"""mm that a pedal's height may be off (estimate)."""

IN_BALANCE = 30.0
"""mm that the centre of mass may stand ahead or behind of the pegs and the hands still let go:
what ankle and toes make up for on a peg under the arch (estimate)."""

ASKEW = 80.0
"""mm by which the rider's own stand may seem out of balance before its numbers are questioned:
about three times what mass fractions and lean leave open (estimate)."""

MOVED_SINCE = 30.0
"""mm between the wish and the bike it was measured on from where one of them is doubted
(estimate)."""

PEDALS = ("brake_pedal", "gear_lever")


@frozen(kw_only=True)
class StandingNumbers:
    """The rider's numbers standing, each (...) float; ``nan``: no such value.

    Parameters
    ----------
    grip_above_peg_mm, grip_ahead_of_peg_mm : float
        Top of the peg to the middle between the grip ends.
    hip_to_grip_mm : float
        From the bony knob of the hip to that middle, standing in balance.
    balance_mm : float
        Centre of mass ahead of the pegs (behind: negative) while the rider keeps the hip as far
        from the grips as wished; `IN_BALANCE` or less lets the hands go.
    forearm_angle_deg : float
        In balance, at the rider's own lean; ``nan`` where the hands do not reach.
    out_of_reach_mm : float
        How far the grips are too far for the arms (too near: negative) there.
    brake_pedal_mm, gear_lever_mm : float
        Above the top of the peg.
    """

    grip_above_peg_mm: Real
    grip_ahead_of_peg_mm: Real
    bar_width_mm: Real
    hip_to_grip_mm: Real = np.nan
    balance_mm: Real = np.nan
    forearm_angle_deg: Real = np.nan
    lever_angle_deg: Sides = NO_SIDES
    grip_tilt_deg: Real = np.nan
    grip_sweep_deg: Real = np.nan
    brake_pedal_mm: Real = np.nan
    gear_lever_mm: Real = np.nan
    lean_deg: Real = np.nan
    elbow_angle_deg: Real = np.nan
    out_of_reach_mm: Real = 0.0


@frozen(kw_only=True)
class Stood:
    """A standing use of a rider, calibrated once, ready for any bike.

    Parameters
    ----------
    use : str
    wish : Standing
        As written.
    stander : Stander
        The body as it stands.
    own_ahead_mm : float
        What the model makes of the centre of mass in the rider's own stand, in which the rider
        balances: its own error, taken off on every bike. 0 where no hip-to-grip was measured.
    target : StandingNumbers
        What is to be brought about; ``nan`` where nothing was wished.
    tolerances : mapping of str to float
        By number, mm and degrees.
    """

    use: str
    wish: Standing
    stander: Stander
    own_ahead_mm: float
    target: StandingNumbers
    tolerances: Mapping[str, float]


def standing_tolerances(tolerances: Mapping[str, float]) -> dict[str, float]:
    """Tolerance of each number that is judged standing, from those in force sitting; mm, degrees.

    The grips' place has that of navel-to-bar.
    """
    return {
        "grip_above_peg": tolerances["navel_to_bar"],
        "grip_ahead_of_peg": tolerances["navel_to_bar"],
        "bar_width": tolerances["bar_width"],
        "lever_angle": tolerances["lever_angle"],
        "brake_pedal": PEDAL_TOLERANCE,
        "gear_lever": PEDAL_TOLERANCE,
    }


def stood(
    rider: Rider,
    use: str,
    whole: Completed,
    calibrated: Linkage,
    reference: tuple[Bike, BikePoints] | None,
    tolerances: Mapping[str, float],
    felt: Standing | None = None,
) -> tuple[Stood, tuple[Problem, ...]]:
    """One standing use, calibrated by its own measured hip-to-grip.

    Parameters
    ----------
    calibrated : Linkage
        From the sit-ons of the rider's seated uses, as measured where there are none; peg under
        the ball of the foot.
    reference : (Bike, BikePoints) or None
        The bike it was measured on.
    felt : Standing or None
        What is wished once the log has had its say (`fitprofile.stages.standing_wish`); ``None``:
        what is written.

    Returns
    -------
    stood : Stood
    problems : tuple of Problem
        With ``file`` and ``key`` of the rider's file.

    Notes
    -----
    The wish's own numbers place the grips against the peg, so the pose in which they were taken is
    known but for the hip. A measured hip-to-grip says where that was, on the circle that the soft
    leg leaves it; the model's centre of mass is then off the pegs by its own error, for the rider
    did balance. Without it the hip is put where the model balances.
    """
    wish = rider.standing[use] if felt is None else felt
    one = stance.stander(calibrated, whole, _of(wish.lean, stance.STANDING_LEAN))
    width = _of(wish.bar_width, np.nan)
    own = _own_points(wish, reference, _width(rider, width, reference))
    ahead, problems = 0.0, _against_bike(rider, use, reference)
    measured = _of(wish.hip_to_grip, np.nan)
    if np.isfinite(measured):
        pose = stance.holding(one, own, measured)
        ahead = float(pose.ahead_mm)
        problems += _odd(rider, use, one, own, ahead)
        ahead = float(np.nan_to_num(ahead))
    shown = _shown(one, stance.balanced(one, own, ahead), own)
    target = evolve(
        shown,
        bar_width_mm=width,
        grip_sweep_deg=np.nan if reference is None else shown.grip_sweep_deg,
        balance_mm=0.0,
        lever_angle_deg=_levers(wish.lever_angle, float(shown.forearm_angle_deg)),
        brake_pedal_mm=_of(wish.brake_pedal, np.nan),
        gear_lever_mm=_of(wish.gear_lever, np.nan),
    )
    made = Stood(
        use=use,
        wish=rider.standing[use],
        stander=one,
        own_ahead_mm=ahead,
        target=target,
        tolerances=standing_tolerances(tolerances),
    )
    return made, problems


def numbers_standing(
    one: Stood, points: BikePoints, lever_angle: Sides = NO_SIDES, pedals: Vec | None = None
) -> StandingNumbers:
    """The rider's numbers standing on a bike as it is.

    Parameters
    ----------
    points : BikePoints
        Left side, mm, components (...).
    lever_angle : Sides
        As read, degrees.
    pedals : triple of float, optional
        Peg from which the pedals in ``points.others`` are counted; they follow their peg.
    """
    pose = stance.balanced(one.stander, points, one.own_ahead_mm)
    held = stance.holding(one.stander, points, one.target.hip_to_grip_mm)
    return evolve(
        _shown(one.stander, pose, points),
        balance_mm=held.ahead_mm - one.own_ahead_mm,
        lever_angle_deg=lever_angle,
        **pedal_heights(points, points.peg if pedals is None else pedals),
    )


def numbers_on_each(
    one: Stood, bikes: Sequence[BikePoints], levers: Sequence[Sides], peg: Vec
) -> tuple[StandingNumbers, ...]:
    """`numbers_standing` on several states of one bike at once, scalars each.

    Parameters
    ----------
    bikes : sequence of BikePoints
        Scalars, mm; pedals are the first one's and follow their peg, ``peg`` as found.
    levers : sequence of Sides
        As read in each state, degrees.
    """
    stacked = {
        name: Vec(*np.array([[float(c) for c in getattr(points, name)] for points in bikes]).T)
        for name in ("peg", "clamp", "grip_end", "grip_inner")
    }
    points = BikePoints(seat=bikes[0].seat, others=bikes[0].others, **stacked)
    slopes = Sides(*(np.array([float(getattr(one, side)) for one in levers]) for side in SIDES))
    found = numbers_standing(one, points, slopes, pedals=peg)
    return tuple(_picked(found, index) for index in range(len(bikes)))


def _picked(found: StandingNumbers, index: int) -> StandingNumbers:
    """Numbers of one state out of the stack; a number that all share stands once."""

    def scalar(value: Real) -> float:
        made = np.asarray(value)
        return float(made.flat[index % made.size])

    picked: dict[str, float | Sides] = {}
    for part in fields(StandingNumbers):
        value: Real | Sides = getattr(found, part.name)
        picked[part.name] = (
            Sides(scalar(value.brake), scalar(value.clutch))
            if isinstance(value, Sides)
            else scalar(value)
        )
    return StandingNumbers(**picked)  # type: ignore[arg-type]  # each field by its own name


def standing_misfits(one: Stood, shown: StandingNumbers) -> dict[str, float]:
    """Shown less wished in tolerances, by number; what is not wished or not there is left out."""
    found: dict[str, float] = {}
    for name in ("grip_above_peg", "grip_ahead_of_peg", "bar_width", *PEDALS):
        off = float(getattr(shown, f"{name}_mm")) - float(getattr(one.target, f"{name}_mm"))
        if np.isfinite(off):
            found[name] = off / one.tolerances[name]
    for side in SIDES:
        off = float(
            getattr(shown.lever_angle_deg, side) - getattr(one.target.lever_angle_deg, side)
        )
        if np.isfinite(off):
            found[f"lever_angle.{side}"] = off / one.tolerances["lever_angle"]
    return found


def pedal_heights(points: BikePoints, peg: Vec) -> dict[str, Real]:
    """Height of each pedal above the top of a peg, mm."""
    tips = {name: points.others.get(name) for name in PEDALS}
    return {
        f"{name}_mm": np.nan if tip is None else np.subtract(tip.z, peg.z)
        for name, tip in tips.items()
    }


def _shown(one: Stander, pose: stance.Stance, points: BikePoints) -> StandingNumbers:
    """What a pose shows."""
    bar, hand, rider = body.bar_point(points), body.hand(points), one.rider
    grip = points.grip_end.minus(points.grip_inner)
    beyond = body.out_of_reach(rider, pose.shoulder, hand)
    return StandingNumbers(
        grip_above_peg_mm=np.subtract(bar.z, points.peg.z),
        grip_ahead_of_peg_mm=np.subtract(bar.x, points.peg.x),
        bar_width_mm=np.multiply(points.grip_end.y, 2.0),
        hip_to_grip_mm=stance.hip_to_grip(one, pose, points),
        forearm_angle_deg=body.forearm_angle(rider, pose.shoulder, hand),
        grip_tilt_deg=np.degrees(elevation(grip)),
        grip_sweep_deg=np.degrees(rearward(grip)),
        lean_deg=one.lean_deg,
        elbow_angle_deg=body.elbow_angle(rider, pose.shoulder, hand),
        out_of_reach_mm=beyond,
    )


def _levers(wish: Reading | None, forearm: float) -> Sides:
    """Slope wished of each lever, degrees; in line with the forearm where none is written."""
    if wish is None:
        return Sides(forearm, forearm)
    return Sides.of_hands(*(wish.sides or (wish.value, wish.value)))


def _own_points(
    wish: Standing, reference: tuple[Bike, BikePoints] | None, width: float
) -> BikePoints:
    """Peg and grips as the wish has them, peg in the origin of the mid-plane."""
    side, long = PEG_SIDE, GRIP_LENGTH
    axis = leftward_axis(np.radians(0.0), np.radians(GRIP_SWEEP))
    if reference is not None:
        points = reference[1]
        side = float(points.peg.y)
        grip = points.grip_end.minus(points.grip_inner)
        axis, long = moves.grip_axis(points), float(np.hypot(grip.x, np.hypot(grip.y, grip.z)))
    end = Vec(wish.grip_ahead_of_peg.value, 0.5 * width, wish.grip_above_peg.value)
    return BikePoints(
        seat=Vec(np.nan, 0.0, np.nan),
        peg=Vec(0.0, side, 0.0),
        clamp=Vec(end.x, 0.0, end.z),
        grip_end=end,
        grip_inner=end.minus(axis.times(long)),
    )


def _width(rider: Rider, wished: float, reference: tuple[Bike, BikePoints] | None) -> float:
    """Bar width of the rider's own stand, mm: as wished, as on its bike, as sitting, or usual."""
    if np.isfinite(wished):
        return wished
    if reference is not None:
        return 2.0 * float(reference[1].grip_end.y)
    return next((seat.bar_width.value for seat in rider.cockpits.values()), USUAL_WIDTH)


def _odd(
    rider: Rider, use: str, one: Stander, own: BikePoints, ahead: float
) -> tuple[Problem, ...]:
    """A hip-to-grip that no stand has, or one far out of balance."""
    if abs(ahead) <= ASKEW:
        return ()
    balance = float(stance.hip_to_grip(one, stance.balanced(one, own), own))
    why = (
        "leaves no place for the hip with soft knees"
        if np.isnan(ahead)
        else f"puts the body {abs(ahead):.0f} mm {'ahead of' if ahead > 0.0 else 'behind'} the pegs"
    )
    text = (
        f"this hip-to-grip {why}, where nobody lets go of the bar; balanced it would be about "
        f"{balance:.0f} mm: measure it, the lean and the grips against the peg again"
    )
    return (Problem(text, f"standing.{use}.hip_to_grip", rider.file, level=WARNING),)


def _against_bike(
    rider: Rider, use: str, reference: tuple[Bike, BikePoints] | None
) -> tuple[Problem, ...]:
    """Grips that are elsewhere on the bike they were measured on."""
    wish = rider.standing[use]
    if reference is None:
        return ()
    bike, points = reference
    bar = body.bar_point(points)
    found = []
    for key, taped in (
        ("grip_above_peg", float(bar.z - points.peg.z)),
        ("grip_ahead_of_peg", float(bar.x - points.peg.x)),
    ):
        wished = getattr(wish, key).value
        if abs(wished - taped) > MOVED_SINCE:
            text = (
                f"{wished:.0f} mm here, {taped:.0f} on '{bike.key}' as taped, where it was "
                "measured; tape both again, or take measured_on out if that bike was changed"
            )
            found.append(Problem(text, f"standing.{use}.{key}", rider.file, level=WARNING))
    return tuple(found)


def reference_note(rider: Rider, use: str) -> Problem:
    """A standing use whose bike cannot be used."""
    named = rider.standing[use].measured_on
    text = (
        "no bike is named that these numbers were measured on, so grips and peg spacing are "
        "guessed; name it here"
        if named is None
        else f"bike '{named}' cannot be used, so grips and peg spacing are guessed; mend its file"
    )
    return Problem(text, f"standing.{use}", rider.file, level=NOTE)


def _of(reading: Reading | None, default: float) -> float:
    """Value of a reading, or the default where there is none."""
    return default if reading is None else reading.value
