"""One run on a workspace: files read once, riders calibrated once, problems with their lines."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from fitprofile.cli.printing import DONE, IN_DATA, one_each, progress, unknown, wrong_use
from fitprofile.errors import ERROR, NOTE, WARNING, Problem
from fitprofile.store.folders import SHARED
from fitprofile.store.workspace import Workspace, find_workspace

if TYPE_CHECKING:
    from fitprofile.data.places import Place
    from fitprofile.model.bike import Bike
    from fitprofile.model.log import Entry
    from fitprofile.model.parts import Catalogue
    from fitprofile.model.shop import Shop
    from fitprofile.report.garage import Failed
    from fitprofile.stages.chain import Prepared, Transfer


STANDS_ALONE = (
    "this takes a seated use, and the rider has standing ones alone: add a table [cockpit.road], "
    "or named by another use"
)


class Session:
    """One run: files read once, riders calibrated once, problems with their lines."""

    def __init__(self, workspace: Workspace) -> None:
        self.workspace = workspace
        self.problems: tuple[Problem, ...] = ()
        self.weights: Mapping[str, float] = {}
        self._bikes: dict[str, tuple[Bike | None, tuple[Problem, ...]]] = {}
        self._shelves_read = False
        self._shelf_problems: tuple[Problem, ...] = ()
        self._catalogue: Catalogue | None = None
        self._place: Place | None = None
        self._logs: dict[str, tuple[tuple[Entry, ...], tuple[Problem, ...]]] = {}

    def rider(
        self,
        key: str,
        use: str | None,
        *,
        held_back: Entry | None = None,
        standing: bool = False,
    ) -> tuple[Prepared | None, int]:
        """A calibrated rider, or ``None`` with the exit code; what is wrong is in `problems`.

        The entry of the log that is ``held_back`` takes no part in the calibration; a ``standing``
        use is taken only where it is said so.
        """
        from fitprofile.stages.chain import prepare

        if key not in self.workspace.rider_keys():
            return None, unknown("rider", key, self.workspace.rider_keys())
        rider, problems = self.workspace.rider(key)
        shop, more = self.workspace.shop()
        self.problems = problems + more
        if rider is None or shop is None:
            return None, IN_DATA
        known_uses = (*rider.cockpits, *(rider.standing if standing else ()))
        if not rider.cockpits and rider.standing and not standing:
            self.problems += (Problem(STANDS_ALONE, "cockpit", rider.file, 1),)
            return None, IN_DATA
        if use in rider.standing and not standing:
            seated = ", ".join(rider.cockpits)
            told = f"'{use}' is a standing use; this takes a seated one: {seated}"
            way = f"for the parts of a stand: fitprofile transfer {key} BIKE --use {use}"
            return None, wrong_use(f"{told}; {way}")
        if use is not None and use not in known_uses:
            return None, unknown(f"use of {key}", use, known_uses)
        log, odd = self.log(key)
        log = tuple(entry for entry in log if entry != held_back)
        named = {cockpit.measured_on for cockpit in rider.cockpits.values()} - {None}
        named |= {stood.measured_on for stood in rider.standing.values()} - {None}
        named |= {entry.bike for entry in log}
        bikes = {name: self.bike(str(name)) for name in named}
        known = {str(name): bike for name, bike in bikes.items() if bike is not None}
        self._read_shelves(shop)
        ready, found = prepare(rider, known, shop, log)
        found = (*self._shelf_problems, *odd, *self.workspace.locate(found))
        self.problems = one_each((*self.problems, *found))
        return ready, DONE if ready is not None else IN_DATA

    @property
    def catalogue(self) -> Catalogue:
        """What the shop can fit; nothing where it lists no part, or was not read yet."""
        from fitprofile.model.parts import Catalogue

        return self._catalogue or Catalogue()

    def _with_plans(self, ready: Prepared, made: Transfer) -> Transfer:
        """The transfer with plans from the shop's parts, free adjustments where it has none."""
        from fitprofile.stages.chain import with_plans

        return with_plans(ready, made, self.catalogue, self._place, self.weights)

    def with_standing_plans(self, ready: Prepared, made: Transfer, use: str) -> Transfer:
        """The same for one of the rider's standing uses."""
        from fitprofile.stages.standing_chain import with_standing_plans

        return with_standing_plans(ready, made, use, self.catalogue, self._place)

    def on_it(self, bike: Bike) -> tuple[Problem, ...]:
        """What is wrong with the parts that a bike says are fitted."""
        from fitprofile.model.bike import Fitted

        if bike.fitted == Fitted():
            return ()
        return self.workspace.fitted_parts(bike.key, self._catalogue)

    def _read_shelves(self, shop: Shop) -> None:
        """Read once what the shop can fit and where its bikes are ridden."""
        if self._shelves_read:
            return
        self._shelves_read = True
        catalogue, problems = self.workspace.catalogue()
        if catalogue is None:
            from fitprofile.store.folders import PARTS_FILE
            from fitprofile.store.parts import unread_catalogue

            catalogue = unread_catalogue(PARTS_FILE)
        self._catalogue = catalogue
        self._place, unknown_place = place_of(self.workspace, shop)
        problems += unknown_place
        self._shelf_problems = problems

    def told(self) -> tuple[Problem, ...]:
        """What a comparison says of the rider and of what all bikes share; no bike's own notes."""
        return tuple(p for p in self.problems if everybodys(p))

    def log(self, key: str) -> tuple[tuple[Entry, ...], tuple[Problem, ...]]:
        """A rider's log, read once, with what is wrong with it."""
        if key not in self._logs:
            self._logs[key] = self.workspace.log(key)
        return self._logs[key]

    def bike(self, key: str) -> Bike | None:
        """A bike's file, read once; what is wrong with it is in `problems`."""
        if key not in self._bikes:
            self._bikes[key] = self.workspace.bike(key)
        bike, problems = self._bikes[key]
        self.problems = tuple(dict.fromkeys((*self.problems, *problems)))
        return bike

    def transfer(
        self, ready: Prepared, key: str, use: str | None, *, work: bool = True
    ) -> Transfer | None:
        """One transfer with every problem of rider and bike, lines looked up.

        ``work``: with its plans, and with what is to be said of the work ahead.
        """
        from attrs import evolve

        from fitprofile.stages.chain import transfer

        bike = self.bike(key)
        if bike is None:
            return None
        used = use or next(iter(ready.rider.cockpits))
        made, problems = transfer(ready, bike, used, work=work)
        located = self.workspace.locate(problems)
        located += self.on_it(bike)
        if made is None:
            self.problems += located
            return None
        made = self._with_plans(ready, made) if work else made
        everything = dict.fromkeys((*self.problems, *located))
        log, _ = self.log(ready.rider.key)
        kept = tuple(p for p in everything if _concerns(p, made, log))
        return evolve(made, problems=kept)


def _concerns(problem: Problem, made: Transfer, log: tuple[Entry, ...]) -> bool:
    """Whether a problem belongs on this sheet: not another bike's, not another cockpit's."""
    if problem.file == log_name(made.rider.file):
        return concerns_entry(problem, made.bike.key, made.use, log)
    reference = made.cockpit.measured_on
    if problem.file == made.rider.file:
        part = (problem.key or "").split(".")
        return part[0] != "cockpit" or part[1:2] in ([], [made.use])
    if problem.file == f"bikes/{reference}.toml" != made.bike.file:
        return problem.level != NOTE
    return problem.file in (None, made.bike.file) or is_shared(problem)


def log_name(rider: str) -> str:
    """File of a rider's log, from the rider's own."""
    return f"{rider.removesuffix('.toml')}.log.toml"


def concerns_entry(problem: Problem, bike: str, use: str, log: tuple[Entry, ...]) -> bool:
    """Whether a problem of the log belongs on a sheet: a note only where it is this bike's."""
    line = problem.line or 0
    entry = next((one for one in reversed(log) if (one.line or 0) <= line), None)
    if problem.key is None or entry is None:
        return True
    return entry.use == use and (entry.bike == bike or problem.level != NOTE)


def picked(made: Transfer, plan: str) -> tuple[Transfer, tuple[Problem, ...]]:
    """The transfer with the plan that was named, or with the problem that there is none."""
    from attrs import evolve

    offers = made.offers
    if offers is not None and offers.listed and offers.named(plan) is not None:
        return evolve(made, offers=evolve(offers, picked=plan)), ()
    if offers is None or not offers.listed:
        why = "the shop lists no parts; list some in shared/parts.toml"
        text = f"no {plan} plan: {(offers.remark if offers else '') or why}"
    else:
        there = ", ".join(one.plan.name for one in offers.offers)
        text = (
            f"no {plan} plan for {made.bike.key}: no listed parts bring every number inside its "
            f"tolerance; there is {there}"
        )
    missing = (Problem(text, "plan"),)
    return evolve(made, problems=(*made.problems, *missing)), missing


def is_shared(problem: Problem) -> bool:
    """Whether a problem is with what all bikes share: the catalogue, tolerances, the place."""
    return problem.file is not None and problem.file.startswith(f"{SHARED}/")


def everybodys(problem: Problem) -> bool:
    """Whether a problem is said even where many bikes are: errors, what bikes share, work done."""
    done = problem.key == "fitted" and problem.level == WARNING
    return problem.level == ERROR or is_shared(problem) or done


def place_of(workspace: Workspace, shop: Shop) -> tuple[Place | None, tuple[Problem, ...]]:
    """Where the bikes are ridden, as the shop's file says, with an error where it is not known.

    ``None``: nobody asked for a law. A place that is not known is one without figures, so that
    each plan says that its law was not looked at.
    """
    if shop.place is None:
        return None, ()
    from attrs import evolve

    from fitprofile.data.places import Place, find_place

    found = find_place(shop.place)
    if not isinstance(found, Problem):
        return found, ()
    unknown = Place(name=shop.place, aliases=(), note="no law is known here for it", rules=())
    return unknown, workspace.locate((evolve(found, file=shop.file, key="place"),))


def all_bikes(
    session: Session, ready: Prepared, use: str | None, keys: Iterable[str]
) -> tuple[list[Transfer], list[Failed]]:
    """Transfers to many bikes, and those that have none with the reasons."""
    from fitprofile.report.garage import Failed

    made: list[Transfer] = []
    failed: list[Failed] = []
    for key in progress(tuple(keys), f"{ready.rider.key}: bikes"):
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


def open_workspace(root: Path | None) -> Workspace:
    """The workspace asked for, or the nearest one; ends the program where there is none."""
    found = find_workspace(Path.cwd() if root is None else root)
    if found is None or (root is not None and found.resolve() != root.resolve()):
        place = "here or above" if root is None else f"in {root}"
        text = (
            f"no workspace {place}: a folder with profiles/ and bikes/ is needed; "
            "make one with: fitprofile init DIRECTORY"
        )
        sys.exit(wrong_use(text))
    from fitprofile.cli.sheets import today

    return Workspace(found, today())
