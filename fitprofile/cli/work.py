"""What each command does: read the workspace, run the stages, print, write, and say how it went."""

from __future__ import annotations

import gc
import json
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitprofile.errors import ERROR, NOTE, Problem, has_errors
from fitprofile.store.workspace import Workspace, find_workspace

if TYPE_CHECKING:
    from fitprofile.model.bike import Bike
    from fitprofile.report.garage import Failed
    from fitprofile.report.page import Page
    from fitprofile.stages.chain import Prepared, Transfer

DONE, IN_DATA, WRONG_USE = 0, 1, 2
"""Exit codes."""

MARKS = {"error": "red", "warning": "yellow", "note": None}


def init(directory: Path) -> int:
    """Start a workspace; exit code."""
    from fitprofile.store.create import init as make

    made, problems = make(directory)
    for path in made:
        click.echo(f"made {path}")
    _print_problems(problems)
    if has_errors(problems):
        return IN_DATA
    click.echo(f"next: cd {directory}; fitprofile new rider NAME; fitprofile new bike NAME")
    return DONE


def new(root: Path | None, kind: str, key: str, name: str) -> int:
    """Write a commented file to fill in; exit code."""
    workspace = _workspace(root)
    made = workspace.new_rider(key, name) if kind == "rider" else workspace.new_bike(key, name)
    if isinstance(made, Problem):
        _print_problems((made,))
        return WRONG_USE
    click.echo(f"made {made}; fill it in, then: fitprofile check")
    return DONE


def check(root: Path | None, *, as_json: bool) -> int:
    """List every problem of every file; exit code."""
    workspace = _workspace(root)
    problems = workspace.check()
    if as_json:
        _print_json({"problems": _records(problems)})
    else:
        _print_problems(problems, to_error=False)
        riders, bikes = len(workspace.rider_keys()), len(workspace.bike_keys())
        click.echo(f"{_count(riders, 'rider')}, {_count(bikes, 'bike')}: {_verdict(problems)}")
    return IN_DATA if has_errors(problems) else DONE


def show(root: Path | None, name: str, *, as_json: bool) -> int:
    """Show a rider's body or a bike's points; exit code."""
    workspace = _workspace(root)
    if name in workspace.rider_keys():
        return _show_rider(workspace, name, as_json=as_json)
    if name in workspace.bike_keys():
        return _show_bike(workspace, name, as_json=as_json)
    return _unknown("rider or bike", name, (*workspace.rider_keys(), *workspace.bike_keys()))


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
    workspace = _workspace(root)
    if bike not in workspace.bike_keys():
        return _unknown("bike", bike, workspace.bike_keys())
    session = _Session(workspace)
    ready, code = session.rider(rider, use)
    if ready is None:
        return _refused(session, code, as_json=as_json, rider=rider, bike=bike)
    made = session.transfer(ready, bike, use)
    if made is None:
        return _refused(session, IN_DATA, as_json=as_json, rider=rider, bike=bike)
    if as_json:
        from fitprofile.report.record import transfer_record

        _print_json(transfer_record(made))
        return IN_DATA if has_errors(made.problems) else DONE
    from fitprofile.report import terminal

    click.echo(terminal.transfer_text(made, _width()))
    code = _write_sheets(workspace, [_sheet_of(made)], paper=paper, pdf=pdf)
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
    workspace = _workspace(root)
    for bike in bikes:
        if bike not in workspace.bike_keys():
            return _unknown("bike", bike, workspace.bike_keys())
    session = _Session(workspace)
    ready, code = session.rider(rider, use)
    if ready is None:
        return _refused(session, code, as_json=as_json, rider=rider)
    made, failed = _all_bikes(session, ready, use, bikes or workspace.bike_keys())
    if as_json:
        from fitprofile.report.record import transfer_record

        _print_json(
            {
                "rider": rider,
                "bikes": [transfer_record(one) for one in made],
                "missing": {one.key: _records(one.problems) for one in failed},
            }
        )
        return IN_DATA if failed else DONE
    from fitprofile.report import terminal

    click.echo(terminal.garage_text(made, failed, _width()))
    page = _comparison_of(ready, use or next(iter(ready.rider.cockpits)), made, failed)
    code = _write_sheets(workspace, [page], paper=paper, pdf=pdf)
    return IN_DATA if failed else code


def report(root: Path | None, riders: tuple[str, ...], *, paper: str, pdf: bool) -> int:
    """Every sheet of every rider; exit code."""
    workspace = _workspace(root)
    for rider in riders:
        if rider not in workspace.rider_keys():
            return _unknown("rider", rider, workspace.rider_keys())
    session = _Session(workspace)
    sheets: list[_Sheet] = []
    bad = False
    from fitprofile.report import terminal

    for rider in riders or workspace.rider_keys():
        ready, _ = session.rider(rider, None)
        if ready is None:
            bad = True
            _print_problems(session.problems)
            continue
        made, failed = _all_bikes(session, ready, None, workspace.bike_keys())
        click.echo(f"{ready.rider.name}\n")
        click.echo(terminal.garage_text(made, failed, _width()))
        bad = bad or bool(failed)
        sheets += [_sheet_of(one) for one in made]
        sheets.append(_comparison_of(ready, next(iter(ready.rider.cockpits)), made, failed))
    code = _write_sheets(workspace, sheets, paper=paper, pdf=pdf)
    return IN_DATA if bad else code


class _Session:
    """One run: files read once, riders calibrated once, problems with their lines."""

    def __init__(self, workspace: Workspace) -> None:
        self.workspace = workspace
        self.problems: tuple[Problem, ...] = ()
        self._bikes: dict[str, Bike | None] = {}

    def rider(self, key: str, use: str | None) -> tuple[Prepared | None, int]:
        """A calibrated rider, or ``None`` with the exit code; what is wrong is in `problems`."""
        from fitprofile.stages.chain import prepare

        if key not in self.workspace.rider_keys():
            return None, _unknown("rider", key, self.workspace.rider_keys())
        rider, problems = self.workspace.rider(key)
        shop, more = self.workspace.shop()
        self.problems = problems + more
        if rider is None or shop is None:
            return None, IN_DATA
        if use is not None and use not in rider.cockpits:
            return None, _unknown(f"cockpit of {key}", use, tuple(rider.cockpits))
        named = {cockpit.measured_on for cockpit in rider.cockpits.values()} - {None}
        bikes = {name: self.bike(str(name)) for name in named}
        known = {str(name): bike for name, bike in bikes.items() if bike is not None}
        ready, found = prepare(rider, known, shop)
        self.problems += self.workspace.locate(found)
        return ready, DONE if ready is not None else IN_DATA

    def bike(self, key: str) -> Bike | None:
        """A bike's file, read once; what is wrong with it is in `problems`."""
        if key not in self._bikes:
            self._bikes[key], problems = self.workspace.bike(key)
            self.problems += problems
        return self._bikes[key]

    def transfer(self, ready: Prepared, key: str, use: str | None) -> Transfer | None:
        """One transfer with every problem of rider and bike, lines looked up."""
        from attrs import evolve

        from fitprofile.stages.chain import transfer

        bike = self.bike(key)
        if bike is None:
            return None
        made, problems = transfer(ready, bike, use or next(iter(ready.rider.cockpits)))
        located = self.workspace.locate(problems)
        if made is None:
            self.problems += located
            return None
        everything = dict.fromkeys((*self.problems, *located))
        kept = tuple(p for p in everything if _concerns(p, made))
        return evolve(made, problems=kept)


def _concerns(problem: Problem, made: Transfer) -> bool:
    """Whether a problem belongs on this sheet: not another bike's, not another cockpit's."""
    reference = made.cockpit.measured_on
    if problem.file == made.rider.file:
        part = (problem.key or "").split(".")
        return part[0] != "cockpit" or part[1:2] in ([], [made.use])
    if problem.file == f"bikes/{reference}.toml" != made.bike.file:
        return problem.level != NOTE
    return problem.file in (None, made.bike.file)


def _all_bikes(
    session: _Session, ready: Prepared, use: str | None, keys: Iterable[str]
) -> tuple[list[Transfer], list[Failed]]:
    """Transfers to many bikes, and those that have none with the reasons."""
    from fitprofile.report.garage import Failed

    made: list[Transfer] = []
    failed: list[Failed] = []
    for key in _progress(tuple(keys), f"{ready.rider.key}: bikes"):
        before = session.problems
        one = session.transfer(ready, key, use)
        if one is None:
            bike = session.bike(key)
            why = tuple(p for p in session.problems if p.file == f"bikes/{key}.toml")
            name = key if bike is None else bike.name
            failed.append(Failed(key=key, name=name, problems=why))
        else:
            made.append(one)
        session.problems = before
    return made, failed


_Sheet = tuple[str, Callable[[], "Page"]]
"""File name without its ending, and what makes the page."""


def _sheet_of(made: Transfer) -> _Sheet:
    """One transfer sheet."""

    def page() -> Page:
        from fitprofile.report.sheet import transfer_sheet

        return transfer_sheet(made, _today())

    return f"{made.rider.key}.{made.bike.key}.{made.use}", page


def _comparison_of(ready: Prepared, use: str, made: list[Transfer], failed: list[Failed]) -> _Sheet:
    """One comparison."""

    def page() -> Page:
        from fitprofile.report.garage import garage_page

        return garage_page(ready.rider, use, made, failed, _today())

    return f"{ready.rider.key}.garage.{use}", page


def _write_sheets(workspace: Workspace, sheets: list[_Sheet], *, paper: str, pdf: bool) -> int:
    """HTML and, where the machine can, PDF of each page; exit code."""
    from fitprofile.report.html import render_html

    gc.enable()
    told: set[Problem] = set()
    for name, make in _progress(sheets, "sheets"):
        page = make()
        files: list[tuple[str, bytes]] = [(f"{name}.html", render_html(page, paper).encode())]
        if pdf:
            from fitprofile.report.pdf import render_pdf

            content, problems = render_pdf(page, paper)
            _print_problems(p for p in problems if p not in told)
            told.update(problems)
            files += [] if content is None else [(f"{name}.pdf", content)]
            pdf = content is not None
        for file, content in files:
            written = workspace.write_report(file, content)
            if isinstance(written, Problem):
                _print_problems((written,))
                return IN_DATA
    endings = "html and pdf" if pdf else "html"
    what = f"reports/{sheets[0][0]}" if len(sheets) == 1 else f"{len(sheets)} sheets under reports/"
    click.echo(f"wrote {what} ({endings})")
    return DONE


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

        _print_json(
            {
                "rider": key,
                "rider_name": rider.name,
                "measurements": body_record(body),
                "male_share": body.male_share,
                "problems": _records(problems),
            }
        )
    else:
        from fitprofile.report import terminal

        click.echo(terminal.rider_text(rider, body, _width()))
        _print_problems(problems)
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

        _print_json(
            {
                "bike": key,
                "bike_name": bike.name,
                **survey_record(surveyed),
                "problems": _records(problems),
            }
        )
    else:
        from fitprofile.report import terminal

        click.echo(terminal.bike_text(bike, surveyed, _width()))
        _print_problems(problems)
    return IN_DATA if has_errors(problems) else DONE


def _show_problems(problems: tuple[Problem, ...], *, as_json: bool) -> int:
    """Only the problems, where there is nothing else to show."""
    if as_json:
        _print_json({"problems": _records(problems)})
    _print_problems(problems)
    return IN_DATA


def _refused(session: _Session, code: int, *, as_json: bool, **asked: str) -> int:
    """Say why there is no transfer."""
    if code == WRONG_USE:
        return code
    if as_json:
        _print_json({**asked, "problems": _records(session.problems)})
    _print_problems(session.problems)
    return code


def _workspace(root: Path | None) -> Workspace:
    """The workspace asked for, or the nearest one; ends the program where there is none."""
    found = find_workspace(Path.cwd() if root is None else root)
    if found is None or (root is not None and found.resolve() != root.resolve()):
        place = "here or above" if root is None else f"in {root}"
        click.echo(
            f"no workspace {place}: a folder with profiles/ and bikes/ is needed; "
            "make one with: fitprofile init DIRECTORY",
            err=True,
        )
        sys.exit(WRONG_USE)
    return Workspace(found)


def _unknown(what: str, name: str, known: tuple[str, ...]) -> int:
    """Say that a name is not known, and which are."""
    from difflib import get_close_matches

    near = get_close_matches(name, known, 1)
    hint = f"; did you mean '{near[0]}'?" if near else ";"
    listed = ", ".join(known) or "none yet"
    click.echo(f"no {what} '{_printable(name)}'{hint} known: {listed}", err=True)
    return WRONG_USE


def _printable(name: str) -> str:
    """A name as it may be echoed: without control characters, at most 60 characters."""
    clean = "".join(c if c.isprintable() else "?" for c in name)
    return clean if len(clean) <= 60 else f"{clean[:57]}..."  # noqa: PLR2004 - the two lines agree


def _print_problems(problems: Iterable[Problem], *, to_error: bool = True) -> None:
    """One line a problem, its level first where it is no error."""
    for problem in problems:
        level = click.style(f"{problem.level}: ", fg=MARKS[problem.level])
        click.echo(f"{level}{problem.sentence()}", err=to_error)


def _print_json(value: object) -> None:
    """JSON on standard output; a value that does not exist is null."""
    click.echo(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False))


def _records(problems: tuple[Problem, ...]) -> list[dict[str, Any]]:
    """Problems as JSON keeps them."""
    from fitprofile.report.record import problem_records

    return problem_records(problems)


def _verdict(problems: tuple[Problem, ...]) -> str:
    """How a check went, in words."""
    errors = sum(p.level == ERROR for p in problems)
    others = len(problems) - errors
    if not problems:
        return "no problems"
    parts = [_count(errors, "problem"), f"{others} to look at" if others else ""]
    return ", ".join(part for part in parts if part)


def _count(number: int, word: str) -> str:
    """``3 bikes``, ``1 bike``."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def _progress(items: Any, label: str) -> Any:
    """The same items, with a bar on standard error where a person watches a long list."""
    if len(items) < LONG or not sys.stderr.isatty():
        return items
    return _with_bar(items, label)


LONG = 6
"""Items from which a bar is worth showing."""


def _with_bar(items: Any, label: str) -> Any:
    """Items one by one under a progress bar."""
    with click.progressbar(items, label=label, file=sys.stderr) as bar:
        yield from bar


def _width() -> int:
    """Columns of the terminal."""
    from shutil import get_terminal_size

    return get_terminal_size().columns


def _today() -> str:
    """Date of the sheet, ISO 8601."""
    from datetime import UTC, datetime

    now = datetime.now(tz=UTC)  # noqa: TID251 - the one place that reads the clock
    return now.astimezone().date().isoformat()
