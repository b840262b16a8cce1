"""Rows of the fault table: relay, contactor, element, mains, meter, and the chain that cuts them off."""

from supervisor.watches.finding import (
    ADVISE,
    CONTROLLED_STOP,
    HOLD_WITHOUT_HEAT,
    TRIP,
    TRIP_KEEP_AWAY,
    Reaction,
)
from supervisor.watches.row import Injected, Row

_NO_HEAT = frozenset(
    {
        "no-power",
        "no-current",
        "heat-without-rise",
        "colder-than-power",
        "needs-more-power",
        "meter-disagrees",
        "lid-unseen",
    }
)
_HEAT_UNASKED = frozenset(
    {
        "current-when-off",
        "power-when-off",
        "power-without-command",
        "heat-without-command",
        "warmer-than-power",
        "over-setpoint",
        "relay-proof",
        "lid-not-cooling",
        "lid-cools-little",
    }
)
_NO_CONTACTOR = HOLD_WITHOUT_HEAT | Reaction(drop_contactor=True)
_PROVED_OFF = (
    "the relay is proved off at every start; in a firing by meter or current input in each off-time, without either at"
    " the gate"
)
_HELD_LOOP = "at a hold the loop gives as much duty as it takes, and the reading stays where it should"

ROWS = {
    "relay_stuck_on": Row(
        "Relay does not let go",
        (Injected("relay_stuck_on"),),
        _HEAT_UNASKED,
        _NO_CONTACTOR,
        {"": 600.0, "meter": 60.0, "current": 10.0},
        unlearned={"": 1200.0, "meter": 60.0, "current": 10.0},
        counted="low duty",
        why_not="while full power is wanted without a current input it looks like a healthy one",
        instead=_PROVED_OFF,
    ),
    "relay_half_wave": Row(
        "Relay blocks only one half of each wave: half power when told off",
        (Injected("relay_half_wave"),),
        _HEAT_UNASKED,
        _NO_CONTACTOR,
        {"meter": 60.0, "current": 10.0},
        counted="low duty",
        why_not="without meter and current input a hold that needs half of full power or more hides it",
        instead=_PROVED_OFF,
    ),
    "relay_half_power": Row(
        "Relay gives half power when on",
        (Injected("relay_half_power"),),
        _NO_HEAT | {"mains-low"},
        ADVISE,
        {"meter": 300.0},
        why_not=_HELD_LOOP + "; a current input says that current flows, not how much",
        instead="the energy each melt takes, and its time to molten, beside those of earlier melts",
    ),
    "relay_stuck_off": Row(
        "Relay does not switch on",
        (Injected("relay_stuck_off"),),
        _NO_HEAT,
        CONTROLLED_STOP,
        {"": 600.0, "meter": 180.0, "current": 10.0},
        unlearned={"meter": 180.0, "current": 10.0},
        why_not="with nothing learned and no meter a cooling furnace looks like a melting charge",
    ),
    "relay_hot": Row(
        "Relay's heat sink too hot",
        why_not="no probe for it is part of the wiring",
        instead="the box is ventilated and its vents are looked at before each start",
    ),
    "contactor_welded": Row(
        "Safety contactor does not open",
        (Injected("contactor_welded", None, "stop"),),
        frozenset({"contactor-stuck"}),
        TRIP_KEEP_AWAY,
        {"": 8.0},
    ),
    "contactor_drops": Row(
        "Safety contactor does not pull in, or chatters",
        (Injected("contactor_chatters"),),
        frozenset({"contactor-chatters", "chain-lost"}),
        CONTROLLED_STOP,
        {"": 30.0},
    ),
    "permit_relay_welded": Row(
        "A relay of the heat permit does not open",
        (Injected("permit_relay_welded", 1.0),),
        why_not="while heat is permitted both of them are closed anyway",
        instead="every start wants both seen open, and the permit tested",
    ),
    "element_broken": Row(
        "Element open",
        (Injected("element_broken"),),
        _NO_HEAT,
        CONTROLLED_STOP,
        {"": 600.0, "meter": 180.0, "current": 10.0},
        unlearned={"meter": 180.0, "current": 10.0},
        why_not="with nothing learned and no meter a cooling furnace looks like a melting charge",
    ),
    "element_shorted": Row(
        "Element partly shorted: it draws too much current",
        (Injected("element_shorted", 0.8),),
        frozenset({"element-shorted", "meter-disagrees", "warmer-than-power"}),
        ADVISE,
        {"meter": 300.0},
        why_not=_HELD_LOOP + "; a current input says that current flows, not how much",
        instead="the breaker, and the element's resistance measured cold",
    ),
    "element_to_earth": Row(
        "Element leaks to earth and the protection trips",
        (),
        frozenset({"supply-lost", "chain-lost"}),
        TRIP,
        instead="earth-leakage protection cuts the supply; that the chain has lost its supply is what is noticed",
    ),
    "element_aged": Row(
        "Element aged: its resistance has grown",
        (Injected("element_aged", 1.1),),
        frozenset({"meter-disagrees", "needs-more-power", "mains-low"}),
        ADVISE,
        {},
        why_not="it grows by a few per cent in many melts",
        instead="power and resistance of each melt beside those of the first",
    ),
    "supply_of_load_lost": Row(
        "Breaker or fuse of the element open, the chain's supply alive",
        (Injected("mains_low", 0.0),),
        _NO_HEAT | {"mains-low"},
        CONTROLLED_STOP,
        {"": 600.0, "meter": 180.0, "current": 10.0},
        unlearned={"meter": 180.0, "current": 10.0},
        why_not="with nothing learned and no meter a cooling furnace looks like a melting charge",
    ),
    "mains_low": Row(
        "Mains a tenth below its nominal voltage",
        (Injected("mains_low", 0.9), Injected("mains_step")),
        frozenset({"mains-low", "meter-disagrees"}),
        ADVISE,
        {"meter": 600.0},
        when=("ramp", "arrest", "hold"),
        why_not="without a meter it is a furnace that is a little slower",
        instead="the melt takes longer, and its forecast says so",
    ),
    "mains_lost": Row(
        "Power cut",
        (Injected("mains_off"),),
        frozenset({"supply-lost", "emergency-stop", "chain-lost"}),
        TRIP,
        {"": 1.0},
    ),
    "chain_supply_lost": Row(
        "The chain's own supply is lost, the mains alive",
        (Injected("chain_supply_lost"),),
        frozenset({"supply-lost", "chain-lost", "emergency-stop"}),
        TRIP,
        {"": 1.0},
    ),
    "limiter_trip": Row(
        "The independent limiter trips",
        (Injected("limiter_trip"),),
        frozenset({"limiter"}),
        TRIP,
        {"": 0.6},
    ),
    "limiter_dead": Row(
        "The independent limiter would not trip",
        why_not="nothing shows it while nothing is too hot",
        instead="its proof test, with a date: when it is overdue no firing starts",
    ),
    "emergency_stop": Row(
        "Emergency stop pressed, or its wire broken",
        (Injected("emergency_stop"),),
        frozenset({"emergency-stop"}),
        TRIP,
        {"": 0.6},
    ),
    "key_off": Row(
        "Key turned off",
        (Injected("key_off"),),
        frozenset({"key-off"}),
        CONTROLLED_STOP,
        {"": 0.6},
    ),
    "meter_stuck": Row(
        "Energy meter gives no pulses",
        (Injected("meter_stuck"),),
        frozenset({"no-power", "meter-disagrees"}),
        ADVISE,
        {"meter": 300.0},
        part="meter",
    ),
    "meter_bounces": Row(
        "Energy meter gives pulses that are none",
        (Injected("meter_bounces"),),
        frozenset({"meter-disagrees", "power-when-off", "power-without-command"}),
        ADVISE,
        {"meter": 300.0},
        part="meter",
    ),
    "current_input_stuck_on": Row(
        "Current input says that current flows, always",
        (Injected("current_input_stuck_on"),),
        frozenset({"current-when-off"}),
        ADVISE,
        {"current": 10.0},
        counted="low duty",
        part="current",
    ),
    "current_input_stuck_off": Row(
        "Current input says that no current flows, always",
        (Injected("current_input_stuck_off"),),
        frozenset({"no-current", "meter-disagrees"}),
        ADVISE,
        {"current": 10.0},
        part="current",
    ),
}
