"""A sit-on asked for question by question, in the order in which it is measured."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from textwrap import fill

import click

from fitprofile.cli.printing import width
from fitprofile.cli.record_options import PLAN_NAMES
from fitprofile.errors import Problem
from fitprofile.model.log import AFTER, SEATED, STOOD
from fitprofile.report.logbook import LABELS, REMARKS
from fitprofile.store.answers import read_answer
from fitprofile.store.log_guide import (
    DANGER,
    FELT_RIGHT,
    LETS_GO,
    LOG_GUIDE,
    STANDING_GUIDE,
)

Record = dict[str, object]
ReadParts = Callable[[str], tuple[Record, Sequence[str]]]
"""What a record says of the parts, or the plan, that an answer names, and what is wrong with it."""

HOW = (
    "Enter alone skips a question. Several readings: 51.2 cm; 51.6 cm. A number without a unit is "
    "in mm or degrees. Ctrl-C stops, and then nothing is written."
)

OR_A_PLAN = f"Or the plan that was carried out: {', '.join(PLAN_NAMES)}."

INSTEAD = {"navel_to_grip_ends": "navel_to_bar", "lever_angle": "forearm_angle"}
"""Asked for only where the other was skipped."""

ENDS = "navel_to_grip_ends"
YES = {"y": True, "yes": True, "n": False, "no": False}


def ask(
    defaults: Record,
    given: Record,
    read_parts: ReadParts,
    *,
    standing: bool = False,
) -> Record:
    """Everything that was not given as an option; skipped questions are left out.

    Parameters
    ----------
    defaults : dict
        ``when`` and ``tape`` to offer.
    given : dict
        Keys that were options.
    read_parts : ReadParts
        Reads the answer to which parts were fitted; asked for only after the work.
    standing : bool
        Whether the rider stands in this use: other numbers, and balance is the test.

    Raises
    ------
    click.Abort
        At Ctrl-C or the end of the input.
    """
    _say(DANGER)
    _say(HOW)
    answers: Record = {}
    if "when" not in given:
        answers["when"] = _choice("when", "Before the work or after it", str(defaults["when"]))
    if "tape" not in given:
        answers["tape"] = _choice("tape", "Tape held alone or with a helper", str(defaults["tape"]))
    after = {**defaults, **given, **answers}["when"] == AFTER
    if after and "fitted" not in given:
        answers |= _fitted(read_parts)
    guide = STANDING_GUIDE if standing else LOG_GUIDE
    for key in STOOD if standing else SEATED:
        if INSTEAD.get(key) not in answers:
            answers |= _both_ends() if key == ENDS else _one(key, LABELS[key][0], guide)
    if "felt_right" not in given:
        answers["felt_right"] = _yes(LETS_GO if standing else FELT_RIGHT)
    for key in REMARKS:
        if key not in given:
            answers |= _one(key, key.capitalize(), guide)
    return answers


def _one(key: str, label: str, guide: Mapping[str, str]) -> Record:
    """One answer, asked for until it can be read; nothing where it was skipped."""
    _say(guide[key])
    return dict(_asked(key, label))


def _both_ends() -> Record:
    """Left and right tape; one alone is of no use."""
    _say(LOG_GUIDE[ENDS])
    sides: list[object] = []
    for side in ("left", "right"):
        sides += [value for _, value in _asked(ENDS, f"{LABELS[ENDS][0]}, {side}")]
        if not sides:
            return {}
    if len(sides) == 1:
        click.echo("one tape alone says nothing: it was left out", err=True)
        return {}
    return {ENDS: sides}


def _fitted(read_parts: ReadParts) -> Record:
    """Parts that the work put on the bike; nothing where the question was skipped."""
    _say(f"{LOG_GUIDE['fitted']} {OR_A_PLAN}")
    while text := _prompt("Parts fitted"):
        done, wrong = read_parts(text)
        if not wrong:
            return done
        for why in wrong:
            click.echo(why, err=True)
    return {}


def _asked(key: str, label: str) -> Iterator[tuple[str, object]]:
    while text := _prompt(label):
        value = read_answer(key, text)
        if not isinstance(value, Problem):
            yield key, value
            return
        click.echo(value.text, err=True)


def _choice(key: str, label: str, default: str) -> object:
    while True:
        value = read_answer(key, _prompt(f"{label} [{default}]") or default)
        if not isinstance(value, Problem):
            return value
        click.echo(value.text, err=True)


def _yes(label: str) -> bool:
    while True:
        answer = YES.get(_prompt(f"{label} [no]").lower() or "no")
        if answer is not None:
            return answer
        click.echo("answer yes or no", err=True)


def _prompt(label: str) -> str:
    """What was typed; prompts go to standard error, so that JSON stays alone on the other."""
    typed: str = click.prompt(label, default="", show_default=False, err=True)
    return typed.strip()


def _say(words: str) -> None:
    click.echo(f"\n{fill(words, min(width(), 100))}", err=True)
