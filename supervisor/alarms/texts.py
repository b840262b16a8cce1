"""What people read: one place for every alarm's cause, consequence and act.

Sentences that a frightened person can follow. Whether heat is off is never said here: `proved` knows what is proved,
and says it. No act asks for hands in a hot chamber; what is done to wires is done with the supply isolated, and what
needs a licence by a licensed person.

Priority 1: now, or it has already acted and somebody must look; 2: within ten minutes; 3: in this melt; 0: no alarm,
nothing to do, but worth a line in the log. After ISA-18.2 (IEC 62682): an alarm has cause, consequence, act and a time.
"""

from typing import NamedTuple

NOW_S, SOON_S, MELT_S = 60.0, 600.0, 3600.0
"""The times there usually are to act: in danger; to look after what has already acted, or within ten minutes; in this
melt (our choice)."""


class Text(NamedTuple):
    """One watch in words."""

    title: str  # what it looks for
    sentence: str  # the cause, when it speaks
    consequence: str  # what comes of it, or is so already
    act: str  # the one thing to do; empty only where priority is 0
    priority: int
    act_within_s: float = 0.0  # how long there is to do it; more than 0 for every alarm
    about: str = "furnace"  # furnace, machine, people: only alarms about the same fold under one another


_UNKNOWN_C = "The temperature is not known, and the furnace is still hot."
_PROBE_MOVED = "The chamber may be much hotter than shown."

TEXTS: dict[str, Text] = {
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
        "It takes more power than it should for this reading: the sensor may be leaving its place, or heat gets lost.",
        "Metal and chamber may be hotter than shown.",
        "Raise nothing. From outside, look at lid and probe. No dip before it is stopped and the page says proved.",
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
        "Look whether the lid is shut. Let it cool. When it is cold, supply isolated, look at probe and element.",
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
    "power-when-off": Text(
        "No metered power unless ordered",
        "The meter counts with the relay told off: it may not let go, or the meter is wrong.",
        "The contactor was told to open, and within half a minute it shows which of the two it is.",
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
        "Heat was ordered, and no current flows.",
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
        "The element takes more power than before: turns may touch, or mains went up.",
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
    # --- the chain --------------------------------------------------------------------------------------------------
    "supply-lost": Text(
        "Supply of the chain there",
        "Mains or the chain's 24 V are gone.",
        "The firing is over; the furnace is still hot, and metal may be liquid inside.",
        "Ask first: somebody may have switched it off for a reason. Then look at the breaker, the 24 V supply and its"
        " fuse, supply isolated.",
        1,
        SOON_S,
    ),
    "emergency-stop": Text(
        "Emergency stop released",
        "The emergency stop was pressed, or its wire is broken.",
        "The firing is over; the furnace is still hot, and metal may be liquid inside.",
        "Go and ask who pressed it and why. Leave it pressed until that is known.",
        1,
        SOON_S,
    ),
    "limiter": Text(
        "Limiter healthy",
        "The over-temperature limiter opened: believe it.",
        "The chamber was hotter than it may be, or the limiter's own sensor failed.",
        "Leave the lid shut and let it cool. Find the cause before anybody resets the limiter by hand.",
        1,
        SOON_S,
    ),
    "key-off": Text(
        "Key on",
        "The key was turned off.",
        "The firing is over: nobody can start one until the key is on.",
        "Ask who turned it and why. For the next start turn it on.",
        3,
        MELT_S,
        "people",
    ),
    "chain-lost": Text(
        "Chain and contactor stay in",
        "The contactor let go by itself.",
        "The firing is over: a lost chain is never a pause. Metal may be liquid inside.",
        "Let it cool. Then, supply isolated, look at the 24 V supply, its fuse and the permit circuit.",
        1,
        SOON_S,
    ),
    "contactor-chatters": Text(
        "Contactor holds still",
        "The contactor flutters: it reads open for moments while it is told to stay in.",
        "Its poles burn, and may weld. The firing ends.",
        "Look at the 24 V supply, its fuse and the coil, supply isolated. A licensed person looks at the poles.",
        2,
        SOON_S,
    ),
    "tray-wet": Text(
        "Dry under the furnace",
        "Something conducts under the furnace: metal may be out of the pot.",
        "Liquid metal sets fire to what it meets, and throws metal about where it meets water.",
        "Keep everybody away. No water, and do not move the pot. Switch off at the breaker from a distance.",
        1,
        NOW_S,
    ),
    "contactor-stuck": Text(
        "Contactor opens when told",
        "The contactor did not open.",
        "The element may be live.",
        "Keep away from the chamber. Switch off at the breaker now. A licensed person changes the contactor.",
        1,
        NOW_S,
    ),
    "start-test": Text(
        "Start test passed",
        "A proof of the start failed.",
        "Nothing starts before it is mended.",
        "Read below which proof it was. Mend it with the supply isolated, then start again.",
        1,
        SOON_S,
    ),
    # --- lid --------------------------------------------------------------------------------------------------------
    "lid": Text("Lid shut", "The lid is open.", "No heat is ordered until it is shut.", "", 0),
    "lid-not-cooling": Text(
        "An open lid cools",
        "The lid reads open, and the chamber does not cool: something still heats, or the lid's switch is wrong.",
        "The element may be live.",
        "Keep hands and tools out of the chamber. Switch off at the breaker. When it is cold, supply isolated, look at"
        " relay and lid switch.",
        1,
        NOW_S,
    ),
    "lid-cools-little": Text(
        "An open lid cools, below 600 °C",
        "The lid reads open, and the chamber hardly cools: it cannot be told whether something heats.",
        "If something does, only the contactor keeps current from the element.",
        "Keep hands and tools out of the chamber until the contactor reads open. Look whether the lid is open at all.",
        2,
        SOON_S,
    ),
    "lid-left-open": Text(
        "Lid not left open",
        "The lid has been open for ten minutes.",
        "The firing ends; metal may freeze in the pot.",
        "In your gear, from the side, shut the lid if nothing stands in its way. Add no metal to a frozen pot.",
        2,
        SOON_S,
    ),
    # --- people -----------------------------------------------------------------------------------------------------
    "button-stuck": Text(
        "Button released",
        "The button at the furnace has been pressed for too long.",
        "While it reads pressed it proves nobody's presence, and no heat is ordered.",
        "Free the button, then hold it 3 s when asked.",
        2,
        SOON_S,
        "people",
    ),
    "sign-due": Text(
        "A sign in time that somebody is there",
        "A sign is due that somebody is there.",
        "Without one the furnace sounds, the second contact is told, and five minutes after it was due it is held.",
        "Go to the furnace and press its button. While the page offers it, a tap on the right range will do.",
        3,
        300.0,
        "people",
    ),
    "signs-lost": Text(
        "A page that follows, where a phone answered",
        "The last sign came from a phone, and no page follows the furnace any more.",
        "Nobody watches from afar: the next sign is due now.",
        "Go to the furnace and press its button, or open the page again.",
        3,
        300.0,
        "people",
    ),
    "sign-missed": Text(
        "Somebody is there",
        "Nobody answered when a sign was due.",
        "It is held, liquid metal no hotter than it needs to stay liquid. Ten minutes later the firing ends.",
        "Go to the furnace and press its button. To go on, hold it 3 s when it asks again.",
        1,
        SOON_S,
        "people",
    ),
    "nobody-there": Text(
        "Somebody is there, still",
        "Nobody came.",
        "The firing ends; liquid metal freezes in the pot.",
        "Go to the furnace and look from a distance. Add no metal to a frozen pot.",
        1,
        SOON_S,
        "people",
    ),
    # --- the charge and the plan ------------------------------------------------------------------------------------
    "mass-doubted": Text(
        "Mass as entered",
        "The furnace warms up as if there were another mass in the pot than was entered.",
        "No boost, and no time to pour is said.",
        "Weigh what is left, or look into the plan. Enter the mass again, or press the button if it is as entered.",
        3,
        MELT_S,
    ),
    "longest-duration": Text(
        "Within its longest time",
        "This firing's longest time is over.",
        "The firing ends; the charge cools where it is.",
        "Look at it. Nothing wet goes into a pot that may still be liquid.",
        3,
        MELT_S,
        "people",
    ),
    "energy-allowance": Text(
        "Within its energy allowance",
        "This firing has used its energy allowance.",
        "Heat is limited to what holds the temperature.",
        "Look from outside: lid shut, no glow below, probe in its place? A press at the furnace adds a tenth, twice at"
        " most.",
        3,
        MELT_S,
    ),
    # --- the machine ------------------------------------------------------------------------------------------------
    "sample-repeated": Text(
        "Every sample of its own cycle",
        "One sample was not of its cycle.",
        "For a quarter second no heat is ordered.",
        "",
        0,
        about="machine",
    ),
    "samples-stale": Text(
        "Samples of now",
        "The samples are not of now.",
        "What the furnace does is not known.",
        "Go and look at the furnace. Leave it to cool; restart the supervisor when it is cold.",
        1,
        SOON_S,
        "machine",
    ),
    "loop-late": Text(
        "Supervisor on time",
        "The supervisor was held up.",
        "What happened meanwhile is not known.",
        "Go and look at the furnace. Look at the computer's load and supply before the next start.",
        1,
        SOON_S,
        "machine",
    ),
    "supply-weak": Text(
        "Computer's supply strong",
        "The computer's own supply has been weak for 10 s.",
        "While it is, no heat is ordered: what the computer does next is in doubt.",
        "Look at the computer's plug, cable and supply. If the firing cannot go on: stop it.",
        2,
        SOON_S,
        "machine",
    ),
    "processor-hot": Text(
        "Computer cool enough",
        "The computer is too hot, or slows itself down.",
        "It may be late soon, and then heat ends.",
        "Free the vents of the electronics' box. It must not stand above or against the furnace.",
        3,
        MELT_S,
        "machine",
    ),
    "clock-untrusted": Text(
        "Date known",
        "The computer does not know the date for sure.",
        "Hours shown may be wrong. Durations are not.",
        "",
        0,
        0.0,
        "machine",
    ),
    "log-lost": Text(
        "Log written within ten minutes",
        "The log could not be written for ten minutes.",
        "The firing ends: nobody could say afterwards what it did. The charge cools where it is.",
        "Leave the lid shut. When it is cold, look at the computer's card, and change it.",
        2,
        SOON_S,
        "machine",
    ),
    "log-space-low": Text(
        "Room for the log",
        "The computer's card is nearly full.",
        "Events are kept; soon the curves of this firing are not.",
        "Free some room on the card, or finish this firing and change it.",
        3,
        MELT_S,
        "machine",
    ),
    "log-behind": Text(
        "Log can be written",
        "The log cannot be written.",
        "No heat is ordered while what happens cannot be kept.",
        "Look at the computer's card: full, worn or read-only. Free some room, or finish and change it.",
        2,
        SOON_S,
        "machine",
    ),
    "messages-fail": Text(
        "Messages delivered",
        "A message to somebody outside was not delivered.",
        "Nobody outside may know how the furnace stands.",
        "Do not leave it alone. Look on the page Settings whom it was for, and send a test message.",
        3,
        MELT_S,
        "people",
    ),
    "alarm-chatters": Text(
        "Alarms that last",
        "An alarm comes and goes, again and again.",
        "It is told only when it lasts; what it asks of the furnace is done each time all the same.",
        "When it is cold, supply isolated, look for the loose plug or the worn switch behind it.",
        3,
        MELT_S,
        "machine",
    ),
    "supervisor": Text(
        "Supervisor whole",
        "The supervisor failed, and ordered everything off.",
        "What happens now is not watched.",
        "Go and look at the furnace. Switch off at the breaker if you are in doubt.",
        1,
        NOW_S,
        "machine",
    ),
    # --- what an earlier run left: no watch raises these ------------------------------------------------------------
    "trip-left": Text(
        "Every trip reset",
        "An earlier run ended in a trip, and nobody has reset it.",
        "No heat can start. What tripped may still be so.",
        "Go and look at the furnace. Say what was found, then hold its button 3 s.",
        1,
        SOON_S,
    ),
    "cut-short": Text(
        "Every firing closed",
        "A firing was cut short.",
        "It is over. Metal may be liquid inside; the page says for how long.",
        "Keep the lid shut, and add nothing. Go and look at the furnace, then say what was found.",
        1,
        SOON_S,
    ),
    "past-unknown": Text(
        "Log complete",
        "Nobody knows what the furnace did last: its log is new, lost or older than the furnace.",
        "It counts as a trip. Metal may be liquid inside.",
        "Go and look at the furnace, the pot and the lid. Say what was found, then hold its button 3 s.",
        1,
        SOON_S,
        "machine",
    ),
    "begun-too-often": Text(
        "Supervisor runs through",
        "The supervisor was begun again and again within ten minutes.",
        "It stays stopped until somebody presses.",
        "Look at the computer's supply and card, and at the furnace. Say what was found, then hold its button 3 s.",
        1,
        SOON_S,
        "machine",
    ),
}
