"""A supervisor that follows a script: the real link on a real socket, and behind it only what a test says."""

import threading
from pathlib import Path
from typing import Any

from supervisor.firing.commands import Answer, Command
from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.file import read_furnace
from supervisor.link.server import LinkServer
from tests.web.snapshots import STOPPED, Snapshot, made


class Scripted:
    """Publishes what it is told, keeps what it was asked, and answers with one sentence."""

    def __init__(self, data: Path, snapshot: Snapshot = STOPPED) -> None:
        furnace = read_furnace("workshop")
        self.link = LinkServer(data / "link.sock", lambda text: profile_from_text(text, "profile", furnace))
        self.asked: list[Command] = []
        self.answer: tuple[bool, str] | None = (True, "Taken.")  # None: it never answers
        self.turning = True  # False: it repeats itself
        self.snapshot = made(snapshot)
        self._changed = threading.Event()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._turn, daemon=True)
        self.link.publish(self.snapshot)
        self.link.start()
        self._thread.start()

    def show(self, snapshot: Snapshot, **changes: Any) -> None:
        """From now on this is how the furnace is."""
        self.snapshot = made(snapshot, monotonic_s=self.snapshot["monotonic_s"], **changes)
        self._changed.set()

    def wait(self, seconds: float) -> None:
        """Let it turn for a while of real time."""
        self._ended.wait(seconds)

    def close(self) -> None:
        self._ended.set()
        self._thread.join()
        self.link.close()

    def _turn(self) -> None:
        turn = 0
        while not self._ended.is_set():
            for ticket in self.link.take():
                self.asked.append(ticket.command)
                if self.answer:
                    self.link.answer(ticket, Answer(ticket.command.by.id, *self.answer), self.snapshot["epoch"])
            turn += 1
            if self.turning and (turn % 20 == 0 or self._changed.is_set()):
                self._changed.clear()
                self.snapshot = {**self.snapshot, "monotonic_s": self.snapshot["monotonic_s"] + 0.5}
                self.link.publish(self.snapshot)
            self._ended.wait(0.02)
