"""The lines between Pi and furnace, described once: every drawing and table of them is made from this and the pin map.

Numbers come from the shipped furnace file `workshop`; the lines that its furnace does not have get theirs here. Places
on the header come from gpiozero's board data.
"""

from typing import NamedTuple

from gpiozero import pi_info

from hardware.ports import Wiring
from supervisor.furnace.file import read_furnace

NOT_FITTED_THERE = {"load_current": 12, "mains": 15, "tray_probe": 4}
BOARD = pi_info("a03111")  # a Pi 4; all with 40 pins have them in these places
SPI = {11: "SCLK", 9: "MISO", 8: "CE0", 7: "CE1"}


class Line(NamedTuple):
    """One line as a person wires it."""

    name: str  # as in hardware.ports.Wiring
    words: str
    at: str  # where it is tapped, or what it drives

    @property
    def bcm(self) -> int:
        """Its pin, by the number that programs use."""
        pin = NOT_FITTED_THERE.get(self.name, getattr(WIRING, self.name))
        assert isinstance(pin, int), self.name
        return pin

    @property
    def place(self) -> int:
        """Its pin, counted on the header."""
        return places()[self.bcm]


WIRING: Wiring = read_furnace("workshop").wiring

OUTPUTS = (
    Line("permit", "heat permit", "permit circuit"),
    Line("relay", "solid-state relay", "relay input, minus side"),
    Line("enable", "enable", "coil of relay K0"),
    Line("lamp", "amber lamp", "lamp, 24 V"),
    Line("sounder", "sounder", "sounder, 24 V"),
)
INPUTS = (
    Line("emergency_stop", "emergency stop released", "T1"),
    Line("limiter", "limiter healthy", "T2"),
    Line("key", "key on", "second contact of S2"),
    Line("chain", "chain complete up to the reset", "T3"),
    Line("permit_relay_1", "permit relay 1 pulled in", "second contact of K1"),
    Line("permit_relay_2", "permit relay 2 pulled in", "second contact of K2"),
    Line("mirror", "contactor proved open", "mirror contact of Q1"),
    Line("reset_button", "reset button pressed", "second contact of S1"),
    Line("lid", "lid shut", "second contact of the lid switch"),
    Line("load_current", "current in the element", "current relay, or transformer and comparator"),
    Line("energy_pulse", "meter pulse", "pulse output of the meter"),
    Line("mains", "mains is there", "small relay on the mains"),
    Line("tray_probe", "metal under the furnace", "two wires under the block, 24 V through 10 kΩ"),
)
OPTIONAL = ("permit_relay_2", "lid", "load_current", "energy_pulse", "mains", "tray_probe")


def places() -> dict[int, int]:
    """BCM number to place on the header."""
    pins = BOARD.headers["J8"].pins.values()
    return {int(pin.name.removeprefix("GPIO")): pin.number for pin in pins if pin.name.startswith("GPIO")}


def header() -> list[tuple[int, str]]:
    """The forty places in order, each with what is on it."""
    ours = {line.place: line for line in (*OUTPUTS, *INPUTS)}
    buses = {places()[bcm]: f"sensor, {name}" for bcm, name in SPI.items()}
    supply = {"3V3": "3.3 V", "5V": "5 V", "GND": "0 V"}
    found = []
    for number, pin in sorted(BOARD.headers["J8"].pins.items()):
        line = ours.get(number)
        found.append((number, line.words if line else buses.get(number, supply.get(pin.name, ""))))
    return found
