"""What only a simulation knows: what the metal really did, and how far from it the supervisor was. Never seen by it."""

from dataclasses import dataclass, field
from math import sqrt
from typing import NamedTuple

from hardware.ports import PlantState
from supervisor.cycle import Memory
from supervisor.firing.states import State
from supervisor.model.countdown import Minutes

LOOKS_EVERY_S = 10.0
ALL_MOLTEN, ALL_SOLID = 0.999, 0.001  # share of the charge
TOLD_BEFORE_S = 900.0
"""The countdown is judged by what it said so long before the metal was fit to pour."""


@dataclass(slots=True)
class Errors:
    """Estimate less truth in one phase."""

    count: int = 0
    sum_k: float = 0.0
    squares_k2: float = 0.0
    covered: int = 0  # truth inside the 90 % band

    def add(self, error_k: float, *, covered: bool) -> None:
        """One look."""
        self.count += 1
        self.sum_k += error_k
        self.squares_k2 += error_k * error_k
        self.covered += covered

    @property
    def rms_k(self) -> float:
        """Root mean square."""
        return sqrt(self.squares_k2 / self.count)

    @property
    def bias_k(self) -> float:
        """Mean."""
        return self.sum_k / self.count

    @property
    def coverage(self) -> float:
        """Share of the looks in which the band held the truth."""
        return self.covered / self.count


class Told(NamedTuple):
    """What the countdown said at a moment, in minutes, and what was true."""

    said: Minutes
    true: float


@dataclass(slots=True)
class Truth:
    """Seen once a second, from the start of running on. Simulated."""

    running_s: float | None = None  # process time at which the state became running
    gate_s: float | None = None  # the gate asked, after running_s, as are the next three
    pour_s: float | None = None  # coldest metal first at the pouring temperature
    pour_wh: float | None = None  # what it had used by then
    molten_s: float | None = None
    metal_peak_c: float = 0.0
    share_molten_most: float = 0.0
    boost_s: int = 0
    errors: dict[str, Errors] = field(default_factory=dict)  # solid, melting, liquid
    _countdown: list[tuple[float, Minutes]] = field(default_factory=list)
    _looked_s: float = 0.0

    @property
    def told(self) -> Told | None:
        """What the countdown said a quarter of an hour before the metal was ready; None: nothing, or it never was."""
        if self.pour_s is None:
            return None
        before_s = self.pour_s - TOLD_BEFORE_S
        said = [(at_s, minutes) for at_s, minutes in self._countdown if at_s <= before_s]
        if not said or before_s - said[-1][0] > 120.0:
            return None
        at_s, minutes = said[-1]
        return Told(minutes, (self.pour_s - at_s) / 60.0)

    def see(self, memory: Memory, plant: PlantState) -> None:
        """One second more."""
        run = memory.firing.run
        if run is None:
            return
        now_s = memory.belief.monotonic_s
        if self.running_s is None:
            if memory.firing.state is not State.RUNNING:
                return
            self.running_s = now_s
        since_s = now_s - self.running_s
        if self.gate_s is None and run.gate.asks:
            self.gate_s = since_s
        self.boost_s += run.boost.on
        self.share_molten_most = max(self.share_molten_most, plant.share_molten)
        if plant.metal_kg <= 0.0:
            return
        self.metal_peak_c = max(self.metal_peak_c, plant.metal_hottest_c)
        if self.molten_s is None and plant.share_molten >= ALL_MOLTEN:
            self.molten_s = since_s
        pour_c = run.profile.pour_c
        if self.pour_s is None and pour_c is not None and plant.metal_coldest_c >= pour_c:
            self.pour_s, self.pour_wh = since_s, run.energy_wh
        if not run.closed and since_s - self._looked_s >= LOOKS_EVERY_S:
            self._looked_s = since_s
            self._compare(memory, plant, since_s)

    def _compare(self, memory: Memory, plant: PlantState, since_s: float) -> None:
        estimate, minutes = memory.adviser.estimate, memory.adviser.minutes_left(memory.belief.monotonic_s)
        if minutes is not None:
            self._countdown.append((since_s, minutes))
        if estimate is None or estimate.doubt:
            return
        share = plant.share_molten
        phase = "solid" if share <= ALL_SOLID else "liquid" if share >= ALL_MOLTEN else "melting"
        true_c = plant.metal_mean_c
        covered = estimate.low_c <= true_c <= estimate.high_c
        self.errors.setdefault(phase, Errors()).add(estimate.metal_c - true_c, covered=covered)
