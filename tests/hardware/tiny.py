"""A furnace small enough to know by heart: each second of power lifts it by one kelvin; nothing is lost."""

from hardware.ports import Outputs, Permit, PlantState, Wiring
from hardware.simulated.in_process import InProcess

WIRING = Wiring(
    relay=27,
    enable=22,
    permit=17,
    lamp=23,
    sounder=24,
    emergency_stop=5,
    limiter=6,
    key=26,
    chain=16,
    permit_relay_1=20,
    permit_relay_2=21,
    mirror=13,
    reset_button=18,
    lid=19,
    load_current=12,
    mains=15,
    tray_probe=4,
    energy_pulse=25,
    sensors=(0,),
)

POWER_W = 2000.0

TOGGLE = Outputs(relay=False, enable=True, permit=Permit.TOGGLE, lamp=False, sounder=False)
HEAT = TOGGLE._replace(relay=True)


class TinyPlant:
    """A plant that a test can set by hand."""

    furnace_file = "tiny"

    def __init__(self, hot_c: float = 20.0) -> None:
        self.hot_c = hot_c
        self.supplied_j = 0.0
        self.power_w = 0.0
        self.metal_kg = 0.0
        self.steps: list[tuple[float, bool, bool, float]] = []
        self.disturbed: list[tuple[str, float]] = []

    @property
    def state(self) -> PlantState:
        hot = self.hot_c
        return PlantState(hot, 25.0, hot, hot, hot, hot, 0.0, self.metal_kg, self.power_w, self.supplied_j, 0.0, 0.0)

    def step(self, dt_s: float, *, element_on: bool, lid_open: bool, mains_factor: float) -> PlantState:
        self.steps.append((dt_s, element_on, lid_open, mains_factor))
        self.power_w = POWER_W * mains_factor**2 if element_on else 0.0
        self.supplied_j += self.power_w * dt_s
        self.hot_c += self.power_w / POWER_W * dt_s
        return self.state

    def add_charge(self, mass_kg: float, temperature_c: float, alloy: str) -> None:
        self.metal_kg += mass_kg

    def pour(self) -> float:
        poured_kg, self.metal_kg = self.metal_kg, 0.0
        return poured_kg

    def disturb(self, name: str, value: float) -> None:
        self.disturbed.append((name, value))


def run(hardware: InProcess, seconds: float, outputs: Outputs) -> None:
    """Give the same outputs for so many seconds."""
    for _ in range(round(seconds / 0.25)):
        hardware.apply(outputs)
        hardware.sample()


def start(hardware: InProcess) -> None:
    """Toggle, press, and leave the contactor in."""
    hardware.sample()
    run(hardware, 1.0, TOGGLE)
    hardware.furnace.press(0.5)
    run(hardware, 1.0, TOGGLE)
    assert hardware.furnace.interlock.poles_closed
