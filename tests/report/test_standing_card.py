"""The dry-fit card of a standing plan: its numbers, what stays outside, one page with its parts."""

from __future__ import annotations

import numpy as np
import pytest

from fitprofile.report.card_record import dry_fit_record
from fitprofile.report.card_text import dry_fit_text
from fitprofile.report.dry_fit import dry_fit_page
from fitprofile.report.html import render_html
from fitprofile.report.shopping import Chosen, choose
from fitprofile.report.standing_card import standing_misses, standing_numbers
from fitprofile.report.trials import trials
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.plan import CLOSEST, FREE
from tests.report.tables import table
from tests.stages.test_standing_plans import made

DATE = "2026-11-29"


def chosen(plan: str = CLOSEST, above: float = 670.0) -> Chosen:
    """A plan of the invented rider's stand; the brake pedal is wished 18 mm higher."""
    return choose(made(gear=8.0, above=above), plan, "trail")


def test_the_numbers_are_those_of_the_stand() -> None:
    """Wished, expected after the plan, and how far it may be off; no seat, no guessed pose."""
    one = chosen()
    found = {number.key: number for number in standing_numbers(one)}
    levers = {"lever_angle.brake", "lever_angle.clutch"}
    assert set(found) == {"grip_above_peg", "grip_ahead_of_peg", "brake_pedal", *levers}
    above = found["grip_above_peg"]
    assert (above.wished, above.tolerance) == (670.0, 10.0)
    assert above.expected == float(one.offer.standing["trail"].grip_above_peg_mm)
    for key, number in found.items():
        off = (number.expected - number.wished) / number.tolerance
        assert off == pytest.approx(one.plan.deviations[key], abs=1e-6)


def test_what_stays_outside_is_told_with_how_far() -> None:
    """80 mm higher than free adjustments go: too low by what is missing."""
    one = chosen(FREE, above=730.0)
    off = one.plan.deviations["grip_above_peg"]
    assert off < -INSIDE
    said = " ".join(standing_misses(one)).replace("\N{NO-BREAK SPACE}", " ")
    assert f"grips above the peg {abs(off) * 10.0:.0f} mm too low" in said
    assert said.count(" mm ") == sum(abs(v) > INSIDE for v in one.plan.deviations.values())


def test_the_card_is_of_the_standing_use() -> None:
    """Page, text and JSON: the use by name, its own numbers with boxes, the pedal to be set."""
    one = chosen()
    page = dry_fit_page(one, DATE)
    facts = {name: "".join(span.text for span in words) for name, words in page.facts}
    assert facts["Use"] == "trail, standing"
    words = render_html(page)
    assert "arches on the pegs" in words
    assert "Knee angle" not in words
    assert len(table(page.blocks, "sat").rows) == 5
    assert "trail, standing: closest" in dry_fit_text(one, ())
    record = dry_fit_record("ida", "good", one.use, None, one, ())
    assert record["use"] == "trail"
    assert [number["number"] for number in record["numbers"]] == [
        number.key for number in standing_numbers(one)
    ]


def test_a_pedal_that_is_set_is_a_trial() -> None:
    """Above the peg, from where it stands to where it goes; it costs nothing to try."""
    (pedal,) = [one for one in trials(chosen()) if one.what == "Brake pedal"]
    assert pedal.seen == "above the peg"
    assert (pedal.start, pedal.end) == pytest.approx((-10.0, 8.0), abs=0.5)
    assert "18" in pedal.how
    assert "up" in pedal.how
    assert not np.isnan(pedal.start)
