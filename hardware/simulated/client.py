"""The simulated furnace in another process, over its socket: for the daemon (FurnaceHardware) and for a bench."""

import json
import socket
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any

from hardware import clock
from hardware.lines import OUTPUT_LINES, Lines
from hardware.ports import BoardHealth, Outputs, Sample, Wiring
from hardware.sensor import Sensor
from hardware.simulated.bus import Conduct, SimulatedBus
from hardware.simulated.pins import Board

LONGEST_WAIT_S = 5.0
FRESH_S = 0.2
"""A sample that waited longer than this for its reader is old: the process was stopped meanwhile."""

MOST_TRIES = 20


class FurnaceGone(ConnectionError):
    """The process with the simulated furnace does not answer, or refused."""


class _Line:
    """A connection that speaks JSON, a line each way."""

    def __init__(self, path: Path, client: str) -> None:
        self.path = path
        self._unread = b""
        self._socket = socket.socket(socket.AF_UNIX)
        self._socket.settimeout(LONGEST_WAIT_S)
        try:
            self._socket.connect(str(path))
            self.welcome = self.ask({"client": client})
        except FurnaceGone:
            self._socket.close()
            raise
        except OSError as error:
            self._socket.close()
            raise FurnaceGone(f"no simulated furnace at {path}: {error}") from error

    def exchange(self, message: dict[str, Any]) -> dict[str, Any]:
        """Send one line and wait for one.

        Raises:
            FurnaceGone: nothing came within LONGEST_WAIT_S, or the other end closed.
        """
        try:
            self.tell(message)
            while b"\n" not in self._unread:
                came = self._socket.recv(65536)
                if not came:
                    raise ConnectionError("the connection was closed")
                self._unread += came
        except OSError as error:
            raise FurnaceGone(f"the simulated furnace at {self.path} is gone: {error}") from error
        line, self._unread = self._unread.split(b"\n", 1)
        return dict(json.loads(line))

    def ask(self, message: dict[str, Any]) -> dict[str, Any]:
        """Send one line and wait for one that is no refusal.

        Raises:
            FurnaceGone: as `exchange`, or refused.
        """
        answer = self.exchange(message)
        if answer.get("ok") is False:
            raise FurnaceGone(f"the simulated furnace at {self.path} refused: {answer.get('error')}")
        return answer

    def tell(self, message: dict[str, Any]) -> None:
        """Send one line."""
        self._socket.sendall(json.dumps(message).encode() + b"\n")

    def close(self) -> None:
        """Hang up."""
        self._socket.close()


class Bench:
    """A bench client; messages and answers as in `bench.py`."""

    def __init__(self, path: Path) -> None:
        """Connect.

        Raises:
            FurnaceGone: nobody listens there.
        """
        self._line = _Line(path, "bench")

    def ask(self, message: dict[str, Any]) -> dict[str, Any]:
        """Send one message and give its answer; a refused one has `ok` false and `error`.

        Raises:
            FurnaceGone: the furnace's process does not answer any more.
        """
        return self._line.exchange(message)

    def close(self) -> None:
        """Hang up."""
        self._line.close()


class ConnectedFurnace:
    """FurnaceHardware on a simulated furnace in another process: the same driver, lines and pins, over a wire."""

    def __init__(
        self,
        path: Path,
        wiring: Wiring,
        *,
        now_s: Callable[[], float] = clock.monotonic_s,
        sleep_s: Callable[[float], None] = clock.sleep_s,
    ) -> None:
        """Connect and open the lines, which drives every fitted output off as opening a real pin does.

        Raises:
            FurnaceGone: nobody listens there, or another supervisor has this furnace.
            ValueError: that furnace has another number of sensors than the wiring.
        """
        self._line = _Line(path, "supervisor")
        sensors = self._line.welcome["sensors"]
        if sensors != len(wiring.sensors):
            self._line.close()
            raise ValueError(f"sensors is {len(wiring.sensors)} in the wiring; allowed: {sensors}, as this furnace has")
        self._now_s = now_s
        self._answers = [(0, Conduct.FILLS_NOTHING)] * sensors
        self._pulses: int = self._line.welcome["pulses"]
        self._sampled_s: float = self._line.welcome["time_s"]
        self._board = Board(wiring, self._tell_output)
        self._driven: list[bool] = []
        self.buses = tuple(SimulatedBus(partial(self._answer, number), sleep_s) for number in range(sensors))
        self._sensors = tuple(Sensor(bus, now_s) for bus in self.buses)
        self._lines = Lines(wiring, self._board.factory)
        for line in OUTPUT_LINES:  # the last supervisor may have left one high
            if getattr(wiring, line) is not None:
                self._tell_output(line, False)

    @property
    def clock_name(self) -> str:
        """Names the clock of this furnace's process: its times mean nothing to another's."""
        return f"-{self._line.welcome['clock']}"

    @property
    def watched_with(self) -> str | None:
        """What the supervisor before this one asked it to remember of its log; None: there was none."""
        log: str | None = self._line.welcome["log"]
        return log

    def remember(self, log: str) -> None:
        """Have the furnace remember which log is written now, for the supervisor after this one."""
        with suppress(OSError):  # gone: the next sample says it
            self._line.tell({"log": log})

    @property
    def name(self) -> str:
        """Always `simulated`."""
        return "simulated"

    def sample(self) -> Sample:
        """Wait for the furnace's next grid point and read everything once.

        Raises:
            FurnaceGone: the furnace's process does not answer any more.
        """
        came = self._next_fresh()
        if came["inputs"] != self._driven:
            self._driven = came["inputs"]
            self._board.drive(tuple(self._driven))
        for _ in range(came["pulses"] - self._pulses):
            self._board.pulse_meter()
        self._pulses = came["pulses"]
        self._answers = list(zip(came["words"], map(Conduct, came["conducts"]), strict=True))
        self._sampled_s = came["time_s"]
        readings = tuple([sensor.read() for sensor in self._sensors])
        board = BoardHealth(*came["board"])
        return Sample(self._sampled_s, readings, self._lines.read(), self._lines.energy_pulses, board)

    def _next_fresh(self) -> dict[str, Any]:
        for _ in range(MOST_TRIES):
            came = self._line.ask({"next": True})
            if self._now_s() - came["real_s"] <= FRESH_S:
                return came
        raise FurnaceGone(
            f"the simulated furnace at {self._line.path} gave {MOST_TRIES} samples, each over {FRESH_S} s old"
        )

    def apply(self, outputs: Outputs) -> None:
        """Write the outputs; see `ports.FurnaceHardware`. That the furnace is gone shows at the next sample."""
        self._lines.apply(outputs, self._sampled_s)

    def close(self) -> None:
        """Everything off, off proved, then released."""
        try:
            self._lines.close()
        finally:
            self._line.close()

    def _answer(self, number: int) -> tuple[int, Conduct]:
        return self._answers[number]

    def _tell_output(self, line: str, level: bool) -> None:
        with suppress(OSError):  # writing a real pin cannot fail so: the furnace is gone, and the next sample says it
            self._line.tell({"line": line, "level": level})
