"""Mock pins that behave like the board's: a released output falls low, edges carry the furnace's time, not the wall's.

gpiozero's own mock pin keeps a list of every change for ever, with times of the real clock, and stays high after it
was closed. Here a change is handed to whoever asked for it, and the external pull-down of every output is there.
"""

from collections.abc import Callable

from gpiozero.pins.mock import MockFactory, MockPin

from hardware.lines import OUTPUT_LINES
from hardware.ports import Inputs, Wiring


class BoardPin(MockPin):
    """A pin of the simulated board. `changed` hears every new level of it as an output."""

    _state: bool
    changed: Callable[[bool], None] | None = None

    def close(self) -> None:
        """Become an input; the external pull-down takes the line low."""
        was_output = self.function == "output"
        super().close()
        if was_output:
            self.drive_low()

    def _change_state(self, value: bool) -> bool:
        if self._state == value:
            return False
        self._state = value
        if self.changed is not None:
            self.changed(value)
        return True


class Board:
    """The pins of one furnace's wiring: outputs tell, inputs are driven."""

    def __init__(self, wiring: Wiring, output_changed: Callable[[str, bool], None]) -> None:
        """`output_changed` is called with line and level at each edge of an output."""
        self.factory = MockFactory(pin_class=BoardPin)
        self._input_pins = [
            (position, self.factory.pin(pin))
            for position, pin in enumerate(getattr(wiring, line) for line in Inputs._fields)
            if pin is not None
        ]
        self._meter_pin = None if wiring.energy_pulse is None else self.factory.pin(wiring.energy_pulse)
        for _, pin in self._input_pins:
            pin.drive_high()
        if self._meter_pin is not None:
            self._meter_pin.drive_high()
        for line in OUTPUT_LINES:
            pin = getattr(wiring, line)
            if pin is not None:
                self._listen(line, pin, output_changed)

    def _listen(self, line: str, pin: int, output_changed: Callable[[str, bool], None]) -> None:
        self.factory.pin(pin).changed = lambda level: output_changed(line, level)

    def drive(self, closed: tuple[bool, ...]) -> None:
        """Set every fitted input, in the order of Inputs: closed pulls the pin low."""
        for position, pin in self._input_pins:
            if closed[position]:
                pin.drive_low()
            else:
                pin.drive_high()

    def pulse_meter(self) -> None:
        """Give one pulse of the energy meter."""
        if self._meter_pin is not None:
            self._meter_pin.drive_low()
            self._meter_pin.drive_high()
