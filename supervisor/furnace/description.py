"""What is known of one furnace before it has ever been fired: plain data, as the furnace file gives it."""

from dataclasses import dataclass
from typing import NamedTuple

from hardware.ports import Wiring
from supervisor.firing.attendance import Periods

ONLY_LOOKING = "Another regulator heats: nothing here stops it."
"""What is said of a furnace that is only looked at, wherever something is asked of it."""


@dataclass(frozen=True, slots=True)
class Wall:
    """The lining as one wall: inside and outside area, thickness, and the brick's data-sheet values."""

    thickness_m: float
    inside_m2: float
    outside_m2: float
    conductivity_w_m_k: float  # at 0 °C
    conductivity_per_k: float  # its rise with temperature, W/m/K per K
    density_kg_m3: float
    specific_heat_j_kg_k: float


@dataclass(frozen=True, slots=True)
class Crucible:
    """The pot. capacity_kg is its working fill of aluminium."""

    mass_kg: float
    capacity_kg: float
    bore_mm: float
    depth_mm: float


@dataclass(frozen=True, slots=True)
class Response:
    """How the reading answers power, from a step test at a hold or the data sheets."""

    slope_c_per_s: float  # steepest slope of the reading after a step, per unit of duty
    dead_time_s: float
    fastest_rise_c_per_s: float  # at full power, empty
    fastest_fall_c_per_s: float  # lid open


class NotFitted(NamedTuple):
    """What this furnace is without, signed."""

    said_by: str
    lines: tuple[str, ...]  # of supervisor.furnace.pins.OPTIONAL_LINES


class Correction(NamedTuple):
    """One dated correction of the thermocouple: so much at one temperature, in proportion to hot less cold junction."""

    k: float  # is added to the reading at at_c
    at_c: float
    on: str  # date, as 2026-11-27
    by: str
    why: str

    def at(self, hot_c: float, cold_c: float) -> float:
        """What is added to a reading, K."""
        return self.k * (hot_c - cold_c) / (self.at_c - cold_c)


class Tariff(NamedTuple):
    """What a melt costs: energy, and what else somebody gave a price (0: nobody did)."""

    per_kwh: float
    currency: str
    per_melt: float = 0.0  # a melt's share of element, pot and lining
    per_hour: float = 0.0  # that somebody attends
    scrap_per_kg: float = 0.0
    bought_per_kg: float = 0.0  # pure metal, master alloy


@dataclass(frozen=True, slots=True)
class FurnaceDescription:
    """One furnace. Made by `supervisor.furnace.file.read_furnace`, which refuses what cannot be."""

    name: str  # of the file: 'bench', 'workshop'
    title: str  # what people call it: 'Furnace A'
    letter: str  # starts every heat number
    invented: bool  # the shipped examples are, and say so
    supply_v: float
    circuit_a: float
    element_cold_ohm: float
    element_hot_ratio: float  # hot over cold resistance
    wall: Wall
    crucible: Crucible
    response: Response
    top_c: float  # no profile may go higher, and the reading may not pass it by 25 K
    limiter_c: float  # setting of the independent limiter
    relay_window_s: float  # 2 to 10
    pulses_per_kwh: int | None  # energy meter, None: not fitted
    wiring: Wiring
    digest: str  # SHA-256 of the file, hex: goes into each firing's record
    tariff: Tariff | None = None  # None: no cost is shown
    correction: Correction | None = None  # of the first thermocouple; None: its reading stands as it is
    not_fitted: NotFitted | None = None  # None: nobody has signed, as in an invented file
    attendance: Periods = Periods()  # noqa: RUF009 - a record that nothing can change
    looks_only: bool = False  # another regulator heats: the outputs are never opened, and nothing here stops it

    @property
    def full_power_w(self) -> float:
        """Electrical power with the element hot, at nominal voltage, W."""
        return self.supply_v**2 / (self.element_cold_ohm * self.element_hot_ratio)
