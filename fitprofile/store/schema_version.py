"""Which schema a file says it follows."""

from __future__ import annotations

from fitprofile.errors import Problem
from fitprofile.store.toml import Document
from fitprofile.units import describe

CURRENT = 1
"""The schema that is read and written; the first there has been."""


def schema_problems(document: Document, *, required: bool) -> tuple[Problem, ...]:
    """What is wrong with ``schema = ...``; nothing where it is the current one."""
    if "schema" not in document.data:
        told = f"schema is missing: add schema = {CURRENT} at the top"
        return (document.problem(("schema",), told),) if required else ()
    version = document.data["schema"]
    if isinstance(version, bool) or not isinstance(version, int):
        told = f"{describe(version)} is no schema: write schema = {CURRENT}, a whole number"
    elif version > CURRENT:
        told = (
            f"this file follows schema {describe(version).removeprefix('the number ')}, and this "
            f"fitprofile reads up to {CURRENT}: use a newer fitprofile for it"
        )
    elif version < CURRENT:
        told = f"there is no schema below {CURRENT}: write schema = {CURRENT}"
    else:
        return ()
    return (document.problem(("schema",), told),)
