"""The headline of a furnace that nothing heats any more: what came back, what freezes, what is frozen in the pot."""

from math import ceil, isfinite

from supervisor.cycle import Memory
from supervisor.firing.aftermath import Aftermath, Ended
from supervisor.furnace.stages import CAPS, Stage
from supervisor.link.aftermath import duration, perhaps_liquid
from supervisor.link.metal import pot_drained
from supervisor.link.saying import Headline, off

HOT_C = 60.0
_CAME = {
    Ended.POWER: "Power is back:",
    Ended.SUPPLY: "The supply went away:",
    Ended.KILLED: "The program is back:",
    Ended.FAULT: "The program is back:",
    Ended.OFTEN: "The program is back, again and again:",
}
TOLD_EVERY_S = 600.0
"""The hour from which it may be touched moves by so much: the next one up, so that it stands still for a while."""


def came_back(memory: Memory, left_open: str) -> Headline:
    """A firing was cut short: for how long nobody watched, and what the metal may be."""
    found = memory.firing.aftermath
    before = left_open if found is None else _CAME.get(found.ended, left_open)
    gone = "" if found is None else _gone(memory, found)
    metal = "may be liquid inside." if perhaps_liquid(memory) else ""
    known = f"{gone}: {metal}" if gone and metal else f"{gone}." if gone else metal[:1].upper() + metal[1:]
    return off(memory, before, known or "Look at the furnace, then say what was found.", "wanted")


def _gone(memory: Memory, found: Aftermath) -> str:
    if found.ended in (Ended.UNKNOWN, Ended.TRIP, Ended.OFTEN):
        return ""
    if found.lasted_s is None:
        return f"Away for {duration(memory.belief.monotonic_s - found.back_s)} so far"
    return f"Out for {'at least ' * found.at_least}{duration(found.lasted_s)}"


def at_rest(memory: Memory, before: str) -> Headline | None:
    """Heat is proved off: liquid that freezes, or metal frozen in a pot that nobody has looked into. None: neither."""
    firing, reading = memory.firing, memory.belief.reading
    if reading is None:
        return None
    freezes = firing.window.freezes_in_s(memory.belief.monotonic_s)
    if perhaps_liquid(memory) and freezes is not None:
        may = "Freezing may crack the pot."
        return Headline(f"{before} off, proved; may be liquid. Decide by", "{hour}", may, "wanted", freezes)
    run = firing.run
    was_liquid = run is not None and run.gate.may_be_liquid and not run.poured and not perhaps_liquid(memory)
    if run is not None and was_liquid and reading.hot_junction_c < HOT_C:
        slow = " The next heat is slow." if firing.leaves_cut_metal else ""
        return Headline(
            f"{run.heat_number or 'Metal'} froze in the pot:", "look", f"for cracks, empty and cold.{slow}", "wanted"
        )
    return None


def hot(memory: Memory, before: str) -> Headline | None:
    """Proved off and too hot to touch: until when, as it is reckoned. None: it cannot be."""
    firing, reading, now_s = memory.firing, memory.belief.reading, memory.belief.monotonic_s
    if reading is None or firing.cooling.down is None or firing.cooling.doubted:
        return None
    cold_s = now_s + firing.cooling.down.left(reading.hot_junction_c)
    in_s = ceil(cold_s / TOLD_EVERY_S) * TOLD_EVERY_S - now_s
    pot = "Pot drained" if pot_drained(firing) else "Pot not known to be drained"
    pot = "Metal may be liquid inside" if perhaps_liquid(memory) else pot
    now = f"{{day}}{pot}; off, proved. {reading.hot_junction_c:.0f} °C now."
    return Headline(f"{before} do not touch before", "{hour}", now, "calm", in_s)


def unlocked_so_far(memory: Memory) -> Headline | None:
    """A furnace that is not unlocked for melts says so first. None: it is, or it is simulated."""
    unlocking, furnace = memory.firing.unlocking, memory.furnace
    number = unlocking.stage(furnace)
    if not unlocking.counted or number >= Stage.MELTS:
        return None
    missing = [each for each in unlocking.reached(furnace).missing if each.kind.opens == number + 1]
    to_do = f"{len(missing)} proof{'s' * (len(missing) != 1)} to do."
    if number is Stage.NONE:
        return Headline(
            "Heat is locked:", str(len(missing)), f"cold proof{'s' * (len(missing) != 1)} to do first.", "stay"
        )
    cap_c = CAPS[number].top_c
    if isfinite(cap_c):
        return Headline("Unlocked to", f"{cap_c:.0f} °C,", f"attended, without metal: {to_do}", "stay")
    return Headline("Unlocked to", "dry out", f"and heat empty, attended: {to_do}", "stay")
