"""Plain text for a terminal: a standing use on one bike, and on several."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap

from fitprofile.report.standing_plan import chosen_lines, standing_plan_lines
from fitprofile.report.terminal import NARROWEST, WIDTH, problem_lines, table
from fitprofile.report.uses import HEAD, balance_words, change_lines, standing_lines
from fitprofile.report.wording import STANDING, figure
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.standing_moves import StandingOn
from fitprofile.stages.standing_plans import as_stood

PLACE = ("grip_above_peg", "grip_ahead_of_peg")


def standing_text(transfer: Transfer, use: str, width: int = WIDTH) -> str:
    """Numbers, what to do, balance and notes of one standing use on one bike.

    Where the shop lists parts, what to do is the chosen plan.
    """
    offers = transfer.offers
    planned = offers is not None and offers.listed
    if planned:
        transfer = as_stood(transfer, use)
    one = transfer.standing[use]
    head = f"{transfer.rider.name} on {transfer.bike.name}, {use}, standing"
    work = _plan(transfer, width) if planned else _changes(one, width)
    lines = [
        *_wrapped(head, width),
        "",
        *table(HEAD, standing_lines(one)),
        "",
        *work,
        "",
        *_wrapped(_balance(one), width),
        *problem_lines(transfer.problems, width),
    ]
    return "\n".join(lines) + "\n"


def _plan(transfer: Transfer, width: int) -> Iterator[str]:
    """The chosen plan from real parts."""
    if transfer.offers is None:
        return
    for line in standing_plan_lines(transfer, transfer.offers):
        yield from _wrapped(line.words, width, line.first, line.then) or [""]


def _changes(one: StandingOn, width: int) -> Iterator[str]:
    """The practical answer, where the shop lists no parts."""
    changes = list(change_lines(one)) or ["nothing: every number is inside its tolerance"]
    yield "What to change, in this order:"
    yield from _numbered(changes, width)


def standing_garage(transfers: Sequence[Transfer], use: str, width: int = WIDTH) -> str:
    """A row a bike with the grips' place as found less wished, then each bike's work.

    That is the chosen plan where the shop lists parts, else the changes by figures.
    """
    lines = [
        "As found less wished:",
        *table(
            ("bike", *(STANDING[key][0].lower() for key in PLACE)),
            [(made.bike.name, *_off(made.standing[use])) for made in transfers],
        ),
    ]
    for made in transfers:
        stood = as_stood(made, use)
        lines += ["", made.bike.name]
        for words in (*_work(stood, use), _balance(stood.standing[use])):
            lines += _wrapped(words, width, "  ")
    return "\n".join(lines) + "\n"


def _work(made: Transfer, use: str) -> Iterator[str]:
    """One bike's plan in a line and what it leaves outside, or its changes."""
    if made.offers is not None and made.offers.listed:
        yield from chosen_lines(made, made.offers)
    else:
        yield from tuple(change_lines(made.standing[use])) or ("nothing to change",)


def _off(one: StandingOn) -> Iterator[str]:
    for key in PLACE:
        shown, wished = (float(getattr(n, f"{key}_mm")) for n in (one.now, one.target))
        yield figure(shown - wished, STANDING[key][1], signed=True)


def _balance(one: StandingOn) -> str:
    """What becomes of the balance, as found and afterwards; a guessed pose."""
    now, after = (balance_words(numbers) for numbers in (one.now, one.after))
    return (
        f"Balance (estimated): as found {now or 'there is no such stand'}; "
        f"afterwards {after or 'there is none'}."
    )


def _numbered(lines: Sequence[str], width: int) -> Iterator[str]:
    for count, line in enumerate(lines, start=1):
        yield from _wrapped(f"{count}. {line}", width, "  ", "     ")


def _wrapped(words: str, width: int, first: str = "", then: str | None = None) -> list[str]:
    rest = f"{first}  " if then is None else then
    return wrap(
        words,
        max(width, NARROWEST),
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
    )
