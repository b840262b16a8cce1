"""The simulated furnace in the supervisor's own process: for rehearsals, drills and most tests. Virtual time only."""

from functools import partial

from hardware.lines import Lines
from hardware.ports import CYCLE_S, Outputs, Sample
from hardware.sensor import Sensor
from hardware.simulated.bus import Chip, Conduct, SimulatedBus
from hardware.simulated.furnace import Furnace
from hardware.simulated.pins import Board


class InProcess:
    """FurnaceHardware on a simulated furnace: the real driver on its bus, the real devices on its pins.

    `furnace` has the levers and the truth. No call waits: each sample is one step of virtual time.
    """

    def __init__(self, furnace: Furnace) -> None:
        self.furnace = furnace
        self._board = Board(furnace.wiring, furnace.set_output)
        self._blocked_s = 0.0
        self.buses = tuple(SimulatedBus(partial(_answer, chip), self._block) for chip in furnace.chips)
        self._sensors = tuple(Sensor(bus, self._now_s) for bus in self.buses)
        self._driven = furnace.inputs
        self._board.drive(furnace.inputs)
        self._lines = Lines(furnace.wiring, self._board.factory)
        self._pulses = furnace.energy_pulses
        self._sampled_s = furnace.time_s

    @property
    def name(self) -> str:
        """Always `simulated`."""
        return "simulated"

    def sample(self) -> Sample:
        """Step the furnace to the next point of the grid and read everything once.

        A bus that blocked in the cycle before costs the grid points that it slept through.
        """
        furnace = self.furnace
        furnace.step()
        while self._blocked_s >= CYCLE_S:
            self._blocked_s -= CYCLE_S
            furnace.step()
        self._blocked_s = 0.0
        if furnace.inputs is not self._driven:
            self._driven = furnace.inputs
            self._board.drive(furnace.inputs)
        while self._pulses < furnace.energy_pulses:
            self._pulses += 1
            self._board.pulse_meter()
        self._sampled_s = furnace.time_s
        readings = tuple([sensor.read() for sensor in self._sensors])
        return Sample(self._sampled_s, readings, self._lines.read(), self._lines.energy_pulses, furnace.board)

    def apply(self, outputs: Outputs) -> None:
        """Write the outputs; see `ports.FurnaceHardware`."""
        self._lines.apply(outputs, self._sampled_s)

    def close(self) -> None:
        """Everything off, off proved, then released."""
        self._lines.close()

    def _now_s(self) -> float:
        return self.furnace.time_s + self._blocked_s

    def _block(self, seconds: float) -> None:
        self._blocked_s += seconds


def _answer(chip: Chip) -> tuple[int, Conduct]:
    return chip.frame(), chip.conduct
