"""Which line may sit on which pin of the Pi, by BCM number, and which lines a furnace cannot be without."""

from typing import Annotated, Any

from pydantic import Field

from supervisor.refusal import InputRefused, refusal
from supervisor.toml_input import Fields, Line

# Power-on: 0 to 8 are pulled up, 9 to 27 pulled down (BCM2835 ARM Peripherals, section 6.2, table of alternative
# functions). 0 and 1 read a board's identity, 2 and 3 have fixed pull-ups, 7 to 11 are the sensor's bus, 14 and 15 the
# serial console. A hardware PWM block (12, 13, 18, 19) goes on pulsing without any program.
OUTPUT_PINS = (12, 13, *range(16, 28))
PERMIT_PINS = tuple(pin for pin in OUTPUT_PINS if pin not in (12, 13, 18, 19))
INPUT_PINS = (4, 5, 6, 12, 13, 15, *range(16, 28))

_NEEDED = "real heat is refused without it"


def _numbers(pins: tuple[int, ...]) -> str:
    """`4 to 6, 12, 13`: runs of three and more as a range."""
    parts: list[str] = []
    run: list[int] = []
    for pin in (*pins, -1):
        if run and pin != run[-1] + 1:
            parts.append(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)))
            run = []
        run.append(pin)
    return ", ".join(parts)


def _pin(pins: tuple[int, ...], why: str = "") -> Any:
    return Field(description=f"BCM {_numbers(pins)}{f'; {why}' if why else ''}")


Input = Annotated[int, _pin(INPUT_PINS, _NEEDED)]
Optional = Annotated[int | None, _pin(INPUT_PINS, "leave it out if it is not fitted")]
Output = Annotated[int, _pin(OUTPUT_PINS, "an output must be pulled down at power-on")]


Nothing = Annotated[None, Field(description="nothing: another regulator heats, and no output is opened")]


class PinFields(Fields):
    """The lines, named as in `hardware.ports.Wiring`. What may be left out is what may be not fitted."""

    relay: Output
    enable: Output
    permit: Annotated[int, _pin(PERMIT_PINS, "pulled down at power-on, and no hardware PWM can pulse it")]
    lamp: Output
    sounder: Output
    emergency_stop: Input
    limiter: Input
    key: Input
    chain: Input
    permit_relay_1: Input
    permit_relay_2: Optional = None
    mirror: Input
    reset_button: Input
    lid: Optional = None
    load_current: Optional = None
    mains: Optional = None
    tray_probe: Optional = None
    energy_pulse: Optional = None
    sensor_chip_selects: Annotated[list[int], Field(description="[0], or [0, 1] with two thermocouples")]


class LookingPinFields(Fields):
    """The lines of a furnace that another regulator heats: no output, and of the inputs what is there."""

    relay: Nothing = None
    enable: Nothing = None
    permit: Nothing = None
    lamp: Nothing = None
    sounder: Nothing = None
    emergency_stop: Optional = None
    limiter: Optional = None
    key: Optional = None
    chain: Optional = None
    permit_relay_1: Optional = None
    permit_relay_2: Optional = None
    mirror: Optional = None
    reset_button: Optional = None
    lid: Optional = None
    load_current: Optional = None
    mains: Optional = None
    tray_probe: Optional = None
    energy_pulse: Optional = None
    sensor_chip_selects: Annotated[list[int], Field(description="[0], or [0, 1] with two thermocouples")]


OPTIONAL_LINES = ("permit_relay_2", "lid", "load_current", "mains", "tray_probe", "energy_pulse", "second_sensor")
"""What a furnace may be without, named as in [pins]; the second thermocouple is the second chip select."""


class NotFittedFields(Fields):
    """What this furnace is without, and who says so: nothing is left out by forgetting it."""

    said_by: Line
    lines: Annotated[list[str], Field(description=f"any of {', '.join(OPTIONAL_LINES)}")]


_OUTPUTS = ("relay", "enable", "lamp", "sounder")


def check_pins(pins: PinFields | LookingPinFields, *, metered: bool, source: str) -> None:
    """Refuse a line on a pin that cannot carry it, two lines on one pin, and half an energy meter.

    Raises:
        InputRefused: the first such line.
    """
    taken: dict[int, str] = {}
    for line, pin in pins.model_dump(exclude={"sensor_chip_selects"}).items():
        if pin is None:
            continue
        fitting = PERMIT_PINS if line == "permit" else OUTPUT_PINS if line in _OUTPUTS else INPUT_PINS
        if pin not in fitting:
            raise refusal(source, f"pins.{line}", pin, PinFields.model_fields[line].description or "")
        if pin in taken:
            raise refusal(source, f"pins.{line}", pin, f"a pin of its own, {pin} is pins.{taken[pin]}")
        taken[pin] = line
    if pins.sensor_chip_selects not in ([0], [0, 1]):
        allowed = PinFields.model_fields["sensor_chip_selects"].description or ""
        raise refusal(source, "pins.sensor_chip_selects", pins.sensor_chip_selects, allowed)
    if metered and pins.energy_pulse is None:
        raise InputRefused(f"{source}: pins.energy_pulse is missing; allowed: a pin, or a file without [energy_meter]")
    if not metered and pins.energy_pulse is not None:
        raise InputRefused(f"{source}: energy_meter.pulses_per_kwh is missing; allowed: 100 to 10000 pulses per kWh")


def check_not_fitted(
    pins: PinFields | LookingPinFields, said: NotFittedFields | None, *, invented: bool, source: str
) -> None:
    """Refuse a line that is neither wired nor signed for as not fitted, and one that is both.

    An invented furnace needs no signature.

    Raises:
        InputRefused: the first such line.
    """
    fitted = {line for line in OPTIONAL_LINES if line != "second_sensor" and getattr(pins, line) is not None}
    if len(pins.sensor_chip_selects) > 1:
        fitted.add("second_sensor")
    named = () if said is None else said.lines
    for line in named:
        if line not in OPTIONAL_LINES:
            raise refusal(source, "not_fitted.lines", line, f"any of {', '.join(OPTIONAL_LINES)}")
        if line in fitted:
            raise refusal(source, "not_fitted.lines", line, "only what has no pin, and this one has")
    for line in OPTIONAL_LINES:
        if not invented and line not in fitted and line not in named:
            where = "[0, 1] in pins.sensor_chip_selects" if line == "second_sensor" else f"a pin for pins.{line}"
            raise InputRefused(
                f"{source}: {line} is neither wired nor said to be not fitted; allowed: {where}, or its name in"
                " not_fitted.lines, with not_fitted.said_by"
            )
