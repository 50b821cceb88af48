"""The dates of a log against each other and against today: which of them is most likely wrong.

The order of the file counts, whatever the dates say; a date that does not follow it is only asked
about. One rule for everybody: first, what lies after today is wrong. Of the others, as few as
possible are doubted: those that have to change so that no record is dated before an earlier-written
one; and where either of two would do, the later-written.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from datetime import datetime
from functools import cmp_to_key
from typing import NamedTuple


class Slip(NamedTuple):
    """A date that is most likely wrong.

    Parameters
    ----------
    at : int
        Which of the dates.
    against : int or None
        The date that it does not go together with; ``None``: it lies after today.
    """

    at: int
    against: int | None


def slips(dates: Sequence[str], today: str | None = None) -> tuple[Slip, ...]:
    """Dates that are most likely wrong, in the order of the file.

    Parameters
    ----------
    dates : sequence of str
        Days or moments, ISO 8601, in the order of the file.
    today : str or None
        Day, ISO 8601; ``None``: not known, and no date lies after it.
    """
    future = {at for at, date in enumerate(dates) if today is not None and date[:10] > today}
    others = [at for at in range(len(dates)) if at not in future]
    kept = {others[at] for at in _in_order([dates[at] for at in others])}
    found = [Slip(at, None) for at in future]
    for at in others:
        against = None if at in kept else _against(dates, kept, at)
        found += [] if against is None else [Slip(at, against)]
    return tuple(sorted(found, key=lambda slip: slip.at))


def slip_words(dates: Sequence[str], slip: Slip, today: str | None, place: str = "") -> str:
    """The sentence for one slip.

    ``place`` says where the other record stands, as in ``, line 17``.
    """
    date = dates[slip.at]
    if slip.against is None:
        return f"{date} lies after today, {today}: correct it here, or the computer's clock"
    side, which = ("before", "an earlier") if slip.against < slip.at else ("after", "a later")
    return (
        f"{date} lies {side} {dates[slip.against]}, the date of {which} record{place}: the order "
        f"of the file counts; correct whichever is wrong"
    )


def lies_before(one: str, other: str) -> bool:
    """Whether a day or moment lies before another; days alone where one of them has no hour."""
    first, second = datetime.fromisoformat(one), datetime.fromisoformat(other)
    comparable = (first.tzinfo is None) == (second.tzinfo is None)
    if "T" in one and "T" in other and comparable:
        return first < second
    return first.date() < second.date()


def _compare(one: str, other: str) -> int:
    """Below 0 where the first is the later one, 0 where neither lies before the other."""
    return int(lies_before(one, other)) - int(lies_before(other, one))


_LATEST_FIRST = cmp_to_key(_compare)


def _in_order(dates: Sequence[str]) -> Iterator[int]:
    """The longest choice of dates that never go back; of several, the earliest-written.

    From the end upward each date learns how many can follow it: ``starts[n]`` is the latest date
    that begins a choice of n + 1.
    """
    starts: list[str] = []
    follow: list[int] = []
    for date in reversed(dates):
        place = bisect_right(starts, _LATEST_FIRST(date), key=_LATEST_FIRST)
        starts[place : place + 1] = [date]
        follow.append(place)
    last, wanted = None, len(starts) - 1
    for at, (date, place) in enumerate(zip(dates, reversed(follow), strict=True)):
        if place == wanted and (last is None or not lies_before(date, last)):
            yield at
            last, wanted = date, wanted - 1


def _against(dates: Sequence[str], kept: set[int], at: int) -> int | None:
    """The nearest record that a doubted date contradicts, the earlier-written first.

    ``None`` where it contradicts none: a day and a moment of it have no order, so that one of three
    may be left over.
    """
    above = (other for other in range(at - 1, -1, -1) if other in kept)
    below = (other for other in range(at + 1, len(dates)) if other in kept)
    for other in above:
        if lies_before(dates[at], dates[other]):
            return other
    return next((other for other in below if lies_before(dates[other], dates[at])), None)
