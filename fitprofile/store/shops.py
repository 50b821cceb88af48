"""``shared/tolerances.toml`` to a `Shop`: tolerances and tape spreads, each on top of ours."""

from __future__ import annotations

from collections.abc import Mapping

from fitprofile.model.quantity import ANGLE, LENGTH, MASS, Q
from fitprofile.model.rider import HELP
from fitprofile.model.shop import SPREADS, TOLERANCES, Shop
from fitprofile.store.figures import read_figure
from fitprofile.store.mistakes import Gather, unknown
from fitprofile.store.structure import read_names, table
from fitprofile.store.toml import Document
from fitprofile.store.words import read_text

_ANGLES = frozenset(
    {
        "forearm_angle",
        "grip_sweep",
        "grip_tilt",
        "knee_angle",
        "lean",
        "lever_angle",
        "rake",
        "resit_angle",
    }
)
_MASSES = frozenset({"weight"})
_RANGES: Mapping[str, Q] = {
    LENGTH: Q(LENGTH, 0.1, 300.0),
    ANGLE: Q(ANGLE, 0.1, 45.0),
    MASS: Q(MASS, 0.01, 50.0),
}
"""What a half-width or a spread can be at all: above 0, and not the size of the thing itself."""

PLACE = "place"
SECTIONS = ("tolerances", "spreads")


def spread_range(name: str) -> Q:
    """Kind and range of a tolerance or spread, mm, degrees or kg."""
    if name in _ANGLES:
        return _RANGES[ANGLE]
    return _RANGES[MASS if name in _MASSES else LENGTH]


def read_tolerances(raw: object) -> Mapping[str, float]:
    """Half-widths by name, mm or degrees; only those that were written.

    Raises
    ------
    Mistakes
        Where a name is unknown or a figure is none.
    """
    return read_names(
        raw, TOLERANCES, lambda name, item: read_figure(item, spread_range(name)), what="tolerance"
    )


def read_shop(document: Document) -> Shop:
    """The shop's figures: what the file says, and the figures to start from for the rest.

    Raises
    ------
    Mistakes
        Everything that is wrong with the file, with paths from its top.
    """
    gather = Gather()
    data = {name: item for name, item in document.data.items() if name != "schema"}
    for name in data:
        if name not in (PLACE, *SECTIONS):
            gather.add(unknown(name, (PLACE, *SECTIONS)), name)
    place = gather.part(PLACE, read_text, data[PLACE]) if PLACE in data else None
    own = gather.part("tolerances", read_tolerances, data.get("tolerances", {}))
    spreads = gather.part("spreads", _read_spreads, data.get("spreads", {}))
    gather.check()
    return Shop(
        tolerances={**TOLERANCES, **(own or {})},
        spreads={**SPREADS, **(spreads or {})},
        place=place,
        file=document.shown,
    )


def _read_spreads(raw: object) -> Mapping[str, tuple[float, float]]:
    """Both columns, alone and with a helper, of every spread that one of them names."""
    gather = Gather()
    data = table(raw)
    for name in data:
        if name not in HELP:
            gather.add(unknown(name, HELP, "column"), name)
    columns = [gather.part(who, _read_column, data.get(who, {})) or {} for who in HELP]
    gather.check()
    return {
        name: (columns[0].get(name, start[0]), columns[1].get(name, start[1]))
        for name, start in SPREADS.items()
    }


def _read_column(raw: object) -> Mapping[str, float]:
    return read_names(
        raw, SPREADS, lambda name, item: read_figure(item, spread_range(name)), what="spread"
    )
