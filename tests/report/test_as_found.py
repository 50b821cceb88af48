"""The bike as found."""

from __future__ import annotations

from attrs import evolve

from fitprofile.report.as_found import found_blocks
from fitprofile.report.page import TICK, Table
from fitprofile.stages.outcome import Transfer
from tests.report import samples
from tests.report.tables import all_words, cell_words, row, row_words, table


def found(transfer: Transfer) -> Table:
    return table(found_blocks(transfer), "found")


def test_points_are_those_of_the_survey_not_of_the_sit_on() -> None:
    """A borrowed bike goes back to what was taped."""
    home = samples.at_home()
    seat = row(found(home), "Sit point")
    assert cell_words(seat.cells[1]).startswith(f"{round(float(home.surveyed.points.seat.z))} ")


def test_pairs_show_their_spacing_and_every_row_a_box() -> None:
    """Inches beside; what stands in the middle says so."""
    made = found(samples.one_piece())
    assert "470 18\N{NO-BREAK SPACE}1/2″" in row_words(row(made, "Peg, top"))
    assert "in the middle" in row_words(row(made, "Sit point"))
    assert all(one.cells[-1].kind == TICK for one in made.rows)
    assert {sum(cell.columns for cell in one.cells) for one in made.rows} == {len(made.head)}


def test_levers_grips_and_rake_are_there() -> None:
    """As read, with what was not."""
    made = found(samples.clip_on())
    assert "20° below level, reach 60" in row_words(row(made, "Brake lever"))
    assert "angle not read, reach 62" in row_words(row(made, "Clutch lever"))
    assert "clicks ____" in row_words(row(made, "Brake lever"))
    assert "210 8" in row_words(row(made, "Clip-on at its tube"))
    assert not any(row_words(one).startswith("Bar in its clamps") for one in made.rows)
    bare = found(samples.straight_bar()).rows
    assert not any(row_words(one).startswith("Clutch") for one in bare)


def test_what_was_assumed_is_marked() -> None:
    """A rake nobody measured is no as-found figure."""
    bike = evolve(samples.TWIN, key="norake", steering=evolve(samples.TWIN.steering, rake=None))
    assert "rake 26° (assumed)" in row_words(row(found(samples.made(bike)), "Grips, rake"))


def test_an_assumed_point_is_marked_in_every_figure_that_rests_on_it() -> None:
    """A clamp that nobody taped, and pegs whose spacing nobody did."""
    heights = {k: v for k, v in samples.TWIN.heights.items() if k != "clamp"}
    ahead = {k: v for k, v in samples.TWIN.ahead.items() if k != "clamp"}
    widths = {k: v for k, v in samples.TWIN.widths.items() if k != "peg"}
    bike = evolve(samples.TWIN, key="quick", heights=heights, ahead=ahead, widths=widths, spans={})
    made = found(samples.made(bike))
    assert [cell_words(cell)[-2:] for cell in row(made, "Bar in its clamps").cells[1:3]] == [
        " A"
    ] * 2
    peg = [cell_words(cell)[-2:] for cell in row(made, "Peg, top").cells[1:4]]
    assert peg[2] == " A"
    assert " A" not in peg[:2]
    assert "A assumed" in all_words(found_blocks(samples.made(bike)))


def test_tapes_that_the_fit_does_not_bear_out_are_told() -> None:
    """The figure shown is that of all tapes together; one that read otherwise stands below."""
    told = all_words(found_blocks(samples.mistaped()))
    assert "Tapes read otherwise: " in told
    assert "A assumed" not in told
    rows = samples.mistaped().surveyed.observations
    (high,) = (one for one in rows if one.key == "heights.grip_end")
    sign = "+" if high.residual > 0.0 else "\N{MINUS SIGN}"
    assert f"grip, outer end above floor {sign}{abs(round(high.residual))}" in told


def test_a_rake_is_given_to_the_half_degree() -> None:
    """As manuals do."""
    steering = evolve(samples.TWIN.steering, rake=samples.r(24.5))
    bike = evolve(samples.TWIN, key="half", steering=steering)
    assert "rake 24.5°" in row_words(row(found(samples.made(bike)), "Grips, rake"))


def test_pedals_are_there_where_they_were_taped() -> None:
    """They follow the pegs, so they must find their way back."""
    heights = {**samples.TWIN.heights, "brake_pedal": samples.r(380.0)}
    ahead = {**samples.TWIN.ahead, "brake_pedal": samples.r(800.0)}
    bike = evolve(samples.TWIN, key="pedal", heights=heights, ahead=ahead)
    assert "380" in row_words(row(found(samples.made(bike)), "Brake pedal"))
