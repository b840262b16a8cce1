"""A few rehearsals from which the furnace is learned before the one that matters: for whoever has no furnace yet."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from supervisor.logbook.directory import open_directory
from supervisor.logbook.learning import Models, models
from supervisor.logbook.lesson import Lesson, NothingNew, lesson
from supervisor.logbook.reading import open_log
from supervisor.logbook.scribe import Scribe
from supervisor.rehearsal.rehearse import BEGINS_UTC_MS, DAY_MS, Wish, rehearse

WHO = "rehearsal"

Tell = Callable[[int, float, float | None], None]
"""Called every simulated minute with the rehearsal's number, seconds and reading."""


class Taught(NamedTuple):
    """What came of it: the lesson, if there was anything to learn from, and what the log holds now."""

    lesson: Lesson | NothingNew
    known: Models


def teach(wish: Wish, directory: Path, count: int, *, meter: bool, tell: Tell | None = None) -> Taught:
    """Rehearse the wish's profile `count` times without faults, on the same furnace, and learn from it.

    The model is kept in the directory's log; where the rule would ask for a person at the furnace, it waits there.

    Raises:
        InputRefused: the directory belongs to another furnace, or is in use.
    """
    for number in range(1, count + 1):
        ordinary = replace(wish, seed=wish.seed + number, absent=(), faults=(), answer_after_s=5.0)

        def told(seconds: float, reading_c: float | None, number: int = number) -> None:
            if tell is not None:
                tell(number, seconds, reading_c)

        rehearse(ordinary, directory, told)
    with open_log(directory) as log:
        learned = lesson(log, wish.furnace, meter=meter)
        firings = log.next_firing_id() - 1
    if isinstance(learned, Lesson):
        at_ms = BEGINS_UTC_MS + DAY_MS * firings
        with (
            open_directory(directory, backend="simulated", furnace=wish.furnace.name) as data,
            Scribe(data, boot_id="rehearsal", utc_ms=lambda: at_ms, threaded=False) as scribe,
        ):
            scribe.put([learned.row(adopted=not learned.objections, who=WHO, where=WHO)])
    with open_log(directory) as log:
        return Taught(learned, models(log, wish.furnace))
