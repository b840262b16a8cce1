"""Options of `meltkeeper size`: text on the command line, read as numbers with units where they are used."""

from collections.abc import Callable, Mapping
from typing import TypeVar

import click

from supervisor.refusal import InputRefused
from supervisor.sizing import quantities as q
from supervisor.sizing.asked import Field

Command = TypeVar("Command", bound=Callable[..., None])

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON; docs/sizing.md lists the names.")


def texts(*options: tuple[str, str]) -> Callable[[Command], Command]:
    """Options with their help, in this order; what is not given is an empty text."""

    def add(function: Command) -> Command:
        for name, words in reversed(options):
            function = click.option(f"--{name}", name.replace("-", "_"), default="", help=words)(function)
        return function

    return add


def read(typed: Mapping[str, str], name: str, fields: Mapping[str, Field]) -> float | None:
    """A field, its usual value, or None.

    Raises:
        InputRefused: it cannot be.
    """
    text, field = typed.get(name, "").strip(), fields[name]
    return q.read(text, field.kind, name, field.least, field.most) if text else field.usual


def must(typed: Mapping[str, str], name: str, fields: Mapping[str, Field]) -> float:
    """A field that has to be there.

    Raises:
        InputRefused: it is missing, or cannot be.
    """
    found = read(typed, name, fields)
    if found is None:
        field = fields[name]
        raise InputRefused(f"{name} is missing; allowed: {field.kind.words} of {q.span(*field[:3])}")
    return found
