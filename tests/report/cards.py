"""Invented plans for the tests of cards: parts, a second rider, and pages rendered as PDF."""

from __future__ import annotations

from functools import cache

import pypdfium2
from attrs import evolve

from fitprofile.model.bike import FRAME, Bike, Hose, Hoses, Obstacle, Stand
from fitprofile.model.parts import (
    Bar,
    Catalogue,
    ClipOn,
    Extender,
    Labour,
    LeverSet,
    PegPlate,
    Riser,
    Seat,
)
from fitprofile.model.shop import Shop
from fitprofile.report.html import PAPERS
from fitprofile.report.page import Page
from fitprofile.report.pdf import render_pdf
from fitprofile.stages.chain import Prepared, prepare, transfer, with_plans
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.sharing import Shared, share
from tests.report import samples
from tests.report.samples import r

CATALOGUE = Catalogue(
    currency="EUR",
    risers=(
        Riser(name="Block 20", height=r(20.0), pullback=r(10.0), price=r(55.0), minutes=r(45.0)),
    ),
    bars=(
        Bar(
            name="Wide bar",
            width=r(800.0),
            rise=r(60.0),
            pullback=r(90.0),
            backsweep=r(18.0),
            upsweep=r(2.0),
            clamp_diameter=r(28.6),
            price=r(90.5),
            minutes=r(90.0),
        ),
    ),
    extenders=(Extender(name="Ends", length=r(30.0), price=r(25.0), minutes=r(30.0)),),
    clip_ons=(
        ClipOn(name="High clips", offset=r(20.0), drop=r(-40.0), price=r(200.0), minutes=r(80.0)),
    ),
    peg_plates=(PegPlate(name="Low pegs", x=r(0.0), z=r(-25.0), price=r(70.0), minutes=r(40.0)),),
    seats=(Seat(name="Thick seat", z=r(20.0), price=r(150.0), minutes=r(5.0)),),
    lever_sets=(LeverSet(name="Levers", reach_range=(45.0, 75.0), price=r(80.0), minutes=r(25.0)),),
    file="shared/parts.toml",
)

HOSES = Hoses(
    front_brake=Hose(
        spare=r(5.0), height=r(700.0), ahead=r(1300.0), offset=r(-60.0), held_by=FRAME
    ),
    clutch=Hose(spare=r(60.0)),
)

TWIN = evolve(
    samples.TWIN,
    hoses=HOSES,
    obstacles=(
        Obstacle(name="tank, left flank", height=r(990.0), ahead=r(880.0), offset=r(150.0)),
    ),
    steering=evolve(samples.TWIN.steering, lock=r(38.0)),
)
"""The twin with a brake hose that is short, and the flank of its tank taped."""

SPORT = evolve(samples.SPORT, handlebar=evolve(samples.SPORT.handlebar, tube_diameter=r(41.0)))

STOOD = evolve(
    samples.TWIN,
    key="stood",
    name="Stood on a stand (invented)",
    state="stand",
    stand=Stand(rear_axle=r(378.0), front_axle=r(306.0)),
    wheels=Stand(rear_axle=r(318.0), front_axle=r(306.0)),
)

TALL = evolve(
    samples.RIDER,
    key="bo",
    file="profiles/bo.toml",
    name="Bo (invented)",
    sex="male",
    body={
        **samples.RIDER.body,
        "stature": r(1860.0),
        "inseam": r(880.0),
        "navel_height_sitting": r(235.0),
    },
    cockpits={
        samples.USE: evolve(
            samples.RIDER.cockpits[samples.USE],
            bar_width=r(700.0),
            navel_to_bar=r(530.0),
            lever_angle=r(20.0),
            lever_reach=r(66.0),
        )
    },
)
"""The second rider of a shared bike."""


def planned(bike: Bike = TWIN, *, tall: bool = False, catalogue: Catalogue = CATALOGUE) -> Transfer:
    """A transfer with plans from the catalogue."""
    return _planned(bike.key, tall, catalogue is CATALOGUE)


BIKES = {one.key: one for one in (TWIN, SPORT, STOOD, samples.GOOD)}


@cache
def _planned(key: str, tall: bool, listed: bool) -> Transfer:
    ready = second() if tall else samples.prepared()
    found, problems = transfer(ready, BIKES[key], samples.USE)
    assert found is not None, problems
    return with_plans(ready, found, CATALOGUE if listed else Catalogue())


@cache
def second() -> Prepared:
    """The second rider, calibrated on the good bike."""
    found, problems = prepare(TALL, {samples.GOOD.key: samples.GOOD}, Shop())
    assert found is not None, problems
    return found


@cache
def shared(key: str = "teal") -> Shared:
    """One bike as both riders set it."""
    bike = BIKES[key]
    return share(planned(bike), planned(bike, tall=True), Labour())


def read_pdf(page: Page) -> dict[str, tuple[int, str]]:
    """For each paper, how many pages a card takes and its text."""
    found = {}
    for paper in PAPERS:
        pdf, problems = render_pdf(page, paper)
        assert problems == ()
        document = pypdfium2.PdfDocument(pdf)
        words = [one.get_textpage().get_text_bounded() for one in document]
        found[paper] = len(document), " ".join(" ".join(words).split())
    return found
