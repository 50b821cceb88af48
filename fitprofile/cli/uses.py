"""Uses on the command line: weights between several, and a standing use asked for by name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isfinite
from typing import TYPE_CHECKING, NamedTuple

import click

from fitprofile.cli.printing import (
    DONE,
    IN_DATA,
    one_each,
    print_json,
    print_problems,
    progress,
    records,
    unknown,
    width,
    wrong_use,
)
from fitprofile.cli.session import STANDS_ALONE, is_shared, picked
from fitprofile.errors import Problem, has_errors

if TYPE_CHECKING:
    from fitprofile.cli.session import Session
    from fitprofile.cli.sheets import Sheet
    from fitprofile.model.log import Entry
    from fitprofile.model.rider import Rider
    from fitprofile.stages.chain import Prepared, Transfer

HEAVIEST = 1000.0
"""Largest weight: beyond it a plan between uses is one use's alone."""

EXAMPLE = "--weigh road=80 --weigh track=20"
"""How it is typed."""


def weights_of(
    session: Session, rider: str, use: str | None, given: tuple[str, ...]
) -> tuple[Mapping[str, float], int]:
    """Weights by use, the main use first, and an exit code; what is wrong is said at once."""
    if rider not in session.workspace.rider_keys():
        return {}, unknown("rider", rider, session.workspace.rider_keys())
    known, _ = session.workspace.rider(rider)
    if known is not None and known.standing and not known.cockpits:
        return {}, wrong_use(f"--weigh: {STANDS_ALONE}")
    found: dict[str, float] = {}
    for one in given:
        name, _, weight = (part.strip() for part in one.partition("="))
        stands = known is not None and name in known.standing
        told = _wrong(weight, name in found, stands and not found)
        if told:
            return {}, wrong_use(f"--weigh {one}: {told.format(name)}")
        if known is not None and not stands and name not in known.cockpits:
            return {}, unknown(f"use of {rider}", name, (*known.cockpits, *known.standing))
        found[name] = float(weight.removesuffix("%"))
    main = next(iter(found))
    if use not in (None, main):
        told = f"the first --weigh names the main use, '{main}'"
        return {}, wrong_use(f"--use {use}: {told}; name one and the same, or leave --use out")
    return found, DONE


def _wrong(weight: str, twice: bool, stands_first: bool) -> str:  # noqa: FBT001 - two facts of a use
    """What is wrong with a weight as typed, the use's name left open; empty: nothing."""
    value = _number(weight)
    if value is None:
        return f"write a use and its weight, as in {EXAMPLE}"
    if not 0.0 < value <= HEAVIEST:
        return f"a weight lies above 0 and goes up to {HEAVIEST:.0f}; leave out what counts 0"
    if twice:
        return "'{}' has a weight already"
    if stands_first:
        return "'{}' is a standing use: name a seated one first, which the sheet is then made for"
    return ""


def _number(words: str) -> float | None:
    """A plain finite number, a percent sign allowed."""
    try:
        value = float(words.removesuffix("%"))
    except ValueError:
        return None
    return value if isfinite(value) else None


def transfer_standing(
    session: Session,
    ready: Prepared,
    bike: str,
    use: str,
    *,
    as_json: bool,
    paper: str,
    pdf: bool,
    plan: str | None = None,
) -> int:
    """One standing use on one bike, printed and written as a sheet; exit code."""
    made = stood_on(session, ready, bike, use)
    if made is None:
        if as_json:
            from fitprofile.report.blank import blank_transfer

            print_json(blank_transfer(ready.rider.key, bike, use, session.problems))
        else:
            print_problems(session.problems)
        return IN_DATA
    made, missing = (made, ()) if plan is None else picked(made, plan)
    code = DONE
    if as_json:
        from fitprofile.report.use_record import standing_record

        print_json(standing_record(made, use))
    elif missing:
        print_problems(missing)
    else:
        from fitprofile.cli.sheets import standing_sheet_of, write_sheets
        from fitprofile.report.standing_text import standing_text

        click.echo(standing_text(made, use, width()))
        sheets = [standing_sheet_of(made, use)]
        code = write_sheets(session.workspace, sheets, paper=paper, pdf=pdf)
    return IN_DATA if has_errors(made.problems) else code


def stood_on(
    session: Session, ready: Prepared, key: str, use: str, *, work: bool = True
) -> Transfer | None:
    """A transfer for the sake of a standing use, without the problems of sitting in it.

    ``work``: with its plans, and with what is to be said of the work ahead.
    """
    from attrs import evolve

    from fitprofile.stages.standing_chain import transfer_standing as on
    from fitprofile.stages.standing_plans import as_stood
    from fitprofile.stages.survey import survey
    from fitprofile.stages.uses import standing_findings

    bike = session.bike(key)
    if bike is None:
        return None
    made, problems = on(ready, bike)
    if made is None:
        session.problems += session.workspace.locate(problems)
        return None
    found = survey(bike, ready.shop)[1]
    if work:
        made = session.with_standing_plans(ready, made, use)
        found += standing_findings(as_stood(made, use), use)
    found = (*session.problems, *session.workspace.locate(found), *session.on_it(bike))
    everything = one_each(found)
    log, _ = session.log(ready.rider.key)
    return evolve(
        made, problems=tuple(p for p in everything if _concerns(p, ready.rider, key, use, log))
    )


def _concerns(problem: Problem, rider: Rider, bike: str, use: str, log: tuple[Entry, ...]) -> bool:
    """Whether a problem belongs to this standing use of this rider on this bike."""
    from fitprofile.cli.session import concerns_entry, log_name

    if problem.file == log_name(rider.file):
        return concerns_entry(problem, bike, use, log)
    others = tuple(f"standing.{name}" for name in rider.standing if name != use)
    if is_shared(problem):
        return True
    return problem.file in (None, rider.file, f"bikes/{bike}.toml") and not (
        problem.key or ""
    ).startswith(("cockpit", *others))


def on_bikes(
    session: Session, ready: Prepared, bikes: Iterable[str], use: str
) -> tuple[list[Transfer], dict[str, tuple[Problem, ...]]]:
    """One standing use on several bikes, and what is wrong with those left out, by key."""
    made: list[Transfer] = []
    missing: dict[str, tuple[Problem, ...]] = {}
    for key in progress(tuple(bikes), f"{ready.rider.key}: bikes"):
        before = session.problems
        one = stood_on(session, ready, key, use)
        if one is None:
            missing[key] = tuple(p for p in session.problems if p.file == f"bikes/{key}.toml")
        else:
            made.append(one)
        session.problems = before
    return made, missing


def compare_standing(
    session: Session,
    ready: Prepared,
    bikes: Iterable[str],
    use: str,
    *,
    as_json: bool,
    sort: str = "work",
) -> int:
    """One standing use on several bikes, printed in the order asked for; exit code."""
    from fitprofile.report.garage_order import standing_in_order

    made, failed = on_bikes(session, ready, bikes, use)
    missing = {key: records(why) for key, why in failed.items()}
    in_order = standing_in_order(made, use, sort)
    if as_json:
        from fitprofile.report.use_record import standing_record

        listed = [standing_record(one, use) for one in in_order]
        asked = {"rider": ready.rider.key, "use": use, "sort": sort}
        told = {"missing": missing, "problems": records(session.problems)}
        print_json({**asked, "bikes": listed, **told})
    else:
        from fitprofile.report.standing_text import standing_garage

        click.echo(standing_garage(in_order, use, width()))
        for key in missing:
            click.echo(f"{key}: left out; see fitprofile check", err=True)
        print_problems(session.told())
    return IN_DATA if missing or has_errors(session.problems) else DONE


class Reported(NamedTuple):
    """What `report` has of a rider with standing uses alone."""

    sheets: list[Sheet]
    problems: tuple[Problem, ...]
    bad: bool


def report_standing(session: Session, ready: Prepared, *, as_json: bool) -> Reported:
    """Sheets of every bike for the first standing use, and the bikes side by side in print."""
    from fitprofile.cli.sheets import standing_sheet_of

    use = next(iter(ready.standing))
    made, missing = on_bikes(session, ready, session.workspace.bike_keys(), use)
    why = tuple(p for found in missing.values() for p in found)
    if not as_json:
        from fitprofile.report.standing_text import standing_garage

        click.echo(f"{ready.rider.name}\n")
        click.echo(standing_garage(made, use, width()))
        print_problems(why)
    problems = (*session.problems, *why, *(p for one in made for p in one.problems))
    bad = bool(missing) or has_errors(session.problems)
    return Reported([standing_sheet_of(one, use) for one in made], problems, bad)
