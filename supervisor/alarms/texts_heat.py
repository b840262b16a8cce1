"""Alarms of sensor and heat in words; see `texts`."""

from supervisor.alarms.text import MELT_S, NOW_S, SOON_S, Text

_UNKNOWN_C = "The temperature is not known, and the furnace is still hot."
_PROBE_MOVED = "The chamber may be much hotter than shown."

HEAT: dict[str, Text] = {
    # --- the sensor -------------------------------------------------------------------------------------------------
    "no-reading": Text(
        "A reading in every cycle", "One reading was missing.", "For a quarter second no heat is ordered.", "", 0
    ),
    "sensor-open": Text(
        "Sensor circuit whole",
        "The sensor wire broke.",
        _UNKNOWN_C,
        "Leave the lid shut and let it cool. When it is cold, supply isolated, look at the probe and its connector.",
        1,
        SOON_S,
    ),
    "sensor-shorted": Text(
        "Sensor circuit clear of ground and supply",
        "The sensor wire touches ground or supply.",
        _UNKNOWN_C,
        "Leave the lid shut and let it cool. When it is cold, supply isolated, look at the probe's sleeve.",
        1,
        SOON_S,
    ),
    "sensor-silent": Text(
        "Sensor board answers",
        "The sensor board does not answer.",
        _UNKNOWN_C,
        "Leave the lid shut and let it cool. When it is cold, supply isolated, look at the board's plug and supply.",
        1,
        SOON_S,
    ),
    "sensor-corrupt": Text(
        "Sensor data whole",
        "The sensor's data are damaged.",
        _UNKNOWN_C,
        "Leave the lid shut and let it cool. When it is cold, supply isolated, look how the sensor leads run: away from"
        " the element's wires.",
        1,
        SOON_S,
    ),
    "reading-old": Text(
        "A reading within 5 s",
        "There has been no good reading for 5 s.",
        _UNKNOWN_C,
        "Leave the lid shut and let it cool. When it is cold, supply isolated, look at the sensor's plug and board.",
        1,
        SOON_S,
    ),
    "reading-frozen": Text(
        "Reading alive",
        "The reading has stopped changing: it may not be live.",
        _PROBE_MOVED,
        "Leave the lid shut and let it cool. When it is cold, supply isolated, look at the sensor board.",
        1,
        SOON_S,
    ),
    "rate-impossible": Text(
        "Reading moves as this furnace can",
        "The reading jumped further than this furnace can: the sensor may have moved or come loose.",
        _PROBE_MOVED,
        "Leave the lid shut and let it cool. When it is cold, look where the probe sits.",
        1,
        SOON_S,
    ),
    "sensor-reversed": Text(
        "Reading rises from cold",
        "The reading does not rise with the heat: the sensor's wires are exchanged, the probe sits outside, or no"
        " heat arrives.",
        _PROBE_MOVED,
        "Leave the lid shut and let it cool. When it is cold, supply isolated, look at the probe, its wires and the"
        " element.",
        1,
        SOON_S,
    ),
    "sensor-noisy": Text(
        "Sensor signal quiet",
        "The sensor's signal is noisy, or fails now and then.",
        "The temperature is known badly, and may soon not be known at all.",
        "Bring the melt to its end. When it is cold, supply isolated, look at plug, sleeve and how the leads run.",
        2,
        SOON_S,
    ),
    "cold-junction-hot": Text(
        "Electronics box cool",
        "The sensor's board is too warm, or warms too fast.",
        "The reading is off by as much as board and plug differ.",
        "Look at the box from outside: clear its vents, shade it from the furnace.",
        2,
        SOON_S,
    ),
    "needs-more-power": Text(
        "A reading takes no more power than it should",
        "It takes more power than it should: the sensor may be leaving its place, heat gets lost, or metal that hung"
        " has fallen in.",
        "Metal and chamber may be hotter than shown.",
        "Raise nothing. From outside, look at lid and probe. No dip before it is stopped and the page says proved."
        " When it is cold, check the sensor. If it was moved or changed, note it: it is learned again.",
        1,
        SOON_S,
    ),
    "over-setpoint": Text(
        "Reading near the setpoint",
        "The reading stands well above the setpoint.",
        "The metal may get hotter than you asked for.",
        "Watch it. If it goes on rising press stop, and switch off at the breaker if it climbs all the same.",
        2,
        SOON_S,
    ),
    # --- heat -------------------------------------------------------------------------------------------------------
    "warmer-than-power": Text(
        "No more heat than ordered",
        "It gets hotter than the ordered heat explains: the relay may not let go.",
        "Only the contactor keeps current from the element. The element may be live.",
        "Keep hands and tools away from the chamber. Switch off at the breaker. A licensed person changes the relay"
        " before the next heat.",
        1,
        NOW_S,
    ),
    "colder-than-power": Text(
        "Reading follows the ordered heat",
        "The reading falls away from the heat that was ordered: no heat arrives, the lid is open, or the sensor"
        " slipped.",
        f"If the sensor slipped: {_PROBE_MOVED[0].lower()}{_PROBE_MOVED[1:]}",
        "Look whether the lid is shut. Let it cool. When it is cold, supply isolated, look at probe and element. If the"
        " probe was moved or changed, note it: it is learned again.",
        1,
        SOON_S,
    ),
    "lid-unseen": Text(
        "No lid open unseen",
        "It loses heat as if the lid were open, and the lid switch says shut.",
        "The switch may be stuck: opening the lid would then not stop the heat.",
        "Shut the lid and keep hands away. Do not trust the lid switch: end the melt, and have it mended when cold.",
        1,
        NOW_S,
    ),
    "heat-without-command": Text(
        "No heat unless ordered",
        "It gets hotter with the relay told off: the relay may not let go.",
        "Only the contactor keeps current from the element. The element may be live.",
        "Keep hands and tools away from the chamber. Switch off at the breaker. A licensed person changes the relay"
        " before the next heat.",
        1,
        NOW_S,
    ),
    "current-when-off": Text(
        "No current unless ordered",
        "Current flows with the relay told off: the relay does not let go, or the current input is wrong.",
        "Only the contactor keeps current from the element. The element may be live.",
        "Keep hands and tools away from the chamber. Switch off at the breaker. A licensed person changes the relay"
        " before the next heat.",
        1,
        NOW_S,
    ),
    "breaks-away": Text(
        "Reading does not fall all at once",
        "The reading suddenly falls away from what furnace and heat explain.",
        "For some seconds no heat is ordered. If it goes on, another watch says what it is.",
        "",
        0,
    ),
    "pulse-when-off": Text(
        "No meter pulse unless ordered",
        "One meter pulse came with the relay told off.",
        "For a few seconds no heat is ordered.",
        "",
        0,
    ),
    "power-when-off": Text(
        "No metered power unless ordered",
        "The meter counts with the relay told off: it may not let go, or the meter is wrong.",
        "The contactor was told to open. The next half minute, or the next heat, shows which of the two it is.",
        "Keep hands and tools away from the chamber, and wait for what is said next.",
        1,
        NOW_S,
    ),
    "power-without-command": Text(
        "The relay lets go",
        "The meter counts with the relay told off: the relay does not let go.",
        "Only the contactor keeps current from the element. The element may be live.",
        "Keep hands and tools away from the chamber. Switch off at the breaker. A licensed person changes the relay"
        " before the next heat.",
        1,
        NOW_S,
    ),
    "power-at-rest": Text(
        "No power at rest",
        "With everything told off the meter counts as if it heated.",
        "Relay and contactor may both have failed, or the meter is wrong. The element may be live.",
        "Keep away from the chamber. Switch off at the breaker now. A licensed person looks at relay and contactor.",
        1,
        NOW_S,
    ),
    "relay-proof": Text(
        "The relay is proved to let go",
        "A proof failed: it stays hot with the relay told off.",
        "Only the contactor keeps current from the element. The element may be live.",
        "Keep hands and tools away from the chamber. Switch off at the breaker. A licensed person changes the relay"
        " before the next heat.",
        1,
        NOW_S,
    ),
    "relay-undecided": Text(
        "Whether the relay lets go is known",
        "It could not be told whether the relay lets go.",
        "It may be sound; nothing has shown it. A relay that does not let go heats on when it is told off.",
        "Stay near the furnace, and stop it when the reading climbs past its setpoint. A current input would tell.",
        3,
        MELT_S,
    ),
    "no-current": Text(
        "Current when ordered",
        "Heat was ordered, and no current is seen.",
        "The charge cools; metal may freeze in the pot.",
        "Look at the breaker; if it has tripped, leave it so. Else a licensed person tests element, relay and fuse,"
        " supply isolated.",
        2,
        SOON_S,
    ),
    "no-power": Text(
        "Power when ordered",
        "Heat was ordered, the meter stands still, and the reading sinks.",
        "The charge cools; metal may freeze in the pot.",
        "Look at the breaker; if it has tripped, leave it so. Else a licensed person tests element, relay and fuse,"
        " supply isolated.",
        2,
        SOON_S,
    ),
    "meter-disagrees": Text(
        "The meter fits what is ordered",
        "The energy meter does not fit what was ordered: the meter is wrong, or the element gets other power.",
        "Nobody uses the meter until it fits again. Allowance and forecast go by what is ordered.",
        "Look whether the breaker is in and the chamber follows. After the melt, a licensed person looks at meter,"
        " relay and element.",
        3,
        MELT_S,
    ),
    "mains-low": Text(
        "Mains at its voltage",
        "The element gets less power than it should: mains is low, or the element has aged.",
        "The melt takes longer.",
        "Look whether something heavy hangs on the same circuit. If it stays so in other melts: measure the element.",
        3,
        MELT_S,
    ),
    "element-shorted": Text(
        "The element takes what it should",
        "The element takes more power than before: turns may touch, mains went up, or the meter is wrong.",
        "A spot of it may get too hot; the breaker may trip.",
        "Stop the firing if the breaker hums or it smells. When it is cold, supply isolated, look at the element.",
        2,
        SOON_S,
    ),
    "sensors-disagree": Text(
        "Both thermocouples agree",
        "The two thermocouples are further apart than their places explain, or the second does not read.",
        "One of them is wrong; it may be the one that controls, and then the chamber is hotter or colder than shown.",
        "Leave the lid shut. Stop the firing if you cannot tell which is right. When it is cold, look at both probes.",
        2,
        SOON_S,
    ),
    "heat-without-rise": Text(
        "Reading follows full power",
        "At full power the reading falls: the sensor slipped, or no heat arrives.",
        f"If the sensor slipped: {_PROBE_MOVED[0].lower()}{_PROBE_MOVED[1:]}",
        "Leave the lid shut and let it cool. When it is cold, supply isolated, look at the probe and the element.",
        1,
        SOON_S,
    ),
    "hard-cap": Text(
        "Never above the cap",
        "It is hotter than this firing may ever be.",
        "Element, lining and pot suffer. If it goes on climbing, something still heats.",
        "Keep the lid shut and stay clear. If the reading still climbs after a minute, switch off at the breaker.",
        1,
        NOW_S,
    ),
}
