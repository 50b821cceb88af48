"""A workspace: the folder that holds riders, bikes, the shop's figures and reports."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from attrs import evolve, field

from fitprofile.errors import WARNING, Problem, has_errors
from fitprofile.model.bike import Bike
from fitprofile.model.rider import Rider
from fitprofile.model.shop import Shop
from fitprofile.store.bikes import read_bike
from fitprofile.store.folders import (
    BIKES,
    ENDING,
    LOG_ENDING,
    PARTS_FILE,
    PROFILES,
    TOLERANCES_FILE,
    write_report,
)
from fitprofile.store.mistakes import Mistakes, nearest, unknown
from fitprofile.store.riders import MEASURED_ON, measured_on, read_rider
from fitprofile.store.schema_version import schema_problems
from fitprofile.store.shops import read_shop
from fitprofile.store.toml import Document, dotted, read_document, undotted, visible
from fitprofile.store.words import FILE_KEY, why_no_file_key
from fitprofile.values import frozen

if TYPE_CHECKING:
    from fitprofile.model.log import Entry
    from fitprofile.model.parts import Catalogue

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
    today : str or None
        Day, ISO 8601, that no date of a log should lie after; ``None``: not known.
    """

    root: Path
    today: str | None = None
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
        use at all, with a warning.
        """
        rider, problems = self._read(PROFILES, key, read_rider)
        if rider is not None and not rider.cockpits and not rider.standing:
            problems += (Problem(NO_COCKPIT, "cockpit", rider.file, 1, WARNING),)
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

    def catalogue(self) -> tuple[Catalogue | None, Problems]:
        """The parts that the shop can fit, as far as they are right, and what is wrong.

        An empty catalogue where there is no such file, ``None`` where nothing of it can be used;
        a warning says which parts are left out.
        """
        from fitprofile.model.parts import Catalogue

        if not _there(self.root / PARTS_FILE):
            return Catalogue(), ()
        from fitprofile.store.parts import NOT_USED, read_catalogue

        document, problems = self._document(PARTS_FILE)
        unread = Problem(NOT_USED, file=PARTS_FILE, line=1, level=WARNING)
        if document is None:
            return None, (*problems, unread)
        problems = schema_problems(document, required=True)
        if has_errors(problems) and "schema" in document.data:
            return None, (*problems, unread)
        catalogue, mistakes = read_catalogue(document)
        found = _in_order((*problems, *(document.problem(*one) for one in mistakes)))
        if has_errors(problems):
            return None, (*found, unread)
        told = catalogue.remark.removeprefix(f"{PARTS_FILE}: ")
        remark = Problem(told, file=PARTS_FILE, line=1, level=WARNING)
        return catalogue, (*found, remark) if told else found

    def fitted_parts(self, key: str, catalogue: Catalogue | None = None) -> Problems:
        """What is wrong with the parts that a bike says are fitted.

        An error where the catalogue does not list one, a warning where it cannot be on that bike;
        nothing where the bike or the catalogue cannot be read. ``catalogue`` is given by whoever
        has read it already.
        """
        from fitprofile.store.crosscheck import lost_parts, odd_parts

        bike = self.bike(key)[0]
        catalogue = self.catalogue()[0] if catalogue is None else catalogue
        if bike is None or catalogue is None:
            return ()
        document, _ = self._document(bike.file)
        if document is None:
            return ()
        lost = (document.problem(*one) for one in lost_parts(bike, catalogue))
        odd = (document.problem(*one, WARNING) for one in odd_parts(bike, catalogue))
        return (*lost, *odd)

    def check(self) -> Problems:
        """Every problem of every file, in the order of files and lines."""
        problems = list(self._misnamed(PROFILES) + self._misnamed(BIKES))
        for key in self.rider_keys():
            problems += self.rider(key)[1]
        for key in self._log_keys():
            problems += self.log(key)[1]
        for key in self.bike_keys():
            problems += self.bike(key)[1] + self.fitted_parts(key)
        problems += self.shop()[1] + self.catalogue()[1] + self._idle_parts()
        return tuple(sorted(problems, key=lambda p: (p.file or "", p.line or 0)))

    def _idle_parts(self) -> Problems:
        """Parts of the catalogue that no bike here takes."""
        from fitprofile.store.crosscheck import idle_parts

        catalogue, _ = self.catalogue()
        document, _ = self._documents.get(PARTS_FILE, (None, ()))
        if catalogue is None or document is None:
            return ()
        bikes = {key: self.bike(key)[0] for key in self.bike_keys()}
        found = idle_parts(catalogue, bikes)
        return tuple(document.problem(path, text, WARNING) for path, text in found)

    def new_rider(self, key: str, name: str) -> Path | Problem:
        """A commented ``profiles/KEY.toml`` to fill in, or why there is none."""
        from fitprofile.store.create import new_file

        return new_file(self.root, PROFILES, key, name)

    def new_bike(self, key: str, name: str) -> Path | Problem:
        """A commented ``bikes/KEY.toml`` to fill in, or why there is none."""
        from fitprofile.store.create import new_file

        return new_file(self.root, BIKES, key, name)

    def log(self, key: str) -> tuple[tuple[Entry, ...], Problems]:
        """A rider's log, in the order of the file, and what is wrong with it.

        Records that cannot be used are left out, the others are returned. A bike or a use that
        is not here is a warning. Nothing of both where there is no log yet.
        """
        why = why_no_file_key(key)
        if why is not None:
            return (), (Problem(why),)
        shown = f"{PROFILES}/{key}{LOG_ENDING}"
        if not _there(self.root / shown):
            return (), ()
        from fitprofile.store.log import read_content, read_log

        content, problems = read_content(self.root, key)
        if key not in self.rider_keys():
            problems += (Problem(self._no_such(PROFILES, key), file=shown, level=WARNING),)
        entries, found = read_log(content, shown, self._astray(key), self.today)
        return entries, problems + found

    def record(self, key: str, record: Mapping[str, object]) -> Path | Problem:
        """Add one record to the end of a rider's log; the log, or why it was not done.

        ``record`` holds what would stand in the file: texts and figures as they were written.
        """
        from fitprofile.store.append import append_record
        from fitprofile.store.log import read_entry

        why = why_no_file_key(key)
        if why is not None:
            return Problem(why)
        shown = f"{PROFILES}/{key}{LOG_ENDING}"
        try:
            read_entry(record)
        except Mistakes as mistakes:
            path, text = mistakes.found[0]
            return Problem(text, dotted(path), shown)
        return append_record(self.root / shown, shown, record) or self.root / shown

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

    def _log_keys(self) -> tuple[str, ...]:
        """Names of the riders who have a log, in alphabetical order."""
        names = (path.name.removesuffix(LOG_ENDING) for path in self._logs())
        return tuple(name for name in names if FILE_KEY.fullmatch(name))

    def _logs(self) -> list[Path]:
        folder = self.root / PROFILES
        return sorted(folder.glob(f"*{LOG_ENDING}")) if folder.is_dir() else []

    def _astray(self, key: str) -> Callable[[Entry], Iterator[tuple[str, str]]]:
        """What names the bike and the use of an entry where they are not here.

        And numbers that are not measured in its kind of use: they are not looked at.
        """
        from fitprofile.model.log import MEASURED
        from fitprofile.store.fitted_names import lost_fitted
        from fitprofile.store.log import out_of_place

        bikes = self.bike_keys()
        shelves = cache(lambda: self.catalogue()[0])
        fitted_to = cache(lambda bike: self.bike(bike)[0])
        earlier: dict[str, list[str]] = {}
        rider = self.rider(key)[0] if key in self.rider_keys() else None
        uses = () if rider is None else (*rider.cockpits, *rider.standing)

        def astray(entry: Entry) -> Iterator[tuple[str, str]]:
            if entry.bike not in bikes:
                yield "bike", self._no_such(BIKES, entry.bike)
            catalogue = shelves() if entry.fitted and entry.bike in bikes else None
            if entry.fitted and catalogue is not None:
                there = earlier.setdefault(entry.bike, [])
                for why in lost_fitted(entry.fitted, fitted_to(entry.bike), catalogue, there):
                    yield "fitted", why
                there += entry.fitted
            if uses and entry.use not in uses:
                yield "use", unknown(entry.use, uses, "use")
            if rider is None or entry.use not in uses:
                return
            told = (name for name in MEASURED if getattr(entry, name) is not None)
            stands = entry.use in rider.standing
            for name, why in out_of_place(told, entry.use, standing=stands):
                yield name, f"{why}; it counts for nothing here"

        return astray

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
        """Cockpits and standing uses that name a bike that is not here."""
        document, _ = self._documents.get(f"{PROFILES}/{key}{ENDING}", (None, ()))
        if document is None:
            return ()
        return tuple(
            document.problem((*path, MEASURED_ON), self._no_such(BIKES, bike))
            for *path, bike in measured_on(document)
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
