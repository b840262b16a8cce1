"""One melt of a seeded history: the simulated furnace under a plain regulator, and the rows that its log would have."""

from dataclasses import asdict, dataclass
from random import Random
from typing import NamedTuple

from hardware.simulated.plant import Workshop
from supervisor.book.charging import Confirmed
from supervisor.logbook.records import AlarmRow, EstimateRow, EventRow, FiringClosed, FiringOpened, Record, SampleRow

STEP_S, WINDOW_S = 0.5, 5.0


@dataclass(frozen=True)
class Melt:
    """One melt as it went; the defaults are a healthy one."""

    alloy: str = "6082"
    form: str = "solid_offcut"
    measured: dict[str, float] | None = None
    plant_alloy: str = "6082"
    top_c: float = 740.0
    hold_min: float = 18.0
    pours_c: float | None = None  # cools down to it first, heat off
    stands_c: float | None = None  # held liquid at this for a while before it is heated again
    off_k: float = 0.0  # of the thermocouple
    air: str = "dry"
    skims: int = 1
    dross: float = 0.022
    chips: float = 0.0
    wet_kg: float = 0.0  # added against the answer
    mixed: tuple[str, float] | None = None  # another alloy, share of the charge
    turned_out: str = ""  # what its lot was found to be
    mould_kg: float = 2.4
    mould_dried_h: float = 0.7
    mould_cold: bool = False
    remark: str = ""
    alarm: str = ""
    says: str = "poor"


class Second(NamedTuple):
    """What the furnace did in one second."""

    read_c: float
    duty: float
    wh: float
    metal_c: float
    molten: float


def fired(melt: Melt, kg: float, mains: float, seed: int) -> list[Second]:
    """Full power to the top, held there; then cooled to the pour where the melt says so."""
    plant = Workshop(seed=seed)
    plant.add_charge(kg, 20.0, melt.plant_alloy)
    seconds: list[Second] = []
    duty, trim, on_s, ready_s, at_s = 0.0, 0.25, 0.0, None, 0.0
    stands_until_s = None
    while ready_s is None or at_s < ready_s + 60.0 * melt.hold_min or _still_cools(melt, plant):
        read_c = plant.state.hot_junction_c + melt.off_k
        target_c = melt.top_c
        done = ready_s is not None and at_s >= ready_s + 60.0 * melt.hold_min
        if melt.stands_c is not None and plant.state.share_molten >= 0.999:
            stands_until_s = stands_until_s or at_s + 2400.0
            target_c = melt.stands_c if at_s < stands_until_s else melt.top_c
        if at_s % WINDOW_S == 0.0:
            gap_k = target_c - read_c
            trim = min(0.6, max(0.0, trim + 0.0015 * gap_k)) if abs(gap_k) < 20.0 else trim
            duty = 0.0 if done else min(1.0, max(0.0, 0.03 * gap_k + trim))
        on = at_s % WINDOW_S < duty * WINDOW_S
        state = plant.step(STEP_S, element_on=on, lid_open=False, mains_factor=mains)
        on_s += STEP_S * on
        at_s += STEP_S
        if at_s % 1.0 == 0.0:
            seconds.append(
                Second(
                    state.hot_junction_c + melt.off_k,
                    on_s,
                    state.supplied_j / 3600.0,
                    state.metal_mean_c,
                    state.share_molten,
                )
            )
            on_s = 0.0
        if (
            ready_s is None
            and state.metal_coldest_c >= min(700.0, melt.top_c - 40.0)
            and (stands_until_s is None or at_s > stands_until_s)
        ):
            ready_s = at_s
        if at_s > 5 * 3600.0:
            raise RuntimeError("the simulated furnace never got there")
    return seconds


def _still_cools(melt: Melt, plant: Workshop) -> bool:
    return melt.pours_c is not None and plant.state.metal_mean_c > melt.pours_c


def records(number: int, of: Confirmed, melt: Melt, seconds: list[Second], draw: Random) -> list[Record]:
    """The log of one firing."""
    last_ms, name = 1000 * len(seconds), of.heat_number
    frozen = {"charge": asdict(of.charge), "pour_c": of.pour_c}
    out: list[Record] = [FiringOpened(number, 0.0, name, name, "Ingots", frozen, "simulated")]
    off_k = draw.gauss(0.0, 3.0) + melt.off_k
    for second, each in enumerate(seconds, 1):
        out.append(
            SampleRow(
                number,
                1000 * second,
                round(each.read_c, 2),
                22.0,
                melt.top_c,
                each.duty,
                round(each.wh, 1),
                0,
                "running",
                0,
            )
        )
        if second % 60 == 0:
            phase = "solid" if each.molten <= 0.001 else "liquid" if each.molten >= 0.999 else "melting"
            c = round(each.metal_c + off_k + draw.gauss(0.0, 1.0), 1)
            out.append(EstimateRow(number, 1000 * second, phase, c, c - 12.0, c + 12.0, each.molten, each.molten,
                                   each.molten, None, None, None, False, "", melt.top_c, ""))  # fmt: skip
    for _ in range(melt.skims):
        out.append(EventRow(number, last_ms - 240_000, "note", "Ada", "page", {"kind": "skim"}))
    dipped = round(seconds[-1].metal_c + draw.gauss(0.0, 3.0))
    out.append(
        EventRow(number, last_ms - 60_000, "note", "Ada", "page", {"kind": "dip reading", "temperature_c": dipped})
    )
    out.append(EventRow(number, last_ms, "note", "Ada", "page", {"kind": "pour"}))
    if melt.alarm:
        out.append(AlarmRow(number, last_ms, f"{melt.alarm}/1", melt.alarm, "raised", 2, "made", True, "supervisor"))
    out.append(
        FiringClosed(
            number, last_ms, "complete", None, {"peak_c": max(s.read_c for s in seconds), "energy_wh": seconds[-1].wh}
        )
    )
    return out
