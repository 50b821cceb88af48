"""Files that appear whole or not at all."""

from __future__ import annotations

import os
from contextlib import suppress
from errno import EEXIST
from pathlib import Path

NEW_FILE_MODE = 0o666
"""Permissions of a new file before the person's umask."""


def replace_file(path: Path, content: bytes) -> None:
    """Put new content in place of a file, or make it.

    Parameters
    ----------
    path : Path
        A link is followed, so that it stays one. Permissions of a file that is there are kept.
    content : bytes
        All of it.

    Raises
    ------
    OSError
        From the system; the old file is then as it was and no temporary file is left.

    Notes
    -----
    Written beside the target, flushed to the disk, then renamed over it, which POSIX makes one
    step: a reader sees the old content or the new, also after a power cut.
    """
    target = Path(os.path.realpath(path))
    mode = target.stat().st_mode & 0o7777 if target.exists() else None
    with _Beside(target, content, mode) as temporary:
        temporary.replace(target)


def create_file(path: Path, content: bytes) -> None:
    """Make a file that must not be there yet.

    Raises
    ------
    FileExistsError
        Where something of this name is there already; it is left untouched.
    OSError
        From the system; no file is left then.
    """
    with _Beside(path, content, None) as temporary:
        try:
            os.link(temporary, path)  # unlike a rename, a link never replaces
        except FileExistsError:
            raise
        except OSError:
            _rename_to_new(temporary, path)


def _rename_to_new(temporary: Path, path: Path) -> None:
    """The same for a disk that knows no links: looks first, then renames."""
    if os.path.lexists(path):
        raise FileExistsError(EEXIST, os.strerror(EEXIST), str(path))
    temporary.replace(path)


class _Beside:
    """A finished temporary file in the folder of its target, gone again if anything fails."""

    def __init__(self, target: Path, content: bytes, mode: int | None) -> None:
        self.target, self.content, self.mode = target, content, mode
        self.path = target.with_name(f".{target.name[:100]}.{os.urandom(6).hex()}.tmp")

    def __enter__(self) -> Path:
        try:
            self._write()
        except BaseException:
            self.path.unlink(missing_ok=True)
            raise
        return self.path

    def _write(self) -> None:
        handle = os.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, NEW_FILE_MODE)
        with os.fdopen(handle, "wb") as file:
            if self.mode is not None:
                self.path.chmod(self.mode)
            file.write(self.content)
            file.flush()
            os.fsync(file.fileno())

    def __exit__(self, *failure: object) -> None:
        self.path.unlink(missing_ok=True)
        sync_folder(self.target.parent)


def sync_folder(folder: Path) -> None:
    """Make the new name itself last, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
