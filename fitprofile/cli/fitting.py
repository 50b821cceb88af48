"""Parts that a sit-on after the work finds on the bike: those named, or those of a plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fitprofile.cli.session import Session, picked
from fitprofile.errors import Problem, has_errors
from fitprofile.store.workspace import Workspace

if TYPE_CHECKING:
    from fitprofile.stages.chain import Transfer

UNREAD = "shared/parts.toml cannot be read, so no part can be named: see fitprofile check"


def parts_of_plan(
    workspace: Workspace, rider: str, bike: str, use: str, plan: str
) -> tuple[list[str], tuple[Problem, ...]]:
    """Names of the parts of a plan, as it is for the rider's log as it stands; or why not."""
    session = Session(workspace)
    ready, _ = session.rider(rider, use, standing=True)
    made: Transfer | None = None
    if ready is not None and use in ready.standing:
        from fitprofile.cli.uses import stood_on

        made = stood_on(session, ready, bike, use)
    elif ready is not None:
        made = session.transfer(ready, bike, use)
    if made is None:
        return [], tuple(p for p in session.problems if has_errors((p,)))
    made, missing = picked(made, plan)
    if missing or made.offers is None:
        return [], missing
    return [part.name for part in made.offers.chosen.plan.choice.parts()], ()


def read_names(
    workspace: Workspace, bike: str, texts: Sequence[str]
) -> tuple[list[str], tuple[str, ...]]:
    """Names of parts out of what was typed, as the catalogue spells them, and what is wrong.

    Several stand in one text parted by semicolons; ``none`` is no part at all.
    """
    from fitprofile.model.parts import BETWEEN, NONE
    from fitprofile.store.crosscheck import as_listed, lost_fitted

    words = (word.strip() for text in texts for word in text.split(BETWEEN))
    typed = [word for word in words if word and word.lower() != NONE]
    catalogue = workspace.catalogue()[0] if typed else None
    if catalogue is None:
        return [], (UNREAD,) if typed else ()
    names = list(dict.fromkeys(as_listed(word, catalogue) for word in typed))
    return names, tuple(lost_fitted(names, workspace.bike(bike)[0], catalogue))
