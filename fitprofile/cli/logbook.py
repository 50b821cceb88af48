"""What `record` and `history` do: a sit-on into a rider's log, and the log shown."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from attrs import evolve

from fitprofile.cli.printing import (
    DONE,
    IN_DATA,
    print_json,
    print_problems,
    records,
    unknown,
    width,
    wrong_use,
    wrongly_used,
)
from fitprofile.cli.record_options import MEASURING, PAIR, PLAN_NAMES
from fitprofile.cli.session import open_workspace
from fitprofile.cli.sheets import today
from fitprofile.errors import WARNING, Problem, has_errors
from fitprofile.model.log import AFTER, MEASURED, SEATED, STOOD
from fitprofile.model.rider import MID_FOOT
from fitprofile.store.workspace import NO_COCKPIT, Workspace

if TYPE_CHECKING:
    from fitprofile.model.rider import Rider

NOTHING_WRITTEN = "nothing was written"
FIRST = ("date", "bike", "use")
"""Keys that open a record."""

Record = dict[str, object]


def record(
    root: Path | None, rider_key: str, bike: str, given: Mapping[str, Any], *, as_json: bool
) -> int:
    """Add a sit-on, from options or question by question, to a rider's log; exit code."""
    workspace = open_workspace(root)
    if rider_key not in workspace.rider_keys():
        return unknown("rider", rider_key, workspace.rider_keys())
    if bike not in workspace.bike_keys():
        return unknown("bike", bike, workspace.bike_keys())
    rider, problems = workspace.rider(rider_key)
    if rider is None:
        print_problems(problems)
        return IN_DATA
    use, code = _use(rider, given["use"])
    if use is None:
        return code
    options, wrong = _from_options(given, use, standing=use in rider.standing)
    options = {"date": today(), "bike": bike, "use": use, **options}
    if not wrong and (given["fitted"] or given["plan"]):
        wrong = _with_parts(workspace, rider_key, options, given)
    if wrong:
        print_problems(wrong)
        return wrongly_used(tuple(wrong))
    return _record(workspace, rider, options, as_json=as_json)


def history(root: Path | None, rider_key: str, bike: str | None, *, as_json: bool) -> int:
    """Show a rider's log; exit code."""
    workspace = open_workspace(root)
    if rider_key not in workspace.rider_keys():
        return unknown("rider", rider_key, workspace.rider_keys())
    entries, problems = workspace.log(rider_key)
    bikes = tuple(dict.fromkeys((*workspace.bike_keys(), *(entry.bike for entry in entries))))
    if bike is not None and bike not in bikes:
        return unknown("bike", bike, bikes)
    shown = [entry for entry in entries if bike in (None, entry.bike)]
    from fitprofile.report.logbook import entry_record, history_text

    if as_json:
        told = [entry_record(entry) for entry in shown]
        print_json({"rider": rider_key, "entries": told, "problems": records(problems)})
    else:
        rider, _ = workspace.rider(rider_key)
        click.echo(history_text(rider_key if rider is None else rider.name, shown, width()))
        if not shown:
            click.echo(f"`fitprofile record {rider_key} {bike or 'BIKE'}` writes the first")
        print_problems(problems)
    return IN_DATA if has_errors(problems) else DONE


def _record(workspace: Workspace, rider: Rider, options: Record, *, as_json: bool) -> int:
    """The rest of `record`, once rider, bike, use and options are right."""
    from fitprofile.store.log import log_file, read_content, was_changed

    content, problems = read_content(workspace.root, rider.key)
    if problems:
        print_problems(problems)
        return IN_DATA
    after = "when" not in options and was_changed(content, str(options["bike"]))
    defaults: Record = {"when": "after" if after else "before", "tape": rider.tape}
    cockpit = rider.cockpits.get(str(options["use"]))
    defaults["foot"] = MID_FOOT if cockpit is None else cockpit.foot
    answers, code = _answers(workspace, rider, defaults, options)
    if answers is None:
        return code
    made = {key: options[key] for key in FIRST} | defaults | options | answers
    problems = _clock(content, log_file(rider.key), str(made["date"]))
    written = workspace.record(rider.key, made)
    if isinstance(written, Problem):
        print_problems((written,))
        return IN_DATA
    _show(rider.key, made, written, problems, as_json=as_json)
    return DONE


def _with_parts(
    workspace: Workspace, rider: str, options: Record, given: Mapping[str, Any]
) -> list[Problem]:
    """Put the parts that were fitted among the options; what is wrong with them.

    Parts are fitted in the work, so the sit-on is one after it where that was not said.
    """
    from fitprofile.cli.fitting import Done, done_by_plan, read_names

    if options.setdefault("when", AFTER) != AFTER:
        text = "parts are fitted in the work: this goes with --when after"
        return [Problem(text, "--plan" if given["plan"] else "--fitted")]
    bike, done = str(options["bike"]), Done()
    if given["plan"]:
        done = done_by_plan(workspace, rider, bike, str(options["use"]), given["plan"])
        if done.problems:
            return [evolve(one, key=one.key if one.file else "--plan") for one in done.problems]
    own, wrong = read_names(workspace, rider, bike, given["fitted"])
    parts = tuple(dict.fromkeys((*done.parts, *own)))
    options.update(done._replace(parts=parts).record())
    return [Problem(text, "--fitted") for text in wrong]


def _use(rider: Rider, asked: str | None) -> tuple[str | None, int]:
    """The use asked for, or the first; ``None`` with the exit code where there is none."""
    uses = (*rider.cockpits, *rider.standing)
    if asked is not None and asked not in uses:
        return None, unknown(f"use of {rider.key}", asked, uses)
    if not uses:
        print_problems((Problem(NO_COCKPIT, file=rider.file),))
        return None, IN_DATA
    return asked or uses[0], DONE


def _from_options(
    given: Mapping[str, Any], use: str, *, standing: bool
) -> tuple[Record, list[Problem]]:
    """What was given on the command line, and what of it cannot be read or is of no such use."""
    from fitprofile.store.answers import twice_given
    from fitprofile.store.log import out_of_place

    read = dict(_read_options(given))
    wrong = [value for value in read.values() if isinstance(value, Problem)]
    wrong += twice_given(read)
    strays = out_of_place(read, use, standing=standing, shown=_option)
    wrong += [Problem(text, key) for key, text in strays]
    return read, [Problem(one.text, _option(one.key or "")) for one in wrong]


def _read_options(given: Mapping[str, Any]) -> Iterator[tuple[str, object]]:
    from fitprofile.store.answers import read_answer

    for name, _, _ in MEASURING:
        key = _key(name)
        if name == PAIR and given[key]:
            sides = [read_answer(key, *side) for side in zip(*given[key], strict=True)]
            yield key, next((one for one in sides if isinstance(one, Problem)), sides)
        elif given[key]:
            yield key, read_answer(key, *given[key])
    for key in ("date", "when", "tape", "gear", "done", "by", "notes"):
        if given[key] is not None:
            yield key, read_answer(key, given[key])
    if given["felt_right"]:
        yield "felt_right", True


def _answers(
    workspace: Workspace, rider: Rider, defaults: Record, options: Record
) -> tuple[Record | None, int]:
    """Answers to the questions, none of them where a measured number was given."""
    standing = options["use"] in rider.standing
    if not options.keys().isdisjoint(MEASURED):
        return {}, DONE
    if not on_terminal():
        names = ", ".join(_option(key) for key in (STOOD if standing else SEATED))
        call = f"fitprofile record {rider.key} {options['bike']} --use {options['use']}"
        told = f"nothing measured was given: give at least one of {names}, or call `{call}`"
        return None, wrong_use(f"{told} on a terminal to be asked")
    from fitprofile.cli.fitting import done_by_plan, read_names
    from fitprofile.cli.questions import ask

    def read_parts(text: str) -> tuple[Record, tuple[str, ...]]:
        bike, plan = str(options["bike"]), text.lower()
        if plan not in PLAN_NAMES:
            names, wrong = read_names(workspace, rider.key, bike, (text,))
            return {"fitted": names}, wrong
        done = done_by_plan(workspace, rider.key, bike, str(options["use"]), plan)
        return done.record(), tuple(one.text for one in done.problems)

    try:
        answers = ask(defaults, options, read_parts, standing=standing)
    except (click.Abort, KeyboardInterrupt, EOFError):
        click.echo(f"\nstopped: {NOTHING_WRITTEN}", err=True)
        return None, IN_DATA
    if answers.keys().isdisjoint(MEASURED):
        click.echo(f"no number was measured: {NOTHING_WRITTEN}", err=True)
        return None, IN_DATA
    return answers, DONE


def on_terminal() -> bool:
    """Whether somebody is there to be asked."""
    return sys.stdin.isatty()


def _key(option: str) -> str:
    return option.removeprefix("--").replace("-", "_")


def _option(key: str) -> str:
    return f"--{key.replace('_', '-')}"


def _clock(content: bytes, shown: str, date: str) -> tuple[Problem, ...]:
    """Warnings of dates that cannot be right, this record's and those that it shows to be wrong."""
    from fitprofile.store.log import newest_dates
    from fitprofile.store.log_dates import slip_words, slips

    earlier, now = newest_dates(content), today()
    dates, new = [*(day for _, day in earlier), date], len(earlier)
    found = []
    for slip in slips(dates, now):
        if new not in slip and slip.against is not None:
            continue  # `check` has named it already
        place = ", this one" if slip.against == new else ""
        if slip.against not in (None, new):
            place = f", line {earlier[slip.against][0]}"
        line = None if slip.at == new else earlier[slip.at][0]
        text = slip_words(dates, slip, now, place)
        found.append(Problem(text, "date", shown, line, WARNING))
    return tuple(found)


def _show(
    rider: str, made: Record, path: Path, problems: tuple[Problem, ...], *, as_json: bool
) -> None:
    """What was written, and what is odd about it."""
    from fitprofile.report.logbook import entry_lines, entry_record
    from fitprofile.store.log import read_entry

    entry = read_entry(made)
    if as_json:
        told = entry_record(entry)
        del told["line"]
        print_json({"rider": rider, **told, "problems": records(problems)})
        return
    click.echo(f"added to {path}:")
    click.echo("\n".join(entry_lines(entry, width())))
    print_problems(problems)
