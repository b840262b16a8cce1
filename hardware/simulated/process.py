"""The simulated furnace in a process of its own: it owns its clock and outlives the supervisor, as a real one does.

A Unix socket takes two kinds of clients; each says first, on one line of JSON, which it is.

`{"client": "bench"}`: then messages and answers as in `bench.py`, a line each.

`{"client": "supervisor"}`: one at a time. The answer is `{"ok": true, "time_s", "sensors", "pulses", "clock", "log"}`:
the name of this furnace's clock, and what its last supervisor asked to remember of its log. Then it

- sends `{"line": "relay", "level": true}` at each change of an output pin, as it happens;
- sends `{"log": TEXT}` once, to be remembered for the next supervisor;
- sends `{"next": true}` when its cycle is over, and is then sent one sample, at the next point of the 250 ms grid:
  `{"time_s", "words", "conducts", "inputs", "pulses", "board", "real_s"}`.

When the supervisor is gone each output keeps its last level; physics and permit circuit go on at 1 x. Everything that
changes is stamped with the last grid point, so what the supervisor does within its cycle lies on the grid.
"""

import json
import selectors
import socket
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any
from uuid import uuid4

from hardware import clock
from hardware.lines import OUTPUT_LINES
from hardware.simulated.bench import Message, act, levers
from hardware.simulated.connection import Connection, listen
from hardware.simulated.furnace import Furnace
from hardware.simulated.pace import Pace
from hardware.simulated.stand_in import StandIn

EDGES_KEPT = 100_000
EDGES_AT_ONCE = 1000
LAMP_HOLDS_S = 2.0
"""Lamp or sounder count as in use until so long after they were last on, s of the furnace's clock."""
_LOOK_UP_S = 0.5


def simulate(
    furnace: Furnace,
    socket_path: Path,
    *,
    times_real: float = 30.0,
    record: Path | None = None,
    stopped: Callable[[], bool] = lambda: False,
) -> None:
    """Run the furnace behind a socket until `stopped` says so; it is asked at least twice a second.

    record: a file that gets one line of JSON for each edge, `[number, time_s, line, level, real_s]`, as it happens.

    Raises:
        OSError: the socket cannot be opened, or another simulated furnace listens there.
        ValueError: times_real out of range.
    """
    with listen(socket_path) as listener:
        record_file = record.open("a", encoding="utf-8", buffering=1) if record else None
        try:
            _Host(furnace, listener, times_real, record_file).run(stopped)
        finally:
            if record_file:
                record_file.close()
            socket_path.unlink(missing_ok=True)


def _stand_in(message: Message) -> StandIn | None:
    if not isinstance(message["on"], bool):
        raise ValueError(f"on is {message['on']!r}; allowed: true or false")
    after_s = float(message.get("after_s", 5.0))
    if not 0.0 <= after_s <= 3600.0:
        raise ValueError(f"after_s is {after_s}; allowed: 0 to 3600")
    return StandIn(after_s) if message["on"] else None


class _Host:
    def __init__(
        self, furnace: Furnace, listener: socket.socket, times_real: float, record_file: IO[str] | None
    ) -> None:
        self._furnace = furnace
        self._listener = listener
        self._record_file = record_file
        self._pace = Pace(times_real, clock.monotonic_s())
        self._edges: deque[tuple[int, float, str, bool, float]] = deque(maxlen=EDGES_KEPT)
        self._edge_count = 0
        self._supervisor: Connection | None = None
        self._ready = False
        self._slow_until_s = clock.monotonic_s()
        self._lamp_on_s = float("-inf")
        self._stand_in: StandIn | None = None
        self._clock = uuid4().hex[:12]  # names this furnace's clock, which begins anew with the process
        self._log: str | None = None  # which log the last supervisor wrote, in its own words
        self._selector = selectors.DefaultSelector()
        listener.setblocking(False)
        self._selector.register(listener, selectors.EVENT_READ)

    def run(self, stopped: Callable[[], bool]) -> None:
        try:
            while not stopped():
                self._turn()
        finally:
            for key in list(self._selector.get_map().values()):
                if isinstance(key.data, Connection):
                    self._drop(key.data)
            self._selector.close()

    def _turn(self) -> None:
        connected = self._supervisor is not None
        wait_s = self._pace.wait_s(clock.monotonic_s(), connected=connected, ready=self._ready)
        for key, _ in self._selector.select(min(wait_s, _LOOK_UP_S)):
            if key.data is None:
                self._accept()
            else:
                self._hear(key.data)
        connected = self._supervisor is not None
        now_s = clock.monotonic_s()
        if self._pace.wait_s(now_s, connected=connected, ready=self._ready) == 0.0:
            self._furnace.step()
            if self._stand_in is not None:
                outputs = self._furnace.outputs
                self._stand_in.look(self._furnace, lamp=outputs["lamp"], now_s=self._furnace.time_s)
            self._keep_edges()
            ready = self._ready
            if ready:
                self._send_sample(now_s)
            self._pace.stepped(now_s, connected=connected, ready=ready, slow=bool(self._why_slow()))

    # -- clients -----------------------------------------------------------------------------------------------------

    def _accept(self) -> None:
        connection, _ = self._listener.accept()
        connection.setblocking(False)
        self._selector.register(connection, selectors.EVENT_READ, Connection(connection))

    def _drop(self, client: Connection) -> None:
        self._selector.unregister(client.connection)
        client.connection.close()
        if client is self._supervisor:
            self._supervisor = None
            self._ready = False

    def _hear(self, client: Connection) -> None:
        lines = client.lines()
        for line in lines or ():
            if not self._take(client, line):
                self._drop(client)
                return
        if lines is None:
            self._drop(client)

    def _take(self, client: Connection, line: bytes) -> bool:
        """Take one line; false when the connection is of no more use."""
        try:
            message = json.loads(line)
        except ValueError:
            message = None
        if not isinstance(message, dict):
            client.send({"ok": False, "error": "the line is not a JSON object"})
            return False
        if client.answer is None:
            return self._welcome(client, message)
        answer = client.answer(message)
        self._keep_edges()
        return answer is None or client.send(answer)

    def _welcome(self, client: Connection, message: Message) -> bool:
        kind = message.get("client")
        if kind == "bench":
            client.answer = self._bench
            return client.send({"ok": True})
        if kind != "supervisor":
            client.send({"ok": False, "error": f"client is {kind!r}; allowed: bench, supervisor"})
            return False
        if self._supervisor is not None:
            client.send({"ok": False, "error": "another supervisor has this furnace"})
            return False
        self._supervisor = client
        client.answer = self._supervise
        furnace = self._furnace
        return client.send(
            {
                "ok": True,
                "time_s": furnace.time_s,
                "sensors": len(furnace.chips),
                "pulses": furnace.energy_pulses,
                "clock": self._clock,
                "log": self._log,
            }
        )

    # -- the supervisor ----------------------------------------------------------------------------------------------

    def _supervise(self, message: Message) -> dict[str, Any] | None:
        if message.get("next") is True:
            self._ready = True
        elif isinstance(message.get("log"), str):
            self._log = message["log"]
        elif message.get("line") in OUTPUT_LINES and isinstance(message.get("level"), bool):
            if self._furnace.outputs[message["line"]] is not message["level"]:
                self._furnace.set_output(message["line"], message["level"])
        else:
            return {"ok": False, "error": f"not understood: {message!r}"}
        return None

    def _send_sample(self, now_s: float) -> None:
        furnace, supervisor = self._furnace, self._supervisor
        self._ready = False
        if supervisor is None:
            return
        sample = {
            "time_s": furnace.time_s,
            "words": [chip.frame() for chip in furnace.chips],
            "conducts": [chip.conduct.value for chip in furnace.chips],
            "inputs": furnace.inputs,
            "pulses": furnace.energy_pulses,
            "board": furnace.board,
            "real_s": now_s,
        }
        if not supervisor.send(sample):
            self._drop(supervisor)

    # -- the bench ---------------------------------------------------------------------------------------------------

    def _bench(self, message: Message) -> dict[str, Any]:
        asked = message.get("bench")
        try:
            if asked == "state":
                return self._state()
            if asked == "edges":
                return self._edges_since(int(message.get("since", 0)))
            if asked == "pace":
                self._pace.ask(float(message["times_real"]))
                return {"ok": True}
            if asked == "answer":
                self._stand_in = _stand_in(message)
                return {"ok": True}
            if asked == "slow":
                self._slow_until_s = max(
                    self._slow_until_s, clock.monotonic_s() + min(float(message["seconds"]), 600.0)
                )
                return {"ok": True}
        except (KeyError, TypeError, ValueError) as error:
            return {"ok": False, "error": f"{asked}: {error}"}
        return act(self._furnace, message)

    def _state(self) -> dict[str, Any]:
        return {
            "ok": True,
            "time_s": self._furnace.time_s,
            "times_real": self._pace.now_times_real,
            "times_real_asked": self._pace.asked_times_real,
            "slow_because": self._why_slow(),
            "answers_for_you": self._stand_in is not None,
            "supervisor": self._supervisor is not None,
            "real_s": clock.monotonic_s(),
            **levers(self._furnace),
        }

    def _why_slow(self) -> str:
        furnace = self._furnace
        if furnace.outputs["lamp"] or furnace.outputs["sounder"]:
            self._lamp_on_s = furnace.time_s
        if furnace.time_s - self._lamp_on_s <= LAMP_HOLDS_S:
            return "lamp or sounder want somebody"
        if furnace.interlock.button:
            return "the reset button is pressed"
        if not furnace.interlock.lid_shut:
            return "the lid is open"
        if not furnace.interlock.emergency_stop_released:
            return "the emergency stop is in"
        if clock.monotonic_s() < self._slow_until_s:
            return "a command was given"
        return ""

    # -- the record --------------------------------------------------------------------------------------------------

    def _keep_edges(self) -> None:
        edges = self._furnace.edges
        if not edges:
            return
        real_s = clock.monotonic_s()
        for time_s, line, level in edges:
            row = (self._edge_count, time_s, line, level, real_s)
            self._edge_count += 1
            self._edges.append(row)
            if self._record_file:
                self._record_file.write(json.dumps(row) + "\n")
        edges.clear()

    def _edges_since(self, since: int) -> dict[str, Any]:
        oldest = self._edges[0][0] if self._edges else self._edge_count
        first = max(since, oldest) - oldest
        rows = [self._edges[number] for number in range(first, min(first + EDGES_AT_ONCE, len(self._edges)))]
        return {"ok": True, "edges": rows, "next": rows[-1][0] + 1 if rows else max(since, oldest)}
