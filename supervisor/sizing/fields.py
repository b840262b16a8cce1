"""Fields as typed: what each may hold, and how it is read. Command, page and sums share it."""

from collections.abc import Mapping
from typing import NamedTuple

from supervisor.refusal import InputRefused
from supervisor.sizing import quantities as q

Typed = Mapping[str, str]
"""Fields as typed; what was left empty is not in it."""


class Field(NamedTuple):
    """One field: its kind, what is allowed, and what is taken when it is empty."""

    kind: q.Kind
    least: float
    most: float
    usual: float | None = None  # None: it must be given where it is asked for


def read(typed: Typed, name: str, fields: Mapping[str, Field]) -> float | None:
    """A number, its usual value, or None.

    Raises:
        InputRefused: it cannot be.
    """
    text, field = typed.get(name, "").strip(), fields[name]
    return q.read(text, field.kind, _words(name), field.least, field.most) if text else field.usual


def must(typed: Typed, name: str, fields: Mapping[str, Field]) -> float:
    """A number that has to be there, or has a usual value.

    Raises:
        InputRefused: it is missing, or cannot be.
    """
    found = read(typed, name, fields)
    if found is None:
        field = fields[name]
        raise InputRefused(f"{_words(name)} is missing; allowed: {field.kind.words} of {q.span(*field[:3])}")
    return found


def _words(name: str) -> str:
    return name.replace("_", " ")
