"""The put-back card: a borrowed or test bike as found, and how it goes back as it came."""

from __future__ import annotations

from fitprofile.model.bike import CLIP_ON, ON_STAND, Bike
from fitprofile.report.as_came import (
    FoundFigure,
    FoundPoint,
    fitted_parts,
    found_figures,
    found_points,
    order_back,
)
from fitprofile.report.card_blocks import BEFORE_SITTING, cautions, stop_section
from fitprofile.report.page import (
    BOX,
    FIGURE,
    TICK,
    Block,
    Boxes,
    Cell,
    Columns,
    Heading,
    Items,
    Page,
    Paragraph,
    Row,
    Table,
    Text,
    gap,
    small,
    strong,
    text,
    user,
)
from fitprofile.report.step import origin
from fitprofile.report.wording import (
    DEG,
    MM,
    STATES,
    TAPES,
    bare,
    figure,
    half_degrees,
    inches,
    joined,
)
from fitprofile.stages.survey import Surveyed

SIGNED = ("Owner, signature", "Borrower, signature", "Date out", "Date back")


PHOTOS = ("Left side", "Right side", "From above", "Each clamp and perch with its mark", "Mileage")

FASTENERS = (
    "Bar clamp or clip-ons",
    "Brake perch",
    "Clutch perch",
    "Throttle housing, switches",
    "Bar-end weights, mirrors",
    "Pegs, plates",
    "Pedals",
    "Seat",
)

NEVER = (
    "Nothing is cut, drilled, slotted or freed of a pin on a bike that goes back. What was damaged "
    "or cannot go back is said to the owner before it is ridden."
)


def put_back_page(bike: Bike, surveyed: Surveyed, date: str) -> Page:
    """The card of one bike; ``date`` is the day of printing, as it is to be read."""
    return Page(
        title=f"Put-back card: {bike.name}",
        kind="Put-back card",
        heading=text(user(bike.name)),
        facts=_facts(bike, surveyed),
        date=date,
        blocks=(
            Heading("As found", _state(bike)),
            _points(bike, surveyed),
            Columns((_figures(bike, surveyed), _torque()), "halves"),
            Columns((_order(bike), _photos(bike)), "halves"),
            stop_section(
                "ticked before it is handed over", clip_on=_is_clip_on(bike), signed=SIGNED
            ),
            cautions(NEVER, BEFORE_SITTING),
        ),
    )


def _is_clip_on(bike: Bike) -> bool:
    return bike.handlebar.kind == CLIP_ON


def _facts(bike: Bike, surveyed: Surveyed) -> tuple[tuple[str, Text], ...]:
    taped = f"{STATES[bike.state]}, {TAPES[bike.tape]}"
    when = text(user(bike.date), f", {taped}") if bike.date else text(f"day not written, {taped}")
    facts = [("Taped", when)]
    if bike.mileage:
        facts.append(("Mileage", text(user(bike.mileage))))
    rake = surveyed.rake
    guess = " (assumed)" if rake.assumed else ""
    facts.append(("Rake", text(f"{half_degrees(rake.value)}{guess}")))
    on_it = fitted_parts(bike)
    if on_it:
        facts.append(("Fitted when it came", text(user(joined(on_it)))))
    return tuple(facts)


def _state(bike: Bike) -> str:
    if bike.state == ON_STAND:
        return "on its wheels as worked out, and on the stand as the tape read it; mm, inches"
    return f"{STATES[bike.state]}; mm, inches"


def _points(bike: Bike, surveyed: Surveyed) -> Table:
    stand = bike.state == ON_STAND
    head = (
        "Point",
        "Above floor",
        f"Ahead of {origin(surveyed)}",
        "Across",
        *(("On the stand: above, ahead",) if stand else ()),
        "Above again",
        "Ahead again",
        "Back",
    )
    return Table(
        caption="Points as found, with boxes for what is measured when the bike goes back",
        head=head,
        rows=tuple(_point_row(one, stand=stand) for one in found_points(bike, surveyed)),
        kind="back stood" if stand else "back",
    )


def _point_row(one: FoundPoint, *, stand: bool) -> Row:
    across = _length(one.across) if one.across else Cell((text(small("in the middle")),), FIGURE)
    raw = (Cell((_raw(one),), FIGURE),) if stand else ()
    return Row(
        (
            Cell((text(one.words),)),
            _length(one.up),
            _length(one.ahead),
            across,
            *raw,
            Cell(kind=BOX),
            Cell(kind=BOX),
            Cell(kind=TICK),
        )
    )


def _length(value: float) -> Cell:
    return Cell((text(bare(value, MM), small(f"  {inches(value)}")),), FIGURE)


def _raw(one: FoundPoint) -> Text:
    """As the tape read it: ``905 to its top, 1002``."""
    if one.stand_up is None and one.stand_ahead is None:
        return text(gap("not taped"))
    shown = [
        "\N{EM DASH}" if at is None else bare(at.value, MM) + (" to its top" if at.top else "")
        for at in (one.stand_up, one.stand_ahead)
    ]
    return text(", ".join(shown))


def _figures(bike: Bike, surveyed: Surveyed) -> tuple[Block, ...]:
    rows = tuple(_figure_row(one) for one in found_figures(bike, surveyed))
    table = Table(
        caption="Angles and reaches as found, with boxes for what is measured again",
        head=("Angle or reach", "As found", "Again", "Back"),
        rows=rows,
        kind="angles",
    )
    clicks = Boxes(("Brake clicks", "Clutch clicks", "Mirrors, lamp aim"))
    return (Heading("Angles and reaches", "straightedge, rule"), table, clicks)


def _figure_row(one: FoundFigure) -> Row:
    beside = inches(one.value) if one.unit == MM else ""
    stood = "" if one.stand is None else f"{figure(one.stand, DEG)} on the stand"
    guess = "assumed" if one.assumed else ""
    remark = ", ".join(part for part in (beside, stood, guess) if part)
    return Row(
        (
            Cell((text(one.words),)),
            Cell(
                (text(figure(one.value, one.unit), small(f"  {remark}" if remark else "")),), FIGURE
            ),
            Cell(kind=BOX),
            Cell(kind=TICK),
        )
    )


def _torque() -> tuple[Block, ...]:
    rows = tuple(Row((Cell((text(one),)), Cell(kind=BOX), Cell(kind=TICK))) for one in FASTENERS)
    table = Table(
        caption="Fasteners with room for the maker's torque",
        head=("Fastener, where it was touched", "Maker's Nm", "Done"),
        rows=rows,
        kind="torque",
    )
    return (Heading("Torque", "the maker's manual, not memory"), table)


def _order(bike: Bike) -> tuple[Block, ...]:
    lines = tuple(text(line) for line in order_back(bike))
    return (Heading("Back in this order", "the work backwards"), Items(items=lines, kind="check"))


def _photos(bike: Bike) -> tuple[Block, ...]:
    before = Items(items=tuple(text(one) for one in PHOTOS), kind="check")
    marks = "Witness marks on clamps, perches, adjusters and along the bar, before anything moves."
    note = () if bike.notes is None else (Paragraph(text(strong("Notes: "), user(bike.notes))),)
    return (
        Heading("Photographs", "before the first bolt"),
        before,
        Paragraph(text(marks)),
        *note,
        Boxes(("What was changed", "Damage as found")),
    )
