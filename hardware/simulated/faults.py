"""Everything that can be broken on a simulated furnace: one table of names.

A fault changes frames, pin levels, plant properties or what the computer says of itself, and nothing else: the
supervisor has to find out. Inject one with `Furnace.inject`, take it away with `Furnace.mend`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from hardware.ports import BoardHealth
from hardware.simulated.bus import GROUND_BIT, OPEN_BIT, SUPPLY_BIT, Conduct

if TYPE_CHECKING:
    from hardware.simulated.furnace import Furnace


HEALTHY_BOARD = BoardHealth(under_voltage=False, throttled=False, processor_c=45.0, clock_trusted=True)


@dataclass(frozen=True, slots=True)
class Fault:
    """One way to break the furnace. `value` is used when none is given; `what_value_is` is empty when it has none."""

    name: str
    sentence: str
    enter: Callable[[Furnace, float], None]
    leave: Callable[[Furnace], None]
    value: float = 1.0
    what_value_is: str = ""


def _chip(name: str, sentence: str, attribute: str, broken: object, healthy: object) -> Fault:
    def enter(furnace: Furnace, value: float) -> None:
        setattr(furnace.chips[0], attribute, broken)

    def leave(furnace: Furnace) -> None:
        setattr(furnace.chips[0], attribute, healthy)

    return Fault(name, sentence, enter, leave)


def _switch(name: str, sentence: str, attribute: str) -> Fault:
    def put(furnace: Furnace, broken: bool) -> None:
        setattr(furnace.interlock, attribute, broken)
        furnace.interlock.settle()

    return Fault(name, sentence, lambda furnace, value: put(furnace, True), lambda furnace: put(furnace, False))


def _plant(
    name: str, sentence: str, disturbance: str, *, value: float, mended: float, unit: str, per: float = 1.0
) -> Fault:
    """`per`: what one unit of the fault's value is in the unit of the plant's disturbance."""

    def enter(furnace: Furnace, amount: float) -> None:
        furnace.plant.disturb(disturbance, amount * per)

    def leave(furnace: Furnace) -> None:
        furnace.plant.disturb(disturbance, mended)

    return Fault(name, sentence, enter, leave, value, unit)


def _creep_out(furnace: Furnace, minutes: float) -> None:
    if not minutes > 0:
        raise ValueError(f"sensor_creep is {minutes}; allowed: more than 0 minutes")
    furnace.plant.disturb("sensor_slip_per_s", 1 / (60 * minutes))


def _freeze(furnace: Furnace, value: float) -> None:
    furnace.chips[0].freeze()


def _thaw(furnace: Furnace) -> None:
    furnace.chips[0].forced_word = None


def _flip(furnace: Furnace, share: float) -> None:
    if not 0 <= share <= 1:
        raise ValueError(f"sensor_corrupt is {share}; allowed: 0 to 1, the share of frames")
    furnace.chips[0].flipped_share = share


def _weld_permit(furnace: Furnace, number: float) -> None:
    if number not in (1, 2):
        raise ValueError(f"permit_relay_welded is {number}; allowed: 1 or 2, the number of the relay")
    furnace.interlock.permit_relays[int(number) - 1].welded = True
    furnace.interlock.settle()


def _free_permits(furnace: Furnace) -> None:
    for relay in furnace.interlock.permit_relays:
        relay.welded = False
    furnace.interlock.settle()


def _set_mains_factor(furnace: Furnace, factor: float) -> None:
    if not 0 <= factor <= 1.3:
        raise ValueError(f"mains_low is {factor}; allowed: 0 to 1.3, voltage over nominal")
    furnace.mains_factor = factor


def _board(name: str, sentence: str, broken: BoardHealth) -> Fault:
    def enter(furnace: Furnace, value: float) -> None:
        furnace.board = broken

    def leave(furnace: Furnace) -> None:
        furnace.board = HEALTHY_BOARD

    return Fault(name, sentence, enter, leave)


def _reset_limiter(furnace: Furnace) -> None:
    furnace.limiter_reset()


def _stop_meter(furnace: Furnace, stopped: bool) -> None:
    furnace.meter_stopped = stopped


_ALL = (
    _chip("sensor_open", "The thermocouple circuit is broken; the chip flags it.", "fault_bits", OPEN_BIT, 0),
    _chip("sensor_short_to_ground", "A sensor wire touches ground; flagged.", "fault_bits", GROUND_BIT, 0),
    _chip("sensor_short_to_supply", "A sensor wire touches the chip's supply; flagged.", "fault_bits", SUPPLY_BIT, 0),
    _chip("bus_all_zeros", "The data line is stuck low: every bit is 0.", "forced_word", 0, None),
    _chip("bus_all_ones", "The data line is stuck high: every bit is 1.", "forced_word", 0xFFFF_FFFF, None),
    _chip("bus_silent", "A transfer succeeds and fills nothing.", "conduct", Conduct.FILLS_NOTHING, Conduct.ANSWERS),
    _chip(
        "bus_half_frame", "A transfer ends after two of four bytes.", "conduct", Conduct.HALF_A_FRAME, Conduct.ANSWERS
    ),
    _chip("bus_error", "Every transfer ends in an input/output error.", "conduct", Conduct.FAILS, Conduct.ANSWERS),
    _chip("bus_blocks", "Every transfer takes 0.3 s, longer than a cycle.", "conduct", Conduct.BLOCKS, Conduct.ANSWERS),
    Fault("sensor_frozen", "The chip repeats the frame of this moment for ever.", _freeze, _thaw),
    Fault(
        "sensor_corrupt",
        "One to three random bits of a frame are flipped.",
        _flip,
        lambda furnace: _flip(furnace, 0.0),
        0.3,
        "share of frames, 0 to 1",
    ),
    _plant(
        "sensor_slip",
        "The thermocouple slips out of its place, all at once.",
        "sensor_slip",
        value=0.5,
        mended=0.0,
        unit="share of the way out, 0 to 1",
    ),
    Fault(
        "sensor_creep",
        "The thermocouple creeps out of its place.",
        _creep_out,
        lambda furnace: furnace.plant.disturb("sensor_slip", 0.0),
        20.0,
        "minutes until it is out",
    ),
    _plant(
        "sensor_drift",
        "The reading walks away from the truth.",
        "sensor_drift_c_per_s",
        value=-2.0,
        mended=0.0,
        unit="K per minute",
        per=1 / 60,
    ),
    _plant(
        "element_aged",
        "The element's resistance has grown.",
        "element_resistance_factor",
        value=1.1,
        mended=1.0,
        unit="resistance over the healthy one",
    ),
    _plant(
        "leak",
        "The furnace loses more heat than it should.",
        "leak_w_per_k",
        value=0.5,
        mended=0.0,
        unit="W/K from the hot face to the room",
    ),
    _plant("wet_lining", "The lining has taken up water.", "wet_lining_kg", value=0.5, mended=0.0, unit="kg of water"),
    _switch("relay_stuck_on", "The solid-state relay conducts whatever it is told.", "relay_stuck_on"),
    _switch("relay_stuck_off", "The solid-state relay never conducts.", "relay_stuck_off"),
    _switch("element_broken", "The element is open: no current flows.", "element_broken"),
    _switch("contactor_welded", "The contactor's poles weld and do not open again.", "contactor_welds"),
    Fault(
        "permit_relay_welded",
        "A relay of the heat permit does not open.",
        _weld_permit,
        _free_permits,
        1.0,
        "number of the relay, 1 or 2",
    ),
    Fault("lid_open", "The lid is opened.", lambda furnace, _: furnace.lid(True), lambda furnace: furnace.lid(False)),
    _switch("lid_switch_stuck_closed", "The lid switch says shut whatever the lid does.", "lid_switch_stuck_closed"),
    Fault(
        "limiter_trip",
        "The limiter trips and stays tripped until it is reset by hand.",
        lambda furnace, _: furnace.trip_limiter(),
        _reset_limiter,
    ),
    Fault(
        "emergency_stop",
        "The emergency stop is pressed.",
        lambda furnace, _: furnace.emergency_stop(True),
        lambda furnace: furnace.emergency_stop(False),
    ),
    Fault(
        "key_off", "The key is turned off.", lambda furnace, _: furnace.key(False), lambda furnace: furnace.key(True)
    ),
    Fault("mains_off", "Mains is lost.", lambda furnace, _: furnace.mains(False), lambda furnace: furnace.mains(True)),
    Fault(
        "mains_low",
        "Mains is off its nominal voltage.",
        _set_mains_factor,
        lambda furnace: _set_mains_factor(furnace, 1.0),
        0.9,
        "voltage over nominal",
    ),
    _switch("button_stuck", "The reset button is stuck or taped down.", "button_stuck"),
    _switch("tray_wet", "The probe under the furnace conducts: metal may be out.", "tray_wet"),
    Fault(
        "meter_stuck",
        "The energy meter gives no more pulses.",
        lambda furnace, _: _stop_meter(furnace, True),
        lambda furnace: _stop_meter(furnace, False),
    ),
    _board("supply_weak", "The computer's own supply sags.", HEALTHY_BOARD._replace(under_voltage=True)),
    _board("processor_hot", "The computer's processor is at 86 degC.", HEALTHY_BOARD._replace(processor_c=86.0)),
    _board("clock_untrusted", "The computer does not trust its date.", HEALTHY_BOARD._replace(clock_trusted=False)),
)

FAULTS = {fault.name: fault for fault in _ALL}
