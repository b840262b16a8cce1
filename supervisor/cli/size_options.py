"""Options of `meltkeeper size`: text on the command line, read as numbers with units where they are used."""

from collections.abc import Callable
from typing import TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., None])

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON; docs/sizing.md lists the names.")


def texts(*options: tuple[str, str]) -> Callable[[Command], Command]:
    """Options with their help, in this order; what is not given is an empty text."""

    def add(function: Command) -> Command:
        for name, words in reversed(options):
            function = click.option(f"--{name}", name.replace("-", "_"), default="", help=words)(function)
        return function

    return add
