"""Parts that a sit-on after the work finds on the bike: those named, or those of a plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from fitprofile.cli.session import Session, picked
from fitprofile.errors import Problem, has_errors
from fitprofile.store.workspace import Workspace

if TYPE_CHECKING:
    from fitprofile.stages.chain import Transfer

UNREAD = "shared/parts.toml cannot be read, so no part can be named: see fitprofile check"

WORTH_SAYING = 0.5
"""Degrees of lean below which a plan asks for the rider's own: no more shows in whole degrees."""


class Done(NamedTuple):
    """A plan that was carried out, or what is wrong with it.

    ``lean_deg`` is what it asks for in place of the rider's own, ``None`` where that is its lean.
    """

    parts: tuple[str, ...] = ()
    lean_deg: float | None = None
    problems: tuple[Problem, ...] = ()

    def record(self) -> dict[str, object]:
        """What stands in the log of it."""
        lean = {} if self.lean_deg is None else {"planned_lean": self.lean_deg}
        return {"fitted": list(self.parts), **lean}


def done_by_plan(workspace: Workspace, rider: str, bike: str, use: str, plan: str) -> Done:
    """A plan as it is for the rider's log as it stands."""
    session = Session(workspace)
    ready, _ = session.rider(rider, use, standing=True)
    made: Transfer | None = None
    if ready is not None and use in ready.standing:
        from fitprofile.cli.uses import stood_on

        made = stood_on(session, ready, bike, use)
    elif ready is not None:
        made = session.transfer(ready, bike, use)
    if ready is None or made is None:
        return Done(problems=tuple(p for p in session.problems if has_errors((p,))))
    made, missing = picked(made, plan)
    if missing or made.offers is None:
        return Done(problems=missing)
    chosen = made.offers.chosen.plan
    lean, own = float(chosen.after.lean_deg), float(made.target.lean_deg)
    other = use not in ready.standing and abs(lean - own) >= WORTH_SAYING
    return Done(
        parts=tuple(part.name for part in chosen.choice.parts()),
        lean_deg=round(lean, 1) if other else None,
    )


def read_names(
    workspace: Workspace, rider: str, bike: str, texts: Sequence[str]
) -> tuple[list[str], tuple[str, ...]]:
    """Names of parts out of what was typed, as the catalogue spells them, and what is wrong.

    Several stand in one text parted by semicolons; ``none`` is no part at all.
    """
    from fitprofile.model.parts import BETWEEN, NONE
    from fitprofile.store.fitted_names import as_listed, lost_fitted

    words = (word.strip() for text in texts for word in text.split(BETWEEN))
    said = [word for word in words if word]
    typed = [word for word in said if word.lower() != NONE]
    if len(said) > len(typed) > 0:
        return [], (f"{NONE} and {typed[0]} cannot both be: name the parts, or {NONE} alone",)
    catalogue = workspace.catalogue()[0] if typed else None
    if catalogue is None:
        return [], (UNREAD,) if typed else ()
    names = list(dict.fromkeys(as_listed(word, catalogue) for word in typed))
    log, _ = workspace.log(rider)
    earlier = [name for entry in log if entry.bike == bike for name in entry.fitted or ()]
    return names, tuple(lost_fitted(names, workspace.bike(bike)[0], catalogue, earlier))
