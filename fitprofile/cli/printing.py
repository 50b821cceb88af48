"""What every command prints alike: problems, JSON, progress, names that are not known."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from typing import Any

import click

from fitprofile.errors import ERROR, Problem

DONE, IN_DATA, WRONG_USE = 0, 1, 2
"""Exit codes."""

MARKS = {"error": "red", "warning": "yellow", "note": None}

LONG = 6
"""Items from which a bar is worth showing."""


def wrong_use(text: str) -> int:
    """Say what was wrong in the call, as JSON too where that was asked for; exit code."""
    click.echo(text, err=True)
    return wrongly_used((Problem(text),))


def wrongly_used(problems: tuple[Problem, ...]) -> int:
    """The JSON of a wrong use whose sentences stand on standard error already; exit code."""
    context = click.get_current_context(silent=True)
    if context is not None and context.params.get("as_json"):
        print_json({"problems": records(problems)})
    return WRONG_USE


def unknown(what: str, name: str, known: tuple[str, ...]) -> int:
    """Say that a name is not known, and which are."""
    from difflib import get_close_matches

    near = get_close_matches(name, known, 1)
    hint = f"; did you mean '{near[0]}'?" if near else ";"
    listed = ", ".join(known) or "none yet"
    return wrong_use(f"no {what} '{_printable(name)}'{hint} known: {listed}")


def _printable(name: str) -> str:
    """A name as it may be echoed: without control characters, at most 60 characters."""
    clean = "".join(c if c.isprintable() else "?" for c in name)
    return clean if len(clean) <= 60 else f"{clean[:57]}..."  # noqa: PLR2004 - the two lines agree


def print_problems(problems: Iterable[Problem], *, to_error: bool = True) -> None:
    """One line a problem, its level first where it is no error."""
    for problem in problems:
        level = click.style(f"{problem.level}: ", fg=MARKS[problem.level])
        click.echo(f"{level}{problem.sentence()}", err=to_error)


def print_json(value: object) -> None:
    """JSON on standard output; a value that does not exist is null."""
    click.echo(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False))


def records(problems: tuple[Problem, ...]) -> list[dict[str, Any]]:
    """Problems as JSON keeps them."""
    from fitprofile.report.record import problem_records

    return problem_records(problems)


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Each cause once, by file and line."""
    return tuple(sorted(one_each(problems), key=lambda p: (p.file or "", p.line or 0)))


def one_each(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Each problem once, and no warning or note where an error stands at the same key.

    What cannot be used has consequences further on; the error says what to mend.
    """
    once = tuple(dict.fromkeys(problems))
    wrong = {(p.file, p.key) for p in once if p.level == ERROR and p.key is not None}
    return tuple(p for p in once if p.level == ERROR or (p.file, p.key) not in wrong)


def count(number: int, word: str) -> str:
    """``3 bikes``, ``1 bike``."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def progress(items: Any, label: str) -> Any:
    """The same items, with a bar on standard error where a person watches a long list."""
    if len(items) < LONG or not sys.stderr.isatty():
        return items
    return _with_bar(items, label)


def _with_bar(items: Any, label: str) -> Any:
    """Items one by one under a progress bar."""
    with click.progressbar(items, label=label, file=sys.stderr) as bar:
        yield from bar


def width() -> int:
    """Columns of the terminal."""
    from shutil import get_terminal_size

    return get_terminal_size().columns
