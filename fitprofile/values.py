"""Frozen values: attrs classes that share one ``==``, one hash and one text, and have no slots.

attrs writes and compiles these three anew for each class, a fifth of a millisecond apiece, and for
slots it makes each class twice, a tenth; over the hundred classes that one transfer imports that
is a tenth of the whole command. Nothing can be set on a frozen value either way.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import attrs

if TYPE_CHECKING:
    from attrs import frozen as frozen  # noqa: PLC0414 - type checkers know attrs' own
else:

    def frozen(maybe_cls: type | None = None, **options: Any) -> type | Callable[[type], type]:
        """As `attrs.frozen`; with ``eq=False`` two values are the same only if they are one."""

        def made(cls: type) -> type:
            if options.get("eq", True):
                cls.__eq__, cls.__hash__ = _same, _hash
            cls.__repr__ = _text
            return attrs.frozen(cls, **{"slots": False, **options})

        return made if maybe_cls is None else made(maybe_cls)


def _same(value: Any, other: Any) -> bool:
    """Equal class and equal fields, each compared as its field says."""
    if other.__class__ is not value.__class__:
        return False
    for part in attrs.fields(value.__class__):
        mine, its = getattr(value, part.name), getattr(other, part.name)
        if part.eq_key is not None:
            mine, its = part.eq_key(mine), part.eq_key(its)
        if part.eq and mine is not its and mine != its:
            return False
    return True


def _hash(value: Any) -> int:
    compared = (part for part in attrs.fields(value.__class__) if part.eq)
    return hash((value.__class__, *(getattr(value, part.name) for part in compared)))


def _text(value: Any) -> str:
    shown = (f"{one.name}={getattr(value, one.name)!r}" for one in attrs.fields(value.__class__))
    return f"{type(value).__name__}({', '.join(shown)})"
