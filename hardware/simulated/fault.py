"""What a fault of the simulated furnace is, and the makers of its kinds: chip, contact, plant, board, share, rate."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from hardware.ports import BoardHealth

if TYPE_CHECKING:
    from hardware.simulated.furnace import Furnace


HEALTHY_BOARD = BoardHealth(
    under_voltage=False,
    throttled=False,
    processor_c=45.0,
    clock_trusted=True,
    under_voltage_before=False,
    wifi_saves_power=False,
    keeps_outputs=False,
    card_failing=False,
)


@dataclass(frozen=True, slots=True)
class Fault:
    """One way to break the furnace. `value` is used when none is given; `what_value_is` is empty when it has none."""

    name: str
    sentence: str
    enter: Callable[[Furnace, float], None]
    leave: Callable[[Furnace], None]
    value: float = 1.0
    what_value_is: str = ""


def chip(name: str, sentence: str, attribute: str, broken: object, healthy: object, *, number: int = 0) -> Fault:
    """A chip's attribute takes another value. Where no such chip is fitted there is nothing to break."""

    def put(furnace: Furnace, value: object) -> None:
        for one in furnace.chips[number : number + 1]:
            setattr(one, attribute, value)

    return Fault(name, sentence, lambda furnace, _: put(furnace, broken), lambda furnace: put(furnace, healthy))


def chip_amount(name: str, sentence: str, attribute: str, *, value: float, most: float, unit: str) -> Fault:
    """An attribute of the first chip is an amount from 0 to `most`; 0 is healthy."""

    def enter(furnace: Furnace, amount: float) -> None:
        within(name, amount, 0.0, most, unit)
        setattr(furnace.chips[0], attribute, amount)

    return Fault(name, sentence, enter, lambda furnace: setattr(furnace.chips[0], attribute, 0.0), value, unit)


def switch(name: str, sentence: str, attribute: str) -> Fault:
    """Something of the hardware around the computer is broken, or not."""

    def put(furnace: Furnace, broken: bool) -> None:
        setattr(furnace.interlock, attribute, broken)
        furnace.interlock.settle()

    return Fault(name, sentence, lambda furnace, _: put(furnace, True), lambda furnace: put(furnace, False))


def plant(
    name: str, sentence: str, disturbance: str, *, value: float, mended: float, unit: str, per: float = 1.0
) -> Fault:
    """A property of the plant. `per`: what one unit of the fault's value is in the unit of the plant's disturbance."""

    def enter(furnace: Furnace, amount: float) -> None:
        furnace.plant.disturb(disturbance, amount * per)

    return Fault(name, sentence, enter, lambda furnace: furnace.plant.disturb(disturbance, mended), value, unit)


def furnace_amount(
    name: str, sentence: str, attribute: str, *, value: float, healthy: float, most: float, unit: str
) -> Fault:
    """An amount that the furnace itself keeps, from 0 to `most`."""

    def enter(furnace: Furnace, amount: float) -> None:
        within(name, amount, 0.0, most, unit)
        setattr(furnace, attribute, amount)

    return Fault(name, sentence, enter, lambda furnace: setattr(furnace, attribute, healthy), value, unit)


def board(name: str, sentence: str, field: str, broken: object) -> Fault:
    """What the computer says of itself."""

    def put(furnace: Furnace, value: Any) -> None:
        furnace.board = furnace.board._replace(**{field: value})

    healthy = getattr(HEALTHY_BOARD, field)
    return Fault(name, sentence, lambda furnace, _: put(furnace, broken), lambda furnace: put(furnace, healthy))


def within(name: str, value: float, least: float, most: float, unit: str) -> None:
    """Refuse a value out of range, NaN too.

    Raises:
        ValueError: it is.
    """
    if not least <= value <= most:
        raise ValueError(f"{name} is {value}; allowed: {least:g} to {most:g}, {unit}")
