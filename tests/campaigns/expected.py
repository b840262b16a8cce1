"""Which watch each fault should wake and how soon; which ones nothing here can notice. Written before any trial."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from supervisor.firing import commands as c
from tests.campaigns.trial import Acts, Trial


@dataclass(frozen=True, slots=True)
class Expected:
    """watches: any of these is right, within_s seconds; later is missed. unnoticed: why no watch can speak of it.

    provoke: what happens next, where the fault shows only then.
    """

    watches: frozenset[str] = frozenset()
    within_s: float = 600.0
    unnoticed: str = ""
    provoke: Callable[[Trial], Acts] | None = None


def _by(*watches: str, within_s: float, provoke: Callable[[Trial], Acts] | None = None) -> Expected:
    return Expected(frozenset(watches), within_s, provoke=provoke)


def _stop(trial: Trial) -> Acts:
    yield from trial.wait(5.0)
    yield [c.Stop(c.By("provoke", "stand-in", "campaign"))]


def _open_lid(trial: Trial, *, seconds: float) -> Acts:
    yield from trial.wait(1.0)
    trial.furnace.lid(True)
    yield from trial.wait(seconds)


_NO_MODEL = "needs an expectation of this furnace's response, which this version does not have"
_NO_BOARD = "what the computer says of itself is read, and watched by nothing in this version"

_SILENT = _by("sensor-silent", within_s=3.0)
_SHORTED = _by("sensor-shorted", within_s=3.0)

EXPECTED: dict[str, Expected] = {
    "sensor_open": _by("sensor-open", within_s=3.0),
    "sensor_short_to_ground": _SHORTED,
    "sensor_short_to_supply": _SHORTED,
    "bus_all_zeros": _SILENT,
    "bus_all_ones": _SILENT,
    "bus_silent": _SILENT,
    "bus_half_frame": _by("sensor-silent", "sensor-corrupt", within_s=3.0),
    "bus_error": _SILENT,
    "bus_blocks": _by("sensor-silent", "samples-stale", "loop-late", within_s=5.0),
    "sensor_frozen": _by("reading-frozen", within_s=70.0),
    "sensor_corrupt": _by("sensor-corrupt", "rate-impossible", "hard-cap", within_s=120.0),
    "sensor_slip": Expected(unnoticed=_NO_MODEL),
    "sensor_creep": Expected(unnoticed=_NO_MODEL),
    "sensor_drift": Expected(unnoticed=_NO_MODEL),
    "element_aged": Expected(unnoticed=_NO_MODEL),
    "leak": Expected(unnoticed=_NO_MODEL),
    "wet_lining": Expected(unnoticed=_NO_MODEL),
    "mains_low": Expected(unnoticed=_NO_MODEL),
    "relay_stuck_on": _by("power-without-command", "heat-without-command", within_s=120.0),
    "relay_stuck_off": _by("no-power", "heat-without-rise", within_s=300.0),
    "element_broken": _by("no-power", "heat-without-rise", within_s=300.0),
    "meter_stuck": _by("no-power", within_s=300.0),
    "contactor_welded": _by("contactor-stuck", within_s=30.0, provoke=_stop),
    "permit_relay_welded": Expected(unnoticed="found by the next start: its conditions want both relays open"),
    "lid_open": _by("lid", within_s=1.0),
    "lid_switch_stuck_closed": Expected(unnoticed=_NO_MODEL, provoke=partial(_open_lid, seconds=120.0)),
    "limiter_trip": _by("limiter", within_s=1.0),
    "emergency_stop": _by("emergency-stop", within_s=1.0),
    "key_off": _by("key-off", within_s=1.0),
    "mains_off": _by("supply-lost", "emergency-stop", within_s=1.0),
    "button_stuck": _by("button-stuck", within_s=12.0),
    "tray_wet": Expected(unnoticed="no tray probe is fitted on the shipped furnaces"),
    "relay_half_wave": _by("power-without-command", "heat-without-command", within_s=300.0),
    "relay_half_power": Expected(unnoticed=_NO_MODEL),
    "element_shorted": Expected(unnoticed=_NO_MODEL),
    "sensor_reversed": _by("rate-impossible", "sensor-corrupt", within_s=10.0),
    "sensor_noisy": Expected(unnoticed=_NO_MODEL),
    "sensor_intermittent": Expected(unnoticed=_NO_MODEL),
    "sensor_slips": Expected(unnoticed=_NO_MODEL),
    "board_warm": Expected(unnoticed=_NO_MODEL),
    "mains_step": Expected(unnoticed=_NO_MODEL),
    "chain_supply_lost": _by("supply-lost", "emergency-stop", within_s=1.0),
    "contactor_chatters": Expected(unnoticed=_NO_MODEL),
    "lid_switch_bounces": _by("lid", within_s=5.0),
    "meter_bounces": Expected(unnoticed="it is evidence beside the reading, and ends nothing by itself"),
    "current_input_stuck_on": Expected(unnoticed="no load-current input is fitted on the shipped furnaces"),
    "current_input_stuck_off": Expected(unnoticed="no load-current input is fitted on the shipped furnaces"),
    "second_sensor_open": Expected(unnoticed="no second thermocouple is fitted on the shipped furnaces"),
    "second_sensor_slip": Expected(unnoticed="no second thermocouple is fitted on the shipped furnaces"),
    "supply_weak": Expected(unnoticed=_NO_BOARD),
    "processor_hot": Expected(unnoticed=_NO_BOARD),
    "clock_untrusted": Expected(unnoticed=_NO_BOARD),
}
