"""Stage 8j: one figure of a plan and what a workshop holds it against."""

from __future__ import annotations

from math import isfinite, nan

from fitprofile.values import frozen

MM = "mm"
DEG = "deg"


@frozen(kw_only=True)
class Check:
    """One workshop check of a plan.

    Parameters
    ----------
    what : str
        Stable key. It begins with its group (``lock``, ``thumb``, ``hose``, ``diameter``,
        ``pins``, ``perch``, ``reservoir``, ``lever``, ``law``, ``pedals``, ``straddle``,
        ``front_end``); the rest says which one, as in ``"hose.front_brake"``.
    words : str
        What is looked at, in the words of the trade.
    value, limit : float
        The figure, and what it is held against; ``nan`` where there is none.
    unit : str
        ``"mm"`` or ``"deg"``.
    least : bool
        True: the figure must be at least the limit. False: at most.
    ok : bool or None
        ``None``: cannot be judged from here, somebody has to look.
    why : str
        How figure and limit come about, or what is missing and what to do.
    """

    what: str
    words: str
    value: float
    limit: float
    unit: str
    least: bool
    ok: bool | None
    why: str


def held(
    what: str,
    words: str,
    value: float,
    limit: float,
    why: str,
    *,
    unit: str = MM,
    least: bool = False,
    sure: bool = True,
) -> Check:
    """A figure held against its limit.

    ``sure=False``: either rests on a guess, so nobody but an eye can judge. The same where one
    of the two is ``nan``.
    """
    known = sure and isfinite(value) and isfinite(limit)
    fits = value >= limit if least else value <= limit
    return Check(
        what=what,
        words=words,
        value=float(value),
        limit=float(limit),
        unit=unit,
        least=least,
        ok=bool(fits) if known else None,
        why=why,
    )


def to_look_at(what: str, words: str, why: str, *, value: float = nan, unit: str = MM) -> Check:
    """Something that only an eye or a hand can judge, with its figure where there is one."""
    return held(what, words, value, nan, why, unit=unit)
