"""Everything that can be broken on a simulated furnace: one table of names.

A fault changes frames, pin levels, plant properties or what the computer says of itself, and nothing else: the
supervisor has to find out. Inject one with `Furnace.inject`, take it away with `Furnace.mend`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from hardware.simulated.bus import GROUND_BIT, OPEN_BIT, SUPPLY_BIT, Conduct
from hardware.simulated.fault import Fault, board, chip, chip_amount, furnace_amount, plant, switch, within

if TYPE_CHECKING:
    from hardware.simulated.furnace import Furnace


def _slip_out(name: str, sentence: str, *, seconds_per: float, value: float, unit: str) -> Fault:
    """The sensor leaves its place steadily, until it is out."""

    def enter(furnace: Furnace, amount: float) -> None:
        if not amount > 0:
            raise ValueError(f"{name} is {amount}; allowed: more than 0 {unit.split()[0]}")
        furnace.plant.disturb("sensor_slip_per_s", 1.0 / (seconds_per * amount))

    return Fault(name, sentence, enter, lambda furnace: furnace.plant.disturb("sensor_slip", 0.0), value, unit)


def _freeze(furnace: Furnace, value: float) -> None:
    furnace.chips[0].freeze()


def _thaw(furnace: Furnace) -> None:
    furnace.chips[0].forced_word = None


def _weld_permit(furnace: Furnace, number: float) -> None:
    if number not in (1, 2):
        raise ValueError(f"permit_relay_welded is {number}; allowed: 1 or 2, the number of the relay")
    furnace.interlock.permit_relays[int(number) - 1].welded = True
    furnace.interlock.settle()


def _free_permits(furnace: Furnace) -> None:
    for relay in furnace.interlock.permit_relays:
        relay.welded = False
    furnace.interlock.settle()


def _reset_limiter(furnace: Furnace) -> None:
    furnace.limiter_reset()


def _stop_meter(furnace: Furnace, stopped: bool) -> None:
    furnace.meter_stopped = stopped


def _slip_second(furnace: Furnace, share: float) -> None:
    within("second_sensor_slip", share, 0.0, 1.0, "share of the way out")
    furnace.second_place.slip = share


def _warm_box(furnace: Furnace, k_per_min: float) -> None:
    within("board_warm", k_per_min, 0.0, 60.0, "K per minute")
    furnace.box_warms_k_per_min = k_per_min


def _cool_box(furnace: Furnace) -> None:
    furnace.box_warms_k_per_min = furnace.box_warmer_k = 0.0


_ALL = (
    chip("sensor_open", "The thermocouple circuit is broken; the chip flags it.", "fault_bits", OPEN_BIT, 0),
    chip("sensor_short_to_ground", "A sensor wire touches ground; flagged.", "fault_bits", GROUND_BIT, 0),
    chip("sensor_short_to_supply", "A sensor wire touches the chip's supply; flagged.", "fault_bits", SUPPLY_BIT, 0),
    chip("bus_all_zeros", "The data line is stuck low: every bit is 0.", "forced_word", 0, None),
    chip("bus_all_ones", "The data line is stuck high: every bit is 1.", "forced_word", 0xFFFF_FFFF, None),
    chip("bus_silent", "A transfer succeeds and fills nothing.", "conduct", Conduct.FILLS_NOTHING, Conduct.ANSWERS),
    chip(
        "bus_half_frame", "A transfer ends after two of four bytes.", "conduct", Conduct.HALF_A_FRAME, Conduct.ANSWERS
    ),
    chip("bus_error", "Every transfer ends in an input/output error.", "conduct", Conduct.FAILS, Conduct.ANSWERS),
    chip("bus_blocks", "Every transfer takes 0.3 s, longer than a cycle.", "conduct", Conduct.BLOCKS, Conduct.ANSWERS),
    Fault("sensor_frozen", "The chip repeats the frame of this moment for ever.", _freeze, _thaw),
    chip_amount(
        "sensor_corrupt",
        "One to three random bits of a frame are flipped.",
        "flipped_share",
        value=0.3,
        most=1.0,
        unit="share of frames",
    ),
    chip_amount(
        "sensor_intermittent",
        "A loose contact: now and then the chip flags an open circuit.",
        "open_share",
        value=0.2,
        most=1.0,
        unit="share of frames",
    ),
    chip_amount(
        "sensor_noisy",
        "The reading jumps about the truth.",
        "noise_k",
        value=4.0,
        most=200.0,
        unit="K, standard deviation",
    ),
    chip("sensor_leads_shorted", "The sensor's wires touch at the board: it reads the board.", "touching", True, False),
    chip(
        "sensor_leads_shorted",
        "The sensor's wires touch at the board: it reads the board's own temperature, and no flag is raised.",
        "leads_shorted",
        True,
        False,
    ),
    chip("sensor_reversed", "The sensor's wires are swapped: it reads mirrored.", "reversed", True, False),
    plant(
        "sensor_slip",
        "The thermocouple slips out of its place, all at once.",
        "sensor_slip",
        value=0.5,
        mended=0.0,
        unit="share of the way out, 0 to 1",
    ),
    _slip_out(
        "sensor_slips",
        "The thermocouple slips out of its place within seconds.",
        seconds_per=1.0,
        value=15.0,
        unit="seconds until it is out",
    ),
    _slip_out(
        "sensor_creep",
        "The thermocouple creeps out of its place.",
        seconds_per=60.0,
        value=20.0,
        unit="minutes until it is out",
    ),
    plant(
        "sensor_drift",
        "The reading walks away from the truth.",
        "sensor_drift_c_per_s",
        value=-2.0,
        mended=0.0,
        unit="K per minute",
        per=1 / 60,
    ),
    chip("second_sensor_open", "The second thermocouple's circuit is broken.", "fault_bits", OPEN_BIT, 0, number=1),
    Fault(
        "second_sensor_slip",
        "The second thermocouple slips out of its place.",
        _slip_second,
        lambda furnace: _slip_second(furnace, 0.0),
        0.5,
        "share of the way out, 0 to 1",
    ),
    Fault(
        "board_warm",
        "The box of the electronics gets warmer and warmer.",
        _warm_box,
        _cool_box,
        5.0,
        "K per minute",
    ),
    plant(
        "element_aged",
        "The element's resistance has grown.",
        "element_resistance_factor",
        value=1.1,
        mended=1.0,
        unit="resistance over the healthy one",
    ),
    plant(
        "element_shorted",
        "Some turns of the element touch: its resistance has fallen.",
        "element_resistance_factor",
        value=0.8,
        mended=1.0,
        unit="resistance over the healthy one",
    ),
    plant(
        "leak",
        "The furnace loses more heat than it should.",
        "leak_w_per_k",
        value=0.5,
        mended=0.0,
        unit="W/K from the hot face to the room",
    ),
    plant("wet_lining", "The lining has taken up water.", "wet_lining_kg", value=0.5, mended=0.0, unit="kg of water"),
    switch("relay_stuck_on", "The solid-state relay conducts whatever it is told.", "relay_stuck_on"),
    switch("relay_stuck_off", "The solid-state relay never conducts.", "relay_stuck_off"),
    switch("relay_half_wave", "The relay lets one half wave through when it is told off.", "relay_half_wave"),
    switch("relay_half_power", "The relay lets only one half wave through when it is told on.", "relay_half_power"),
    switch("element_broken", "The element is open: no current flows.", "element_broken"),
    switch("contactor_welded", "The contactor's poles weld and do not open again.", "contactor_welds"),
    Fault(
        "permit_relay_welded",
        "A relay of the heat permit does not open.",
        _weld_permit,
        _free_permits,
        1.0,
        "number of the relay, 1 or 2",
    ),
    furnace_amount(
        "contactor_chatters",
        "The contactor flutters: for a moment its poles part and its mirror contact makes.",
        "flutters_per_min",
        value=20.0,
        healthy=0.0,
        most=240.0,
        unit="times a minute",
    ),
    Fault("lid_open", "The lid is opened.", lambda furnace, _: furnace.lid(True), lambda furnace: furnace.lid(False)),
    switch("lid_switch_stuck_closed", "The lid switch says shut whatever the lid does.", "lid_switch_stuck_closed"),
    furnace_amount(
        "lid_switch_bounces",
        "The lid's switch makes and breaks, whatever the lid does.",
        "lid_bounces_share",
        value=0.2,
        healthy=0.0,
        most=1.0,
        unit="share of looks at which it reads open",
    ),
    switch("current_input_stuck_on", "The load-current input says that current flows, always.", "current_stuck_on"),
    switch("current_input_stuck_off", "The load-current input never says that current flows.", "current_stuck_off"),
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
    switch("chain_supply_lost", "The fuse of the chain's 24 V has blown; mains is there.", "chain_fuse_blown"),
    furnace_amount(
        "mains_low",
        "Mains is off its nominal voltage.",
        "mains_factor",
        value=0.9,
        healthy=1.0,
        most=1.3,
        unit="voltage over nominal",
    ),
    furnace_amount(
        "mains_step",
        "Mains voltage steps, as when something heavy is switched on or off nearby.",
        "mains_step_factor",
        value=0.9,
        healthy=1.0,
        most=1.3,
        unit="voltage over what it was",
    ),
    switch("button_stuck", "The reset button is stuck or taped down.", "button_stuck"),
    switch("tray_wet", "The probe under the furnace conducts: metal may be out.", "tray_wet"),
    Fault(
        "meter_stuck",
        "The energy meter gives no more pulses.",
        lambda furnace, _: _stop_meter(furnace, True),
        lambda furnace: _stop_meter(furnace, False),
    ),
    furnace_amount(
        "meter_bounces",
        "The meter's line gives pulses that no energy stands behind.",
        "stray_pulses_per_min",
        value=30.0,
        healthy=0.0,
        most=240.0,
        unit="stray pulses a minute",
    ),
    board("supply_weak", "The computer's own supply sags.", "under_voltage", True),
    board("processor_hot", "The computer's processor is at 86 degC.", "processor_c", 86.0),
    board("clock_untrusted", "The computer does not trust its date.", "clock_trusted", False),
)

FAULTS = {fault.name: fault for fault in _ALL}
