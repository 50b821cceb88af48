"""Options of `record`: one for each number that may be measured, and what belongs to a sit-on."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import click

F = TypeVar("F", bound=Callable[..., None])

MEASURING: tuple[tuple[str, str, str], ...] = (
    ("--navel-to-bar", "LENGTH", "Navel to the middle of a string between the grip ends."),
    ("--navel-to-grip-ends", "LENGTH...", "Two tapes from the navel, left then right."),
    ("--forearm-angle", "ANGLE", "Slope of the forearm below horizontal."),
    ("--lever-angle", "ANGLE", "Straightedge over grip and blade, fingers in line."),
    ("--knee-angle", "ANGLE", "Hip joint, knee, ankle; 180 is a straight leg."),
    ("--lean", "ANGLE", "Trunk forward from sitting erect."),
    ("--bar-width", "LENGTH", "Outer grip centre to outer grip centre."),
    ("--grip-tilt", "ANGLE", "Grip against the ground, outer end up positive."),
    ("--grip-sweep", "ANGLE", "How far the grip points back, seen from above."),
    ("--lever-angle-brake", "ANGLE", "Straightedge over grip and brake lever."),
    ("--lever-angle-clutch", "ANGLE", "Straightedge over grip and clutch lever."),
    ("--lever-reach-brake", "LENGTH", "Front of the grip to the brake lever's blade."),
    ("--lever-reach-clutch", "LENGTH", "Front of the grip to the clutch lever's blade."),
    ("--grip-above-peg", "LENGTH", "Standing: top of the peg straight up to the string."),
    ("--grip-ahead-of-peg", "LENGTH", "Standing: the same along the floor, forward positive."),
    ("--hip-to-grip", "LENGTH", "Standing: bony knob of the hip to the middle of the string."),
    ("--brake-pedal", "LENGTH", "Standing: above the top of the peg; lower is negative."),
    ("--gear-lever", "LENGTH", "Standing: the same of the gear lever's underside."),
)
"""Option, metavar and help."""

PLAN_NAMES = ("free", "cheapest", "quickest", "closest")
"""Plans that can be named, as the search calls them: nothing of it is imported for `--help`."""

PAIR = "--navel-to-grip-ends"
"""The one that takes two figures."""

TEXTS = (
    ("--gear", "What was worn: boots, protector, gloves."),
    ("--done", "What was done to the bike."),
    ("--by", "Who did it."),
    ("--notes", "Anything else worth remembering."),
    ("--date", "Day or moment, like 2026-05-17; else today."),
)


def record_options(function: F) -> F:
    """A command with every option of a record."""
    options = [
        click.option(name, multiple=True, nargs=1 + (name == PAIR), metavar=metavar, help=told)
        for name, metavar, told in MEASURING
    ]
    options += [
        click.option(
            "--when",
            type=click.Choice(["before", "after"]),
            help="Before the work or after it; else before until there is one after.",
        ),
        click.option(
            "--felt-right",
            is_flag=True,
            help="The rider would keep it as it is; standing, the hands let go without falling.",
        ),
        click.option(
            "--tape",
            type=click.Choice(["alone", "helper"]),
            help="Who held the tape; else as in the rider's file.",
        ),
    ]
    options += [
        click.option(
            "--fitted",
            metavar="PART",
            multiple=True,
            help='A part that the work put on, by its name in shared/parts.toml; "none" where '
            "nothing new is on the bike.",
        ),
        click.option(
            "--plan",
            metavar="NAME",
            type=click.Choice(PLAN_NAMES),
            help="The plan that was carried out: its parts count as fitted.",
        ),
    ]
    options += [click.option(name, metavar="TEXT", help=told) for name, told in TEXTS]
    for option in reversed(options):
        function = option(function)
    return function
