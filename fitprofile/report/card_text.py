"""Shopping list and cards as plain text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import fsum, isfinite
from textwrap import wrap

from fitprofile.errors import NOTE, Problem
from fitprofile.model.bike import Bike
from fitprofile.report.as_came import found_figures, found_points, order_back
from fitprofile.report.dry_fit import clearance_checks, expected, hose_checks
from fitprofile.report.garage import Failed
from fitprofile.report.numbers import number_of
from fitprofile.report.page import Text
from fitprofile.report.plan_words import (
    FREE_ALONE,
    KINDS,
    for_good,
    lost_words,
    misses,
    money,
    time_words,
)
from fitprofile.report.shopping import Chosen, also_needed, listed, wanted
from fitprofile.report.swap import (
    FAILING,
    SETTINGS,
    caution_lines,
    change_words,
    mark_lines,
    seen_words,
    stay_lines,
)
from fitprofile.report.terminal import NARROWEST, WIDTH, problem_lines, table
from fitprofile.report.trials import trials
from fitprofile.report.wording import ARROW, MM, NUMBERS, bare, figure, inches, joined
from fitprofile.stages.misfit import INSIDE
from fitprofile.stages.plan import Plan
from fitprofile.stages.sharing import Shared
from fitprofile.stages.survey import Surveyed


def shopping_text(
    chosen: Sequence[Chosen], failed: Sequence[Failed], currency: str, width: int = WIDTH
) -> str:
    """Parts with count, price and sum; then each bike's plan, and what no part mends."""
    parts = wanted(chosen)
    rows = [
        (
            one.name,
            KINDS[one.kind],
            str(one.count),
            money(one.price, currency),
            money(one.total, currency),
            ", ".join(one.bikes),
        )
        for one in parts
    ]
    total = f"{money(fsum(one.total for one in parts), currency)} for "
    total += _parts(sum(one.count for one in parts))
    work = time_words(fsum(one.plan.minutes for one in chosen))
    lines = [
        *(table(("part", "kind", "", "each", "sum", "for"), rows) if rows else ()),
        f"{total if listed(chosen) else FREE_ALONE}, {work} of work",
    ]
    for one in chosen:
        lines += ["", *_bought(one, width)]
    for lost in failed:
        lines += ["", lost.name]
        for problem in lost.problems:
            lines += _wrapped(problem.sentence(), width, "  ")
    return "\n".join(lines) + "\n"


def _parts(count: int) -> str:
    return f"{count} part{'' if count == 1 else 's'}"


def _bought(one: Chosen, width: int) -> Iterator[str]:
    plan = one.plan
    asked = "" if one.asked else " (the one asked for is not there)"
    yield from _wrapped(f"{one.transfer.bike.name}: {plan.name}{asked}, {one.cost}", width)
    off = misses(one.transfer, plan)
    inside = "inside every tolerance" if plan.inside else f"outside: {'; '.join(off)}"
    yield from _wrapped(inside, width, "  ")
    if not plan.inside:
        for words in lost_words(one.transfer):
            yield from _wrapped(words, width, "  ")
    for words in also_needed(one):
        yield from _wrapped(f"also: {words}", width, "  ")
    if plan.cannot_undo:
        yield from _wrapped(f"cannot be undone: {joined(for_good(plan))}", width, "  ")


def swap_text(shared: Shared, problems: Sequence[Problem], width: int = WIDTH) -> str:
    """Each setting for both riders, marks, numbers, and what stays."""
    first, second = shared.first, shared.second
    rows = []
    for one in shared.settings:
        words, unit = seen_words(one)
        values = (figure(value, unit) for value in (one.seen_first, one.seen_second))
        rows.append((SETTINGS[one.what][0], words, *values, change_words(one)))
    numbers = [
        (
            NUMBERS[key][0],
            _reached(shared.first_plan, key),
            _reached(shared.second_plan, key),
            "",
        )
        for key in NUMBERS
        if key in {**shared.first_plan.deviations, **shared.second_plan.deviations}
    ]
    lines = [
        *_wrapped(f"{first.bike.name}: from A to B", width),
        *_wrapped(f"A is {first.rider.name}, {first.use}", width, "  "),
        *_wrapped(f"B is {second.rider.name}, {second.use}", width, "  "),
        "",
        *table(("", "seen as", "A", "B", "from A to B"), rows),
        "",
        *(line for words in mark_lines(shared) for line in _wrapped(words, width)),
        "",
        *table(("* outside tolerance", "A", "B", ""), numbers),
        "",
        *(line for words in stay_lines(shared) for line in _wrapped(_plain(words), width)),
        *_failing(caution_lines(shared), width),
        "Torque and every stop check after every swap.",
        *_told(problems, width),
    ]
    return "\n".join(lines) + "\n"


def _reached(plan: Plan, key: str) -> str:
    """A number once set, with a star where it is outside."""
    if key not in plan.deviations:
        return ""
    shown = number_of(plan.after, key)
    value = figure(shown, NUMBERS[key][1]) if isfinite(shown) else "out of reach"
    return value if abs(plan.deviations[key]) <= INSIDE else f"{value} *"


def dry_fit_text(chosen: Chosen, problems: Sequence[Problem], width: int = WIDTH) -> str:
    """What to stack and set, which hoses are expected to fail, and how near the hands come."""
    made, plan = chosen.transfer, chosen.plan
    asked = "" if chosen.asked else " (the one asked for is not there)"
    use = f"{chosen.use}, standing" if chosen.stands else chosen.use
    head = f"{made.rider.name} on {made.bike.name}, {use}: {plan.name}{asked}, {chosen.cost}"
    lines = [*_wrapped(head, width), "", "Try it like this:"]
    if not trials(chosen):
        lines.append("  nothing: the bike stays as it is")
    for one in trials(chosen):
        span = f"{one.seen} {bare(one.start, one.unit)} {ARROW} {bare(one.end, one.unit)}"
        what = f"{one.what}: {one.how}; " if one.what else "  "
        lines += _wrapped(f"{what}{span}", width, "  ")
    hoses = [
        (
            one.words.partition(":")[0],
            figure(one.value, MM, signed=True),
            figure(one.limit, MM),
            expected(one),
        )
        for one in hose_checks(chosen)
    ]
    near = [
        (one.words.removesuffix(", lock to lock"), figure(one.value, MM), "", expected(one))
        for one in clearance_checks(chosen)
    ]
    lines += ["", *table(("turned lock to lock", "longer by", "spare", ""), hoses)] if hoses else []
    lines += ["", *table(("room at full lock", "", "", ""), near)] if near else []
    return "\n".join([*lines, *_told(problems, width)]) + "\n"


def _failing(lines: Sequence[Text], width: int) -> Iterator[str]:
    """Checks that fail, under a heading of their own."""
    if lines:
        yield from ("", f"Checks that {FAILING}:")
    for words in lines:
        yield from _wrapped(_plain(words), width, "  ")
    if lines:
        yield ""


def put_back_text(
    bike: Bike, surveyed: Surveyed, problems: Sequence[Problem], width: int = WIDTH
) -> str:
    """The bike as found, and the order in which it goes back."""
    points = [
        (
            one.words,
            figure(one.up, MM),
            figure(one.ahead, MM),
            figure(one.across, MM) if one.across else "in the middle",
        )
        for one in found_points(bike, surveyed)
    ]
    figures = [
        (one.words, figure(one.value, one.unit), inches(one.value) if one.unit == MM else "")
        for one in found_figures(bike, surveyed)
    ]
    lines = [
        *_wrapped(bike.name, width),
        "",
        *table(("as found", "above floor", "ahead", "across"), points),
        "",
        *table(("", "", ""), figures),
        "",
        "Back in this order:",
        *(
            line
            for number, words in enumerate(order_back(bike), start=1)
            for line in _wrapped(f"{number}. {words}", width, "  ")
        ),
        *_told(problems, width),
    ]
    return "\n".join(lines) + "\n"


def _told(problems: Sequence[Problem], width: int) -> Iterator[str]:
    """What is wrong, without notes: the transfer sheet has those."""
    yield from problem_lines((one for one in problems if one.level != NOTE), width)


def _plain(words: Text) -> str:
    return "".join(span.text for span in words)


def _wrapped(words: str, width: int, first: str = "") -> list[str]:
    """Words in lines of a terminal's width."""
    return wrap(
        words,
        max(width, NARROWEST),
        initial_indent=first,
        subsequent_indent=f"{first}  ",
        break_on_hyphens=False,
    )
