"""What the bike does not allow, in words: what is needed, what it allows, what is missing."""

from __future__ import annotations

from collections.abc import Mapping

from fitprofile.report.numbers import number_rows
from fitprofile.report.verdict import printed_off
from fitprofile.report.wording import DEG, MM, SPACE, figure, named
from fitprofile.stages.limits import Limit
from fitprofile.stages.outcome import Transfer
from fitprofile.units import whole
from fitprofile.values import frozen

WAYS: Mapping[str, tuple[str, str, str]] = {
    "peg_move.x": ("Pegs", "back", "forward"),
    "peg_move.z": ("Pegs", "down", "up"),
}
"""Changes that are told by their direction: name, and the words for less and for more."""


@frozen
class LimitWords:
    """One limit for a reader: what changes, needed, allowed, missing, why; all in one, in brief."""

    name: str
    needed: str
    allowed: str
    missing: str
    why: str
    sentence: str
    brief: str


def limit_words(transfer: Transfer | None, limit: Limit) -> LimitWords:
    """A limit in words; figures add up as they are printed.

    ``transfer`` is that of the sheet on which the limit stands, so that both print the same
    figures; ``None`` where it stands by itself.
    """
    name, unit = named(limit.what)
    name = WAYS[limit.what][0] if limit.what in WAYS else name
    wanted, missing = _whole_figures(transfer, limit)
    needed, short = way(limit.what, wanted, unit), figure(missing, unit)
    allowed, why = _allowed(limit, unit), limit.reason
    if limit.slot_length_mm is not None:
        why = (
            f"the perch is pinned; to turn it {figure(abs(wanted), DEG)} the hole would become a "
            f"slot {figure(limit.slot_length_mm, MM)} long (cannot be undone)"
        )
    told = f"the bike allows {allowed}, {short} missing"
    if limit.allowed is None or limit.slot_length_mm is not None:
        told = why
    lead, brief = f"{name}: needs {needed}", f"{short} missing"
    if limit.allowed is None or limit.slot_length_mm is not None:
        brief = limit.reason.partition(";")[0]
    return LimitWords(name, needed, allowed, short, why, f"{lead}, {told}", f"{lead}, {brief}")


def _whole_figures(transfer: Transfer | None, limit: Limit) -> tuple[int, int]:
    """Needed and missing, whole mm or degrees, so that they agree with what else is printed."""
    if limit.allowed is None:
        return whole(limit.residual), abs(whole(limit.residual))
    part, _, side = limit.what.partition(".")
    end = limit.wanted - limit.residual
    if part != "lever_rotation" or transfer is None:
        return whole(limit.wanted), abs(whole(limit.wanted) - whole(end))
    rows = {row.key: row for row in number_rows(transfer)}
    off = printed_off(transfer, rows[f"lever_angle.{side}"])
    return whole(end) + off, abs(off)


def way(what: str, value: float, unit: str) -> str:
    """A change with its sign, or with the word for its direction: ``down 15 mm``."""
    if what not in WAYS or whole(value) == 0:
        return figure(value, unit, signed=True)
    _, less, more = WAYS[what]
    return f"{more if value > 0.0 else less}{SPACE}{figure(abs(value), unit)}"


def _allowed(limit: Limit, unit: str) -> str:
    if limit.allowed is None:
        return "no change does it"
    low, high = limit.allowed
    if low == high == 0.0:
        return "none"
    if limit.what in WAYS:
        return f"{way(limit.what, low, unit)} to {way(limit.what, high, unit)}"
    first, last = (figure(end, unit, signed=True) for end in (low, high))
    return f"{first.removesuffix(f'{SPACE}mm')} to {last}"
