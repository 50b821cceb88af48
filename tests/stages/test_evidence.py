"""Several sit-ons at once: shared unknowns, rows left out, and scipy on a residual of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from attrs import asdict
from numpy.typing import NDArray
from scipy import optimize

from fitprofile.model.log import Entry
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import Cockpit
from fitprofile.stages.calibrate import normalised_misfits, settle, solve
from fitprofile.stages.complete import complete
from fitprofile.stages.entries import logged
from fitprofile.stages.evidence import BODY as MOVABLE
from fitprofile.stages.evidence import Evidence, evidence, row_names
from fitprofile.stages.linkage import prior
from fitprofile.stages.siton import sit_on
from fitprofile.stages.survey import Surveyed, survey
from tests import by_hand
from tests.stages.invented import BODY, SHOP, bike, moved, rider, sat
from tests.stages.taped import TRUE, Point

BIKES: Mapping[str, Mapping[str, Point]] = {
    "good": TRUE,
    "high": moved(grip_end=(-30.0, 40.0), grip_inner=(-30.0, 40.0), seat=(10.0, -20.0)),
    "long": moved(grip_end=(35.0, -15.0), grip_inner=(35.0, -15.0), peg=(40.0, 20.0)),
}
RESIT = (8.0, 3.0)
"""mm and degrees that sitting down again adds (DESIGN section 12)."""

TAPES = {"navel_to_bar": 6.0, "forearm_angle": 2.5, "knee_angle": 4.0, "lean": 4.0}
"""Standard deviations with a helper (DESIGN section 12)."""


def entry(on: str, *fields: str, off: Mapping[str, float] | None = None, **more: Any) -> Entry:
    """What the invented body shows on a bike, the named numbers of it, some of them off."""
    shown = by_hand.numbers(asdict(BODY), 12.0, BIKES[on])
    told: dict[str, Any] = {}
    for name in fields:
        unit = "mm" if name == "navel_to_bar" else "deg"
        exact = 12.0 if name == "lean" else shown[f"{name}_{unit}"]
        told[name] = Reading(float(exact + (off or {}).get(name, 0.0)))
    given = {"bike": on, "use": "road", "date": "2026-05-01", "tape": "helper", "line": 3}
    return Entry(**{**given, **told, **more})


def known(
    log: tuple[Entry, ...], cockpits: Mapping[str, Cockpit] | None = None
) -> tuple[Evidence, dict[str, Surveyed], Mapping[str, float]]:
    """Evidence of cockpits and log, the surveys, and the prior spreads."""
    person = rider(cockpits or {"road": sat(measured_on="good")}, tape="helper")
    body, _ = complete(person, SHOP)
    mean, spreads = prior(body)
    bikes = {key: bike(key, points) for key, points in BIKES.items()}
    surveys: dict[str, Surveyed] = {}
    own = []
    for use, cockpit in person.cockpits.items():
        key = cockpit.measured_on or ""
        if key not in surveys:
            found, _ = survey(bikes[key], SHOP)
            assert found is not None
            surveys[key] = found
        made, _ = sit_on(person, use, surveys[key], SHOP)
        assert made is not None
        own.append(made)
    more, problems = logged(person, log, own, bikes, surveys, SHOP)
    assert not [problem for problem in problems if problem.line]
    return evidence(mean, spreads, (*own, *more)), surveys, spreads


THREE = (
    entry("high", "navel_to_bar", "forearm_angle", "knee_angle", off={"navel_to_bar": 9.0}),
    entry("long", "navel_to_bar", off={"navel_to_bar": -12.0}),
    entry("long", "forearm_angle", "lean", off={"forearm_angle": 2.0, "lean": 6.0}),
    entry("good", "knee_angle", "navel_to_bar", off={"knee_angle": 5.0}, felt_right=True),
)


def residuals_by_hand(
    mean: Mapping[str, float],
    spreads: Mapping[str, float],
    cockpit: Cockpit,
    log: tuple[Entry, ...],
    surveys: Mapping[str, Surveyed],
) -> Callable[[NDArray[np.float64]], NDArray[np.float64]]:
    """DESIGN sections 4 and 6 on the files' own figures, in plain mm and degrees.

    Unknowns: eight values of the body, lean, elbows out, and for each bike how far its seat-to-bar
    vector is off, ahead and up. Nothing of the calibration is used.
    """
    covariance = np.diag([spreads[name] ** 2 for name in MOVABLE])
    covariance[1, 6] = covariance[6, 1] = 15.0**2
    whiten = np.linalg.inv(np.linalg.cholesky(covariance))
    keys = list(surveys)
    ties: dict[str, tuple[NDArray[np.float64], NDArray[np.float64]]] = {}
    for key, one in surveys.items():
        seat, bar = (3 * one.names.index(name) for name in ("seat", "grip_end"))
        pick = np.zeros((2, len(one.covariance)))
        pick[0, [bar, seat]] = pick[1, [bar + 2, seat + 2]] = (1.0, -1.0)
        vector = pick @ one.covariance @ pick.T
        ties[key] = (
            np.linalg.inv(np.linalg.cholesky(vector)),
            one.covariance @ pick.T @ np.linalg.inv(vector),
        )

    def shown(x: NDArray[np.float64], key: str) -> dict[str, float]:
        body = {**mean, **dict(zip(MOVABLE, x[:8], strict=True)), "elbows_out_deg": x[9]}
        body["navel_up_mm"] = mean["navel_up_mm"] + mean["hip_height_mm"] - x[0]
        at = 10 + 2 * keys.index(key)
        shift = ties[key][1] @ x[at : at + 2]
        points = {}
        for name in ("seat", "peg", "clamp", "grip_end", "grip_inner"):
            rigid = name not in ("seat", "peg")  # bar, grips and clamp go with the grip end
            row = 3 * surveys[key].names.index("grip_end" if rigid else name)
            taped = np.array([float(c) for c in getattr(surveys[key].points, name)])
            points[name] = tuple(taped + shift[row : row + 3] * (1.0, not rigid, 1.0))
        found = by_hand.numbers(body, x[8], points)
        return {name.rsplit("_", 1)[0]: value for name, value in found.items()} | {"lean": x[8]}

    def residuals(x: NDArray[np.float64]) -> NDArray[np.float64]:
        rows = list(whiten @ (x[:8] - np.array([mean[name] for name in MOVABLE])))
        assert cockpit.lean is not None
        rows += [(x[8] - cockpit.lean.value) / 3.0, (x[9] - 15.0) / 15.0]
        for at, key in enumerate(keys):
            rows += list(ties[key][0] @ x[10 + 2 * at : 12 + 2 * at])
        good = shown(x, "good")
        rows.append((good["elbow_angle"] - 130.0) / 20.0)
        told: list[tuple[dict[str, float], Any, tuple[str, ...]]] = [
            (good, cockpit, ("navel_to_bar", "forearm_angle", "knee_angle"))
        ]
        told += [(shown(x, one.bike), one, tuple(TAPES)) for one in log]
        for have, source, names in told:
            for name in names:
                reading = getattr(source, name)
                if reading is not None:
                    sd = np.hypot(TAPES[name], RESIT[name != "navel_to_bar"])
                    rows.append((have[name] - reading.value) / sd)
        return np.array(rows)

    return residuals


def test_three_bikes_and_missing_rows_settle_where_scipy_does() -> None:
    """Cost to seven digits, body to 0.02 mm, lean and elbows to 0.01 degrees."""
    found, surveys, spreads = known(THREE)
    mean = asdict(found.prior)
    cost = residuals_by_hand(mean, spreads, sat(measured_on="good"), THREE, surveys)
    start = [mean[name] for name in MOVABLE] + [12.0, 15.0] + [0.0] * 6
    scale = [spreads[name] for name in MOVABLE] + [3.0, 15.0] + [8.0] * 6
    best = optimize.least_squares(
        cost, start, x_scale=scale, xtol=1e-14, ftol=1e-14, gtol=1e-14, max_nfev=4000
    )
    ours = solve(found)
    assert ours.last_step[0] <= 1e-7
    assert ours.cost[0] == pytest.approx(2.0 * best.cost, rel=1e-7)
    shown = settle(found, ours.unknowns[:, 0])
    for at, name in enumerate(MOVABLE):
        assert float(getattr(shown[0].linkage, name)) == pytest.approx(best.x[at], abs=0.02)
    for one in shown:
        assert float(one.lean_deg) == pytest.approx(best.x[8], abs=0.01)
        assert float(np.asarray(one.linkage.elbows_out_deg)) == pytest.approx(best.x[9], abs=0.01)
    # Redundancy: ten unknowns of rider and six of bikes have a prior each, so the rows are left.
    assert ours.redundancy == 4 + 3 + 1 + 2 + 2


def test_sit_ons_on_one_bike_share_its_step() -> None:
    """Both entries on "long", and both cockpits on "good", show one bike and not two."""
    cockpits = {"road": sat(measured_on="good"), "track": sat(measured_on="good", lean=20.0)}
    found, _, _ = known(THREE, cockpits)
    shown = settle(found, solve(found).unknowns[:, 0])
    by_bike: dict[str | None, list[Any]] = {}
    for one in shown:
        by_bike.setdefault(one.bike, []).append(one.step)
    assert {key: len(steps) for key, steps in by_bike.items()} == {"good": 3, "high": 1, "long": 2}
    assert all(step == steps[0] for steps in by_bike.values() for step in steps)
    # Eight of the body, two of each use, two of each bike.
    assert found.size == 8 + 2 * 2 + 2 * 3


def test_each_row_has_its_name() -> None:
    """As many names as priors and observations; an entry's carry bike and day."""
    found, _, _ = known(THREE)
    answer = solve(found).unknowns
    names = row_names(found)
    assert len(names) == len(normalised_misfits(found, answer))
    assert "navel-to-bar (road)" in names
    assert "navel-to-bar (road on long, 2026-05-01)" in names
    assert "knee angle (road on long, 2026-05-01)" not in names
    assert sum(name == "seat to bar of long" for name in names) == 2
    assert sum(name.startswith("elbow angle") for name in names) == 1


def test_a_right_feeling_entry_on_a_changed_bike_moves_neither_body_nor_bike() -> None:
    """It counts for the wish alone: the same unknowns, the same answer."""
    alone, _, _ = known(())
    after = entry("long", "navel_to_bar", "forearm_angle", felt_right=True, when="after")
    both, _, _ = known((after,))
    one, other = solve(alone), solve(both)
    assert one.unknowns == pytest.approx(other.unknowns)
    shown = settle(both, other.unknowns[:, 0])[1]
    assert after.navel_to_bar is not None
    assert shown.navel_to_bar_mm == after.navel_to_bar.value
    assert (shown.bike, shown.points) == (None, None)


def test_what_was_not_measured_changes_nothing() -> None:
    """A knee angle on another bike leaves its seat-to-bar vector where the survey has it.

    But for what the survey's errors of seat and peg have in common.
    """
    found, _, _ = known((entry("long", "knee_angle"),))
    shown = settle(found, solve(found).unknowns[:, 0])[1]
    assert shown.step is not None
    assert max(abs(float(part)) for part in shown.step) < 0.05
