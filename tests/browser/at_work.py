"""A supervisor at work behind the pages: the real cycle and the real link, on time that a test may hurry."""

import threading
from collections.abc import Callable
from pathlib import Path
from queue import Queue
from typing import Any

from supervisor.firing.commands import Command
from supervisor.firing.profile_file import profile_from_text
from supervisor.link.client import SOCKET_NAME
from supervisor.link.equipment import equipment
from supervisor.link.server import LinkServer
from tests.supervisor.furnace_at_hand import FurnaceAtHand

TURN_S = 0.25
BEGAN_UTC_MS = 1_789_000_000_000
PATIENCE_S = 240.0  # a busy machine is slow, not wrong


class AtWork:
    """Turns a furnace at hand in real time, and takes what pages send. One thread has the furnace, as in a daemon."""

    def __init__(
        self, make: Callable[[], FurnaceAtHand], data: Path, *, turn_s: float = TURN_S, publish_every: int = 1
    ) -> None:
        self._make, self._data = make, data
        self._turn_s, self._publish_every = turn_s, publish_every
        self._wishes: Queue[tuple[Callable[[FurnaceAtHand], object], threading.Event]] = Queue()
        self._ended, self._ready = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()
        assert self._ready.wait(PATIENCE_S), "the furnace did not get there"

    def hurry(self, done: Callable[[dict[str, Any]], bool], at_most_s: float) -> None:
        """Let the furnace's time run as fast as it can until its snapshot is so."""
        self.do(lambda hand: hand.run_until(lambda: done(hand.shown()), at_most_s))

    def press(self) -> None:
        """Somebody at the furnace presses the button."""
        self.do(lambda hand: hand.press())

    def close(self) -> None:
        self._ended.set()
        self._thread.join()

    def do(self, wish: Callable[[FurnaceAtHand], object]) -> None:
        """Do something with the furnace between two turns."""
        done = threading.Event()
        self._wishes.put((wish, done))
        assert done.wait(PATIENCE_S), "the furnace did not get there"

    def _run(self) -> None:
        self.hand = hand = self._make()
        furnace = hand.memory.furnace
        link = LinkServer(
            self._data / SOCKET_NAME,
            lambda text: profile_from_text(text, "profile", furnace),
            equipment=equipment(furnace),
        )
        _publish(link, hand)
        link.start()
        self._ready.set()
        turns = 0
        while not self._ended.wait(self._turn_s):
            turns += 1
            while not self._wishes.empty():
                wish, done = self._wishes.get()
                wish(self.hand)
                done.set()
            hand = self.hand  # a wish may have put another one in its place
            epoch = hand.epoch
            _turn(link, hand)
            if hand.epoch != epoch or turns % self._publish_every == 0:
                _publish(link, hand)
        link.close()


def _turn(link: LinkServer, hand: FurnaceAtHand) -> None:
    tickets = link.take()
    commands: list[Command] = [ticket.command for ticket in tickets]
    answers = hand.turn(*commands)
    for ticket, answer in zip(tickets, answers, strict=True):
        link.answer(ticket, answer, hand.epoch)


def _publish(link: LinkServer, hand: FurnaceAtHand) -> None:
    labels = {"utc_ms": BEGAN_UTC_MS + round(hand.now_s * 1000), "boot": "b1", "run": "r1", "version": "0"}
    shown = {**hand.shown(), **labels}
    if shown["firing"] is not None:
        shown["firing"] = {**shown["firing"], "started_utc_ms": BEGAN_UTC_MS}
    link.publish(shown)
