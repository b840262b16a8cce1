"""What only a simulation knows: when the metal really was molten and fit to pour. Never seen by the supervisor."""

from dataclasses import dataclass

from hardware.ports import PlantState
from supervisor.cycle import Memory
from supervisor.firing.states import State


@dataclass(slots=True)
class Truth:
    """Seen once a second, from the start of running on. Simulated."""

    running_s: float | None = None  # process time at which the state became running
    pour_s: float | None = None  # coldest metal first at the pouring temperature, after running_s
    molten_s: float | None = None
    metal_peak_c: float = 0.0
    share_molten_most: float = 0.0

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
        self.share_molten_most = max(self.share_molten_most, plant.share_molten)
        if plant.metal_kg <= 0.0:
            return
        self.metal_peak_c = max(self.metal_peak_c, plant.metal_hottest_c)
        since_s = now_s - self.running_s
        if self.molten_s is None and plant.share_molten >= 0.999:
            self.molten_s = since_s
        pour_c = run.profile.pour_c
        if self.pour_s is None and pour_c is not None and plant.metal_coldest_c >= pour_c:
            self.pour_s = since_s
