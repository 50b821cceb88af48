"""The dated examples of law against the statutes' wording."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import tomli

from fitprofile.data.places import Place, find_place, places
from fitprofile.errors import Problem
from fitprofile.stages.law import BASES

LAWS: list[dict[str, Any]] = tomli.loads(
    (Path(__file__).parents[1] / "references" / "handlebar_law.toml").read_text(encoding="utf-8")
)["law"]


def place(name: str) -> Place:
    found = find_place(name)
    assert isinstance(found, Place), found
    return found


@pytest.mark.parametrize("law", LAWS, ids=[law["place"] for law in LAWS])
def test_each_limit_is_the_statute_s_figure(law: dict[str, Any]) -> None:
    """In its own unit, an inch being 25.4 mm exactly, and counted from what the wording says."""
    rules = place(law["place"]).rules
    assert len(rules) == len(law["figures"])
    for rule, figure, counted in zip(rules, law["figures"], law["counted_from"], strict=True):
        number, unit = figure.split()
        assert rule.limit_mm == float(number) * {"in": 25.4, "mm": 1.0}[unit]
        assert counted in rule.basis
        # "0 in" is how "not higher than" reads as a figure.
        assert number in law["wording"] or (number == "0" and "not higher than" in law["wording"])
        assert number in rule.wording or number in {"0", "1000"}
    assert any(law["section"] in rule.section for rule in rules)


@pytest.mark.parametrize("law", LAWS, ids=[law["place"] for law in LAWS])
def test_whether_the_seat_is_bare_is_what_the_wording_says(law: dict[str, Any]) -> None:
    """Under the rider, bare, or not said."""
    words = law["wording"].replace(",", "").split()
    (said,) = {"depressed", "undepressed"} & set(words) or {""}
    assert {rule.seat for rule in place(law["place"]).rules} == {said}


def test_california_in_millimetres() -> None:
    """6 in is 152.4 mm; the law's own bracket says 152."""
    assert place("California").rules[0].limit_mm == pytest.approx(152.4)


def test_only_what_must_be_wide_or_clear_is_a_least() -> None:
    """250 mm to each side, and 20 mm of room at lock."""
    least = {(one.name, rule.limit_mm) for one in places() for rule in one.rules if rule.least}
    assert least == {("Northern Territory", 250.0), ("Germany", 20.0)}


def test_every_rule_has_a_known_basis_a_date_and_a_mark() -> None:
    """And a place without rules says why; no name means two places."""
    for one in places():
        assert one.rules or one.note
        for rule in one.rules:
            assert rule.basis in BASES
            assert all((rule.wording, rule.section, rule.dated, rule.sure))
    names = [key.casefold() for one in places() for key in (one.name, *one.aliases)]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("name", ["california", "CALIFORNIA", " ca ", "Northern  Territory"])
def test_a_place_is_found_whatever_its_capitals(name: str) -> None:
    """By name or its letters."""
    assert isinstance(find_place(name), Place)


def test_an_unknown_place_is_asked_about() -> None:
    """With the nearest name, or with all there are."""
    near, far = find_place("Califronia"), find_place("xyzzy")
    assert isinstance(near, Problem)
    assert "did you mean 'California'?" in near.text
    assert near.key == "place"
    assert isinstance(far, Problem)
    assert "Georgia" in far.text
