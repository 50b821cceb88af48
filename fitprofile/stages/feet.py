"""Stage 8q: pedals that follow peg and foot, and both feet on the ground at a stop."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fitprofile.geometry.vectors import Vec, slope_below
from fitprofile.model.bike import STATES, Straddle
from fitprofile.model.quantity import Reading
from fitprofile.stages.check import DEG, Check, held, to_look_at
from fitprofile.stages.complete import MEASURED, SOLE, Completed
from fitprofile.stages.job import Job
from fitprofile.stages.plan import Plan

PEDALS = {"brake_pedal": "brake pedal", "gear_lever": "gear lever"}

STILL = 0.05
"""mm that a peg may be off and still not have moved."""

SEAT_WIDTH, SEAT_WIDTH_DOUBT = 260.0, 60.0
"""mm; saddle where the thighs lie at a stop, and how far it may be off (estimate)."""

SAG, SAG_DOUBT = 30.0, 20.0
"""mm that a bike sinks under its rider at the seat, and how far it may be off (estimate)."""

RIDER_ON = STATES[2]


def pedal_checks(job: Job, plan: Plan) -> tuple[Check, ...]:
    """How far each pedal has to follow its peg, ahead and up, and the angle if it were left.

    Returns
    -------
    tuple of Check
        One for each pedal where the pegs stay, else three, for the eye: two in mm, ahead and up
        positive, and one in degrees by which the pedal, left alone, would stand lower seen from
        the peg.
    """
    step = plan.points.peg.minus(job.points.peg)
    ahead, up = float(step.x), float(step.z)
    if abs(ahead) <= STILL and abs(up) <= STILL:
        return tuple(
            held(f"pedals.{name}", f"{words}: follows the peg", 0.0, 0.0, "the pegs stay")
            for name, words in PEDALS.items()
        )
    return tuple(check for name in PEDALS for check in _follow(job, plan, name, (ahead, up)))


def set_check(name: str, change: float) -> Check:
    """A pedal that is set to another height above its peg, for the eye; mm, up positive."""
    why = (
        "it is moved by itself: sit and stand on it, the sole reaches it with the foot level; the "
        "rear brake is not held on, its light comes and every gear engages"
    )
    return to_look_at(f"pedals.{name}", f"{PEDALS[name]}: set anew", why, value=change)


def _follow(job: Job, plan: Plan, name: str, step: tuple[float, float]) -> Iterator[Check]:
    what, words = f"pedals.{name}", PEDALS[name]
    why = (
        "peg and foot move, so it goes with them: set it so that the sole rests on it with the "
        "foot level, and see that it does not hold the brake on or catch the ground"
    )
    for part, value in zip(("ahead", "up"), step, strict=True):
        yield to_look_at(f"{what}.{part}", f"{words}: move {part} with the peg", why, value=value)
    tip = job.points.others.get(name)
    turn = np.nan if tip is None else left_alone(job.points.peg, plan.points.peg, tip)
    why = "it was not taped: tape its tip" if tip is None else "how much lower it would stand"
    yield to_look_at(
        f"{what}.angle", f"{words}: angle from the peg if left", why, value=turn, unit=DEG
    )


def left_alone(before: Vec, after: Vec, tip: Vec) -> float:
    """Degrees by which a pedal that stays stands lower, seen from a peg that moved."""
    turn = slope_below(after, tip) - slope_below(before, tip)
    return float(np.degrees(np.arctan2(np.sin(turn), np.cos(turn))))


def straddle_check(job: Job, body: Completed, plan: Plan) -> Check:
    """Way down one side of the saddle and up the other against twice the inside leg.

    Returns
    -------
    Check
        ``value`` is 2 x (seat height - sag) + seat width, ``limit`` 2 x (inseam + sole). Width
        and sag that were not taped are guessed; then it is judged only where the guess may be
        off by its doubt without changing the answer.

    Notes
    -----
    The inside of the leg is taken to run straight down the saddle's side (estimate): hips that
    open less, or a wide tank, ask for more. The seat's height is that of the sit point, foam
    already pressed down.
    """
    straddle, on_it = job.bike.straddle, job.bike.state == RIDER_ON
    sag, sag_doubt = (0.0, 0.0) if on_it else _or(straddle.sag, SAG, SAG_DOUBT)
    width, width_doubt = _or(straddle.seat_width, SEAT_WIDTH, SEAT_WIDTH_DOUBT)
    needed = 2.0 * (float(plan.points.seat.z) - sag) + width
    leg, sole = body.measurements["inseam"], body.measurements[SOLE]
    has = 2.0 * (leg.value + sole.value)
    doubt = 2.0 * sag_doubt + width_doubt
    short = needed - has
    return held(
        "straddle",
        "both feet flat on the ground: way over the saddle",
        needed,
        has,
        _why(straddle, short, estimated=leg.source != MEASURED, on_it=on_it),
        sure=abs(short) > doubt or doubt == 0.0,
    )


def _or(taped: Reading | None, usual: float, doubt: float) -> tuple[float, float]:
    """A figure and its doubt: none where it was taped."""
    return (usual, doubt) if taped is None else (taped.value, 0.0)


def _why(straddle: Straddle, short: float, *, estimated: bool, on_it: bool) -> str:
    guessed = [
        name
        for name, taped in (("seat width", straddle.seat_width), ("sag", straddle.sag))
        if taped is None and not (name == "sag" and on_it)
    ]
    parts = ["twice seat height less sag, and the seat's width, against twice inseam and sole"]
    if short > 0.0:
        parts.append(f"each heel stays about {0.5 * short:.0f} mm off the ground")
    if guessed:
        parts.append(f"{' and '.join(guessed)} guessed: tape under [straddle]")
    if estimated:
        parts.append("the inseam is estimated: measure it")
    return "; ".join(parts)
