"""Alarms of chain, lid, charge and plan in words; see `texts`."""

from supervisor.alarms.text import MELT_S, NOW_S, SOON_S, Text

CHAIN: dict[str, Text] = {
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
    # --- the charge and the plan ------------------------------------------------------------------------------------
    "mass-doubted": Text(
        "Mass as entered",
        "The furnace warms up as if there were another mass in the pot than was entered, or as if it had been rebuilt.",
        "No boost, and no time to pour is said.",
        "Weigh what is left, or look into the plan. Enter the mass again, or press the button if it is as entered."
        " Then something of the furnace has changed: note the part, and it is learned again.",
        3,
        MELT_S,
    ),
    "metal-missing": Text(
        "The charge takes up the heat",
        "The reading is above what this power should have made of this charge.",
        "Metal may be missing, or hang over the melt and take up no heat. No boost, no time to pour.",
        "Add nothing and stir nothing before you have looked at it from a distance: a roof of metal may break.",
        2,
        SOON_S,
    ),
    "quarantined-metal": Text(
        "Metal of the pot in order",
        "Metal in the pot is under quarantine.",
        "What is poured of it may be no good, or harmful.",
        "Add nothing to it. Put what it gives into marked moulds, not into a casting: note which, and keep them apart.",
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
}
