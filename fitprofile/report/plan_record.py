"""Plans as plain dicts, ready for JSON."""

from __future__ import annotations

from math import isfinite
from typing import Any

from fitprofile.report.record import plain
from fitprofile.stages.check import Check
from fitprofile.stages.offer import Offer, Offers
from fitprofile.stages.plan import PlanStep
from fitprofile.stages.remedy import Remedy


def plan_records(offers: Offers) -> list[dict[str, Any]]:
    """``plans`` of ``transfer --json``, in the order free, cheapest, quickest, closest.

    ``deviations`` are in units of each number's tolerance; ``None``: the number is not there.
    """
    return [_plan(offer) for offer in offers.offers]


def remedy_records(offers: Offers) -> list[dict[str, Any]]:
    """``missing_parts``: what would mend the numbers that the closest plan leaves outside."""
    return [_remedy(one) for one in offers.remedies]


def _plan(offer: Offer) -> dict[str, Any]:
    plan = offer.plan
    standing = {use: plain(shown) for use, shown in offer.standing.items()}
    return {
        "name": plan.name,
        "parts": [part.name for part in plan.choice.parts()],
        "steps": [_step(step) for step in plan.steps],
        "after": plain(plan.after),
        "points_after": plain(
            {
                name: getattr(plan.points, name)
                for name in ("seat", "peg", "clamp", "grip_end", "grip_inner")
            }
        ),
        "deviations": _misfits(plan.deviations),
        "inside": plan.inside,
        "chance": plain(plan.chance),
        "price": plan.price,
        "minutes": plan.minutes,
        "cannot_undo": list(plan.cannot_undo),
        "leave": list(plan.leave),
        "checks": [_check(check) for check in offer.checks],
        "other_uses": {use: _misfits(found) for use, found in offer.others.items()},
        **({"standing": standing} if standing else {}),
    }


def _step(step: PlanStep) -> dict[str, Any]:
    return {
        "what": step.what,
        "from": plain(step.start),
        "to": plain(step.end),
        "change": plain(step.change),
        "unit": step.unit,
        "part": step.part,
    }


def _check(check: Check) -> dict[str, Any]:
    return {
        "what": check.what,
        "words": check.words,
        "value": plain(check.value),
        "limit": plain(check.limit),
        "unit": check.unit,
        "at_least": check.least,
        "ok": check.ok,
        "why": check.why,
    }


def _remedy(remedy: Remedy) -> dict[str, Any]:
    return {
        "kind": remedy.kind,
        "figures": {name: list(span) for name, span in remedy.figures.items()},
        "mends": list(remedy.mends),
    }


def _misfits(found: Any) -> dict[str, float | None]:
    return {name: float(value) if isfinite(value) else None for name, value in found.items()}
