"""Which parts of a catalogue one bike takes, and what each would move from as found."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.model.bike import CLIP_ON, PART_KINDS, Allows, Bike, Fitted, Handlebar
from fitprofile.model.parts import (
    WITHOUT,
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
from fitprofile.stages.options import (
    Options,
    bar_fits,
    options_of,
    peg_shift,
    riser_shift,
    seat_shift,
)
from tests.strategies import catalogues

R = Reading
KINDS = ("risers", "bars", "extenders", "clip_ons", "peg_plates", "seats", "lever_sets")

LOW = Riser(name="Low", height=R(10.0), pullback=R(5.0), price=R(20.0), minutes=R(40.0))
HIGH = Riser(name="High", height=R(30.0), pullback=R(20.0), clamp_diameter=R(28.6))
THIN = Bar(
    name="Thin", width=R(720.0), rise=R(50.0), pullback=R(80.0), backsweep=R(12.0),
    clamp_diameter=R(22.2),
)  # fmt: skip
THICK = evolve(THIN, name="Thick", clamp_diameter=R(28.6), bar_diameter=R(22.2))


def bike(**more: Any) -> Bike:
    return Bike(key="heron", file="bikes/heron.toml", name="Heron", **more)


def offered(one: Bike, shop: Catalogue, *, tube: bool = False) -> Options:
    return options_of(one, shop, tube_taped=tube)


def names(parts: tuple[Any, ...]) -> list[str | None]:
    return [None if part is None else part.name for part in parts]


def _singly(options: tuple[Any, ...]) -> list[Any]:
    """Each part of each option; levers are offered in groups."""
    return [part for one in options for part in (one if isinstance(one, tuple) else (one,))]


@given(shop=catalogues(), data=st.data())
def test_the_order_of_the_catalogue_does_not_matter(shop: Catalogue, data: st.DataObject) -> None:
    """Every kind shuffled gives the very same options, what is on the bike first."""
    shuffled: dict[str, Any] = {
        kind: tuple(data.draw(st.permutations(getattr(shop, kind)))) for kind in KINDS
    }
    mixed = evolve(shop, **shuffled)
    for one in (bike(), bike(handlebar=Handlebar(kind=CLIP_ON))):
        assert offered(one, shop, tube=True) == offered(one, mixed, tube=True)
        for kind in KINDS:
            first = getattr(offered(one, shop, tube=True), kind)[0]
            assert first == (() if kind == "lever_sets" else None)


@given(shop=catalogues(), kept=st.sets(st.sampled_from(PART_KINDS)))
def test_what_is_kept_has_no_option(shop: Catalogue, kept: set[str]) -> None:
    one = bike(allows=Allows(keep=tuple(sorted(kept))))
    found = offered(one, shop)
    for kind in kept:
        assert getattr(found, f"{kind}s") == (((),) if kind == "lever_set" else (None,))


@given(shop=catalogues())
def test_a_part_for_named_bikes_fits_no_other(shop: Catalogue) -> None:
    """Every part offered names this bike or none."""
    found = offered(bike(), shop, tube=True)
    for kind in KINDS:
        for part in _singly(getattr(found, kind)[1:]):
            assert not part.fits or "heron" in part.fits


def test_a_one_piece_bar_takes_risers_and_bars_and_clip_ons_take_neither() -> None:
    clip = ClipOn(name="Clip", offset=R(10.0))
    shop = Catalogue(risers=(LOW,), bars=(THIN,), clip_ons=(clip,))
    upright = offered(bike(), shop, tube=True)
    assert (names(upright.risers), names(upright.bars)) == ([None, "Low"], [None, "Thin"])
    assert names(upright.clip_ons) == [None]
    sport = bike(handlebar=Handlebar(kind=CLIP_ON))
    low = offered(sport, shop, tube=True)
    assert (names(low.risers), names(low.bars)) == ([None], [None])
    assert names(low.clip_ons) == [None, "Clip"]
    assert names(offered(sport, shop, tube=False).clip_ons) == [None]


def test_clip_ons_go_by_the_diameter_of_the_fork_tube_where_both_are_known() -> None:
    sizes = (50.0, 50.3, 50.4, 53.0)
    clips = tuple(ClipOn(name=f"{size:g}", offset=R(0.0), tube_diameter=R(size)) for size in sizes)
    shop = Catalogue(clip_ons=(*clips, ClipOn(name="any", offset=R(0.0))))
    known = bike(handlebar=Handlebar(kind=CLIP_ON, tube_diameter=R(50.0)))
    assert names(offered(known, shop, tube=True).clip_ons) == [None, "50", "50.3", "any"]
    unknown = bike(handlebar=Handlebar(kind=CLIP_ON))
    assert len(offered(unknown, shop, tube=True).clip_ons) == 6


def test_the_controls_go_by_the_diameter_of_the_bar_in_their_zone() -> None:
    """A 22.2 bar keeps 22.2 controls; 7/8 inch is the same size."""
    ends = tuple(
        Extender(name=f"{size:g}", length=R(10.0), bar_diameter=R(size)) for size in (22.225, 25.4)
    )
    one = bike(handlebar=Handlebar(bar_diameter=R(22.2)))
    assert names(offered(one, Catalogue(extenders=ends)).extenders) == [None, "22.225"]
    bars = (THICK, evolve(THICK, name="Fat", bar_diameter=R(25.4)))
    assert names(offered(one, Catalogue(bars=bars)).bars) == [None, "Thick"]


def test_bars_fit_the_clamp_of_the_bike_or_of_the_riser() -> None:
    """A riser without a clamp of its own carries the bike's; a fitted one's stays while it does."""
    thin_bike = bike(handlebar=Handlebar(clamp_diameter=R(22.2)))
    assert bar_fits(thin_bike, None, THIN, None)
    assert not bar_fits(thin_bike, None, THICK, None)
    assert bar_fits(thin_bike, HIGH, THICK, None)
    assert not bar_fits(thin_bike, HIGH, THIN, None)
    assert bar_fits(thin_bike, LOW, THIN, None)
    assert not bar_fits(thin_bike, HIGH, None, None)
    assert bar_fits(thin_bike, None, THICK, HIGH)
    assert bar_fits(bike(), None, THIN, None)


def test_risers_stay_inside_the_bike_s_band_of_change() -> None:
    """With a 10 mm riser on, a 30 mm one raises by 20 only."""
    shop = Catalogue(risers=(LOW, HIGH))
    assert names(offered(bike(allows=Allows(riser=(0.0, 20.0))), shop).risers) == [None, "Low"]
    on = bike(allows=Allows(riser=(-10.0, 20.0)), fitted=Fitted(riser="Low"))
    assert names(offered(on, shop).risers) == [None, "High", WITHOUT + "Low"]
    assert names(offered(bike(allows=Allows(pullback=(0.0, 10.0))), shop).risers) == [None, "Low"]


def test_a_fitted_riser_is_replaced_not_stacked() -> None:
    """From 10 up 5 back to 30 up 20 back is 20 up and 15 back; off it is 10 down and 5 forward."""
    found = offered(bike(fitted=Fitted(riser="Low")), Catalogue(risers=(LOW, HIGH)))
    assert found.fitted_riser == LOW
    shifts = {one.name: riser_shift(one, found.fitted_riser) for one in found.risers[1:] if one}
    assert shifts == {"High": (20.0, 15.0), WITHOUT + "Low": (-10.0, -5.0)}
    bare = found.risers[-1]
    assert bare is not None
    assert (bare.price.value, bare.minutes.value) == (0.0, 40.0)
    assert riser_shift(None, LOW) == (0.0, 0.0)


def test_fitted_plates_and_seat_are_replaced_not_stacked() -> None:
    plates = tuple(PegPlate(name=n, x=R(x), z=R(z)) for n, x, z in (("A", 10, -5), ("B", 20, -20)))
    seats = (Seat(name="Low", z=R(-20.0)), Seat(name="High", z=R(25.0), x=R(10.0)))
    one = bike(fitted=Fitted(peg_plate="A", seat="Low"))
    found = offered(one, Catalogue(peg_plates=plates, seats=seats))
    assert names(found.peg_plates) == [None, "B", WITHOUT + "A"]
    assert [peg_shift(part, found.fitted_peg_plate) for part in found.peg_plates] == [
        (0.0, 0.0),
        (10.0, -15.0),
        (-10.0, 5.0),
    ]
    assert names(found.seats) == [None, "High", WITHOUT + "Low"]
    assert [seat_shift(part, found.fitted_seat) for part in found.seats] == [
        (0.0, 0.0),
        (10.0, 45.0),
        (0.0, 20.0),
    ]


@pytest.mark.parametrize(
    ("allows", "left"),
    [
        (Allows(peg_ahead=(-5.0, 15.0)), ["A"]),
        (Allows(peg_up=(-10.0, 0.0)), ["A"]),
        (Allows(peg_up=(-30.0, 0.0)), ["A", "B"]),
        (Allows(), ["A", "B"]),
    ],
)
def test_peg_plates_stay_inside_the_bike_s_bands(allows: Allows, left: list[str]) -> None:
    plates = tuple(PegPlate(name=n, x=R(x), z=R(z)) for n, x, z in (("A", 10, -5), ("B", 20, -20)))
    found = offered(bike(allows=allows), Catalogue(peg_plates=plates))
    assert names(found.peg_plates) == [None, *left]


def test_what_is_fitted_but_kept_is_not_taken_off() -> None:
    one = bike(fitted=Fitted(riser="Low"), allows=Allows(keep=("riser",)))
    found = offered(one, Catalogue(risers=(LOW, HIGH)))
    assert found.risers == (None,)
    assert found.fitted_riser == LOW


def test_a_fitted_part_that_the_catalogue_lacks_stays() -> None:
    """Its figures are unknown, so it can be neither replaced by a difference nor taken off."""
    shop = Catalogue(
        risers=(LOW,), peg_plates=(PegPlate(name="A", x=R(0.0), z=R(-5.0)),), bars=(THIN,),
        seats=(Seat(name="High", z=R(25.0)),), extenders=(Extender(name="Ends", length=R(9.0)),),
    )  # fmt: skip
    gone = dict.fromkeys(("riser", "peg_plate", "seat", "extender", "bar"), "Gone")
    found = offered(bike(fitted=Fitted(**gone)), shop)
    assert found.fitted_riser is None
    assert (found.risers, found.peg_plates, found.seats, found.extenders) == ((None,),) * 4
    assert names(found.bars) == [None, "Thin"]
    assert names(offered(bike(fitted=Fitted(riser="Low")), shop).seats) == [None, "High"]


def test_lever_sets_are_offered_alone_and_brake_with_clutch() -> None:
    """In the order of their names; never two levers for one side, never the one that is fitted."""
    sides = (("D", "brake"), ("A", "clutch"), ("C", "both"), ("B", "brake"), ("E", "clutch"))
    shop = Catalogue(
        lever_sets=tuple(LeverSet(name=n, side=s, reach_range=(50.0, 70.0)) for n, s in sides)
    )
    found = offered(bike(), shop).lever_sets
    assert ["".join(one.name for one in sets) for sets in found] == [
        "", "A", "B", "C", "D", "E", "BA", "BE", "DA", "DE",
    ]  # fmt: skip
    on = offered(bike(fitted=Fitted(lever_set="B")), shop).lever_sets
    assert all("B" not in {one.name for one in sets} for sets in on)
