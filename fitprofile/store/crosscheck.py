"""What the catalogue and the bikes of a workspace say about each other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from attrs import asdict

from fitprofile.model.bike import KINDS, PART_KINDS, Bike, Lever
from fitprofile.model.parts import (
    BOTH,
    BRAKE,
    CLUTCH,
    MADE_FOR,
    Bar,
    Catalogue,
    LeverSet,
    Part,
    made_for,
    same_size,
)
from fitprofile.model.quantity import Band, Reading
from fitprofile.store.mistakes import MOST_LISTED, Found, listed, nearest
from fitprofile.store.toml import visible
from fitprofile.store.words import LONGEST_NAME

DIAMETERS = ("clamp_diameter", "tube_diameter", "bar_diameter")
"""Figures of a part that have to be those of the bike, where the part has them."""

PARTNERS: Mapping[tuple[str, str], str] = {
    ("riser", "clamp_diameter"): "bar",
    ("bar", "clamp_diameter"): "riser",
    ("extender", "bar_diameter"): "bar",
}
"""Kinds of part that a part goes with in place of what the bike has, by kind and diameter."""


BANDS: Mapping[str, tuple[str, ...]] = {
    "riser": ("riser", "pullback"),
    "clip_on": ("clip_slide", "clip_offset"),
    "peg_plate": ("peg_ahead", "peg_up"),
    "seat": ("seat",),
}
"""Bands of change of a bike that a kind of part is held against."""

WIDTH_PLAY, REACH_PLAY = 10.0, 5.0
"""mm by which a tape may differ from a drawing: two grip ends; the first finger's place on a blade
(estimates)."""


MEND = "mend the one that is wrong"


def lost_parts(bike: Bike, catalogue: Catalogue) -> Iterator[Found]:
    """``[fitted]`` of a bike, where it names what the catalogue does not list.

    Parameters
    ----------
    bike : Bike
        Its file is where the paths lead.
    catalogue : Catalogue
        Whole, or empty where there is none.
    """
    for kind, name in asdict(bike.fitted).items():
        if name is None or name in _names(catalogue, kind):
            continue
        yield ("fitted", kind), _why_lost(kind, name, catalogue)


def odd_parts(bike: Bike, catalogue: Catalogue) -> Iterator[Found]:
    """``[fitted]`` of a bike, where what is listed cannot be on the bike that the file describes.

    Parameters
    ----------
    bike : Bike
        Its file is where the paths lead.
    catalogue : Catalogue
    """
    for kind, name in asdict(bike.fitted).items():
        part = next((one for one in catalogue.of(kind) if one.name == name), None)
        if part is not None:
            shown = f"'{visible(part.name, LONGEST_NAME)}'"
            for why in _why_odd(kind, part, bike, catalogue):
                yield ("fitted", kind), f"{shown} {why}"


def _why_odd(kind: str, part: Part, bike: Bike, catalogue: Catalogue) -> Iterator[str]:
    """What speaks against a part's being on a bike, each as the rest of a sentence."""
    yield from why_not_on(kind, part, bike)
    if not made_for(kind, bike.handlebar.kind):
        return
    for name in BANDS.get(kind, ()):
        band: Band | None = getattr(bike.allows, name)
        if band is not None and not band[0] <= 0.0 <= band[1]:
            counted = f"allows.{name}, {_span(band)}, counts from the bike as it stands"
            yield f"is on the bike, and {counted}: let the band hold 0"
    if isinstance(part, Bar):
        yield from _why_odd_width(part, bike, catalogue)
    if isinstance(part, LeverSet):
        yield from _why_odd_reach(part, bike)


def why_not_on(
    kind: str, part: Part, bike: Bike, others: Iterable[Part] = (), *, whose: str = ""
) -> Iterator[str]:
    """Why a part cannot be on a bike: other bikes, another kind of bar, another diameter.

    Each is the rest of a sentence.

    Parameters
    ----------
    others : iterable of Part
        What is on it too: a diameter may be that of one of these in place of the bike's own.
    whose : str
        Whose ``handlebar`` that is, where it is not the file's that the sentence stands at.
    """
    bar = bike.handlebar
    if part.fits and bike.key not in part.fits:
        yield f"fits {listed(part.fits, 'and')} alone: add {bike.key} to its fits, or mend the name"
    if not made_for(kind, bar.kind):
        yield f"is for a {MADE_FOR[kind]} bar and handlebar.kind{whose} is {bar.kind}: {MEND}"
        return
    for name in DIAMETERS:
        own: Reading | None = getattr(part, name, None)
        every = (getattr(bar, name), *(getattr(one, name, None) for one in others))
        there: list[Reading] = [one for one in every if one is not None]
        if own is not None and there and not any(same_size(own, size) for size in there):
            sizes = f"{own.value:g} mm and handlebar.{name}{whose} is {there[0].value:g} mm"
            yield f"has a {name} of {sizes}: {MEND}"


def left_out(name: str, catalogue: Catalogue) -> str:
    """Sentence for a part that is listed and cannot be used until it is mended; else empty."""
    left = next((one for one in catalogue.left_out if one.rpartition(" (")[0] == name), None)
    if left is None:
        return ""
    where = left.removeprefix(name)
    return f"'{visible(name, LONGEST_NAME)}' is listed and left out until it is mended{where}"


def _why_odd_width(part: Bar, bike: Bike, catalogue: Catalogue) -> Iterator[str]:
    """A bar narrower than what was taped on it, or not as wide as the bike is said to take.

    One that is wider as drawn may have been cut, which its tape tells.
    """
    ends = (one.length.value for one in catalogue.extenders if one.name == bike.fitted.extender)
    longest = part.width.value + 2.0 * sum(ends)
    taped, band = bike.widths.get("grip_end"), bike.allows.bar_width
    if taped is not None and longest < taped.value - WIDTH_PLAY:
        yield f"is {longest:g} mm wide and widths.grip_end is {taped.value:g} mm: {MEND}"
        return
    cut = taped is not None and band is not None and taped.value <= band[1] + WIDTH_PLAY
    if band is not None and (
        longest < band[0] - WIDTH_PLAY or (longest > band[1] + WIDTH_PLAY and not cut)
    ):
        yield f"is {longest:g} mm wide and allows.bar_width is {_span(band)}: {MEND}"


def _why_odd_reach(part: LeverSet, bike: Bike) -> Iterator[str]:
    """Levers whose reach is given as what the set cannot be set to."""
    for side in (BRAKE, CLUTCH):
        lever: Lever | None = getattr(bike.levers, side)
        if lever is None or part.side not in (BOTH, side):
            continue
        low, high = part.reach_range
        reach, band = lever.reach, lever.reach_range
        has = f"reaches {_span(part.reach_range)} and levers.{side}"
        if reach is not None and not low - REACH_PLAY <= reach.value <= high + REACH_PLAY:
            yield f"{has}.reach is {reach.value:g} mm: {MEND}"
        elif band is not None and max(abs(band[0] - low), abs(band[1] - high)) > REACH_PLAY:
            yield f"{has}.reach_range is {_span(band)}: {MEND}"


def _span(band: Band) -> str:
    return f"{band[0]:g} to {band[1]:g} mm"


def idle_parts(catalogue: Catalogue, bikes: Mapping[str, Bike | None]) -> Iterator[Found]:
    """Parts that no bike of the workspace takes, and bikes of ``fits`` that are not there.

    Parameters
    ----------
    catalogue : Catalogue
        Its file is where the paths lead.
    bikes : mapping of str to Bike or None
        By file name; ``None`` for one that could not be read, which may take anything. Nothing
        is said where there is no bike at all, nor of a diameter that was taped on
        no bike the part is for; where some were, the others are named to be measured.
    """
    for kind in PART_KINDS if bikes else ():
        for index, part in enumerate(catalogue.of(kind)):
            lost = [key for key in part.fits if key not in bikes]
            for key in lost:
                yield (kind, index, "fits", part.fits.index(key)), _no_bike(key, bikes)
            if lost and len(lost) == len(part.fits):
                yield (kind, index, "fits"), "fits no bike here: none of those named is there"
            else:
                for key, text in _why_idle(kind, part, catalogue, bikes):
                    yield (kind, index, key), text


def _names(catalogue: Catalogue, kind: str) -> list[str]:
    return [part.name for part in catalogue.of(kind)]


def _why_lost(kind: str, name: str, catalogue: Catalogue) -> str:
    """Sentence for a fitted part that is not in the catalogue, or is of another kind there."""
    shown = f"'{visible(name, LONGEST_NAME)}'"
    left = left_out(name, catalogue)
    if left:
        return left
    there = [other for other in PART_KINDS if name in _names(catalogue, other)]
    if there:
        return f"{shown} is listed as [[{there[0]}]], not as [[{kind}]]: move it to {there[0]}"
    near = nearest(name, _names(catalogue, kind))
    if near:
        return f"there is no {kind} {shown} in the catalogue, did you mean '{near}'?"
    return f"there is no {kind} {shown} in the catalogue: list it in shared/parts.toml"


def _no_bike(key: str, bikes: Iterable[str]) -> str:
    near = nearest(key, bikes)
    return f"there is no bike '{key}'" + (
        f", did you mean '{near}'?" if near else " here: take it out of the list"
    )


def _why_idle(
    kind: str, part: Part, catalogue: Catalogue, bikes: Mapping[str, Bike | None]
) -> Iterator[tuple[str, str]]:
    """Key and sentence of what keeps a part off every bike; nothing where some bike is unknown."""
    meant = _meant(kind, part, bikes)
    if None in meant.values():
        return
    known = {key: bike.handlebar for key, bike in meant.items() if bike is not None}
    if not known:
        other = KINDS[1 - KINDS.index(MADE_FOR[kind])]
        whose = "every bike named" if part.fits else "every bike here"
        yield "fits" if part.fits else "name", f"fits no bike here: {whose} has a {other} bar"
        return
    for name in DIAMETERS:
        own: Reading | None = getattr(part, name, None)
        if own is None:
            continue
        partner = PARTNERS.get((kind, name))
        if partner and catalogue.left_out:
            continue  # a part that is left out may be what it goes with
        taped = {key: getattr(bar, name) for key, bar in known.items()}
        there = [size for size in taped.values() if size is not None]
        if partner:
            there += _partners(partner, name, catalogue, part, bikes)
        if any(taped.values()) and not any(same_size(own, size) for size in there):
            sizes = listed(sorted({f"{size.value:g}" for size in there}, key=float))
            untaped = [key for key, size in taped.items() if size is None]
            yield name, _no_size(name, f"{own.value:g} mm where {sizes} mm is there", untaped)


def _no_size(name: str, sizes: str, untaped: Sequence[str]) -> str:
    """Sentence for a diameter that nothing here has; bikes without it may, once measured."""
    if not untaped:
        return f"fits no bike here: {sizes}"
    whose = listed(untaped, "and") if len(untaped) <= MOST_LISTED else f"{len(untaped)} bikes"
    return f"fits no bike here so far: {sizes}; mend it, or measure handlebar.{name} of {whose}"


def _meant(kind: str, part: Part, bikes: Mapping[str, Bike | None]) -> Mapping[str, Bike | None]:
    """Bikes that the part may be for, by key; ``None`` for one that was not read."""
    return {
        key: bike
        for key, bike in bikes.items()
        if not part.fits or key in part.fits
        if bike is None or made_for(kind, bike.handlebar.kind)
    }


def _partners(
    kind: str, name: str, catalogue: Catalogue, part: Part, bikes: Mapping[str, Bike | None]
) -> list[Any]:
    """A diameter of the parts of another kind that can go on one bike with a part."""
    return [
        size
        for other in catalogue.of(kind)
        if (size := getattr(other, name)) is not None
        if any(
            (not part.fits or key in part.fits) and (not other.fits or key in other.fits)
            for key, bike in bikes.items()
            if bike is None or bike.handlebar.kind == MADE_FOR[kind]
        )
    ]
