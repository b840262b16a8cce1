"""How lamp and sounder speak, by rhythm alone: long pulses are an alarm, the more the worse; short ticks ask or count.

The structure follows IEC 60601-1-8 (general requirements for alarm systems in medical electrical equipment): a burst of
high priority has many pulses and comes again soonest, one of medium priority has three, one of low priority one or two
and need not come again; lamps flash fast, slowly, or burn steadily. Numbers from memory. Its melodies are not used:
every pulse here is alike and evenly spaced, so that nothing sounds like the equipment of a hospital.

Everything is counted in quarter seconds, the supervisor's cycle. Pages make the same sound from the same table.
"""

from typing import NamedTuple

BEAT_S = 0.25


class Burst(NamedTuple):
    """Pulses of equal length, evenly spaced. every_beats: from burst to burst; 0: once."""

    pulses: int
    on_beats: int
    off_beats: int
    every_beats: int


BURSTS = {
    1: Burst(pulses=10, on_beats=2, off_beats=1, every_beats=40),  # 7.5 s of sound in 10 s
    2: Burst(pulses=3, on_beats=2, off_beats=2, every_beats=80),  # each 20 s
    3: Burst(pulses=2, on_beats=2, off_beats=2, every_beats=0),  # once
}

FLASHES = {1: (1, 2), 2: (2, 8), 3: (1, 1)}
"""The lamp of an alarm by priority: lit for the first beats of so many. 2 Hz, 0.5 Hz, steady."""


def beat(since_s: float, now_s: float) -> int:
    """Quarter seconds since it began."""
    return round((now_s - since_s) / BEAT_S)


def sounds(priority: int, since_s: float, now_s: float) -> bool:
    """Is the sounder on in this quarter second? Priority 0 never sounds."""
    burst = BURSTS.get(priority)
    at = beat(since_s, now_s)
    if burst is None or at < 0:
        return False
    if burst.every_beats:
        at %= burst.every_beats
    pulse, within = divmod(at, burst.on_beats + burst.off_beats)
    return pulse < burst.pulses and within < burst.on_beats


def flashes(priority: int, since_s: float, now_s: float) -> bool:
    """Is the lamp of an alarm lit in this quarter second?"""
    if priority not in FLASHES:
        return False
    lit, of = FLASHES[priority]
    return beat(since_s, now_s) % of < lit


def asks_by_lamp(now_s: float) -> bool:
    """A question: a long flash, 1.5 s of each 2 s."""
    return beat(0.0, now_s) % 8 < 6


def asks_by_sound(now_s: float) -> bool:
    """A question: one short tick each 2 s."""
    return beat(0.0, now_s) % 8 < 1


def ticks(now_s: float) -> bool:
    """While the button is held, and for the three seconds before heat comes back by itself: two ticks a second."""
    return beat(0.0, now_s) % 2 == 0
