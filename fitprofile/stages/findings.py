"""Stage 9c: what a finished transfer has to say in words: gaps, doubts and things to watch."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.stages import linkage as body
from fitprofile.stages import moves
from fitprofile.stages.adjust import largest_navel_to_bar, steepest_forearm
from fitprofile.stages.job import arm_apart
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.survey import BikePoints
from fitprofile.stages.work_findings import (
    apart,
    contact,
    front_end,
    hoses,
    on_bike,
    still,
    tilt,
)
from fitprofile.units import whole

NO_LEVER = "the file has no {} lever, so nothing is said of it"
NO_ANGLE = (
    "the {} lever's angle was not read, so its rotation is not given; lay a straightedge over "
    "grip and blade and read its slope from the side"
)
NO_REACH = (
    "the {} lever's reach was not taped, so its change is not given; measure from the front of "
    "the grip to where the first finger's last crease lands"
)
"""What a file leaves out of a lever."""

HEAVY_LEAN = 60.0
"""Degrees of trunk inclination beyond which ISO 11226:2000 recommends no static posture."""


def find(made: Transfer) -> tuple[Problem, ...]:
    """Problems of one transfer, in the order in which a sheet shows its numbers.

    A value that does not exist is never left without a sentence that says why.
    """
    parts = (
        *(_wish, _as_found, still, _sit_on, _bar, hoses, front_end),
        *(_no_turn, tilt, _sweep, _legs, _levers, contact, _bands),
    )
    return tuple(problem for part in parts for problem in part(made))


def _on_rider(made: Transfer, text: str, key: str, level: str = WARNING) -> Problem:
    """A problem of the rider's file."""
    return Problem(text, f"cockpit.{made.use}.{key}", made.rider.file, level=level)


WRITTEN = ("navel_to_bar", "forearm_angle", "lever_angle", "knee_angle")
"""Numbers of a cockpit that calibration settles, by their keys."""


def unlike_the_file(made: Transfer) -> dict[str, tuple[float, float]]:
    """Numbers as the rider wrote them and as the calibrated body shows them, mm and degrees.

    Only those that differ when both are rounded to whole millimetres and degrees.
    """
    shown = {
        "navel_to_bar": made.target.navel_to_bar_mm,
        "forearm_angle": made.target.forearm_angle_deg,
        "lever_angle": made.target.forearm_angle_deg,
        "knee_angle": made.target.knee_angle_deg,
    }
    pairs = {
        name: (reading.value, float(shown[name]))
        for name in WRITTEN
        if (reading := getattr(made.cockpit, name)) is not None
    }
    return {name: pair for name, pair in pairs.items() if whole(pair[0]) != whole(pair[1])}


def _wish(made: Transfer) -> Iterator[Problem]:
    """Numbers of the rider's file that the calibrated body does not bear out."""
    for name, (written, shown) in unlike_the_file(made).items():
        if abs(written - shown) <= made.tolerances[name]:
            continue
        unit = "mm" if name == "navel_to_bar" else "degrees"
        reading = getattr(made.cockpit, name, None)
        both = " (the mean of left and right)" if reading is not None and reading.sides else ""
        yield _on_rider(
            made,
            f"the file says {name.replace('_', ' ').replace('navel to bar', 'navel-to-bar')} "
            f"{written:.0f} {unit}{both}, the calibrated body shows {shown:.0f}, and that is what "
            "is wished on every bike; measure the body and this number again",
            name,
            NOTE,
        )


def _as_found(made: Transfer) -> Iterator[Problem]:
    """Hands that do not reach the grips as found."""
    joint = body.shoulder(made.linkage, made.points.seat, made.now.lean_deg)
    far = float(body.out_of_reach(made.linkage, joint, body.hand(made.points)))
    if far:
        yield on_bike(
            made,
            f"as found the grips are {apart(far)} for the rider's arms at the rider's own lean, so "
            "there is no forearm or elbow angle to show",
        )


def _sit_on(made: Transfer) -> Iterator[Problem]:
    """Hands that do not reach the grips in the rider's own cockpit."""
    if not made.target.reachable:
        yield _on_rider(
            made,
            "the rider's own cockpit needs longer arms than the body seems to have; measure "
            "navel-to-bar, lean and the arm again",
            "navel_to_bar",
        )


def _bar(made: Transfer) -> Iterator[Problem]:
    """No place of the bar that gives navel-to-bar and forearm angle together."""
    height = made.exact.clip_slide_mm if made.clip_on else made.exact.riser_height_mm
    if np.isfinite(height):
        return
    shaped = _shaped(made)
    distance, forearm = made.target.navel_to_bar_mm, made.target.forearm_angle_deg
    lean = made.target.lean_deg
    steepest = float(steepest_forearm(made.linkage, lean, shaped, distance))
    largest = float(largest_navel_to_bar(made.linkage, lean, shaped, forearm))
    wish = f"navel-to-bar {distance:.0f} mm and a forearm angle of {forearm:.0f} degrees"
    if np.isnan(steepest):
        why = "the arms reach no bar at that distance"
    elif steepest < forearm:
        why = f"with a straight arm the forearm slopes at most {steepest:.0f} degrees there"
    else:
        why = "the bar would have to stand more than 60 degrees above the navel"
    room = f"; the largest navel-to-bar with that forearm angle is {largest:.0f} mm"
    yield on_bike(
        made,
        f"no place of this bar gives {wish} together: {why}"
        f"{room if np.isfinite(largest) else ''}; it takes another width, bend or wish",
        "handlebar",
    )


def _shaped(made: Transfer) -> BikePoints:
    """The bar with width, roll and turn of the exact answer, not yet raised."""
    rake = made.surveyed.rake.value
    turned = moves.turn_clips(made.points, np.nan_to_num(made.exact.clip_turn_deg), rake)
    slid = moves.slide_grips(turned, made.exact.grip_slide_mm)
    return moves.roll_bar(slid, np.nan_to_num(made.exact.bar_roll_deg))


def _no_turn(made: Transfer) -> Iterator[Problem]:
    """A turn of clip-ons asked of a one-piece bar."""
    if made.bike.clip_turn is not None and not made.clip_on and made.bike.clip_turn.value:
        yield on_bike(
            made,
            "clip_turn is for clip-ons and this bar is one-piece, so it is left out; its "
            "roll is in [handlebar]",
            "clip_turn",
            NOTE,
        )


def _sweep(made: Transfer) -> Iterator[Problem]:
    """A sweep that neither the wish nor the good bike says."""
    if np.isnan(made.target.grip_sweep_deg):
        yield _on_rider(
            made,
            "no grip sweep is wished and there is no good bike to give one, so none is aimed at; "
            "lay a rod along the grip and read from above how far it points back",
            "grip_sweep",
            NOTE,
        )


def _legs(made: Transfer) -> Iterator[Problem]:
    """Knee angles that pegs or seat cannot give."""
    if np.isnan(made.now.knee_angle_deg):
        yield on_bike(
            made,
            "as found the pegs are out of the legs' reach, so there is no knee angle to show; "
            "check the heights of seat and peg",
            "heights.peg",
        )
    if np.isnan(made.exact.peg_move_mm.x):
        yield on_bike(
            made,
            "no peg on the line from hip to ankle gives the wished knee angle; the pegs are too "
            "far apart for it",
            "widths.peg",
        )
    elif np.isnan(made.exact.with_seat_raise.seat_raise_mm):
        yield on_bike(
            made,
            "no seat height gives the wished knee angle with the pegs so far ahead; only moving "
            "the pegs does",
            "heights.seat",
            NOTE,
        )


def _levers(made: Transfer) -> Iterator[Problem]:
    """Levers that the bike lacks, whose angle was not read, or whose reach was not taped."""
    yield from _arms(made)
    for side in ("brake", "clutch"):
        lever = getattr(made.bike.levers, side)
        texts = [
            NO_LEVER if lever is None else "",
            NO_ANGLE if lever is not None and lever.angle is None else "",
            NO_REACH if lever is not None and lever.reach is None else "",
        ]
        for text in filter(None, texts):
            yield on_bike(made, text.format(side), f"levers.{side}", NOTE)
    if np.isnan(made.target.lever_reach_mm.brake) and np.isnan(made.target.lever_reach_mm.clutch):
        yield _on_rider(
            made,
            "no lever reach is wished and the good bike gives none, so none is changed; tape it "
            "from the front of the grip to where the first finger's last crease lands",
            "lever_reach",
            NOTE,
        )


def _arms(made: Transfer) -> Iterator[Problem]:
    """Arms that are wished differently: what the bar is placed for, and what each lever."""
    right, left = (float(arm_apart(made.target, side)) for side in ("brake", "clutch"))
    if left == right:
        return
    mean = float(made.target.forearm_angle_deg)
    key = "forearm_angle" if made.cockpit.lever_angle is None else "lever_angle"
    yield _on_rider(
        made,
        "the arms are wished differently: the bar is placed for the mean of both, "
        f"{mean:.0f} degrees, and each lever is set to its own arm, left {mean + left:.0f} and "
        f"right {mean + right:.0f}",
        key,
        NOTE,
    )


def _bands(made: Transfer) -> Iterator[Problem]:
    """Lean and knee angle outside the rider's own bands, or beyond what ISO 11226 recommends."""
    limits = made.rider.limits
    for key, words, value, band in (
        ("lean", "leans", made.target.lean_deg, limits.lean),
        ("knee_angle", "bends the knee to", made.target.knee_angle_deg, limits.knee_angle),
    ):
        if band is not None and not band[0] <= float(value) <= band[1]:
            yield Problem(
                f"the cockpit '{made.use}' {words} {value:.0f} degrees, outside the rider's own "
                f"band of {band[0]:.0f} to {band[1]:.0f}",
                f"limits.{key}",
                made.rider.file,
                level=WARNING,
            )
    if made.target.lean_deg > HEAVY_LEAN:
        yield _on_rider(
            made,
            f"a lean of {made.target.lean_deg:.0f} degrees is beyond the {HEAVY_LEAN:.0f} that ISO "
            "11226 sets as the end of what it recommends",
            "lean",
            NOTE,
        )
