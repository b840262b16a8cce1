"""Does the permit circuit refuse a line that races? A program of its own, for commissioning: it opens only the permit.

A loop that runs wild toggles too fast; a circuit with a window lets go of such a line, a plain pump does not. It is
tried with no supervisor running and the key off, so that no contactor can go in: both are proved before the first edge,
and neither relay nor enable is ever opened here.

It reads the furnace's wiring (`Wiring._asdict()`) as JSON from its standard input: `python -m hardware.fast_toggle`.
It answers with one line of JSON: the fields of `FastToggle`. Exit status: 0 it was tried, 2 it was refused.
"""

import json
import sys
import tempfile
from collections.abc import Callable
from contextlib import ExitStack, closing
from pathlib import Path
from typing import Any, NamedTuple

from gpiozero import OutputDevice
from gpiozero.pins import Factory

from hardware import clock
from hardware.lines import Lines
from hardware.machine import NotThisMachine, refuse_machine
from hardware.pi import claim, real_pins
from hardware.ports import Inputs, Level, OutputFault, Wiring, only_looking

EDGE_EVERY_S = 0.025
TOGGLE_S = 2.5
LOOKED_AT = ("key", "mirror", "permit_relay_1", "permit_relay_2")
OPEN_FROM_S = 2.1
"""By then the circuit has forgotten the very first edge, which is a good one (simulated drop-out: 1.0 to 2.1 s)."""


class FastToggle(NamedTuple):
    """What was seen. A relay that is not fitted has None."""

    refused: str  # why nothing was tried; empty when it was
    opened_1_s: float | None  # after so long the first permit relay was last seen closed; 0: never closed
    opened_2_s: float | None
    passed: bool  # both read open from OPEN_FROM_S to the end


def permit_only(wiring: Wiring) -> Wiring:
    """What this test may open of a furnace: one output, and the inputs that it looks at."""
    unseen: dict[str, Any] = {line: None for line in Inputs._fields if line not in LOOKED_AT}
    return only_looking(wiring)._replace(permit=wiring.permit, energy_pulse=None, **unseen)


def fast_toggle(
    wiring: Wiring,
    pins: Factory,
    *,
    now_s: Callable[[], float] = clock.monotonic_s,
    sleep_until_s: Callable[[float], None] = clock.sleep_until_s,
) -> FastToggle:
    """Toggle the permit every 25 ms for 2.5 s and look at its relays. The permit ends low and let go.

    The caller holds the claim on the furnace, so that no supervisor runs.

    Raises:
        OutputFault: the pins do not answer.
    """
    with closing(Lines(only_looking(wiring), pins)) as inputs:
        why = _why_not(inputs.read())
        if why:
            return FastToggle(why, None, None, False)
        permit = OutputDevice(wiring.permit, active_high=True, initial_value=False, pin_factory=pins)
        try:
            return _race(permit, inputs, now_s, sleep_until_s)
        finally:
            try:
                permit.off()
            finally:
                permit.close()


def _why_not(inputs: Inputs) -> str:
    if inputs.key is not Level.OPEN:
        return "The key reads on: turn it off first, so that no contactor can go in."
    if inputs.mirror is not Level.CLOSED:
        return "The contactor is not proved open."
    if Level.CLOSED in (inputs.permit_relay_1, inputs.permit_relay_2):
        return "A permit relay reads closed with the permit still."
    return ""


def _race(
    permit: OutputDevice, inputs: Lines, now_s: Callable[[], float], sleep_until_s: Callable[[float], None]
) -> FastToggle:
    began_s = now_s()
    closed_s: list[float | None] = [0.0, 0.0]
    for number in range(round(TOGGLE_S / EDGE_EVERY_S)):
        sleep_until_s(began_s + number * EDGE_EVERY_S)
        if number % 2 == 0:
            permit.on()
        else:
            permit.off()
        seen = inputs.read()
        for which, level in enumerate((seen.permit_relay_1, seen.permit_relay_2)):
            if level is Level.NOT_FITTED:
                closed_s[which] = None
            elif level is Level.CLOSED:
                closed_s[which] = now_s() - began_s
    passed = all(last_s is None or last_s <= OPEN_FROM_S for last_s in closed_s)
    return FastToggle("", closed_s[0], closed_s[1], passed)


def main() -> int:
    """Read the pins from standard input, try it on this Pi, and print what was seen."""
    try:
        asked = json.load(sys.stdin)
        wiring = permit_only(Wiring(**{**asked, "sensors": tuple(asked["sensors"])}))
        refuse_machine(wiring.sensors)
        with ExitStack() as held:
            held.callback(claim(Path(f"/dev/spidev0.{wiring.sensors[0]}")))
            pins = real_pins(Path(tempfile.gettempdir()))
            held.callback(pins.close)
            seen = fast_toggle(wiring, pins)
    except (NotThisMachine, OutputFault, OSError, ValueError, TypeError, KeyError) as error:
        seen = FastToggle(str(error), None, None, False)
    sys.stdout.write(json.dumps(seen._asdict()) + "\n")
    return 2 if seen.refused else 0


if __name__ == "__main__":
    sys.exit(main())
