"""JSON where there is nothing: the keys of what would have been there."""

from __future__ import annotations

import json

from fitprofile.errors import Problem
from fitprofile.report.blank import blank_bike, blank_rider, blank_transfer
from fitprofile.report.record import body_record, survey_record, transfer_record
from tests.report import samples

WHY = (Problem("no figure", "heights.seat", "bikes/new.toml", 3),)


def test_a_blank_transfer_has_the_keys_of_a_transfer() -> None:
    """In their order, but for points that sit-ons moved."""
    whole = [k for k in transfer_record(samples.one_piece()) if k != "points_adjusted"]
    blank = blank_transfer("ida", "new", None, WHY)
    assert list(blank) == whole
    assert (blank["rider"], blank["bike"], blank["use"]) == ("ida", "new", None)
    assert json.loads(json.dumps(blank))["problems"][0]["line"] == 3
    empty = {k: v for k, v in blank.items() if k not in ("rider", "bike", "use", "problems")}
    assert {k for k, v in empty.items() if v is not None} == {"limits", "plans", "missing_parts"}


def test_a_blank_bike_has_the_keys_of_a_survey() -> None:
    """And its name where the file could be read so far."""
    sample = samples.one_piece()
    blank = blank_bike("new", "New", WHY)
    assert list(blank)[2:-1] == list(survey_record(sample.surveyed))
    assert (blank["bike_name"], blank["observations"], blank["points"]) == ("New", [], None)


def test_a_blank_rider_has_no_body() -> None:
    """Null instead of a body of nobody."""
    assert body_record(samples.one_piece().body)
    assert blank_rider("ida", WHY)["measurements"] is None
