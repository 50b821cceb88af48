"""Every command with its arguments. What they do stands in `fitprofile.cli.work`."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from fitprofile import __version__
from fitprofile.cli.record_options import PLAN_NAMES, record_options

EPILOG = """\b
Exit codes
  0  done
  1  problems in the data; each is printed with its place and remedy.
     `check` counts warnings as problems, `compare` and `report` a bike left out
  2  wrong use: unknown command, option, rider or bike; JSON too where asked
"""

MACHINE = "fitprofile.json"
"""Where a context keeps whether JSON was asked for, before any option is read."""

WORKSPACE = click.option(
    "--workspace",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder with profiles/ and bikes/; else the nearest one from here upward.",
)
AS_JSON = click.option(
    "--json", "as_json", is_flag=True, help="Print JSON on standard output and write no file."
)
PLAIN_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON on standard output.")
USE = click.option("--use", metavar="NAME", help="Which use; else the first in the file.")
WEIGH = click.option(
    "--weigh",
    metavar="USE=WEIGHT",
    multiple=True,
    help="Plans between several uses, seated or standing, as in --weigh road=80 --weigh trail=20; "
    "the first named, a seated one, is the main use.",
)
PLAN = click.option(
    "--plan",
    metavar="NAME",
    type=click.Choice(PLAN_NAMES),
    help="Which plan; else the one that the transfer sheet prints.",
)
SORT = click.option(
    "--sort",
    type=click.Choice(["work", "money", "time", "closeness"]),
    default="work",
    show_default=True,
    help="Order of the bikes; money, time and closeness compare the cheapest, the quickest and "
    "the closest plan of each. Out of reach comes last.",
)
PAPER = click.option(
    "--paper",
    type=click.Choice(["A4", "letter"], case_sensitive=False),
    default="A4",
    show_default=True,
    help="Paper of the printed sheet.",
)
PDF = click.option("--pdf/--no-pdf", default=True, show_default=True, help="Write the PDF too.")


class Plain(click.Group):
    """Commands in the order of work, and no colour where NO_COLOR asks for none."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click asks so
        """Names in the order in which a newcomer needs them."""
        return list(self.commands)

    def make_context(
        self, info_name: str | None, args: list[str], *more: Any, **extra: Any
    ) -> click.Context:
        """Context without colour where the environment variable NO_COLOR is set and not empty."""
        as_json = "--json" in args
        with told(as_json):
            ctx = super().make_context(info_name, args, *more, **extra)
        ctx.meta[MACHINE] = as_json
        if os.environ.get("NO_COLOR"):
            ctx.color = False
        return ctx

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; what is wrong in the call is said as JSON too where that was asked for."""
        with told(ctx.meta[MACHINE]):
            return super().invoke(ctx)


@contextmanager
def told(as_json: bool) -> Iterator[None]:
    """Print the JSON of a wrong use that click itself finds; its text follows as ever."""
    try:
        yield
    except click.UsageError as error:
        if as_json:
            from fitprofile.cli.printing import print_json, records
            from fitprofile.errors import Problem

            print_json({"problems": records((Problem(error.format_message()),))})
        raise


@click.group(cls=Plain, epilog=EPILOG, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, "--version", prog_name="fitprofile")
def main() -> None:
    """Give any motorcycle the rider's own cockpit, from tape measurements.

    A workspace is a folder with a file for each rider and each bike. Start one with
    `fitprofile init`, fill in the files, and ask for a transfer.
    """


@main.command()
@click.argument("directory", type=click.Path(file_okay=False, path_type=Path))
@PLAIN_JSON
def init(directory: Path, as_json: bool) -> None:
    """Start a workspace in DIRECTORY.

    Makes profiles/, bikes/, reports/ and shared/ with the tolerances and the schemas that let
    an editor complete and check the files. Nothing that is already there is touched.
    """
    from fitprofile.cli import work

    sys.exit(work.init(directory, as_json=as_json))


@main.command()
@click.argument("kind", type=click.Choice(["rider", "bike"]))
@click.argument("name")
@click.option("--called", metavar="TEXT", help="Name as printed on sheets; else NAME.")
@PLAIN_JSON
@WORKSPACE
def new(kind: str, name: str, called: str | None, as_json: bool, workspace: Path | None) -> None:
    """Write a commented file for a rider or a bike, to be filled in from a tape.

    NAME is the file's name and what is typed on the command line: letters, digits, - and _.
    """
    from fitprofile.cli import work

    sys.exit(work.new(workspace, kind, name, called or name, as_json=as_json))


@main.command()
@click.option("--notes", is_flag=True, help="List notes too: what is assumed, unchecked, wide.")
@AS_JSON
@WORKSPACE
def check(notes: bool, as_json: bool, workspace: Path | None) -> None:
    """Read every file of the workspace and list every problem at once.

    Also surveys every bike and calibrates every rider: a point that no tape fixes, a slip of
    the tape and numbers that contradict each other are named here.
    """
    from fitprofile.cli import work

    sys.exit(work.check(workspace, notes=notes, as_json=as_json))


@main.command()
@click.argument("name")
@click.option(
    "--kind", type=click.Choice(["rider", "bike"]), help="Which is meant where both have NAME."
)
@AS_JSON
@WORKSPACE
def show(name: str, kind: str | None, as_json: bool, workspace: Path | None) -> None:
    """Show a rider's body, measured and estimated, or a bike's points and residuals."""
    from fitprofile.cli import work

    sys.exit(work.show(workspace, name, kind, as_json=as_json))


@main.command()
@click.argument("rider")
@click.argument("bike")
@USE
@WEIGH
@PLAN
@AS_JSON
@PAPER
@PDF
@WORKSPACE
def transfer(rider: str, bike: str, workspace: Path | None, **options: Any) -> None:
    """Work out what gives BIKE the cockpit of RIDER, and write the transfer sheet.

    Where shared/parts.toml lists parts, the sheet prints a plan made of them: the cheapest that
    brings every number inside its tolerance, else the closest, or the one named by --plan.
    """
    from fitprofile.cli import work

    sys.exit(work.transfer_one(workspace, rider, bike, **options))


@main.command()
@click.argument("rider")
@click.argument("bikes", nargs=-1, metavar="[BIKE ...]")
@USE
@WEIGH
@SORT
@AS_JSON
@PAPER
@PDF
@WORKSPACE
def compare(rider: str, bikes: tuple[str, ...], workspace: Path | None, **options: Any) -> None:
    """Compare bikes for RIDER, those that need least first; every bike where none is named."""
    from fitprofile.cli import work

    sys.exit(work.compare(workspace, rider, bikes, **options))


@main.command()
@click.argument("riders", nargs=-1, metavar="[RIDER ...]")
@click.option("--json", "as_json", is_flag=True, help="Print the sheets written as JSON.")
@PAPER
@PDF
@WORKSPACE
def report(
    riders: tuple[str, ...], as_json: bool, paper: str, pdf: bool, workspace: Path | None
) -> None:
    """Write every sheet: one for each rider and bike, and a comparison for each rider."""
    from fitprofile.cli import work

    sys.exit(work.report(workspace, riders, as_json=as_json, paper=paper, pdf=pdf))


@main.command()
@click.argument("rider")
@click.argument("bikes", nargs=-1, metavar="[BIKE ...]")
@USE
@PLAN
@AS_JSON
@PAPER
@PDF
@WORKSPACE
def shopping(rider: str, bikes: tuple[str, ...], workspace: Path | None, **options: Any) -> None:
    """List the parts that RIDER's plans need, over several bikes; every bike where none is named.

    Takes the plan that each bike's transfer sheet prints, or the one named by --plan.
    """
    from fitprofile.cli import cards

    sys.exit(cards.shopping(workspace, rider, bikes, **options))


@main.command()
@click.argument("rider")
@click.argument("bike")
@USE
@PLAN
@AS_JSON
@PAPER
@PDF
@WORKSPACE
def dryfit(rider: str, bike: str, workspace: Path | None, **options: Any) -> None:
    """Write the dry-fit card: what to try on BIKE with packers and tape before money is spent."""
    from fitprofile.cli import cards

    sys.exit(cards.dry_fit(workspace, rider, bike, **options))


@main.command()
@click.argument("bike")
@click.argument("first", metavar="RIDER")
@click.argument("second", metavar="RIDER")
@click.option(
    "--use",
    "uses",
    metavar="NAME",
    multiple=True,
    help="Which cockpit of both; given twice, of each in their order.",
)
@AS_JSON
@PAPER
@PDF
@WORKSPACE
def swap(
    bike: str,
    first: str,
    second: str,
    uses: tuple[str, ...],
    workspace: Path | None,
    **options: Any,
) -> None:
    """Say what to change on a shared BIKE when the second RIDER takes over from the first."""
    from fitprofile.cli import cards

    sys.exit(cards.swap(workspace, bike, (first, second), uses, **options))


@main.command()
@click.argument("bike")
@AS_JSON
@PAPER
@PDF
@WORKSPACE
def putback(bike: str, workspace: Path | None, **options: Any) -> None:
    """Write the put-back card: BIKE as found, for borrowed and test bikes."""
    from fitprofile.cli import cards

    sys.exit(cards.put_back(workspace, bike, **options))


@main.command()
@click.argument("rider")
@click.argument("bike")
@record_options
@USE
@click.option("--json", "as_json", is_flag=True, help="Print the record as JSON.")
@WORKSPACE
def record(rider: str, bike: str, workspace: Path | None, *, as_json: bool, **given: Any) -> None:
    """Add a sit-on to RIDER's log: what was measured on BIKE, before or after the work.

    Without a measured number it asks question by question. An option that is repeated counts
    as repeated readings. A bare number is mm or degrees; "51.2 cm" and "20 1/4 in" do as well.
    """
    from fitprofile.cli import logbook

    sys.exit(logbook.record(workspace, rider, bike, given, as_json=as_json))


@main.command()
@click.argument("rider")
@click.argument("bike", required=False)
@click.option("--json", "as_json", is_flag=True, help="Print JSON on standard output.")
@WORKSPACE
def history(rider: str, bike: str | None, as_json: bool, workspace: Path | None) -> None:
    """Show RIDER's log, on every bike or on BIKE alone."""
    from fitprofile.cli import logbook

    sys.exit(logbook.history(workspace, rider, bike, as_json=as_json))


@main.command()
@click.argument("rider")
@click.argument("bike")
@USE
@AS_JSON
@WORKSPACE
def verify(rider: str, bike: str, use: str | None, as_json: bool, workspace: Path | None) -> None:
    """Hold what was measured on BIKE after the work against the target of RIDER.

    Takes the latest sit-on of the log that was recorded with `--when after`, says which numbers
    are inside their tolerance, whether the tape explains a miss, and what is left to change.
    """
    from fitprofile.cli import verifying

    sys.exit(verifying.verify(workspace, rider, bike, use, as_json=as_json))


@main.command()
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
@PLAIN_JSON
def completion(shell: str, as_json: bool) -> None:
    """Print the line that switches on completion for a shell; add it to the shell's start file."""
    lines = {
        "bash": 'eval "$(_FITPROFILE_COMPLETE=bash_source fitprofile)"',
        "zsh": 'eval "$(_FITPROFILE_COMPLETE=zsh_source fitprofile)"',
        "fish": "_FITPROFILE_COMPLETE=fish_source fitprofile | source",
    }
    if as_json:
        from fitprofile.cli.printing import print_json

        print_json({"shell": shell, "line": lines[shell]})
    else:
        click.echo(lines[shell])
