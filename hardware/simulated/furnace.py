"""A simulated furnace: plant, interlock, sensors and meter on one clock, driven by levels and answering in levels.

It knows nothing of the supervisor. Outputs come in as edges of pins; frames, input levels and meter pulses go out.
"""

from math import sqrt
from random import Random
from typing import NamedTuple

from hardware.lines import OUTPUT_LINES
from hardware.ports import CYCLE_S, Plant, PlantState, Wiring
from hardware.simulated.bus import Chip
from hardware.simulated.fault import HEALTHY_BOARD
from hardware.simulated.faults import FAULTS
from hardware.simulated.interlock import Interlock
from hardware.simulated.second_place import SecondPlace

J_PER_KWH = 3.6e6

_FAULT_OF_LEVER = {
    "key": "key_off",
    "lid": "lid_open",
    "emergency_stop": "emergency_stop",
    "mains": "mains_off",
    "limiter": "limiter_trip",
}


class Edge(NamedTuple):
    """One change of a line: an output pin, a lever, a contact, or the current in the element."""

    time_s: float  # the furnace's own clock
    line: str
    level: bool


class Furnace:
    """The whole simulated furnace; its clock starts at 0 s and moves by `step`."""

    def __init__(
        self, plant: Plant, wiring: Wiring, *, seed: int, limiter_c: float, pulses_per_kwh: int = 1000
    ) -> None:
        """Put a plant behind its wiring. The seed draws the permit's drop-out time and random bit flips."""
        self.plant: Plant = plant
        self.wiring = wiring
        self.limiter_c = limiter_c
        self.edges: list[Edge] = []
        self.outputs = dict.fromkeys(OUTPUT_LINES, False)
        self.injected: dict[str, float] = {}
        self.interlock = Interlock(seed, self._record)
        self.chips = tuple(Chip(seed + number) for number in range(len(wiring.sensors)))
        self.board = HEALTHY_BOARD
        self.second_place = SecondPlace(seed, plant.state.hot_face_c)
        self.other_regulator_c: float | None = None  # somebody else's thermostat heats to this; None: nobody's does
        self.mains_factor = self.mains_step_factor = 1.0
        self.meter_stopped = False
        self.stray_pulses_per_min = 0.0
        self.lid_bounces_share = 0.0
        self.flutters_per_min = 0.0
        self.box_warms_k_per_min = 0.0
        self.box_warmer_k = 0.0
        self.energy_pulses = 0
        self.inputs = self.interlock.inputs()
        self.state: PlantState = plant.state
        self._cycles = 0
        self._contacts = Random(f"{seed} contacts").random
        self._metered_j = self.state.supplied_j
        self._j_per_pulse = J_PER_KWH / pulses_per_kwh
        self._show()

    # -- time --------------------------------------------------------------------------------------------------------

    @property
    def time_s(self) -> float:
        """The moment that everything is at, s."""
        return self.interlock.now_s

    @property
    def next_grid_s(self) -> float:
        """The next point of the 250 ms grid, s."""
        return (self._cycles + 1) * CYCLE_S

    def advance(self, to_s: float) -> None:
        """Let the contacts go on to a moment between two grid points; the plant follows at the next `step`.

        Raises:
            ValueError: the moment is past, or beyond the next grid point.
        """
        if not self.time_s <= to_s <= self.next_grid_s:
            raise ValueError(f"to_s is {to_s}; allowed: {self.time_s} to {self.next_grid_s} s")
        self.interlock.advance(to_s)

    def step(self) -> None:
        """Go on to the next point of the grid: contacts, plant, sensors, limiter, meter."""
        interlock = self.interlock
        self._cycles += 1
        interlock.advance(self._cycles * CYCLE_S)
        self._flicker()
        factor = self.mains_factor * self.mains_step_factor
        if interlock.load_fed != (factor > 0.0):
            interlock.load_fed = factor > 0.0
            interlock.settle()
        powered_s = interlock.take_powered_s()
        if self.other_regulator_c is not None:
            powered_s = CYCLE_S if self.state.hot_junction_c < self.other_regulator_c else 0.0
        if 0.0 < powered_s < CYCLE_S:  # switched within the step: power goes with the square of the voltage
            factor *= sqrt(powered_s / CYCLE_S)
        self.state = self.plant.step(
            CYCLE_S, element_on=powered_s > 0.0, lid_open=not interlock.lid_shut, mains_factor=factor
        )
        self._show()

    def _flicker(self) -> None:
        """Let bad contacts make and break, and let a bad line give pulses."""
        interlock = self.interlock
        bounced = self.lid_bounces_share > 0.0 and self._contacts() < self.lid_bounces_share
        fluttered = self.flutters_per_min > 0.0 and self._contacts() < self.flutters_per_min * CYCLE_S / 60.0
        if bounced is not interlock.lid_bounced or fluttered is not interlock.fluttered:
            interlock.lid_bounced, interlock.fluttered = bounced, fluttered
            interlock.settle()
        if self.stray_pulses_per_min and self._contacts() < self.stray_pulses_per_min * CYCLE_S / 60.0:
            self.energy_pulses += 1
        if self.box_warms_k_per_min:
            self.box_warmer_k += self.box_warms_k_per_min * CYCLE_S / 60.0

    def _show(self) -> None:
        """Bring what can be read up to the state. The first chip controls; a second has a place of its own."""
        state = self.state
        for chip in self.chips:
            chip.hot_c = state.hot_junction_c
            chip.cold_c = state.cold_junction_c + self.box_warmer_k
        if len(self.chips) > 1:
            self.chips[1].hot_c = self.second_place.reading_c(state.hot_face_c, CYCLE_S)
        if state.hot_face_c >= self.limiter_c and not self.interlock.limiter_tripped:
            self.trip_limiter()
        if self.meter_stopped:
            self._metered_j = state.supplied_j
        while state.supplied_j - self._metered_j >= self._j_per_pulse:
            self._metered_j += self._j_per_pulse
            self.energy_pulses += 1
        if self.interlock.moved:
            self.interlock.moved = False
            self.inputs = self.interlock.inputs()

    def _record(self, time_s: float, line: str, level: bool) -> None:
        self.edges.append(Edge(time_s, line, level))

    # -- what the computer does --------------------------------------------------------------------------------------

    def set_output(self, line: str, level: bool) -> None:
        """An output pin changed."""
        self.outputs[line] = level
        self.edges.append(Edge(self.interlock.now_s, line, level))
        self.interlock.set_output(line, level)

    # -- what people do ----------------------------------------------------------------------------------------------

    def press(self, seconds: float) -> None:
        """Press the reset button now, for so many seconds; `inf` holds it until `release`."""
        if not seconds > 0:
            raise ValueError(f"seconds is {seconds}; allowed: more than 0")
        self.interlock.press(seconds)

    def release(self) -> None:
        """Let go of the reset button."""
        self.interlock.release()

    def key(self, on: bool) -> None:
        """Turn the key."""
        self._set("key", "key_on", on, on)

    def lid(self, open: bool) -> None:  # noqa: A002 - the furnace's own word
        """Open or shut the lid."""
        self._set("lid", "lid_shut", not open, not open)

    def emergency_stop(self, pressed: bool) -> None:
        """Press the emergency stop or pull it out again."""
        self._set("emergency_stop", "emergency_stop_released", not pressed, not pressed)

    def mains(self, on: bool) -> None:
        """Give or take the mains."""
        self._set("mains", "mains", on, on)

    def trip_limiter(self) -> None:
        """Trip the limiter as its own sensor would."""
        self._set("limiter", "limiter_tripped", True, False)

    def limiter_reset(self) -> bool:
        """Press the limiter's own reset; false while its sensor is still at its setting."""
        if self.state.hot_face_c >= self.limiter_c:
            return False
        self._set("limiter", "limiter_tripped", False, True)
        return True

    def _set(self, line: str, attribute: str, value: bool, closed: bool) -> None:
        if getattr(self.interlock, attribute) != value:
            setattr(self.interlock, attribute, value)
            self._record(self.time_s, line, closed)
            self.interlock.settle()
        if closed:
            self.injected.pop(_FAULT_OF_LEVER[line], None)  # put right by hand

    def add_charge(self, mass_kg: float, temperature_c: float, alloy: str) -> None:
        """Put metal into the pot."""
        self.plant.add_charge(mass_kg, temperature_c, alloy)
        self.state = self.plant.state

    def pour(self) -> float:
        """Empty the pot of what is liquid; kg that left it."""
        poured_kg = self.plant.pour()
        self.state = self.plant.state
        return poured_kg

    def inject(self, fault: str, value: float | None = None) -> None:
        """Break something; the names are in `faults.FAULTS`.

        Raises:
            KeyError: unknown name.
            ValueError: a value that this fault does not know.
        """
        row = FAULTS[fault]
        value = row.value if value is None else value
        row.enter(self, value)
        self.injected[fault] = value

    def mend(self, fault: str) -> None:
        """Take a fault away again.

        Raises:
            KeyError: unknown name.
        """
        FAULTS[fault].leave(self)
        self.injected.pop(fault, None)
