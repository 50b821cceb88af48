"""A workspace: the folder that holds riders, bikes, the shop's figures and reports."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TypeVar

from attrs import evolve, field, frozen

from fitprofile.errors import WARNING, Problem, has_errors
from fitprofile.model.bike import Bike
from fitprofile.model.rider import Rider
from fitprofile.model.shop import Shop
from fitprofile.store.bikes import read_bike
from fitprofile.store.folders import BIKES, ENDING, PROFILES, TOLERANCES_FILE, write_report
from fitprofile.store.mistakes import Mistakes, nearest
from fitprofile.store.riders import COCKPIT, MEASURED_ON, measured_on, read_rider
from fitprofile.store.schema_version import schema_problems
from fitprofile.store.shops import read_shop
from fitprofile.store.toml import Document, read_document, undotted, visible
from fitprofile.store.words import FILE_KEY, why_no_file_key

LOG_ENDING = ".log.toml"

NO_COCKPIT = "no riding position yet: add a table [cockpit.road], or named by another use"

Problems = tuple[Problem, ...]
T = TypeVar("T")


def find_workspace(start: Path) -> Path | None:
    """The nearest folder, from ``start`` upward, that holds ``profiles/`` and ``bikes/``.

    ``None`` where there is none.
    """
    for folder in (start, *start.absolute().parents):
        if (folder / PROFILES).is_dir() and (folder / BIKES).is_dir():
            return folder
    return None


@frozen
class Workspace:
    """Everything in one workspace: each file is read once, when it is first asked for.

    Parameters
    ----------
    root : Path
        The folder that holds ``profiles/`` and ``bikes/``.
    """

    root: Path
    _documents: dict[str, tuple[Document | None, Problems]] = field(
        factory=dict, init=False, eq=False, repr=False
    )

    def rider_keys(self) -> tuple[str, ...]:
        """File names of the riders without their ending, in alphabetical order."""
        return self._keys(PROFILES)

    def bike_keys(self) -> tuple[str, ...]:
        """File names of the bikes without their ending, in alphabetical order."""
        return self._keys(BIKES)

    def rider(self, key: str) -> tuple[Rider | None, Problems]:
        """One rider, and what is wrong with the file.

        ``None`` where the file cannot be used. A ``measured_on`` that names no bike is an
        error among the problems, and the rider is returned nevertheless; so is a rider with no
        cockpit, with a warning.
        """
        rider, problems = self._read(PROFILES, key, read_rider)
        if rider is not None and not rider.cockpits:
            problems += (Problem(NO_COCKPIT, file=rider.file, level=WARNING),)
        return rider, problems + self._lost_bikes(key)

    def bike(self, key: str) -> tuple[Bike | None, Problems]:
        """One bike, or ``None``, and what is wrong with the file."""
        return self._read(BIKES, key, read_bike)

    def shop(self) -> tuple[Shop | None, Problems]:
        """The shop's figures; those to start from where the workspace has no such file."""
        if not _there(self.root / TOLERANCES_FILE):
            return Shop(), ()
        document, problems = self._document(TOLERANCES_FILE)
        if document is None:
            return None, problems
        problems = schema_problems(document, required=False)
        return _structure(document, problems, read_shop)

    def check(self) -> Problems:
        """Every problem of every file, in the order of files and lines."""
        problems = list(self._misnamed(PROFILES) + self._misnamed(BIKES))
        for key in self.rider_keys():
            problems += self.rider(key)[1]
        for key in self.bike_keys():
            problems += self.bike(key)[1]
        problems += self.shop()[1]
        return tuple(sorted(problems, key=lambda p: (p.file or "", p.line or 0)))

    def new_rider(self, key: str, name: str) -> Path | Problem:
        """A commented ``profiles/KEY.toml`` to fill in, or why there is none."""
        from fitprofile.store.create import new_file

        return new_file(self.root, PROFILES, key, name)

    def new_bike(self, key: str, name: str) -> Path | Problem:
        """A commented ``bikes/KEY.toml`` to fill in, or why there is none."""
        from fitprofile.store.create import new_file

        return new_file(self.root, BIKES, key, name)

    def write_report(self, name: str, content: bytes) -> Path | Problem:
        """A file in ``reports/``, replacing the one before, or why it could not be written.

        Raises
        ------
        ValueError
            Where ``name`` is more than a file name of letters, digits and ``- _ .``.
        """
        return write_report(self.root, name, content)

    def locate(self, problems: Iterable[Problem]) -> Problems:
        """The same problems with the line of their key, or of what is nearest around it.

        A problem that has a line already, or names no file of this workspace, stays as it is.
        """
        return tuple(self._located(problem) for problem in problems)

    def _located(self, problem: Problem) -> Problem:
        if problem.file is None or problem.line is not None:
            return problem
        document, _ = self._document(problem.file)
        if document is None:
            return problem
        path = undotted(document.data, problem.key or "")
        return evolve(problem, line=document.line_of(path))

    def _keys(self, folder: str) -> tuple[str, ...]:
        found = (path.name for path in self._files(folder))
        keys = (name.removesuffix(ENDING) for name in found)
        return tuple(key for key in keys if FILE_KEY.fullmatch(key))

    def _files(self, folder: str) -> tuple[Path, ...]:
        """TOML files of a folder without logs and hidden ones."""
        try:
            found = sorted((self.root / folder).iterdir())
        except OSError:
            return ()
        return tuple(
            path
            for path in found
            if path.name.endswith(ENDING) and not path.name.endswith(LOG_ENDING)
            if not path.name.startswith(".")
        )

    def _misnamed(self, folder: str) -> Problems:
        """Files that no command could ever name."""
        names = (path.name.removesuffix(ENDING) for path in self._files(folder))
        return tuple(
            Problem(f"rename the file: {why}", file=f"{folder}/{visible(name, 80)}{ENDING}")
            for name in names
            if (why := why_no_file_key(name)) is not None
        )

    def _document(self, shown: str) -> tuple[Document | None, Problems]:
        if shown not in self._documents:
            self._documents[shown] = read_document(self.root / shown, shown)
        return self._documents[shown]

    def _read(
        self, folder: str, key: str, reader: Callable[[Document, str], T]
    ) -> tuple[T | None, Problems]:
        why = why_no_file_key(key)
        if why is not None:
            return None, (Problem(why),)
        shown = f"{folder}/{key}{ENDING}"
        if not _there(self.root / shown):
            return None, (Problem(self._no_such(folder, key), file=shown),)
        document, problems = self._document(shown)
        if document is None:
            return None, problems
        problems = schema_problems(document, required=True)
        return _structure(document, problems, lambda d: reader(d, key))

    def _no_such(self, folder: str, key: str) -> str:
        """Sentence for a file that is not there, with the nearest name that is."""
        kind = "rider" if folder == PROFILES else "bike"
        keys = self._keys(folder)
        near = nearest(key, keys)
        if near:
            return f"there is no {kind} '{key}', did you mean '{near}'?"
        return f"there is no {kind} '{key}' yet: `fitprofile new {kind} {key}` begins one"

    def _lost_bikes(self, key: str) -> Problems:
        """Cockpits that say they were measured on a bike that is not here."""
        document, _ = self._documents.get(f"{PROFILES}/{key}{ENDING}", (None, ()))
        if document is None:
            return ()
        return tuple(
            document.problem((COCKPIT, use, MEASURED_ON), self._no_such(BIKES, bike))
            for use, bike in measured_on(document)
            if not (self.root / BIKES / f"{bike}{ENDING}").is_file()
        )


def _there(path: Path) -> bool:
    """Whether there is anything of this name, be it a folder or a link to nowhere."""
    try:
        path.lstat()
    except OSError:
        return False
    return True


def _structure(
    document: Document, problems: Problems, reader: Callable[[Document], T]
) -> tuple[T | None, Problems]:
    """A value of the model, or everything that keeps the document from being one."""
    if has_errors(problems) and "schema" in document.data:
        return None, problems
    try:
        value = reader(document)
    except Mistakes as mistakes:
        found = (document.problem(path, text) for path, text in mistakes.found)
        return None, _in_order((*problems, *found))
    return (None if has_errors(problems) else value), problems


def _in_order(problems: Iterable[Problem]) -> Problems:
    return tuple(sorted(problems, key=lambda problem: problem.line or 0))
