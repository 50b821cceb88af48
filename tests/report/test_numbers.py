"""The rider's numbers as rows."""

from __future__ import annotations

from math import isnan

from attrs import evolve

from fitprofile.report.numbers import NumberRow, missing_because, number_of, number_rows
from fitprofile.stages.outcome import Transfer
from tests.report import samples


def by_key(transfer: Transfer) -> dict[str, NumberRow]:
    return {row.key: row for row in number_rows(transfer)}


def test_rows_come_in_the_order_of_a_sheet() -> None:
    """The numbers known by heart first, the hardware's own after them."""
    rows = number_rows(samples.one_piece())
    assert [row.key for row in rows][:3] == ["bar_width", "navel_to_bar", "forearm_angle"]
    primary = [row.primary for row in rows]
    assert primary == sorted(primary, reverse=True)


def test_figures_are_those_of_the_transfer() -> None:
    """As found, wished and after, without rounding."""
    made = samples.one_piece()
    row = by_key(made)["lever_angle.brake"]
    assert row.now == 24.0
    assert row.after == float(made.practical.after.lever_angle_deg.brake)
    assert row.target == float(made.target.lever_angle_deg.brake)
    assert number_of(made.now, "bar_width") == float(made.now.bar_width_mm)


def test_verdicts_are_those_of_the_practical_answer() -> None:
    """A pinned clutch perch misses, a knee inside tolerance is left alone."""
    rows = by_key(samples.one_piece())
    assert rows["lever_angle.clutch"].missed
    assert rows["knee_angle"].left
    assert not rows["bar_width"].missed


def test_sources() -> None:
    """Taped on the bike is measured; through the body is estimated, unless sat on this bike."""
    rows = by_key(samples.one_piece())
    assert rows["bar_width"].source == rows["lever_angle.brake"].source == "measured"
    assert rows["navel_to_bar"].source == rows["knee_angle"].source == "estimated"
    assert by_key(samples.at_home())["navel_to_bar"].source == "measured"


def test_an_assumed_tilt_is_marked_so() -> None:
    """Where neither the inner end of the grip nor its tilt was taped."""
    heights = {k: v for k, v in samples.TWIN.heights.items() if k != "grip_inner"}
    ahead = {k: v for k, v in samples.TWIN.ahead.items() if k != "grip_inner"}
    widths = {k: v for k, v in samples.TWIN.widths.items() if k != "grip_inner"}
    bike = evolve(samples.TWIN, key="quick", heights=heights, ahead=ahead, widths=widths)
    rows = by_key(samples.made(bike))
    assert rows["grip_tilt"].source == rows["grip_sweep"].source == "assumed"


def test_gaps_know_their_reason() -> None:
    """A lever that is not there, not read, not taped; an arm that does not reach."""
    clip, straight = samples.clip_on(), samples.straight_bar()
    assert isnan(by_key(clip)["lever_angle.clutch"].now)
    assert missing_because(clip, "lever_angle.clutch") == "not read"
    assert missing_because(clip, "forearm_angle") == "out of reach"
    assert missing_because(straight, "lever_angle.brake") == "not in the file"
    assert "lever_reach.brake" not in by_key(straight)
