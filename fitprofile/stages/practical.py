"""Stage 8: what a workshop should really do, and what the bike does not allow."""

from __future__ import annotations

from attrs import frozen

from fitprofile.stages.moves import Changes
from fitprofile.stages.posture import Numbers
from fitprofile.stages.survey import BikePoints


@frozen(kw_only=True)
class Limit:
    """One wish that lies outside what the bike allows.

    Parameters
    ----------
    what : str
        Key of the change (``"bar_roll"``, ``"lever_rotation.brake"``) or of the number that no
        change reaches (``"grip_sweep"``).
    wanted, allowed : float and (float, float) or None
        mm or degrees; ``allowed`` is ``None`` where nothing at all is possible.
    residual : float
        Wanted less the nearest allowed, same unit.
    reason : str
        Why, in a few words for a reader.
    slot_length_mm : float or None
        For a pinned perch: length of the slot that would free it, pin diameter included.
    """

    what: str
    wanted: float
    allowed: tuple[float, float] | None
    residual: float
    reason: str
    slot_length_mm: float | None = None


@frozen(kw_only=True)
class Practical:
    """The answer a sheet prints when no parts are chosen.

    Parameters
    ----------
    changes : Changes
        Zero where a number is left alone; ``nan`` for names of the other bar kind.
    after : Numbers
        The rider's numbers once it is done.
    points : BikePoints
        The bike's points once it is done, mm.
    leave : tuple of str
        Numbers already inside tolerance (``"bar_width"``, ``"lever_angle.brake"`` ...).
    at_limit : tuple of str
        Changes that stop at what the bike allows.
    missed : tuple of str
        Numbers still outside tolerance afterwards.
    """

    changes: Changes
    after: Numbers
    points: BikePoints
    leave: tuple[str, ...] = ()
    at_limit: tuple[str, ...] = ()
    missed: tuple[str, ...] = ()
