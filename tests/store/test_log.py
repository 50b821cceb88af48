"""A log read: strict, in order, and broken records cost nothing but themselves."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitprofile.errors import ERROR, WARNING, Problem, has_errors
from fitprofile.store.blocks import HEADER_LINE
from fitprofile.store.log import (
    CUT_SHORT,
    NOTHING_MEASURED,
    OUTSIDE,
    newest_dates,
    read_log,
    was_changed,
)
from fitprofile.store.workspace import Workspace
from tests.store.examples import line_of, mutations, workspace
from tests.store.logs import SHOWN, knees_in, log_of, record

LOG = """\
schema = 1

[[sit_on]]
bike = "heron"
use = "road"
date = 2026-05-17
navel_to_grip_ends = ["64 cm", ["64.4 cm", "64.2 cm"]]
knee_angle = { left = 88, right = 90 }
felt_right = true
whole = true

# between two records
[[sit_on]]
bike = "heron.toml"
use = "track"
date = "2026-05-18T09:30"
when = "after"
tape = "helper"
forearm_angle = [18, 19]
done = "riser 20 mm"
whole = true
"""


def test_entries_come_in_order_with_their_lines() -> None:
    """Dates, pairs, sides and repeated readings are read as in any other file."""
    entries, problems = read_log(LOG.encode(), SHOWN)
    assert problems == ()
    first, second = entries
    assert (first.line, second.line) == (3, 13)
    assert (first.bike, first.use, first.date, first.when) == (
        "heron",
        "road",
        "2026-05-17",
        "before",
    )
    assert first.felt_right
    assert first.navel_to_grip_ends is not None
    assert [one.value for one in first.navel_to_grip_ends] == [640.0, 643.0]
    assert first.knee_angle is not None
    assert first.knee_angle.sides == (88.0, 90.0)
    assert (second.bike, second.date, second.when) == ("heron", "2026-05-18T09:30:00", "after")
    assert second.forearm_angle is not None
    assert (second.forearm_angle.value, second.forearm_angle.count) == (18.5, 2)
    assert (second.tape, second.done) == ("helper", "riser 20 mm")


MISTAKES = {
    "unknown key": ("knee_angle =", "knee_angel =", "knee_angel", "did you mean 'knee_angle'"),
    "unit": ('"64 cm"', '"64 kg"', "navel_to_grip_ends[0]", "'64 kg' is a mass"),
    "range": ("left = 88", "left = 8", "knee_angle.left", "20 to 180"),
    "date": ("2026-05-17", '"yesterday"', "date", "is no date: write it like 2026-05-17"),
    "hour alone": ("2026-05-17", "07:32:00", "date", "a date or time is not text"),
    "flag": ("felt_right = true", 'felt_right = "yes"', "felt_right", "neither true nor false"),
    "missing": ('use = "road"\n', "", "use", "use is missing"),
    "bike": ('"heron"\n', '"../heron"\n', "bike", "cannot be a name here"),
    "fitted before": ("felt_right = true", 'fitted = ["Low"]', "fitted", 'write when = "after"'),
    "lean before": ("felt_right = true", "planned_lean = 6", "planned_lean", 'when = "after"'),
    "both": ("felt_right", "navel_to_bar = 500\nfelt_right", "navel_to_grip_ends", "both given"),
    "no TOML": ("felt_right = true", "felt_right = ", None, "no value after the ="),
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_bad_record_is_named_and_skipped_and_the_rest_is_used(mistake: str) -> None:
    """File, line, key and remedy, as for every other file."""
    old, new, key, words = MISTAKES[mistake]
    assert old in LOG
    text = LOG.replace(old, new, 1)
    entries, problems = read_log(text.encode(), SHOWN)
    assert [entry.use for entry in entries] == ["track"]
    (problem,) = problems
    assert (problem.file, problem.key, problem.level) == (SHOWN, key, ERROR)
    assert words in problem.text
    line = (text[: text.index(new)].count("\n") + 1) if new else None
    if mistake == "both":
        line = line_of(text, "navel_to_grip_ends")
    assert line is None or problem.line == line


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ('["Low", "Wide"]', ("Low", "Wide")),
        ('"Low"', ("Low",)),
        ("[]", ()),
        ('["Low", "Low"]', "'Low' is named twice"),
        ("[7]", "is not text"),
        ('["Low", ""]', "the text is empty"),
    ],
)
def test_parts_of_a_record_are_names(value: str, expected: tuple[str, ...] | str) -> None:
    """A list, or one name alone; each once."""
    text = LOG.replace('done = "riser 20 mm"', f"fitted = {value}")
    assert text != LOG
    entries, problems = read_log(text.encode(), SHOWN)
    if isinstance(expected, tuple):
        assert problems == ()
        assert entries[1].fitted == expected
        assert entries[0].fitted is None
    else:
        (problem,) = problems
        assert expected in problem.text
        assert (problem.key or "").startswith("fitted")


def test_a_record_without_a_number_is_none() -> None:
    """Words alone are no sit-on."""
    text = LOG.replace("forearm_angle = [18, 19]\n", "")
    entries, (problem,) = read_log(text.encode(), SHOWN)
    assert len(entries) == 1
    assert problem.text == NOTHING_MEASURED
    assert problem.line == line_of(text, 'bike = "heron.toml"')


def test_what_stands_outside_is_named() -> None:
    """A key below the last line of a record belongs to none; remarks may stand anywhere."""
    entries, (problem,) = read_log(f"{LOG}# fine\nnotes = 'late'\n".encode(), SHOWN)
    assert len(entries) == 2
    assert (problem.text, problem.level) == (OUTSIDE, ERROR)
    assert problem.line == LOG.count("\n") + 1


def test_a_newer_schema_is_left_alone() -> None:
    """Its records are not guessed at; a missing one is asked for and costs nothing."""
    entries, (problem,) = read_log(LOG.replace("schema = 1", "schema = 2").encode(), SHOWN)
    assert entries == ()
    assert "use a newer fitprofile" in problem.text
    entries, (problem,) = read_log(LOG.replace("schema = 1\n", "").encode(), SHOWN)
    assert len(entries) == 2
    assert "schema is missing" in problem.text
    entries, (problem,) = read_log(LOG.replace("schema = 1", "schema = 1\nx = 2").encode(), SHOWN)
    assert len(entries) == 2
    assert (problem.key, problem.line) == ("x", 2)


def test_an_empty_log_is_no_problem() -> None:
    """A writer may have been killed between making the file and writing to it."""
    assert read_log(b"", SHOWN) == ((), ())
    assert read_log(b"schema = 1\n# nothing yet\n", SHOWN) == ((), ())


def test_a_clock_that_went_back_is_a_warning_and_the_entry_is_kept() -> None:
    """The order of the file counts; the record it contradicts is named with its line."""
    text = LOG.replace("2026-05-18T09:30", "2026-05-16") + LOG.removeprefix("schema = 1\n")
    entries, problems = read_log(text.encode(), SHOWN)
    assert [entry.date for entry in entries] == [
        "2026-05-17",
        "2026-05-16",
        "2026-05-17",
        "2026-05-18T09:30:00",
    ]
    (problem,) = problems
    assert (problem.level, problem.key) == (WARNING, "date")
    assert problem.line == line_of(text, 'date = "2026-05-16"')
    assert (
        "2026-05-16 lies before 2026-05-17, the date of an earlier record, line 3" in problem.text
    )
    assert "the order of the file counts" in problem.text


def test_a_date_after_today_is_named_and_none_of_the_later_records() -> None:
    """With its line, once today is known."""
    text = LOG.replace("= 2026-05-17", "= 2099-01-01")
    _, problems = read_log(text.encode(), SHOWN, today="2026-06-01")
    (problem,) = problems
    assert problem.line == line_of(text, "date = 2099-01-01")
    assert problem.text.startswith("2099-01-01 lies after today, 2026-06-01")


def test_cut_at_every_byte_it_loses_no_earlier_record(tmp_path: Path) -> None:
    """Whatever is left of the last record, the ones before are used and the rest is reported."""
    path = tmp_path / "ida.log.toml"
    three = log_of(path, 81, 82, 83)
    starts = [three.index(HEADER_LINE.encode())]
    while (at := three.find(f"\n{HEADER_LINE}\n".encode(), starts[-1] + 1)) >= 0:
        starts.append(at + 1)
    ends = [three.index(b"\nwhole = true\n", start) + len("\nwhole = true") for start in starts]
    assert len(starts) == 3
    for size in range(len(three) + 1):
        whole = sum(end <= size for end in ends)
        entries, problems = read_log(three[:size], SHOWN)
        assert len(entries) == whole
        assert knees_in(three[:size]) == [81.0, 82.0, 83.0][:whole]
        torn = any(start < size < end for start, end in zip(starts, ends, strict=True))
        if torn:
            (problem,) = problems
            assert (problem.text, problem.level) == (CUT_SHORT, WARNING)
            assert problem.line == three[: starts[whole]].count(b"\n") + 1
        elif size > starts[0]:
            assert problems == ()


def test_cut_at_every_byte_the_next_record_is_read(tmp_path: Path) -> None:
    """What was cut short keeps its bytes, and the record after it is whole."""
    path = tmp_path / "ida.log.toml"
    two = log_of(path, 81, 82)
    for size in range(len(two) + 1):
        path.write_bytes(two[:size])
        before = knees_in(two[:size])
        after = log_of(path, 99)
        assert after.startswith(two[:size])
        assert knees_in(after) == [*before, 99.0]


def test_dates_of_the_last_whole_records_are_found(tmp_path: Path) -> None:
    """With the line of the record; one cut short, or without a date, has none that counts."""
    path = tmp_path / "ida.log.toml"
    assert newest_dates(b"") == ()
    log_of(path, 81)
    content = path.read_bytes() + b'\n[[sit_on]]\ndate = "2030-01-01"\n'
    assert newest_dates(content) == ((line_of(content.decode(), "[[sit_on]]"), "2026-05-17"),)
    assert [day for _, day in newest_dates(LOG.encode())][-1] == "2026-05-18T09:30:00"
    assert newest_dates(content.replace(b"date =", b"day =")) == ()


def test_dates_of_a_long_log_are_those_at_its_end_with_their_lines() -> None:
    """Records of 4 lines and a blank one; the first bytes are not looked at."""
    block = b'[[sit_on]]\ndate = "2026-05-17"\nbike = "heron"\nwhole = true\n\n'
    content = 4_000 * block
    found = newest_dates(content)
    assert len(found) == 50
    assert [line for line, _ in found] == [5 * at + 1 for at in range(3_950, 4_000)]
    lines = content.decode().splitlines()
    assert all(lines[line - 1] == "[[sit_on]]" for line, _ in found)


def test_work_on_a_bike_is_known() -> None:
    """Only a record of this bike that says "after" counts, not the word in its notes."""
    assert not was_changed(LOG.encode(), "heron")  # the record after names heron.toml
    text = LOG.replace("heron.toml", "heron")
    assert was_changed(text.encode(), "heron")
    assert not was_changed(text.encode(), "tern")
    noted = text.replace('when = "after"', 'notes = "heron, after rain"')
    assert not was_changed(noted.encode(), "heron")


def test_check_lists_the_log_s_problems(tmp_path: Path) -> None:
    """A bike or use that is not here is a warning with its nearest name, and the entry stays."""
    ours = workspace(tmp_path)
    path = tmp_path / SHOWN
    text = LOG.replace('"heron"', '"herron"').replace('"track"', '"trck"')
    path.write_text(text, encoding="utf-8")
    entries, problems = ours.log("ida")
    assert len(entries) == 2
    assert [(p.key, p.line, p.level) for p in problems] == [
        ("bike", line_of(text, 'bike = "herron"'), WARNING),
        ("use", line_of(text, 'use = "trck"'), WARNING),
    ]
    assert "did you mean 'heron'?" in problems[0].text
    assert "did you mean 'track'?" in problems[1].text
    assert tuple(p for p in ours.check() if p.file == SHOWN) == problems


def test_a_log_without_its_rider_is_named(tmp_path: Path) -> None:
    """It is read nevertheless."""
    workspace(tmp_path)
    (tmp_path / "profiles/idda.log.toml").write_text(LOG, encoding="utf-8")
    ours = Workspace(tmp_path)
    entries, (problem,) = ours.log("idda")
    assert len(entries) == 2
    assert problem.level == WARNING
    assert "there is no rider 'idda', did you mean 'ida'?" in problem.text
    assert problem in ours.check()
    assert ours.rider_keys() == ("ida",)


def test_no_log_yet_is_no_problem(tmp_path: Path) -> None:
    """And a folder in its place is one."""
    ours = workspace(tmp_path)
    assert ours.log("ida") == ((), ())
    assert has_errors(ours.log("../ida")[1])
    (tmp_path / SHOWN).mkdir()
    entries, (problem,) = ours.log("ida")
    assert entries == ()
    assert "folder" in problem.text
    refused = ours.record("ida", record())
    assert isinstance(refused, Problem)
    assert refused.file == SHOWN


@given(mutations(LOG))
@settings(max_examples=150)
def test_a_log_changed_at_random_gives_entries_and_problems(content: bytes) -> None:
    """Nothing is raised, and each problem names the file and a line that it has."""
    entries, problems = read_log(content, SHOWN)
    assert len(entries) <= 2 + content.count(b"[[sit_on]]")
    for problem in problems:
        assert problem.file == SHOWN
        assert problem.line is not None
        assert 1 <= problem.line <= content.count(b"\n") + 1


@given(st.binary(max_size=40), st.integers(0, len(LOG.encode())))
def test_bytes_between_records_never_cost_the_one_before(noise: bytes, at: int) -> None:
    """A record that ended before the noise is used."""
    content = LOG.encode()
    end = content.index(b"whole = true\n") + len(b"whole = true\n")
    at = max(at, end)
    if content[:at].endswith(b"\n"):
        entries, _ = read_log(content[:at] + noise, SHOWN)
        assert entries[0].use == "road"
