"""The best mix for the page, reckoned in a process of its own: the library that it takes would stay in memory here."""

import json
import subprocess
import sys
from collections.abc import Sequence
from threading import Lock

from supervisor.metal.programme import Programme, Solved, as_json
from supervisor.refusal import InputRefused

AT_MOST_S = 60.0
"""More than a slow computer needs to fetch the library and to solve a few of them."""

_one_at_a_time = Lock()


def solve_in_a_child(programmes: Sequence[Programme]) -> list[Solved | None]:
    """Solve them; a Solver. One at a time: a computer of this size has no memory for more.

    Raises:
        InputRefused: it did not come to an end.
    """
    command = (sys.executable, "-m", "supervisor.metal.programme")
    with _one_at_a_time:
        try:
            done = subprocess.run(
                command, input=as_json(programmes), capture_output=True, text=True, timeout=AT_MOST_S, check=True
            )
            return [None if each is None else Solved(*each) for each in json.loads(done.stdout)]
        except (OSError, subprocess.SubprocessError, ValueError) as error:
            raise InputRefused("The best mix was not reckoned: its process did not answer. Try again.") from error
