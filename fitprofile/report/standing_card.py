"""What a dry-fit card says of a standing plan: the numbers to tape, and what stays outside."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from fitprofile.report.record import plain
from fitprofile.report.shopping import Chosen
from fitprofile.report.standing_plan import off_words
from fitprofile.report.uses import number
from fitprofile.report.wording import STANDING
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.standing import standing_tolerances


class Expected(NamedTuple):
    """One number to tape at the dry fit: mm or degrees, ``nan`` where there is none."""

    key: str
    words: str
    unit: str
    wished: float
    expected: float
    tolerance: float


def standing_numbers(chosen: Chosen) -> Iterator[Expected]:
    """The numbers of the standing use that have a tolerance and that the bike shows."""
    allowed = standing_tolerances(chosen.transfer.tolerances)
    wish = chosen.transfer.standing[chosen.stands].target
    after = chosen.offer.standing[chosen.stands]
    for key, (words, unit) in STANDING.items():
        name = key.partition(".")[0]
        if name in allowed and key in chosen.plan.deviations:
            yield Expected(key, words, unit, number(wish, key), number(after, key), allowed[name])


def standing_misses(chosen: Chosen) -> Iterator[str]:
    """Numbers that the plan leaves outside, with how far they are off."""
    for key, misfit in chosen.plan.deviations.items():
        if abs(misfit) > INSIDE:
            yield off_words(chosen.transfer, key, misfit)


def standing_records(chosen: Chosen) -> list[dict[str, Any]]:
    """The same numbers for JSON."""
    return [
        {
            "number": one.key,
            "wished": plain(one.wished),
            "expected": plain(one.expected),
            "tolerance": one.tolerance,
        }
        for one in standing_numbers(chosen)
    ]
