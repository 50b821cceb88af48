"""New files of a workspace; what is there already is never touched."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from fitprofile.errors import WARNING, Problem
from fitprofile.store.atomic import create_file, replace_file
from fitprofile.store.folders import (
    BIKES,
    ENDING,
    FOLDERS,
    PARTS_FILE,
    PROFILES,
    SCHEMAS,
    TOLERANCES_FILE,
    refused,
)
from fitprofile.store.mistakes import Mistakes
from fitprofile.store.schema import schema_files
from fitprofile.store.templates import (
    bike_template,
    parts_template,
    rider_template,
    tolerances_template,
)
from fitprofile.store.toml import visible
from fitprofile.store.words import read_text, why_no_file_key

TEMPLATES: Mapping[str, Callable[[str], str]] = {PROFILES: rider_template, BIKES: bike_template}


def new_file(root: Path, folder: str, key: str, name: str) -> Path | Problem:
    """A commented file to fill in, ``profiles/KEY.toml`` or ``bikes/KEY.toml``.

    Parameters
    ----------
    root : Path
        The workspace.
    folder : str
        ``"profiles"`` or ``"bikes"``.
    key : str
        File name without its ending.
    name : str
        Full name, as it is to be printed.

    Returns
    -------
    Path or Problem
        The new file, or why there is none: a file of this name is there already, the key or
        the name cannot be used, or the system refused.
    """
    why = why_no_file_key(key)
    if why is not None:
        return Problem(why)
    shown = f"{folder}/{key}{ENDING}"
    try:
        text = TEMPLATES[folder](read_text(name))
    except Mistakes as mistakes:
        return Problem(f"the name cannot be used: {mistakes}")
    path = root / shown
    try:
        path.parent.mkdir(exist_ok=True)
        create_file(path, text.encode())
    except FileExistsError:
        return Problem("is there already and was left as it is: choose another name", file=shown)
    except OSError as error:
        return refused(error, shown)
    return path


def init(root: Path) -> tuple[tuple[Path, ...], tuple[Problem, ...]]:
    """The folders and shared files of a workspace.

    Parameters
    ----------
    root : Path
        A folder, new or not.

    Returns
    -------
    paths : tuple of Path
        What was made, in order.
    problems : tuple of Problem
        A warning for each file that was there with other content, which is left as it is; an
        error where the system refused, with nothing more made after it.
    """
    made: list[Path] = []
    kept: list[Problem] = []
    shown = visible(str(root), 200)
    try:
        for folder in (root, *(root / name for name in FOLDERS)):
            if not folder.is_dir():
                folder.mkdir(parents=True)
                made.append(folder)
        for shown, content in shared_files().items():
            path = root / shown
            old = path.read_bytes() if path.exists() else b""
            if not old:
                replace_file(path, content)
                made.append(path)
            elif old != content:
                text = "is there already with other content and was left as it is"
                kept.append(Problem(text, file=shown, level=WARNING))
    except OSError as error:
        return tuple(made), (*kept, refused(error, shown))
    return tuple(made), tuple(kept)


def shared_files() -> Mapping[str, bytes]:
    """Files that every workspace holds, by path from its root."""
    schemas = {f"{SCHEMAS}/{name}.json": text for name, text in schema_files().items()}
    own = {TOLERANCES_FILE: tolerances_template(), PARTS_FILE: parts_template()}
    return {path: text.encode() for path, text in {**own, **schemas}.items()}
