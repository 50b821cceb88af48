"""Parts that a log names as fitted: spelled as listed, and possible on the bike or named."""

from __future__ import annotations

import pytest
from attrs import evolve

from fitprofile.model.bike import Fitted
from fitprofile.model.parts import BRAKE, CLUTCH, Catalogue, LeverSet, Seat
from fitprofile.model.quantity import Reading
from fitprofile.store.fitted_names import as_listed, lost_fitted
from tests.store.test_crosscheck import bar, bike, clips, riser

HERON = evolve(bike(clamp=28.6), fitted=Fitted(riser="Riser 28.6 ()"))
SHELVES = Catalogue(
    risers=(riser(28.6), riser(31.75)),
    bars=(bar(28.6), bar(31.75)),
    seats=(Seat(name="Tall", z=Reading(20.0), fits=("owl",)),),
    lever_sets=(
        LeverSet(name="Front", reach_range=(45.0, 60.0), side=BRAKE),
        LeverSet(name="Left", reach_range=(45.0, 60.0), side=CLUTCH),
        LeverSet(name="Pair", reach_range=(45.0, 60.0)),
    ),
    clip_ons=(clips(50.0),),
    left_out=("Packer (line 7)",),
)
THIN, FAT = "Riser 28.6 ()", "Riser 31.75 ()"


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (("Attic",), "there is no part 'Attic' in shared/parts.toml: list it there"),
        (("Riser 28.6",), f"did you mean '{THIN}'?"),
        (("Clip-ons",), "is for a clip-on bar and handlebar.kind of heron is one-piece"),
        (("Packer",), "'Packer' is listed and left out until it is mended (line 7)"),
        (("Tall",), "'Tall' fits owl alone: add heron to its fits, or mend the name"),
        (
            ("Bar 31.75 None",),
            "31.75 mm and handlebar.clamp_diameter of heron is 28.6",
        ),
        (("Front", "Pair"), "'Front' and 'Pair' cannot both be on the bike: name the one that is"),
        ((f"without {FAT}",), f"'{FAT}' was never on heron, so it cannot have come off"),
    ],
)
def test_a_part_that_cannot_be_on_the_bike_is_said(names: tuple[str, ...], words: str) -> None:
    """One sentence each, with what to mend."""
    (said,) = lost_fitted(names, HERON, SHELVES)
    assert words in said


@pytest.mark.parametrize(
    "names",
    [
        (THIN, "Bar 28.6 None"),
        (FAT, "Bar 31.75 None"),  # a riser for the fat bar, the bar for that riser
        ("Front", "Left"),
        (f"without {THIN}",),  # in the file's [fitted]
        ("without Pair",),  # fitted earlier
        (),
    ],
)
def test_what_can_be_on_the_bike_is_not_questioned(names: tuple[str, ...]) -> None:
    """Parts that go with each other, sides that are two, and what was on it before."""
    assert not list(lost_fitted(names, HERON, SHELVES, ("Pair",)))


def test_a_bike_that_cannot_be_read_is_asked_nothing() -> None:
    """Only the names are looked up."""
    assert not list(lost_fitted(("Clip-ons", "Tall"), None, SHELVES))


def test_names_are_found_whatever_their_capitals() -> None:
    """What is not listed stays as it was typed."""
    assert as_listed("CLIP-ons", SHELVES) == "Clip-ons"
    assert as_listed("Without clip-ons", SHELVES) == "without Clip-ons"
    assert as_listed("Attic", SHELVES) == "Attic"
