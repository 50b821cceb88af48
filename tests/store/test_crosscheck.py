"""Catalogue against bikes: fitted parts that are not listed, listed parts that fit nothing."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve
from hypothesis import given

from fitprofile.model.bike import Allows, Bike, Fitted, Handlebar, Lever, Levers
from fitprofile.model.parts import (
    Bar,
    Catalogue,
    ClipOn,
    Extender,
    LeverSet,
    PegPlate,
    Riser,
    Seat,
)
from fitprofile.model.quantity import Reading
from fitprofile.store.crosscheck import idle_parts, lost_parts, odd_parts
from tests.strategies import catalogues

MM = Reading


def bike(kind: str = "one-piece", **diameters: float) -> Bike:
    """A bike with the diameters that are given."""
    sizes: dict[str, Any] = {f"{name}_diameter": MM(value) for name, value in diameters.items()}
    handlebar = evolve(Handlebar(kind=kind), **sizes)
    return Bike(key="heron", file="bikes/heron.toml", name="Heron", handlebar=handlebar)


def riser(clamp: float | None = None, *fits: str) -> Riser:
    size = None if clamp is None else Reading(clamp)
    return Riser(name=f"Riser {clamp} {fits}", height=MM(20.0), clamp_diameter=size, fits=fits)


def bar(clamp: float, under: float | None = None, *fits: str) -> Bar:
    return Bar(
        name=f"Bar {clamp} {under}",
        width=MM(780.0),
        rise=MM(60.0),
        pullback=MM(90.0),
        backsweep=MM(18.0),
        clamp_diameter=MM(clamp),
        bar_diameter=None if under is None else MM(under),
        fits=fits,
    )


def clips(tube: float | None = None) -> ClipOn:
    size = None if tube is None else Reading(tube)
    return ClipOn(name="Clip-ons", offset=MM(30.0), tube_diameter=size)


def said(catalogue: Catalogue, **bikes: Bike | None) -> list[tuple[str, str]]:
    """Dotted path and sentence."""
    return [(".".join(map(str, path)), text) for path, text in idle_parts(catalogue, bikes)]


FAT = bike(clamp=28.6, bar=22.2)
THIN = bike(clamp=22.2, bar=22.2)
CLIPS = bike("clip-on", tube=50.0, bar=22.2)
UNKNOWN = bike()


def test_a_bar_of_the_wrong_clamp_fits_no_bike() -> None:
    """The sentence names its size and those that are there."""
    ours = Catalogue(bars=(bar(31.8), bar(28.6)))
    told = "fits no bike here: 31.8 mm where 22.2 or 28.6 mm is there"
    assert said(ours, heron=FAT, wren=THIN) == [("bar.0.clamp_diameter", told)]


def test_a_riser_with_another_clamp_brings_the_bar_in() -> None:
    """Riser and bar of a size that no bike has fit together; a riser for another bike does not."""
    assert said(Catalogue(bars=(bar(31.8),), risers=(riser(31.8),)), heron=FAT) == []
    apart = Catalogue(bars=(bar(31.8, None, "heron"),), risers=(riser(31.8, "wren"),))
    assert [key for key, _ in said(apart, heron=FAT, wren=THIN)] == [
        "riser.0.clamp_diameter",
        "bar.0.clamp_diameter",
    ]


def test_a_riser_without_its_bar_fits_no_bike() -> None:
    """One that takes the bike's own bar fits any; one of another size needs a bar of that size."""
    told = "fits no bike here: 31.8 mm where 28.6 mm is there"
    assert said(Catalogue(risers=(riser(31.8), riser())), heron=FAT) == [
        ("riser.0.clamp_diameter", told)
    ]


def test_sizes_within_the_play_are_one_size() -> None:
    """7/8 in is 22.2 mm."""
    assert said(Catalogue(bars=(bar(22.225, 22.4),)), heron=THIN) == []
    assert len(said(Catalogue(bars=(bar(22.6),)), heron=THIN)) == 1


def test_the_controls_zone_has_to_match() -> None:
    """A bar of another diameter under the levers takes neither levers nor grips."""
    assert said(Catalogue(bars=(bar(28.6, 25.4),)), heron=FAT) == [
        ("bar.0.bar_diameter", "fits no bike here: 25.4 mm where 22.2 mm is there")
    ]


def test_extenders_go_on_a_bike_s_bar_or_one_of_the_catalogue() -> None:
    """By the diameter of the controls' zone."""
    ends = Extender(name="Ends", length=MM(15.0), bar_diameter=MM(25.4))
    assert [key for key, _ in said(Catalogue(extenders=(ends,)), heron=FAT)] == [
        "extender.0.bar_diameter"
    ]
    assert said(Catalogue(extenders=(ends,), bars=(bar(28.6, 25.4),)), heron=FAT)[0][0] == (
        "bar.0.bar_diameter"
    )


def test_clip_ons_are_for_tubes_and_bars_for_clamps() -> None:
    """A kind of bar that no bike has, and a tube of another size."""
    ours = Catalogue(bars=(bar(28.6),), clip_ons=(clips(50.0),))
    assert said(ours, heron=FAT) == [
        ("clip_on.0.name", "fits no bike here: every bike here has a one-piece bar")
    ]
    assert said(ours, heron=CLIPS) == [
        ("bar.0.name", "fits no bike here: every bike here has a clip-on bar")
    ]
    assert said(ours, heron=FAT, wren=CLIPS) == []
    assert said(Catalogue(clip_ons=(clips(41.0),)), heron=CLIPS) == [
        ("clip_on.0.tube_diameter", "fits no bike here: 41 mm where 50 mm is there")
    ]
    named = Catalogue(bars=(bar(28.6, None, "wren"),))
    assert said(named, heron=FAT, wren=CLIPS) == [
        ("bar.0.fits", "fits no bike here: every bike named has a clip-on bar")
    ]


@pytest.mark.parametrize("unknown", [UNKNOWN, None])
def test_nothing_is_said_of_diameters_that_nobody_measured(unknown: Bike | None) -> None:
    """One bike without the figure, or with a file that cannot be read, may take the part."""
    ours = Catalogue(
        risers=(riser(31.8),), bars=(bar(35.0, 25.4),), clip_ons=() if unknown else (clips(),)
    )
    assert said(ours, heron=FAT, wren=unknown) == []


def test_bikes_of_a_list_that_are_not_there() -> None:
    """Each is named with the nearest; where none is there the part is said to fit nothing."""
    seat = Seat(name="Seat", z=MM(20.0), fits=("heron", "wrn", "zebra"))
    plates = PegPlate(name="Plates", x=MM(0.0), z=MM(20.0), fits=("zebra",))
    ours = Catalogue(peg_plates=(plates,), seats=(seat,))
    gone = "there is no bike 'zebra' here: take it out of the list"
    assert said(ours, heron=FAT, wren=THIN) == [
        ("peg_plate.0.fits.0", gone),
        ("peg_plate.0.fits", "fits no bike here: none of those named is there"),
        ("seat.0.fits.1", "there is no bike 'wrn', did you mean 'wren'?"),
        ("seat.0.fits.2", gone),
    ]


def test_no_bikes_nothing_to_say() -> None:
    """A workspace without bikes cannot tell what fits."""
    assert said(Catalogue(bars=(bar(31.8),), risers=(riser(31.8, "gone"),))) == []


def test_fitted_parts_are_found_by_kind_and_name() -> None:
    """A name of another kind says which; a near one is offered; the rest is to be listed."""
    levers = LeverSet(name="Short levers", reach_range=(45.0, 75.0))
    ours = Catalogue(seats=(Seat(name="High seat", z=MM(20.0)),), lever_sets=(levers,))
    fitted = Fitted(seat="High seat", lever_set="Shrt levers", riser="High seat", bar="Wide bar")
    found = lost_parts(Bike(key="x", file="bikes/x.toml", name="X", fitted=fitted), ours)
    assert list(found) == [
        (
            ("fitted", "riser"),
            "'High seat' is listed as [[seat]], not as [[riser]]: move it to seat",
        ),
        (
            ("fitted", "bar"),
            "there is no bar 'Wide bar' in the catalogue: list it in shared/parts.toml",
        ),
        (
            ("fitted", "lever_set"),
            "there is no lever_set 'Shrt levers' in the catalogue, did you mean 'Short levers'?",
        ),
    ]


MENDED = "mend the one that is wrong"
ON_FAT = evolve(FAT, allows=Allows(riser=(-10.0, 20.0), bar_width=(700.0, 820.0)))
"""A bike with a fat bar, and with bands."""

LISTED = Catalogue(
    risers=(
        evolve(riser(22.2), name="thin"),
        evolve(riser(28.6), name="fat"),
        evolve(riser(28.6, "wren"), name="far"),
    ),
    bars=(
        evolve(bar(28.6), name="wide"),
        evolve(bar(22.2), name="thin bar", bar_diameter=MM(25.4)),
        evolve(bar(28.6), name="short", width=MM(650.0)),
    ),
    extenders=(Extender(name="ends", length=MM(10.0), bar_diameter=MM(25.4)),),
    clip_ons=(ClipOn(name="clips", offset=MM(30.0), tube_diameter=MM(43.0)),),
    peg_plates=(PegPlate(name="plates", x=MM(0.0), z=MM(10.0)),),
    lever_sets=(
        LeverSet(name="short", reach_range=(48.0, 60.0)),
        LeverSet(name="one", reach_range=(48.0, 60.0), side="clutch"),
    ),
)


def odd(bike: Bike, **fitted: str) -> list[tuple[str, str]]:
    """Key and sentence of each fitted part that cannot be on a bike."""
    found = odd_parts(evolve(bike, fitted=Fitted(**fitted)), LISTED)
    return [(str(path[1]), text) for path, text in found]


def test_a_fitted_part_of_another_diameter_is_questioned() -> None:
    """Clamp, controls and fork tube; one of the same size is not, nor one of an unknown size."""
    told = "'thin' has a clamp_diameter of 22.2 mm and handlebar.clamp_diameter is 28.6 mm"
    assert odd(ON_FAT, riser="thin") == [("riser", f"{told}: {MENDED}")]
    assert odd(ON_FAT, riser="fat", bar="wide", peg_plate="plates", lever_set="short") == []
    both = odd(ON_FAT, bar="thin bar", extender="ends")
    assert [(kind, text.partition(" mm and ")[2].partition(" is ")[0]) for kind, text in both] == [
        ("bar", "handlebar.clamp_diameter"),
        ("bar", "handlebar.bar_diameter"),
        ("extender", "handlebar.bar_diameter"),
    ]
    told = "'clips' has a tube_diameter of 43 mm and handlebar.tube_diameter is 50 mm"
    assert odd(CLIPS, clip_on="clips") == [("clip_on", f"{told}: {MENDED}")]
    bare = evolve(ON_FAT, handlebar=Handlebar())
    assert odd(bare, riser="thin", bar="thin bar", extender="ends") == []


def test_a_fitted_part_for_another_bar_or_bike_is_questioned() -> None:
    """A riser on clip-ons, clip-ons on a bar, a part whose list of bikes leaves this one out."""
    wrong = f"'fat' is for a one-piece bar and handlebar.kind is clip-on: {MENDED}"
    assert odd(CLIPS, riser="fat") == [("riser", wrong)]
    [(_, told)] = odd(ON_FAT, clip_on="clips")
    assert "is for a clip-on bar and handlebar.kind is one-piece" in told
    assert odd(ON_FAT, riser="far") == [
        ("riser", f"'far' fits wren alone: add {ON_FAT.key} to its fits, or mend the name")
    ]


def test_a_fitted_part_that_the_bike_s_own_figures_refuse_is_questioned() -> None:
    """A band that leaves out no change, a bar narrower than its tape, a reach beyond the levers."""
    band = evolve(ON_FAT, allows=Allows(riser=(5.0, 20.0), peg_up=(-30.0, -10.0)))
    found = odd(band, riser="fat", peg_plate="plates")
    assert [kind for kind, text in found if "let the band hold 0" in text] == ["riser", "peg_plate"]
    short = f"'short' is 650 mm wide and allows.bar_width is 700 to 820 mm: {MENDED}"
    assert odd(ON_FAT, bar="short") == [("bar", short)]
    taped = evolve(ON_FAT, widths={"grip_end": MM(760.0)})
    told = f"'short' is 650 mm wide and widths.grip_end is 760 mm: {MENDED}"
    assert odd(taped, bar="short") == [("bar", told)]
    cut = evolve(taped, widths={"grip_end": MM(700.0)}, allows=Allows(bar_width=(600.0, 720.0)))
    assert odd(cut, bar="wide") == []
    assert odd(evolve(cut, widths={"grip_end": MM(658.0)}), bar="short") == []
    wide = f"'wide' is 780 mm wide and allows.bar_width is 600 to 720 mm: {MENDED}"
    assert odd(evolve(cut, widths={}), bar="wide") == [("bar", wide)]
    assert odd(evolve(cut, widths={"grip_end": MM(781.0)}), bar="wide") == [("bar", wide)]
    levers = Levers(brake=Lever(reach=MM(80.0)), clutch=Lever(reach_range=(55.0, 80.0)))
    reach = evolve(ON_FAT, levers=levers)
    assert odd(reach, lever_set="short") == [
        ("lever_set", f"'short' reaches 48 to 60 mm and levers.brake.reach is 80 mm: {MENDED}"),
        (
            "lever_set",
            f"'short' reaches 48 to 60 mm and levers.clutch.reach_range is 55 to 80 mm: {MENDED}",
        ),
    ]
    assert [text.split("levers.")[1][:6] for _, text in odd(reach, lever_set="one")] == ["clutch"]


def test_a_part_that_is_left_out_may_be_what_another_goes_with() -> None:
    """So nothing is said of the other's clamp; of a size that only the bike has it still is."""
    ours = Catalogue(bars=(bar(31.8, 25.4),))
    assert [path for path, _ in said(ours, heron=FAT)] == [
        "bar.0.clamp_diameter",
        "bar.0.bar_diameter",
    ]
    ours = evolve(ours, left_out=("A riser (line 3)",))
    assert [path for path, _ in said(ours, heron=FAT)] == ["bar.0.bar_diameter"]


@given(catalogues())
def test_any_catalogue_can_be_judged(ours: Catalogue) -> None:
    """Every path leads to a part that is there, and is said once."""
    found = list(idle_parts(ours, {"heron": FAT, "wren": CLIPS, "owl": THIN}))
    assert len({path for path, _ in found}) == len(found)
    for (kind, index, key, *_), _text in found:
        assert hasattr(ours.of(str(kind))[int(index)], str(key))
