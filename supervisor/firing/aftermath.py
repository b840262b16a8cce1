"""What an earlier run left behind: trips and firings that nobody has reset, what happened, and parts to be proved.

A supervisor begins with it. It stands until the held press at the furnace, whatever was restarted meanwhile.
"""

from dataclasses import dataclass
from enum import Enum
from math import inf
from typing import NamedTuple

from hardware.ports import Level
from supervisor.alarms.lifecycle import Alarms
from supervisor.alarms.standing import Standing
from supervisor.firing.firing import Firing
from supervisor.firing.turn import Turn
from supervisor.logbook.left_open import PAST_UNKNOWN
from supervisor.watches import DOUBTS_THE_SENSOR, WATCHES
from supervisor.watches.chain import supply_lost
from supervisor.watches.finding import Leave, Reaction, Then

TRIP_LEFT, CUT_SHORT, BEGUN_TOO_OFTEN = "trip-left", "cut-short", "begun-too-often"
"""Alarms that no watch raises: an earlier run left them."""

OF_EARLIER_RUNS = frozenset({TRIP_LEFT, CUT_SHORT, PAST_UNKNOWN, BEGUN_TOO_OFTEN})

REACTIONS = {watch.id: watch.reaction for watch in WATCHES}

_LEFT = Reaction(Then.HOLD, duty_ceiling=0.0, drop_contactor=True, latch=True, leave=Leave.BY_A_PRESS)
"""What a trip of an earlier run still asks: it stopped what it had to stop then. No start, no heat."""


class Part(Enum):
    """What a trip was about, and has to be proved before the next heat."""

    RELAY = "relay"
    CONTACTOR = "contactor"
    SENSOR = "sensor"
    LIMITER = "limiter"


START_TEST_PROVES = frozenset({Part.RELAY, Part.CONTACTOR})

_PARTS = {
    "heat-without-command": Part.RELAY,
    "power-without-command": Part.RELAY,
    "warmer-than-power": Part.RELAY,
    "current-when-off": Part.RELAY,
    "lid-not-cooling": Part.RELAY,
    "relay-undecided": Part.RELAY,
    "over-setpoint": Part.RELAY,
    "contactor-stuck": Part.CONTACTOR,
    "contactor-chatters": Part.CONTACTOR,
    "chain-lost": Part.CONTACTOR,
    "start-test": Part.CONTACTOR,
    "limiter": Part.LIMITER,
    "hard-cap": Part.LIMITER,
    "sensor-reversed": Part.SENSOR,
    "sensor-noisy": Part.SENSOR,
    "power-at-rest": Part.RELAY,
    "relay-proof": Part.RELAY,
    "sensors-disagree": Part.SENSOR,
    "cold-junction-hot": Part.SENSOR,
}


def part_of(watch: str) -> Part | None:
    """What has to be proved after a trip by this watch; None: nothing but the reset."""
    return Part.SENSOR if watch in DOUBTS_THE_SENSOR else _PARTS.get(watch)


class Ended(Enum):
    """How the earlier run ended."""

    POWER = "power"  # the computer lost its supply or was started anew
    KILLED = "killed"  # the program ended without a word while the computer ran on
    FAULT = "fault"  # the program ended on an error of its own
    SUPPLY = "supply"  # the chain lost its supply while computer and program ran on
    TRIP = "trip"
    OFTEN = "often"  # begun anew again and again
    UNKNOWN = "unknown"


@dataclass(slots=True)
class Aftermath:
    """What happened, for the person who comes back to it. Times are process time of this supervisor."""

    ended: Ended
    name: str  # heat number or name of the firing; empty: there was none
    why: str = ""  # the error, or the watch's evidence
    before_c: float | None = None  # what the furnace read last
    was: str = ""  # state of the firing then
    had_metal: bool = False
    back_s: float = 0.0  # since when this supervisor looks
    lasted_s: float | None = None  # from the end to back_s; None: still going on
    at_least: bool = False  # nobody knows how much longer it was
    ended_utc_ms: int | None = None  # label of the last known moment; None: no clock was trusted then


class Latched(NamedTuple):
    """A trip that nobody has reset."""

    watch: str
    number: int
    evidence: str
    first_out: bool
    acknowledged: bool
    since_s: float


class Left(NamedTuple):
    """Everything that an earlier run left, for a supervisor that begins."""

    latched: tuple[Latched, ...] = ()
    sentence: str | None = None
    aftermath: Aftermath | None = None
    liquid: bool = False  # metal may be liquid
    heated_s: float = -inf  # when heat was last possible, process time
    seen_s: float = -inf  # as far as the computer's own clock proves it
    hottest_c: float = 0.0
    doubted: bool = False
    drained: bool = False
    cut_short: bool = False
    to_prove: frozenset[Part] = frozenset()


def take_over(firing: Firing, alarms: Alarms, left: Left) -> None:
    """Let a supervisor begin with what was left."""
    for latched in left.latched:
        known = REACTIONS.get(latched.watch)
        keep_away = known is not None and known.keep_away
        alarms.standing[latched.watch] = Standing(
            latched=True,
            number=latched.number,
            since_s=latched.since_s,
            heard_s=latched.since_s,
            evidence=latched.evidence,
            reaction=_LEFT | Reaction(keep_away=keep_away),
            first_out=latched.first_out,
            acknowledged=latched.acknowledged,
        )
        alarms.counts[latched.watch] = max(latched.number, alarms.counts.get(latched.watch, 0))
        alarms.reaction = alarms.reaction | alarms.standing[latched.watch].reaction
    firing.left_open, firing.aftermath = left.sentence, left.aftermath
    firing.liquid_left, firing.drained, firing.cut_short = left.liquid, left.drained, left.cut_short
    firing.to_prove = left.to_prove
    cooling = firing.cooling
    cooling.heated_s, cooling.seen_s = left.heated_s, left.seen_s
    cooling.hottest_c, cooling.doubted = left.hottest_c, left.doubted


def is_latching(watch: str) -> bool:
    """A trip by this watch stands until it is reset; one that is not known here does too."""
    known = REACTIONS.get(watch)
    return watch in OF_EARLIER_RUNS or known is None or known.latch


def see(turn: Turn) -> None:
    """Once a second: the supply that comes back, and the limiter's line that is tried."""
    firing, inputs = turn.firing, turn.sample.inputs
    aftermath = firing.aftermath
    if aftermath is not None and aftermath.lasted_s is None and not supply_lost(inputs):
        aftermath.lasted_s, aftermath.back_s = turn.now_s - aftermath.back_s, turn.now_s
        firing.change()
        turn.event("supply back", {"after_s": round(aftermath.lasted_s, 1)})
    tripped = "limiter" in turn.alarms.standing
    if not tripped and Part.LIMITER not in firing.to_prove:
        return
    if inputs.emergency_stop is Level.CLOSED and inputs.limiter is Level.OPEN:
        firing.limiter_opened = True
    elif firing.limiter_opened and inputs.limiter is Level.CLOSED and not tripped:
        firing.to_prove -= {Part.LIMITER}
        firing.limiter_opened = False
        turn.event("proved", {"part": Part.LIMITER.value, "by": "its line opened and closed again"})
        firing.change()


def clock_found(firing: Firing, now_s: float, utc_ms: int) -> None:
    """The clock is trusted now: an outage of 'at least' gets its length, if its beginning has a label."""
    found = firing.aftermath
    if found is None or not found.at_least or found.ended_utc_ms is None:
        return
    lasted_s = (utc_ms - found.ended_utc_ms) / 1000.0 - (now_s - found.back_s)
    if lasted_s >= 0.0:
        found.lasted_s, found.at_least = lasted_s, False
        firing.cooling.heated_s = min(firing.cooling.heated_s, found.back_s - lasted_s)
        firing.change()


def ended(turn: Turn) -> None:
    """A trip has ended a firing: what whoever comes to it has to know."""
    firing, run = turn.firing, turn.firing.run
    speaking = turn.alarms.speaking(Then.ABORT)
    if not speaking:
        return
    supply = "supply-lost" in speaking
    if firing.aftermath is not None:
        return
    firing.aftermath = Aftermath(
        ended=Ended.SUPPLY if supply else Ended.TRIP,
        name="" if run is None else run.heat_number or run.name,
        why=turn.alarms.standing[speaking[0]].evidence,
        before_c=turn.belief.last_c,
        had_metal=run is not None and run.profile.charge is not None,
        back_s=turn.now_s,
        lasted_s=None if supply else 0.0,
    )


def reset(turn: Turn, watches: list[str]) -> frozenset[Part]:
    """The press has let these trips go: what has to be proved now."""
    firing = turn.firing
    parts = frozenset(part for watch in watches if (part := part_of(watch)) is not None)
    if Part.SENSOR in parts:
        firing.cold_checked = False
    firing.to_prove |= parts
    if not turn.alarms.latched:
        firing.left_open, firing.aftermath = None, None
    return parts
