"""The working table of one cycle: what decide, orders and progress share, and the one way to change state."""

from collections.abc import Mapping, Sequence
from typing import Any

from hardware.ports import Level, Sample
from supervisor.alarms.lifecycle import Alarms
from supervisor.alarms.standing import Step
from supervisor.alarms.texts import TEXTS
from supervisor.firing.firing import Firing, Run
from supervisor.firing.permissives import Facts
from supervisor.firing.presses import Asked
from supervisor.firing.states import LIVE, Event, State, next_state
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.records import AlarmRow, EventRow, FiringClosed, Record
from supervisor.watches import DOUBTS_THE_SENSOR
from supervisor.watches.finding import Reaction, Then
from supervisor.watches.view import Belief, Log

_OVER = {State.STOPPED, State.COMPLETE, State.ABORTED}


class Turn:
    """One cycle. Made by the cycle, thrown away with it."""

    __slots__ = (
        "alarms",
        "answered",
        "backend",
        "belief",
        "events_that_heat",
        "firing",
        "furnace",
        "log",
        "next_firing_id",
        "now_s",
        "records",
        "sample",
        "second",
    )

    def __init__(
        self,
        firing: Firing,
        alarms: Alarms,
        furnace: FurnaceDescription,
        sample: Sample,
        belief: Belief,
        log: Log,
        *,
        now_s: float,
        second: bool,
        backend: str,
        next_firing_id: int,
    ) -> None:
        self.firing, self.alarms, self.furnace = firing, alarms, furnace
        self.sample, self.belief, self.log = sample, belief, log
        self.now_s, self.second, self.backend, self.next_firing_id = now_s, second, backend, next_firing_id
        self.records: list[Record] = []
        self.answered: Asked | None = None
        self.events_that_heat = False  # something that adds heat must be on disk before heat

    @property
    def reaction(self) -> Reaction:
        """What all standing alarms ask together."""
        return self.alarms.reaction

    @property
    def duty_ceiling(self) -> float:
        """The most heat: by all standing alarms, by the energy allowance, and by all that this hold was begun for."""
        held, run = self.firing.held, self.firing.run
        ceiling = 0.0 if self.firing.proofs.proving else self.reaction.duty_ceiling
        if run is not None and run.energy_wh > run.allowed_wh:
            ceiling = min(ceiling, run.beyond_duty)
        return min(ceiling, *(reason.duty_ceiling for reason in held.values())) if held else ceiling

    @property
    def facts(self) -> Facts:
        """What the permissives are judged on."""
        return Facts(
            self.sample.inputs,
            self.belief,
            self.firing,
            self.furnace,
            self.log,
            self.alarms.latched,
        )

    @property
    def lid_open(self) -> bool:
        """The lid switch reads open."""
        return self.sample.inputs.lid is Level.OPEN

    def adds_nothing(self) -> bool:
        """A finding of hold or above: nothing that adds heat is taken in this cycle."""
        return self.reaction.then >= Then.HOLD

    def t_ms(self, run: Run | None = None) -> int:
        """Process time of this cycle: since the firing's start, or of the process without one."""
        run = run or self.firing.run
        return round((self.now_s - (run.began_s if run is not None else 0.0)) * 1000)

    def event(self, kind: str, detail: Mapping[str, Any], who: str = "supervisor", where: str = "supervisor") -> None:
        """Something to be remembered at once. What is done after a firing's end is still of that firing."""
        run = self.firing.run
        at = self.t_ms(run) if run is not None else round(self.now_s * 1000)
        self.records.append(EventRow(None if run is None else run.firing_id, at, kind, who, where, detail))

    def seen(self, steps: Sequence[Step], who: str = "supervisor") -> None:
        """Steps in the life of alarms, to be remembered. A doubt on the sensor calls for a new cold check."""
        run = self.open_run
        for step in steps:
            standing, text = step.standing, TEXTS[step.watch]
            if step.step in ("shelved", "unshelved"):
                self._shelf(step, who)
                continue
            if text.priority == 0:
                self.event("finding", {"watch": step.watch, "step": step.step, "evidence": standing.evidence})
                continue
            self.firing.change()
            if step.step == "raised" and step.watch in DOUBTS_THE_SENSOR:
                self.firing.cold_checked = False
            self.records.append(
                AlarmRow(
                    None if run is None else run.firing_id,
                    self.t_ms(run) if run is not None else round(self.now_s * 1000),
                    f"{step.watch}/{standing.number}",
                    step.watch,
                    step.step,
                    text.priority,
                    standing.evidence,
                    standing.first_out,
                    who,
                    standing.folded,
                )
            )

    def _shelf(self, step: Step, who: str) -> None:
        shelf = self.alarms.shelves.get(step.watch)
        detail: dict[str, Any] = {"watch": step.watch, "step": step.step}
        if shelf is not None:
            detail |= {"for_min": round((shelf.until_s - self.now_s) / 60.0, 1), "reason": shelf.reason}
        self.firing.change()
        self.event("shelf", detail, who)

    @property
    def open_run(self) -> Run | None:
        """The firing in progress, as long as its record is open."""
        run = self.firing.run
        return run if run is not None and not run.closed else None

    def go(self, event: Event, why: str, who: str = "supervisor", where: str = "supervisor") -> None:
        """Change state by the table, and by nothing else."""
        firing, old = self.firing, self.firing.state
        new = next_state(old, event)
        if new is old and event not in (Event.PREPARE, Event.RESET):
            return
        firing.state, firing.entered_s = new, self.now_s
        firing.change()
        if new is State.RUNNING:
            self.events_that_heat = True
        if event is Event.GIVE_UP and firing.run is not None:
            firing.run.gave_up = why
        if new not in LIVE:
            firing.test = None
            firing.button.withdraw()
            firing.raising = None
        if new is State.ABORTING:
            firing.found = None  # whatever was found, it was not this
        if new not in (State.HELD, State.HOLDING):
            firing.held.clear()
            firing.hold_setpoint_c, firing.asked_to_go_on = None, False
        self.event("state", {"from": old.value, "to": new.value, "by": event.value, "why": why}, who, where)
        if new in _OVER:
            firing.prepared = None
            self._close()

    def _close(self) -> None:
        run, firing = self.open_run, self.firing
        if run is None:
            return
        run.closed = True
        run.ended_as = firing.state.value
        self.seen(self.alarms.unshelve(self.now_s))  # nothing stays on the shelf beyond its firing
        firing.setpoint_c, firing.duty = None, 0.0
        self.records.append(
            FiringClosed(run.firing_id, self.t_ms(run), firing.state.value, run.first_cause, results(run, self.alarms))
        )


def results(run: Run, alarms: Alarms) -> dict[str, Any]:
    """What a firing came to, for its closing record."""
    load = alarms.load(run.began_s)
    return {
        "peak_c": round(max(run.peak_c, run.began_c), 2),
        "overshoot_c": round(run.overshoot_c, 2),
        "energy_wh": round(run.energy_wh, 1),
        "ordered_wh": round(run.ordered_wh, 1),
        "metered_wh": round(run.metered_wh, 1),
        "allowance_wh": round(run.allowed_wh, 1),
        "seconds_above_660": round(run.above_660_s),
        "lid_openings": run.lid_openings,
        "poured": run.poured,
        "may_have_been_liquid": run.gate.may_be_liquid,
        "alarms": load.told,
        "alarms_in_10_min": load.peak_in_10_min,
        "alarms_that_followed": load.followed,
        "relay_operations": run.relay_operations,
        "contactor_operations": run.contactor_operations,
        **({"dried": [list(each) for each in run.drying.holds]} if run.drying.holds else {}),
    }
