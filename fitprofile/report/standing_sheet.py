"""The sheet of a standing use: one rider on the pegs of one bike."""

from __future__ import annotations

from fitprofile.report.card_blocks import BEFORE_SITTING, cautions, check_columns, stop_section
from fitprofile.report.page import (
    BOX,
    FIGURE,
    Block,
    Cell,
    Heading,
    Items,
    Page,
    Paragraph,
    Row,
    Table,
    Text,
    small,
    strong,
    text,
    user,
)
from fitprofile.report.standing_plan import standing_plan_blocks
from fitprofile.report.trust import Notes, note_items, ordered
from fitprofile.report.uses import balance_words, change_lines, standing_lines
from fitprofile.report.wording import ARROW, STATES, TAPES
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.standing_moves import StandingOn
from fitprofile.stages.standing_plans import as_stood

STEADY = (
    "Photograph both sides; witness marks on clamps, perches and pedals.",
    "Packers first: steer lock to lock, fork extended and compressed; hoses and cables stay free.",
    "Pedals follow the boot at once; the rear brake must not be held on.",
    "Torque all that was touched to the maker's figures.",
    "Stand again in the same boots, hands let go for a moment, and fill in the boxes.",
)
"""What goes round the changes of a standing use, whatever they are."""


def standing_sheet(transfer: Transfer, use: str, date: str) -> Page:
    """The page of one standing use.

    Parameters
    ----------
    transfer : Transfer
        ``standing`` holds the use; its problems are looked up already.
    use : str
    date : str
        Day of printing, as it is to be read.
    """
    offers = transfer.offers
    if offers is not None and offers.listed:
        transfer = as_stood(transfer, use)
        work = standing_plan_blocks(transfer, offers)
    else:
        work = _changes(transfer.standing[use])
    one = transfer.standing[use]
    notes = ordered(transfer.problems)
    return Page(
        title=f"Standing sheet: {transfer.rider.name} {ARROW} {transfer.bike.name}",
        kind="Standing sheet",
        heading=text(user(transfer.rider.name), f" {ARROW} ", user(transfer.bike.name)),
        facts=_facts(transfer, use),
        date=date,
        blocks=(
            Heading("Standing numbers", "foot at the arch, no seat"),
            _numbers(transfer, use),
            Paragraph(
                text(
                    strong("Balance as found: "),
                    f"{balance_words(one.now) or 'no such stand'}; ",
                    strong("afterwards: "),
                    f"{balance_words(one.after) or 'no such stand'}. ",
                    small("Worked out from the body's own masses, estimated and not judged."),
                ),
                "left",
            ),
            *work,
            *_notes(notes),
            stop_section("all ticked, or the bike is not ridden", clip_on=transfer.clip_on),
            cautions(BEFORE_SITTING),
        ),
    )


def _changes(one: StandingOn) -> tuple[Block, ...]:
    """The practical answer with the routine round it, where the shop lists no parts."""
    changes = tuple(change_lines(one)) or ("Nothing to change: every number is inside.",)
    return (
        Heading("What to do, in this order"),
        check_columns((STEADY[0], STEADY[1], *changes, *STEADY[2:])),
    )


def _facts(transfer: Transfer, use: str) -> tuple[tuple[str, Text], ...]:
    bike, wish = transfer.bike, transfer.rider.standing[use]
    taped = f"{STATES[bike.state]}, {TAPES[bike.tape]}"
    source = text("bike ", user(wish.measured_on)) if wish.measured_on else text("from memory")
    facts = [
        ("Use", text(user(use), ", standing")),
        ("Bike taped", text(user(bike.date or "day not written"), f", {taped}")),
        ("Own stand measured on", source),
    ]
    if wish.gear:
        facts.append(("Gear", text(user(wish.gear))))
    return tuple(facts)


def _numbers(transfer: Transfer, use: str) -> Table:
    """Every number as found, wished and after, with a box for what is measured again."""
    rows = tuple(
        Row(
            (
                Cell((text(strong(words)),)),
                *(Cell((text(figure),), FIGURE) for figure in (now, wished, after)),
                Cell((text(small(remark)),)),
                Cell(kind=BOX),
            )
        )
        for words, now, wished, after, remark in standing_lines(transfer.standing[use])
    )
    head = ("Number", "As found", "Wished", "After", "Off", "Measured again")
    return Table(caption=f"Standing numbers, {use}", head=head, rows=rows, kind="standing")


def _notes(notes: Notes) -> tuple[Block, ...]:
    """What was found in the files."""
    items = note_items(notes)
    return (Heading("Notes"), Items(items=items, kind="numbered")) if items else ()
