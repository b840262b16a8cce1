"""The life of an alarm: raised, acknowledged, returned, latched, reset, shelved. Words after ISA-18.2 (IEC 62682).

N of M, latches, first-out and shelves live here, so that watches keep nothing. Two things are kept apart throughout:
what a finding asks of the firing, which no person can take back, and what a person is told of it, which can be seen,
silenced and put aside. Acknowledging resets nothing; a latched alarm stands until its reset at the furnace.
"""

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from supervisor.alarms import chatter, load
from supervisor.alarms.chatter import Chatter
from supervisor.alarms.shelf import Shelf
from supervisor.alarms.standing import AlarmState, Call, Standing, Step
from supervisor.alarms.texts import TEXTS
from supervisor.alarms.upset import Upsets
from supervisor.watches import Watch
from supervisor.watches.finding import NOTHING, Finding, Reaction, Then, join

SOUNDS_FOR_S = 120.0
"""A trip sounds at the furnace for so long whoever has acknowledged it: somebody may stand there and see no page."""

SILENT_FOR_S = 120.0
"""A silence ends by itself after so long; what comes meanwhile sounds."""


@dataclass(slots=True)
class Alarms:
    """Every watch that has anything to say. Watches that were never heard are not here."""

    standing: dict[str, Standing] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)  # how often each was raised
    reaction: Reaction = NOTHING
    shelves: dict[str, Shelf] = field(default_factory=dict)
    silenced_s: float | None = None  # when somebody last silenced what sounded
    _upsets: Upsets = field(default_factory=lambda: Upsets({}))
    _chatter: Chatter = field(default_factory=Chatter)
    _told_s: deque[float] = field(default_factory=lambda: deque(maxlen=load.KEPT))
    _followed_s: deque[float] = field(default_factory=lambda: deque(maxlen=load.KEPT))

    # --- what the watches say ---------------------------------------------------------------------------------------

    def take(self, asked: Sequence[Watch], findings: Sequence[Finding], now_s: float) -> list[Step]:
        """Take what the asked watches found in this turn; the steps that follow."""
        if not findings and not self.standing and not self.shelves:
            return []
        steps = self._shelves_end(now_s) if self.shelves else []
        spoke = {finding.watch: finding for finding in findings}
        for watch in _in_turn(asked, spoke):
            finding, standing = spoke.get(watch.id), self.standing.get(watch.id)
            if finding is None and standing is None:
                continue
            if standing is None:
                standing = self.standing[watch.id] = Standing()
            self._one(watch, standing, finding, now_s, steps)
        self._mind_chatter(now_s, steps)
        self._tidy()
        return steps

    def forget_unasked(self, asked: Sequence[Watch], now_s: float) -> list[Step]:
        """The state changed: watches that are not asked there any more have no condition."""
        ids = {watch.id for watch in asked}
        steps: list[Step] = []
        for name, standing in self.standing.items():
            if name not in ids and name != chatter.WATCH and (standing.stands or standing.bits):
                standing.bits = 0
                if standing.stands:
                    _returned(name, standing, steps)
        self._tidy()
        return steps

    def _one(self, watch: Watch, standing: Standing, finding: Finding | None, now_s: float, steps: list[Step]) -> None:
        needed, of = watch.needs
        chatters = watch.id in self._chatter
        kept = of * chatter.LONGER if chatters else of
        standing.bits = (standing.bits << 1 | (finding is not None)) & ((1 << kept) - 1)
        recent = standing.bits & ((1 << of) - 1)
        if finding is not None:
            if not standing.stands and recent.bit_count() >= needed:
                standing.stands, standing.told = True, standing.latched
                if TEXTS[watch.id].priority:
                    chatters = self._chatter.came(watch.id, now_s)
            if standing.stands:
                standing.reaction = finding.reaction
        elif standing.stands and not recent:
            _returned(watch.id, standing, steps)
        lasts = not chatters or standing.bits.bit_count() >= needed * chatter.LONGER
        lasts |= standing.reaction.then >= Then.STOP  # what ends a firing is told at once: untold it would not latch
        if standing.stands and not standing.told and finding is not None and lasts:
            self._raise(watch.id, standing, finding.evidence, now_s, steps)

    def _raise(self, watch: str, standing: Standing, evidence: str, now_s: float, steps: list[Step]) -> None:
        """Tell people, each time under a new number."""
        standing.told, standing.since_s, standing.heard_s = True, now_s, now_s
        standing.number = self.counts[watch] = self.counts.get(watch, 0) + 1
        standing.evidence, standing.at_furnace = evidence, False
        standing.latched = standing.reaction.latch
        standing.acknowledged = TEXTS[watch].priority == 0
        if TEXTS[watch].priority:
            leader = self.standing.get(self._upsets.leader(watch) or "")
            standing.first_out, standing.follows, standing.folded = self._upsets.place(
                watch,
                f"{watch}/{standing.number}",
                standing.reaction,
                now_s,
                leader_stands=leader is not None and leader.stands,
            )
            if watch not in self.shelves:
                (self._followed_s if standing.folded else self._told_s).append(now_s)
        steps.append(Step(watch, "raised", standing))

    def _mind_chatter(self, now_s: float, steps: list[Step]) -> None:
        """One advice for all that chatter: mend what makes them come and go."""
        advice = self.standing.get(chatter.WATCH)
        if self._chatter.until_s:
            self._chatter.calm(now_s)
        if self._chatter.until_s and (advice is None or not advice.stands):
            advice = self.standing[chatter.WATCH] = advice or Standing()
            advice.stands = True
            title = TEXTS[next(iter(self._chatter.until_s))].title
            evidence = f"'{title}' spoke {chatter.RETURNS + 2} times within a minute"
            self._raise(chatter.WATCH, advice, evidence, now_s, steps)
        elif not self._chatter.until_s and advice is not None and advice.stands:
            _returned(chatter.WATCH, advice, steps)

    # --- what people do ---------------------------------------------------------------------------------------------

    def acknowledge(self, name: str | None, *, at_furnace: bool = False) -> list[Step]:
        """Seen: one alarm, or all. The names are `watch` or `watch/number`. at_furnace: by a press there."""
        steps = []
        for watch, standing in self.standing.items():
            if not standing.shown or name not in (None, watch, f"{watch}/{standing.number}"):
                continue
            standing.at_furnace = standing.at_furnace or at_furnace
            if not standing.acknowledged:
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
            standing.acknowledged = standing.at_furnace = True
        self._tidy()
        if not self.latched:
            self._upsets.last.clear()  # what comes next is of another upset
        return steps

    def silence(self, now_s: float) -> None:
        """Quiet for two minutes, for what sounds now alone. It is no acknowledgement."""
        self.silenced_s = now_s

    def shelve(self, watch: str, shelf: Shelf) -> list[Step]:
        """Put an alarm aside: no sound, no flashing, off the list. Whether it may be is asked before (`shelf`)."""
        self.shelves[watch] = shelf
        return [Step(watch, "shelved", self.standing.get(watch) or Standing())]

    def unshelve(self, now_s: float, watch: str | None = None) -> list[Step]:
        """Take one alarm, or all, from the shelf: what still stands is told anew."""
        steps = []
        for name in [name for name in self.shelves if watch in (None, name)]:
            del self.shelves[name]
            standing = self.standing.get(name)
            if standing is not None and standing.stands:
                standing.acknowledged, standing.heard_s = False, now_s
            steps.append(Step(name, "unshelved", standing or Standing()))
        return steps

    def _shelves_end(self, now_s: float) -> list[Step]:
        over = [name for name, shelf in self.shelves.items() if now_s >= shelf.until_s]
        return [step for name in over for step in self.unshelve(now_s, name)]

    # --- what follows for others ------------------------------------------------------------------------------------

    def state_of(self, watch: str, *, asked: bool = True) -> AlarmState:
        """Where this watch's alarm is in its life. asked: it is asked in this state of the firing."""
        standing = self.standing.get(watch)
        if watch in self.shelves:
            return AlarmState.SHELVED
        if standing is not None and standing.shown and standing.number:
            return standing.state
        return AlarmState.NORMAL if asked else AlarmState.SUPPRESSED

    def speaking(self, then: Then) -> list[str]:
        """The watches that ask for this, the one that spoke first in front."""
        asking = [
            (s.since_s, not s.first_out, watch)
            for watch, s in self.standing.items()
            if s.active and s.reaction.then is then
        ]
        return [watch for *_, watch in sorted(asking)]

    @property
    def latched(self) -> bool:
        """A trip waits for its reset."""
        return any(standing.latched for standing in self.standing.values())

    def silent_for_s(self, now_s: float) -> float:
        """Seconds of silence that are left; 0: none was asked for, or it is over."""
        return 0.0 if self.silenced_s is None else max(0.0, self.silenced_s + SILENT_FOR_S - now_s)

    def sounding(self, now_s: float, *, at_furnace: bool = True) -> Call | None:
        """The most urgent alarm that sounds now; at_furnace: by the furnace's own sounder, which a page cannot quiet.

        A trip goes on sounding there for two minutes, or until somebody presses there.
        """
        if not self.standing:
            return None  # each cycle of every quiet evening
        silent_s = self.silenced_s if self.silent_for_s(now_s) > 0.0 else None
        calls = []
        for watch, s in self._in_sight():
            quiet = s.acknowledged or (silent_s is not None and s.heard_s <= silent_s)
            new_trip = at_furnace and s.latched and not s.at_furnace and now_s - s.since_s < SOUNDS_FOR_S
            if s.shown and (new_trip or not quiet):
                calls.append(_call(watch, s))
        return min(calls, default=None)

    def flashing(self, now_s: float) -> Call | None:
        """What the lamp shows: what sounds, or the most urgent one that nobody has acknowledged."""
        if not self.standing:
            return None
        unseen = [_call(watch, s) for watch, s in self._in_sight() if s.shown and not s.acknowledged]
        sounds = self.sounding(now_s)
        return min([*unseen, sounds] if sounds is not None else unseen, default=None)

    def load(self, since_s: float) -> load.Load:
        """How many alarms people were told since then, shelved ones and followers left out."""
        return load.load(self._told_s, self._followed_s, since_s)

    def chatters(self, watch: str) -> bool:
        """It comes and goes: it is told only when it lasts."""
        return watch in self._chatter

    def _in_sight(self) -> list[tuple[str, Standing]]:
        return [
            (watch, s)
            for watch, s in self.standing.items()
            if s.number and not s.folded and watch not in self.shelves and TEXTS[watch].priority
        ]

    def _tidy(self) -> None:
        for watch in [w for w, s in self.standing.items() if not s.bits and not s.shown]:
            del self.standing[watch]
        self.reaction = join(s.reaction for s in self.standing.values() if s.active)


def _call(watch: str, standing: Standing) -> Call:
    """What is gone again and was not seen calls as one of low priority."""
    return Call(TEXTS[watch].priority if standing.active else 3, standing.heard_s)


def _returned(watch: str, standing: Standing, steps: list[Step]) -> None:
    standing.stands = False
    if standing.told:
        steps.append(Step(watch, "returned", standing))
    standing.told = False


def _in_turn(asked: Sequence[Watch], spoke: Mapping[str, Finding]) -> Sequence[Watch]:
    """Of those that come at once the strongest leads, then the name decides: the table of watches has no order."""
    if len(spoke) < 2:
        return asked

    def rank(watch: Watch) -> tuple[object, ...]:
        finding = spoke.get(watch.id)
        if finding is None:
            return True, 0, 0, watch.id
        return False, -finding.reaction.then, TEXTS[watch.id].priority, watch.id

    return sorted(asked, key=rank)
