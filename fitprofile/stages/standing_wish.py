"""Stage 9f: a standing use's wish from the profile and from what felt right standing.

The same rule as sitting (`fitprofile.stages.wish`): number by number the mean of what was read
where it felt right, the profile's own first, each weighed by one over the square of its spread. A
figure of the bike itself has the spread of what the rider feels of it; what is read of the body has
that of tape and standing up again. Of arms that differ the mean of both is meant; each keeps the
profile's distance from it. A number that the profile does not wish stays unwished.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from attrs import evolve

from fitprofile.errors import NOTE, Problem
from fitprofile.model.log import Entry
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import HELP, Rider, Standing
from fitprofile.model.shop import Shop
from fitprofile.stages.entries import log_file
from fitprofile.stages.repeats import SAT, contradictions_sat
from fitprofile.stages.siton import Reported, alike, felt, reported
from fitprofile.stages.standing import standing_tolerances
from fitprofile.stages.wish import TOLERANCE, Seen, Told, disagreement, mean_of, moved_words

STOOD_AGAIN = "tape and standing up again explain"


NUMBERS: Mapping[str, Told] = {
    "grip_above_peg": Told("place of the grips above the peg", "mm", "higher", TOLERANCE),
    "grip_ahead_of_peg": Told(
        "place of the grips ahead of the peg", "mm", "further ahead", TOLERANCE
    ),
    "bar_width": Told("bar width", "mm", "wider", TOLERANCE),
    "hip_to_grip": Told("hip-to-grip", "mm", "longer", STOOD_AGAIN),
    "lever_angle": Told("lever angle", "degrees", "steeper", STOOD_AGAIN),
    "lean": Told("lean", "degrees", "further forward", STOOD_AGAIN),
    "brake_pedal": Told("height of the brake pedal", "mm", "higher", TOLERANCE),
    "gear_lever": Told("height of the gear lever", "mm", "higher", TOLERANCE),
}
"""By field of `Standing` and of `Entry`; how each is read stands in `SAT`."""


def wished_standing(
    rider: Rider, use: str, log: Sequence[Entry], shop: Shop
) -> tuple[Standing, tuple[Problem, ...]]:
    """What a standing use wishes once every stand that felt right has had its say.

    Parameters
    ----------
    log : sequence of Entry
        In the order of the file.

    Returns
    -------
    wish : Standing
        The profile's own, readings replaced by the means.
    problems : tuple of Problem
        A warning for each number in which two bikes, or the profile's own repeated readings,
        disagree, and a note where a mean is not the profile's figure, or where one was read that
        the profile does not wish.
    """
    own, file = rider.standing[use], log_file(rider)
    right = [one for one in log if one.use == use and one.felt_right]
    allowed = standing_tolerances({**shop.tolerances, **rider.tolerances})
    made: dict[str, Reading] = {}
    spread = {name: pair[HELP.index(rider.tape)] for name, pair in shop.spreads.items()}
    table = f"standing.{use}."
    problems = list(contradictions_sat(own, spread, table, rider.file))
    problems += alike(own, table, rider.file)
    for name, words in NUMBERS.items():
        tolerance = allowed.get(name, 0.0)
        seen = list(_seen(right, name, shop, tolerance))
        if not seen:
            continue
        mine: Reading | None = getattr(own, name)
        if mine is None:
            text = (
                f"the {words.words} felt right here and is not wished, as the profile has "
                f"none; write it under [standing.{use}] to wish it"
            )
            problems.append(Problem(text, name, file, seen[-1].line or None, NOTE))
            continue
        read = _reported(rider.tape, mine, name, shop, tolerance)
        everything = [Seen(own.measured_on or "", read, 0), *seen]
        problems += disagreement(use, name, words, everything, file)
        mean = mean_of([one.read for one in everything])
        made[name] = _moved_to(mine, mean)
        if round(mean) != round(mine.value):
            text = moved_words(words, mean, mine.value, len(everything))
            problems.append(Problem(text, f"{table}{name}", rider.file, level=NOTE))
    return evolve(own, **made), tuple(problems)  # type: ignore[arg-type]  # by its own names


def _moved_to(mine: Reading, mean: float) -> Reading:
    """The profile's own figure moved to a mean; arms that differ keep their distance from it."""
    if mine.sides is None:
        return Reading(mean)
    left, right = (side + mean - mine.value for side in mine.sides)
    return Reading(mean, sides=(left, right))


def _seen(right: Sequence[Entry], name: str, shop: Shop, tolerance: float) -> Iterator[Seen]:
    """Readings of one number where it felt right."""
    for entry in right:
        reading: Reading | None = getattr(entry, name)
        if reading is not None:
            read = _reported(entry.tape, reading, name, shop, tolerance)
            yield Seen(entry.bike, read, entry.line or 0)


def _reported(tape: str, reading: Reading, name: str, shop: Shop, tolerance: float) -> Reported:
    """A reading with its spread as a wish."""
    row, again = SAT[name]
    column = HELP.index(tape)
    table = shop.spreads[row][column]
    if again is not None:
        return reported(reading, table, shop.spreads[again][column])
    return felt(reading, table, tolerance)
