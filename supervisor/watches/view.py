"""What every watch sees: the same picture for all, made once a cycle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from hardware.ports import BoardHealth, Inputs, Reading, SensorFault
from supervisor.furnace.description import FurnaceDescription
from supervisor.watches.history import History

if TYPE_CHECKING:  # a firing knows reactions, which live beside this: at run time the import would be a circle
    from supervisor.firing.firing import Firing


class Belief(NamedTuple):
    """What is believed of the sensor in this cycle."""

    monotonic_s: float
    time_ok: bool  # the sample's time lies inside this cycle and is later than the last one's
    reading: Reading | None
    fault: SensorFault | None
    last_c: float | None  # the last good reading
    last_cold_c: float | None
    good_s: float  # when that was
    same_s: int  # how many seconds in a row the raw word has been the same


@dataclass(slots=True)
class Log:
    """What the loop says of the disk. Rehearsals are always on disk."""

    pending: bool = False  # an event that adds heat is not on disk yet
    pending_s: float = 0.0
    trouble: str | None = None
    trouble_for_s: float = 0.0  # real seconds
    free_mb: float | None = None  # room where the log lies; None: not asked
    older: bool = False  # its tables are an older version's: this one watches and records, and does not heat


class Innovations(NamedTuple):
    """How far the reading runs from what furnace and power explain, one second ahead, K: means over the last seconds.

    None while a mean is not reckoned: the window is not full, or what happened in it was a lid or an addition.
    """

    mean_10_k: float | None
    mean_30_k: float | None
    mean_120_k: float | None
    mean_300_k: float | None
    learned: bool  # reckoned with a model learned of this furnace; else with the data sheets alone
    mean_3_k: float | None = None
    mean_600_k: float | None = None
    sunk_k: float | None = None  # the mean over 600 s, and how much that over 300 s has moved in 600 s: the milder
    breaks_k: float | None = None  # the mean over 2 s, and the same less that of 8 s shortly before: the milder of both
    broke_k: float = 0.0  # the lowest of that in the last 20 s


class View(NamedTuple):
    """One cycle as the watches see it."""

    now_s: float
    inputs: Inputs
    belief: Belief
    history: History
    firing: Firing
    furnace: FurnaceDescription
    log: Log
    pulses: int
    rising_gap_s: float  # since the permit's last rising edge; 0 while it is not given
    board: BoardHealth
    second: Reading | SensorFault | None  # the other thermocouple; None: not fitted. It never controls.
    innovations: Innovations | None = None  # None: nothing is reckoned in this firing

    @property
    def reading_c(self) -> float | None:
        """The hot junction in this cycle."""
        reading = self.belief.reading
        return None if reading is None else reading.hot_junction_c

    @property
    def lid_calm(self) -> bool:
        """The lid is shut and has been for three minutes: slopes mean what they say."""
        lid = self.firing.lid
        if lid.opened_s is not None:
            return False
        return lid.last_shut_s is None or self.now_s - lid.last_shut_s >= 180.0
