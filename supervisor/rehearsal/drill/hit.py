"""One fault in one firing: put in, watched, measured. Times are read from pins and contacts."""

from typing import NamedTuple

from supervisor.firing.states import HEATED
from supervisor.rehearsal.drill.cases import TARGETS, Case, Target
from supervisor.rehearsal.drill.people import THEN
from supervisor.rehearsal.drill.trial import Said, Trial
from supervisor.watches.finding import NOTHING, Reaction
from supervisor.watches.row import Moment

LOW_DUTY = 0.7
WATCHED_ON_S = 600.0
"""So long after the first word it is counted how many alarms there are."""
UNNOTICEABLE_S = 1800.0
"""So long a fault is watched that no watch can be counted on to notice."""
SHOWS_S = 1.0
"""A meter's pulse may be three quarters of a second late."""
NEVER_LOW_S = 2 * 3600.0
LINES = ("relay", "contactor")


class Hit(NamedTuple):
    """What became of it. Seconds count from the fault unless said; None: never while it was watched.

    counted_s: when the row's own clock began (low duty, first heat); None: it never did, and nothing was missed.
    noticed_s: on that clock, the first finding that asks at least what the row asks. rise_k: of the reading, from then
    to the finding. off_s: the line went low or open for good. Hot face and hottest metal are the plant's truth.
    """

    label: str
    when: Moment
    furnace_seed: int
    seed: int
    minute: float
    reading_c: float | None
    duty: float
    counted_s: float | None
    first: str | None
    first_s: float | None
    evidence: str
    right: bool  # the first to speak is one that this fault should wake
    noticed_s: float | None
    limit_s: float | None  # None: nobody was to be counted on
    rise_k: float | None
    off_s: dict[str, float | None]
    told_off_s: float | None  # the relay was first told off, for over a second: in less nothing can show
    hot_face_over_k: float
    metal_over_k: float | None
    metal_was_over_k: float | None  # when the fault was put in
    alarms: tuple[str, ...]  # in the ten minutes after the first, those that people find under another left out
    followed: tuple[str, ...]  # these

    @property
    def missed(self) -> bool:
        """It was to be noticed, and was not in time."""
        if self.limit_s is None or self.counted_s is None:
            return False
        return self.noticed_s is None or self.noticed_s > self.limit_s


def hit(trial: Trial, case: Case, furnace_seed: int, limit_s: float | None) -> Hit:
    """Put the fault in now and watch what comes of it. The trial is used up."""
    return _Watched(trial, TARGETS[case.label], limit_s).run(case, furnace_seed)


class _Watched:
    def __init__(self, trial: Trial, target: Target, limit_s: float | None) -> None:
        self.trial, self.row, self.injected, self.limit_s = trial, target.row, target.injected, limit_s
        self.since_s, self.heard = trial.time_s, len(trial.alarms)
        self.reading_c, self.duty = trial.memory.belief.last_c, trial.memory.firing.duty
        self.counted_s: float | None = None
        self.counted_c: float | None = None
        self.noticed_s: float | None = None
        self.rise_k: float | None = None
        metal = trial.furnace.state
        self.metal_was_over_k = metal.metal_hottest_c - trial.target_c if metal.metal_kg > 0.0 else None
        self.told_off_s: float | None = None
        self.off_since_s: float | None = None

    def run(self, case: Case, furnace_seed: int) -> Hit:
        trial = self.trial
        trial.seen.hot_face_c = trial.seen.metal_c = 0.0
        if self.injected.name:
            trial.furnace.inject(self.injected.name, self.injected.value)
        if self.injected.then:
            trial.now_do(THEN[self.injected.then])
        self._watch()
        first = next((s for s in self._new() if s.priority or s.watch in self.row.watches), None)
        until_s = (trial.time_s if first is None else max(first.time_s, self.since_s)) + WATCHED_ON_S
        while trial.time_s < until_s:
            trial.turn()
            self._look()
        return self._hit(case, furnace_seed, first, until_s)

    def _new(self) -> list[Said]:
        return list(self.trial.alarms[self.heard :])

    def _watch(self) -> None:
        """Until it is noticed, or too late for that."""
        trial = self.trial
        longest_s = UNNOTICEABLE_S if self.limit_s is None else self.limit_s
        while self.noticed_s is None:
            self._count()
            if self.counted_s is None:
                if trial.time_s - self.since_s > NEVER_LOW_S or trial.over:
                    return
            elif trial.time_s - self.since_s - self.counted_s > longest_s:
                return
            trial.turn()
            self._look()

    def _count(self) -> None:
        if self.counted_s is not None:
            return
        firing = self.trial.memory.firing
        begins = {
            "fault": True,
            "low duty": firing.duty < LOW_DUTY,
            "first heat": firing.duty > 0.0,
        }[self.row.counted]
        if begins:
            self.counted_s = self.trial.time_s - self.since_s
            self.counted_c = self.trial.memory.belief.last_c

    def _look(self) -> None:
        """Has anything begun to ask enough? A finding may also ask for more the longer it stands."""
        trial = self.trial
        if trial.furnace.outputs["relay"]:
            self.off_since_s = None
        elif self.off_since_s is None:
            self.off_since_s = trial.time_s - self.since_s
        elif self.told_off_s is None and trial.time_s - self.since_s - self.off_since_s > SHOWS_S:
            self.told_off_s = self.off_since_s
        if self.noticed_s is not None:
            return
        standing = trial.memory.alarms.standing
        for said in trial.alarms[self.heard :]:
            if not said.priority and said.watch not in self.row.watches:
                continue
            now = standing.get(said.watch)
            reaction = said.reaction if now is None or not now.active else said.reaction | now.reaction
            if asks_enough(reaction, self.row.reaction):
                self._notice()
                return

    def _notice(self) -> None:
        trial = self.trial
        if self.counted_s is None:  # before the row's own clock began: at once, then
            self.counted_s = trial.time_s - self.since_s
            self.counted_c = trial.memory.belief.last_c
        self.noticed_s = trial.time_s - self.since_s - self.counted_s
        now_c = trial.memory.belief.last_c
        if now_c is not None and self.counted_c is not None:
            self.rise_k = now_c - self.counted_c

    @property
    def _heat_ended(self) -> bool:
        """Only then does it mean something when relay and contactor were last on."""
        return self.noticed_s is not None or self.trial.state not in HEATED

    def _hit(self, case: Case, furnace_seed: int, first: Said | None, until_s: float) -> Hit:
        trial, since_s = self.trial, self.since_s
        raised = [said for said in self._new() if said.priority and said.time_s <= until_s]
        metal_c = trial.seen.metal_c
        return Hit(
            case.label,
            case.when,
            furnace_seed,
            trial.setting.seed,
            round(since_s / 60.0, 2),
            self.reading_c,
            round(self.duty, 3),
            self.counted_s,
            None if first is None else first.watch,
            None if first is None else first.time_s - since_s,
            "" if first is None else first.evidence,
            first is not None and first.watch in self.row.watches,
            self.noticed_s,
            self.limit_s,
            self.rise_k,
            {line: trial.off_for_good_s(line, since_s) for line in LINES} if self._heat_ended else {},
            self.told_off_s,
            trial.seen.hot_face_c - trial.target_c,
            metal_c - trial.target_c if metal_c else None,
            self.metal_was_over_k,
            tuple(said.watch for said in raised if not said.folded),
            tuple(said.watch for said in raised if said.folded),
        )


def asks_enough(found: Reaction, wanted: Reaction) -> bool:
    """Whether a finding asks at least as much: what the firing does next, heat, contactor."""
    if wanted == NOTHING:
        return True
    return (
        found.then >= wanted.then
        and found.duty_ceiling <= wanted.duty_ceiling
        and found.drop_contactor >= wanted.drop_contactor
    )
