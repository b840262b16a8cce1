"""What `check` writes: the same rows by the same scribe as the supervisor, which is stopped meanwhile."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from hardware.clock import monotonic_s, utc_ms
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.stages import Changed, Reached, Unlocking, make, reached
from supervisor.logbook.commissioning import unlocking
from supervisor.logbook.directory import DataDirectory
from supervisor.logbook.earlier import latest_utc_ms
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import EventRow, PartRow, ProofRow
from supervisor.logbook.scribe import Scribe

WHERE = "check"


@dataclass
class Record:
    """The log of one furnace, open for writing; and what was proved so far."""

    furnace: FurnaceDescription
    unlocking: Unlocking
    next_firing_id: int
    _scribe: Scribe

    @property
    def reached(self) -> Reached:
        """The stage that the proofs on record give, counted or not."""
        return reached(self.furnace, self.unlocking.proved, self.unlocking.changed, self.unlocking.today_ms)

    def proof(self, name: str, result: str, evidence: str, who: str, *, witnessed: bool) -> None:
        """One try, on disk when this returns."""
        done = make(self.unlocking, name, self.furnace, evidence=evidence, who=who, witnessed=witnessed, result=result)
        self._scribe.put([ProofRow(done, None, WHERE)])

    def change(self, part: str, note: str, who: str) -> None:
        """A part was changed; on disk when this returns."""
        done = Changed(part, note, who, self.unlocking.today_ms, self.next_firing_id - 1)
        self.unlocking.changed.append(done)
        self._scribe.put([PartRow(done, WHERE)])

    def event(self, kind: str, detail: dict[str, str], who: str) -> None:
        """Something that was done besides."""
        self._scribe.put([EventRow(None, round(monotonic_s() * 1000), kind, who, WHERE, detail)])

    @property
    def trouble(self) -> str | None:
        """What keeps it from being written."""
        return self._scribe.trouble


@contextmanager
def writing(
    kept: DataDirectory,
    furnace: FurnaceDescription,
    *,
    clock_name: str = "",
    clock_trusted: bool,
    begun: Callable[[], None] = lambda: None,
) -> Iterator[Record]:
    """Open the log for writing. clock_trusted: the computer's date counts; else the latest that the log ever had does.

    begun: called once this opening is counted.
    """
    boot = f"{Path('/proc/sys/kernel/random/boot_id').read_text(encoding='ascii').strip()}{clock_name}"
    with Scribe(kept, boot_id=boot, utc_ms=utc_ms, threaded=False) as scribe:
        begun()
        with open_log(kept.path) as log:
            today_ms = max(latest_utc_ms(log), utc_ms() if clock_trusted else 0)
            known = unlocking(log, counted=True, today_ms=today_ms)
            next_firing_id = log.next_firing_id()
        yield Record(furnace, known, next_firing_id, scribe)
