"""Riders' bodies and bikes to draw from: each range is written once, for hypothesis and numpy.

Ranges are wider than people and motorcycles are. All bikes and bodies are invented.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args, get_type_hints

import numpy as np
from hypothesis import strategies as st

from fitprofile.geometry.vectors import Vec
from fitprofile.model.parts import PARTS, Catalogue, Labour, Part
from fitprofile.model.quantity import Q, Reading
from fitprofile.stages.linkage import Linkage
from fitprofile.stages.survey import BikePoints
from fitprofile.store.structure import choices, is_pair, quantity, range_of

Ranges = Mapping[str, tuple[float, float]]

BODY: Ranges = {
    "hip_height_mm": (60.0, 120.0),
    "hip_spacing_mm": (140.0, 200.0),
    "navel_up_mm": (60.0, 190.0),
    "navel_forward_mm": (60.0, 260.0),
    "shoulder_up_mm": (330.0, 490.0),
    "shoulder_forward_mm": (-20.0, 110.0),
    "shoulder_spacing_mm": (280.0, 420.0),
    "upper_arm_mm": (220.0, 350.0),
    "forearm_grip_mm": (200.0, 320.0),
    "thigh_mm": (330.0, 520.0),
    "shank_mm": (320.0, 500.0),
    "ankle_up_mm": (70.0, 140.0),
    "ankle_back_mm": (80.0, 160.0),
    "elbows_out_deg": (-15.0, 70.0),
}
"""Fields of `Linkage`, mm and degrees."""

BIKE: Ranges = {
    "seat_x": (250.0, 550.0),
    "seat_z": (650.0, 900.0),
    "peg_ahead": (-50.0, 350.0),
    "peg_half": (140.0, 280.0),
    "peg_below": (330.0, 560.0),
    "bar_ahead": (300.0, 600.0),
    "bar_half": (290.0, 460.0),
    "bar_above": (80.0, 400.0),
    "tilt": (-12.0, 12.0),
    "sweep": (4.0, 35.0),
    "grip": (100.0, 140.0),
    "clamp_ahead": (20.0, 150.0),
    "clamp_below": (-20.0, 120.0),
    "tube_half": (85.0, 115.0),
    "rake": (18.0, 36.0),
    "brake": (-10.0, 45.0),
    "clutch": (-10.0, 45.0),
}
"""What one bike is made of, mm and degrees; ahead, above and below are from the sit point."""

LEAN = (-5.0, 50.0)
"""Degrees."""


def make_points(drawn: Mapping[str, Any], *, tube: bool = False) -> BikePoints:
    """A bike's points from figures named as in `BIKE`, scalars or arrays alike."""
    f = drawn
    tilt, sweep = np.radians(f["tilt"]), np.radians(f["sweep"])
    grip = (
        -f["grip"] * np.cos(tilt) * np.sin(sweep),
        f["grip"] * np.cos(tilt) * np.cos(sweep),
        f["grip"] * np.sin(tilt),
    )
    zero = 0.0 * f["seat_x"]
    end = (f["seat_x"] + f["bar_ahead"], f["bar_half"], f["seat_z"] + f["bar_above"])
    clamp = (end[0] + f["clamp_ahead"], zero, end[2] - f["clamp_below"])
    return BikePoints(
        seat=Vec(f["seat_x"], zero, f["seat_z"]),
        peg=Vec(f["seat_x"] + f["peg_ahead"], f["peg_half"], f["seat_z"] - f["peg_below"]),
        clamp=Vec(*clamp),
        grip_end=Vec(*end),
        grip_inner=Vec(*(a - b for a, b in zip(end, grip, strict=True))),
        tube=Vec(clamp[0], f["tube_half"], clamp[2]) if tube else None,
    )


def drawn(ranges: Ranges) -> st.SearchStrategy[dict[str, float]]:
    """One figure from each range."""
    return st.fixed_dictionaries({name: st.floats(*ends) for name, ends in ranges.items()})


def scattered(rng: np.random.Generator, ranges: Ranges, shape: tuple[int, ...]) -> dict[str, Any]:
    """Figures from each range, uniform, in arrays."""
    return {name: rng.uniform(*ends, shape) for name, ends in ranges.items()}


def linkages() -> st.SearchStrategy[Linkage]:
    """One body."""
    return drawn(BODY).map(lambda figures: Linkage(**figures))


def leans() -> st.SearchStrategy[float]:
    """The rider's own lean, degrees."""
    return st.floats(*LEAN)


def bikes() -> st.SearchStrategy[dict[str, float]]:
    """Figures of one bike, for `make_points`."""
    return drawn(BIKE)


def _readings(q: Q) -> st.SearchStrategy[Reading]:
    return st.floats(q.low, q.high).map(Reading)


def _parts(cls: type[Part], names: st.SearchStrategy[str]) -> st.SearchStrategy[Part]:
    """Parts of one kind, each figure from the whole range that a file may hold."""
    drawn_fields: dict[str, st.SearchStrategy[Any]] = {}
    for name, hint in get_type_hints(cls, include_extras=True).items():
        q = quantity(hint)
        if name == "name":
            drawn_fields[name] = names
        elif name == "fits":
            drawn_fields[name] = st.lists(st.sampled_from(["heron", "wren"]), max_size=2).map(tuple)
        elif q is None:
            drawn_fields[name] = st.sampled_from(choices(hint))
        elif is_pair(hint):
            ends = st.tuples(st.floats(q.low, q.high), st.floats(q.low, q.high))
            drawn_fields[name] = ends.map(lambda pair: (min(pair), max(pair)))
        else:
            optional = type(None) in get_args(hint)
            drawn_fields[name] = st.none() | _readings(q) if optional else _readings(q)
    return st.builds(cls, **drawn_fields)


@st.composite
def catalogues(draw: st.DrawFn, most: int = 3) -> Catalogue:
    """Parts of every kind, up to ``most`` of each, all names different."""
    numbers = iter(range(1000))
    names = st.builds(lambda: f"Part {next(numbers)}")
    lists: dict[str, Any] = {}
    for kind, cls in PARTS.items():
        lists[f"{kind}s"] = draw(st.lists(_parts(cls, names), max_size=most).map(tuple))
    labour = st.builds(
        Labour,
        **{
            name: _readings(range_of(hint))
            for name, hint in get_type_hints(Labour, include_extras=True).items()
        },
    )
    return Catalogue(
        currency=draw(st.sampled_from(["", "EUR", "kr"])),
        labour=draw(labour),
        file="shared/parts.toml",
        **lists,
    )
