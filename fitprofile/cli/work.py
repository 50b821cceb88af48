"""What each command does: read the workspace, run the stages, print, write, and say how it went."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import click

from fitprofile.cli.printing import (
    DONE,
    IN_DATA,
    WRONG_USE,
    count,
    in_order,
    print_json,
    print_problems,
    records,
    unknown,
    width,
)
from fitprofile.cli.session import Session, all_bikes, open_workspace
from fitprofile.cli.sheets import Sheet, comparison_of, sheet_of, write_sheets
from fitprofile.errors import ERROR, NOTE, WARNING, Problem, has_errors
from fitprofile.store.workspace import Workspace


def init(directory: Path) -> int:
    """Start a workspace; exit code."""
    from fitprofile.store.create import init as make

    made, problems = make(directory)
    for path in made:
        click.echo(f"made {path}")
    print_problems(problems)
    if has_errors(problems):
        return IN_DATA
    click.echo(f"next: cd {directory}; fitprofile new rider NAME; fitprofile new bike NAME")
    return DONE


def new(root: Path | None, kind: str, key: str, name: str) -> int:
    """Write a commented file to fill in; exit code."""
    workspace = open_workspace(root)
    made = workspace.new_rider(key, name) if kind == "rider" else workspace.new_bike(key, name)
    if isinstance(made, Problem):
        print_problems((made,))
        return WRONG_USE
    click.echo(f"made {made}; fill it in, then: fitprofile check")
    return DONE


def check(root: Path | None, *, notes: bool, as_json: bool) -> int:
    """List every problem of every file, and of what the files say together; exit code."""
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
    return IN_DATA if has_errors(problems) else DONE


def _deeper(workspace: Workspace) -> Iterable[Problem]:
    """What surveys and calibrations find in files that read well: no point unfixed, no slip."""
    from fitprofile.stages.chain import prepare
    from fitprofile.stages.survey import survey

    shop, _ = workspace.shop()
    if shop is None:
        return
    bikes = {key: workspace.bike(key)[0] for key in workspace.bike_keys()}
    known = {key: bike for key, bike in bikes.items() if bike is not None}
    for bike in known.values():
        yield from workspace.locate(survey(bike, shop)[1])
    for key in workspace.rider_keys():
        rider, _ = workspace.rider(key)
        if rider is not None and rider.cockpits:
            yield from workspace.locate(prepare(rider, known, shop, workspace.log(key)[0])[1])


def show(root: Path | None, name: str, *, as_json: bool) -> int:
    """Show a rider's body or a bike's points; exit code."""
    workspace = open_workspace(root)
    if name in workspace.rider_keys():
        return _show_rider(workspace, name, as_json=as_json)
    if name in workspace.bike_keys():
        return _show_bike(workspace, name, as_json=as_json)
    return unknown("rider or bike", name, (*workspace.rider_keys(), *workspace.bike_keys()))


def transfer_one(
    root: Path | None,
    rider: str,
    bike: str,
    use: str | None,
    *,
    as_json: bool,
    paper: str,
    pdf: bool,
) -> int:
    """One transfer, printed and written as a sheet; exit code."""
    workspace = open_workspace(root)
    if bike not in workspace.bike_keys():
        return unknown("bike", bike, workspace.bike_keys())
    session = Session(workspace)
    ready, code = session.rider(rider, use)
    if ready is None:
        return _refused(session, code, as_json=as_json, rider=rider, bike=bike)
    made = session.transfer(ready, bike, use)
    if made is None:
        return _refused(session, IN_DATA, as_json=as_json, rider=rider, bike=bike)
    if as_json:
        from fitprofile.report.record import transfer_record

        print_json(transfer_record(made))
        return IN_DATA if has_errors(made.problems) else DONE
    from fitprofile.report import terminal

    click.echo(terminal.transfer_text(made, width()))
    code = write_sheets(workspace, [sheet_of(made)], paper=paper, pdf=pdf)
    return IN_DATA if has_errors(made.problems) else code


def compare(
    root: Path | None,
    rider: str,
    bikes: tuple[str, ...],
    use: str | None,
    *,
    as_json: bool,
    paper: str,
    pdf: bool,
) -> int:
    """Several bikes for one rider, printed and written as a comparison; exit code."""
    workspace = open_workspace(root)
    for bike in bikes:
        if bike not in workspace.bike_keys():
            return unknown("bike", bike, workspace.bike_keys())
    session = Session(workspace)
    ready, code = session.rider(rider, use)
    if ready is None:
        return _refused(session, code, as_json=as_json, rider=rider)
    made, failed = all_bikes(session, ready, use, bikes or workspace.bike_keys())
    if as_json:
        from fitprofile.report.garage import by_work
        from fitprofile.report.record import transfer_record

        print_json(
            {
                "rider": rider,
                "bikes": [transfer_record(one) for one in by_work(made)],
                "missing": {one.key: records(one.problems) for one in failed},
            }
        )
        return IN_DATA if failed else DONE
    from fitprofile.report import terminal

    click.echo(terminal.garage_text(made, failed, width()))
    page = comparison_of(ready, use or next(iter(ready.rider.cockpits)), made, failed)
    code = write_sheets(workspace, [page], paper=paper, pdf=pdf)
    return IN_DATA if failed else code


def report(root: Path | None, riders: tuple[str, ...], *, paper: str, pdf: bool) -> int:
    """Every sheet of every rider; exit code."""
    workspace = open_workspace(root)
    for rider in riders:
        if rider not in workspace.rider_keys():
            return unknown("rider", rider, workspace.rider_keys())
    session = Session(workspace)
    sheets: list[Sheet] = []
    bad = False
    from fitprofile.report import terminal

    for rider in riders or workspace.rider_keys():
        ready, _ = session.rider(rider, None)
        if ready is None:
            bad = True
            print_problems(session.problems)
            continue
        made, failed = all_bikes(session, ready, None, workspace.bike_keys())
        click.echo(f"{ready.rider.name}\n")
        click.echo(terminal.garage_text(made, failed, width()))
        bad = bad or bool(failed)
        sheets += [sheet_of(one) for one in made]
        sheets.append(comparison_of(ready, next(iter(ready.rider.cockpits)), made, failed))
    code = write_sheets(workspace, sheets, paper=paper, pdf=pdf)
    return IN_DATA if bad else code


def _show_rider(workspace: Workspace, key: str, *, as_json: bool) -> int:
    """A rider's body, measured and estimated."""
    from fitprofile.stages.complete import complete

    rider, problems = workspace.rider(key)
    shop, more = workspace.shop()
    problems += more
    if rider is None or shop is None:
        return _show_problems(problems, as_json=as_json)
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
    if bike is None or shop is None:
        return _show_problems(problems, as_json=as_json)
    surveyed, found = survey(bike, shop)
    problems += workspace.locate(found)
    if surveyed is None:
        return _show_problems(problems, as_json=as_json)
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


def _show_problems(problems: tuple[Problem, ...], *, as_json: bool) -> int:
    """Only the problems, where there is nothing else to show."""
    if as_json:
        print_json({"problems": records(problems)})
    print_problems(problems)
    return IN_DATA


def _refused(session: Session, code: int, *, as_json: bool, **asked: str) -> int:
    """Say why there is no transfer."""
    if code == WRONG_USE:
        return code
    if as_json:
        print_json({**asked, "problems": records(session.problems)})
    print_problems(session.problems)
    return code


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
