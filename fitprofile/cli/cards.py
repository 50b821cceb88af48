"""What `shopping`, `swap`, `dryfit` and `putback` do."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fitprofile.cli.printing import (
    DONE,
    IN_DATA,
    WRONG_USE,
    one_each,
    print_json,
    print_problems,
    unknown,
    width,
    wrong_use,
)
from fitprofile.cli.session import Session, all_bikes, everybodys, open_workspace
from fitprofile.cli.sheets import Sheet, today, write_sheets
from fitprofile.errors import Problem, has_errors

if TYPE_CHECKING:
    from fitprofile.report.garage import Failed
    from fitprofile.report.page import Page
    from fitprofile.report.shopping import Chosen
    from fitprofile.stages.chain import Prepared, Transfer
    from fitprofile.stages.sharing import Shared

LONGEST = 180
"""Characters of a report's name before its ending."""


def report_name(kind: str, *parts: str) -> str:
    """Name of a card's files: its parts, then its kind.

    A transfer sheet has three words with points between, so no card has three: whatever riders,
    bikes and uses are called, no card replaces a sheet or another card.
    """
    name = ".".join((*parts, kind))
    if len(name) <= LONGEST:
        return name
    short = ".".join((*(part[:20] for part in parts), kind))
    return f"{short}.{sha256(name.encode()).hexdigest()[:12]}.long"


def shopping(
    root: Path | None,
    rider: str,
    bikes: tuple[str, ...],
    use: str | None,
    plan: str | None,
    *,
    as_json: bool,
    paper: str,
    pdf: bool,
) -> int:
    """One list over several bikes; exit code."""
    workspace = open_workspace(root)
    bikes = tuple(dict.fromkeys(bikes))
    for bike in bikes:
        if bike not in workspace.bike_keys():
            return unknown("bike", bike, workspace.bike_keys())
    session = Session(workspace)
    ready, code = session.rider(rider, use)
    if code == WRONG_USE:
        return code
    made: list[Transfer] = []
    failed: list[Failed] = []
    if ready is not None:
        use = use or next(iter(ready.rider.cockpits))
        made, failed = all_bikes(session, ready, use, bikes or workspace.bike_keys())
    from fitprofile.report.shopping import choose

    chosen = [choose(one, plan) for one in made]
    currency = _currency(made)
    problems = _all_problems(session, made, failed)
    bad = ready is None or bool(failed) or has_errors(problems)
    if as_json:
        from fitprofile.report.card_record import shopping_record

        print_json(shopping_record(rider, use, plan, chosen, failed, currency, problems))
        return IN_DATA if bad else DONE
    if ready is None or use is None:
        print_problems(session.problems)
        return IN_DATA
    from fitprofile.report.card_text import shopping_text

    click.echo(shopping_text(chosen, failed, currency, width()))
    print_problems(p for p in problems if everybodys(p))
    sheet = _list_of(ready, use, chosen, failed, currency)
    code = write_sheets(workspace, [sheet], paper=paper, pdf=pdf)
    return IN_DATA if bad else code


def _list_of(
    ready: Prepared, use: str, chosen: list[Chosen], failed: list[Failed], currency: str
) -> Sheet:
    def page() -> Page:
        from fitprofile.report.shopping import shopping_page

        return shopping_page(ready.rider, use, chosen, failed, currency, today())

    return report_name("shopping-list", ready.rider.key, use, "bikes"), page


def _all_problems(
    session: Session, made: list[Transfer], failed: list[Failed]
) -> tuple[Problem, ...]:
    """The rider's, each bike's, and of the bikes that have no transfer."""
    return one_each(
        (
            *session.problems,
            *(p for one in made for p in one.problems),
            *(p for one in failed for p in one.problems),
        )
    )


def _currency(made: list[Transfer]) -> str:
    """Of the catalogue's prices, empty where it says none."""
    return next((one.offers.currency for one in made if one.offers is not None), "")


def swap(
    root: Path | None,
    bike: str,
    riders: tuple[str, str],
    uses: tuple[str, ...],
    *,
    as_json: bool,
    paper: str,
    pdf: bool,
) -> int:
    """What to change when the other rider takes over; exit code."""
    workspace = open_workspace(root)
    if bike not in workspace.bike_keys():
        return unknown("bike", bike, workspace.bike_keys())
    asked = _two_uses(uses)
    if asked is None:
        return wrong_use("--use is given once for both riders, or twice, in their order")
    if riders[0] == riders[1] and asked[0] == asked[1]:
        return wrong_use(f"a swap is between two riders, and '{riders[0]}' was named twice")
    shared, problems, code = _shared(Session(workspace), bike, riders, asked)
    if code == WRONG_USE:
        return code
    if as_json:
        from fitprofile.report.card_record import swap_record

        print_json(swap_record(bike, riders, asked, shared, problems))
    elif shared is None:
        print_problems(problems)
    if as_json or shared is None:
        return IN_DATA if shared is None or has_errors(problems) else DONE
    from fitprofile.report.card_text import swap_text
    from fitprofile.report.swap import swap_page

    click.echo(swap_text(shared, problems, width()))
    name = report_name("swap", bike, *riders, shared.first.use, shared.second.use)
    sheet = (name, lambda: swap_page(shared, today()))
    code = write_sheets(workspace, [sheet], paper=paper, pdf=pdf)
    return IN_DATA if has_errors(problems) else code


def _shared(
    session: Session, bike: str, riders: tuple[str, str], uses: tuple[str | None, str | None]
) -> tuple[Shared | None, tuple[Problem, ...], int]:
    """One bike as both riders set it, what is wrong, and the exit code."""
    found: list[Transfer] = []
    problems: tuple[Problem, ...] = ()
    for key, use in zip(riders, uses, strict=True):
        ready, code = session.rider(key, use)
        if code == WRONG_USE:
            return None, (), code
        made = None if ready is None else session.transfer(ready, bike, use)
        problems += session.problems if made is None else made.problems
        found += [] if made is None else [made]
    problems = one_each(problems)
    if len(found) < len(riders):
        return None, problems, IN_DATA
    from fitprofile.model.parts import Labour
    from fitprofile.stages.sharing import share

    catalogue, _ = session.workspace.catalogue()
    labour = Labour() if catalogue is None else catalogue.labour
    return share(found[0], found[1], labour), problems, DONE


def _two_uses(uses: tuple[str, ...]) -> tuple[str | None, str | None] | None:
    """A use for each rider; ``None`` where more than two were named."""
    if not uses:
        return None, None
    if len(uses) > 2:  # noqa: PLR2004 - two riders
        return None
    return uses[0], uses[-1]


def dry_fit(
    root: Path | None,
    rider: str,
    bike: str,
    use: str | None,
    plan: str | None,
    *,
    as_json: bool,
    paper: str,
    pdf: bool,
) -> int:
    """What to try before money is spent; exit code."""
    workspace = open_workspace(root)
    if bike not in workspace.bike_keys():
        return unknown("bike", bike, workspace.bike_keys())
    session = Session(workspace)
    ready, code = session.rider(rider, use, standing=True)
    if code == WRONG_USE:
        return code
    made, stands = (None, "") if ready is None else _to_try(session, ready, bike, use)
    problems = session.problems if made is None else made.problems
    chosen = None
    if made is not None:
        from fitprofile.report.shopping import choose

        chosen = choose(made, plan, stands)
        use = chosen.use
    if as_json:
        from fitprofile.report.card_record import dry_fit_record

        print_json(dry_fit_record(rider, bike, use, plan, chosen, problems))
    elif chosen is None:
        print_problems(problems)
    if as_json or chosen is None or made is None:
        return IN_DATA if chosen is None or has_errors(problems) else DONE
    from fitprofile.report.card_text import dry_fit_text
    from fitprofile.report.dry_fit import dry_fit_page

    click.echo(dry_fit_text(chosen, problems, width()))
    name = report_name("dry-fit", rider, bike, chosen.use)
    sheet: tuple[str, Callable[[], Page]] = (name, lambda: dry_fit_page(chosen, today()))
    code = write_sheets(workspace, [sheet], paper=paper, pdf=pdf)
    return IN_DATA if has_errors(problems) else code


def _to_try(
    session: Session, ready: Prepared, bike: str, use: str | None
) -> tuple[Transfer | None, str]:
    """A transfer with the plans to try, and the standing use that they are of; empty: a seated one.

    The first standing use is meant where the rider has no other.
    """
    if use is None and not ready.settled:
        use = next(iter(ready.standing))
    if use not in ready.standing:
        return session.transfer(ready, bike, use), ""
    from fitprofile.cli.uses import stood_on

    return stood_on(session, ready, bike, str(use)), str(use)


def put_back(root: Path | None, bike: str, *, as_json: bool, paper: str, pdf: bool) -> int:
    """How a borrowed bike goes back as it came; exit code."""
    workspace = open_workspace(root)
    if bike not in workspace.bike_keys():
        return unknown("bike", bike, workspace.bike_keys())
    from fitprofile.stages.survey import survey

    read, problems = workspace.bike(bike)
    shop, more = workspace.shop()
    problems += more
    surveyed = None
    if read is not None and shop is not None:
        surveyed, found = survey(read, shop)
        problems += workspace.locate(found)
    if as_json:
        from fitprofile.report.card_record import put_back_record

        print_json(put_back_record(bike, read, surveyed, problems))
    elif surveyed is None:
        print_problems(problems)
    if as_json or read is None or surveyed is None:
        return IN_DATA if surveyed is None or has_errors(problems) else DONE
    from fitprofile.report.card_text import put_back_text
    from fitprofile.report.put_back import put_back_page

    click.echo(put_back_text(read, surveyed, problems, width()))
    name = report_name("put-back", bike)
    sheet = (name, lambda: put_back_page(read, surveyed, today()))
    code = write_sheets(workspace, [sheet], paper=paper, pdf=pdf)
    return IN_DATA if has_errors(problems) else code
