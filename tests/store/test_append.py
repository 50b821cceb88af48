"""Adding to a log: whole records only, whoever is killed, and nothing above is touched."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from fitprofile.errors import Problem, has_errors
from fitprofile.store.append import append_record, record_text
from fitprofile.store.blocks import split
from fitprofile.store.log import read_log
from fitprofile.store.workspace import Workspace
from tests.store.examples import workspace
from tests.store.logs import SHOWN, knees_in, log_of, record

ROOT = Path(__file__).parents[2]
WRITER = """
import sys
from pathlib import Path
from fitprofile.store.append import append_record
path, first, count = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
for number in range(first, first + count):
    record = {"date": "2026-05-17", "bike": "heron", "use": "road", "notes": "x" * 3000}
    problem = append_record(path, "log", record | {"knee_angle": 20 + number / 100})
    assert problem is None, problem
    print(number, flush=True)
"""


def writer(path: Path, first: int, count: int) -> subprocess.Popen[str]:
    """A process that adds records with the knee angles 20.00 + number / 100."""
    call = [sys.executable, "-c", WRITER, str(path), str(first), str(count)]
    return subprocess.Popen(call, cwd=ROOT, stdout=subprocess.PIPE, text=True)


def test_the_first_record_makes_the_log(tmp_path: Path) -> None:
    """It says what it is and which schema it follows; the record comes back as it was given."""
    ours = workspace(tmp_path)
    assert ours.record("ida", record(felt_right=True, grip_tilt=-1.5)) == tmp_path / SHOWN
    text = (tmp_path / SHOWN).read_text(encoding="utf-8")
    assert text.startswith("# The log: ")
    assert "\nschema = 1\n" in text
    (entry,), problems = ours.log("ida")
    assert problems == ()
    assert entry.navel_to_bar is not None
    assert (entry.navel_to_bar.value, entry.navel_to_bar.count) == (514.0, 2)
    assert entry.grip_tilt is not None
    assert entry.grip_tilt.value == -1.5
    assert entry.felt_right
    assert entry.notes == record()["notes"]


def test_a_record_is_one_block_with_its_end_last() -> None:
    """A text of several lines stays on one, so that no line of it looks like another record."""
    lines = record_text(record()).split("\n")
    assert lines[:2] == ["", "[[sit_on]]"]
    assert lines[-2:] == ["whole = true", ""]
    assert len(lines) == len(record()) + 4


def test_both_sides_stand_on_one_line_and_come_back(tmp_path: Path) -> None:
    """A table in one line, as the guide writes it."""
    given = record(knee_angle={"left": "88 deg", "right": 90.5})
    assert 'knee_angle = { left = "88 deg", right = 90.5 }\n' in record_text(given)
    ours = workspace(tmp_path)
    assert ours.record("ida", given) == tmp_path / SHOWN
    (entry,), problems = ours.log("ida")
    assert problems == ()
    assert entry.knee_angle is not None
    assert entry.knee_angle.sides == (88.0, 90.5)


def test_what_is_there_stays_as_it_is(tmp_path: Path) -> None:
    """Remarks, line ends of another system and a last line without an end keep their bytes."""
    path = tmp_path / "ida.log.toml"
    for there in (
        log_of(path, 81) + b"# remark",
        log_of(path, 82).replace(b"\n", b"\r\n"),
        b"\xef\xbb\xbfschema = 1\n",
    ):
        path.write_bytes(there)
        before = knees_in(there)
        after = log_of(path, 99)
        assert after.startswith(there)
        assert knees_in(after) == [*before, 99.0]
        assert not has_errors(read_log(after, SHOWN)[1])


def test_a_record_that_could_not_be_read_back_is_refused(tmp_path: Path) -> None:
    """Nothing is written, and the sentence is that of a mistake in the file."""
    ours = workspace(tmp_path)
    for wrong in ({"knee_angle": 400}, {"knee_angel": 88}, {"bike": "a/b"}, {"date": "soon"}):
        refused = ours.record("ida", {**record(), **wrong})
        assert isinstance(refused, Problem)
        assert refused.key == next(iter(wrong))
    assert isinstance(ours.record("../ida", record()), Problem)
    assert not (tmp_path / SHOWN).exists()


@pytest.mark.parametrize("head", [b"schema = 2\n", "schema = 1\n".encode("utf-16")])
def test_a_log_of_another_kind_is_not_added_to(tmp_path: Path, head: bytes) -> None:
    """A newer schema or UTF-16 would be spoilt by it."""
    path = tmp_path / "ida.log.toml"
    path.write_bytes(head)
    assert append_record(path, SHOWN, record()) is not None
    assert path.read_bytes() == head


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    """As a problem with the log's name."""
    problem = append_record(tmp_path / "none" / "ida.log.toml", SHOWN, record())
    assert problem is not None
    assert "cannot be written: no such file or directory" in problem.text
    assert problem.file == SHOWN


def test_a_full_disk_costs_only_the_new_record(tmp_path: Path) -> None:
    """What fitted stays as a record cut short; the next one is whole again."""
    path = tmp_path / "ida.log.toml"
    there = log_of(path, 81)
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (len(there) + 40, before[1]))
        problem = append_record(path, SHOWN, record(82))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, ignored)
    assert problem is not None
    assert "cannot be written: no space left on device" in problem.text
    assert len(path.read_bytes()) == len(there) + 40
    assert knees_in(log_of(path, 83)) == [81.0, 83.0]


def test_eight_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    """Four hundred records, each whole, each once, each writer's own in order."""
    path = tmp_path / "ida.log.toml"
    running = [writer(path, 1000 * number, 50) for number in range(8)]
    for one in running:
        one.communicate()
        assert one.returncode == 0
    content = path.read_bytes()
    assert content.count(b"schema = 1") == 1
    assert read_log(content, SHOWN)[1] == ()
    numbers = [round(100 * (knee - 20)) for knee in knees_in(content)]
    assert sorted(numbers) == [1000 * n + i for n in range(8) for i in range(50)]
    for number in range(8):
        own = [n for n in numbers if n // 1000 == number]
        assert own == sorted(own)


def test_a_killed_writer_loses_no_record_that_it_had_written(tmp_path: Path) -> None:
    """Killed ten times at any moment: whatever it said was written is there, in one log."""
    path = tmp_path / "ida.log.toml"
    said: list[int] = []
    for turn in range(10):
        one = writer(path, 1000 * turn, 900)
        assert one.stdout is not None
        said.append(int(one.stdout.readline()))
        time.sleep(0.003 * turn)
        one.send_signal(signal.SIGKILL)
        rest, _ = one.communicate()
        said += [int(line) for line in rest.split("\n")[:-1]]
        assert one.returncode == -signal.SIGKILL
    numbers = [round(100 * (knee - 20)) for knee in knees_in(path.read_bytes())]
    assert set(said) <= set(numbers)
    assert numbers == sorted(set(numbers))
    assert len(said) > 10


def test_an_editor_that_saves_meanwhile_is_followed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A log put in place of the one that was opened is the one that gets the record."""
    path = tmp_path / "ida.log.toml"
    log_of(path, 81)
    opened = os.open

    def replaced(name: Path, flags: int, mode: int = 0o777) -> int:
        handle = opened(name, flags, mode)
        monkeypatch.setattr(os, "open", opened)
        saved = tmp_path / "saved"
        saved.write_bytes(path.read_bytes() + b"# saved\n")
        saved.replace(path)
        return handle

    monkeypatch.setattr(os, "open", replaced)
    after = log_of(path, 82)
    assert b"# saved\n" in after
    assert knees_in(after) == [81.0, 82.0]


def test_only_the_ends_of_the_log_are_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However long it is."""
    path = tmp_path / "ida.log.toml"
    path.write_bytes(b"schema = 1\n" + 2000 * record_text(record()).encode())
    read, sizes = os.read, []

    def counted(handle: int, size: int) -> bytes:
        found = read(handle, size)
        sizes.append(len(found))
        return found

    monkeypatch.setattr(os, "read", counted)
    assert append_record(path, SHOWN, record()) is None
    assert sum(sizes) < 5000
    assert len(split(path.read_bytes())[1]) == 2001


def test_the_workspace_reads_what_it_wrote(tmp_path: Path) -> None:
    """A second workspace on the same folder sees the records of the first."""
    ours = workspace(tmp_path)
    for knee in (81, 82):
        ours.record("ida", record(knee))
    entries, problems = Workspace(tmp_path).log("ida")
    assert problems == ()
    assert [entry.line for entry in entries] == [7, 17]
