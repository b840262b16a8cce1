"""What the three strange furnaces have in common: element, mains, thermocouple, ledger, and the seam `Plant`.

Each is a network of nodes of its own make (network.py) with a charge of its own make (metal.py). All are invented.
"""

from math import ceil, exp, sqrt
from random import Random
from typing import NamedTuple

from hardware.ports import PlantState
from tests.plants.metal import Charge
from tests.plants.network import ROOM_C, STEFAN_BOLTZMANN, Link, Network, Node

_LONGEST_STEP_S = 0.5
_RESISTANCE_PER_K = 4.5e-5  # FeCrAl: 1.04 at 900 °C, as one straight line
_MELTING_C = 1500.0
_STEAM_J_KG = 2.59e6  # from 20 °C to steam of 100 °C
_BOX_LAG_S = 900.0


class Sensing(NamedTuple):
    """Where the hot junction is and how late it is."""

    sees: tuple[tuple[str, float], ...]  # node and share; shares add up to 1
    heat_j_m2_k: float  # sheath, per area
    emissivity: float
    film_w_m2_k: float  # air or touch
    junction_s: float
    noise_k: float


class Build(NamedTuple):
    """One furnace, made of parts. `element` is the name of the node that takes the power."""

    supply_v: float
    element_ohm: float
    nodes: tuple[Node, ...]
    shut: tuple[Link, ...]
    opened: tuple[Link, ...]
    charge: Charge
    above: tuple[str, float]  # the node that the metal's surface sees, and its radiating area
    sensing: Sensing
    face: str  # the hot face
    leak_at: str
    wet_at: str  # the node that holds the water of a wet lining
    box_at: str  # the outer face that warms the electronics
    mains_offset: float


class Dice:
    """Factors round 1, drawn in the order in which they are asked for."""

    def __init__(self, seed: int, spread: float, name: str) -> None:
        """spread 0.2: factors within 20 %.

        Raises:
            ValueError: spread out of range.
        """
        if not 0.0 <= spread <= 0.4:
            raise ValueError(f"spread is {spread}; allowed: 0 to 0.4")
        self._random, self._spread = Random(f"{seed} {name}"), spread

    def factor(self, share: float = 1.0) -> float:
        """Even within the spread, or a share of it."""
        return 1.0 + share * self._spread * self._random.uniform(-1.0, 1.0)

    def offset(self) -> float:
        """This furnace's mains over nominal: standard deviation 3 % at a spread of 20 %."""
        return self._random.gauss(0.0, 0.15 * self._spread)


DISTURBANCES = {
    "element_resistance_factor": (0.2, 20.0),
    "element_broken": (0.0, 1.0),
    "sensor_slip": (0.0, 1.0),
    "sensor_slip_per_s": (0.0, 1.0),
    "sensor_drift_c_per_s": (-10.0, 10.0),
    "leak_w_per_k": (0.0, 100.0),
    "wet_lining_kg": (0.0, 10.0),
    "hung_up": (0.0, 1.0),  # how much of the heat on its way to the uppermost metal is held off
}
"""What `disturb` knows, each with the lowest and highest value that it takes."""


class StrangeFurnace:
    """A furnace of another make. Ledger: stored_j + lost_j == supplied_j + brought_j, to 0.1 % of supplied_j."""

    furnace_file: str
    alloy: str
    """What it melts, as the supervisor's table calls it."""

    def __init__(self, build: Build, seed: int, start_c: float) -> None:
        """Make it at start_c throughout, with an empty pot.

        Raises:
            ValueError: start_c out of range.
        """
        if not 0.0 <= start_c <= 1000.0:
            raise ValueError(f"start_c is {start_c}; allowed: 0 to 1000 °C")
        self._build = build
        self._network = Network(build.nodes, build.shut, build.opened, start_c)
        self._charge = build.charge
        number = self._network.number
        self._element = number["element"]
        self._sees = tuple((number[name], share) for name, share in build.sensing.sees)
        self._random = Random(f"{seed} noise")
        self._sheath_c = self._junction_c = start_c
        self._slip = self._slip_goal = self._slip_per_s = 0.0
        self._drift_c = self._drift_c_per_s = 0.0
        self._resistance, self._broken = 1.0, False
        self._mains = 1.0 + build.mains_offset + self._random.gauss(0.0, 0.005)
        self._leak_w_k = self._water_kg = 0.0
        self._box_c = ROOM_C + 1.0
        self._supplied_j = self._lost_j = 0.0
        self.brought_j = self._network.stored_j
        self._state = self._look(0.0)

    @property
    def state(self) -> PlantState:
        """The truth now."""
        return self._state

    def step(self, dt_s: float, *, element_on: bool, lid_open: bool, mains_factor: float) -> PlantState:
        """Go on by dt_s with constant outputs; beyond 0.5 s in several equal steps.

        Raises:
            ValueError: dt_s or mains_factor out of range.
        """
        if not 0.0 < dt_s <= 3600.0:
            raise ValueError(f"dt_s is {dt_s}; allowed: over 0 to 3600 s")
        if not 0.0 <= mains_factor <= 2.0:
            raise ValueError(f"mains_factor is {mains_factor}; allowed: 0 to 2")
        count = ceil(dt_s / _LONGEST_STEP_S)
        volt = self._build.supply_v * mains_factor if element_on else 0.0
        power_w = sum(self._advance(volt, lid_open, dt_s / count) for _ in range(count)) / count
        self._wander(dt_s)
        self._state = self._look(power_w)
        return self._state

    def _advance(self, volt: float, lid_open: bool, dt_s: float) -> float:
        network, charge, build = self._network, self._charge, self._build
        c, number = network.c, network.number
        power_w = self._power_w(volt * self._mains)
        inflows_w = [0.0] * (len(c) - 1)
        inflows_w[self._element] = power_w
        room_w = 0.0
        if charge.mass_kg:
            node, m2 = number["room"] if lid_open else number[build.above[0]], build.above[1]
            above_w = m2 * STEFAN_BOLTZMANN * ((c[node] + 273.15) ** 4 - (charge.c[-1] + 273.15) ** 4)
            for pot, w in charge.step(c, number, above_w, dt_s).items():
                inflows_w[pot] -= w
            if lid_open:
                room_w -= above_w
            else:
                inflows_w[node] -= above_w
        if self._leak_w_k:
            leak = number[build.leak_at]
            leak_w = self._leak_w_k * (c[leak] - ROOM_C)
            inflows_w[leak] -= leak_w
            room_w += leak_w
        if self._water_kg:
            room_w += self._steam(inflows_w, dt_s)
        self._sense(dt_s)
        room_w += network.step(inflows_w, dt_s, lid_open=lid_open)
        self._supplied_j += power_w * dt_s
        self._lost_j += room_w * dt_s
        return power_w

    def _power_w(self, volt: float) -> float:
        element_c = self._network.c[self._element]
        if element_c >= _MELTING_C:
            self._broken = True
        if self._broken or not volt:
            return 0.0
        ohm = self._build.element_ohm * (1.0 + _RESISTANCE_PER_K * (element_c - ROOM_C)) * self._resistance
        return volt * volt / ohm

    def _steam(self, inflows_w: list[float], dt_s: float) -> float:
        """Water boils off in proportion to what the node is above 100 °C, 25 W/K."""
        node = self._network.number[self._build.wet_at]
        boil_w = min(25.0 * max(0.0, self._network.c[node] - 100.0), self._water_kg * _STEAM_J_KG / dt_s)
        self._water_kg -= boil_w * dt_s / _STEAM_J_KG
        inflows_w[node] -= boil_w
        return boil_w

    def _sense(self, dt_s: float) -> None:
        sensing, c = self._build.sensing, self._network.c
        around_c = sum(c[node] * share for node, share in self._sees)
        if self._slip != self._slip_goal:
            way = self._slip_goal - self._slip
            self._slip += max(-self._slip_per_s * dt_s, min(self._slip_per_s * dt_s, way))
        around_c -= self._slip * (around_c - ROOM_C)
        radiation = sensing.emissivity * STEFAN_BOLTZMANN * ((around_c + 273.15) ** 4 - (self._sheath_c + 273.15) ** 4)
        gain_w_m2 = radiation + sensing.film_w_m2_k * (around_c - self._sheath_c)
        self._sheath_c += gain_w_m2 * dt_s / sensing.heat_j_m2_k
        self._junction_c += (self._sheath_c - self._junction_c) * dt_s / sensing.junction_s
        self._drift_c += self._drift_c_per_s * dt_s

    def _wander(self, dt_s: float) -> None:
        kept = exp(-dt_s / 600.0)
        mean = 1.0 + self._build.mains_offset
        push = self._random.gauss(0.0, 0.005) * sqrt(1.0 - kept * kept)
        self._mains = mean + (self._mains - mean) * kept + push
        outer_c = self._network.c[self._network.number[self._build.box_at]]
        self._box_c += (ROOM_C + 1.0 + 0.05 * (outer_c - ROOM_C) - self._box_c) * min(1.0, dt_s / _BOX_LAG_S)

    def _look(self, power_w: float) -> PlantState:
        charge, noise_k = self._charge, self._build.sensing.noise_k
        return PlantState(
            self._junction_c + self._drift_c + self._random.gauss(0.0, noise_k),
            self._box_c,
            self._network.c[self._network.number[self._build.face]],
            charge.mean_c if charge.mass_kg else self._junction_c,
            min(charge.c) if charge.mass_kg else self._junction_c,
            max(charge.c) if charge.mass_kg else self._junction_c,
            charge.share_molten,
            charge.mass_kg,
            power_w,
            self._supplied_j,
            self._network.stored_j + charge.stored_j,
            self._lost_j,
        )

    def add_charge(self, mass_kg: float, temperature_c: float, alloy: str) -> None:
        """Put metal into the pot.

        Raises:
            ValueError: mass_kg or temperature_c out of range.
            KeyError: unknown alloy.
        """
        if not 0.0 < mass_kg <= 20.0:
            raise ValueError(f"mass_kg is {mass_kg}; allowed: over 0 to 20 kg")
        if not -40.0 <= temperature_c <= 1000.0:
            raise ValueError(f"temperature_c is {temperature_c}; allowed: -40 to 1000 °C")
        self.brought_j += self._charge.add(mass_kg, temperature_c, alloy)
        self._state = self._look(self._state.power_w)

    def pour(self) -> float:
        """Empty the pot of what is liquid; kg that left it."""
        poured_kg, poured_j = self._charge.pour()
        self._lost_j += poured_j
        self._state = self._look(self._state.power_w)
        return poured_kg

    def disturb(self, name: str, value: float) -> None:
        """Change a property of the furnace: DISTURBANCES says which, and what is allowed.

        Raises:
            KeyError: unknown name.
            ValueError: value out of range.
        """
        if name not in DISTURBANCES:
            raise KeyError(f"name is {name!r}; allowed: {', '.join(DISTURBANCES)}")
        low, high = DISTURBANCES[name]
        if not low <= value <= high:
            raise ValueError(f"{name} is {value}; allowed: {low:g} to {high:g}")
        match name:
            case "element_resistance_factor":
                self._resistance = value
            case "element_broken":
                self._broken = value != 0.0
            case "sensor_slip":
                self._slip_goal, self._slip_per_s = value, 1.0 / 15.0
                if value == 0.0:
                    self._slip = 0.0
            case "sensor_slip_per_s":
                self._slip_goal, self._slip_per_s = (1.0, value) if value else (self._slip, 0.0)
            case "sensor_drift_c_per_s":
                self._drift_c_per_s = value
                self._drift_c = self._drift_c if value else 0.0
            case "leak_w_per_k":
                self._leak_w_k = value
            case "wet_lining_kg":
                self._water_kg = value
            case "hung_up":
                self._charge.roof = 1.0 - value
