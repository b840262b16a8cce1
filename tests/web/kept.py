"""A log with two firings, written by the real scribe. All data are invented."""

from math import exp
from pathlib import Path

from supervisor.logbook.records import AlarmRow, FiringClosed, FiringOpened
from tests.supervisor.logbook import event, sample, scribe_of

LASTED_S = 1800


def chamber_c(t_s: float) -> float:
    return 20 + 260 * (1 - exp(-t_s / 900)) / (1 - exp(-2))


def keep_firings(data: Path) -> None:
    """A-096, ended by a watch at 29 min with one spike on the way; then A-097, without its closing record."""
    frozen = {"charge": {"mass_kg": 2.0, "alloy": "6082", "form": "off-cuts", "solidus_c": 575.0, "liquidus_c": 650.0}}
    with scribe_of(data) as scribe:
        for firing_id, number in ((1, "A-096"), (2, "A-097")):
            scribe.put([FiringOpened(firing_id, 100.0, number, number, "Ingots, 2 kg", frozen, "simulated")])
            rows = []
            for t_s in range(0, LASTED_S + 1):
                if 700 < t_s < 850 and firing_id == 1:
                    continue
                read = 500.0 if (t_s, firing_id) == (1200, 1) else chamber_c(t_s)
                rows.append(sample(t_s * 1000, firing_id, hot_junction_c=read, setpoint_c=min(760.0, 20 + t_s / 6)))
            scribe.put(rows)
            scribe.put([event(600_000, firing_id, kind="note", text="lid seated")])
        scribe.put(
            [AlarmRow(1, 1_740_000, "sensor-open/1", "sensor-open", "raised", 1, "open circuit", True, "supervisor")]
        )
        scribe.put([FiringClosed(1, 1_800_000, "aborted", "sensor-open", {"peak_c": 500.0, "energy_wh": 812.0})])
