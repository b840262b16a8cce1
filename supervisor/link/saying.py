"""What headlines are made of."""

from typing import NamedTuple

from supervisor.cycle import Memory
from supervisor.link.off import hands_allowed, heat


class Headline(NamedTuple):
    """What stands on top of every live screen. tone: calm, stay, wanted or act.

    in_s: seconds from now to the hour that stands as {hour} in it, with {day} for its day; None: it names none.
    next_sign: when the next sign that somebody is there is due, as a sentence of its own; next_sign_in_s: the same for
    its hour.
    """

    before: str
    key: str
    after: str
    tone: str
    in_s: float | None = None
    next_sign: str = ""
    next_sign_in_s: float | None = None


def proved_off(memory: Memory) -> bool:
    """The contactor reads open, nothing asks it in, and no current is seen."""
    return hands_allowed(memory)


def temperature(memory: Memory) -> str:
    """The chamber in words, for a key."""
    reading = memory.belief.reading
    return "unknown" if reading is None else f"{reading.hot_junction_c:.0f} °C"


def off(memory: Memory, before: str, why: str, tone: str = "calm") -> Headline:
    """Heat is off, as far as it is proved."""
    sentence, known = before.endswith("."), heat(memory)
    if known.off == "proved":
        return Headline(f"{before} {'Heat' if sentence else 'heat'} is", "off,", f"proved. {why}".strip(), tone)
    then = known.why or "not proved yet."
    return Headline(
        f"{before} {'Off' if sentence else 'off'} was", "ordered", then, "act" if "breaker" in then else tone
    )


def likely_ready(memory: Memory, then: str = "") -> Headline:
    """Nothing here orders hands to the furnace: the contactor is proved open first, and eyes and probe decide."""
    if proved_off(memory):
        return Headline("Heat off, proved. Likely ready:", "look", "and dip, then decide.", "wanted")
    return Headline("Likely ready. Before anybody looks:", "heat off", f"and proved.{then}", "wanted")


def minutes(seconds: float) -> str:
    """A time to come, as a person says it."""
    seconds = max(0.0, seconds)
    return f"{seconds:.0f} s" if seconds < 90.0 else f"{seconds / 60.0:.0f} min"
