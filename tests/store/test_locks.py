"""One writer at a time."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

from fitprofile.store.locks import exclusive

HOLDER = """
import os, sys, time
from fitprofile.store.locks import exclusive
handle = os.open(sys.argv[1], os.O_RDWR)
with exclusive(handle):
    print("held", flush=True)
    time.sleep(float(sys.argv[2]))
    os.write(handle, b"first")
"""


def hold(path: Path, seconds: float) -> subprocess.Popen[str]:
    """Another process that holds the lock for a while, then writes."""
    call = [sys.executable, "-c", HOLDER, str(path), str(seconds)]
    other = subprocess.Popen(call, stdout=subprocess.PIPE, text=True)
    assert other.stdout is not None
    assert other.stdout.readline() == "held\n"
    return other


def test_a_second_writer_waits_for_the_first(tmp_path: Path) -> None:
    """It gets the lock once the first has written and let go."""
    path = tmp_path / "file"
    path.touch()
    other = hold(path, 0.3)
    handle = os.open(path, os.O_RDWR)
    with exclusive(handle):
        assert path.read_bytes() == b"first"
    os.close(handle)
    other.communicate()
    assert other.returncode == 0


def test_a_killed_holder_lets_go(tmp_path: Path) -> None:
    """Nobody waits for the dead."""
    path = tmp_path / "file"
    path.touch()
    other = hold(path, 60.0)
    other.kill()
    other.communicate()
    handle = os.open(path, os.O_RDWR)
    start = time.monotonic()
    with exclusive(handle):
        assert time.monotonic() - start < 10.0
    os.close(handle)
