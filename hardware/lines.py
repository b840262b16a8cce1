"""The furnace's lines through gpiozero: relay, enable, heat permit, lamp, sounder, and the inputs.

Every output is active-high and created off: an active-low one would blip on at each start. Inputs are polled, never
watched by callback: an exception in a callback would end the library's only thread. The energy meter alone is
counted by edge, by one statement that cannot fail.
"""

from threading import get_ident

from gpiozero import DigitalInputDevice, InputDevice, OutputDevice
from gpiozero.pins import Factory

from hardware.ports import Inputs, Level, OutputFault, Outputs, Permit, Wiring

LEAST_BETWEEN_PERMIT_EDGES_S = 0.2
"""A late cycle is never caught up: the permit circuit must not be fed by two edges in a hurry."""

OUTPUT_LINES = ("relay", "enable", "permit", "lamp", "sounder")
INPUT_LINES = Inputs._fields


class Lines:
    """All lines of one furnace. The thread that first applies outputs owns them."""

    def __init__(self, wiring: Wiring, pin_factory: Factory) -> None:
        """Open every fitted line; every output is driven off at once."""
        self._owner: int | None = None
        self._last_edge_s = float("-inf")
        self._pulses = 0

        def output(pin: int) -> OutputDevice:
            return OutputDevice(pin, active_high=True, initial_value=False, pin_factory=pin_factory)

        self._relay = output(wiring.relay)
        self._enable = output(wiring.enable)
        self._permit = output(wiring.permit)
        self._lamp = output(wiring.lamp)
        self._sounder = output(wiring.sounder)
        self._outputs = (self._relay, self._enable, self._permit, self._lamp, self._sounder)
        self._relay_pin, self._enable_pin, self._permit_pin = self._relay.pin, self._enable.pin, self._permit.pin

        pins = [getattr(wiring, line) for line in INPUT_LINES]
        self._inputs = [
            InputDevice(pin, pull_up=None, active_state=False, pin_factory=pin_factory)
            for pin in pins
            if pin is not None
        ]
        self._fitted = [pin is not None for pin in pins]
        # A device's own `value` costs six calls each; twelve of them, four times a second and 2000 times as fast.
        self._input_pins = [device.pin for device in self._inputs]
        self._seen: tuple[list[bool], Inputs] | None = None
        self._meter: DigitalInputDevice | None = None
        if wiring.energy_pulse is not None:
            self._meter = DigitalInputDevice(
                wiring.energy_pulse, pull_up=None, active_state=False, pin_factory=pin_factory
            )
            self._meter.when_activated = self._count_pulse

    def _count_pulse(self) -> None:
        self._pulses += 1

    @property
    def energy_pulses(self) -> int:
        """Pulses of the energy meter since these lines were opened; 0 when none is fitted."""
        return self._pulses

    def read(self) -> Inputs:
        """Poll every input line once."""
        levels = [pin.state for pin in self._input_pins]
        if self._seen is not None and self._seen[0] == levels:
            return self._seen[1]
        fitted = iter(levels)
        inputs = Inputs(
            *[(Level.OPEN if next(fitted) else Level.CLOSED) if there else Level.NOT_FITTED for there in self._fitted]
        )
        self._seen = (levels, inputs)
        return inputs

    def apply(self, outputs: Outputs, now_s: float) -> None:
        """Write all outputs, read relay and enable back, and give the permit its edge last.

        now_s: time of the sample that the outputs answer, monotonic. An edge of the permit sooner than
        LEAST_BETWEEN_PERMIT_EDGES_S after the last is left out.

        Raises:
            OutputFault: relay or enable did not read back as written; both were switched off, the permit left still.
            TypeError: something else than True, False or a Permit; everything was switched off.
            RuntimeError: another thread owns the outputs.
        """
        if self._owner != get_ident():
            self._take_ownership()
        relay, enable, permit, lamp, sounder = outputs
        for value in (relay, enable, lamp, sounder):
            if value is not True and value is not False:  # the library would take NaN, -1 or "off" for on
                self._switch_all_off()
                raise TypeError(f"outputs are {outputs!r}; allowed: True or False")
        _write(self._relay, relay)
        _write(self._enable, enable)
        _write(self._lamp, lamp)
        _write(self._sounder, sounder)
        if self._relay_pin.state != relay or self._enable_pin.state != enable:
            self._relay.off()
            self._enable.off()
            raise OutputFault(f"relay or enable did not read back as written: {outputs!r}")
        if permit is not Permit.STILL:
            self._move_permit(permit, now_s)

    def _move_permit(self, permit: Permit, now_s: float) -> None:
        level = bool(self._permit_pin.state)
        if permit is Permit.TOGGLE:
            wanted = not level
        elif permit is Permit.HIGH or permit is Permit.LOW:
            wanted = permit is Permit.HIGH
        else:
            self._switch_all_off()
            raise TypeError(f"permit is {permit!r}; allowed: a Permit")
        if wanted != level and now_s - self._last_edge_s >= LEAST_BETWEEN_PERMIT_EDGES_S:
            _write(self._permit, wanted)
            self._last_edge_s = now_s

    def _take_ownership(self) -> None:
        if self._owner is not None:
            raise RuntimeError("the outputs belong to another thread")
        self._owner = get_ident()

    def _switch_all_off(self) -> None:
        for device in self._outputs:
            device.off()

    def close(self) -> None:
        """Switch everything off, prove it off, then release the pins. A second call does nothing.

        Releasing makes a pin an input, which is not off by itself: hence the order.

        Raises:
            OutputFault: an output still reads on; it was released all the same.
        """
        if self._relay.closed:
            return
        try:
            self._switch_all_off()
            still_on = [name for name, device in zip(OUTPUT_LINES, self._outputs, strict=True) if device.value]
        finally:
            for device in (*self._outputs, *self._inputs, *([self._meter] if self._meter else [])):
                device.close()
        if still_on:
            raise OutputFault(f"still on after being switched off: {', '.join(still_on)}")


def _write(device: OutputDevice, level: bool) -> None:
    if level:
        device.on()
    else:
        device.off()
