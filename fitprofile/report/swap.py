"""The swap card: what to change on a shared bike when the other rider takes over."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite, nan

from fitprofile.model.parts import WITHOUT
from fitprofile.report.bar_marks import HOLDERS, ROLL, mark_drawings, marked, where
from fitprofile.report.card_blocks import cautions, remark_blocks, stop_section
from fitprofile.report.numbers import number_of
from fitprofile.report.page import (
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
    KINDS,
    beyond_words,
    half_mm,
    is_off_words,
    off_words,
)
from fitprofile.report.step import Move
from fitprofile.report.wording import (
    ARROW,
    MM,
    NUMBERS,
    bare,
    figure,
    inches,
    joined,
    printed_change,
)
from fitprofile.stages.check import Check
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan
from fitprofile.stages.sharing import Setting, Shared, Stay
from fitprofile.units import whole

SETTINGS: dict[str, tuple[str, str, str]] = {
    "bar_roll": ("Bar roll", "top toward the rider", "top away from the rider"),
    "clip_slide": ("Clip-ons, slide", "up the fork tubes", "down the fork tubes"),
    "bar_width": ("Grips along the bar", "outward", "inward"),
    "lever_rotation.brake": ("Brake perch", "blade up", "blade down"),
    "lever_rotation.clutch": ("Clutch perch", "blade up", "blade down"),
    "lever_reach.brake": ("Brake lever's reach", "longer", "shorter"),
    "lever_reach.clutch": ("Clutch lever's reach", "longer", "shorter"),
}
"""Each setting, and the words for either way of it."""

TOOLS: dict[str, tuple[str, str]] = {
    "bar_roll": ("torque wrench, phone level", "even gaps; look at every hose"),
    "clip_slide": ("torque wrench, rule", "fully engaged; clear of screen and tank"),
    "bar_width": ("grip glue, tape", "throttle snaps shut by itself"),
    "lever_rotation.brake": ("torque wrench, straightedge", "cap near level; banjo stays"),
    "lever_rotation.clutch": ("torque wrench, straightedge", "cable or hose free at both locks"),
    "lever_reach.brake": ("adjuster", "count the clicks; free play stays"),
    "lever_reach.clutch": ("adjuster", "count the clicks; free play stays"),
}
"""What each takes, and what to beware of."""

SEEN = {"grip_end": ("grip end above floor", MM)}
"""Names of what shows a setting where it is none of the rider's numbers."""

EACH_TIME = (
    "Every swap touches the brake lever, so every swap ends with torque to the maker's figures and "
    "all stop checks; who rides next ticks and signs. Where a figure here and a mark disagree, the "
    "straightedge decides. Scribe no deeper than paint or tape on an aluminium bar: a scratch is "
    "where it cracks."
)


def swap_page(shared: Shared, date: str) -> Page:
    """The card of one bike and two riders; ``date`` is the day of printing, as it is to be read."""
    first, second = shared.first, shared.second
    return Page(
        title=f"Swap card: {first.bike.name}, {first.rider.name} and {second.rider.name}",
        kind="Swap card",
        heading=text(
            user(first.bike.name),
            ": ",
            user(first.rider.name),
            f" {ARROW} ",
            user(second.rider.name),
        ),
        facts=(
            ("A", text(user(first.rider.name), ", ", user(first.use))),
            ("B", text(user(second.rider.name), ", ", user(second.use))),
        ),
        date=date,
        blocks=(
            Heading("Setting by setting", "from A to B; from B to A the same the other way"),
            _settings(shared),
            *_clicks(shared),
            Heading("Marks", "drawn at full size: true where the scale bar measures 5 mm"),
            *_marks(shared),
            Columns((_numbers(shared), _stays(shared)), "swapped"),
            *remark_blocks((first, second)),
            stop_section("after every swap", clip_on=first.clip_on),
            cautions(EACH_TIME),
        ),
    )


def change_words(setting: Setting) -> str:
    """The change from A to B in words: ``+8°, top toward the rider``; what stays says so."""
    _, more, less = SETTINGS[setting.what]
    change = printed(setting)
    if not change:
        return "same for both"
    shown = figure(change, setting.unit, signed=True)
    return f"{shown}, {more if change > 0 else less}"


def printed(setting: Setting) -> int:
    """The change from A to B as printed: what is seen differs by it, else what is set does."""
    seen = Move(
        setting.what, setting.unit, setting.change, nan, nan, seen=setting.seen,
        seen_unit=seen_words(setting)[1], start=setting.seen_first, end=setting.seen_second,
    )  # fmt: skip
    if seen.same:
        return seen.printed if seen.shown else 0
    return printed_change(setting.first, setting.second)


def seen_words(setting: Setting) -> tuple[str, str]:
    """What shows a setting, in words, and its unit."""
    words, unit = SEEN.get(setting.seen) or NUMBERS[setting.seen]
    return words.lower().partition(",")[0], unit


def mark_lines(shared: Shared) -> Iterator[str]:
    """How to make each pair of marks; and what needs one mark alone."""
    for one in shared.settings:
        if one.what not in HOLDERS:
            continue
        words, holder = HOLDERS[one.what]
        if marked(one):
            line = f"one line on the {holder}, two on {_carrier(one)}: {where(one)}"
            yield f"{words.capitalize()}: {line}{_guess(one)}."
        elif whole(one.first) or whole(one.second):
            yield f"{words.capitalize()}: one mark for both, set once."


def _guess(setting: Setting) -> str:
    return "" if setting.taped else " (diameter not taped: measure it first)"


def _carrier(setting: Setting) -> str:
    return "the bar" if setting.what != "clip_slide" else "each fork tube"


def _settings(shared: Shared) -> Table:
    return Table(
        caption="Each setting for both riders, and the change from the first to the second",
        head=("", "Setting", "A", "B", "From A to B", "Tool, caution"),
        rows=tuple(_setting_row(one) for one in shared.settings if _counts(one)),
        kind="swap",
    )


def _counts(setting: Setting) -> bool:
    """Whether a setting is anything but as found for both."""
    return bool(whole(setting.first) or whole(setting.second)) or whole(setting.change) != 0


def _setting_row(one: Setting) -> Row:
    words, unit = seen_words(one)
    tool, caution = TOOLS[one.what]
    return Row(
        (
            Cell(kind=TICK),
            Cell((text(strong(SETTINGS[one.what][0])), text(small(f"seen as {words}")))),
            Cell(_value(one.seen_first, unit, one.first, one.unit), FIGURE),
            Cell(_value(one.seen_second, unit, one.second, one.unit), FIGURE),
            Cell(_change(one)),
            Cell((text(tool), text(small(caution)))),
        ),
        "change",
        heads=False,
    )


def _value(seen: float, seen_unit: str, change: float, unit: str) -> tuple[Text, ...]:
    inch = f"  {inches(seen)}" if seen_unit == MM else ""
    from_found = (
        f"{figure(change, unit, signed=True)} from as found" if whole(change) else "as found"
    )
    return (text(strong(figure(seen, seen_unit)), small(inch)), text(small(from_found)))


def _change(one: Setting) -> tuple[Text, ...]:
    if not printed(one):
        return (text("same for both"), text(small("set once")))
    shown = text(strong(change_words(one)))
    if not marked(one):
        return (shown,)
    place = "along the tube" if one.unit == MM else "round the clamp" if one.what == ROLL else ""
    return (shown, text(small(f"{half_mm(one.apart_mm)} {place or 'round the bar'}")))


def _marks(shared: Shared) -> tuple[Block, ...]:
    drawings = mark_drawings(shared.settings)
    drawn = {HOLDERS[one.what][0] for one in shared.settings if marked(one)}
    guessed = [HOLDERS[o.what][0] for o in shared.settings if marked(o) and not o.taped]
    rest = [
        line
        for line in mark_lines(shared)
        if not any(line.lower().startswith(words) for words in drawn)
    ]
    if guessed:
        rest.append(f"Diameter not taped, measure it first: {joined(guessed)}.")
    if drawings:
        rest.insert(0, HOW)
    if not rest:
        rest = ["None: nothing that turns or slides differs."]
    return (Paragraph(text(" ".join(rest)), "left"), *drawings)


HOW = (
    "One line on what holds or turns, two on bar or tube: it points at A for A, at B for B. Seen "
    "from the right."
)


def _numbers(shared: Shared) -> tuple[Block, ...]:
    keys = [
        key
        for key in NUMBERS
        if key in shared.first_plan.deviations or key in shared.second_plan.deviations
    ]
    rows = tuple(_number_row(shared, key) for key in keys)
    table = Table(
        caption="Each rider's numbers once the bike is set for them, with the wish",
        head=("Number", "A", "B"),
        rows=rows,
        kind="both",
    )
    return (Heading("What each then has", "mm; wish in brackets; bold: outside"), table)


def _number_row(shared: Shared, key: str) -> Row:
    return Row(
        (
            Cell((text(NUMBERS[key][0]),)),
            _number_cell(shared.first, shared.first_plan, key),
            _number_cell(shared.second, shared.second_plan, key),
        )
    )


def _number_cell(transfer: Transfer, plan: Plan, key: str) -> Cell:
    unit = NUMBERS[key][1]
    if key not in plan.deviations:
        return Cell((text(small("no wish")),), FIGURE)
    shown, wish = number_of(plan.after, key), number_of(transfer.target, key)
    if not isfinite(shown):
        return Cell((text(gap("out of reach")),), FIGURE)
    wished = f" ({bare(wish, unit)})" if not key.startswith("lever_angle") else ""
    value = (strong(bare(shown, unit)), small(wished))
    if abs(plan.deviations[key]) <= INSIDE:
        return Cell((text(*value, small(" inside")),), FIGURE)
    return Cell((text(*value, " ", flag(off_words(transfer, plan, key))),), FIGURE)


def _clicks(shared: Shared) -> tuple[Block, ...]:
    """Room for the adjusters' clicks: no figure here knows them."""
    sides = [
        one.what.partition(".")[2].capitalize()
        for one in shared.settings
        if one.what.startswith("lever_reach") and whole(one.change)
    ]
    labels = tuple(f"{side} clicks from fully out, {who}" for side in sides for who in "AB")
    return (Boxes(labels),) if labels else ()


def _stays(shared: Shared) -> tuple[Block, ...]:
    parts = (
        (Heading("Stays", "not swapped quickly"), stay_lines(shared)),
        (Heading("Checks", FAILING), caution_lines(shared)),
    )
    return tuple(
        block for heading, lines in parts if lines for block in (heading, Items(items=lines))
    )


FAILING = "fail, or go beyond what is usual"
"""What `caution_lines` are."""


def stay_lines(shared: Shared) -> tuple[Text, ...]:
    """Parts that one or both plans fit, and the width where it stays, each as a line."""
    lines = [_stay(one) for one in shared.stays]
    if shared.width_kept:
        wishes = [
            figure(float(made.target.bar_width_mm), MM) for made in (shared.first, shared.second)
        ]
        here = figure(float(shared.first_plan.after.bar_width_mm), MM)
        why = f"Bar width stays {here} (wished {wishes[0]} and {wishes[1]}): "
        lines.append(text(why, "a cut or a freed pin cannot be swapped back."))
    return tuple(lines)


def _stay(one: Stay) -> Text:
    part = (user(one.name.removeprefix(WITHOUT)), f" ({KINDS[one.kind]}): ")
    letter = "A" if one.first else "B"
    if one.name.startswith(WITHOUT):
        who = "both plans take" if one.first and one.second else f"only {letter}'s plan takes"
        return text(*part, f"{who} it off.")
    if one.first and one.second:
        return text(*part, "both plans fit it, so it can go on for good.")
    return text(*part, f"only {letter}'s plan fits it.")


def caution_lines(shared: Shared) -> tuple[Text, ...]:
    """Settings beyond what is usual, and workshop checks that fail for one of the riders.

    Of those the worst of each group.
    """
    made = (("A", shared.first_checks), ("B", shared.second_checks))
    failing = (
        text(strong(f"{letter} fails: "), is_off_words(check))
        for letter, checks in made
        for check in _worst(checks)
    )
    return (*map(_beyond, filter(lambda one: isfinite(one.usual), shared.settings)), *failing)


def _beyond(one: Setting) -> Text:
    """A setting that goes further than usual on a bike whose file gives it no band."""
    goes = {"A": one.first, "B": one.second}
    far = joined(
        [
            f"{who} {figure(value, one.unit, signed=True)}"
            for who, value in goes.items()
            if abs(value) > one.usual
        ]
    )
    words = beyond_words(one.usual, one.unit)
    return text(strong(f"{SETTINGS[one.what][0]}: "), f"{far} from as found is {words}.")


LOOKED_AT = ("lock", "thumb", "hose", "perch", "reservoir", "lever")
"""Groups of checks that a setting can spoil."""


def _worst(checks: Sequence[Check]) -> Iterator[Check]:
    for group in LOOKED_AT:
        failing = [one for one in checks if one.ok is False and one.what.split(".")[0] == group]
        if failing:
            yield max(failing, key=lambda one: abs(one.value - one.limit))
