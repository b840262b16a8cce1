"""What headlines are made of."""

from typing import NamedTuple

from hardware.ports import Level
from supervisor.cycle import Memory
from supervisor.firing.carry_out import PROVED_WITHIN_S


class Headline(NamedTuple):
    """What stands on top of every live screen. tone: calm, stay, wanted or act.

    in_s: seconds from now to the hour that stands as {hour} in it; None: it names none. next_sign: when the next sign
    that somebody is there is due, as a sentence of its own; next_sign_in_s: the same for its hour.
    """

    before: str
    key: str
    after: str
    tone: str
    in_s: float | None = None
    next_sign: str = ""
    next_sign_in_s: float | None = None


def proved_off(memory: Memory) -> bool:
    """The contactor reads open, and nothing asks it in."""
    sample = memory.sample
    return sample is not None and sample.inputs.mirror is Level.CLOSED and not memory.outputs.enable


def temperature(memory: Memory) -> str:
    """The chamber in words, for a key."""
    reading = memory.belief.reading
    return "unknown" if reading is None else f"{reading.hot_junction_c:.0f} °C"


def off(memory: Memory, before: str, why: str, tone: str = "calm") -> Headline:
    """Heat is off, as far as it is proved."""
    sentence = before.endswith(".")
    if proved_off(memory):
        return Headline(f"{before} {'Heat' if sentence else 'heat'} is", "off,", f"proved. {why}".strip(), tone)
    late = memory.belief.monotonic_s - memory.firing.entered_s > PROVED_WITHIN_S
    return Headline(
        f"{before} {'Off' if sentence else 'off'} was",
        "ordered",
        "not proved: switch off at the breaker." if late else "not proved yet.",
        "act" if late else tone,
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
