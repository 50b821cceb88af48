"""Stage 9c: what a finished transfer has to say in words: gaps, doubts and things to watch."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from attrs import evolve

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.stages import linkage as body
from fitprofile.stages import moves
from fitprofile.stages.adjust import largest_navel_to_bar, steepest_forearm
from fitprofile.stages.clearance import LIGHT, LIGHTER
from fitprofile.stages.job import arm_apart
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import COMFORT_STOP
from fitprofile.stages.survey import BikePoints
from fitprofile.units import whole

FREE_RISE = 20.0
"""mm the bar may usually go up before hoses and cables are worth a word (common practice, no
source)."""

SHORT_HOSES = 30.0
"""mm of rise above which one hose or cable usually is too short (common practice, no source)."""

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
    parts = (_hands, _bar, _hoses, _front_end, _tilt, _sweep, _legs, _levers, _contact, _bands)
    return tuple(problem for part in parts for problem in part(made))


def once_worked_on(made: Transfer) -> Transfer:
    """The same without what was found of the bike before the work, and of the work ahead."""
    past = {problem.text for problem in find(made) if problem.file == made.bike.file}
    return evolve(made, problems=tuple(p for p in made.problems if p.text not in past))


def _on_bike(made: Transfer, text: str, key: str | None = None, level: str = WARNING) -> Problem:
    """A problem of the bike's file."""
    return Problem(text, key, made.bike.file, level=level)


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


def _hands(made: Transfer) -> Iterator[Problem]:
    """Hands that do not reach the grips: as found, once the work is done, or in the sit-on itself.

    A wish unlike the rider's file belongs to the sit-on and stands here as well.
    """
    yield from _wish(made)
    joint = body.shoulder(made.linkage, made.points.seat, made.now.lean_deg)
    far = float(body.out_of_reach(made.linkage, joint, body.hand(made.points)))
    if far:
        where = "too far" if far > 0.0 else "too near"
        yield _on_bike(
            made,
            f"as found the grips are {abs(far):.0f} mm {where} for the rider's arms at the rider's "
            "own lean, so there is no forearm or elbow angle to show",
        )
    yield from _still(made)
    if not made.target.reachable:
        yield _on_rider(
            made,
            "the rider's own cockpit needs longer arms than the body seems to have; measure "
            "navel-to-bar, lean and the arm again",
            "navel_to_bar",
        )


STILL = "allows"
"""Key of the finding that the hands do not reach the grips even when the work is done."""


def _still(made: Transfer) -> Iterator[Problem]:
    """Hands that still do not reach once the work is done."""
    after = made.practical
    joint = body.shoulder(made.linkage, after.points.seat, made.target.lean_deg)
    far = float(body.out_of_reach(made.linkage, joint, body.hand(after.points)))
    if far:
        yield _on_bike(
            made,
            f"after this work the grips are still {abs(far):.0f} mm too "
            f"{'far' if far > 0.0 else 'near'} for the rider's arms: what this bike allows does "
            "not bring the bar to the rider; that takes another bar or another bike",
            STILL,
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
    yield _on_bike(
        made,
        f"no place of this bar gives {wish} together: {why}"
        f"{room if np.isfinite(largest) else ''}; it takes another width, bend or wish",
        "handlebar",
    )


def _hoses(made: Transfer) -> Iterator[Problem]:
    """A bar that goes up further than hoses and cables usually allow."""
    done = made.practical.changes
    rise = float(np.nan_to_num(done.clip_slide_mm if made.clip_on else done.riser_height_mm))
    if rise <= FREE_RISE:
        return
    expect = (
        "expect one hose or cable too short" if rise > SHORT_HOSES else "check every hose and cable"
    )
    yield _on_bike(
        made,
        f"the bar goes up {rise:.0f} mm: {expect}; dry-fit on packers and turn lock to lock, fork "
        "extended and compressed, before parts are bought",
        "hoses",
        WARNING if rise > SHORT_HOSES else NOTE,
    )


def _front_end(made: Transfer) -> Iterator[Problem]:
    """Hands that go up and back together, so far that weight leaves the front wheel."""
    step = body.hand(made.practical.points).minus(body.hand(made.points))
    up, back = float(step.z), -float(step.x)
    if min(up, back) <= LIGHT:
        return
    yield _on_bike(
        made,
        f"the hands go {up:.0f} mm up and {back:.0f} back: weight leaves the front wheel and it "
        "may get light; ride it gently first, and let somebody check sag and damping",
        "handlebar",
        WARNING if min(up, back) > LIGHTER else NOTE,
    )


def _shaped(made: Transfer) -> BikePoints:
    """The bar with width, roll and turn of the exact answer, not yet raised."""
    rake = made.surveyed.rake.value
    turned = moves.turn_clips(made.points, np.nan_to_num(made.exact.clip_turn_deg), rake)
    slid = moves.slide_grips(turned, made.exact.grip_slide_mm)
    return moves.roll_bar(slid, np.nan_to_num(made.exact.bar_roll_deg))


def _tilt(made: Transfer) -> Iterator[Problem]:
    """Grips that cannot be brought to the wished tilt."""
    if made.bike.clip_turn is not None and not made.clip_on and made.bike.clip_turn.value:
        yield _on_bike(
            made,
            "clip_turn is for clip-ons and this bar is one-piece, so it is left out; its "
            "roll is in [handlebar]",
            "clip_turn",
            NOTE,
        )
    off = float(made.now.grip_tilt_deg) - float(made.target.grip_tilt_deg)
    if made.clip_on:
        if "grip_tilt" in made.practical.missed and np.isfinite(made.levelling_turn_deg):
            yield _on_bike(
                made,
                f"the grips droop {_degrees(off)} off the wish, as clip-ons do; turning "
                f"each grip end {_degrees(made.levelling_turn_deg)} "
                f"{'rearward' if made.levelling_turn_deg > 0.0 else 'forward'} about its fork tube "
                "would level them",
                "handlebar.kind",
                NOTE,
            )
        return
    if np.isnan(made.exact.bar_roll_deg):
        left = "grip_tilt" in made.practical.leave
        yield _on_bike(
            made,
            f"the bar is too straight for roll to change the grips' tilt, which is "
            f"{_degrees(off)} off the wish; "
            f"{'it may stay' if left else 'a bar of another bend would'}",
            "handlebar",
            NOTE if left else WARNING,
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


def _degrees(size: float) -> str:
    """``1 degree``, ``2 degrees``; the sign is left out."""
    whole = f"{abs(size):.0f}"
    return f"{whole} degree{'' if whole == '1' else 's'}"


def _legs(made: Transfer) -> Iterator[Problem]:
    """Knee angles that pegs or seat cannot give."""
    if np.isnan(made.now.knee_angle_deg):
        yield _on_bike(
            made,
            "as found the pegs are out of the legs' reach, so there is no knee angle to show; "
            "check the heights of seat and peg",
            "heights.peg",
        )
    if np.isnan(made.exact.peg_move_mm.x):
        yield _on_bike(
            made,
            "no peg on the line from hip to ankle gives the wished knee angle; the pegs are too "
            "far apart for it",
            "widths.peg",
        )
    elif np.isnan(made.exact.with_seat_raise.seat_raise_mm):
        yield _on_bike(
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
            yield _on_bike(made, text.format(side), f"levers.{side}", NOTE)
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


def _contact(made: Transfer) -> Iterator[Problem]:
    """Calf against hamstring once the work is done, at the ball of the foot and at mid-foot."""
    done, near = made.contact_after, []
    for words, room, knee in (
        ("ball of the foot", done.room_deg.ball, done.knee_angle_deg.ball),
        ("middle of the foot", done.room_deg.mid_foot, done.knee_angle_deg.mid_foot),
    ):
        if room < 0.0:
            yield _on_bike(
                made,
                f"with the {words} on the peg, calf and hamstring still touch "
                f"({knee:.0f} degrees at the knee); lower the pegs or raise the seat",
                "heights.peg",
            )
        elif knee < COMFORT_STOP:
            near.append(f"with the {words} on the peg the knee is at {knee:.0f} degrees")
    if near:
        yield _on_bike(
            made,
            f"{', '.join(near)}: trousers and boots may press behind it",
            "heights.peg",
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
