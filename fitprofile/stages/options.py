"""Stage 8e: which parts of the catalogue one bike takes, and what each would move.

Options stand in the order of their names, so that the order of the catalogue never decides.
The first option of a kind is always ``None``: what is on the bike stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import product
from typing import Any, NamedTuple, TypeVar

from attrs import evolve

from fitprofile.model.bike import CLIP_ON, Bike
from fitprofile.model.parts import (
    BRAKE,
    CLUTCH,
    WITHOUT,
    Bar,
    Catalogue,
    ClipOn,
    Extender,
    LeverSet,
    PegPlate,
    Riser,
    Seat,
    same_size,
)
from fitprofile.model.quantity import Band, Reading

COUNTED_FROM = ("riser", "extender", "peg_plate", "seat")
"""Kinds whose other parts are counted from the figures of the one that is fitted."""

Part = TypeVar("Part", Riser, Bar, Extender, ClipOn, PegPlate, Seat, LeverSet)
Counted = TypeVar("Counted", bound=Riser | PegPlate | Seat)


class Options(NamedTuple):
    """Parts that one bike takes, by kind; each begins with ``None``, what is on the bike.

    ``lever_sets`` are choices of sets, beginning with none: each alone, and each for the brake with
    each for the clutch.
    ``bars`` are combinations: riser, bar and extender that fit each other and the bike, or
    clip-ons and extender. ``moves`` of risers, plates and seats are against the bike as found.
    """

    risers: tuple[Riser | None, ...]
    bars: tuple[Bar | None, ...]
    extenders: tuple[Extender | None, ...]
    clip_ons: tuple[ClipOn | None, ...]
    peg_plates: tuple[PegPlate | None, ...]
    seats: tuple[Seat | None, ...]
    lever_sets: tuple[tuple[LeverSet, ...], ...]
    fitted_riser: Riser | None = None
    fitted_peg_plate: PegPlate | None = None
    fitted_seat: Seat | None = None


def options_of(bike: Bike, catalogue: Catalogue, *, tube_taped: bool) -> Options:
    """What of the catalogue one bike takes.

    Parameters
    ----------
    tube_taped : bool
        Whether the fork tube's place is known: without it no clip-on can be placed.
    """
    allows, fitted, one_piece = bike.allows, bike.fitted, bike.handlebar.kind != CLIP_ON
    riser = _named(catalogue.risers, fitted.riser)
    plate = _named(catalogue.peg_plates, fitted.peg_plate)
    seat = _named(catalogue.seats, fitted.seat)

    keep = kept_kinds(bike, catalogue)

    def offered(kind: str, parts: Iterable[Part], on_it: str | None) -> Iterator[Part]:
        if kind in keep:
            return iter(())
        return (
            part
            for part in sorted(parts, key=lambda one: one.name)
            if part.name != on_it and (not part.fits or bike.key in part.fits)
        )

    risers = (*offered("riser", catalogue.risers, fitted.riser), *_bare(bike, "riser", riser))
    plates = (
        *offered("peg_plate", catalogue.peg_plates, fitted.peg_plate),
        *_bare(bike, "peg_plate", plate),
    )
    seats = (*offered("seat", catalogue.seats, fitted.seat), *_bare(bike, "seat", seat))
    control = bike.handlebar.bar_diameter
    return Options(
        risers=(None, *(one for one in risers if one_piece and _riser_fits(bike, one, riser))),
        bars=(
            None,
            *(
                one
                for one in offered("bar", catalogue.bars, fitted.bar)
                if one_piece and _same(one.bar_diameter, control)
            ),
        ),
        extenders=(
            None,
            *(
                one
                for one in offered("extender", catalogue.extenders, fitted.extender)
                if _same(one.bar_diameter, control)
            ),
        ),
        clip_ons=(
            None,
            *(
                one
                for one in offered("clip_on", catalogue.clip_ons, fitted.clip_on)
                if not one_piece
                and tube_taped
                and _same(one.tube_diameter, bike.handlebar.tube_diameter)
                and _same(one.bar_diameter, control)
            ),
        ),
        peg_plates=(
            None,
            *(
                one
                for one in plates
                if _inside(peg_shift(one, plate)[0], allows.peg_ahead)
                and _inside(peg_shift(one, plate)[1], allows.peg_up)
            ),
        ),
        seats=(None, *(one for one in seats if _inside(seat_shift(one, seat)[1], allows.seat))),
        lever_sets=lever_choices(
            tuple(offered("lever_set", catalogue.lever_sets, fitted.lever_set))
        ),
        fitted_riser=riser,
        fitted_peg_plate=plate,
        fitted_seat=seat,
    )


def lever_choices(sets: Sequence[LeverSet]) -> tuple[tuple[LeverSet, ...], ...]:
    """No set, each alone, and each pair of one for the brake and one for the clutch alone."""
    brake, clutch = ([one for one in sets if one.side == side] for side in (BRAKE, CLUTCH))
    return ((), *((one,) for one in sets), *product(brake, clutch))


def kept_kinds(bike: Bike, catalogue: Catalogue) -> frozenset[str]:
    """Kinds of part that stay as they are: as the bike's file says, or because they have to.

    What another riser would move cannot be told where the one that is fitted is not listed.
    """
    lost = (
        kind
        for kind in COUNTED_FROM
        if (name := getattr(bike.fitted, kind)) is not None
        and all(part.name != name for part in catalogue.of(kind))
    )
    return frozenset((*bike.allows.keep, *lost))


def riser_shift(option: Riser | None, fitted: Riser | None) -> tuple[float, float]:
    """Move of the bar by a riser option, against as found: height, pullback; mm."""
    if option is None:
        return 0.0, 0.0
    height, back = (0.0, 0.0) if fitted is None else (fitted.height.value, fitted.pullback.value)
    return option.height.value - height, option.pullback.value - back


def peg_shift(option: PegPlate | None, fitted: PegPlate | None) -> tuple[float, float]:
    """Move of the pegs by a plate option, against as found: ahead, up; mm."""
    if option is None:
        return 0.0, 0.0
    x, z = (0.0, 0.0) if fitted is None else (fitted.x.value, fitted.z.value)
    return option.x.value - x, option.z.value - z


def seat_shift(option: Seat | None, fitted: Seat | None) -> tuple[float, float]:
    """Move of the sit point by a seat option, against as found: ahead, up; mm."""
    if option is None:
        return 0.0, 0.0
    x, z = (0.0, 0.0) if fitted is None else (fitted.x.value, fitted.z.value)
    return option.x.value - x, option.z.value - z


def bar_fits(bike: Bike, riser: Riser | None, bar: Bar | None, fitted: Riser | None) -> bool:
    """Whether a bar and a riser have one clamp diameter, as far as it is known."""
    own = bike.handlebar.clamp_diameter
    holds = riser if riser is not None else fitted
    clamp = own if holds is None or holds.clamp_diameter is None else holds.clamp_diameter
    return _same(own if bar is None else bar.clamp_diameter, clamp)


_ZERO = Reading(0.0)


def without(part: Counted) -> Counted:
    """What takes a part off, back to the maker's own: it moves nothing and costs its minutes."""
    figures: dict[str, Any] = {"x": _ZERO, "z": _ZERO}
    if isinstance(part, Riser):
        figures = {"height": _ZERO, "pullback": _ZERO, "clamp_diameter": None}
    return evolve(part, name=WITHOUT + part.name, price=_ZERO, fits=(), **figures)


def _bare(bike: Bike, kind: str, fitted: Counted | None) -> tuple[Counted, ...]:
    """The option that takes a fitted part off, where the bike's file does not keep it."""
    return () if fitted is None or kind in bike.allows.keep else (without(fitted),)


def _riser_fits(bike: Bike, riser: Riser, fitted: Riser | None) -> bool:
    """Whether the bike takes a riser: its bands of change, and a clamp for some bar."""
    height, back = riser_shift(riser, fitted)
    return _inside(height, bike.allows.riser) and _inside(back, bike.allows.pullback)


def _named(parts: Iterable[Part], name: str | None) -> Part | None:
    return None if name is None else next((part for part in parts if part.name == name), None)


def _inside(change: float, band: Band | None) -> bool:
    return band is None or band[0] <= change <= band[1]


def _same(one: Reading | None, other: Reading | None) -> bool:
    """Whether two diameters are one; an unknown one is left to the workshop's check."""
    return one is None or other is None or same_size(one, other)
