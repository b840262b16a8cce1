"""The whole drill: learn some furnaces, put faults into firings on them, then fire them in good health."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import nullcontext
from dataclasses import dataclass, field
from functools import partial
from math import ceil
from typing import TypeVar

from supervisor.rehearsal.drill.cases import TARGETS, Case, dealt, plan
from supervisor.rehearsal.drill.firings import Faulty, Healthy, faulty, without_fault
from supervisor.rehearsal.drill.hit import Hit
from supervisor.rehearsal.drill.subject import NOTHING_KNOWN, Known, Subject, learn

CASES_A_FIRING, MOST_CASES_A_FIRING, ENOUGH_FIRINGS = 24, 96, 12
"""Cases share the firing they are put into: where there are a dozen firings already, more cases go into each."""
CASES_A_FURNACE, HOURS_A_FURNACE = 48, 24.0
ENOUGH_FURNACES, MOST_FURNACES = 6, 24
"""From six furnaces on, more are made only for as many firings as would go on one: to learn one takes three melts."""
LESS_OFTEN = 4
"""What no watch can be counted on to notice gets a case for each so many of the others: its rate is measured."""
ROUNDS = 6
USUAL_HOURS = 2.5  # of a healthy firing

Task = TypeVar("Task")
Done = TypeVar("Done")

Tell = Callable[[str, float, float], None]
"""What is being done, how much of it, of how much."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be drilled. faults: labels; empty: all that this furnace can have. quick: short healthy firings."""

    subject: Subject
    cases: int
    hours: float
    seed: int
    faults: tuple[str, ...] = ()
    workers: int = 1
    quick: bool = False


@dataclass(slots=True)
class Drilled:
    """Everything that came of it."""

    wish: Wish
    learned: bool
    furnaces: int
    hits: list[Hit] = field(default_factory=list)
    left: list[Case] = field(default_factory=list)  # their moment never came, in several firings
    healthy: list[Healthy] = field(default_factory=list)
    undisturbed: list[Healthy] = field(default_factory=list)  # what the faults were put into copies of


@dataclass(frozen=True, slots=True)
class _Firing:
    """One firing to be done."""

    furnace_seed: int
    seed: int
    known: Known
    cases: tuple[Case, ...] = ()


def labels(of: Subject, *, learned: bool) -> tuple[list[str], list[str]]:
    """The faults that a watch must notice on this furnace, and those of which only the rate can be measured."""
    sure: list[str] = []
    unsure: list[str] = []
    for label, target in TARGETS.items():
        if target.row.part is not None and target.row.part not in of.fitted:
            continue
        (sure if target.row.detectable(of.fitted, learned=learned) else unsure).append(label)
    return sure, unsure


def drill(wish: Wish, tell: Tell) -> Drilled:
    """Do it all; the same for the same seed, whatever the number of workers."""
    with ProcessPoolExecutor(wish.workers) if wish.workers > 1 else nullcontext() as pool:

        def side_by_side(work: Callable[[Task], Done], tasks: Sequence[Task]) -> Iterator[Done]:
            yield from pool.map(work, tasks) if pool is not None else map(work, tasks)

        seeds = _furnaces(wish)
        known: list[Known] = []
        for one in side_by_side(partial(learn, wish.subject), seeds):
            known.append(one)
            tell("Learning furnaces", len(known), len(seeds))
        learned = any(one.adopted is not None for one in known)
        found = Drilled(wish, learned, len(seeds))
        furnaces = list(zip(seeds, known or [NOTHING_KNOWN], strict=True))
        _faults(wish, found, furnaces, side_by_side, tell)
        _healthy(wish, found, furnaces, side_by_side, tell)
    return found


def _furnaces(wish: Wish) -> list[int]:
    few = min(ENOUGH_FURNACES, wish.cases / CASES_A_FURNACE)
    many = wish.cases / CASES_A_FURNACE * CASES_A_FIRING / MOST_CASES_A_FIRING
    count = max(few, many, wish.hours / HOURS_A_FURNACE)
    return [1000 * wish.seed + number for number in range(min(MOST_FURNACES, max(1, ceil(count))))]


def _firings(cases: int) -> int:
    """Into how many firings so many cases are put."""
    return max(min(ENOUGH_FIRINGS, ceil(cases / CASES_A_FIRING)), ceil(cases / MOST_CASES_A_FIRING))


def _planned(wish: Wish, *, learned: bool) -> list[Case]:
    sure, unsure = labels(wish.subject, learned=learned)
    if wish.faults:
        sure, unsure = [name for name in wish.faults if name in (*sure, *unsure)], []
    each = ceil(wish.cases / len(sure)) if sure else 0
    return plan(sure, each, wish.seed) + plan(unsure, ceil(each / LESS_OFTEN), wish.seed + 1)


def _faults(
    wish: Wish,
    found: Drilled,
    furnaces: Sequence[tuple[int, Known]],
    side_by_side: Callable[..., Iterator[Faulty]],
    tell: Tell,
) -> None:
    waiting = _planned(wish, learned=found.learned)
    total, made = len(waiting), 0
    for _ in range(ROUNDS):
        if not waiting:
            return
        tasks = []
        for hand in dealt(waiting, _firings(len(waiting))):
            seed, known = furnaces[made % len(furnaces)]
            made += 1
            tasks.append(_Firing(seed, 10_000 * wish.seed + made, known, tuple(hand)))
        waiting = []
        for done in side_by_side(partial(_put_in, wish.subject), tasks):
            found.hits += done.hits
            found.undisturbed.append(done.undisturbed)
            waiting += done.left
            tell("Putting faults in", len(found.hits), total)
    found.left = waiting


def _put_in(of: Subject, task: _Firing) -> Faulty:
    return faulty(of, task.furnace_seed, task.seed, task.known, task.cases)


def _healthy(
    wish: Wish,
    found: Drilled,
    furnaces: Sequence[tuple[int, Known]],
    side_by_side: Callable[..., Iterator[Healthy]],
    tell: Tell,
) -> None:
    hours, made = 0.0, 0
    while hours < wish.hours:
        tasks = []
        for _ in range(max(1, ceil((wish.hours - hours) / USUAL_HOURS))):
            seed, known = furnaces[made % len(furnaces)]
            made += 1
            tasks.append(_Firing(seed, 10_000 * wish.seed + 5_000 + made, known))
        for done in side_by_side(partial(_fire, wish.subject, quick=wish.quick), tasks):
            found.healthy.append(done)
            hours += done.hours
            tell("Firing in good health", min(hours, wish.hours), wish.hours)


def _fire(of: Subject, task: _Firing, *, quick: bool) -> Healthy:
    return without_fault(of, task.furnace_seed, task.seed, task.known, quick=quick)
