"""What `verify` does: the latest sit-on after the work, held against the target."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fitprofile.cli.printing import (
    DONE,
    IN_DATA,
    print_json,
    print_problems,
    records,
    unknown,
    width,
)
from fitprofile.cli.session import Session, open_workspace
from fitprofile.errors import Problem, has_errors

if TYPE_CHECKING:
    from fitprofile.model.log import Entry
    from fitprofile.stages.verify import Verification


def verify(
    root: Path | None, rider_key: str, bike_key: str, use: str | None, *, as_json: bool
) -> int:
    """Hold the latest sit-on after the work against the target; exit code."""
    workspace = open_workspace(root)
    for what, key, known in (
        ("rider", rider_key, workspace.rider_keys()),
        ("bike", bike_key, workspace.bike_keys()),
    ):
        if key not in known:
            return unknown(what, key, known)
    rider, problems = workspace.rider(rider_key)
    uses = () if rider is None else (*rider.cockpits, *rider.standing)
    if use is not None and uses and use not in uses:
        return unknown(f"use of {rider_key}", use, uses)
    session = Session(workspace)
    verified = None
    if uses:
        verified, problems = _verified(session, rider_key, bike_key, use or uses[0])
    if verified is None:
        if as_json:
            print_json({"rider": rider_key, "bike": bike_key, "problems": records(problems)})
        print_problems(problems)
        return IN_DATA
    from fitprofile.report.verification import verification_record, verification_text

    if as_json:
        print_json(verification_record(verified))
    else:
        click.echo(verification_text(verified, width()), nl=False)
    return IN_DATA if has_errors((*verified.transfer.problems, *verified.problems)) else DONE


def _verified(
    session: Session, rider: str, bike: str, use: str
) -> tuple[Verification | None, tuple[Problem, ...]]:
    """The latest entry held against the target, or what is in the way."""
    log, odd = session.log(rider)
    entry = latest(log, bike, use)
    if entry is None:
        return None, (*odd, _none_yet(log, rider, bike, use))
    ready, _ = session.rider(rider, use, held_back=entry, standing=True)
    if ready is None:
        return None, session.problems
    from fitprofile.stages.as_fitted import with_fitted
    from fitprofile.stages.entries import NO_WORK, work_since

    known = session.bike(bike)
    work = NO_WORK if known is None else work_since(log, entry, known)
    if use in ready.standing:
        from fitprofile.cli.uses import stood_on
        from fitprofile.stages.verify_standing import verify_standing

        stood = stood_on(session, ready, bike, use, work=False)
        if stood is None:
            return None, session.problems
        on_it = with_fitted(stood, work, session.catalogue)
        one = ready.standing[use]
        made_on = (on_it.parts, on_it.why_not)
        return verify_standing(on_it.transfer, one, entry, ready.shop, *made_on), ()
    from fitprofile.stages.verify import verify as hold

    made = session.transfer(ready, bike, use, work=False)
    if made is None:
        return None, session.problems
    on_it = with_fitted(made, work, session.catalogue)
    return hold(on_it.transfer, entry, ready.shop, on_it.parts, on_it.why_not), ()


def latest(log: Sequence[Entry], bike: str, use: str) -> Entry | None:
    """The last entry of the file that was taken after the work on this bike for this use."""
    from fitprofile.model.log import AFTER

    fitting = (one for one in reversed(log) if (one.bike, one.use, one.when) == (bike, use, AFTER))
    return next(fitting, None)


def _none_yet(log: Sequence[Entry], rider: str, bike: str, use: str) -> Problem:
    """Say that nothing was measured after the work, and how to write it."""
    from fitprofile.model.log import AFTER

    others = dict.fromkeys(one.use for one in log if (one.bike, one.when) == (bike, AFTER))
    elsewhere = "".join(f"; there is one for {name}: add --use {name}" for name in others)
    text = (
        f"nothing was measured on {bike} for {use} after the work; write it with: "
        f"fitprofile record {rider} {bike} --use {use} --when after{elsewhere}"
    )
    return Problem(text, file=f"profiles/{rider}.log.toml")
