"""The life of an alarm: raised, acknowledged, returned, reset. Words and steps after ISA-18.2 (IEC 62682).

N of M, latches and first-out live here, so that watches keep nothing. Acknowledging resets nothing; a latched alarm
stands until its reset at the furnace.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from supervisor.alarms.texts import TEXTS
from supervisor.watches import Watch
from supervisor.watches.finding import NOTHING, Finding, Reaction, Then, join

SOUNDS_FOR_S = 120.0
"""A trip sounds at the furnace for so long whoever has acknowledged it: somebody may stand there and see no page."""


@dataclass(slots=True)
class Standing:
    """One watch that has spoken: its last answers, one bit each, and what stands."""

    bits: int = 0
    stands: bool = False  # its condition is there now
    acknowledged: bool = False
    latched: bool = False
    number: int = 0  # how often it has been raised
    since_s: float = 0.0
    evidence: str = ""
    reaction: Reaction = NOTHING
    first_out: bool = False

    @property
    def active(self) -> bool:
        """Its reaction counts."""
        return self.stands or self.latched

    @property
    def shown(self) -> bool:
        """There is something for a person to see."""
        return self.active or (self.number > 0 and not self.acknowledged)


@dataclass(slots=True)
class Step:
    """One step in an alarm's life."""

    watch: str
    step: str  # raised, acknowledged, returned, reset
    standing: Standing


@dataclass(slots=True)
class Alarms:
    """Every watch that has anything to say. Watches that were never heard are not here."""

    standing: dict[str, Standing] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)  # how often each was raised
    reaction: Reaction = NOTHING

    def take(self, asked: Sequence[Watch], findings: Sequence[Finding], now_s: float) -> list[Step]:
        """Take what the asked watches found in this turn; the steps that follow."""
        if not findings and not self.standing:
            return []
        spoke = {finding.watch: finding for finding in findings}
        steps: list[Step] = []
        for watch in asked:
            finding, standing = spoke.get(watch.id), self.standing.get(watch.id)
            if finding is None and standing is None:
                continue
            if standing is None:
                standing = self.standing[watch.id] = Standing()
            self._one(watch, standing, finding, now_s, steps)
        self._tidy()
        return steps

    def forget_unasked(self, asked: Sequence[Watch], now_s: float) -> list[Step]:
        """The state changed: watches that are not asked there any more have no condition."""
        ids = {watch.id for watch in asked}
        steps = []
        for name, standing in self.standing.items():
            if name not in ids and (standing.stands or standing.bits):
                standing.bits = 0
                if standing.stands:
                    standing.stands = False
                    steps.append(Step(name, "returned", standing))
        self._tidy()
        return steps

    def acknowledge(self, name: str | None) -> list[Step]:
        """Seen: one alarm, or all. The names are `watch` or `watch/number`."""
        steps = []
        for watch, standing in self.standing.items():
            if standing.shown and not standing.acknowledged and name in (None, watch, f"{watch}/{standing.number}"):
                standing.acknowledged = True
                steps.append(Step(watch, "acknowledged", standing))
        self._tidy()
        return steps

    def reset(self) -> list[Step]:
        """The held press at the furnace: latches whose condition is gone are let go, and all of it has been seen."""
        steps = []
        for watch, standing in self.standing.items():
            if standing.latched and not standing.stands:
                standing.latched = False
                steps.append(Step(watch, "reset", standing))
            elif standing.shown and not standing.acknowledged:
                steps.append(Step(watch, "acknowledged", standing))
            standing.acknowledged = True
        self._tidy()
        return steps

    def speaking(self, then: Then) -> list[str]:
        """The watches that ask for this, the one that spoke first in front."""
        asking = [(s.since_s, watch) for watch, s in self.standing.items() if s.active and s.reaction.then is then]
        return [watch for _, watch in sorted(asking, key=lambda pair: pair[0])]

    @property
    def latched(self) -> bool:
        """A trip waits for its reset."""
        return any(standing.latched for standing in self.standing.values())

    def sounding(self, now_s: float) -> bool:
        """An alarm that nobody has acknowledged, or a trip that has only just happened."""
        return any(
            s.reaction.then > Then.GO_ON
            and ((s.shown and not s.acknowledged) or (s.latched and now_s - s.since_s < SOUNDS_FOR_S))
            for s in self.standing.values()
        )

    def _one(self, watch: Watch, standing: Standing, finding: Finding | None, now_s: float, steps: list[Step]) -> None:
        needed, of = watch.needs
        standing.bits = (standing.bits << 1 | (finding is not None)) & ((1 << of) - 1)
        if finding is not None and standing.stands:
            standing.reaction = finding.reaction
        if not standing.stands and finding is not None and standing.bits.bit_count() >= needed:
            standing.stands = True
            standing.reaction = finding.reaction
            if not standing.latched:
                standing.since_s = now_s
                standing.number = self.counts[watch.id] = self.counts.get(watch.id, 0) + 1
                standing.evidence = finding.evidence
                standing.acknowledged = TEXTS[watch.id].priority == 0
                standing.first_out = self._comes_first(watch, standing)
                standing.latched = finding.reaction.latch
                steps.append(Step(watch.id, "raised", standing))
        elif standing.stands and not standing.bits:
            standing.stands = False
            steps.append(Step(watch.id, "returned", standing))

    def _comes_first(self, watch: Watch, standing: Standing) -> bool:
        """Nothing as strong stands already: this one is no follower."""
        if TEXTS[watch.id].priority == 0:
            return False
        then = standing.reaction.then
        return not any(
            other is not standing and other.active and other.reaction.then >= then and TEXTS[name].priority
            for name, other in self.standing.items()
        )

    def _tidy(self) -> None:
        for watch in [w for w, s in self.standing.items() if not s.bits and not s.shown]:
            del self.standing[watch]
        self.reaction = join(s.reaction for s in self.standing.values() if s.active)
