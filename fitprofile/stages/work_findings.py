"""Stage 9b: what the work leaves to say: hands that do not reach, hoses, front end, tilt, knees.

Of the practical answer all of it; of a plan that takes its place, what its checks do not say.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.stages import linkage as body
from fitprofile.stages.clearance import LIGHT, LIGHTER
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.posture import COMFORT_STOP

FREE_RISE = 20.0
"""mm the bar may usually go up before hoses and cables are worth a word (common practice, no
source)."""

SHORT_HOSES = 30.0
"""mm of rise above which one hose or cable usually is too short (common practice, no source)."""

STILL = "allows"
"""Key of the finding that the hands do not reach the grips even when the work is done."""


def find_of_work(made: Transfer) -> tuple[Problem, ...]:
    """Findings that speak of the practical answer: another one has others."""
    parts = (still, hoses, front_end, tilt, contact)
    return tuple(problem for part in parts for problem in part(made))


def find_of_plan(made: Transfer, *, new_bar: bool) -> tuple[Problem, ...]:
    """What a plan in place of the practical answer leaves to say beside its workshop checks.

    Parameters
    ----------
    made : Transfer
        With the plan in place of the practical answer.
    new_bar : bool
        Another bar or other clip-ons than the bike has, whose tilt the plan's numbers tell.

    Returns
    -------
    tuple of Problem
        Hoses and front end are left to the checks.
    """
    parts = (contact,) if new_bar else (tilt, contact)
    return tuple(problem for part in parts for problem in part(made))


def on_bike(made: Transfer, text: str, key: str | None = None, level: str = WARNING) -> Problem:
    """A problem of the bike's file."""
    return Problem(text, key, made.bike.file, level=level)


def apart(far: float) -> str:
    """How far grips are out of the arms' reach, mm: ``31 mm too far``, ``less than 1 mm too near``.

    Parameters
    ----------
    far : float, mm
        Too near: negative.

    Examples
    --------
    >>> apart(0.4), apart(-31.2)
    ('less than 1 mm too far', '31 mm too near')
    """
    size = f"{abs(far):.0f} mm"
    return f"{'less than 1 mm' if size == '0 mm' else size} too {'far' if far > 0.0 else 'near'}"


def still(made: Transfer) -> Iterator[Problem]:
    """Hands that still do not reach once the work is done."""
    after = made.practical
    joint = body.shoulder(made.linkage, after.points.seat, made.target.lean_deg)
    far = float(body.out_of_reach(made.linkage, joint, body.hand(after.points)))
    if far:
        yield on_bike(
            made,
            f"after this work the grips are still {apart(far)} for the rider's arms: what this "
            "bike allows does not bring the bar to the rider; that takes another bar or another "
            "bike",
            STILL,
        )


def hoses(made: Transfer) -> Iterator[Problem]:
    """A bar that goes up further than hoses and cables usually allow."""
    done = made.practical.changes
    rise = float(np.nan_to_num(done.clip_slide_mm if made.clip_on else done.riser_height_mm))
    if rise <= FREE_RISE:
        return
    expect = (
        "expect one hose or cable too short" if rise > SHORT_HOSES else "check every hose and cable"
    )
    yield on_bike(
        made,
        f"the bar goes up {rise:.0f} mm: {expect}; dry-fit on packers and turn lock to lock, fork "
        "extended and compressed, before parts are bought",
        "hoses",
        WARNING if rise > SHORT_HOSES else NOTE,
    )


def front_end(made: Transfer) -> Iterator[Problem]:
    """Hands that go up and back together, so far that weight leaves the front wheel."""
    step = body.hand(made.practical.points).minus(body.hand(made.points))
    up, back = float(step.z), -float(step.x)
    if min(up, back) <= LIGHT:
        return
    yield on_bike(
        made,
        f"the hands go {up:.0f} mm up and {back:.0f} back: weight leaves the front wheel and it "
        "may get light; ride it gently first, and let somebody check sag and damping",
        "handlebar",
        WARNING if min(up, back) > LIGHTER else NOTE,
    )


def tilt(made: Transfer) -> Iterator[Problem]:
    """Grips that cannot be brought to the wished tilt."""
    off = float(made.now.grip_tilt_deg) - float(made.target.grip_tilt_deg)
    if made.clip_on:
        if "grip_tilt" in made.practical.missed and np.isfinite(made.levelling_turn_deg):
            yield on_bike(
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
        yield on_bike(
            made,
            f"the bar is too straight for roll to change the grips' tilt, which is "
            f"{_degrees(off)} off the wish; "
            f"{'it may stay' if left else 'a bar of another bend would'}",
            "handlebar",
            NOTE if left else WARNING,
        )


def _degrees(size: float) -> str:
    """``1 degree``, ``2 degrees``; the sign is left out."""
    whole = f"{abs(size):.0f}"
    return f"{whole} degree{'' if whole == '1' else 's'}"


def contact(made: Transfer) -> Iterator[Problem]:
    """Calf against hamstring once the work is done, at the ball of the foot and at mid-foot."""
    done, near = made.contact_after, []
    for words, room, knee in (
        ("ball of the foot", done.room_deg.ball, done.knee_angle_deg.ball),
        ("middle of the foot", done.room_deg.mid_foot, done.knee_angle_deg.mid_foot),
    ):
        if room < 0.0:
            yield on_bike(
                made,
                f"with the {words} on the peg, calf and hamstring still touch "
                f"({knee:.0f} degrees at the knee); lower the pegs or raise the seat",
                "heights.peg",
            )
        elif knee < COMFORT_STOP:
            near.append(f"with the {words} on the peg the knee is at {knee:.0f} degrees")
    if near:
        yield on_bike(
            made,
            f"{', '.join(near)}: trousers and boots may press behind it",
            "heights.peg",
            NOTE,
        )
