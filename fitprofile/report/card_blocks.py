"""Blocks that every card ends with: checks to tick, who signs, and what to beware of."""

from __future__ import annotations

from fitprofile.report.checks import CAUTIONS, CLIP_ON_CHECK, SIGNED, STOP_CHECKS
from fitprofile.report.page import (
    Block,
    Boxes,
    Columns,
    Heading,
    Items,
    Paragraph,
    Section,
    text,
)

BEFORE_SITTING = (
    "Front wheel in a chock or the bike strapped to the floor, a helper beside it, whenever "
    "somebody sits on it; never ride on packers, rods or tape."
)


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
