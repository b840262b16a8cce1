"""A supervisor that the machine held up before anything was tried: it tripped, as it must, and nothing was shown.

A stall of a second is enough, of a processor or a disk that others use. What was set up is then set up again, from
nothing and a bounded number of times, and the number is told. Nothing that comes after the set-up is done twice.
"""

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

Result = TypeVar("Result")

SET_UPS = 3
"""So often at most; the last one counts, whatever it comes to."""
AGAIN = "set up again"
"""The property of a test that says how often it was."""


class Tripped(AssertionError):
    """The supervisor tripped while something was set up."""


class HeldUp(Tripped):
    """The machine held it up: it tripped for that and nothing else, or took too long to begin."""


def in_fresh_directories(prefix: str, once: Callable[[Path], Result]) -> tuple[Result, int]:
    """Do it in a directory of its own, and in another when it was held up; what it gave, and how often it was.

    Raises:
        HeldUp: it was each time.
    """
    again = 0
    while True:
        try:
            with tempfile.TemporaryDirectory(prefix=prefix) as directory:
                return once(Path(directory)), again
        except HeldUp:
            again += 1
            if again == SET_UPS:
                raise
