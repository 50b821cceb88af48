"""Templates hold every key of the model, and filled in they are right."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import tomli
from attrs import fields

from fitprofile.errors import ERROR
from fitprofile.model.bike import (
    PAIR_POINTS,
    PART_KINDS,
    Allows,
    Bike,
    Fitted,
    Handlebar,
    Hose,
    Hoses,
    Lever,
    Steering,
    Straddle,
)
from fitprofile.model.parts import PARTS, Catalogue, Labour
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import BODY, Cockpit, RiderLimits, Standing
from fitprofile.model.shop import SPREADS, TOLERANCES
from fitprofile.store.bikes import POINTS
from fitprofile.store.lines import WIDTH
from fitprofile.store.riders import ALTERNATIVES
from fitprofile.store.templates import (
    QUICK,
    QUICK_SET,
    bike_template,
    parts_template,
    rider_template,
    tolerances_template,
)
from tests.store.examples import workspace

TEMPLATES = {
    "rider": rider_template("Ida"),
    "bike": bike_template("Heron"),
    "tolerances": tolerances_template(),
    "parts": parts_template(),
}

FIGURES = {
    " kg": "70", "stature": "168", "sitting_height": "88", "span": "168", "bar_width": "76",
    "navel_height_sitting": "21", "acromial_height_sitting": "58", "inseam": "78",
    "hand_length": "180", "hand_breadth": "80", "ankle_height": "70", "sole": "25",
    "bar_diameter": "22.2", "clamp_diameter": "28.6", "grip_diameter": "33", "pin": "4",
    "grip_length": "125", "knee_angle": "95", "rake": "25", "lock": "33", "foot_length": "26",
    "ball_of_foot_length": "19",
    "fork_extension": "12", "fork_compression": "12",
    "grip_tilt": "2", "grip_sweep": "14", "pitch": "2", "clip_turn": "0", "lean": "12",
}  # fmt: skip
"""Plausible figures for keys whose range leaves out 45."""


FITTED = "schema = 1\n" + "".join(
    f'[[{kind}]]\nname = "{kind}"\n{figures}\n'
    for kind, figures in {
        "riser": "height = 20",
        "bar": "width = 780\nrise = 60\npullback = 90\nbacksweep = 18\nclamp_diameter = 28.6",
        "extender": "length = 15",
        "clip_on": "offset = 30",
        "peg_plate": "x = 0\nz = -20",
        "seat": "z = 20",
        "lever_set": "reach_range = [45, 75]",
    }.items()
)
"""A catalogue of one part of each kind with no more than it needs, called like its kind."""


def uncommented(text: str) -> str:
    """Every figure's line with its # taken off, still empty."""
    return re.sub(r"^#(?=[\[\"a-z_])", "", text, flags=re.MULTILINE)


def filled(text: str) -> str:
    """Every key of a template filled in; of two ways to give a figure the first."""
    lines = []
    for line in uncommented(text).split("\n"):
        key, _, value = line.partition(" = ")
        if "# in place of" in value:
            continue
        own = "[tolerances]" in lines
        number = "4" if own else FIGURES.get(key, FIGURES.get(value.strip('"')[:3], "45"))
        if key in {"bar_width", "knee_angle"} and value.startswith("["):
            value = value.replace('" ', f'"{number} ')
        value = value.replace('" cm"', f'"{number} cm"').replace('" mm"', f'"{number} mm"')
        value = value.replace('" deg"', f'"{number} deg"').replace('" kg"', f'"{number} kg"')
        word = {"date": "2026-05-17", **{kind: kind for kind in PART_KINDS}}.get(key, "words")
        value = value.replace('""', f'"{word}"')
        lines.append(f"{key} = {value}" if value else key)
    return "\n".join(lines)


@pytest.mark.parametrize("kind", TEMPLATES)
def test_fresh_templates_parse(kind: str) -> None:
    """A template is TOML as it is, and leads editors to its schema."""
    text = TEMPLATES[kind]
    assert tomli.loads(text)["schema"] == 1
    assert re.match(rf"#:schema \S*schema/{kind}\.json\n", text)


@pytest.mark.parametrize("kind", TEMPLATES)
def test_lines_are_short(kind: str) -> None:
    """Comments fit a narrow editor."""
    assert all(len(line) <= WIDTH for line in TEMPLATES[kind].split("\n"))


def test_filled_in_they_have_no_problems(tmp_path: Path) -> None:
    """Every key that a template offers is one that the reader takes, with its unit."""
    rider = filled(TEMPLATES["rider"]).replace('measured_on = "words"', 'measured_on = "heron"')
    ours = workspace(
        tmp_path,
        rider=rider,
        bike=filled(TEMPLATES["bike"]),
        shop=filled(TEMPLATES["tolerances"]),
        parts=FITTED,
    )
    assert [p.sentence() for p in ours.check() if p.level == ERROR] == []


def test_a_figure_left_empty_is_reported(tmp_path: Path) -> None:
    """A # taken off without a figure put in is a problem at each such line, never a value."""
    ours = workspace(tmp_path, bike=uncommented(TEMPLATES["bike"]))
    empty = [n for n, line in enumerate(uncommented(TEMPLATES["bike"]).split("\n"), 1)
             if re.search(r'= (\[?" (cm|mm|deg)"|"")', line)]  # fmt: skip
    bike, problems = ours.bike("heron")
    assert bike is None
    assert len(empty) > 90
    assert {p.line for p in problems} == set(empty)


def test_every_key_is_offered(tmp_path: Path) -> None:
    """No field of the model is missing from its template."""
    rider = tomli.loads(filled(TEMPLATES["rider"]))
    bike = tomli.loads(filled(TEMPLATES["bike"]))
    second = {other for _, other in ALTERNATIVES}
    assert rider["body"].keys() == {"sex", *BODY}
    assert rider["cockpit"]["road"].keys() == {f.name for f in fields(Cockpit)} - second
    assert rider["limits"].keys() == {f.name for f in fields(RiderLimits)}
    assert rider["tolerances"].keys() == TOLERANCES.keys()
    assert bike["heights"].keys() == set(POINTS)
    assert bike["ahead"].keys() == set(POINTS) - {"rear_axle"}
    assert bike["widths"].keys() == set(PAIR_POINTS)
    for table, cls in (
        ("steering", Steering),
        ("handlebar", Handlebar),
        ("hoses", Hoses),
        ("allows", Allows),
        ("fitted", Fitted),
        ("straddle", Straddle),
    ):
        assert bike[table].keys() == {f.name for f in fields(cls)}
    assert all(line.keys() == {f.name for f in fields(Hose)} for line in bike["hoses"].values())
    assert rider["standing"]["trail"].keys() == {f.name for f in fields(Standing)}
    assert bike["levers"]["clutch"].keys() == {f.name for f in fields(Lever)}
    top = {f.name for f in fields(Bike)} - {"key", "file", "obstacles"} | {"schema", "obstacle"}
    assert bike.keys() == top
    for second_key in second:
        assert re.search(rf"^#{second_key} = ", TEMPLATES["rider"], re.MULTILINE)


def test_the_quick_set_is_marked() -> None:
    """Each figure of the quick set carries its mark, and nothing else does."""
    assert TEMPLATES["bike"].count(f"  # {QUICK}") == len(QUICK_SET)


def test_tolerances_are_those_in_use() -> None:
    """The commented figures are the program's own."""
    data = tomli.loads(uncommented(TEMPLATES["tolerances"]))
    assert data["place"] == ""
    assert data["tolerances"] == TOLERANCES
    assert data["spreads"]["alone"] == {name: alone for name, (alone, _) in SPREADS.items()}
    assert data["spreads"]["helper"] == {name: helped for name, (_, helped) in SPREADS.items()}


def test_a_fresh_catalogue_is_empty(tmp_path: Path) -> None:
    """Every example is a comment; only the currency and the minutes to start from hold good."""
    catalogue, problems = workspace(tmp_path, parts=TEMPLATES["parts"]).catalogue()
    assert problems == ()
    assert catalogue == Catalogue(currency="EUR", file="shared/parts.toml")


def test_the_catalogue_s_examples_are_right(tmp_path: Path) -> None:
    """Uncommented, there is one part of each kind with every key, and the program's own minutes."""
    text = uncommented(TEMPLATES["parts"])
    data = tomli.loads(text)
    for kind, cls in PARTS.items():
        assert [part.keys() for part in data[kind]] == [{f.name for f in fields(cls)}]
    catalogue, problems = workspace(tmp_path, parts=text).catalogue()
    assert problems == ()
    assert catalogue is not None
    assert not catalogue.labour.guessed
    minutes = [getattr(catalogue.labour, one.name).value for one in fields(Labour)]
    assert minutes == [getattr(Labour(), one.name).value for one in fields(Labour)]
    assert catalogue.risers[0].height == Reading(20.0)
    assert catalogue.lever_sets[0].reach_range == (45.0, 75.0)
    assert "your own" in text.replace("\n# ", " ").partition("schema = 1")[0]
