"""A supervisor that follows a script: the real link on a real socket, and behind it only what a test says."""

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from supervisor.firing.commands import Answer, Command
from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.file import read_furnace
from supervisor.link.client import SOCKET_NAME, Link
from supervisor.link.equipment import equipment
from supervisor.link.server import LinkServer
from tests.end_to_end.waiting import until
from tests.web.snapshot_parts import Snapshot, made
from tests.web.snapshots import STOPPED

FORECAST = {
    "minutes": {"likely": 94.0, "low": 80.0, "high": 110.0},
    "gate_asks_min": {"likely": 40.0, "early": 36.0},
    "kwh": 3.4,
    "cost": 0.71,
    "currency": "EUR",
    "learned": True,
    "prices": {
        "per_kwh": 0.21,
        "currency": "EUR",
        "per_melt": 1.0,
        "per_hour": 0.0,
        "scrap_per_kg": 0.8,
        "bought_per_kg": 6.0,
    },
}


class Scripted:
    """Publishes what it is told, keeps what it was asked, and answers with one sentence."""

    def __init__(self, data: Path, snapshot: Snapshot = STOPPED) -> None:
        furnace = read_furnace("workshop")
        self.link = LinkServer(
            data / SOCKET_NAME,
            lambda text: profile_from_text(text, "profile", furnace),
            equipment=equipment(furnace),
        )
        self.link.forecast_with(lambda profile, planned: (FORECAST, ""))
        self.asked: list[Command] = []
        self.answer: tuple[bool, str] | None = (True, "Taken.")  # None: it never answers
        self.on_command: Callable[[], None] | None = None  # what happens after the next command, once
        self.heard: Callable[[], float | None] | None = None  # monotonic_s of the newest snapshot that the pages know
        self.snapshot = made(snapshot)
        self._client = Link(data / SOCKET_NAME)
        self._lock = threading.Lock()  # of the snapshot, and of whether it turns
        self._turning = True
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._turn, daemon=True)
        self.link.publish(self.snapshot)
        self.link.start()
        self._thread.start()

    @property
    def turning(self) -> bool:
        """False: it goes on answering, and says nothing new."""
        return self._turning

    @turning.setter
    def turning(self, turning: bool) -> None:
        with self._lock:
            self._turning = turning
        self._wait_until_heard()

    def show(self, snapshot: Snapshot, **changes: Any) -> None:
        """From now on this is how the furnace is; when it turns, that is on its way, and heard where `heard` is set."""
        with self._lock:
            self.snapshot = made(snapshot, monotonic_s=self.snapshot["monotonic_s"], **changes)
            if self._turning:
                self._say()
        if self._turning:
            self._wait_until_heard()

    def wait(self, seconds: float) -> None:
        """Let it turn for a while of real time."""
        self._ended.wait(seconds)

    def close(self) -> None:
        self._ended.set()
        self._thread.join()
        self.link.close()

    def _say(self) -> None:
        self.snapshot = {**self.snapshot, "monotonic_s": self.snapshot["monotonic_s"] + 0.5}
        self.link.publish(self.snapshot)

    def _wait_until_heard(self) -> None:
        """Until what was published has left for everybody who watches, and the pages have taken it."""
        last_s, heard = self.snapshot["monotonic_s"], self.heard
        until("the link passes it on", lambda: self._client.snapshot()["monotonic_s"] >= last_s)
        if heard:
            until("the pages hear of it", lambda: (heard() or -1.0) >= last_s)

    def _turn(self) -> None:
        turn = 0
        while not self._ended.is_set():
            for ticket in self.link.take():
                self.asked.append(ticket.command)
                if self.answer:
                    self.link.answer(ticket, Answer(ticket.command.by.id, *self.answer), self.snapshot["epoch"])
                if (happens := self.on_command) is not None:
                    self.on_command = None
                    threading.Thread(target=happens).start()
            turn += 1
            with self._lock:
                if self._turning and turn % 20 == 0:
                    self._say()
            self._ended.wait(0.02)
