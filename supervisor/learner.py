"""After a melt the furnace is learned anew, by a process of its own that the loop never waits for.

It runs at the lowest priority, one at a time, never while a firing is on, and ends with the supervisor. What it learned
comes back over the link like anybody's command. That it failed is worth a line in the log and no more.
"""

import contextlib
import ctypes
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import IO

from hardware.clock import monotonic_s
from supervisor.logbook.records import EventRow, FiringClosed, FiringOpened, Record

WAITS_S = 10.0
"""Real seconds after the last word of a firing: its rows are on disk by then."""
AT_MOST_S = 1800.0
"""A lesson takes seconds, on a small computer minutes; one that takes longer is ended (our choice)."""
ENDS_WITHIN_S = 2.0
NICE = 19
EVENT = "learning"

_PR_SET_PDEATHSIG = 1
_LAST_WORDS = 300


class Learner:
    """Follows the records of the loop. One thread uses it: the loop's."""

    def __init__(self, furnace: str, data: Path, now_s: Callable[[], float] = monotonic_s) -> None:
        """furnace: name or file, as the supervisor was given it. data: the directory that the supervisor writes."""
        self._command = (sys.executable, "-m", "supervisor.learner", "--furnace", furnace, "--data", str(data))
        self._now_s = now_s
        self._has_metal = False
        self._poured = False
        self._closed = True
        self._due_s: float | None = None  # real time at which it begins; None: nothing to learn
        self._began_s = 0.0
        self._ending_s: float | None = None  # since when the process at work is asked to end
        self._put_off = False  # because a firing began, not because it took too long
        self._process: subprocess.Popen[bytes] | None = None
        self._said: IO[bytes] | None = None

    @property
    def pid(self) -> int | None:
        """Of the process at work."""
        return None if self._process is None else self._process.pid

    def see(self, records: Sequence[Record]) -> None:
        """Take a cycle's records: a firing teaches when it is closed and, with metal, its pour was noted."""
        for record in records:
            if isinstance(record, FiringOpened):
                self._has_metal, self._poured, self._closed = record.frozen.get("charge") is not None, False, False
            elif isinstance(record, FiringClosed):
                self._closed = True
                self._perhaps()
            elif isinstance(record, EventRow) and record.kind == "note" and record.detail.get("kind") == "pour":
                self._poured = True
                self._perhaps()

    def look(self, *, live: bool, t_ms: int) -> list[Record]:
        """Begin what is due, end what must not go on, and say what came of it. t_ms: process time, for the record."""
        if self._process is not None:
            return self._follow(self._process, live=live, t_ms=t_ms)
        if self._due_s is not None and not live and self._now_s() >= self._due_s:
            self._due_s = None
            return self._begin(t_ms)
        return []

    def close(self) -> None:
        """The supervisor ends, and this with it."""
        if self._process is None:
            return
        self._process.terminate()
        try:
            self._process.wait(ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._last_words()

    def _perhaps(self) -> None:
        if self._closed and (self._poured or not self._has_metal):
            self._due_s = self._now_s() + WAITS_S

    def _begin(self, t_ms: int) -> list[Record]:
        self._began_s = self._now_s()
        try:
            self._said = tempfile.TemporaryFile()  # noqa: SIM115 - closed when its last words were read
            self._process = subprocess.Popen(
                self._command, stdin=subprocess.DEVNULL, stdout=self._said, stderr=self._said, start_new_session=True
            )
        except OSError as error:
            self._last_words()
            return [_event(t_ms, {"failed": f"it could not be started: {error}"})]
        return []

    def _follow(self, process: subprocess.Popen[bytes], *, live: bool, t_ms: int) -> list[Record]:
        code = process.poll()
        if code is None:
            self._hurry(process, live=live)
            return []
        words, ending, self._ending_s = self._last_words(), self._ending_s, None
        if ending is not None and self._put_off:  # a firing was started: afterwards there is more to learn from
            self._due_s = self._due_s or self._now_s()
            return [_event(t_ms, {"put off": "a firing is on"})]
        if ending is not None:
            return [_event(t_ms, {"failed": f"it had not ended after {AT_MOST_S / 60:.0f} min"})]
        how = f"ended by signal {-code}" if code < 0 else f"ended with status {code}"
        return [_event(t_ms, {"said": words} if code == 0 else {"failed": f"{how}: {words}"})]

    def _hurry(self, process: subprocess.Popen[bytes], *, live: bool) -> None:
        """Ask what must not go on to end, then make it. The loop looks again in its next cycle and never waits."""
        now_s = self._now_s()
        if self._ending_s is None:
            if live or now_s - self._began_s > AT_MOST_S:
                self._ending_s, self._put_off = now_s, live
                process.terminate()
        elif now_s - self._ending_s > ENDS_WITHIN_S:
            process.kill()

    def _last_words(self) -> str:
        self._process = None
        if self._said is None:
            return ""
        with self._said as file:
            file.seek(0)
            text = file.read().decode(errors="replace").strip()
        self._said = None
        return text[-_LAST_WORDS:]


def _event(t_ms: int, detail: dict[str, str]) -> EventRow:
    return EventRow(None, t_ms, EVENT, "supervisor", "learner", detail)


def main() -> None:
    """The process: gentle, and gone when the supervisor is. Then `meltkeeper furnace learn` with its own words."""
    with contextlib.suppress(AttributeError):  # Linux alone can do so; elsewhere it lives on until it has learned
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, int(signal.SIGTERM))
    os.nice(NICE)
    from supervisor.cli import main as command_line

    command_line(["furnace", "learn", "--brief", *sys.argv[1:]], prog_name="meltkeeper")


if __name__ == "__main__":
    main()
