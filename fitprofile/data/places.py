"""Dated examples of law on bar height and width, by place; read only where a place is named."""

from __future__ import annotations

import pkgutil
from collections.abc import Mapping
from functools import cache
from typing import Any, NamedTuple

from fitprofile.errors import Problem

INCH = 25.4
"""mm, exactly (international yard and pound agreement, 1959)."""


DEPRESSED, UNDEPRESSED = "depressed", "undepressed"
"""How a law measures the seat: under the rider, or bare."""


class Rule(NamedTuple):
    """One figure of a law.

    Parameters
    ----------
    basis : str
        What it is counted from, as ``"grips above seat"``.
    limit_mm : float
    least : bool
        True: at least the limit. False: at most.
    wording : str
        The rule in short, nearly as it is written.
    section, dated, sure : str
        Where it stands, from when, and how well it is known here.
    seat : str
        `DEPRESSED`, `UNDEPRESSED`, or empty where the law does not say, or counts from elsewhere.
    """

    basis: str
    limit_mm: float
    least: bool
    wording: str
    section: str
    dated: str
    sure: str
    seat: str = ""


class Place(NamedTuple):
    """A state, country or city and its rules; ``note`` says why there are none."""

    name: str
    aliases: tuple[str, ...] = ()
    note: str = ""
    rules: tuple[Rule, ...] = ()


@cache
def places() -> tuple[Place, ...]:
    """Every place of the file, in its order."""
    import tomli

    content = pkgutil.get_data(__name__, "places.toml")
    if content is None:
        raise FileNotFoundError("the package was installed without fitprofile/data/places.toml")
    return tuple(_place(one) for one in tomli.loads(content.decode())["place"])


def find_place(name: str) -> Place | Problem:
    """The place of this name, whatever its capitals, or a problem that says what there is.

    The problem's file is left to who knows it.
    """
    known = {key.casefold(): one for one in places() for key in (one.name, *one.aliases)}
    asked = " ".join(name.casefold().split())
    if asked in known:
        return known[asked]
    from difflib import get_close_matches  # 4 ms that only a mistake has to pay

    near = get_close_matches(asked, known, n=1)
    if near:
        text = f"no law is known here for '{name}', did you mean '{known[near[0]].name}'?"
    else:
        names = ", ".join(one.name for one in places())
        text = (
            f"no law is known here for '{name}': take the key out, look the law up where you "
            f"ride, or name one of {names}"
        )
    return Problem(text, key="place")


def _place(raw: Mapping[str, Any]) -> Place:
    return Place(
        name=raw["name"],
        aliases=tuple(raw.get("aliases", ())),
        note=raw.get("note", ""),
        rules=tuple(_rule(one) for one in raw.get("rule", ())),
    )


def _rule(raw: Mapping[str, Any]) -> Rule:
    return Rule(
        basis=raw["basis"],
        limit_mm=float(raw["mm"]) if "mm" in raw else INCH * raw["inches"],
        least=raw.get("least", False),
        wording=raw["wording"],
        section=raw["section"],
        dated=raw["dated"],
        sure=raw["sure"],
        seat=raw.get("seat", ""),
    )
