"""`record` on a terminal: question by question, and nothing half-asked is written."""

from __future__ import annotations

import json
import os
import pty
import select
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from fitprofile.cli.commands import main
from fitprofile.cli.questions import HOW
from fitprofile.store.log_guide import DANGER, LETS_GO, LOG_GUIDE, STANDING_GUIDE
from fitprofile.store.workspace import Workspace

ROOT = Path(__file__).parents[2]
NELA = "profiles/nela.log.toml"

FIRST = ["", ""]
"""Enter at when and tape."""


@pytest.fixture
def garage(tmp_path: Path) -> Path:
    """A copy of the demo workspace without logs."""
    for part in ("profiles", "bikes", "shared"):
        shutil.copytree(ROOT / part, tmp_path / part, ignore=shutil.ignore_patterns("*.log.toml"))
    return tmp_path


@pytest.fixture
def answer(garage: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Result]:
    """`record nela juniper` with answers typed, as on a terminal."""
    monkeypatch.setattr("fitprofile.cli.logbook.on_terminal", lambda: True)

    def typed(*lines: str, options: tuple[str, ...] = ()) -> Result:
        call = ["record", "nela", "juniper", *options, "--workspace", str(garage)]
        result = CliRunner().invoke(main, call, input="".join(f"{line}\n" for line in lines))
        assert result.exception is None or isinstance(result.exception, SystemExit)
        return result

    return typed


def test_every_question_is_answered(answer: Callable[..., Result], garage: Path) -> None:
    """Several readings, units and remarks; two tapes are asked for only without the string."""
    result = answer(
        *(
            "after",
            "alone",
            "FOAM, 15 higher; adjustable levers",
            "51.2 cm; 51.6 cm",
            "14",
            "88 90",
            "12",
            "74.5 cm",
            "-3",
            "18",
        ),
        *("13", "15", "54", "56", "yes", "boots", "riser 20 mm", "Ash", "warm"),
    )
    assert result.exit_code == 0, result.output
    (entry,), problems = Workspace(garage).log("nela")
    assert problems == ()
    assert (entry.when, entry.tape, entry.felt_right) == ("after", "alone", True)
    values = (entry.navel_to_bar, entry.forearm_angle, entry.knee_angle, entry.lean)
    assert [one and one.value for one in values] == [514.0, 14.0, 89.0, 12.0]
    assert entry.fitted == ("Foam, 15 higher", "Adjustable levers")
    assert entry.navel_to_grip_ends is None
    assert entry.lever_angle is None
    assert entry.lever_reach_clutch is not None
    assert entry.lever_reach_clutch.value == 56.0
    assert (entry.gear, entry.done, entry.by, entry.notes) == (
        *("boots", "riser 20 mm", "Ash"),
        "warm",
    )
    told = " ".join(result.stderr.split())
    assert told.index(DANGER) < told.index(HOW) < told.index(LOG_GUIDE["navel_to_bar"])
    for key in ("knee_angle", "bar_width", "lever_reach_brake", "done"):
        assert LOG_GUIDE[key] in told
    assert LOG_GUIDE["navel_to_grip_ends"] not in told


def test_arms_that_differ_are_answered_as_the_question_says(
    answer: Callable[..., Result], garage: Path
) -> None:
    """In the question's own words, after a fraction was refused."""
    result = answer(*FIRST, *("", "", "", "14/20", "{ left = 14, right = 20 }"), *[""] * 20)
    assert result.exit_code == 0, result.output
    assert "fraction of a degree" in result.stderr
    text = (garage / NELA).read_text(encoding="utf-8")
    assert "lever_angle = { left = 14, right = 20 }" in text


def test_a_plan_names_its_parts_where_they_are_asked_for(
    answer: Callable[..., Result], garage: Path
) -> None:
    """And the lean that it asks for; a plan that is not there is asked for again."""
    result = answer("after", "alone", "cheapest", "Closest", "51 cm", *[""] * 20)
    assert result.exit_code == 0, result.output
    assert "no cheapest plan for juniper" in " ".join(result.stderr.split())
    (entry,), _ = Workspace(garage).log("nela")
    (garage / NELA).unlink()
    call = ["transfer", "nela", "juniper", "--json", "--workspace", str(garage)]
    plans = json.loads(CliRunner().invoke(main, call).stdout)["plans"]
    (plan,) = [one for one in plans if one["name"] == "closest"]
    assert entry.fitted == tuple(plan["parts"])
    assert entry.planned_lean is not None
    assert entry.planned_lean.value == pytest.approx(plan["after"]["lean_deg"], abs=0.05)


def test_a_standing_use_is_asked_for_standing_numbers(
    answer: Callable[..., Result], garage: Path
) -> None:
    """None of the seated ones, and whether it felt right is whether the hands let go."""
    result = answer(
        *(
            "after",
            "alone",
            "none",
            "735",
            "39 cm",
            "545",
            "20",
            "33",
            "78 cm",
            "19",
            "21",
            "-8",
            "12",
        ),
        *("yes", "boots", "riser 20 mm", "Ash", "warm"),
        options=("--use", "trail"),
    )
    assert result.exit_code == 0, result.output
    (entry,), problems = Workspace(garage).log("nela")
    assert problems == ()
    assert (entry.use, entry.when, entry.felt_right) == ("trail", "after", True)
    assert entry.fitted == ()
    values = (entry.grip_above_peg, entry.grip_ahead_of_peg, entry.hip_to_grip, entry.lever_angle)
    assert [one and one.value for one in values] == [735.0, 390.0, 545.0, 20.0]
    values = (entry.lean, entry.bar_width, entry.lever_angle_brake, entry.lever_angle_clutch)
    assert [one and one.value for one in values] == [33.0, 780.0, 19.0, 21.0]
    assert [one and one.value for one in (entry.brake_pedal, entry.gear_lever)] == [-8.0, 12.0]
    told = " ".join(result.stderr.split())
    assert STANDING_GUIDE["hip_to_grip"] in told
    assert LETS_GO in told
    for key in ("navel_to_bar", "knee_angle", "lever_reach_brake"):
        assert LOG_GUIDE[key] not in told


def test_enter_skips_and_two_tapes_stand_in_for_the_string(
    answer: Callable[..., Result], garage: Path
) -> None:
    """What was skipped is not in the log."""
    result = answer(*FIRST, "", "53 cm", "53.4 cm", *[""] * 20)
    assert result.exit_code == 0, result.output
    text = (garage / NELA).read_text(encoding="utf-8")
    assert 'navel_to_grip_ends = ["53 cm", "53.4 cm"]' in text
    assert 'when = "before"' in text
    assert 'tape = "helper"' in text
    assert "knee_angle" not in text
    assert "gear" not in text


def test_one_of_two_tapes_is_left_out(answer: Callable[..., Result], garage: Path) -> None:
    """And said so; the rest is written."""
    result = answer(*FIRST, "", "53 cm", "", "14", *[""] * 20)
    assert "one tape alone says nothing" in result.stderr
    assert "navel_to_grip_ends" not in (garage / NELA).read_text(encoding="utf-8")


def test_a_bad_answer_is_met_with_a_sentence_and_asked_again(
    answer: Callable[..., Result], garage: Path
) -> None:
    """For figures, words and yes or no."""
    result = answer(
        *(
            "afterwards",
            "after",
            "helpr",
            "helper",
            "Riser 21",
            "",
            "51 kg",
            "5 m",
            "51 cm",
            *[""] * 11,
        ),
        *("maybe", "n", *[""] * 4),
    )
    assert result.exit_code == 0, result.output
    for words in (
        '\'afterwards\' is not "before" or "after"',
        'did you mean "helper"?',
        "there is no part 'Riser 21' in shared/parts.toml, did you mean 'Riser 20'?",
        "'51 kg' is a mass",
        "5000 mm lies outside 100 to 1200 mm",
        "answer yes or no",
    ):
        assert words in result.stderr
    (entry,), _ = Workspace(garage).log("nela")
    assert entry.fitted is None
    assert entry.navel_to_bar is not None
    assert entry.navel_to_bar.value == 510.0


def test_nothing_measured_writes_nothing(answer: Callable[..., Result], garage: Path) -> None:
    """Words alone are no sit-on."""
    result = answer(*[""] * 30)
    assert result.exit_code == 1
    assert "no number was measured: nothing was written" in result.stderr
    assert not (garage / NELA).exists()


def test_the_end_of_the_input_writes_nothing(answer: Callable[..., Result], garage: Path) -> None:
    """Wherever it comes."""
    for count in range(5):
        result = answer(*["before", "alone", "51 cm", "14", "88"][:count])
        assert result.exit_code == 1
        assert "stopped: nothing was written" in result.stderr
        assert not (garage / NELA).exists()


def test_options_are_not_asked_again(answer: Callable[..., Result], garage: Path) -> None:
    """And JSON stays alone on standard output."""
    options = (
        *("--when", "after", "--tape", "alone", "--felt-right", "--gear", "boots"),
        *("--done", "x", "--by", "y", "--notes", "z", "--json", "--date", "2026-05-17"),
    )
    result = answer("", "51 cm", *[""] * 11, options=options)
    assert result.exit_code == 0, result.output
    made = json.loads(result.stdout)
    assert (made["when"], made["gear"], made["felt_right"]) == ("after", "boots", True)
    assert made["navel_to_bar_mm"] == {"value": 510.0, "count": 1}
    assert LOG_GUIDE["gear"] not in " ".join(result.stderr.split())


CALL = """
import signal
from fitprofile.cli import main
signal.signal(signal.SIGINT, signal.default_int_handler)  # tests may run where it is ignored
main(["record", "nela", "juniper"])
"""
PATIENCE = 60.0
"""Seconds that a terminal may stay silent."""


def on_a_terminal(garage: Path) -> tuple[subprocess.Popen[bytes], int]:
    """`record` in a process of its own with a real terminal, and our end of it."""
    ours, theirs = pty.openpty()
    call = [sys.executable, "-c", CALL]
    process = subprocess.Popen(
        call, cwd=garage, stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True
    )
    os.close(theirs)
    return process, ours


def read_until(terminal: int, words: bytes, patience: float = PATIENCE) -> bytes:
    """What the terminal shows until it shows these words, or its end."""
    shown = b""
    while words not in shown and select.select([terminal], [], [], patience)[0]:
        try:
            shown += os.read(terminal, 4096)
        except OSError:  # how Linux says that the other end has closed
            break
    return shown


def test_a_real_terminal_is_asked(garage: Path) -> None:
    """Answers typed into it reach the log."""
    process, terminal = on_a_terminal(garage)
    read_until(terminal, b"[before]")
    os.write(terminal, b"\n\n51.2 cm\n" + b"\n" * 20)
    shown = read_until(terminal, b"added to")
    read_until(terminal, b"no such words")
    os.close(terminal)
    assert process.wait(PATIENCE) == 0
    assert b"added to" in shown
    assert 'navel_to_bar = "51.2 cm"' in (garage / NELA).read_text(encoding="utf-8")


def test_ctrl_c_writes_nothing_and_says_so(garage: Path) -> None:
    """In the middle of the questions, with exit code 1."""
    process, terminal = on_a_terminal(garage)
    read_until(terminal, b"[before]")
    os.write(terminal, b"\n\n51.2 cm\n")
    read_until(terminal, b"Forearm angle:")
    shown = b""
    while b"nothing was written" not in shown and process.poll() is None:
        process.send_signal(signal.SIGINT)  # lost if it comes just before the read, so again
        shown += read_until(terminal, b"nothing was written", 1.0)
    os.close(terminal)
    assert process.wait(PATIENCE) == 1
    assert b"stopped: nothing was written" in shown
    assert not (garage / NELA).exists()
