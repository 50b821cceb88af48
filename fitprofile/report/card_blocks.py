"""Blocks that cards end with: what was left out, checks to tick, who signs, what to beware of."""

from __future__ import annotations

from collections.abc import Iterable

from fitprofile.report.checks import CAUTIONS, CLIP_ON_CHECK, SIGNED, STOP_CHECKS
from fitprofile.report.page import (
    Block,
    Boxes,
    Columns,
    Heading,
    Items,
    Paragraph,
    Section,
    strong,
    text,
    user,
)
from fitprofile.stages.outcome import Transfer

BEFORE_SITTING = (
    "Front wheel in a chock or the bike strapped to the floor, a helper beside it, whenever "
    "somebody sits on it; never ride on packers, rods or tape."
)


def remark_blocks(transfers: Iterable[Transfer]) -> tuple[Block, ...]:
    """What of the catalogue's file no plan uses, in a line; nothing where all of it is used."""
    remarks = (one.offers.remark for one in transfers if one.offers is not None)
    remark = next(filter(None, remarks), "")
    return (Paragraph(text(strong("Left out: "), user(f"{remark}.")), "left"),) if remark else ()


def check_columns(checks: tuple[str, ...]) -> Columns:
    """Lines to tick in two columns."""
    first = (len(checks) + 1) // 2
    return Columns(
        tuple(
            (Items(items=tuple(text(one) for one in half), kind="check"),)
            for half in (checks[:first], checks[first:])
        ),
        "even",
    )


def stop_section(remark: str, *, clip_on: bool, signed: tuple[str, ...] = SIGNED) -> Section:
    """Stop checks with the boxes of those who sign."""
    checks = (*STOP_CHECKS, CLIP_ON_CHECK) if clip_on else STOP_CHECKS
    blocks: tuple[Block, ...] = (Heading("Stop checks", remark), check_columns(checks))
    return Section((*blocks, Boxes(signed)), "stop")


def cautions(*first: str) -> Section:
    """What to beware of, the card's own words before those of every sheet."""
    return Section((Paragraph(text(" ".join((*first, *CAUTIONS)))),), "cautions")
