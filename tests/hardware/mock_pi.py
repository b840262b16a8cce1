"""A real furnace of mock pins: the Pi's backend whole, its pins wired to the simulated furnace, in virtual time.

Nothing above the SPI object and the pin factory is replaced: `PiFurnace` and everything it stands on is the real code.
Its name is `pi`, so all the supervisor says and asks is what it says and asks of a real furnace.

    pi = MockPi(Furnace(Bench(seed=1), wiring, seed=1, limiter_c=900.0))
    sample = pi.hardware.sample()         # time goes on to the next point of the grid; nothing waits
    pi.furnace.lid(True)                  # the levers are those of the simulated furnace
    pi.kill()                             # kill -9: no line of ours runs any more, and the pins keep their levels
    pi.restart()                          # the next process on the same pins
"""

from functools import partial

from gpiozero.pins.mock import MockFactory

from hardware.lines import OUTPUT_LINES
from hardware.pi import PiFurnace
from hardware.ports import BoardHealth
from hardware.simulated.bus import Chip, Conduct, SimulatedBus
from hardware.simulated.furnace import Furnace
from hardware.simulated.pins import Board


class MockPi:
    """One simulated furnace behind the pins of a computer that is not there; `hardware` is the Pi's backend on it."""

    def __init__(self, furnace: Furnace) -> None:
        self.furnace = furnace
        self.late_s = 0.0  # so much later than asked does the next wait return, once: a busy computer
        self._killed: list[object] = []
        self._blocked_s = 0.0
        self.hardware = self._open()

    @property
    def now_s(self) -> float:
        """The clock that the Pi's backend is handed."""
        return self.furnace.time_s + self._blocked_s

    @property
    def pins(self) -> MockFactory:
        """The pin factory that the Pi's backend is handed."""
        return self._board.factory

    def kill(self) -> None:
        """End the process at once. What it had open is not closed: the pins stay as they are."""
        self._killed += [self.hardware, self._board]
        for line in self._outputs():
            self._board.factory.pin(getattr(self.furnace.wiring, line)).changed = None

    def restart(self) -> PiFurnace:
        """Make the next process's hardware. It finds the pins at the levels that the one before left."""
        self.hardware = self._open()
        return self.hardware

    def wait(self, seconds: float) -> None:
        """Let time pass without any supervisor."""
        self._go_on_to(self.furnace.time_s + seconds)

    def _outputs(self) -> list[str]:
        return [line for line in OUTPUT_LINES if getattr(self.furnace.wiring, line) is not None]

    def _open(self) -> PiFurnace:
        self._board = Board(self.furnace.wiring, self.furnace.set_output)
        for line in self._outputs():  # what the kernel kept of the last process
            self._board.factory.pin(getattr(self.furnace.wiring, line))._state = self.furnace.outputs[line]
        self._pulses = self.furnace.energy_pulses
        self._show()
        self.buses = tuple(SimulatedBus(partial(_answer, chip), self._block) for chip in self.furnace.chips)
        return PiFurnace(
            self.furnace.wiring,
            self._board.factory,
            self.buses,
            self._health,
            now_s=lambda: self.now_s,
            sleep_until_s=self.sleep_until,
        )

    def _health(self) -> BoardHealth:
        return self.furnace.board

    def _block(self, seconds: float) -> None:
        self._blocked_s += seconds

    def sleep_until(self, moment_s: float) -> None:
        """The wait that the Pi's backend is handed."""
        late_s, self.late_s = self.late_s, 0.0
        blocked_s, self._blocked_s = self._blocked_s, 0.0
        self._go_on_to(max(moment_s + late_s, self.furnace.time_s + blocked_s))

    def _go_on_to(self, moment_s: float) -> None:
        """Step plant and contacts to a moment, which may lie between two points of the plant's grid."""
        furnace = self.furnace
        while furnace.next_grid_s <= moment_s:
            furnace.step()
        if moment_s > furnace.time_s:
            furnace.advance(moment_s)
        self._show()

    def _show(self) -> None:
        self._board.drive(self.furnace.interlock.inputs())
        while self._pulses < self.furnace.energy_pulses:
            self._pulses += 1
            self._board.pulse_meter()


def _answer(chip: Chip) -> tuple[int, Conduct]:
    return chip.frame(), chip.conduct
