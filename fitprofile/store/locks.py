"""One writer at a time: an exclusive lock on an open file, whatever the system calls it."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

FAR = 2**30
"""Byte that stands for the whole file where the system locks bytes: no log grows so long, so
nobody who reads is kept waiting."""

if sys.platform == "win32":
    import msvcrt

    @contextmanager
    def exclusive(handle: int) -> Iterator[None]:
        """Hold the lock of an open file; waits for whoever holds it, some ten seconds."""
        os.lseek(handle, FAR, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
        try:
            yield
        finally:
            os.lseek(handle, FAR, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    @contextmanager
    def exclusive(handle: int) -> Iterator[None]:
        """Hold the lock of an open file; waits for whoever holds it.

        A writer that is killed gives its lock back, because the system closes its files.
        """
        fcntl.flock(handle, fcntl.LOCK_EX)
        try:
            yield
        finally:
            fcntl.flock(handle, fcntl.LOCK_UN)
