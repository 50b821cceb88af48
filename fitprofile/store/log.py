"""A rider's log to the entries in it: strict, record by record, and what is broken left out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, datetime
from functools import lru_cache
from itertools import islice
from pathlib import Path
from typing import Any

import tomli
from attrs import evolve

from fitprofile.errors import ERROR, WARNING, Problem
from fitprofile.model.log import AFTER, BEFORE, MEASURED, SEATED, STOOD, Entry
from fitprofile.model.rider import NavelToBar
from fitprofile.store.blocks import (
    HEADER_LINE,
    WHOLE,
    WHOLE_LINE,
    Block,
    cut_header,
    newest_first,
    split,
    strays,
)
from fitprofile.store.folders import LOG_ENDING, PROFILES
from fitprofile.store.log_dates import slip_words, slips
from fitprofile.store.mistakes import Found, Gather, Mistakes, mistake, unknown
from fitprofile.store.riders import ALTERNATIVES, read_grip_ends
from fitprofile.store.schema_version import schema_problems
from fitprofile.store.structure import Shape, class_reader, make_converter, range_of
from fitprofile.store.toml import Document, parse_document, why_unopened
from fitprofile.store.words import read_bike_key, read_notes, read_text, why_no_file_key
from fitprofile.units import describe

LONGEST_LOG = 50_000_000
"""Bytes; some hundred thousand records."""

NEWEST_DATES = 50
"""Records with whose dates a new one's is compared as it is written."""

CUT_SHORT = (
    "this record is cut short and left out; the others are used: complete it and end it with the "
    f"line {WHOLE_LINE}, or put # before each of its lines"
)
OUTSIDE = (
    f"this stands outside any record and is left out: a record begins with {HEADER_LINE} and ends "
    f"with {WHOLE_LINE}; put # before what is only a remark"
)
FITTED_BEFORE = 'this belongs to the work: write when = "after", or take this out'
NOTHING_MEASURED = "nothing measured is in it: give at least one number, as in knee_angle = 88"

Problems = tuple[Problem, ...]
Ask = Callable[[Entry], Iterable[tuple[str, str]]]
"""What is odd about an entry: key and sentence."""


def log_file(rider: str) -> str:
    """Path of a rider's log inside the workspace."""
    return f"{PROFILES}/{rider}{LOG_ENDING}"


def read_content(root: Path, rider: str) -> tuple[bytes, Problems]:
    """The bytes of a rider's log; empty where there is none yet or it cannot be read."""
    shown = log_file(rider)
    try:
        with (root / shown).open("rb") as file:
            content = file.read(LONGEST_LOG + 1)
    except FileNotFoundError:
        return b"", ()
    except OSError as error:
        return b"", (Problem(why_unopened(error), file=shown),)
    if len(content) > LONGEST_LOG:
        return b"", (Problem("too long for a log: is it the right file?", file=shown),)
    return content, ()


def read_log(
    content: bytes, shown: str, ask: Ask = lambda _: (), today: str | None = None
) -> tuple[tuple[Entry, ...], Problems]:
    """The entries of a log, in the order of the file, and everything that is wrong with it.

    Parameters
    ----------
    content : bytes
        The whole file.
    shown : str
        What to call it.
    ask : Ask
        What else is odd about an entry; becomes warnings.
    today : str or None
        Day, ISO 8601, that no date should lie after; ``None``: not known.

    Returns
    -------
    entries : tuple of Entry
        The records that are whole and right.
    problems : tuple of Problem
        An error for each mistake in a record, which is then left out; a warning for a record
        cut short and for one whose date is doubted (`fitprofile.store.log_dates`), which is kept.
    """
    head, blocks = split(content)
    problems, readable = _head_problems(head, shown, records=bool(blocks))
    if not readable:
        return (), tuple(problems)
    entries: list[Entry] = []
    documents: list[Document] = []
    for block in blocks:
        entry, document, found = _read_block(block, shown)
        problems += found
        if entry is None or document is None:
            continue
        problems += (
            _moved(document.problem((key,), text, WARNING), block.line) for key, text in ask(entry)
        )
        entries.append(entry)
        documents.append(document)
    dates = [entry.date for entry in entries]
    for slip in slips(dates, today):
        other = None if slip.against is None else entries[slip.against].line
        text = slip_words(dates, slip, today, "" if other is None else f", line {other}")
        odd = documents[slip.at].problem(("date",), text, WARNING)
        problems.append(_moved(odd, entries[slip.at].line or 0))
    return tuple(entries), tuple(problems)


def read_entry(data: Mapping[str, object], line: int | None = None) -> Entry:
    """The entry that a record describes.

    Raises
    ------
    Mistakes
        Everything that is wrong with it, with paths from the record inward.
    """
    gather = Gather()
    gather.found += both_given(data)
    entry: Entry | None = gather.here(_reader(), dict(data), {"line": line})
    for key in ("fitted", "planned_lean"):
        if key in data and data.get("when", BEFORE) != AFTER:
            gather.add(FITTED_BEFORE, key)
    if not gather.found and data.keys().isdisjoint(MEASURED):
        gather.add(NOTHING_MEASURED)
    if entry is None or gather.found:
        raise Mistakes(gather.found)
    return entry


def both_given(data: Mapping[str, object]) -> list[Found]:
    """Two ways of measuring one number, where both are there."""
    return [
        ((other,), f"{one} and {other} are both given: keep the one that was measured")
        for one, other in ALTERNATIVES
        if one in data and other in data
    ]


def out_of_place(
    keys: Iterable[str], use: str, *, standing: bool, shown: Callable[[str], str] = str
) -> Iterator[tuple[str, str]]:
    """Measured numbers that this kind of use does not have: key, and what it has in their place.

    Parameters
    ----------
    keys : iterable of str
        Those of a record; what is not measured is passed over.
    use : str
    standing : bool
        Whether the rider stands in this use.
    shown : callable
        How a key is called where it is named.
    """
    own, other = (STOOD, SEATED) if standing else (SEATED, STOOD)
    listed = ", ".join(shown(key) for key in own if key not in other)
    for key in keys:
        if key in MEASURED and key not in own:
            yield (
                key,
                (
                    f"measured {'sitting' if standing else 'standing'}, and '{use}' is a "
                    f"{'standing' if standing else 'seated'} use: it has {listed}"
                ),
            )


def read_part_names(raw: object) -> tuple[str, ...]:
    """Names of parts, none of them given twice; a name may be said alone."""
    items = raw if isinstance(raw, list) else [raw]
    gather = Gather()
    names = [gather.part(index, read_text, item) for index, item in enumerate(items)]
    gather.check()
    found = tuple(name for name in names if name is not None)
    twice = next((name for name in found if found.count(name) > 1), None)
    if twice is not None:
        raise mistake(f"{describe(twice)} is named twice: once is enough")
    return found


def read_moment(raw: object) -> str:
    """A day or a moment, from TOML or from text, in ISO 8601."""
    if isinstance(raw, date):  # a moment is one too
        return raw.isoformat()
    text = read_text(raw)
    for kind in (date, datetime):
        try:
            return kind.fromisoformat(text).isoformat()
        except ValueError:
            continue
    raise mistake(f"{describe(raw)} is no date: write it like 2026-05-17 or 2026-05-17T14:30")


def newest_dates(content: bytes) -> tuple[tuple[int, str], ...]:
    """Line of each of the `NEWEST_DATES` last whole records that has a date, and that date.

    In the order of the file. What is read does not grow with the log.
    """
    found = []
    for block in islice(newest_first(content), NEWEST_DATES):
        try:
            found.append((block.line, read_moment(_data(block).get("date"))))
        except Mistakes:
            continue
    return tuple(reversed(found))


def was_changed(content: bytes, bike: str) -> bool:
    """Whether a record says that it was taken after work on this bike."""
    if AFTER.encode() not in content:
        return False
    return any(
        (data := _data(block)).get("when") == AFTER and data.get("bike") == bike
        for block in newest_first(content)
        if AFTER.encode() in block.body and bike.encode() in block.body
    )


def _data(block: Block) -> dict[str, Any]:
    """What a record holds, empty where it cannot be read."""
    try:
        return tomli.loads(block.body.decode())
    except ValueError:
        return {}


def _head_problems(head: bytes, shown: str, *, records: bool) -> tuple[list[Problem], bool]:
    """What is wrong above the first record, and whether the records may be read."""
    problems: list[Problem] = []
    cut = cut_header(head)
    if cut:
        problems.append(Problem(CUT_SHORT, None, shown, head.rstrip().count(b"\n") + 1, WARNING))
        head = head.rstrip().removesuffix(cut)
    if not head.strip():
        if records:
            problems.append(Problem("schema is missing: add schema = 1 at the top", None, shown, 1))
        return problems, True
    document, found = parse_document(head, shown)
    if document is None:
        return [*found, *problems], True
    strangers = (key for key in document.data if key != "schema")
    problems += (document.problem((key,), unknown(key, ("schema",))) for key in strangers)
    found = schema_problems(document, required=True)
    return [*found, *problems], not found or "schema" not in document.data


def _read_block(block: Block, shown: str) -> tuple[Entry | None, Document | None, list[Problem]]:
    """The entry of one record, the record as TOML, and what is wrong with it or after it."""
    after = _stray_problems(block, shown)
    if not block.whole:
        return None, None, [Problem(CUT_SHORT, None, shown, block.line, WARNING)]
    document, found = parse_document(block.body, shown)
    if document is None:
        return None, None, [*(_moved(problem, block.line) for problem in found), *after]
    data = {key: value for key, value in document.data.items() if key != WHOLE}
    try:
        return read_entry(data, block.line), document, after
    except Mistakes as mistakes:
        wrong = (_moved(document.problem(path, text), block.line) for path, text in mistakes.found)
        return None, None, [*wrong, *after]


def _stray_problems(block: Block, shown: str) -> list[Problem]:
    """What stands after the end of a record and belongs to none."""
    if not strays(block.rest):
        return []
    cut = cut_header(block.rest)
    if cut and not strays(block.rest.rstrip().removesuffix(cut)):
        line = block.rest_line + block.rest.strip().count(b"\n")
        return [Problem(CUT_SHORT, None, shown, line, WARNING)]
    return [Problem(OUTSIDE, None, shown, block.rest_line, ERROR)]


def _moved(problem: Problem, lines: int) -> Problem:
    """A problem of a record with its line in the file."""
    return evolve(problem, line=(problem.line or 1) + lines)


@lru_cache(maxsize=1)
def _reader() -> Callable[[object, Mapping[str, object]], Any]:
    """Reader of one record, made at the first."""
    grip_ends = range_of(NavelToBar)
    shape = Shape(
        readers={
            "bike": read_bike_key,
            "use": _read_use,
            "date": read_moment,
            "navel_to_grip_ends": lambda raw: read_grip_ends(raw, grip_ends),
            "fitted": read_part_names,
            "done": read_notes,
            "notes": read_notes,
        },
        given=("line",),
    )
    return class_reader(Entry, shape, make_converter().get_structure_hook)


def _read_use(raw: object) -> str:
    """Name of a cockpit; whether the rider has it is the workspace's question."""
    use = read_text(raw)
    why = why_no_file_key(use)
    if why is not None:
        raise mistake(why)
    return use
