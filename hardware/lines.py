"""The furnace's lines through gpiozero: relay, enable, heat permit, lamp, sounder, and the inputs.

Every output is active-high and created off: an active-low one would blip on at each start. Inputs are polled, never
watched by callback: an exception in a callback would end the library's only thread. The energy meter alone is
counted by edge, by one statement that cannot fail.

A furnace that another regulator heats has no outputs here: none of their pins is opened.
"""

from collections.abc import Iterable
from contextlib import suppress
from threading import get_ident

from gpiozero import Device, DigitalInputDevice, InputDevice, OutputDevice
from gpiozero.pins import Factory

from hardware.ports import Inputs, Level, OutputFault, Outputs, Permit, Wiring

LEAST_BETWEEN_PERMIT_EDGES_S = 0.2
"""A late cycle is never caught up: the permit circuit must not be fed by two edges in a hurry."""

OUTPUT_LINES = ("relay", "enable", "permit", "lamp", "sounder")
INPUT_LINES = Inputs._fields
_CLOSED_IN_DOUBT = ("load_current", "tray_probe")
"""The lines whose bad news is closed. All others say open in doubt: not healthy, not proved, not pressed."""


class Lines:
    """All lines of one furnace. The thread that first applies outputs owns them."""

    def __init__(self, wiring: Wiring, pin_factory: Factory) -> None:
        """Open every fitted line; every output is driven off at once.

        Raises:
            Whatever the library raises when a pin cannot be had: what was opened by then is off and let go.
        """
        self._owner: int | None = None
        self._last_edge_s = float("-inf")
        self._pulses = 0
        self._opened: list[Device] = []
        try:
            self._open_outputs(wiring, pin_factory)
            self._open_inputs(wiring, pin_factory)
        except BaseException:
            _let_go(self._opened)
            raise
        self._seen: tuple[list[bool], Inputs] | None = None
        self._looks: list[list[bool]] = []

    def _open_outputs(self, wiring: Wiring, pin_factory: Factory) -> None:
        self._outputs: dict[str, OutputDevice] = {}
        for line in OUTPUT_LINES:
            pin = getattr(wiring, line)
            if pin is not None:
                self._outputs[line] = OutputDevice(pin, active_high=True, initial_value=False, pin_factory=pin_factory)
                self._opened.append(self._outputs[line])
        if self._outputs:
            self._relay, self._enable, self._permit, self._lamp, self._sounder = self._outputs.values()
            self._relay_pin, self._enable_pin = self._relay.pin, self._enable.pin
            self._permit_pin = self._permit.pin

    def _open_inputs(self, wiring: Wiring, pin_factory: Factory) -> None:
        pins = {line: getattr(wiring, line) for line in INPUT_LINES}
        fitted = {line: pin for line, pin in pins.items() if pin is not None}
        self._fitted = [pin is not None for pin in pins.values()]
        self._closed_in_doubt = [line in _CLOSED_IN_DOUBT for line in fitted]
        # A device's own `value` costs six calls each; twelve of them, four times a second and 2000 times as fast.
        self._input_pins = []
        for pin in fitted.values():
            device = InputDevice(pin, pull_up=None, active_state=False, pin_factory=pin_factory)
            self._opened.append(device)
            self._input_pins.append(device.pin)
        if wiring.energy_pulse is not None:
            meter = DigitalInputDevice(wiring.energy_pulse, pull_up=None, active_state=False, pin_factory=pin_factory)
            self._opened.append(meter)
            meter.when_activated = self._count_pulse

    def _count_pulse(self) -> None:
        self._pulses += 1

    @property
    def energy_pulses(self) -> int:
        """Pulses of the energy meter since these lines were opened; 0 when none is fitted."""
        return self._pulses

    def look(self) -> None:
        """Look at every input some milliseconds before `read`, which then says only what held all the time.

        Raises:
            OutputFault: as `read`.
        """
        self._looks.append(self._levels())

    def read(self) -> Inputs:
        """Poll every input line once, and take the looks before it into account: a contact in motion is in doubt.

        Raises:
            OutputFault: the pins do not answer any more.
        """
        levels = self._levels()
        if self._looks:
            seen, self._looks = [*self._looks, levels], []
            levels = [
                all(levels) if closed_in_doubt else any(levels)
                for closed_in_doubt, levels in zip(self._closed_in_doubt, zip(*seen, strict=True), strict=True)
            ]
        if self._seen is not None and self._seen[0] == levels:
            return self._seen[1]
        fitted = iter(levels)
        inputs = Inputs(
            *[(Level.OPEN if next(fitted) else Level.CLOSED) if there else Level.NOT_FITTED for there in self._fitted]
        )
        self._seen = (levels, inputs)
        return inputs

    def _levels(self) -> list[bool]:
        try:
            return [pin.state for pin in self._input_pins]
        except Exception as error:
            raise OutputFault(f"the pins do not answer any more: {error}") from error

    def apply(self, outputs: Outputs, now_s: float) -> None:
        """Write all outputs, read relay and enable back, and give the permit its edge last.

        now_s: the moment, monotonic. An edge of the permit sooner than LEAST_BETWEEN_PERMIT_EDGES_S after the last is
        left out.

        Raises:
            OutputFault: relay or enable did not read back as written, or a pin cannot be written; everything that can
                be was switched off, the permit left still. Or there are no outputs and one was wanted on.
            TypeError: something else than True, False or a Permit; everything was switched off.
            RuntimeError: another thread owns the outputs.
        """
        if self._owner != get_ident():
            self._take_ownership()
        self._refuse_what_is_no_level(outputs)
        relay, enable, permit, lamp, sounder = outputs
        if not self._outputs:
            if relay or enable or permit is not Permit.STILL:
                raise OutputFault(f"another regulator heats this furnace, and {outputs!r} were wanted")
            return
        try:
            _write(self._relay, relay)
            _write(self._enable, enable)
            _write(self._lamp, lamp)
            _write(self._sounder, sounder)
            agree = self._relay_pin.state == relay and self._enable_pin.state == enable
            if agree and permit is not Permit.STILL:
                self._move_permit(permit, now_s)
        except Exception as error:
            self._switch_all_off()
            raise OutputFault(f"an output cannot be written any more: {error}") from error
        if not agree:
            self._switch_all_off()
            raise OutputFault(f"relay or enable did not read back as written: {outputs!r}")

    def _refuse_what_is_no_level(self, outputs: Outputs) -> None:
        relay, enable, permit, lamp, sounder = outputs
        for value in (relay, enable, lamp, sounder):
            if value is not True and value is not False:  # the library would take NaN, -1 or "off" for on
                self._switch_all_off()
                raise TypeError(f"outputs are {outputs!r}; allowed: True or False")
        if permit.__class__ is not Permit:
            self._switch_all_off()
            raise TypeError(f"permit is {permit!r}; allowed: a Permit")

    def _move_permit(self, permit: Permit, now_s: float) -> None:
        """The one place that moves the heat permit's pin."""
        level = bool(self._permit_pin.state)
        wanted = not level if permit is Permit.TOGGLE else permit is Permit.HIGH
        if wanted != level and now_s - self._last_edge_s >= LEAST_BETWEEN_PERMIT_EDGES_S:
            _write(self._permit, wanted)
            self._last_edge_s = now_s

    def _take_ownership(self) -> None:
        if self._owner is not None:
            raise RuntimeError("the outputs belong to another thread")
        self._owner = get_ident()

    def _switch_all_off(self) -> list[str]:
        """Each by itself: one that cannot be written keeps no other on. The names of those that are not off."""
        still_on = []
        for name, device in self._outputs.items():
            try:
                device.off()
                off = not device.value
            except Exception:  # noqa: BLE001 - it is named, and the others come first
                off = False
            if not off:
                still_on.append(name)
        return still_on

    def close(self) -> None:
        """Switch everything off, prove it off, then release the pins. A second call does nothing.

        Releasing makes a pin an input, which is not off by itself: hence the order.

        Raises:
            OutputFault: an output still reads on; it was released all the same.
        """
        if not self._opened:
            return
        try:
            still_on = self._switch_all_off()
        finally:
            opened, self._opened = self._opened, []
            _let_go(opened)
        if still_on:
            raise OutputFault(f"still on after being switched off: {', '.join(still_on)}")


def _let_go(devices: Iterable[Device]) -> None:
    """Release each by itself: one that cannot be released keeps no other."""
    for device in devices:
        with suppress(Exception):
            device.close()


def _write(device: OutputDevice, level: bool) -> None:
    if level:
        device.on()
    else:
        device.off()
