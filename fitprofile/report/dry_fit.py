"""The dry-fit card: a plan tried with packers, rods and tape before money is spent."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite, nan

from fitprofile.report.card_blocks import BEFORE_SITTING, cautions
from fitprofile.report.change_steps import SEEN
from fitprofile.report.numbers import NumberRow, number_of, number_rows
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
    flag,
    gap,
    small,
    strong,
    text,
    user,
)
from fitprofile.report.plan_words import (
    for_good,
    is_bought,
    is_off_words,
    misses,
    money,
    time_words,
)
from fitprofile.report.shopping import Chosen
from fitprofile.report.wording import (
    ARROW,
    DEG,
    MM,
    NUMBERS,
    bare,
    figure,
    inches,
    joined,
    tolerance,
    whole,
)
from fitprofile.stages.check import Check
from fitprofile.values import frozen

MOST = 7
"""Rows of clearances that a card has room for; what is nearest comes first."""

PARTS_THAT_SWING = ("lock.fist", "lock.bar_end", "thumb")


@frozen(kw_only=True)
class Trial:
    """One thing to mock up or to set.

    Parameters
    ----------
    what : str
        Where, in words.
    how : str
        What to stack, hold or set.
    seen : str
        What a tape shows it by; empty where only the change can be said.
    unit : str
        Of ``start`` and ``end``.
    start, end : float
        That figure before and after.
    """

    what: str
    how: str
    seen: str = ""
    unit: str = MM
    start: float = nan
    end: float = nan


def trials(chosen: Chosen) -> tuple[Trial, ...]:
    """Everything of a plan that can be tried without its parts, in the order of work."""
    return (*_seat(chosen), *_pegs(chosen), *_risers(chosen), *_bar(chosen), *_settings(chosen))


def _amount(change: float, more: str, less: str) -> str:
    return f"{figure(abs(change), MM)} {more if change > 0.0 else less}"


def _amounts(*parts: tuple[float, str, str]) -> str:
    """Every part that prints as a change."""
    return joined([_amount(*part) for part in parts if whole(part[0])])


def _seat(chosen: Chosen) -> Iterator[Trial]:
    ahead, up = chosen.plan.seat_move_mm
    if not whole(ahead) and not whole(up):
        return
    moved = _amounts((up, "up", "down"), (ahead, "ahead", "back"))
    how = (
        f"firm foam or folded blanket under the sitting bones: {moved} when sat upon"
        if up > 0.0
        else f"sit point {moved}: cannot be packed, so judge it with pegs and bar moved instead"
    )
    yield _point(chosen, "Seat", how, "seat", "z", "sit point above floor")


def _pegs(chosen: Chosen) -> Iterator[Trial]:
    ahead, up = chosen.plan.peg_move_mm
    if not whole(ahead) and not whole(up):
        return
    moved = _amounts((up, "up", "down"), (ahead, "ahead", "back"))
    how = f"feet on blocks at the new place, {moved}, both sides; pegs folded away"
    yield _point(chosen, "Pegs", how, "peg", "z", SEEN["peg.z"])
    if whole(ahead):
        yield _point(chosen, "", "", "peg", "x", SEEN["peg.x"])


def _risers(chosen: Chosen) -> Iterator[Trial]:
    height, back = chosen.plan.riser_move_mm
    if not whole(height) and not whole(back):
        return
    moved = _amounts((back, "toward the rider", "away from the rider"))
    held = f", bar held {moved}" if moved else ""
    how = (
        f"stack packers {figure(height, MM)} high, square to the steering axis{held}"
        if height > 0.0
        else f"{_amounts((height, 'up', 'lower'))}: take packers or the riser out{held}"
        if whole(height)
        else f"bar held {moved} on longer studs"
    )
    yield _point(chosen, "Bar clamp", how, "clamp", "z", SEEN["clamp.z"])
    yield _point(chosen, "", "", "clamp", "x", SEEN["clamp.x"])


def _bar(chosen: Chosen) -> Iterator[Trial]:
    choice, plan = chosen.plan.choice, chosen.plan
    if choice.bar is None and choice.clip_on is None and choice.extender is None:
        yield from _slide(chosen)
        return
    new = choice.bar or choice.clip_on
    how = (
        "a straight rod taped to the old bar on each side, its end where the new grip's end will be"
        if new is not None
        else "grips slid out on a rod pushed into each bar end"
    )
    yield _point(chosen, "Grip ends", how, "grip_end", "z", SEEN["grip_end.z"])
    yield _point(chosen, "", "", "grip_end", "x", SEEN["grip_end.x"])
    before, after = (2.0 * float(at.grip_end.y) for at in (chosen.transfer.points, plan.points))
    yield Trial(what="", how="", seen="end to end", start=before, end=after)


def _slide(chosen: Chosen) -> Iterator[Trial]:
    """Grips along the bar that is on the bike: only marked, since the end may have to be cut."""
    slide = chosen.plan.grip_slide_mm
    if whole(slide):
        how = f"tape round the bar {_amount(slide, 'out', 'in')} on each side; hands go there"
        yield _number(chosen, "Grips", how, "bar_width")


def _settings(chosen: Chosen) -> Iterator[Trial]:
    """Roll, slide, perches and reach, where no new part stands in for them."""
    plan = chosen.plan
    new = plan.choice.bar is not None or plan.choice.clip_on is not None
    if not new and isfinite(plan.roll_deg) and whole(plan.roll_deg):
        way = "toward the rider" if plan.roll_deg > 0.0 else "away from the rider"
        how = f"{figure(abs(plan.roll_deg), DEG)}, its top {way}"
        yield _number(chosen, "Bar roll", how, "grip_tilt")
    if not new and isfinite(plan.clip_slide_mm) and whole(plan.clip_slide_mm):
        how = f"{_amount(plan.clip_slide_mm, 'up', 'down')} the tubes"
        yield _point(chosen, "Clip-ons", how, "grip_end", "z", SEEN["grip_end.z"])
    for side in ("brake", "clutch"):
        turn = float(getattr(plan.lever_rotation_deg, side))
        if isfinite(turn) and whole(turn):
            way = "up" if turn > 0.0 else "down"
            how = f"{figure(abs(turn), DEG)}, blade {way}; nip the perch up"
            yield _number(chosen, f"{side.capitalize()} perch", how, f"lever_angle.{side}")
        change = float(getattr(plan.lever_reach_change_mm, side))
        fitted = plan.choice.lever_set is not None and plan.choice.lever_set.side in ("both", side)
        if isfinite(change) and whole(change) and not fitted:
            how = "by its adjuster; count the clicks"
            yield _number(chosen, f"{side.capitalize()} reach", how, f"lever_reach.{side}")


def _point(chosen: Chosen, what: str, how: str, point: str, axis: str, seen: str) -> Trial:
    start, end = (
        float(getattr(getattr(at, point), axis))
        for at in (chosen.transfer.points, chosen.plan.points)
    )
    return Trial(what=what, how=how, seen=seen, start=start, end=end)


def _number(chosen: Chosen, what: str, how: str, key: str) -> Trial:
    unit = NUMBERS[key][1]
    start, end = number_of(chosen.transfer.now, key), number_of(chosen.plan.after, key)
    words = key.partition(".")[0].replace("_", " ")
    return Trial(what=what, how=how, seen=words, unit=unit, start=start, end=end)


def hose_checks(chosen: Chosen) -> tuple[Check, ...]:
    """Hoses and cables of the plan, what is expected to fail first."""
    found = [one for one in chosen.offer.checks if one.what.partition(".")[0] == "hose"]
    return tuple(sorted(found, key=lambda one: (one.ok is not False, one.ok is not None)))


def clearance_checks(chosen: Chosen) -> tuple[Check, ...]:
    """The nearest of what fists, bar ends and thumbs come to, lock to lock; at most `MOST`.

    The nearest thing of each is always among them.
    """
    found = [
        one
        for one in chosen.offer.checks
        if one.what.startswith(PARTS_THAT_SWING) and isfinite(one.value)
    ]
    nearest = sorted(found, key=lambda one: one.value)
    first = [
        next(one for one in nearest if one.what.startswith(part))
        for part in PARTS_THAT_SWING
        if any(one.what.startswith(part) for one in nearest)
    ]
    rest = [one for one in nearest if one not in first][: MOST - len(first)]
    return tuple(sorted((*first, *rest), key=lambda one: one.value))


def other_checks(chosen: Chosen) -> tuple[str, ...]:
    """What else of the plan's checks fails, in words."""
    shown = ("hose", "lock", "thumb", "law", "straddle", "pedals")
    return tuple(
        is_off_words(one)
        for one in chosen.offer.checks
        if one.ok is False and one.what.partition(".")[0] not in shown
    )


def expected(check: Check) -> str:
    """What a check lets expect: ``expected to fail``, ``enough``, ``look``."""
    return {True: "enough", False: "expected to fail", None: "look and write"}[check.ok]


def dry_fit_page(chosen: Chosen, currency: str, date: str) -> Page:
    """The card of one rider, bike and plan.

    Parameters
    ----------
    chosen : Chosen
    currency : str
        Of the catalogue's prices, empty where it says none.
    date : str
        Day of printing, as it is to be read.
    """
    made = chosen.transfer
    return Page(
        title=f"Dry-fit card: {made.rider.name} {ARROW} {made.bike.name}",
        kind="Dry-fit card",
        heading=text(user(made.rider.name), f" {ARROW} ", user(made.bike.name)),
        facts=_facts(chosen, currency),
        date=date,
        blocks=(
            Paragraph(text(strong(BEFORE_SITTING)), "left"),
            Heading("Try it like this", "nothing bought, nothing cut, nothing drilled"),
            _trials(chosen),
            *_undo(chosen),
            Heading("Turn lock to lock", "slowly, both locks, fork extended and then compressed"),
            *_hoses(chosen),
            Columns((_clearances(chosen), _rider(chosen)), "even"),
            *_also(chosen),
            Boxes(("Order the parts: yes / no", "What else it needs", "Date", "Signature")),
            cautions(HANDS),
        ),
    )


HANDS = "Keep fingers out of the yokes; engine off, key out."


def _facts(chosen: Chosen, currency: str) -> tuple[tuple[str, Text], ...]:
    plan, made = chosen.plan, chosen.transfer
    parts = [part.name for part in plan.choice.parts() if is_bought(part)]
    name = text(plan.name, "" if chosen.asked else flag(" (the one asked for is not there)"))
    facts = [
        ("Use", text(user(made.use))),
        ("Plan", name),
        ("Would buy", text(user(joined(parts))) if parts else text("nothing")),
        ("At stake", text(f"{money(plan.price, currency)}, {time_words(plan.minutes)}")),
    ]
    off = misses(made, plan)
    return (*facts, ("Still outside", text("; ".join(off)))) if off else tuple(facts)


def _trials(chosen: Chosen) -> Block:
    found = trials(chosen)
    if not found:
        return Paragraph(text("Nothing to try: the bike stays as it is."), "left")
    return Table(
        caption="What to stack, hold or set, and the figure that shows it",
        head=("", "Where", "How", "Seen as", "From, to", "Done to"),
        rows=tuple(_trial_row(one) for one in found),
        kind="trial",
    )


def _trial_row(one: Trial) -> Row:
    span = f"{bare(one.start, one.unit)} {ARROW} {bare(one.end, one.unit)}"
    inch = f"  {inches(one.end)}" if one.unit == MM else ""
    first = Cell(kind=TICK) if one.what else Cell()
    return Row(
        (
            first,
            Cell((text(strong(one.what)),)),
            Cell((text(one.how),)),
            Cell((text(small(one.seen)),)),
            Cell((text(strong(span), small(inch)),), FIGURE),
            Cell(kind=BOX),
        ),
        heads=False,
    )


def _undo(chosen: Chosen) -> tuple[Block, ...]:
    for_ever = for_good(chosen.plan)
    if not for_ever:
        return ()
    words = f"{joined(for_ever)}. Nothing of it before this card is signed."
    return (Paragraph(text(strong("The plan cannot be undone: "), words), "left"),)


def _hoses(chosen: Chosen) -> tuple[Block, ...]:
    checks = hose_checks(chosen)
    if not checks:
        words = "No hose or cable has to be longer: the bar's end of them stays where it is."
        return (Paragraph(text(words), "left"),)
    head = (
        "Hose or cable",
        "Longer by",
        "Spare",
        "Expected",
        "Left, out",
        "Left, in",
        "Right, out",
        "Right, in",
    )
    return (
        Table(
            caption="Hoses: what is asked for, what is spare, and room for what is left",
            head=head,
            rows=tuple(_hose_row(one) for one in checks),
            kind="hoses",
        ),
        Paragraph(text(small("Boxes: spare in mm at each lock, fork out and in.")), "left"),
    )


def _hose_row(check: Check) -> Row:
    longer = figure(check.value, MM, signed=True) if isfinite(check.value) else "not known"
    spare = figure(check.limit, MM) if isfinite(check.limit) else "not taped"
    return Row(
        (
            Cell((text(check.words.partition(":")[0].partition(",")[0]),)),
            Cell((text(longer),), FIGURE),
            Cell((text(spare),), FIGURE),
            _verdict(check),
            *(Cell(kind=BOX) for _ in range(4)),
        ),
        "missed" if check.ok is False else "plain",
    )


def _verdict(check: Check) -> Cell:
    words = expected(check)
    marked = strong(words.upper()) if check.ok is False else small(words)
    return Cell((text(marked),))


def _clearances(chosen: Chosen) -> tuple[Block, ...]:
    checks = clearance_checks(chosen)
    heading = Heading("Room at full lock", "gloved hands on the grips")
    if not checks:
        words = "Nothing that stays was taped: turn to both locks and write what comes near."
        return (heading, Paragraph(text(words)), Boxes(("Fist", "Thumb", "Bar end")))
    table = Table(
        caption="Expected room of fists, thumbs and bar ends, with boxes for what was measured",
        head=("What to what", "Expected", "", "Left", "Right"),
        rows=tuple(_clearance_row(one) for one in checks),
        kind="room",
    )
    limit = figure(checks[0].limit, MM)
    return (heading, table, Paragraph(text(small(f"At least {limit}; below 0 they meet."))))


def _clearance_row(check: Check) -> Row:
    words = check.words.removesuffix(", lock to lock").removeprefix("either ")
    return Row(
        (
            Cell((text(user(words)),)),
            Cell((text(strong(figure(check.value, MM))),), FIGURE),
            _verdict(check),
            Cell(kind=BOX),
            Cell(kind=BOX),
        ),
        "missed" if check.ok is False else "plain",
    )


def _rider(chosen: Chosen) -> tuple[Block, ...]:
    rows = [row for row in number_rows(chosen.transfer) if isfinite(row.tolerance)]
    table = Table(
        caption="The rider's numbers to tape, as wished and as expected, with empty boxes",
        head=("With the rider on", "Wished", "Expected", "First", "Again"),
        rows=tuple(_rider_row(chosen, row) for row in rows),
        kind="sat",
    )
    return (Heading("Tape with the rider on", "in riding gear, feet on the pegs"), table)


def _rider_row(chosen: Chosen, row: NumberRow) -> Row:
    wished = (
        text(figure(row.target, row.unit), small(f" {tolerance(row.tolerance, row.unit)}"))
        if isfinite(row.target)
        else text(small("no wish"))
    )
    after = number_of(chosen.plan.after, row.key)
    there = text(figure(after, row.unit)) if isfinite(after) else text(gap("no figure"))
    return Row(
        (
            Cell((text(row.words),)),
            Cell((wished,), FIGURE),
            Cell((there,), FIGURE),
            Cell(kind=BOX),
            Cell(kind=BOX),
        )
    )


def _also(chosen: Chosen) -> tuple[Block, ...]:
    lines: Sequence[str] = other_checks(chosen)
    if not lines:
        return ()
    return (Heading("Look at this too"), Items(items=tuple(text(one) for one in lines)))
