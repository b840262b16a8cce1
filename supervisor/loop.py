"""The daemon's loop: sample, cycle, apply, hand over, for ever. It waits for the furnace's clock and for nothing else.

The cycle decides; the loop carries. It alone touches the hardware, and whatever goes wrong in it ends with all off.
"""

import contextlib
import os
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any, Protocol

from hardware.clock import monotonic_s, utc_ms
from hardware.ports import CYCLE_S, FurnaceHardware
from supervisor.cycle import Memory, cycle
from supervisor.firing.aftermath import clock_found
from supervisor.firing.commands import By, Command, Stop
from supervisor.firing.states import LIVE, State
from supervisor.learner import Learner
from supervisor.link.client import headline
from supervisor.link.server import LinkServer
from supervisor.link.snapshot import snapshot
from supervisor.logbook.records import MAY_WAIT, EventRow, FiringOpened, Record
from supervisor.notify import Notifier

PUBLISHED_EVERY_S = 0.9
"""Real seconds between two snapshots without a change; a turn takes a quarter, so it is one a second."""
ENDS_WITHIN_S = 5.0
"""So long the loop turns on after its end was asked for, for the contactor to be proved open; then off all the same."""

CLOCK_JUMPS_S = 1.0

COLD_BELOW_C, COLD_FOR_S = 60.0, 60.0
"""So cold, and so long, a furnace at rest is before the tables of its log are renewed after an update."""

_AT_REST = {State.STOPPED, State.IDLE, State.COMPLETE, State.ABORTED}


class LoopFault(RuntimeError):
    """Something that the loop cannot do without has ended."""


class Keeper(Protocol):
    """What the loop asks of the scribe."""

    @property
    def committed(self) -> int:
        """The highest ticket of which every event is on disk."""
        ...

    @property
    def trouble(self) -> str | None:
        """What keeps the log from being written."""
        ...

    @property
    def free_mb(self) -> float | None:
        """Room on disk."""
        ...

    def put(self, records: Sequence[Record]) -> int:
        """Take records; the ticket says when they are on disk."""
        ...

    def clock(self, monotonic_s: float, utc_ms: int, quality: str) -> None:
        """Compare the clocks."""
        ...


class Loop:
    """One supervisor at work. One thread uses it: the one that made it."""

    def __init__(
        self,
        hardware: FurnaceHardware,
        memory: Memory,
        scribe: Keeper,
        link: LinkServer,
        notifier: Notifier,
        *,
        labels: Mapping[str, Any],
        after_reset: Callable[[int], Sequence[Record]] | None = None,
        learner: Learner | None = None,
        latest_utc_ms: int = 0,
        now_s: Callable[[], float] = monotonic_s,
        now_utc_ms: Callable[[], int] = utc_ms,
    ) -> None:
        """Put the parts together.

        labels: what every snapshot also says: boot and version. after_reset: what is to be written, given t_ms, once
        what an earlier run left was reset at the furnace. learner: has the furnace learned anew after a firing.
        latest_utc_ms: the latest date that the log ever had; none counts from before it.
        """
        self._hardware, self._memory, self._scribe, self._link, self._notifier = (
            hardware,
            memory,
            scribe,
            link,
            notifier,
        )
        self._labels, self._after_reset, self._learner = labels, after_reset, learner
        self._now_s, self._now_utc_ms, self._latest_utc_ms = now_s, now_utc_ms, latest_utc_ms
        self._sampled_s = memory.belief.monotonic_s
        self._unwritten: deque[tuple[int, float]] = deque()  # ticket and real time of events not known to be on disk
        self._shown: dict[str, Any] = {}
        self._shown_at_s = float("-inf")
        self._clock_at_s = float("-inf")
        self._ready = False
        self._utc_offset_s: float | None = None  # UTC less the furnace's clock, as of the last look
        self._sound_at_s = now_s()  # when the disk was last in no trouble
        self._started_utc_ms: int | None = None  # of the firing in progress or the last one
        self._warm_s = self._sampled_s  # when the furnace was last not known to be cold and at rest

    @property
    def may_renew_the_log(self) -> bool:
        """Whether the log is of an older layout, and the furnace has been cold and at rest for a minute."""
        return self._memory.log.older and self._sampled_s - self._warm_s >= COLD_FOR_S

    def run(self, ending: Callable[[], bool]) -> None:
        """Turn until the end is asked for and the furnace is at rest, then switch everything off.

        Raises:
            LoopFault, OutputFault, and whatever else goes wrong: everything is off by then, and the log says why.
        """
        end_at_s: float | None = None
        try:
            while end_at_s is None or not (self._at_rest() or self._now_s() >= end_at_s):
                if end_at_s is None and ending():
                    end_at_s = self._now_s() + ENDS_WITHIN_S
                    self._notifier.stopping()
                self._turn(stop=end_at_s is not None)
        except BaseException as error:
            self._end_badly(error)
            raise
        self._hardware.close()

    def _turn(self, *, stop: bool) -> None:
        sample = self._hardware.sample()
        tickets = self._link.take()
        commands: list[Command] = [ticket.command for ticket in tickets]
        if stop and self._memory.firing.state in LIVE:
            commands.append(Stop(By("end", "the system", "signal")))
        elapsed_s, self._sampled_s = sample.monotonic_s - self._sampled_s, sample.monotonic_s
        memory = self._memory.with_log(self._behind_s(), self._scribe.trouble)
        self._look_at_the_disk(memory)
        self._count_readers(sample.monotonic_s)
        self._tell_reach_the_time(trusted=sample.board.clock_trusted)
        step = cycle(memory, sample, commands, elapsed_s if elapsed_s > 0 else CYCLE_S)
        self._hardware.apply(step.outputs)
        self._memory = step.memory
        self._feel(sample.monotonic_s)
        self._put(step.records)
        if self._learner is not None:
            self._learner.see(step.records)
        for ticket, answer in zip(tickets, step.answers[: len(tickets)], strict=True):  # the signal's own stop is last
            self._link.answer(ticket, answer, step.memory.epoch)
        self._after(sample.monotonic_s, trusted=sample.board.clock_trusted)
        self._notifier.alive()

    def _look_at_the_disk(self, memory: Memory) -> None:
        """How long it has been in trouble, and how much room there is."""
        log = memory.log
        if log.trouble is None:
            self._sound_at_s = self._now_s()
        log.trouble_for_s, log.free_mb = self._now_s() - self._sound_at_s, self._scribe.free_mb

    def _feel(self, now_s: float) -> None:
        """Since when the furnace is cold and at rest, with nothing left to be reset."""
        memory = self._memory
        reading = memory.belief.reading
        settled = self._at_rest() and memory.firing.left_open is None and not memory.alarms.latched
        if not (settled and reading is not None and reading.hot_junction_c < COLD_BELOW_C):
            self._warm_s = now_s

    def _count_readers(self, now_s: float) -> None:
        """How many pages follow the furnace, and since when none does: counted on the furnace's own clock."""
        firing, readers = self._memory.firing, self._link.readers
        if readers:
            firing.readers_gone_s = None
        elif firing.readers:
            firing.readers_gone_s = now_s
        firing.readers = readers

    def _tell_reach_the_time(self, *, trusted: bool | None) -> None:
        """How old a proof is and how long the messenger was silent are of this machine's clocks, at any pace."""
        reach = self._memory.firing.reach
        reach.real_s = self._now_s()
        known = trusted or self._memory.backend == "simulated"
        reach.utc_ms = max(self._now_utc_ms(), self._latest_utc_ms) if known else None
        self._memory.firing.unlocking.today_ms = reach.utc_ms or self._latest_utc_ms  # no day counts from before it
        self._memory.firing.unlocking.local_minute = None if reach.utc_ms is None else _local_minute(reach.utc_ms)
        if reach.utc_ms is not None and self._memory.firing.aftermath is not None:
            clock_found(self._memory.firing, self._sampled_s, self._now_utc_ms())

    def _after(self, sampled_s: float, *, trusted: bool | None) -> None:
        """What is done when the furnace has been told: show, compare clocks, look after the helpers."""
        now_s, memory = self._now_s(), self._memory
        if memory.epoch != self._shown.get("epoch") or now_s - self._shown_at_s >= PUBLISHED_EVERY_S:
            self._shown_at_s = now_s
            self._shown = self._snapshot()
            self._link.publish(self._shown)
            self._notifier.status(headline(self._shown))
        if not self._ready:  # the first turn is over: the outputs were written off and read back
            self._link.start()
            self._notifier.ready()
            self._ready = True
        if now_s - self._clock_at_s >= 1.0 and (memory.backend != "simulated" or self._clock_at_s < 0):
            quality = "simulated" if memory.backend == "simulated" else "network" if trusted else "unset"
            self._clock_at_s = now_s
            self._see_the_clock(sampled_s)
            self._scribe.clock(sampled_s, self._now_utc_ms(), quality)
        if self._after_reset is not None and memory.firing.left_open is None:
            self._put(self._after_reset(round(sampled_s * 1000)))
            self._after_reset = None
        if self._learner is not None:
            self._put(self._learner.look(live=memory.firing.state in LIVE, t_ms=round(sampled_s * 1000)))
        if not self._link.alive:
            raise LoopFault("The link has ended: no stop would come through.")

    def _see_the_clock(self, sampled_s: float) -> None:
        """A clock that is set, or jumps, goes into the log. It changes no duration: those are counted without it."""
        offset_s = self._now_utc_ms() / 1000.0 - sampled_s
        before_s, self._utc_offset_s = self._utc_offset_s, offset_s
        if before_s is None or abs(offset_s - before_s) <= CLOCK_JUMPS_S:
            return
        run = self._memory.firing.run
        is_open = run is not None and not run.closed
        t_ms = round((sampled_s - (run.began_s if run is not None and is_open else 0.0)) * 1000)
        detail = {"by_s": round(offset_s - before_s, 1), "durations": "unaffected"}
        firing_id = run.firing_id if run is not None and is_open else None
        self._put([EventRow(firing_id, t_ms, "clock jumped", "supervisor", "loop", detail)])

    def _snapshot(self) -> dict[str, Any]:
        """The cycle's snapshot with what only this process knows."""
        shown = {**snapshot(self._memory), "utc_ms": self._now_utc_ms(), **self._labels}
        if shown["firing"] is not None:
            shown["firing"] = {**shown["firing"], "started_utc_ms": self._started_utc_ms}
        return shown

    def _put(self, records: Sequence[Record]) -> None:
        ticket = self._scribe.put(records)
        if any(isinstance(record, FiringOpened) for record in records):
            self._started_utc_ms = self._now_utc_ms()
        if any(not isinstance(record, MAY_WAIT) for record in records):
            self._unwritten.append((ticket, self._now_s()))

    def _behind_s(self) -> float:
        """Real seconds since the oldest event that is not on disk; 0 when all are."""
        committed = self._scribe.committed
        while self._unwritten and self._unwritten[0][0] <= committed:
            self._unwritten.popleft()
        return max(1e-3, self._now_s() - self._unwritten[0][1]) if self._unwritten else 0.0

    def _at_rest(self) -> bool:
        return self._memory.firing.state in _AT_REST

    def _end_badly(self, error: BaseException) -> None:
        """Off first; then the log, for whoever asks why."""
        with contextlib.suppress(Exception):  # not proved, or not let go: the permit's circuit is on its own now
            self._hardware.close()
        run = self._memory.firing.run
        is_open = run is not None and not run.closed
        began_s = run.began_s if run is not None and is_open else 0.0
        what = f"{type(error).__name__}: {error}"
        detail = {"from": self._memory.firing.state.value, "to": State.ABORTING.value, "why": what}
        t_ms = max(0, round((self._sampled_s - began_s) * 1000))
        self._scribe.put(
            [EventRow(run.firing_id if run and is_open else None, t_ms, "exception", "supervisor", "loop", detail)]
        )
        self._notifier.status(f"Heat off: {what}")


def _local_minute(utc_ms: int) -> int:
    """Minute of the day where this machine stands."""
    local = datetime.fromtimestamp(utc_ms / 1000, UTC).astimezone()
    return 60 * local.hour + local.minute


def take_precedence() -> None:
    """Put this thread, and no other, ahead of everything that is not real-time; where that is not permitted, nothing.

    Measured: the worst delay of a 250 ms beat beside 200 requests a second fell from 15 ms to 0.1 ms.
    """
    with contextlib.suppress(OSError):
        os.sched_setscheduler(0, os.SCHED_FIFO | os.SCHED_RESET_ON_FORK, os.sched_param(20))
