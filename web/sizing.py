"""Sizing for the page, asked of the command in a process of its own: what it fetches would stay in memory here."""

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from functools import lru_cache
from threading import Lock
from typing import Any, NamedTuple

from supervisor.alarms.cautions import Caution, all_cautions
from supervisor.refusal import InputRefused
from supervisor.sizing import alloys, bricks, circuits
from web.book import Units

CHILD_S = 60.0
"""More than a slow computer needs."""
LONGEST = 80
LAYERS = 3
"""Of a wall, as many as the page has fields for."""

CAUTIONS = ("mains", "not-the-protection", "distance", "concrete", "fire", "hot-surfaces")

TEMPERATURES = frozenset({"target", "room", "pour"})
ELEMENT = (
    "volts", "breaker", "place", "rule", "allowed", "shape", "across", "depth", "target", "room", "metal", "pot",
    "pour", "ramp", "power", "load", "seen", "groove", "rounds", "elements", "join", "gauges", "wire",
)  # fmt: skip
COIL = (
    "volts", "breaker", "place", "rule", "allowed", "alloy", "factors", "wire", "length", "cold", "turns", "outside",
    "per_length", "ratio", "stretched", "rounds", "groove", "target", "seen",
)  # fmt: skip
Form = Mapping[str, str]


class Reckoned(NamedTuple):
    """The command's answer, or the sentence with which it refused; and the command, to type it elsewhere."""

    answer: dict[str, Any] | None
    refused: str
    words: tuple[str, ...]

    @property
    def command(self) -> str:
        """As one line."""
        return " ".join(["meltkeeper", "size", *(f"'{word}'" if " " in word else word for word in self.words)])


def element(form: Form, walls: Sequence[str], lids: Sequence[str], of: Sequence[str], units: Units) -> Reckoned:
    """Size an element by what was typed."""
    many = {"wall": _layers(walls), "lid": _layers(lids), "alloy": [each.strip() for each in of if each.strip()]}
    return _reckon("element", form, ELEMENT, many, units)


def coil(form: Form, units: Units) -> Reckoned:
    """What a coil gives by what was typed."""
    return _reckon("coil", form, COIL, {}, units)


def choices() -> dict[str, Any]:
    """What the page offers to choose from."""
    return {
        "places": {name: rule.words for name, rule in circuits.rules().items()},
        "materials": {name: words for name, (_, words) in bricks.WORDS.items()},
        "alloys": {name: words for name, (_, words) in alloys.WORDS.items()},
        "factor_choices": [(name, name) for name in alloys.FACTORS],
    }


def cautions() -> list[Caution]:
    """What is said at the moment of wiring, heat and supply, and of where the furnace stands."""
    return [each for each in all_cautions() if each.id in CAUTIONS]


def _layers(typed: Sequence[str]) -> list[str]:
    """'114' and '23' of two fields beside each other are '114: 23'; what has no thickness is no layer."""
    pairs = zip(typed[::2], typed[1::2], strict=False)
    return [f"{thick.strip()}: {material.strip()}" for thick, material in pairs if thick.strip()]


def _reckon(kind: str, form: Form, names: Sequence[str], many: Mapping[str, Sequence[str]], units: Units) -> Reckoned:
    words = [kind]
    for name in names:
        typed = form.get(name, "").strip()[:LONGEST]
        if typed and name in TEMPERATURES and units == "F" and typed[-1].isdigit():
            typed += " F"
        if typed:
            words.append(f"--{name.replace('_', '-')}={typed}")
    words += [f"--{name}={each[:LONGEST]}" for name, given in many.items() for each in given[:6]]
    try:
        answer, refused = _asked(tuple(words))
    except InputRefused as problem:
        answer, refused = None, str(problem)
    return Reckoned(None if answer is None else json.loads(answer), refused, tuple(words))


_ONE = Lock()


@lru_cache(maxsize=16)
def _asked(words: tuple[str, ...]) -> tuple[str | None, str]:
    """JSON, or why not. One at a time: each takes a processor for some seconds.

    Raises:
        InputRefused: it did not come to an end.
    """
    asked = (sys.executable, "-m", "supervisor.cli", "size", *words, "--json")
    try:
        with _ONE:
            done = subprocess.run(asked, capture_output=True, text=True, timeout=CHILD_S, check=False)
    except (OSError, subprocess.SubprocessError) as error:
        raise InputRefused("It could not be reckoned: the process for it did not answer. Try again.") from error
    if done.returncode == 0:
        return done.stdout, ""
    if done.returncode == 2:
        return None, done.stderr.strip()[-400:]
    raise InputRefused("It could not be reckoned: the process for it failed. Try again.")
