"""A log with melts in it that a furnace can be learned from: readings of a simulated furnace, written by the scribe."""

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from hardware.simulated.plant import Bench
from supervisor.furnace.file import read_furnace
from supervisor.logbook.directory import open_directory
from supervisor.logbook.records import AlarmRow, EventRow, FiringClosed, FiringOpened, Record, SampleRow
from supervisor.logbook.scribe import Scribe
from supervisor.metal.alloys import charge
from supervisor.model.learned import parts_digest
from tests.supervisor.logbook import ALL_CLOSED

FURNACE = read_furnace("bench")
BEGAN_UTC_MS, DAY_MS = 1_767_225_600_000, 86_400_000  # 2026-01-01
LID_OPEN = ALL_CLOSED & ~(3 << 8)
STEP_S, WINDOW_S = 0.5, 5.0


class Second(NamedTuple):
    """What the furnace did in one second."""

    reading_c: float
    duty: float
    energy_wh: float
    lid_open: bool
    coldest_c: float  # of the metal: the truth


@cache
def fired(minutes: float, mass_kg: float, mains: float, lid_min: float | None) -> Sequence[Second]:
    """Full power to 740 °C and held there, by a plain regulator; the lid open for 40 s from lid_min on."""
    plant = Bench(seed=1)
    if mass_kg:
        plant.add_charge(mass_kg, 20.0, "6082")
    seconds: list[Second] = []
    duty, trim, on_steps, begins_j = 0.0, 0.2, 0, plant.state.supplied_j
    for number in range(round(minutes * 60.0 / STEP_S)):
        at_s = number * STEP_S
        lid_open = lid_min is not None and 0.0 <= at_s - lid_min * 60.0 < 40.0
        if at_s % WINDOW_S == 0.0:
            gap_k = 740.0 - plant.state.hot_junction_c
            trim = min(0.5, max(0.0, trim + 0.001 * gap_k)) if abs(gap_k) < 20.0 else trim
            duty = 0.0 if lid_open else min(1.0, max(0.0, 0.03 * gap_k + trim))
        on = not lid_open and at_s % WINDOW_S < duty * WINDOW_S
        state = plant.step(STEP_S, element_on=on, lid_open=lid_open, mains_factor=mains)
        on_steps += on
        if number % 2:
            counted_wh = float(int((state.supplied_j - begins_j) / 3600.0))  # pulses of 1 Wh
            seconds.append(
                Second(
                    round(state.hot_junction_c * 4.0) / 4.0, on_steps / 2.0, counted_wh, lid_open, state.metal_coldest_c
                )
            )
            on_steps = 0
    return seconds


def keep_melt(
    path: Path,
    firing_id: int,
    *,
    minutes: float = 50.0,
    mass_kg: float = 2.0,
    mains: float = 1.0,
    lid_min: float | None = None,
    state: str = "complete",
    notes: Sequence[tuple[float, Mapping[str, Any]]] = ((-1.0, {"kind": "pour"}),),
    events: Sequence[tuple[float, str, Mapping[str, Any]]] = (),
    alarm: str = "",
    frozen: Mapping[str, Any] | None = None,
    meter_factor: float = 1.0,
    backend: str = "simulated",
) -> None:
    """Add one firing to a log. notes and events: second (negative: from the end), detail. alarm: a watch that spoke."""
    seconds = fired(minutes, mass_kg, mains, lid_min)
    put_in = charge(mass_kg, "6082", "off-cuts") if mass_kg else None
    opening = {
        "charge": None if put_in is None else {name: getattr(put_in, name) for name in put_in.__dataclass_fields__},
        "furnace_digest": FURNACE.digest,
        "parts_digest": parts_digest(FURNACE),
        **(frozen or {}),
    }
    records: list[Record] = [
        FiringOpened(firing_id, 10.0, f"Melt {firing_id}", None, "Melt", opening, backend),
        *(
            SampleRow(
                firing_id,
                1000 * (number + 1),
                each.reading_c,
                22.0,
                740.0,
                each.duty,
                each.energy_wh * meter_factor,
                LID_OPEN if each.lid_open else ALL_CLOSED,
                "running",
                0,
            )
            for number, each in enumerate(seconds)
        ),
    ]
    if alarm:
        records.append(AlarmRow(firing_id, 60_000, f"{alarm}/1", alarm, "raised", 2, "made up", True, "supervisor"))
    last_ms = 1000 * len(seconds)

    def at_ms(second: float) -> int:
        return round(1000 * second) if second >= 0.0 else last_ms + round(1000 * (second + 1.0))

    records += [EventRow(firing_id, at_ms(second), "note", "Ada", "page", note) for second, note in notes]
    records += [EventRow(firing_id, at_ms(second), kind, "Ada", "page", detail) for second, kind, detail in events]
    records.append(FiringClosed(firing_id, last_ms, state, None, {}))
    began_ms = BEGAN_UTC_MS + DAY_MS * firing_id
    with (
        open_directory(path, backend=backend, furnace=FURNACE.name) as directory,
        Scribe(directory, boot_id="boot", utc_ms=lambda: began_ms, threaded=False) as scribe,
    ):
        scribe.put(records)
        assert scribe.trouble is None
