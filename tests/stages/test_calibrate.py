"""Calibration: its optimum against scipy on a cost written again from the contract."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from attrs import asdict, evolve
from numpy.typing import NDArray
from scipy import optimize, stats

from fitprofile.model.rider import Cockpit
from fitprofile.stages import calibrate as cal
from fitprofile.stages.chain import SETTLED, UNLIKELY
from fitprofile.stages.complete import MEASURED, Completed, Measurement, complete, load_survey
from fitprofile.stages.evidence import Evidence, row_names
from fitprofile.stages.evidence import evidence as make_evidence
from fitprofile.stages.linkage import Linkage, prior
from fitprofile.stages.siton import Reported, SitOn, sit_on
from fitprofile.stages.survey import Surveyed, survey
from tests import by_hand
from tests.stages.invented import BODY, SHOP, bike, moved, rider, sat
from tests.stages.taped import TRUE, Point

MOVED = ("seat", "peg", "clamp", "grip_end", "grip_inner")
OTHER = moved(grip_end=(-30.0, 40.0), grip_inner=(-30.0, 40.0), seat=(10.0, -20.0))

UNKNOWNS = (
    "hip_height_mm",
    "navel_forward_mm",
    "shoulder_up_mm",
    "shoulder_forward_mm",
    "upper_arm_mm",
    "forearm_grip_mm",
    "thigh_mm",
    "shank_mm",
)


def known(
    cockpits: Mapping[str, Cockpit], bikes: Mapping[str, Mapping[str, Point]], **more: Any
) -> tuple[Evidence, dict[str, Surveyed], Mapping[str, float]]:
    """Evidence of the invented rider, the surveys of its bikes, and the prior spreads."""
    person = rider(cockpits, tape="helper", **more)
    body, _ = complete(person, SHOP)
    mean, spreads = prior(body)
    surveys: dict[str, Surveyed] = {}
    for key, points in bikes.items():
        found, _ = survey(bike(key, points), SHOP)
        assert found is not None
        surveys[key] = found
    sats: list[SitOn] = []
    for use, one in cockpits.items():
        made, _ = sit_on(person, use, surveys.get(one.measured_on or ""), SHOP)
        assert made is not None
        sats.append(made)
    return make_evidence(mean, spreads, tuple(sats)), surveys, spreads


def cost_by_hand(
    evidence: Evidence,
    surveys: Mapping[str, Surveyed],
    spreads: Mapping[str, float],
) -> Callable[[NDArray[np.float64]], NDArray[np.float64]]:
    """Residuals of DESIGN sections 4 and 6 in other unknowns: plain mm and degrees.

    The body's covariance is diagonal but for the guess of the hip ahead of the buttock, sd 15,
    that the navel's place and the thigh share; a bike's points move with the seat-to-bar vector
    as the conditional mean of the survey's covariance says, the bar as one rigid body.
    """
    covariance = np.diag([spreads[name] ** 2 for name in UNKNOWNS])
    covariance[1, 6] = covariance[6, 1] = 15.0**2
    whiten = np.linalg.inv(np.linalg.cholesky(covariance))
    mean = asdict(evidence.prior)

    def residuals(x: NDArray[np.float64]) -> NDArray[np.float64]:
        off = np.array([x[i] - mean[name] for i, name in enumerate(UNKNOWNS)])
        rows = list(whiten @ off)
        body = {**mean, **dict(zip(UNKNOWNS, x[:8], strict=True))}
        body["navel_up_mm"] = mean["navel_up_mm"] + mean["hip_height_mm"] - x[0]
        for at, one in enumerate(evidence.sit_ons):
            lean, elbows, first, second = x[8 + 4 * at : 12 + 4 * at]
            rows += [(lean - one.lean.value) / one.lean.sd, (elbows - 15.0) / 15.0]
            here = {**body, "elbows_out_deg": elbows}
            if one.bike is None:
                rows += from_memory(here, one, lean, first, second)
            else:
                rows += on_a_bike(here, one, lean, np.array([first, second]), surveys[one.bike])
        return np.array(rows, dtype=float)

    return residuals


def on_a_bike(
    body: Mapping[str, float],
    one: SitOn,
    lean: float,
    step: NDArray[np.float64],
    surveyed: Surveyed,
) -> list[float]:
    """Prior of the seat-to-bar vector, then navel-to-bar, forearm, knee and elbow."""
    seat, bar = (3 * surveyed.names.index(name) for name in ("seat", "grip_end"))
    pick = np.zeros((2, len(surveyed.covariance)))
    pick[0, [bar, seat]] = pick[1, [bar + 2, seat + 2]] = (1.0, -1.0)
    spread = pick @ surveyed.covariance @ pick.T
    shift = surveyed.covariance @ pick.T @ np.linalg.solve(spread, step)
    points = {}
    for name in MOVED:
        rigid = name not in ("seat", "peg")  # bar, grips and clamp go with the grip end
        row = 3 * surveyed.names.index("grip_end" if rigid else name)
        taped = np.array([float(c) for c in getattr(surveyed.points, name)])
        points[name] = tuple(taped + shift[row : row + 3] * (1.0, not rigid, 1.0))
    shown = by_hand.numbers(dict(body), lean, points)
    seen = (
        (shown["navel_to_bar_mm"], one.navel_to_bar),
        (shown["forearm_angle_deg"], one.forearm_angle),
        (shown["knee_angle_deg"], one.knee_angle),
        (shown["elbow_angle_deg"], Reported(130.0, 20.0)),
    )
    return [
        *np.linalg.solve(np.linalg.cholesky(spread), step),
        *((value - told.value) / told.sd for value, told in seen),
    ]


def from_memory(
    body: Mapping[str, float], one: SitOn, lean: float, elbow: float, fall: float
) -> list[float]:
    """The elbow's prior, then navel-to-bar and forearm: grip 125 long, sweep 15, tilt wished."""
    upper, fore = body["upper_arm_mm"], body["forearm_grip_mm"]
    half = 0.5 * 125.0
    back, across = half * np.sin(np.radians(15.0)), half * np.cos(np.radians(15.0))
    joint = by_hand.trunk(
        dict(body), (0.0, 0.0, 0.0), lean, "shoulder", 0.5 * body["shoulder_spacing_mm"]
    )
    reach = np.sqrt(upper**2 + fore**2 - 2.0 * upper * fore * np.cos(np.radians(elbow)))
    aside = one.hand_side - across - joint[1]
    flat = np.sqrt(reach**2 - aside**2)
    hand = (
        joint[0] + flat * np.cos(np.radians(fall)),
        joint[1] + aside,
        joint[2] - flat * np.sin(np.radians(fall)),
    )
    points = {
        "seat": (0.0, 0.0, 0.0),
        "peg": (100.0, 230.0, -450.0),
        "grip_end": (hand[0] - back, hand[1] + across, hand[2]),
        "grip_inner": (hand[0] + back, hand[1] - across, hand[2]),
    }
    shown = by_hand.numbers(dict(body), lean, points)
    distance = shown["navel_to_bar_mm"] - float(one.navel_to_bar.value)
    forearm = shown["forearm_angle_deg"] - float(one.forearm_angle.value)
    return [
        (elbow - 130.0) / 20.0,
        distance / one.navel_to_bar.sd,
        forearm / one.forearm_angle.sd,
    ]


def best_by_hand(
    evidence: Evidence, surveys: Mapping[str, Surveyed], spreads: Mapping[str, float]
) -> Any:
    """scipy's optimum of the cost by hand, started at the prior's mean."""
    start = [asdict(evidence.prior)[name] for name in UNKNOWNS]
    for one in evidence.sit_ons:
        start += [one.lean.value, 15.0, *((0.0, 0.0) if one.bike else (130.0, 15.0))]
    scale = [spreads[name] for name in UNKNOWNS] + [5.0, 15.0, 10.0, 10.0] * len(evidence.sit_ons)
    return optimize.least_squares(
        cost_by_hand(evidence, surveys, spreads),
        start,
        x_scale=scale,
        xtol=1e-14,
        ftol=1e-14,
        gtol=1e-14,
        max_nfev=4000,
    )


CASES: Mapping[str, tuple[dict[str, Cockpit], dict[str, Mapping[str, Point]]]] = {
    "one bike": ({"road": sat(measured_on="good")}, {"good": TRUE}),
    "a wish that strains the prior": (
        {"road": sat(measured_on="good", forearm_angle=9.0, navel_to_bar=330.0)},
        {"good": TRUE},
    ),
    "two bikes": (
        {"road": sat(measured_on="good"), "track": sat(OTHER, lean=22.0, measured_on="other")},
        {"good": TRUE, "other": OTHER},
    ),
    "from memory": ({"road": sat()}, {}),
}


@pytest.mark.parametrize("case", CASES)
def test_the_optimum_is_scipy_s(case: str) -> None:
    """Cost to nine digits, body to 0.02 mm, and what the sit-ons show likewise."""
    evidence, surveys, spreads = known(*CASES[case])
    ours = cal.solve(evidence)
    best = best_by_hand(evidence, surveys, spreads)
    assert ours.last_step[0] <= 1e-7
    assert ours.cost[0] == pytest.approx(2.0 * best.cost, rel=1e-7)
    settled = cal.settle(evidence, ours.unknowns[:, 0])
    for at, name in enumerate(UNKNOWNS):
        assert float(getattr(settled[0].linkage, name)) == pytest.approx(best.x[at], abs=0.02)
    for at, one in enumerate(settled):
        assert float(one.lean_deg) == pytest.approx(best.x[8 + 4 * at], abs=0.005)
        assert float(np.asarray(one.linkage.elbows_out_deg)) == pytest.approx(
            best.x[9 + 4 * at], abs=0.02
        )


def test_readings_that_the_prior_explains_leave_it_alone() -> None:
    """Where the sit-on is what the most probable body shows, only the loose elbow pulls.

    With the elbow's prior at what it shows, no unknown moves at all.
    """
    evidence, surveys, _ = known({"road": sat(measured_on="good", lean=12.0)}, {"good": TRUE})
    zero = np.zeros((12, 1))
    shown = cal.settle(evidence, zero)[0]
    one = evolve(
        evidence.sit_ons[0],
        navel_to_bar=Reported(first(shown.navel_to_bar_mm), 8.0),
        forearm_angle=Reported(first(shown.forearm_angle_deg), 3.0),
        knee_angle=Reported(first(shown.knee_angle_deg), 5.0),
    )
    still = evolve(evidence, sit_ons=(one,), elbow=(Reported(first(shown.elbow_angle_deg), 20.0),))
    assert surveys
    assert np.abs(cal.solve(still).unknowns).max() < 1e-7


def first(value: Any) -> float:
    """The only element of a batch of one."""
    return float(np.ravel(value)[0])


def drawn(evidence: Evidence, count: int) -> Evidence:
    """The same evidence with ``count`` bodies drawn from the prior and readings 1.5 sd about."""
    rng = np.random.default_rng(4)
    shift = evidence.factor @ rng.standard_normal((8, count))
    fresh = {
        name: getattr(evidence.prior, name) + row for name, row in zip(UNKNOWNS, shift, strict=True)
    }

    def about(seen: Reported) -> Reported:
        return Reported(seen.value + 1.5 * seen.sd * rng.standard_normal(count), seen.sd)

    sats = tuple(
        evolve(
            one,
            navel_to_bar=about(one.navel_to_bar),
            forearm_angle=about(one.forearm_angle),
            knee_angle=about(one.knee_angle),
        )
        for one in evidence.sit_ons
    )
    return evolve(evidence, prior=evolve(evidence.prior, **fresh), sit_ons=sats)


def single(evidence: Evidence, at: int) -> Evidence:
    """One element of a batch as scalars."""

    def cut(value: Any) -> Any:
        return float(value[at]) if np.ndim(value) else value

    def told(seen: Reported) -> Reported:
        return Reported(cut(seen.value), seen.sd)

    sats = tuple(
        evolve(
            one,
            navel_to_bar=told(one.navel_to_bar),
            forearm_angle=told(one.forearm_angle),
            knee_angle=told(one.knee_angle),
        )
        for one in evidence.sit_ons
    )
    body = {name: cut(value) for name, value in asdict(evidence.prior).items()}
    return evolve(evidence, prior=Linkage(**body), sit_ons=sats)


def test_a_batch_is_the_stack_of_its_singles() -> None:
    """Each element on its own: 12 bodies at once, and one after the other, to a millionth sd."""
    evidence, _, _ = known(*CASES["two bikes"])
    batch = drawn(evidence, 12)
    whole = cal.solve(batch, 12)
    for at in range(12):
        alone = cal.solve(single(batch, at))
        assert whole.unknowns[:, at] == pytest.approx(alone.unknowns[:, 0], abs=1e-6)
        assert whole.cost[at] == pytest.approx(alone.cost[0], rel=1e-10)


def test_three_hundred_bodies_settle() -> None:
    """To 1e-7 within 40 steps, or nearly there; none ends dearer than it began.

    One prior arm in eight is out of reach (DESIGN section 6), and calibration must take it.
    """
    evidence, _, _ = known(*CASES["one bike"])
    batch = drawn(evidence, 300)
    start = cal.misfits(batch, np.zeros((12, 300)))
    found = cal.solve(batch, 300)
    assert np.isfinite(found.cost).all()
    assert (found.cost <= (start**2).sum(axis=0) + 1e-9).all()
    assert (found.last_step <= 1e-7).mean() > 0.9
    assert (found.last_step < SETTLED).mean() > 0.98


def people(count: int) -> Linkage:
    """Most probable joints of bodies drawn from the survey, fields (count,)."""
    rng, people_of = np.random.default_rng(8), load_survey()
    priors = []
    for male in rng.integers(0, 2, count):
        figures = rng.multivariate_normal(people_of.mean[male], people_of.covariance[male])
        body = {
            name: Measurement(float(figures[at]), 5.0, MEASURED)
            for name, at in people_of.index.items()
        }
        body["sole"] = Measurement(25.0, 4.0, MEASURED)
        done = Completed(measurements=body, male_share=float(male), girth_excess_mm=0.0)
        priors.append(asdict(prior(done)[0]))
    return Linkage(**{name: np.array([one[name] for one in priors]) for name in priors[0]})


@pytest.mark.parametrize("case", ["one bike", "two bikes", "from memory"])
def test_three_hundred_people_of_the_survey_settle(case: str) -> None:
    """Whoever gives these sit-ons back: finite, no dearer than at the start, and settled."""
    evidence, _, _ = known(*CASES[case])
    crowd = evolve(evidence, prior=people(300))
    found = cal.solve(crowd, 300)
    start = cal.misfits(crowd, np.zeros_like(found.unknowns))
    assert np.isfinite(found.cost).all()
    assert (found.cost <= (start**2).sum(axis=0) + 1e-9).all()
    assert (found.last_step < SETTLED).all()
    assert (found.last_step <= 1e-7).mean() > 0.97


def test_arms_out_of_reach_come_back_into_it() -> None:
    """Prior arms 200 mm short count as straight, and the sit-on lengthens arm or shortens reach."""
    evidence, _, _ = known(*CASES["one bike"])
    short = evolve(
        evidence.prior,
        upper_arm_mm=float(evidence.prior.upper_arm_mm) - 110.0,
        forearm_grip_mm=float(evidence.prior.forearm_grip_mm) - 90.0,
    )
    tight = evolve(evidence, prior=short)
    before = cal.settle(tight, np.zeros((12, 1)))[0]
    after = cal.settle(tight, cal.solve(tight).unknowns)[0]
    assert first(before.elbow_angle_deg) > 180.0
    assert first(after.elbow_angle_deg) < 180.0
    assert np.isfinite(after.forearm_angle_deg).all()


def test_a_body_that_fits_its_own_readings_is_given_back_by_the_numbers() -> None:
    """Exact readings of a body unlike the prior: navel-to-bar within 4 mm, forearm within 2."""
    evidence, _, _ = known(*CASES["one bike"])
    shown = cal.settle(evidence, cal.solve(evidence).unknowns[:, 0])[0]
    truth = by_hand.numbers(asdict(BODY), 12.0, TRUE)
    assert float(shown.navel_to_bar_mm) == pytest.approx(truth["navel_to_bar_mm"], abs=4.0)
    assert float(shown.forearm_angle_deg) == pytest.approx(truth["forearm_angle_deg"], abs=2.0)
    assert float(shown.knee_angle_deg) == pytest.approx(truth["knee_angle_deg"], abs=2.0)


def test_a_rough_search_spreads_as_the_full_one() -> None:
    """Started at the answer, 300 rough samples have the spread of 300 full ones within 3 %."""
    evidence, _, _ = known(*CASES["one bike"])
    answer = cal.solve(evidence)
    batch = drawn(evidence, 300)
    rough = cal.settle(batch, cal.solve(batch, 300, rough=True, start=answer).unknowns)[0]
    full = cal.settle(batch, cal.solve(batch, 300).unknowns)[0]
    for name in ("navel_to_bar_mm", "forearm_angle_deg", "knee_angle_deg"):
        one, other = (np.std(getattr(each, name)) for each in (rough, full))
        assert one == pytest.approx(other, rel=0.03)


@pytest.mark.parametrize("freedom", range(3, 13))
def test_the_limit_of_the_cost_is_chi_square_s(freedom: int) -> None:
    """Wilson and Hilferty (1931) against scipy's 99.9 % point, within 2 %."""
    part = 2.0 / (9.0 * freedom)
    limit = freedom * (1.0 - part + UNLIKELY * np.sqrt(part)) ** 3
    assert limit == pytest.approx(stats.chi2.ppf(0.999, freedom), rel=0.02)
    assert pytest.approx(stats.norm.ppf(0.999), abs=1e-4) == UNLIKELY


def test_a_normalised_misfit_is_the_residual_over_its_own_spread() -> None:
    """Against the covariance of the residuals, I - A (A^T A)^-1 A^T, built by scipy's Jacobian."""
    evidence, surveys, spreads = known(*CASES["a wish that strains the prior"])
    best = best_by_hand(evidence, surveys, spreads)
    hat = best.jac @ np.linalg.pinv(best.jac)
    own = np.sqrt(1.0 - np.diag(hat))
    by_scipy = dict(zip(range(len(own)), best.fun / own, strict=True))
    ours = cal.normalised_misfits(evidence, cal.solve(evidence).unknowns)
    names = row_names(evidence)
    # By hand: 8 of the body, lean, elbows out, 2 of the bike, then the four readings.
    for row, name in ((12, "navel-to-bar (road)"), (13, "forearm angle (road)")):
        at = names.index(name)
        assert ours[at] == pytest.approx(by_scipy[row], rel=1e-3)


def test_the_shared_hip_ties_navel_and_thigh() -> None:
    """Covariance 15^2 between the navel's place and the thigh, variances as in the prior."""
    evidence, _, spreads = known(*CASES["from memory"])
    covariance = evidence.factor @ evidence.factor.T
    navel, thigh = UNKNOWNS.index("navel_forward_mm"), UNKNOWNS.index("thigh_mm")
    assert covariance[navel, thigh] == pytest.approx(225.0)
    assert np.sqrt(np.diag(covariance)) == pytest.approx([spreads[name] for name in UNKNOWNS])
