"""The demo garage's riders on its bikes, and random small shelves out of its catalogue."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from attrs import evolve

from fitprofile.model.bike import Fitted
from fitprofile.model.parts import Catalogue
from fitprofile.stages.chain import prepare, transfer
from fitprofile.stages.job import Job
from fitprofile.stages.options import options_of
from fitprofile.store.workspace import Workspace

WORKSPACE = Workspace(Path(__file__).parents[2])

FEW = {
    "risers": 3,
    "bars": 3,
    "clip_ons": 3,
    "extenders": 1,
    "peg_plates": 2,
    "seats": 2,
    "lever_sets": 2,
}
"""Parts of each kind on a small shelf."""


@cache
def catalogue() -> Catalogue:
    """All of the demo's parts."""
    found, _ = WORKSPACE.catalogue()
    assert found is not None
    return found


@cache
def demo_jobs() -> dict[str, Job]:
    """Every rider and use on every bike, as ``RIDER.USE.BIKE``."""
    shop, _ = WORKSPACE.shop()
    assert shop is not None
    read = {key: WORKSPACE.bike(key)[0] for key in WORKSPACE.bike_keys()}
    bikes = {key: bike for key, bike in read.items() if bike is not None}
    found = {}
    for key in WORKSPACE.rider_keys():
        rider, _ = WORKSPACE.rider(key)
        assert rider is not None
        ready, _ = prepare(rider, bikes, shop)
        assert ready is not None
        for use in ready.settled:
            for name, bike in bikes.items():
                made, _ = transfer(ready, bike, use)
                assert made is not None
                found[f"{key}.{use}.{name}"] = made.job
    return found


def a_demo_case(seed: int) -> tuple[str, Job, Catalogue]:
    """A demo rider on a demo bike with nothing fitted, tolerances widened at random, a few parts.

    Parts that the bike does not take are left out, clamps fit all bars: brute force asks for none
    of that.
    """
    rng = np.random.default_rng(seed)
    names = sorted(demo_jobs())
    name = names[int(rng.integers(len(names)))]
    job, shop = demo_jobs()[name], catalogue()
    bar = evolve(job.bike.handlebar, clamp_diameter=None)
    job = evolve(
        job,
        bike=evolve(job.bike, fitted=Fitted(), handlebar=bar),
        tolerances={key: half * float(rng.choice((1.0, 1.5, 2.5)))
                    for key, half in job.tolerances.items()},
    )  # fmt: skip
    least = job.bike.allows.bar_width[0] if job.bike.allows.bar_width else 0.0
    shop = evolve(
        shop,
        risers=tuple(evolve(one, clamp_diameter=None) for one in shop.risers),
        bars=tuple(one for one in shop.bars if one.width.value >= least),
    )
    options = options_of(job.bike, shop, tube_taped=job.points.tube is not None)
    taken: dict[str, Any] = {
        **options._asdict(),
        "lever_sets": {one.name: one for sets in options.lever_sets for one in sets}.values(),
    }
    few: dict[str, Any] = {}
    for kind, most in FEW.items():
        parts = [one for one in taken[kind] if one is not None]
        few[kind] = tuple(parts[i] for i in sorted(rng.permutation(len(parts))[:most].tolist()))
    return name, job, evolve(shop, **few)
