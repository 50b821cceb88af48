"""What each command does: read the workspace, run the stages, print, write, and say how it went."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fitprofile.cli.printing import (
    DONE,
    IN_DATA,
    WRONG_USE,
    count,
    in_order,
    one_each,
    print_json,
    print_problems,
    records,
    unknown,
    width,
    wrong_use,
)
from fitprofile.cli.session import (
    Session,
    all_bikes,
    open_workspace,
    picked,
    place_of,
)
from fitprofile.cli.sheets import Sheet, comparison_of, make_sheets, sheet_of, write_sheets
from fitprofile.errors import ERROR, NOTE, WARNING, Problem, has_errors
from fitprofile.store.workspace import Workspace

if TYPE_CHECKING:
    from fitprofile.report.garage import Failed
    from fitprofile.stages.chain import Prepared


def init(directory: Path, *, as_json: bool) -> int:
    """Start a workspace; exit code."""
    from fitprofile.store.create import init as make

    made, problems = make(directory)
    print_problems(problems)
    if as_json:
        _print_made(made, problems)
        return IN_DATA if has_errors(problems) else DONE
    for path in made:
        click.echo(f"made {path}")
    if has_errors(problems):
        return IN_DATA
    click.echo(f"next: cd {directory}; fitprofile new rider NAME; fitprofile new bike NAME")
    return DONE


def new(root: Path | None, kind: str, key: str, name: str, *, as_json: bool) -> int:
    """Write a commented file to fill in; exit code."""
    workspace = open_workspace(root)
    made = workspace.new_rider(key, name) if kind == "rider" else workspace.new_bike(key, name)
    if isinstance(made, Problem):
        print_problems((made,))
        if as_json:
            _print_made((), (made,))
        return WRONG_USE
    if as_json:
        _print_made((made,), ())
    else:
        click.echo(f"made {made}; fill it in, then: fitprofile check")
    return DONE


def _print_made(made: Iterable[Path], problems: tuple[Problem, ...]) -> None:
    """Files and folders that are new, as JSON."""
    print_json({"made": [str(path) for path in made], "problems": records(problems)})


def check(root: Path | None, *, notes: bool, as_json: bool) -> int:
    """List every problem of every file, and of what the files say together; exit code.

    To find what is wrong is what it is for, so a warning counts as one.
    """
    workspace = open_workspace(root)
    problems = in_order((*workspace.check(), *_deeper(workspace)))
    if as_json:
        print_json({"problems": records(problems)})
    else:
        shown = (p for p in problems if notes or p.level != NOTE)
        print_problems(shown, to_error=False)
        riders, bikes = len(workspace.rider_keys()), len(workspace.bike_keys())
        verdict = _verdict(problems, notes=notes)
        click.echo(f"{count(riders, 'rider')}, {count(bikes, 'bike')}: {verdict}")
    return IN_DATA if any(p.level != NOTE for p in problems) else DONE


def _deeper(workspace: Workspace) -> Iterable[Problem]:
    """What surveys and calibrations find in files that read well: no point unfixed, no slip."""
    from fitprofile.stages.chain import prepare
    from fitprofile.stages.survey import survey

    shop, _ = workspace.shop()
    if shop is None:
        return
    yield from place_of(workspace, shop)[1]
    bikes = {key: workspace.bike(key)[0] for key in workspace.bike_keys()}
    known = {key: bike for key, bike in bikes.items() if bike is not None}
    for bike in known.values():
        yield from workspace.locate(survey(bike, shop)[1])
    for key in workspace.rider_keys():
        rider, _ = workspace.rider(key)
        if rider is not None and (rider.cockpits or rider.standing):
            yield from workspace.locate(prepare(rider, known, shop, workspace.log(key)[0])[1])


def show(root: Path | None, name: str, kind: str | None, *, as_json: bool) -> int:
    """Show a rider's body or a bike's points; exit code.

    ``kind`` is ``"rider"``, ``"bike"``, or ``None`` where the name tells.
    """
    workspace = open_workspace(root)
    riders = workspace.rider_keys() if kind != "bike" else ()
    bikes = workspace.bike_keys() if kind != "rider" else ()
    if name in riders and name in bikes:
        return wrong_use(f"'{name}' is a rider and a bike: add --kind rider or --kind bike")
    if name in riders:
        return _show_rider(workspace, name, as_json=as_json)
    if name in bikes:
        return _show_bike(workspace, name, as_json=as_json)
    return unknown(kind or "rider or bike", name, (*riders, *bikes))


def transfer_one(  # noqa: PLR0913 - one for each option of the command
    root: Path | None,
    rider: str,
    bike: str,
    use: str | None,
    *,
    as_json: bool,
    paper: str,
    pdf: bool,
    weigh: tuple[str, ...] = (),
    plan: str | None = None,
) -> int:
    """One transfer, printed and written as a sheet; exit code."""
    workspace = open_workspace(root)
    if bike not in workspace.bike_keys():
        return unknown("bike", bike, workspace.bike_keys())
    session = Session(workspace)
    ready, use, code = _asked(session, rider, use, weigh)
    if code == WRONG_USE:
        return code
    if ready is not None and use in ready.standing:
        from fitprofile.cli.uses import transfer_standing

        return transfer_standing(
            session, ready, bike, str(use), as_json=as_json, paper=paper, pdf=pdf, plan=plan
        )
    made = None if ready is None else session.transfer(ready, bike, use)
    if ready is None or made is None:
        if as_json:
            from fitprofile.report.blank import blank_transfer

            print_json(blank_transfer(rider, bike, _use(ready, use), session.problems))
        print_problems(session.problems)
        return IN_DATA
    made, missing = (made, ()) if plan is None else picked(made, plan)
    if as_json:
        from fitprofile.report.record import transfer_record

        print_json(transfer_record(made))
    elif missing:
        print_problems(missing)
    else:
        from fitprofile.report import terminal

        click.echo(terminal.transfer_text(made, width()))
        code = write_sheets(workspace, [sheet_of(made)], paper=paper, pdf=pdf)
    return IN_DATA if has_errors(made.problems) else code


def compare(  # noqa: PLR0913 - one for each option of the command
    root: Path | None,
    rider: str,
    bikes: tuple[str, ...],
    use: str | None,
    *,
    as_json: bool,
    paper: str,
    pdf: bool,
    weigh: tuple[str, ...] = (),
    sort: str = "work",
) -> int:
    """Several bikes for one rider, printed and written as a comparison; exit code."""
    workspace = open_workspace(root)
    for bike in bikes:
        if bike not in workspace.bike_keys():
            return unknown("bike", bike, workspace.bike_keys())
    session = Session(workspace)
    ready, use, code = _asked(session, rider, use, weigh)
    if code == WRONG_USE:
        return code
    if ready is None:
        if as_json:
            asked: dict[str, object] = {"rider": rider, "use": use, "sort": sort}
            print_json({**asked, "bikes": [], "missing": {}, "problems": records(session.problems)})
        print_problems(session.problems)
        return code
    if use in ready.standing:
        from fitprofile.cli.uses import compare_standing

        keys = bikes or workspace.bike_keys()
        return compare_standing(session, ready, keys, str(use), as_json=as_json, sort=sort)
    made, failed = all_bikes(session, ready, use, bikes or workspace.bike_keys())
    bad = bool(failed) or has_errors(session.problems)
    if as_json:
        from fitprofile.report.garage_order import in_order as sorted_by
        from fitprofile.report.record import transfer_record

        print_json(
            {
                "rider": rider,
                "use": _use(ready, use),
                "sort": sort,
                "bikes": [transfer_record(one) for one in sorted_by(made, sort)],
                "missing": {one.key: records(one.problems) for one in failed},
                "problems": records(_beside(session, failed)),
            }
        )
        return IN_DATA if bad else DONE
    from fitprofile.report import terminal

    click.echo(terminal.garage_text(made, failed, width(), sort))
    print_problems(session.told())
    page = comparison_of(ready, use or next(iter(ready.rider.cockpits)), made, failed, sort)
    code = write_sheets(workspace, [page], paper=paper, pdf=pdf)
    return IN_DATA if bad else code


def _asked(
    session: Session, rider: str, use: str | None, weigh: tuple[str, ...]
) -> tuple[Prepared | None, str | None, int]:
    """The calibrated rider, the main use, exit code; weights go into the session."""
    if weigh:
        from fitprofile.cli.uses import weights_of

        session.weights, code = weights_of(session, rider, use, weigh)
        if code != DONE:
            return None, use, code
        use = next(iter(session.weights))
    ready, code = session.rider(rider, use, standing=True)
    if use is None and ready is not None and not ready.settled:
        use = next(iter(ready.standing))
    return ready, use, code


def _use(ready: Prepared | None, use: str | None) -> str | None:
    """The cockpit asked for, or the first of the rider's; ``None`` where the file does not say."""
    return use if use is not None or ready is None else next(iter(ready.rider.cockpits))


def _beside(session: Session, failed: list[Failed]) -> tuple[Problem, ...]:
    """Every problem of a comparison: the rider's, and of the bikes that have no transfer."""
    return one_each((*session.problems, *(p for one in failed for p in one.problems)))


def report(
    root: Path | None, riders: tuple[str, ...], *, as_json: bool, paper: str, pdf: bool
) -> int:
    """Every sheet of every rider; exit code."""
    workspace = open_workspace(root)
    for rider in riders:
        if rider not in workspace.rider_keys():
            return unknown("rider", rider, workspace.rider_keys())
    session = Session(workspace)
    sheets: list[Sheet] = []
    bad = False
    problems: tuple[Problem, ...] = ()
    told: tuple[Problem, ...] = ()
    from fitprofile.report import terminal

    for rider in riders or workspace.rider_keys():
        ready, _ = session.rider(rider, None, standing=True)
        if ready is None:
            bad = True
            problems += session.problems
            print_problems(session.problems)
            continue
        if not ready.settled:
            from fitprofile.cli.uses import report_standing

            stood = report_standing(session, ready, as_json=as_json)
            sheets += stood.sheets
            problems += stood.problems
            told += session.told()
            bad = bad or stood.bad
            continue
        made, failed = all_bikes(session, ready, None, workspace.bike_keys())
        problems += (*_beside(session, failed), *(p for one in made for p in one.problems))
        if not as_json:
            click.echo(f"{ready.rider.name}\n")
            click.echo(terminal.garage_text(made, failed, width()))
        told += session.told()
        bad = bad or bool(failed) or has_errors(session.problems)
        sheets += [sheet_of(one) for one in made]
        sheets.append(comparison_of(ready, next(iter(ready.rider.cockpits)), made, failed))
    if as_json:
        files, more = make_sheets(workspace, sheets, paper=paper, pdf=pdf)
        print_json({"sheets": list(files), "problems": records(in_order((*problems, *more)))})
        return IN_DATA if bad or has_errors(more) else DONE
    print_problems(one_each(told))
    code = write_sheets(workspace, sheets, paper=paper, pdf=pdf)
    return IN_DATA if bad else code


def _show_rider(workspace: Workspace, key: str, *, as_json: bool) -> int:
    """A rider's body, measured and estimated."""
    from fitprofile.stages.complete import complete

    rider, problems = workspace.rider(key)
    shop, more = workspace.shop()
    problems += more
    if rider is None or shop is None:
        if as_json:
            from fitprofile.report.blank import blank_rider

            print_json(blank_rider(key, problems))
        print_problems(problems)
        return IN_DATA
    body, found = complete(rider, shop)
    problems += workspace.locate(found)
    if as_json:
        from fitprofile.report.record import body_record

        print_json(
            {
                "rider": key,
                "rider_name": rider.name,
                "measurements": body_record(body),
                "male_share": body.male_share,
                "problems": records(problems),
            }
        )
    else:
        from fitprofile.report import terminal

        click.echo(terminal.rider_text(rider, body, width()))
        print_problems(problems)
    return IN_DATA if has_errors(problems) else DONE


def _show_bike(workspace: Workspace, key: str, *, as_json: bool) -> int:
    """A bike's points, residuals and what was assumed."""
    from fitprofile.stages.survey import survey

    bike, problems = workspace.bike(key)
    shop, more = workspace.shop()
    problems += more
    surveyed = None
    if bike is not None and shop is not None:
        surveyed, found = survey(bike, shop)
        problems += workspace.locate(found)
    if bike is None or surveyed is None:
        if as_json:
            from fitprofile.report.blank import blank_bike

            print_json(blank_bike(key, None if bike is None else bike.name, problems))
        print_problems(problems)
        return IN_DATA
    if as_json:
        from fitprofile.report.record import survey_record

        print_json(
            {
                "bike": key,
                "bike_name": bike.name,
                **survey_record(surveyed),
                "problems": records(problems),
            }
        )
    else:
        from fitprofile.report import terminal

        click.echo(terminal.bike_text(bike, surveyed, width()))
        print_problems(problems)
    return IN_DATA if has_errors(problems) else DONE


def _verdict(problems: tuple[Problem, ...], *, notes: bool) -> str:
    """How a check went, in words; notes that were kept back are counted."""
    errors, warnings, rest = (
        sum(p.level == level for p in problems) for level in (ERROR, WARNING, NOTE)
    )
    kept_back = "" if notes else "; fitprofile check --notes shows them"
    parts = [
        count(errors, "problem") if errors else "",
        f"{warnings} to look at" if warnings else "",
        "" if errors or warnings else "no problems",
        f"{count(rest, 'note')}{kept_back}" if rest else "",
    ]
    return ", ".join(part for part in parts if part)
