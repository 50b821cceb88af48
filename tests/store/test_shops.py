"""The shop's file: its own figures on top of those to start from."""

from __future__ import annotations

import pytest

from fitprofile.model.shop import SPREADS, TOLERANCES, Shop
from fitprofile.store.mistakes import Mistakes
from fitprofile.store.shops import read_shop, read_tolerances, spread_range
from fitprofile.store.toml import Document, parse_document
from fitprofile.units import ANGLE, LENGTH, MASS


def document(text: str) -> Document:
    """A shop's file that is TOML."""
    made, problems = parse_document(text.encode(), "shared/tolerances.toml")
    assert made is not None, problems
    return made


def test_parts_of_the_table() -> None:
    """What is written counts, for the rest the figures to start from do."""
    shop = read_shop(
        document('[tolerances]\nbar_width = "1/2 in"\n[spreads.helper]\nrake = 0.5\nweight = 2\n')
    )
    assert shop.tolerances == {**TOLERANCES, "bar_width": 12.7}
    rake, weight = SPREADS["rake"][0], SPREADS["weight"][0]
    assert shop.spreads == {**SPREADS, "rake": (rake, 0.5), "weight": (weight, 2.0)}
    assert shop.place is None
    assert read_shop(document('place = " a town "')).place == "a town"
    assert read_shop(document("# nothing\n")) == Shop(file="shared/tolerances.toml")


@pytest.mark.parametrize(
    ("text", "path", "said"),
    [
        ("[tolerance]", ("tolerance",), "did you mean 'tolerances'?"),
        ("[tolerances]\nlean = 3", ("tolerances", "lean"), "unknown tolerance 'lean'"),
        ("[tolerances]\nbar_width = 0", ("tolerances", "bar_width"), "outside 0.1 to 300 mm"),
        ("[tolerances]\nbar_width = -1", ("tolerances", "bar_width"), "negative"),
        ("[tolerances]\ngrip_tilt = '4 mm'", ("tolerances", "grip_tilt"), "is a length"),
        ("[tolerances]\ngrip_tilt = [4]", ("tolerances", "grip_tilt"), "a list"),
        ("[spreads]\nrake = 1", ("spreads", "rake"), "unknown column 'rake'"),
        ("[spreads.alone]\nrak = 1", ("spreads", "alone", "rak"), "did you mean 'rake'?"),
        ("place = 3", ("place",), "not text: write it in quotes"),
        ("place = ''", ("place",), "empty"),
        ("plce = 'x'", ("plce",), "did you mean 'place'?"),
        ("spreads = 1", ("spreads",), "a table of keys is wanted"),
        ("spreads.alone = 1", ("spreads", "alone"), "a table of keys is wanted"),
    ],
)
def test_one_mistake(text: str, path: tuple[str, ...], said: str) -> None:
    """Each mistake is said at its key."""
    with pytest.raises(Mistakes) as caught:
        read_shop(document(text))
    [(found, told)] = caught.value.found
    assert found == path
    assert said in told


def test_every_figure_to_start_from_lies_in_its_range() -> None:
    """Kind and range of each name take the program's own figure."""
    assert read_tolerances(dict(TOLERANCES)) == TOLERANCES
    for name, pair in SPREADS.items():
        q = spread_range(name)
        assert all(q.low <= value <= q.high for value in pair)


@pytest.mark.parametrize(
    ("name", "kind"),
    [("bar_width", LENGTH), ("rake", ANGLE), ("resit_angle", ANGLE), ("resit_length", LENGTH),
     ("weight", MASS), ("lean", ANGLE), ("hose", LENGTH), ("lever_reach", LENGTH),
     ("lever_angle", ANGLE), ("stature", LENGTH), ("girth", LENGTH)],
)  # fmt: skip
def test_kinds(name: str, kind: str) -> None:
    """Angles are degrees, the weight kilograms, everything else millimetres."""
    assert spread_range(name).kind == kind
