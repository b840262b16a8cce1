"""Numbers as people type them: a decimal comma is as good as a point, and what is no number gets a sentence."""

from math import isfinite
from typing import Any

import click


def _read(of: "click.ParamType[Any]", value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
    try:
        number = float(str(value).strip().replace(",", "."))
    except ValueError:
        number = float("nan")
    if not isfinite(number):
        of.fail(f"{value!r}; allowed: a number, as 1.5 or 1,5", param, ctx)
    return number


class Number(click.types.FloatParamType):
    """Any number; what it may be is said by whoever takes it."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read it; NaN and infinity are no numbers."""
        return _read(self, value, param, ctx)


class NumberIn(click.FloatRange):
    """A number within limits."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read it and hold it against the limits."""
        return float(super().convert(_read(self, value, param, ctx), param, ctx))


NUMBER = Number()
