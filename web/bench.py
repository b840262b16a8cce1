"""The bench: the simulated furnace's own levers, reached on that furnace's own socket, never the supervisor's."""

import json
import socket
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from threading import Event
from typing import Any

PATIENCE_S = 2.0
SLOW_FOR_S = 10
ANSWERS_AFTER_S = 5
LID_OPEN_S = 1.0  # the supervisor sees it move
SHORT_PRESS_S, HELD_PRESS_S = 0.6, 3.4

Message = dict[str, Any]


class Bench:
    """A client of the simulated furnace's socket: who is asking, one JSON line out, one back; a connection each."""

    def __init__(self, path: Path):
        self.path = path
        self._faults: list[dict[str, Any]] = []

    def ask(self, message: Message) -> dict[str, Any]:
        """Send one message and return the answer.

        Raises:
            OSError: nobody answers, or not in JSON.
        """
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as connection:
            connection.settimeout(PATIENCE_S)
            connection.connect(str(self.path))
            connection.sendall(b'{"client": "bench"}\n' + json.dumps(message).encode() + b"\n")
            with connection.makefile("rb") as lines:
                lines.readline()  # its welcome
                try:
                    answer = json.loads(lines.readline())
                except ValueError as problem:
                    raise ConnectionError(f"the bench did not answer in JSON: {problem}") from problem
        return answer if isinstance(answer, dict) else {"ok": False, "error": "not an object"}

    def slow(self) -> None:
        """A person did something: keep the furnace's clock to real time for a while. Nobody there: nothing to slow."""
        with suppress(OSError):
            self.ask({"bench": "slow", "seconds": SLOW_FOR_S})

    def charge(self, message: Message) -> dict[str, Any]:
        """Charge as a person does: lid open for a moment, metal in, lid shut. A lid that stands open is left so.

        Raises:
            OSError: nobody answers, or not in JSON.
        """
        stood_open = self.ask({"bench": "state"})["levers"]["lid_open"]
        if not stood_open:
            self.ask({"bench": "lid", "open": True})
            Event().wait(LID_OPEN_S)
        came = self.ask(message)
        if not stood_open:
            self.ask({"bench": "lid", "open": False})
        return came

    def positions(self) -> dict[str, Any]:
        """Where the levers stand, the pace, what is broken and what can be. `levers` is None when nobody answers."""
        try:
            state = self.ask({"bench": "state"})
            self._faults = self._faults or self.ask({"bench": "faults"}).get("faults", [])
        except OSError:
            return {"levers": None}
        if not state.get("ok"):
            return {"levers": None}
        return {
            "levers": state["levers"],
            "metal_kg": state["plant"]["metal_kg"],
            "answers": state["answers_for_you"],
            "pace": state["times_real"],
            "asked": state["times_real_asked"],
            "injected": sorted(state["injected"]),
            "faults": self._faults,
        }


def message_of(form: Mapping[str, str]) -> Message:
    """The message for a lever as the page's form names it.

    Raises:
        ValueError: no such lever, or a position that it does not have.
    """
    lever, to = form.get("lever", ""), form.get("to", "")
    fixed: dict[tuple[str, str], Message] = {
        ("press", ""): {"bench": "press", "seconds": SHORT_PRESS_S},
        ("hold", ""): {"bench": "press", "seconds": HELD_PRESS_S},
        ("lid", "open"): {"bench": "lid", "open": True},
        ("lid", "shut"): {"bench": "lid", "open": False},
        ("key", "on"): {"bench": "key", "on": True},
        ("key", "off"): {"bench": "key", "on": False},
        ("emergency stop", "in"): {"bench": "emergency_stop", "pressed": True},
        ("emergency stop", "out"): {"bench": "emergency_stop", "pressed": False},
        ("limiter", ""): {"bench": "limiter_reset"},
        ("mains", "on"): {"bench": "mains", "on": True},
        ("mains", "off"): {"bench": "mains", "on": False},
        ("pour", ""): {"bench": "pour"},
        ("answer", "on"): {"bench": "answer", "on": True, "after_s": ANSWERS_AFTER_S},
        ("answer", "off"): {"bench": "answer", "on": False},
    }
    if (lever, to) in fixed:
        return fixed[lever, to]
    if lever == "pace" and to in {"1", "10", "30", "60"}:
        return {"bench": "pace", "times_real": int(to)}
    if lever in {"inject", "mend"}:
        return {"bench": lever, "fault": form.get("fault", "")}
    if lever == "charge":
        mass_kg = float(form.get("mass_kg", ""))
        return {"bench": "add_charge", "mass_kg": mass_kg, "temperature_c": 20, "alloy": form.get("alloy", "")}
    raise ValueError(f"lever is {lever!r} to {to!r}; allowed: the levers of the bench")
