"""The bike of a rider who never sits: what standing needs is there, what a seat has is not."""

from __future__ import annotations

from typing import Any

import numpy as np
from attrs import asdict

from fitprofile.stages.complete import complete
from fitprofile.stages.linkage import prior
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.standing_chain import transfer_standing
from fitprofile.stages.survey import survey
from tests.stages.invented import SHOP
from tests.stages.test_standing_chain import STANDS, ready
from tests.stages.test_uses import GOOD


def made() -> Transfer:
    """The good bike."""
    found, problems = transfer_standing(ready(STANDS), GOOD)
    assert found is not None, problems
    return found


def figures(part: Any) -> list[float]:
    """Every figure of a value."""
    if isinstance(part, dict):
        return [one for item in part.values() for one in figures(item)]
    return list(map(float, part)) if isinstance(part, tuple) else [float(part)]


def test_nothing_is_wished_or_changed_sitting() -> None:
    """No figure of a seated use, no odds, no draws."""
    one = made()
    for changes in (one.exact, one.give_or_take, one.practical.changes):
        assert np.isnan(figures(asdict(changes))).all()
    wished = asdict(one.target)
    del wished["lean_deg"], wished["reachable"]
    assert np.isnan(figures(wished)).all()
    assert np.isnan(one.chance)
    assert one.tried is None
    assert one.cockpit.measured_on is None
    assert (one.use, one.limits, one.adjusted) == ("trail", (), False)


def test_the_body_is_that_of_its_measurements_and_the_bike_as_taped() -> None:
    """No sit-on moved either."""
    one = made()
    assert one.linkage == prior(complete(STANDS, SHOP)[0])[0]
    taped, _ = survey(GOOD, SHOP)
    assert taped is not None
    assert one.points == taped.points == one.job.points
    assert set(one.standing) == {"trail"}
