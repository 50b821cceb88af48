"""Parts that a log names as fitted: their names, and whether they can be on that bike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from fitprofile.model.bike import PART_KINDS, Bike
from fitprofile.model.parts import BOTH, WITHOUT, Catalogue, LeverSet, Part
from fitprofile.store.crosscheck import left_out, why_not_on
from fitprofile.store.mistakes import nearest
from fitprofile.store.toml import visible
from fitprofile.store.words import LONGEST_NAME


def as_listed(name: str, catalogue: Catalogue) -> str:
    """A part's name as the catalogue spells it, capitals or not; as it came where it has none."""
    before = WITHOUT if name.lower().startswith(WITHOUT) else ""
    bare = name[len(before) :].strip()
    every = (part.name for kind in PART_KINDS for part in catalogue.of(kind))
    return before + next((one for one in every if one.casefold() == bare.casefold()), bare)


def lost_fitted(
    names: Sequence[str], bike: Bike | None, catalogue: Catalogue, earlier: Iterable[str] = ()
) -> Iterator[str]:
    """What is wrong with the parts that one record names as fitted, a sentence each.

    Parameters
    ----------
    names : sequence of str
        With `WITHOUT` before one that was taken off.
    bike : Bike or None
        The one they were fitted to, where it can be read.
    catalogue : Catalogue
    earlier : iterable of str
        Parts that earlier records of this bike name.
    """
    on_it: list[tuple[str, Part]] = []
    for name in names:
        bare = name.removeprefix(WITHOUT)
        found, shown = catalogue.named(bare), _shown(bare)
        if found is None:
            yield _not_listed(bare, catalogue)
        elif name != bare:
            if bike is not None and bare not in {*_fitted(bike), *earlier, *names}:
                yield f"{shown} was never on {bike.key}, so it cannot have come off: mend the name"
        else:
            if bike is not None:
                others = [one[1] for one in map(catalogue.named, names) if one and one != found]
                whys = why_not_on(*found, bike, others, whose=f" of {bike.key}")
                yield from (f"{shown} {why}" for why in whys)
            on_it.append(found)
    yield from _twice(on_it)


def _shown(name: str) -> str:
    return f"'{visible(name, LONGEST_NAME)}'"


def _fitted(bike: Bike) -> set[str]:
    """Names of the parts that the bike's file has on it."""
    names = (getattr(bike.fitted, kind) for kind in PART_KINDS)
    return {name for name in names if name is not None}


def _not_listed(name: str, catalogue: Catalogue) -> str:
    """Sentence for a name that no part of the catalogue has, or none that can be used."""
    left = left_out(name, catalogue)
    if left:
        return left
    every = [part.name for kind in PART_KINDS for part in catalogue.of(kind)]
    near = nearest(name, every)
    return f"there is no part {_shown(name)} in shared/parts.toml" + (
        f", did you mean '{near}'?" if near else ": list it there, by the name it has here"
    )


def _twice(on_it: Sequence[tuple[str, Part]]) -> Iterator[str]:
    """Two parts of one kind, of which one alone can be on a bike; levers of both sides are two."""
    for index, (kind, part) in enumerate(on_it):
        for other_kind, other in on_it[:index]:
            if kind != other_kind or not _same_place(part, other):
                continue
            yield (
                f"{_shown(other.name)} and {_shown(part.name)} cannot both be on the bike: name "
                f"the one that is"
            )


def _same_place(part: Part, other: Part) -> bool:
    """Whether two parts of one kind take each other's place."""
    if isinstance(part, LeverSet) and isinstance(other, LeverSet):
        return part.side == other.side or BOTH in {part.side, other.side}
    return True
