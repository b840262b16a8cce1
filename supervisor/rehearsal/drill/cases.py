"""Which fault is put in when: names for every injected fault of the table, and a plan drawn from a seed."""

from collections.abc import Iterable, Sequence
from random import Random
from typing import NamedTuple

from supervisor.watches.row import Injected, Moment, Row
from supervisor.watches.rows import ROWS


class Target(NamedTuple):
    """One injected fault of one row."""

    row_name: str
    row: Row
    injected: Injected


class Case(NamedTuple):
    """One fault, once. share: of the moment's usual length that has gone when it comes."""

    number: int
    label: str
    when: Moment
    share: float


def _labels() -> dict[str, Target]:
    found: dict[str, Target] = {}
    for row_name, row in ROWS.items():
        names = [injected.name for injected in row.faults]
        for injected in row.faults:
            label = row_name
            if len(names) > 1:
                label = injected.name
            if names.count(injected.name) > 1 and injected.value is not None:
                label = f"{injected.name}_{abs(injected.value):g}"
            found[label] = Target(row_name, row, injected)
    return found


TARGETS = _labels()
"""By the name that a fault has in figures: its row's where that has but one, else its own."""

USUALLY_S: dict[Moment, float] = {"start": 0.0, "gate": 20.0, "arrest": 240.0, "hold": 2400.0, "idle": 600.0}
"""How long a moment lasts at least, as a rule. A ramp is as long as the profile makes it."""


def plan(labels: Iterable[str], each: int, seed: int) -> list[Case]:
    """So many cases of each, spread evenly over the moments at which the fault can come."""
    dice = Random(f"{seed} cases")
    cases: list[Case] = []
    for label in labels:
        moments = TARGETS[label].row.when
        first = dice.randrange(len(moments))
        for number in range(each):
            when = moments[(first + number) % len(moments)]
            cases.append(Case(len(cases), label, when, dice.uniform(0.03, 0.97)))
    dice.shuffle(cases)
    return cases


def dealt(cases: Sequence[Case], hands: int) -> list[list[Case]]:
    """The cases dealt out to so many firings."""
    found: list[list[Case]] = [[] for _ in range(max(1, hands))]
    for number, case in enumerate(cases):
        found[number % len(found)].append(case)
    return [hand for hand in found if hand]
