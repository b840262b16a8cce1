"""The hardware around the computer, simulated: 24 V chain, heat permit, contactor, relay, limiter, reset button.

    24 V - emergency stop -T1- limiter -T2- key - enable - permit 1 - permit 2 -T3-+- reset button -+-T4- contactor coil
                                                                                    +- own auxiliary -+
    T4 - lid switch - solid-state relay

Pure state: it is told levels and moments, and works out what follows at which moment. The times of the permit relays
are those of a simulated circuit (drop-out 1.0 to 2.1 s after the last good rising edge, contactor included, simulated,
not built); pull-in and opening of the contactor are assumed.
"""

from collections.abc import Callable
from math import inf
from random import Random

PERMIT_PULL_IN_S = 0.010
CONTACTOR_PULL_IN_S = 0.025
CONTACTOR_OPENS_S = 0.015
LEAST_GOOD_GAP_S = 0.18
"""Rising edges closer than this merge into a constant level: a racing line is no good edge."""
DROP_OUT_LEAST_S, DROP_OUT_MOST_S = 1.0, 2.1
DROP_OUT_SPREAD = 0.03
"""From one event to the next, as a share; the furnace's own mean is drawn once."""


class PermitRelay:
    """One relay of the heat permit: pulled in while good rising edges keep coming."""

    def __init__(self) -> None:
        self.welded = False
        self.due_s = inf
        self._pulled = False
        self._drops_s = -inf

    @property
    def closed(self) -> bool:
        """Whether its contacts are closed."""
        return self._pulled or self.welded

    def edge(self, at_s: float, drop_out_s: float) -> None:
        """A good rising edge came; without another the relay drops after `drop_out_s`."""
        self._drops_s = at_s + drop_out_s
        self.due_s = self._drops_s if self._pulled else at_s + PERMIT_PULL_IN_S

    def turn(self) -> None:
        """Do what was due: pull in, or drop."""
        self._pulled = self.due_s < self._drops_s
        self.due_s = self._drops_s if self._pulled else inf

    def starve(self) -> None:
        """The 24 V are gone: drop now and forget the edges."""
        self._pulled = False
        self.due_s = inf


class Interlock:
    """The state of everything between the output pins and the element, at `now_s`."""

    def __init__(self, seed: int, record: Callable[[float, str, bool], None]) -> None:
        """Start with nothing energised but the 24 V; `record` hears every change with its moment, s."""
        self.now_s = 0.0
        self._record = record
        self._random = Random(seed)
        # kept inside the limits with spread and armature: nothing is ever clamped
        self._drop_out_s = self._random.uniform(
            DROP_OUT_LEAST_S / (1 - DROP_OUT_SPREAD), (DROP_OUT_MOST_S - CONTACTOR_OPENS_S) / (1 + DROP_OUT_SPREAD)
        )
        # output pins
        self.relay = self.enable = self.permit = False
        # what people and the world do
        self.mains = True
        self.emergency_stop_released = True
        self.key_on = True
        self.lid_shut = True
        self.button_pressed = False
        self.limiter_tripped = False
        # what can be broken
        self.relay_stuck_on = self.relay_stuck_off = False
        self.relay_half_wave = self.relay_half_power = False  # conducts half when told off; only half when told on
        self.element_broken = False
        self.load_fed = True  # its breaker and fuse are whole, and there is voltage
        self.contactor_welds = False
        self.button_stuck = False
        self.lid_switch_stuck_closed = False
        self.lid_bounced = self.fluttered = False  # at this moment
        self.current_stuck_on = self.current_stuck_off = False
        self.chain_fuse_blown = False
        self.tray_wet = False
        # what follows
        self.permit_relays = (PermitRelay(), PermitRelay())
        self.coil = False  # whether the contactor is pulled: by its coil, or by a weld
        self.poles_closed = False
        self.power_share = 0.0  # of the element's full power
        self.moved = True  # for whoever shows the inputs: cleared there
        self._permit_closed = [False, False]
        self._coil_due_s = inf
        self._button_due_s = inf
        self._last_rising_s = -inf
        self._powered_s = 0.0
        self._powered_since_s = 0.0

    # -- what is told ------------------------------------------------------------------------------------------------

    def set_output(self, line: str, level: bool) -> None:
        """An output pin changed to `level` at `now_s`. Lamp and sounder move nothing here."""
        if line == "permit":
            self.permit = level
            if level:
                self._permit_rose()
        elif line == "relay":
            self.relay = level
            self.settle()
        elif line == "enable":
            self.enable = level
            self.settle()

    def _permit_rose(self) -> None:
        gap_s = self.now_s - self._last_rising_s
        self._last_rising_s = self.now_s
        if gap_s < LEAST_GOOD_GAP_S or not self.supply:
            return
        for relay in self.permit_relays:
            spread = self._random.uniform(-DROP_OUT_SPREAD, DROP_OUT_SPREAD)
            relay.edge(self.now_s, self._drop_out_s * (1 + spread))

    def press(self, seconds: float) -> None:
        """Hold the reset button from now on for so many seconds (inf: until released)."""
        self._button_due_s = self.now_s + seconds
        self._move_button(True)

    def release(self) -> None:
        """Let go of the reset button."""
        self._button_due_s = inf
        self._move_button(False)

    def _move_button(self, pressed: bool) -> None:
        if pressed != self.button_pressed:
            self.button_pressed = pressed
            self._record(self.now_s, "reset_button", pressed)
        self.settle()

    # -- what can be read --------------------------------------------------------------------------------------------

    @property
    def supply(self) -> bool:
        """Whether the 24 V of the chain are there: they hang on the same mains, behind a fuse of their own."""
        return self.mains and not self.chain_fuse_blown

    @property
    def powered(self) -> bool:
        """Whether current flows in the element."""
        return self.power_share > 0.0

    @property
    def limiter_made(self) -> bool:
        """Tap T2: in series behind the emergency stop."""
        return self.supply and self.emergency_stop_released and not self.limiter_tripped

    @property
    def chain_made(self) -> bool:
        """Tap T3: everything in front of the reset button."""
        first, second = self.permit_relays
        return self.limiter_made and self.key_on and self.enable and first.closed and second.closed

    @property
    def lid_contact(self) -> bool:
        """The lid switch, both of its contacts."""
        return (self.lid_shut and not self.lid_bounced) or self.lid_switch_stuck_closed

    @property
    def button(self) -> bool:
        """The reset button, both of its contacts."""
        return self.button_pressed or self.button_stuck

    def inputs(self) -> tuple[bool, ...]:
        """Give every input line in the order of `ports.Inputs`: true is closed.

        All die with the 24 V but the mains presence, which hangs on the mains itself.
        """
        supply = self.supply
        return (
            supply and self.emergency_stop_released,
            self.limiter_made,
            supply and self.key_on,
            self.chain_made,
            supply and self.permit_relays[0].closed,
            supply and self.permit_relays[1].closed,
            supply and (not self.poles_closed or self.fluttered),
            supply and self.lid_contact,
            supply and self.button,
            supply and ((self.powered and not self.current_stuck_off) or self.current_stuck_on),
            self.mains,
            supply and self.tray_wet,
        )

    def take_powered_s(self) -> float:
        """Give the seconds of full power that the element had since this was last asked; half power counts half."""
        self._count_power()
        powered_s, self._powered_s = self._powered_s, 0.0
        return powered_s

    def _count_power(self) -> None:
        if self.power_share:
            self._powered_s += self.power_share * (self.now_s - self._powered_since_s)
        self._powered_since_s = self.now_s

    # -- what follows ------------------------------------------------------------------------------------------------

    def advance(self, to_s: float) -> None:
        """Go on to `to_s` through every moment at which something moves."""
        first, second = self.permit_relays
        while True:
            due_s = min(first.due_s, second.due_s, self._coil_due_s, self._button_due_s)
            if due_s > to_s:
                self.now_s = to_s
                return
            self.now_s = due_s
            if first.due_s == due_s:
                first.turn()
            if second.due_s == due_s:
                second.turn()
            if self._button_due_s == due_s:
                self.release()
            if self._coil_due_s == due_s:
                self._coil_due_s = inf
                self.poles_closed = self.coil
                self._record(due_s, "contactor", self.poles_closed)
            self.settle()

    def settle(self) -> None:
        """Work out permit relays, coil and element from all that is set: call it after any change."""
        self.moved = True
        closed = []
        for relay in self.permit_relays:
            if not self.supply:
                relay.starve()
            closed.append(relay.closed)
        for number, (now, before) in enumerate(zip(closed, self._permit_closed, strict=True), start=1):
            if now != before:
                self._record(self.now_s, f"permit_relay_{number}", now)
        self._permit_closed = closed
        made = self.chain_made and (self.button or self.poles_closed)
        self._settle_coil(made or (self.poles_closed and self.contactor_welds))
        drive = self.relay and made and self.lid_contact
        fed = self.poles_closed and not self.fluttered and self.mains and self.load_fed and not self.element_broken
        self._settle_element(self._conducts(drive) if fed else 0.0)

    def _conducts(self, drive: bool) -> float:
        """Give the share of full power that the relay lets through."""
        if self.relay_stuck_off:
            return 0.0
        if self.relay_stuck_on:
            return 1.0
        if drive:
            return 0.5 if self.relay_half_power else 1.0
        return 0.5 if self.relay_half_wave else 0.0

    def _settle_coil(self, coil: bool) -> None:
        if coil == self.coil:
            return
        self.coil = coil
        if coil == self.poles_closed:
            self._coil_due_s = inf  # it never got there
        else:
            self._coil_due_s = self.now_s + (CONTACTOR_PULL_IN_S if coil else CONTACTOR_OPENS_S)

    def _settle_element(self, share: float) -> None:
        if share == self.power_share:
            return
        self._count_power()
        powered = share > 0.0
        changed = powered is not self.powered
        self.power_share = share
        if changed:
            self._record(self.now_s, "element", powered)
