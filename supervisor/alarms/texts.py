"""What people read: one place for every alarm's sentence, consequence and act.

Sentences that a frightened person can follow. 'Heat is off' is not said here: the headline says it, and only when it is
proved. Priority 1: now; 2: within minutes; 3: in this melt; 0: no alarm, nothing to do, but worth a line in the log.
"""

from typing import NamedTuple


class Text(NamedTuple):
    """One watch in words."""

    title: str  # what it looks for
    sentence: str  # when it speaks
    consequence: str
    act: str
    priority: int
    act_within_s: float = 0.0  # how long there is to do it; 0: it is done already, or nothing hurries


_TOO_LONG = "The firing ends; the charge cools where it is."

TEXTS: dict[str, Text] = {
    "no-reading": Text("A reading in every cycle", "One reading was missing.", "No heat for a quarter second.", "", 0),
    "sensor-open": Text(
        "Sensor circuit whole",
        "The sensor wire broke.",
        "The temperature is not known; the furnace is still hot.",
        "Leave the lid shut and let it cool. Then, supply isolated, look at the probe and its connector.",
        1,
    ),
    "sensor-shorted": Text(
        "Sensor circuit clear of ground and supply",
        "The sensor wire touches ground or supply.",
        "The temperature is not known; the furnace is still hot.",
        "Leave the lid shut and let it cool. Then, supply isolated, look at the probe's sleeve.",
        1,
    ),
    "sensor-silent": Text(
        "Sensor board answers",
        "The sensor board does not answer.",
        "The temperature is not known; the furnace is still hot.",
        "Let it cool. Then, supply isolated, look at the board's plug and its supply.",
        1,
    ),
    "sensor-corrupt": Text(
        "Sensor data whole",
        "The sensor's data are damaged.",
        "The temperature is not known; the furnace is still hot.",
        "Let it cool. Then, supply isolated, look at the sensor leads and how they run past the element wires.",
        1,
    ),
    "reading-old": Text(
        "A reading within 5 s",
        "There has been no good reading for 5 s.",
        "The temperature is not known; the furnace is still hot.",
        "Let it cool, then look at the sensor's connector and board, supply isolated.",
        1,
    ),
    "sample-repeated": Text(
        "Every sample of its own cycle", "One sample was not of its cycle.", "No heat for a quarter second.", "", 0
    ),
    "samples-stale": Text(
        "Samples of now",
        "The samples are not of now.",
        "What the furnace does is not known.",
        "Look at the furnace. Restart the supervisor when it is cold.",
        1,
    ),
    "reading-frozen": Text(
        "Reading alive",
        "The reading has stopped changing: it may not be live.",
        "The true temperature may be another.",
        "Let it cool, then look at the sensor board, supply isolated.",
        1,
    ),
    "rate-impossible": Text(
        "Reading moves as this furnace can",
        "The reading jumped further than this furnace can.",
        "The sensor may have moved or come loose; the chamber may be hotter than shown.",
        "Leave the lid shut and let it cool. Then look where the probe sits.",
        1,
    ),
    "heat-without-command": Text(
        "No heat unless ordered",
        "It gets hotter with the relay off: the relay may not let go.",
        "Only the contactor keeps the element off.",
        "Stay clear of the chamber. Switch off at the breaker. A new relay before the next heat.",
        1,
    ),
    "power-without-command": Text(
        "No power unless ordered",
        "The meter counts with the relay off: the relay does not let go.",
        "Only the contactor keeps the element off.",
        "Stay clear of the chamber. Switch off at the breaker. A new relay before the next heat.",
        1,
    ),
    "no-power": Text(
        "Power when ordered",
        "Heat was ordered, and the meter stands still.",
        "The charge cools; metal may freeze in the pot.",
        "Look at the breaker. If it is in: element, relay or a fuse. A licensed person tests it, supply isolated.",
        2,
    ),
    "heat-without-rise": Text(
        "Reading follows full power",
        "At full power the reading falls: element, relay, or a sensor that slipped.",
        "If the sensor slipped, the chamber is hotter than shown.",
        "Leave the lid shut and let it cool. Then look at the probe and the element, supply isolated.",
        1,
    ),
    "hard-cap": Text(
        "Never above the cap",
        "It is hotter than this firing may ever be.",
        "Element, pot and metal suffer.",
        "Look from a distance that the contactor is open. Switch off at the breaker if it is not.",
        1,
    ),
    "supply-lost": Text(
        "Supply of the chain there",
        "Mains or the chain's 24 V are gone.",
        "The firing is over; the furnace is still hot, and metal may be liquid inside.",
        "Look at breaker, supply and fuse. Somebody may have switched it off for a reason: ask first.",
        1,
    ),
    "emergency-stop": Text(
        "Emergency stop released",
        "The emergency stop was pressed, or its wire is broken.",
        "The firing is over; the furnace is still hot.",
        "Find out who pressed and why before it is released.",
        1,
    ),
    "limiter": Text(
        "Limiter healthy",
        "The over-temperature limiter opened: believe it.",
        "The chamber was hotter than it may be, or the limiter's own sensor failed.",
        "Let it cool. Find the cause before the limiter is reset by hand.",
        1,
    ),
    "key-off": Text("Key on", "The key was turned off.", "No heat for anybody.", "Turn it on for the next start.", 3),
    "chain-lost": Text(
        "Chain and contactor stay in",
        "The contactor let go by itself.",
        "The firing is over: a lost chain is never a pause.",
        "Look at the 24 V supply, its fuse and the permit circuit, supply isolated.",
        1,
    ),
    "contactor-stuck": Text(
        "Contactor opens when told",
        "The contactor did not open.",
        "The element may be live.",
        "Keep away from the chamber. Switch off at the breaker now.",
        1,
    ),
    "loop-late": Text(
        "Supervisor on time",
        "The supervisor was held up.",
        "Heat was cut: what happened meanwhile is not known.",
        "Look at the furnace. Look at the computer's load and supply before the next start.",
        1,
    ),
    "lid": Text("Lid shut", "The lid is open: no heat.", "", "", 0),
    "lid-not-cooling": Text(
        "An open lid cools",
        "The lid reads open, and the chamber does not cool: something still heats, or the lid's switch is wrong.",
        "The element may be live.",
        "Keep hands and tools out of the chamber. Switch off at the breaker. Then look at relay and lid switch.",
        1,
    ),
    "button-stuck": Text(
        "Button released",
        "The button at the furnace has been pressed for too long.",
        "It proves nobody's presence; no heat until it is free.",
        "Free the button, then hold it 3 s when asked.",
        2,
    ),
    "sign-due": Text(
        "A sign in time that somebody is there",
        "A sign is due that somebody is there.",
        "Without one the furnace sounds, the second contact is told, and five minutes after it was due it is held.",
        "Go to the furnace and press its button. While the page offers it, a tap on the right band will do.",
        3,
        300.0,
    ),
    "signs-lost": Text(
        "A page that follows, where a phone answered",
        "The last sign came from a phone, and no page follows the furnace any more.",
        "Nobody watches from afar: the next sign is due now.",
        "Go to the furnace and press its button, or open the page again.",
        3,
        300.0,
    ),
    "sign-missed": Text(
        "Somebody is there",
        "Nobody answered when a sign was due.",
        "It is held, liquid metal no hotter than it needs to stay liquid. Ten minutes later heat ends.",
        "Go to the furnace and press its button. To go on, hold it 3 s when it asks again.",
        1,
        600.0,
    ),
    "nobody-there": Text(
        "Somebody is there, still",
        "Nobody came.",
        "Heat ends; liquid metal freezes in the pot.",
        "Go to the furnace. Do not add metal to a frozen pot.",
        1,
    ),
    "mass-doubted": Text(
        "Mass as entered",
        "The furnace warms up as if there were another mass in the pot than was entered.",
        "No boost, and no time to pour is said.",
        "Weigh the charge or look into the plan: enter its mass again, or press the button if it is as entered.",
        3,
    ),
    "longest-duration": Text(
        "Within its longest time", "This firing's longest time is over.", _TOO_LONG, "Look at it.", 3
    ),
    "energy-allowance": Text(
        "Within its energy allowance",
        "This firing has used its energy allowance.",
        "Heat is limited to what holds the temperature.",
        "Is the lid shut, the pot whole, the probe in its place? A press at the furnace adds a tenth, twice at most.",
        3,
    ),
    "log-behind": Text(
        "Log can be written",
        "The log cannot be written.",
        "No heat while what happens cannot be kept.",
        "Look at the card: full, worn or read-only.",
        2,
    ),
    "start-test": Text(
        "Start test passed",
        "A proof of the start failed.",
        "No heat.",
        "Read which one. Mend it with the supply isolated, then start again.",
        1,
    ),
    "supervisor": Text(
        "Supervisor whole",
        "The supervisor failed and switched everything off.",
        "What happens now is not watched.",
        "Look at the furnace.",
        1,
    ),
}
