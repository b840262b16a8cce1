"""The simulated furnace put together: heat from element to wall, pot, metal, lid and room, and the ledger of it.

Heat flows are worked out from the temperatures at the step's start, then every body goes on by its sum. Each flow is
taken from one body and given to another or to the room, so that what was supplied is what is stored and lost.
"""

from math import ceil

from hardware.ports import PlantState
from hardware.simulated.plant_body import Body
from hardware.simulated.plant_charge import LOWER_SHARE, UPPER_SHARE, Charge
from hardware.simulated.plant_element import Element, Mains
from hardware.simulated.plant_furnaces import BENCH, WORKSHOP, FurnaceConstants, varied
from hardware.simulated.plant_lining import Lining
from hardware.simulated.plant_sensor import STEFAN_BOLTZMANN, Sensor

AMBIENT_C = 20.0
_LONGEST_STEP_S = 0.5  # the element's time constant is 5 s when hot
_SLOW_S = 1.0  # how often what is slow goes on: mains, the electronics' box, drying
_POT_SPECIFIC_HEAT = (800.0, 0.65)  # clay-graphite, J/kg/K to 900 °C, from memory
_OPEN_FILM_W_M2_K = 18.0  # room air into the opening (our choice)
_LID_EMISSIVITY = 0.75  # brick near 1000 °C. Source: Boyes, Instrumentation Reference Book, table of emissivities
_LID_FILM_W_M2_K = 8.0


def emissive_power(temperature_c: float) -> float:
    """Give what a black surface radiates, W/m². Source: Stefan-Boltzmann law."""
    kelvin = temperature_c + 273.15
    kelvin *= kelvin
    return STEFAN_BOLTZMANN * kelvin * kelvin


_AMBIENT_W_M2 = emissive_power(AMBIENT_C)


class FurnacePlant:
    """A furnace of given constants. Ledger: stored_j + lost_j == supplied_j + brought_j, to 0.1 % of supplied_j.

    brought_j is what came in otherwise than by wire, in J above ambient: the warmth of the furnace at the start and of
    each charge.
    """

    furnace_file: str

    def __init__(self, constants: FurnaceConstants, seed: int, spread: float, start_c: float) -> None:
        """Make a furnace at start_c throughout, with an empty pot, in a room of 20 °C.

        Raises:
            ValueError: spread or start_c out of range.
        """
        if not 0.0 <= spread <= 0.4:
            raise ValueError(f"spread is {spread}; allowed: 0 to 0.4")
        if not 0.0 <= start_c <= 1000.0:
            raise ValueError(f"start_c is {start_c}; allowed: 0 to 1000 °C")
        self._constants = constants = varied(constants, spread, seed) if spread else constants
        self._element = Element(constants.element_ohm, constants.wire_kg, start_c)
        self._wall = Lining(constants.wall, constants.brick, start_c)
        self._lid = Lining(constants.lid, constants.brick, start_c)
        self._pot = Body(constants.pot_kg, _POT_SPECIFIC_HEAT, start_c)
        self._charge = Charge(constants.contact)
        self._sensor = Sensor(seed, constants.sheath, start_c, AMBIENT_C)
        self._sensor_pot = 1.0 - constants.sensor_wall - constants.sensor_element - constants.sensor_stem
        self._mains = Mains(seed, constants.mains_offset)
        self._since_slow_s = 0.0
        self._extra_leak_w_k = 0.0
        self._supplied_j = self._lost_j = 0.0
        bodies = (self._element.body, self._wall, self._lid, self._pot)
        self._at_ambient_j = sum(body.energy_at(AMBIENT_C) for body in bodies)
        self.brought_j = sum(body.stored_j for body in bodies) - self._at_ambient_j
        self._state = self._look(0.0, start_c)

    @property
    def state(self) -> PlantState:
        """The truth now. hot_junction_c carries the sensor's noise and drift, and is not rounded."""
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
        volt = self._constants.supply_v * mains_factor if element_on else 0.0
        if dt_s <= _LONGEST_STEP_S:
            power_w = self._advance(volt, lid_open, dt_s)
        else:
            count = ceil(dt_s / _LONGEST_STEP_S)
            power_w = sum(self._advance(volt, lid_open, dt_s / count) for _ in range(count)) / count
        self._state = state = self._look(power_w, self._sensor.reading_c())
        return state

    def _advance(self, volt: float, lid_open: bool, dt_s: float) -> float:
        """Make one explicit step; the electrical power in it, W."""
        f, element, wall, pot, charge = self._constants, self._element, self._wall, self._pot, self._charge
        wire_c, wall_c, pot_c = element.body.temperature_c, wall.layers_c[0], pot.temperature_c
        sensor = self._sensor
        surroundings_c = wall_c * f.sensor_wall + wire_c * f.sensor_element + pot_c * self._sensor_pot
        surroundings_c += wall.layers_c[f.sensor_stem_layer] * f.sensor_stem
        power_w = element.power_w(volt * self._mains.factor) if volt else 0.0
        wire_w_m2, wall_w_m2, pot_w_m2 = emissive_power(wire_c), emissive_power(wall_c), emissive_power(pot_c)
        wire_to_wall_w = f.element_to_wall_m2 * (wire_w_m2 - wall_w_m2) + f.element_film_w_k * (wire_c - wall_c)
        wire_to_pot_w = f.element_to_pot_m2 * (wire_w_m2 - pot_w_m2)
        wall_to_pot_w = f.wall_to_pot_m2 * (wall_w_m2 - pot_w_m2) + f.wall_to_pot_w_k * (wall_c - pot_c)
        leak_w = f.leak_m2 * (wall_w_m2 - _AMBIENT_W_M2) + (f.leak_w_k + self._extra_leak_w_k) * (wall_c - AMBIENT_C)
        if lid_open:
            wall_up_w, pot_up_w, metal_up_w, lid_in_w, room_w = self._open_lid(wall_c, wall_w_m2, pot_w_m2)
        else:
            wall_up_w, pot_up_w, metal_up_w, lid_in_w, room_w = self._shut_lid(wall_w_m2, pot_w_m2)
        pot_to_metal_w = charge.step(pot_c, -metal_up_w, dt_s) if charge.mass_kg else 0.0
        element.body.step(power_w - wire_to_wall_w - wire_to_pot_w, dt_s)
        pot.step(wire_to_pot_w + wall_to_pot_w - pot_to_metal_w - pot_up_w, dt_s)
        room_w += leak_w + wall.step(wire_to_wall_w - wall_to_pot_w - wall_up_w - leak_w, AMBIENT_C, dt_s)
        room_w += self._lid.step(lid_in_w, AMBIENT_C, dt_s)
        sensor.step(surroundings_c, dt_s)
        self._supplied_j += power_w * dt_s
        self._lost_j += room_w * dt_s
        self._since_slow_s += dt_s
        if self._since_slow_s >= _SLOW_S:
            self._go_on_slowly()
        return power_w

    def _shut_lid(self, wall_w_m2: float, pot_w_m2: float) -> tuple[float, float, float, float, float]:
        """Heat upwards from wall, pot and metal, into the lid, and to the room, W, when the lid is shut."""
        f, charge = self._constants, self._charge
        lid_w_m2 = emissive_power(self._lid.layers_c[0])
        wall_up_w = f.wall_to_lid_m2 * (wall_w_m2 - lid_w_m2)
        pot_up_w = f.pot_to_lid_m2 * (pot_w_m2 - lid_w_m2)
        metal_up_w = f.bath_to_lid_m2 * (emissive_power(charge.upper_c) - lid_w_m2) if charge.mass_kg else 0.0
        return wall_up_w, pot_up_w, metal_up_w, wall_up_w + pot_up_w + metal_up_w, 0.0

    def _open_lid(self, wall_c: float, wall_w_m2: float, pot_w_m2: float) -> tuple[float, float, float, float, float]:
        """Give the same when it is open: all of it goes to the room, and the lid cools."""
        f, charge, lid_c = self._constants, self._charge, self._lid.layers_c[0]
        wall_up_w = f.wall_to_opening_m2 * (wall_w_m2 - _AMBIENT_W_M2)
        wall_up_w += _OPEN_FILM_W_M2_K * f.opening_m2 * (wall_c - AMBIENT_C)
        pot_up_w = f.pot_to_lid_m2 * (pot_w_m2 - _AMBIENT_W_M2)
        metal_up_w = f.bath_to_lid_m2 * (emissive_power(charge.upper_c) - _AMBIENT_W_M2) if charge.mass_kg else 0.0
        lid_out_w = f.lid.inside_m2 * (
            _LID_EMISSIVITY * (emissive_power(lid_c) - _AMBIENT_W_M2) + _LID_FILM_W_M2_K * (lid_c - AMBIENT_C)
        )
        return wall_up_w, pot_up_w, metal_up_w, -lid_out_w, wall_up_w + pot_up_w + metal_up_w + lid_out_w

    def _go_on_slowly(self) -> None:
        passed_s, self._since_slow_s = self._since_slow_s, 0.0
        self._mains.wander(passed_s)
        self._sensor.warm_box(self._wall.outer_face_c(AMBIENT_C), passed_s)
        for lining in (self._wall, self._lid):
            if lining.water_kg:
                self._lost_j += lining.dry(passed_s)

    @property
    def water_kg(self) -> float:
        """Water that is still in wall and lid, kg."""
        return self._wall.water_kg + self._lid.water_kg

    def _look(self, power_w: float, hot_junction_c: float) -> PlantState:
        charge, wall = self._charge, self._wall
        metal_kg = charge.mass_kg
        stored_j = self._element.body.stored_j + wall.stored_j + self._lid.stored_j + self._pot.stored_j
        stored_j -= self._at_ambient_j
        if metal_kg:
            lower_c, upper_c = charge.lower_c, charge.upper_c
            molten = LOWER_SHARE * charge.lower_molten + UPPER_SHARE * charge.upper_molten
            stored_j += metal_kg * (LOWER_SHARE * charge.lower_j_kg + UPPER_SHARE * charge.upper_j_kg)
        else:
            lower_c = upper_c = self._pot.temperature_c
            molten = 0.0
        return PlantState(  # in the order of its fields: to name them costs 1 of the 20 microseconds of a step
            hot_junction_c,
            self._sensor.box_c,
            wall.layers_c[0],
            LOWER_SHARE * lower_c + UPPER_SHARE * upper_c,
            lower_c if lower_c < upper_c else upper_c,
            upper_c if lower_c < upper_c else lower_c,
            molten,
            metal_kg,
            power_w,
            self._supplied_j,
            stored_j,
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
        self._state = self._look(self._state.power_w, self._state.hot_junction_c)

    def pour(self) -> float:
        """Empty the pot of what is liquid; kg that left it. Its enthalpy is lost to the furnace."""
        poured_kg, poured_j = self._charge.pour()
        self._lost_j += poured_j
        self._state = self._look(self._state.power_w, self._state.hot_junction_c)
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
                self._element.resistance_factor = value
            case "element_broken":
                self._element.broken = value != 0.0
            case "sensor_slip":
                self._sensor.fall_out(value)
            case "sensor_slip_per_s":
                self._sensor.creep_out(value)
            case "sensor_drift_c_per_s":
                self._sensor.walk_off(value)
            case "sensor_bias_c":
                self._sensor.age(value)
            case "leak_w_per_k":
                self._extra_leak_w_k = value
            case "wet_lining_kg":
                lid_share = self._lid.brick_kg / (self._lid.brick_kg + self._wall.brick_kg)
                self._wall.wet(value * (1.0 - lid_share))
                self._lid.wet(value * lid_share)


DISTURBANCES = {
    "element_resistance_factor": (0.2, 20.0),  # on the healthy resistance; 1 mends
    "element_broken": (0.0, 1.0),  # 1 parted, 0 whole
    "sensor_slip": (0.0, 1.0),  # share of the way out of its hole, within 15 s; 0 mends
    "sensor_slip_per_s": (0.0, 1.0),  # creeps out, share of the way per second; 0 stops it
    "sensor_drift_c_per_s": (-10.0, 10.0),  # the reading walks off; 0 mends
    "sensor_bias_c": (-60.0, 60.0),  # wires that age read wrong: so much at 660 °C, nothing when cold; 0 mends
    "leak_w_per_k": (0.0, 100.0),  # from the hot face to the room, on top of the healthy leak; 0 mends
    "wet_lining_kg": (0.0, 10.0),  # water in wall and lid together; 0 dries
}
"""What `disturb` knows, each with the lowest and highest value that it takes."""


class Bench(FurnacePlant):
    """The 6 litre furnace of all benchmarks."""

    furnace_file = "bench"

    def __init__(self, seed: int, spread: float = 0.0, start_c: float = AMBIENT_C) -> None:
        """Make it from a seed; spread varies its constants (0.2: within 20 %), start_c warms it throughout.

        Raises:
            ValueError: spread or start_c out of range.
        """
        super().__init__(BENCH, seed, spread, start_c)


class Workshop(FurnacePlant):
    """The invented furnace A of the shipped example."""

    furnace_file = "workshop"

    def __init__(self, seed: int, spread: float = 0.0, start_c: float = AMBIENT_C) -> None:
        """Make it from a seed; spread varies its constants (0.2: within 20 %), start_c warms it throughout.

        Raises:
            ValueError: spread or start_c out of range.
        """
        super().__init__(WORKSHOP, seed, spread, start_c)
