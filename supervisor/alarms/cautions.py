"""The cautions, from `cautions.toml`: what a person must be told at which moment, and where it comes from."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

MOMENTS = {
    "first_run": "at first run",
    "before_start": "before a start",
    "charge": "when charging",
    "lid": "when the lid opens",
    "pour": "at the pour",
    "complete": "when the firing is over",
    "wiring": "when wiring",
    "maintenance": "at maintenance",
}
"""Every moment at which cautions are shown, with the words for it."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: a title for a list, what to say, the moments it belongs to, and its basis."""

    id: str
    title: str
    say: str
    when: tuple[str, ...]
    basis: str


@cache
def all_cautions() -> tuple[Caution, ...]:
    """Every caution, in the order in which people should meet them."""
    rows = tomllib.loads(Path(__file__).with_name("cautions.toml").read_text(encoding="utf-8"))["caution"]
    return tuple(Caution(row["id"], row["title"], row["say"], tuple(row["when"]), row["basis"]) for row in rows)


def cautions(moment: str) -> tuple[Caution, ...]:
    """The cautions that belong to a moment, in order.

    Raises:
        ValueError: the moment is none of MOMENTS.
    """
    if moment not in MOMENTS:
        raise ValueError(f"moment is {moment!r}; allowed: {', '.join(MOMENTS)}")
    return tuple(caution for caution in all_cautions() if moment in caution.when)
