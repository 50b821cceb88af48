"""What the cards print as JSON: full precision, names that carry their unit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import fsum, isfinite

from fitprofile.errors import Problem
from fitprofile.model.bike import Bike
from fitprofile.model.quantity import Reading
from fitprofile.report.as_came import fitted_parts, found_figures, found_points, order_back
from fitprofile.report.dry_fit import clearance_checks, expected, hose_checks
from fitprofile.report.garage import Failed
from fitprofile.report.numbers import number_of
from fitprofile.report.plan_words import lost_words
from fitprofile.report.record import Record, plain, problem_records
from fitprofile.report.shopping import Chosen, also_needed, wanted
from fitprofile.report.standing_card import standing_records
from fitprofile.report.trials import trials
from fitprofile.stages.check import Check
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.plan import Plan
from fitprofile.stages.sharing import Setting, Shared
from fitprofile.stages.survey import Surveyed

Problems = tuple[Problem, ...]


def shopping_record(
    rider: str,
    use: str | None,
    plan: str | None,
    chosen: Sequence[Chosen],
    failed: Sequence[Failed],
    currency: str,
    problems: Problems,
) -> Record:
    """What ``shopping --json`` prints; with no bike at all every list is empty.

    Parameters
    ----------
    plan : str or None
        The plan asked for; ``None``: what each bike's sheet prints.
    """
    parts = wanted(chosen)
    return {
        "rider": rider,
        "use": use,
        "plan": plan,
        "parts": [
            {
                "name": one.name,
                "kind": one.kind,
                "bikes": list(one.bikes),
                "count": one.count,
                "price": one.price,
                "sum": one.total,
            }
            for one in parts
        ],
        "price": fsum(one.total for one in parts),
        "minutes": fsum(one.plan.minutes for one in chosen),
        "currency": currency,
        "bikes": [_bought(one) for one in chosen],
        "missing": {one.key: problem_records(one.problems) for one in failed},
        "problems": problem_records(problems),
    }


def _bought(one: Chosen) -> Record:
    plan = one.plan
    return {
        "bike": one.transfer.bike.key,
        "bike_name": one.transfer.bike.name,
        "plan": plan.name,
        "as_asked": one.asked,
        "parts": [part.name for part in plan.choice.parts()],
        "price": plan.price,
        "minutes": plan.minutes,
        "inside": plan.inside,
        "deviations": _deviations(plan.deviations),
        "cannot_undo": list(plan.cannot_undo),
        "also_needed": list(also_needed(one)),
        "not_mended": [] if plan.inside else list(lost_words(one.transfer)),
    }


def _deviations(found: Mapping[str, float]) -> dict[str, float | None]:
    """In units of each number's tolerance; ``None``: the number is not there."""
    return {name: float(value) if isfinite(value) else None for name, value in found.items()}


def swap_record(
    bike: str,
    riders: tuple[str, str],
    uses: tuple[str | None, str | None],
    shared: Shared | None,
    problems: Problems,
) -> Record:
    """What ``swap --json`` prints; ``shared`` is ``None`` where it could not be worked out."""
    record: Record = {
        "bike": bike,
        "bike_name": None,
        "riders": [{"rider": key, "use": use} for key, use in zip(riders, uses, strict=True)],
        "settings": [],
        "width_kept": None,
        "stays": [],
    }
    if shared is not None:
        made = (
            (shared.first, shared.first_plan, shared.first_checks),
            (shared.second, shared.second_plan, shared.second_checks),
        )
        record |= {
            "bike_name": shared.first.bike.name,
            "riders": [_rider(*one) for one in made],
            "settings": [_setting(one) for one in shared.settings],
            "width_kept": shared.width_kept,
            "stays": [plain(one) for one in shared.stays],
        }
    return {**record, "problems": problem_records(problems)}


def _rider(made: Transfer, plan: Plan, checks: Sequence[Check]) -> Record:
    return {
        "rider": made.rider.key,
        "rider_name": made.rider.name,
        "use": made.use,
        "after": plain(plan.after),
        "target": plain(made.target),
        "deviations": _deviations(plan.deviations),
        "inside": plan.inside,
        "checks": [_check(one) for one in checks],
    }


def _setting(one: Setting) -> Record:
    return {
        "what": one.what,
        "unit": one.unit,
        "first": plain(one.first),
        "second": plain(one.second),
        "change": plain(one.change),
        "seen": one.seen,
        "seen_first": plain(one.seen_first),
        "seen_second": plain(one.seen_second),
        "diameter_mm": plain(one.diameter_mm),
        "apart_mm": plain(one.apart_mm),
        "usual": plain(one.usual),
    }


def _check(one: Check) -> Record:
    return {
        "what": one.what,
        "words": one.words,
        "value": plain(one.value),
        "limit": plain(one.limit),
        "unit": one.unit,
        "at_least": one.least,
        "ok": one.ok,
        "expected": expected(one),
        "why": one.why,
    }


def dry_fit_record(
    rider: str,
    bike: str,
    use: str | None,
    plan: str | None,
    chosen: Chosen | None,
    problems: Problems,
) -> Record:
    """What ``dryfit --json`` prints; ``chosen`` is ``None`` where there is no transfer."""
    record: Record = {
        "rider": rider,
        "bike": bike,
        "use": use,
        "plan": plan,
        "as_asked": None,
        "parts": [],
        "price": None,
        "minutes": None,
        "cannot_undo": [],
        "trials": [],
        "hoses": [],
        "clearances": [],
        "numbers": [],
    }
    if chosen is not None:
        made = chosen.plan
        record |= {
            "plan": made.name,
            "as_asked": chosen.asked,
            "parts": [part.name for part in made.choice.parts()],
            "price": made.price,
            "minutes": made.minutes,
            "cannot_undo": list(made.cannot_undo),
            "trials": [plain(one) for one in trials(chosen)],
            "hoses": [_check(one) for one in hose_checks(chosen)],
            "clearances": [_check(one) for one in clearance_checks(chosen)],
            "numbers": standing_records(chosen)
            if chosen.stands
            else [_number(chosen, key) for key in made.deviations],
        }
    return {**record, "problems": problem_records(problems)}


def _number(chosen: Chosen, key: str) -> Record:
    """One number: as wished, as the plan would give it, and its tolerance, mm or degrees."""
    return {
        "number": key,
        "wished": plain(number_of(chosen.transfer.target, key)),
        "expected": plain(number_of(chosen.plan.after, key)),
        "tolerance": chosen.transfer.tolerances.get(key.partition(".")[0]),
    }


def put_back_record(
    key: str, bike: Bike | None, surveyed: Surveyed | None, problems: Problems
) -> Record:
    """What ``putback --json`` prints; without a survey its lists are empty."""
    record: Record = {
        "bike": key,
        "bike_name": None if bike is None else bike.name,
        "state": None if bike is None else bike.state,
        "points": [],
        "figures": [],
        "fitted": [],
        "order": [],
    }
    if bike is not None and surveyed is not None:
        record |= {
            "points": [
                {
                    "point": one.name,
                    "above_floor_mm": one.up,
                    "ahead_mm": one.ahead,
                    "across_mm": one.across,
                    "on_stand": _raw(one.stand_up, one.stand_ahead),
                }
                for one in found_points(bike, surveyed)
            ],
            "figures": [plain(one) for one in found_figures(bike, surveyed)],
            "fitted": list(fitted_parts(bike)),
            "order": list(order_back(bike)),
        }
    return {**record, "problems": problem_records(problems)}


def _raw(up: Reading | None, ahead: Reading | None) -> Record | None:
    """What the tape read on the stand; ``None`` where the bike stood on its wheels."""
    if up is None and ahead is None:
        return None
    return {
        "above_floor_mm": None if up is None else up.value,
        "to_top": bool(up is not None and up.top),
        "ahead_mm": None if ahead is None else ahead.value,
    }
