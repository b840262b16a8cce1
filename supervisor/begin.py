"""How a supervisor begins on a log: stopped, and with everything that the runs before it have left."""

from typing import NamedTuple

from hardware.ports import Sample
from supervisor.cycle import Memory, first_memory
from supervisor.firing.aftermath import START_TEST_PROVES, take_over
from supervisor.firing.reach import remember
from supervisor.firing.telling import EVENT as TOLD
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook import aftermath
from supervisor.logbook.commissioning import unlocking
from supervisor.logbook.earlier import Earlier, earlier_run
from supervisor.logbook.learning import models, was_drained
from supervisor.logbook.left_open import found_open
from supervisor.logbook.reading import Log
from supervisor.logbook.records import EventRow, Record
from supervisor.model.cooling import SlowestCooling, slowest_cooling
from supervisor.model.touch import cool_down
from supervisor.software import EVENT as SOFTWARE


class Begun(NamedTuple):
    """A supervisor at its first moment."""

    memory: Memory
    earlier: Earlier  # for what is to be written after the reset: `supervisor.logbook.aftermath.after_reset`
    records: list[Record]  # to be written now


def begin(
    log: Log,
    furnace: FurnaceDescription,
    sample: Sample,
    *,
    backend: str,
    boot_id: str,
    utc_ms: int,
    restarts: int = 0,
    too_often: bool = False,
    slowest: SlowestCooling | None = None,
    from_stage: int | None = None,
    software: str | None = None,
) -> Begun:
    """Begin. sample: the furnace now. slowest: how its metal cools, where that is known already.

    software: what this run is, see `supervisor.software`. After another one the log says so, and relay and contactor
    are proved anew before the first heat, as the sensor is by every beginning.

    from_stage: 0: a simulated furnace counts its proofs as a real one does; None: it is at the last stage.
    """
    earlier, known = earlier_run(log), models(log, furnace)
    memory = first_memory(
        furnace,
        backend=backend,
        monotonic_s=sample.monotonic_s,
        next_firing_id=log.next_firing_id(),
        left_open=None,
        knowing=known.adopted,
        commissioning=known.commissioning,
    )
    trusted = backend == "simulated" or bool(sample.board.clock_trusted)
    now = aftermath.Now(boot_id, sample.monotonic_s, utc_ms, trusted, restarts, too_often)
    memory.firing.unlocking = unlocking(
        log,
        counted=backend != "simulated" or from_stage is not None,
        today_ms=max(earlier.latest_utc_ms, utc_ms if trusted else 0),
    )
    take_over(memory.firing, memory.alarms, aftermath.left_by(earlier, now, furnace, drained=was_drained(log)))
    memory.firing.cooling.slowest = slowest or slowest_cooling(furnace, known.adopted)
    memory.firing.cooling.down = None if slowest else cool_down(furnace, known.adopted)
    numbered = log.rows("SELECT heat_number FROM firing WHERE heat_number IS NOT NULL")
    memory.firing.heat_numbers.update(row["heat_number"] for row in numbered)
    for event in log.events_of(TOLD):
        remember(memory.firing.reach, event["detail"])
    changed = _software(log, software, round(sample.monotonic_s * 1000))
    if changed and changed[0].detail["before"] is not None:
        memory.firing.to_prove |= START_TEST_PROVES
    return Begun(memory, earlier, [*changed, *found_open(earlier.left), *aftermath.begins_with(earlier, now)])


def _software(log: Log, now: str | None, t_ms: int) -> list[EventRow]:
    """What is written of it: nothing, while it is that of the run before."""
    before = next((event["detail"]["now"] for event in reversed(log.events_of(SOFTWARE))), None)
    if now is None or now == before:
        return []
    return [EventRow(None, t_ms, SOFTWARE, "supervisor", "start", {"before": before, "now": now})]
