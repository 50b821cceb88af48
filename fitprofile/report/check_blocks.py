"""Workshop checks of a plan: figure, limit and verdict, worst first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from math import isfinite
from string import ascii_lowercase

from fitprofile.report.page import (
    FIGURE,
    TICK,
    Block,
    Cell,
    Heading,
    Paragraph,
    Row,
    Span,
    Table,
    Text,
    small,
    strong,
    text,
    user,
)
from fitprofile.report.wording import DEG, SPACE, figure
from fitprofile.stages.check import Check

FAILS, LOOK, FINE = "fails", "look", "ok"
VERDICTS = {False: FAILS, None: LOOK, True: FINE}

LAW = "law"
LONG = 30
"""Characters from which a clause that comes again is told once."""

SLIGHT = 0.5
"""mm or degrees by which a figure may differ and still be as found."""


def check_blocks(checks: Sequence[Check], found: Sequence[Check]) -> tuple[Block, ...]:
    """Heading, a row for each check that fails or has to be looked at, and the others in a line.

    Parameters
    ----------
    checks : sequence of Check
        Of the plan.
    found : sequence of Check
        Of the bike as it was found; what fails there already is marked.
    """
    if not checks:
        return ()
    was = {one.what: one for one in found}
    merged = together(worst_first(checks))
    open_ones = [group for group in merged if group[0].ok is not True]
    often = said_often([group[0].why for group in open_ones])
    counts = {name: sum(VERDICTS[one.ok] == name for one in checks) for name in VERDICTS.values()}
    remark = f"{counts[FAILS]} fail, {counts[LOOK]} to look at, {counts[FINE]} ok; worst first"
    table = Table(
        caption="Workshop checks that fail or have to be looked at, with figure and limit",
        head=("", "Check", "", "Figure", "Limit", "How it comes about, what to do"),
        rows=tuple(_row(group, was, often) for group in open_ones),
        kind="checks",
    )
    fine = [group for group in merged if group[0].ok is True]
    return (
        Heading("Workshop checks", remark),
        *((table,) if open_ones else ()),
        *(_said_once(often) if often else ()),
        *((_fine(fine),) if fine else ()),
        *_law(checks),
    )


CLAUSE = "; "


def said_often(sentences: Sequence[str]) -> dict[str, str]:
    """Clauses that stand in several sentences, each with the letter it is told under."""
    counted = Counter(clause for one in sentences for clause in set(one.split(CLAUSE)))
    told = dict.fromkeys(clause for one in sentences for clause in one.split(CLAUSE))
    often = [clause for clause in told if counted[clause] > 1 and len(clause) > LONG]
    return dict(zip(often, ascii_lowercase, strict=False))


def shortened(sentence: str, often: Mapping[str, str]) -> str:
    """A sentence with a letter in brackets for each clause that is told below."""
    clauses = sentence.split(CLAUSE)
    kept = CLAUSE.join(clause for clause in clauses if clause not in often)
    letters = ", ".join(often[clause] for clause in clauses if clause in often)
    return " ".join(part for part in (kept, f"({letters})" if letters else "") if part)


def _said_once(often: Mapping[str, str]) -> tuple[Block, ...]:
    words = CLAUSE.join(f"({letter}) {clause}" for clause, letter in often.items())
    return (Paragraph(text(small(f"{words}.")), "fine"),)


def worst_first(checks: Sequence[Check]) -> tuple[Check, ...]:
    """Checks that fail, the worst first, then those to look at, then the others as they came."""
    rank = {False: 0, None: 1, True: 2}
    return tuple(sorted(checks, key=lambda one: (rank[one.ok], -_excess(one))))


def _excess(check: Check) -> float:
    """How far a check that fails is beyond its limit, in its unit."""
    if check.ok is not False or not (isfinite(check.value) and isfinite(check.limit)):
        return 0.0
    return abs(check.value - check.limit)


def together(checks: Sequence[Check]) -> tuple[tuple[Check, ...], ...]:
    """Checks that differ in nothing but one word of their name, as left and right do."""
    groups: list[list[Check]] = []
    for one in checks:
        same = next((group for group in groups if _same(group[0], one)), None)
        if same is None:
            groups.append([one])
        else:
            same.append(one)
    return tuple(tuple(group) for group in groups)


def _same(one: Check, other: Check) -> bool:
    kinds = [check.what.partition(".")[0] for check in (one, other)]
    if kinds[0] != kinds[1] or one.ok is not other.ok or one.why != other.why:
        return False
    shown = [(figure(c.value, c.unit), figure(c.limit, c.unit), c.least) for c in (one, other)]
    return shown[0] == shown[1] and len(_differing(one.words, other.words)) == 1


def _differing(one: str, other: str) -> list[int]:
    """Places at which two lists of words, cut at commas, differ."""
    first, second = one.split(", "), other.split(", ")
    if len(first) != len(second):
        return [-1, -1]
    return [at for at, pair in enumerate(zip(first, second, strict=True)) if pair[0] != pair[1]]


def words_of(group: Sequence[Check]) -> str:
    """``brake pedal and gear lever: follows the peg``: what is alike stands once."""
    parts = group[0].words.split(", ")
    for one in group[1:]:
        (at,) = _differing(group[0].words, one.words)
        parts[at] = _both(parts[at], one.words.split(", ")[at])
    return ", ".join(parts)


def _both(one: str, other: str) -> str:
    """Two words that differ, with a tail behind a colon told once."""
    (first, _, tail), (second, _, same) = one.partition(": "), other.partition(": ")
    if tail != same:
        return f"{one} and {other}"
    return f"{first} and {second}{': ' if tail else ''}{tail}"


def figures(check: Check) -> tuple[str, str]:
    """A check's figure and its limit, empty where there is none.

    With a decimal where whole ones would hide that it fails.
    """
    shown = tuple(
        figure(one, check.unit) if isfinite(one) else "" for one in (check.value, check.limit)
    )
    if check.ok is False and shown[0] == shown[1]:
        sign = "°" if check.unit == DEG else f"{SPACE}mm"
        shown = tuple(f"{one:.1f}{sign}" for one in (check.value, check.limit))
    return shown[0], shown[1]


def limit_words(check: Check) -> str:
    """``at least 20 mm``; empty where there is none."""
    limit = figures(check)[1]
    return f"at {'least' if check.least else 'most'} {limit}" if limit else ""


def held_words(check: Check) -> str:
    """``18 mm, at least 20 mm``; empty where there is neither."""
    return ", ".join(part for part in (figures(check)[0], limit_words(check)) if part)


def as_found_words(check: Check, was: Check | None) -> str:
    """Whether a check that fails did so as found, and then by how much; empty where it did not."""
    if was is None or check.ok is not False or was.ok is not False:
        return ""
    if not (isfinite(check.value) and isfinite(was.value)):
        return "so as found"
    if abs(check.value - was.value) <= SLIGHT:
        return "so as found"
    worse = check.value < was.value if check.least else check.value > was.value
    before = figure(was.value, was.unit)
    return f"failed as found too ({before}), {'now worse' if worse else 'now less'}"


def _row(group: Sequence[Check], was: Mapping[str, Check], often: Mapping[str, str]) -> Row:
    check = group[0]
    before = as_found_words(check, was.get(check.what))
    return Row(
        (
            Cell(kind=TICK),
            Cell((text(user(words_of(group))),)),
            Cell((text(strong(VERDICTS[check.ok])),)),
            Cell((text(figures(check)[0]),), FIGURE),
            Cell((text(limit_words(check)),), FIGURE),
            Cell(
                (text(strong(f"{before}: " if before else ""), small(shortened(check.why, often))),)
            ),
        ),
        "fails" if check.ok is False else "look",
        heads=False,
    )


AT_LOCK = ", lock to lock"


def _fine(groups: Sequence[Sequence[Check]]) -> Paragraph:
    """What is inside its limit, in one paragraph, by limit."""
    by_limit: dict[str, list[Text]] = {}
    for group in groups:
        words, check = words_of(group), group[0]
        lead = limit_words(check)
        if words.endswith(AT_LOCK):
            words, lead = words.removesuffix(AT_LOCK), f"{AT_LOCK[2:]}, {lead}"
        shown = f" {figure(check.value, check.unit)}" if isfinite(check.value) else ""
        by_limit.setdefault(lead, []).append(text(user(words), shown))
    spans: list[Span] = []
    for lead, items in by_limit.items():
        spans += text(f"{lead}: " if lead else "")
        spans += [span for one in items for span in (*one, *text(", "))][:-1]
        spans += text("; ")
    return Paragraph(text(strong("ok: "), *spans[:-1], "."), "fine")


def _law(checks: Sequence[Check]) -> tuple[Block, ...]:
    if not any(one.what.partition(".")[0] == LAW for one in checks):
        return ()
    words = "Rows on law hold dated examples, not advice: check the law where you ride."
    return (Paragraph(text(strong(words)), "left"),)
