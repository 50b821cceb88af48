"""The schemas, read by an independent validator, agree with the reader."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
import tomli
from hypothesis import given, settings
from jsonschema import Draft202012Validator  # type: ignore[import-untyped]

from fitprofile.errors import ERROR, has_errors
from fitprofile.model.quantity import NUMBER, Q
from fitprofile.store.folders import LOG_ENDING
from fitprofile.store.schema import figure, schema_files
from fitprofile.store.templates import bike_template, parts_template, tolerances_template
from fitprofile.store.workspace import Workspace
from tests.store.examples import ALL_PARTS, BIKE, RIDER, SHOP, mutations, workspace

SCHEMAS = {name: json.loads(text) for name, text in schema_files().items()}
VALID = {name: Draft202012Validator(schema) for name, schema in SCHEMAS.items()}

REPOSITORY = Path(__file__).parents[2]


def reader_takes(root: Path, kind: str, content: str | bytes) -> bool:
    """Whether the reader makes a value of a file."""
    if kind == "rider":
        return workspace(root, rider=content).rider("ida")[0] is not None
    if kind == "bike":
        return workspace(root, bike=content).bike("heron")[0] is not None
    if kind == "parts":
        return not has_errors(workspace(root, parts=content).catalogue()[1])
    return not has_errors(workspace(root, shop=content).shop()[1])


def schema_takes(kind: str, content: str) -> bool:
    """Whether the schema lets a file through, dates seen as text the way editors do."""
    data = json.loads(json.dumps(tomli.loads(content), default=str))
    return bool(VALID[kind].is_valid(data))


@pytest.mark.parametrize("kind", SCHEMAS)
def test_schemas_are_schemas(kind: str) -> None:
    """Each is a valid schema of draft 2020-12 that lets no unknown key through."""
    Draft202012Validator.check_schema(SCHEMAS[kind])
    assert SCHEMAS[kind]["additionalProperties"] is False


@pytest.mark.parametrize(
    ("kind", "content"),
    [
        ("rider", RIDER),
        ("bike", BIKE),
        ("tolerances", SHOP),
        ("tolerances", tolerances_template()),
        ("tolerances", "[spreads]\n"),
        ("parts", ALL_PARTS),
        ("parts", parts_template()),
        ("parts", "schema = 1\n"),
        ("bike", BIKE.replace("throttle = {", "throttle = {} #")),
        ("bike", BIKE.replace('keep = ["seat", "peg_plate"]', "keep = []")),
        ("rider", RIDER.replace("knee_angle = 84", "knee_angle = { left = 84, right = 88 }")),
        ("bike", BIKE.replace("[1010, 1012]", '"39 3/4 in"')),
        ("bike", BIKE.replace("mileage = 12400", 'mileage = "12,400 km"')),
        ("rider", RIDER.replace('"168 cm"', '"5\' 6½″"'.replace('"', "'''"))),
        ("rider", RIDER.replace('"168 cm"', '"5 ft 6 in"')),
    ],
)
def test_both_take_what_is_right(tmp_path: Path, kind: str, content: str) -> None:
    """Right files pass reader and schema."""
    assert reader_takes(tmp_path, kind, content)
    assert schema_takes(kind, content)


CHANGES = {
    "rider": [
        ("schema = 1", "schema = 2"),
        ("schema = 1", 'schema = "1"'),
        ("schema = 1", ""),
        ("name =", "nam ="),
        ('"Ida Invented"', '""'),
        ('"Ida Invented"', '"' + "x" * 81 + '"'),
        ('"helper"', '"both"'),
        ('"female"', "true"),
        ('"168 cm"', '"168"'),
        ('"168 cm"', '"168 kg"'),
        ('"168 cm"', '"cm"'),
        ('"168 cm"', '"1/0 in"'),
        ('"168 cm"', "168"),
        ('"168 cm"', "-1680"),
        ('"168 cm"', "20000"),
        ('"168 cm"', "true"),
        ('"168 cm"', "[]"),
        ('"168 cm"', "{}"),
        ('"168 cm"', '{ value = "168 cm", give_or_take = 0 }'),
        ('"168 cm"', '{ value = "168 cm", to = "top" }'),
        ('"168 cm"', "{ left = 1680, right = 1680 }"),
        ("stature =", "statur ="),
        ("lever_angle = 14", "forearm_angle = 14\nlever_angle = 14"),
        ("lever_angle = 14", ""),
        ("[88, 90]", '"88 cm"'),
        ('navel_to_bar = { value = "51.5 cm", give', 'navel_to_bar = { valu = "51.5 cm", give'),
        ('"ball"', '"heel"'),
        ('"heron"', '"../heron"'),
        ("lean = [5, 25]", "lean = [5]"),
        ("lean = [5, 25]", "lean = 5"),
        ("[cockpit.track]", '[cockpit."a b"]'),
        ("bar_width = 5", "bar_widht = 5"),
        ("bar_width = 5", "bar_width = 0"),
        ("grip_above_peg", "grip_above_pegs"),
        ("grip_ahead_of_peg = 320", ""),
        ("brake_pedal = -20", "brake_pedal = -200"),
        ("[standing.trail]", '[standing."a b"]'),
        ("{ left = 58, right", "{ left = 5, right"),
        ("{ left = 58, right", "{ right"),
        ("lean = 12", "lean = { left = 12, right = 12 }"),
    ],
    "bike": [
        ('"wheels"\ntape', '"side stand"\ntape'),
        ("25.5", "85"),
        ('"one-piece"', '"two-piece"'),
        ("pins = true", 'pins = "true"'),
        ("pins = true", "pins = 1"),
        ("peg = 480", "seat = 480"),
        ("{ left = 310, right = ", "{ left = 310, value = "),
        ("{ left = 310, right = ", "{ value = 310, right = "),
        ("clamp = [1010, 1012]", "clamp = { left = 1010, right = 1012 }"),
        ("clamp = [1010, 1012]", "clamp = -5"),
        ('seat = { value = "81 cm"', 'seat = { to = "top", value = "81 cm"'),
        ('to = "top" }\nclamp', 'to = "bottom" }\nclamp'),
        ('"seat-peg"', '"seat-pig"'),
        ('"seat-peg"', '"seat"'),
        ("[12, 13, 12]", '[12, "13 cm"]'),
        ("[55, 90]", "[55, 90, 95]"),
        ("pin = 4", "pin = 40"),
        ("offset = -100", ""),
        ("front_brake", "front_break"),
        ('[[obstacle]]\nname = "mirror stem"', '[obstacle]\nname = "mirror stem"'),
        ("mileage = 12400", "mileage = -1"),
        ("mileage = 12400", "mileage = true"),
        ("front_brake = 30", "front_brake = 3000"),
        ("height = 900, ahead", "ahead"),
        ("ahead = 950, offset = -40, ", ""),
        ('"yoke"', '"bar"'),
        ("give_or_take = 4 }", "spare = 4 }"),
        ('["seat", "peg_plate"]', '["seat", "pegs"]'),
        ('["seat", "peg_plate"]', '"seat"'),
        ('riser = "Riser 20"', 'risers = "Riser 20"'),
        ('riser = "Riser 20"', 'riser = ""'),
        ("sag = 25", "sag = -1"),
        ("cap_limit = 15", "cap_limit = 0"),
    ],
    "parts": [
        ("schema = 1", ""),
        ('"EUR"', '"a very long word for money"'),
        ('"EUR"', "3"),
        ("roll = 12", "rol = 12"),
        ("roll = 12", "roll = -12"),
        ("[[riser]]", "[[risers]]"),
        ('name = "Riser 20"', ""),
        ('name = "Riser 20"', 'name = ""'),
        ('height = "20 mm"', ""),
        ('height = "20 mm"', 'height = "20 deg"'),
        ("price = 45.5", "price = -1"),
        ("price = 45.5", 'price = "45"'),
        ("minutes = 30", "minutes = true"),
        ('fits = ["heron"]', 'fits = "heron"'),
        ('fits = ["heron"]', "fits = []"),
        ('fits = ["heron"]', 'fits = ["a b"]'),
        ("width = 780", "width = -780"),
        ("backsweep = 18", "backsweep = 95"),
        ('clamp_diameter = "28.6 mm"', ""),
        ("[45, 75]", "[45]"),
        ("[45, 75]", "[-45, 75]"),
        ('"brake"', '"front"'),
        ("length = 15", "length = 0"),
    ],
    "tolerances": [
        ('"1 cm"', '"1"'),
        ('"1 cm"', "0"),
        ("[spreads.alone]", "[spreads.two]"),
        ("rake = 1.2", "rack = 1.2"),
        ("weight = 1", 'weight = "1 cm"'),
        ("[tolerances]", "[tolerance]"),
        ("schema = 1", "schema = 2"),
    ],
}  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "old", "new"), [(kind, *change) for kind, made in CHANGES.items() for change in made]
)
def test_both_refuse_what_is_wrong(tmp_path: Path, kind: str, old: str, new: str) -> None:
    """One mistake in a right file is seen by reader and schema."""
    text = {"rider": RIDER, "bike": BIKE, "tolerances": SHOP, "parts": ALL_PARTS}[kind]
    assert old in text
    wrong = text.replace(old, new, 1)
    if new == '[obstacle]\nname = "mirror stem"':
        wrong = wrong[: wrong.index("[[obstacle]]")]
    assert not schema_takes(kind, wrong)
    assert not reader_takes(tmp_path, kind, wrong)


@pytest.mark.parametrize(("kind", "text"), [("rider", RIDER), ("bike", BIKE), ("parts", ALL_PARTS)])
def test_the_schema_is_never_the_stricter(
    tmp_path_factory: pytest.TempPathFactory, kind: str, text: str
) -> None:
    """Whatever the reader takes, editors do not mark."""
    shelf = tmp_path_factory.mktemp("shelf")

    @settings(max_examples=150)
    @given(content=mutations(text))
    def check(content: bytes) -> None:
        if reader_takes(shelf, kind, content):
            assert schema_takes(kind, content.decode("utf-8-sig"))

    check()


@pytest.mark.parametrize(
    ("kind", "pattern"),
    [
        ("rider", "profiles/*.toml"),
        ("bike", "bikes/*.toml"),
        ("tolerances", "shared/tol*.toml"),
        ("parts", "shared/parts.toml"),
    ],
)
def test_the_files_that_come_along_pass_both(kind: str, pattern: str) -> None:
    """The invented riders and bikes of this repository pass reader and schema."""
    ours = Workspace(REPOSITORY)
    assert [p.sentence() for p in ours.check() if p.level == ERROR] == []
    for path in REPOSITORY.glob(pattern):
        if not path.name.endswith(LOG_ENDING):
            assert schema_takes(kind, path.read_text("utf-8")), path.name


def test_a_plain_number_has_no_text() -> None:
    """A figure without a unit is a number in its range and nothing else."""
    schema = Draft202012Validator(figure(Q(NUMBER, 0.0, 1.0)))
    assert [schema.is_valid(raw) for raw in (0.5, 0, 2, "0.5", True)] == [1, 1, 0, 0, 0]


def test_an_outside_program_agrees(tmp_path: Path) -> None:
    """check-jsonschema, whose expressions are those of ECMAScript, passes right files only."""
    right, wrong = tmp_path / "right.toml", tmp_path / "wrong.toml"
    right.write_text(BIKE.replace("[1010, 1012]", '"39¾ in"'))
    wrong.write_text(BIKE.replace("[1010, 1012]", '"39¾ kg"'))
    schema = tmp_path / "bike.json"
    schema.write_text(schema_files()["bike"], encoding="utf-8")
    fresh = tmp_path / "fresh.toml"
    fresh.write_text(bike_template("Heron"), encoding="utf-8")

    def run(*files: Path) -> int:
        command = [sys.executable, "-m", "check_jsonschema", "--schemafile", str(schema)]
        ran = subprocess.run([*command, *map(str, files)], capture_output=True, check=False)
        return ran.returncode

    assert run(right, fresh) == 0
    assert run(wrong) == 1
