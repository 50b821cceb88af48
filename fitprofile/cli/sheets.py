"""Sheets made and written: HTML and, where the machine can, PDF."""

from __future__ import annotations

import gc
from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from fitprofile.cli.printing import DONE, IN_DATA, print_problems, progress
from fitprofile.errors import Problem, has_errors
from fitprofile.store.workspace import Workspace

if TYPE_CHECKING:
    from fitprofile.report.garage import Failed
    from fitprofile.report.page import Page
    from fitprofile.stages.chain import Prepared, Transfer

Sheet = tuple[str, Callable[[], "Page"]]
"""File name without its ending, and what makes the page.

A transfer sheet is named RIDER.BIKE.USE. No name of a file or a use holds a point, so every other
page has more parts, the last of which says its kind, and no bike's name can ever meet it.
"""


def sheet_of(made: Transfer) -> Sheet:
    """One transfer sheet."""

    def page() -> Page:
        from fitprofile.report.sheet import transfer_sheet

        return transfer_sheet(made, today())

    return f"{made.rider.key}.{made.bike.key}.{made.use}", page


def standing_sheet_of(made: Transfer, use: str) -> Sheet:
    """One sheet of a standing use."""

    def page() -> Page:
        from fitprofile.report.standing_sheet import standing_sheet

        return standing_sheet(made, use, today())

    return f"{made.rider.key}.{made.bike.key}.{use}", page


def comparison_of(
    ready: Prepared, use: str, made: list[Transfer], failed: list[Failed], sort: str = "work"
) -> Sheet:
    """One comparison, in the order asked for."""

    def page() -> Page:
        from fitprofile.report.garage import garage_page

        return garage_page(ready.rider, use, made, failed, today(), sort)

    return f"{ready.rider.key}.{use}.garage.comparison", page


def write_sheets(workspace: Workspace, sheets: list[Sheet], *, paper: str, pdf: bool) -> int:
    """HTML and, where the machine can, PDF of each page, said in one line; exit code."""
    files, problems = make_sheets(workspace, sheets, paper=paper, pdf=pdf)
    print_problems(problems)
    if has_errors(problems):
        return IN_DATA
    endings = "html and pdf" if any(name.endswith(".pdf") for name in files) else "html"
    what = f"reports/{sheets[0][0]}" if len(sheets) == 1 else f"{len(sheets)} sheets under reports/"
    click.echo(f"wrote {what} ({endings})")
    return DONE


def make_sheets(
    workspace: Workspace, sheets: list[Sheet], *, paper: str, pdf: bool
) -> tuple[tuple[str, ...], tuple[Problem, ...]]:
    """Files written, from the workspace's root, and what was in the way; an error ends the work."""
    from fitprofile.report.html import render_html

    gc.enable()
    found: dict[Problem, None] = {}
    done: list[str] = []
    for name, make in progress(sheets, "sheets"):
        page = make()
        files: list[tuple[str, bytes]] = [(f"{name}.html", render_html(page, paper).encode())]
        if pdf:
            from fitprofile.report.pdf import render_pdf

            content, problems = render_pdf(page, paper)
            found |= dict.fromkeys(problems)
            files += [] if content is None else [(f"{name}.pdf", content)]
            pdf = content is not None
        for file, content in files:
            written = workspace.write_report(file, content)
            if isinstance(written, Problem):
                return tuple(done), (*found, written)
            done.append(f"reports/{file}")
    return tuple(done), tuple(found)


def today() -> str:
    """The day, ISO 8601."""
    from datetime import UTC, datetime

    now = datetime.now(tz=UTC)  # noqa: TID251 - the one place that reads the clock
    return now.astimezone().date().isoformat()
