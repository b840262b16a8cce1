"""Rows of the fault table: lid, metal, lining, and the furnace as a whole."""

from supervisor.watches.finding import ADVISE, HOLD_WITHOUT_HEAT, TRIP, TRIP_KEEP_AWAY
from supervisor.watches.row import Injected, Row

ROWS = {
    "lid_open": Row(
        "Lid open",
        (Injected("lid_open"),),
        frozenset({"lid"}),
        HOLD_WITHOUT_HEAT,
        {"": 0.6},
    ),
    "lid_unseen": Row(
        "Lid open and its switch says shut",
        (Injected("lid_switch_stuck_closed", None, "open the lid"),),
        frozenset({"lid-unseen", "colder-than-power", "rate-impossible", "heat-without-rise"}),
        HOLD_WITHOUT_HEAT,
        {"": 60.0},
        unlearned={},
        when=("ramp", "arrest", "hold"),
        why_not="with nothing learned an open lid looks like cold metal; just after one nobody looks for another",
        instead="the switch is seen to move at every charge, and tested once a year",
    ),
    "lid_bounces": Row(
        "Lid switch bounces",
        (Injected("lid_switch_bounces"),),
        frozenset({"lid"}),
        HOLD_WITHOUT_HEAT,
        {"": 10.0},
    ),
    "metal_escapes": Row(
        "Crucible cracked, metal in the tray",
        (Injected("tray_wet"),),
        frozenset({"tray-wet"}),
        TRIP_KEEP_AWAY,
        {"tray-probe": 2.0},
        why_not="without a probe in the tray a part of the charge that is gone looks like a smaller charge",
        instead="a probe in the tray; a look at the pot before each charge",
    ),
    "charge_hung_up": Row(
        "Solid roof over liquid metal",
        why_not="the sensor sees chamber and pot, not what hangs in it",
        instead="the estimate doubts itself where reading and power do not fit; look before adding or stirring",
    ),
    "mass_wrong": Row(
        "Far more or less metal in the pot than was entered",
        watches=frozenset({"mass-doubted"}),
        reaction=ADVISE,
        instead="asked at the gate, where the reading is compared with the model; its own tests measure how often",
    ),
    "cold_metal_added": Row(
        "Cold metal added",
        why_not="it is work, not a fault: a dip of the reading under an open lid is expected",
        instead="the mass that went in is asked for; wet metal is kept out by the dryness proof of each lot",
    ),
    "heat_lost": Row(
        "Furnace loses more heat than it should: a crack, a badly seated lid",
        (Injected("leak", 1.0),),
        frozenset({"needs-more-power", "colder-than-power"}),
        ADVISE,
        {},
        when=("hold",),
        why_not="a small one is a furnace that needs a little more power",
        instead="the power that a hold takes, melt beside melt",
    ),
    "lining_wet": Row(
        "Lining has taken up water",
        (Injected("wet_lining", 0.5),),
        frozenset({"needs-more-power", "colder-than-power"}),
        ADVISE,
        {},
        when=("ramp",),
        why_not="drying takes power as a charge does",
        instead="the dry-out profile, after each rebuild and each long rest",
    ),
    "constants_wrong": Row(
        "Furnace not as described, after a rebuild",
        why_not="from one firing it cannot be told from a heavier charge or low mains",
        instead="each melt learned is held against the first one; what differs by more waits for a person",
    ),
    "ramp_not_met": Row(
        "Furnace falls behind its program",
        why_not="waiting for the sensor is part of the program, not a fault",
        instead="the headline says that it waits; too much energy or too long a firing ends it",
    ),
    "over_setpoint": Row(
        "Reading above the setpoint",
        (Injected("sensor_drift", 30.0),),
        frozenset({"over-setpoint", "warmer-than-power", "hard-cap", "heat-without-command", "rate-impossible"}),
        ADVISE,
        {"": 120.0},
        when=("hold",),
    ),
    "too_hot": Row(
        "Hotter than the firing may ever be",
        (Injected("sensor_drift", 300.0),),
        frozenset({"hard-cap", "over-setpoint", "warmer-than-power", "rate-impossible"}),
        TRIP,
        {"": 60.0},
        when=("arrest", "hold"),
    ),
}
