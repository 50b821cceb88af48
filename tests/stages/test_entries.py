"""Entries of the log: which state of a bike they speak of, and where they contradict its file."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import asdict, evolve

from fitprofile.errors import NOTE, WARNING, Problem
from fitprofile.model.log import Entry
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Standing
from fitprofile.stages.chain import Prepared, prepare
from fitprofile.stages.entries import contradictions, log_file, logged, states, work_since
from fitprofile.stages.siton import SitOn, sit_on
from fitprofile.stages.survey import survey
from tests import by_hand
from tests.stages.invented import BODY, SHOP, bike, moved, rider, sat

NEW = bike("new", moved(grip_end=(25.0, -30.0), grip_inner=(25.0, -26.0), clamp=(20.0, -25.0)))
SWEEP = float(
    by_hand.numbers(asdict(BODY), 0.0, moved(grip_end=(25.0, -30.0), grip_inner=(25.0, -26.0)))[
        "grip_sweep_deg"
    ]
)
"""Degrees that the new bike's grips point back, by plain Python."""
PERSON = rider({"road": sat(measured_on="good")})


def entry(**more: Any) -> Entry:
    figures: dict[str, Any] = {
        n: Reading(v) if isinstance(v, float) else v for n, v in more.items()
    }
    given: dict[str, Any] = {"bike": "new", "use": "road", "date": "2026-05-02", "line": 12}
    return Entry(**{**given, **figures})


def log_of(*whens: str) -> tuple[Entry, ...]:
    """One entry a day from the second of May."""
    return tuple(entry(when=when, date=f"2026-05-{2 + i:02d}") for i, when in enumerate(whens))


@pytest.mark.parametrize(
    ("whens", "taped", "expected"),
    [
        (("before", "after"), None, (True, False)),
        (("before", "after"), "2026-05-01", (True, False)),
        # Measured, changed and sat on in one day: the tape came first.
        (("before", "after"), "2026-05-03", (True, False)),
        # Taped again on a later day: now the file has the state after the work.
        (("before", "after"), "2026-05-04", (False, True)),
        (("before", "after", "before"), "2026-05-04", (False, True, True)),
        (("before", "after", "after"), "2026-05-04", (False, True, False)),
        (("before", "after", "after"), "2026-06-01", (False, False, True)),
    ],
)
def test_an_entry_speaks_of_one_state_of_a_bike(
    whens: tuple[str, ...], taped: str | None, expected: tuple[bool, ...]
) -> None:
    """Work lies before every entry that was taken after it."""
    assert states(log_of(*whens), {"new": evolve(NEW, date=taped)}) == expected


@pytest.mark.parametrize(
    ("taped", "expected"),
    [
        (None, ("Low", "High", "without High")),
        ("2026-05-03", ("High", "without High")),  # taped on the day of the work: before it
        ("2026-05-04", ("without High",)),
        ("2026-06-01", None),
    ],
)
def test_parts_are_those_work_since_the_bike_was_taped(
    taped: str | None, expected: tuple[str, ...] | None
) -> None:
    """In the order of the log, up to the entry; other bikes' and later work do not count."""
    log = (
        entry(when="after", date="2026-05-02", fitted=("Low",)),
        entry(when="after", date="2026-05-03", fitted=("High",)),
        entry(bike="other", when="after", date="2026-05-03", fitted=("Wide",)),
        entry(when="after", date="2026-05-05", fitted=("without High",)),
        entry(when="after", date="2026-05-06"),
        entry(when="after", date="2026-05-07", fitted=("Later",)),
    )
    new = evolve(NEW, date=taped)
    assert work_since(log, log[4], new).parts == expected
    assert work_since(log[4:], log[4], new).parts is None
    assert work_since((evolve(log[4], fitted=()),), evolve(log[4], fitted=()), NEW).parts == ()


def test_work_on_another_bike_changes_nothing() -> None:
    """States are a bike's own."""
    log = (entry(bike="other", when="after"), entry())
    assert states(log, {"new": NEW}) == (False, True)


def test_a_moment_counts_by_its_day() -> None:
    """Entries may carry the time of day, a bike's file never does."""
    log = (entry(when="after", date="2026-05-02T18:30"),)
    assert states(log, {"new": evolve(NEW, date="2026-05-02")}) == (False,)
    assert states(log, {"new": evolve(NEW, date="2026-05-03")}) == (True,)


def test_contradicting_readings_of_an_entry_are_named_at_its_line() -> None:
    """Sitting down again allowed for."""
    far = Reading(480.0, count=2, scatter=120.0)
    _, problems = used(entry(navel_to_bar=far, felt_right=True))
    (problem,) = [p for p in problems if " apart, more than tape and sitting down" in p.text]
    assert (problem.level, problem.key, problem.line) == (WARNING, "navel_to_bar", 12)
    assert problem.file == log_file(PERSON)


def used(*log: Entry) -> tuple[tuple[SitOn, ...], tuple[Problem, ...]]:
    """Sit-ons of the log beside the cockpit."""
    surveyed, _ = survey(bike("good"), SHOP)
    own, _ = sit_on(PERSON, "road", surveyed, SHOP)
    assert own is not None
    return logged(PERSON, log, (own,), {"new": NEW, "good": bike("good")}, {}, SHOP)


@pytest.mark.parametrize(
    ("when", "felt_right", "counts", "on_bike"),
    [
        ("before", True, True, True),
        ("before", False, True, True),
        ("after", True, True, False),
        ("after", False, False, False),
    ],
)
def test_what_an_entry_counts_as(when: str, felt_right: bool, counts: bool, on_bike: bool) -> None:
    """The table at the head of the module; the file here is that before the work."""
    found, _ = used(entry(when=when, felt_right=felt_right, navel_to_bar=400.0))
    assert len(found) == counts
    for one in found:
        assert (one.bike == "new", one.points is not None) == (on_bike, on_bike)
        assert one.felt_right == felt_right


def test_a_sit_on_that_can_only_be_verified_says_so() -> None:
    """A note with the log's line: tape the bike again."""
    _, problems = used(entry(when="after", navel_to_bar=400.0))
    (problem,) = [one for one in problems if one.file == log_file(PERSON)]
    assert (problem.level, problem.line, problem.key) == (NOTE, 12, "when")
    assert "tape the bike again" in problem.text
    assert log_file(PERSON) == "profiles/ida.log.toml"


def test_only_what_was_measured_is_told() -> None:
    """A missing number has no weight; the foot is the entry's own."""
    (one,), _ = used(entry(knee_angle=88.0, foot="mid-foot", tape="helper"))
    assert not one.navel_to_bar.told()
    assert not one.forearm_angle.told()
    assert (one.knee_angle.value, one.knee_angle.sd, one.mid_foot) == (88.0, 5.0, True)


def test_a_lever_in_line_stands_in_for_the_forearm() -> None:
    """With its own spread; a lever of one side does not."""
    (one,), _ = used(entry(lever_angle=14.0))
    assert one.forearm_angle.value == 14.0
    assert used(entry(lever_angle_brake=14.0))[0] == ()


def test_two_tapes_shorter_than_the_bar_lose_only_that_number() -> None:
    """A warning at the log's line, the knee still counts."""
    pair = (Reading(300.0), Reading(310.0))
    (one,), problems = used(entry(navel_to_grip_ends=pair, knee_angle=88.0))
    assert not one.navel_to_bar.told()
    (problem,) = [p for p in problems if p.key == "navel_to_grip_ends"]
    assert (problem.level, problem.line) == (WARNING, 12)


@pytest.mark.parametrize(
    ("name", "taped", "off", "words"),
    [
        ("bar_width", 750.0, 30.0, "bar width was taped as 780 mm"),
        ("lever_angle_brake", 20.0, 12.0, "brake lever angle was taped as 32 degrees"),
        ("lever_angle_clutch", 26.0, -12.0, "12 apart"),
        ("lever_reach_brake", 70.0, 15.0, "bikes/new.toml has 70"),
        ("grip_sweep", SWEEP, 12.0, "grip sweep was taped as"),
    ],
)
def test_a_figure_that_is_not_the_bikes_is_said(
    name: str, taped: float, off: float, words: str
) -> None:
    """Thirty mm of bar width and the like; a millimetre or degree is nothing."""
    found, problems = used(entry(navel_to_bar=400.0, **{name: taped + off}))
    assert len(found) == 1  # nothing is lost
    (problem,) = [one for one in problems if one.key == name]
    assert (problem.file, problem.line, problem.level) == (log_file(PERSON), 12, WARNING)
    assert words in problem.text
    assert 'when = "after"' in problem.text
    _, problems = used(entry(navel_to_bar=400.0, **{name: taped + 1.0}))
    assert not [one for one in problems if one.key == name]


def test_after_the_work_a_figure_may_be_another() -> None:
    """That is what the work was for."""
    _, problems = used(entry(when="after", felt_right=True, navel_to_bar=400.0, bar_width=700.0))
    assert not [one for one in problems if one.key == "bar_width"]


def test_an_untaped_figure_contradicts_nothing() -> None:
    """No reach in the bike's file."""
    assert NEW.levers.brake is not None
    bare = evolve(NEW, levers=evolve(NEW.levers, brake=evolve(NEW.levers.brake, reach=None)))
    surveyed, _ = survey(bare, SHOP)
    assert surveyed is not None
    assert not list(contradictions(PERSON, entry(lever_reach_brake=20.0), bare, surveyed, SHOP))


def calibrated(*log: Entry) -> tuple[Prepared, tuple[Problem, ...]]:
    made, problems = prepare(PERSON, {"good": bike("good"), "new": NEW}, SHOP, log)
    assert made is not None
    return made, problems


def test_a_number_that_the_tapes_refute_is_named_with_its_line() -> None:
    """Navel-to-bar 200 mm off on the unchanged bike: which, how far, what to do; nothing lost."""
    _, problems = calibrated(entry(navel_to_bar=620.0, forearm_angle=15.0))
    found = [one for one in problems if one.file == log_file(PERSON)]
    assert {(one.key, one.line, one.level) for one in found} >= {("navel_to_bar", 12, WARNING)}
    (navel,) = [one for one in found if one.key == "navel_to_bar"]
    assert "620 mm on new" in navel.text
    assert "too large" in navel.text
    assert "measure it again" in navel.text


def test_a_bike_that_is_not_there_leaves_the_wish() -> None:
    """Named with the line; a right-feeling sit-on goes on counting for the wish."""
    made, problems = prepare(
        PERSON,
        {"good": bike("good")},
        SHOP,
        (entry(bike="lost", felt_right=True, navel_to_bar=400.0),),
    )
    assert made is not None
    assert len(made.sat) == 2
    (problem,) = [one for one in problems if one.file == log_file(PERSON) and one.key == "bike"]
    assert (problem.line, problem.level) == (12, WARNING)
    assert "counts for the wish alone" in problem.text


def test_an_entry_of_a_use_without_cockpit_is_left_out() -> None:
    """The store names it; here it changes nothing."""
    assert used(entry(use="standing", navel_to_bar=400.0)) == ((), ())


def test_a_bar_that_felt_right_is_a_wish_even_alone() -> None:
    """It says nothing of the body or of where the bike's bar stands; not felt right, nothing."""
    (made,), _ = used(entry(bar_width=760.0, felt_right=True))
    assert made.bar_width.value == 760.0
    assert (made.bike, made.points) == (None, None)
    assert used(entry(bar_width=760.0))[0] == ()


def test_the_width_that_felt_right_is_in_the_target_and_its_difference_named() -> None:
    """30 mm wider on another bike: half way, both spreads being alike but for who held the tape."""
    good = bike("good")
    bikes = {"good": good, "new": NEW}
    person = evolve(PERSON, tape="helper")
    log = (entry(bar_width=775.0, felt_right=True, tape="helper"),)
    ready, problems = prepare(person, bikes, SHOP, log)
    assert ready is not None
    assert ready.settled["road"].bar_width_mm == pytest.approx(0.5 * (750.0 + 775.0))
    told = {p.level: p.text for p in problems if (p.key or "").endswith("bar_width")}
    assert "bar width that felt right is 775 mm on new and 750 on good" in told[WARNING]
    assert "750 mm here; the bar width wished is 762" in told[NOTE]


def test_a_standing_entry_tells_the_bikes_figures_and_nothing_of_sitting() -> None:
    """Grips 40 mm higher above the peg than the file has them; the seated wish stays as it is."""
    points = NEW.heights
    above = points["grip_end"].value - points["peg"].value
    person = evolve(
        PERSON, standing={"trail": Standing(grip_above_peg=Reading(700.0), grip_ahead_of_peg=X)}
    )
    log = (entry(use="trail", grip_above_peg=above + 40.0, grip_ahead_of_peg=365.0),)
    ready, problems = prepare(person, {"good": bike("good"), "new": NEW}, SHOP, log)
    assert ready is not None
    assert len(ready.sat) == 1
    (problem,) = [p for p in problems if p.file == log_file(PERSON)]
    assert (problem.key, problem.level, problem.line) == ("grip_above_peg", WARNING, 12)
    assert "place of the grips above the peg was taped as" in problem.text
    assert "40 apart, more than tapes explain" in problem.text
    done = (evolve(log[0], when="after", felt_right=False),)
    _, problems = prepare(person, {"good": bike("good"), "new": NEW}, SHOP, done)
    (note,) = [p for p in problems if p.file == log_file(PERSON)]
    assert (note.level, note.key) == (NOTE, "when")


X = Reading(370.0)
