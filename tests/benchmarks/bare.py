"""Furnace hardware for benchmarks and campaigns: the real interlock, without bus, driver and pins.

The frame that the simulated chip makes is read by the product's own reading of frames, so that every reading is the one
that the driver would have given; `tests/benchmarks/test_benchmarks.py` compares a flight with the whole hardware.
"""

from hardware.ports import Inputs, Level, Outputs, Permit, Sample
from hardware.sensor import reading_from_frame
from hardware.simulated.furnace import Furnace


class Bare:
    """Furnace hardware without bus, driver and pins."""

    name = "simulated"

    def __init__(self, furnace: Furnace) -> None:
        self.furnace = furnace
        self._fitted = tuple(getattr(furnace.wiring, line) is not None for line in Inputs._fields)
        self._seen: tuple[tuple[bool, ...], Inputs] | None = None
        self._given: Outputs | None = None
        self._permit = False

    def sample(self) -> Sample:
        """One step of the grid."""
        furnace = self.furnace
        furnace.step()
        readings = tuple([reading_from_frame(chip.frame()) for chip in furnace.chips])
        return Sample(furnace.time_s, readings, self._inputs(), furnace.energy_pulses, furnace.board)

    def _inputs(self) -> Inputs:
        closed = self.furnace.inputs
        if self._seen is None or self._seen[0] is not closed:
            levels = zip(closed, self._fitted, strict=True)
            self._seen = closed, Inputs(*[_level(shut) if there else Level.NOT_FITTED for shut, there in levels])
        return self._seen[1]

    def apply(self, outputs: Outputs) -> None:
        """Levels to the lines, permit last."""
        furnace, given = self.furnace, self._given
        for line in ("relay", "enable", "lamp", "sounder"):
            level = getattr(outputs, line)
            if given is None or getattr(given, line) != level:
                furnace.set_output(line, level)
        self._given = outputs
        if outputs.permit is not Permit.STILL:
            self._permit = not self._permit if outputs.permit is Permit.TOGGLE else outputs.permit is Permit.HIGH
            if furnace.outputs["permit"] != self._permit:
                furnace.set_output("permit", self._permit)


def _level(closed: bool) -> Level:
    return Level.CLOSED if closed else Level.OPEN
