"""Ranges of fields: the one home from which reader, schema and templates take them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args, get_type_hints

import pytest

from fitprofile.model.bike import (
    Allows,
    Bike,
    Handlebar,
    Hose,
    Lever,
    Obstacle,
    Stand,
    Steering,
    Straddle,
)
from fitprofile.model.parts import PARTS, Labour
from fitprofile.model.quantity import ANGLE, LENGTH, MASS, NUMBER, Q
from fitprofile.model.rider import BODY, Cockpit, RiderLimits, Standing
from fitprofile.stages.complete import load_survey

CLASSES = (
    *(Steering, Handlebar, Lever, Stand, Hose, Obstacle, Allows, Straddle, Bike),
    *(Cockpit, Standing, RiderLimits),
    *(Labour, *PARTS.values()),
)


def ranges(hint: Any) -> Iterator[Q]:
    """Every range inside a type hint."""
    for tag in getattr(hint, "__metadata__", ()):
        if isinstance(tag, Q):
            yield tag
    for inner in get_args(hint):
        yield from ranges(inner)


@pytest.mark.parametrize("cls", CLASSES)
def test_every_range_is_a_range_of_a_known_kind(cls: type) -> None:
    """Low below high, and a kind that the reader has a unit for."""
    found = [q for hint in get_type_hints(cls, include_extras=True).values() for q in ranges(hint)]
    assert found
    for q in found:
        assert q.low < q.high
        assert q.kind in {LENGTH, ANGLE, MASS, NUMBER}


@pytest.mark.parametrize("name", sorted(load_survey().index))
def test_every_body_dimension_holds_the_surveyed_adults_with_room(name: str) -> None:
    """No adult of the survey (ANSUR II, 2012) is refused, only questioned."""
    survey = load_survey()
    at = survey.index[name]
    for mean, covariance in zip(survey.mean, survey.covariance, strict=True):
        room = 3.0 * covariance[at, at] ** 0.5
        assert BODY[name].low < mean[at] - room
        assert BODY[name].high > mean[at] + room


def test_the_survey_and_the_model_share_their_names() -> None:
    """Every dimension but the boot's sole comes from the survey."""
    assert set(BODY) - set(load_survey().index) == {"sole"}
