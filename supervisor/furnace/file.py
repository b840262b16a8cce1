"""The furnace file: TOML that describes one furnace, checked before anything else looks at it."""

import tomllib
from contextlib import suppress
from hashlib import sha256
from math import pi
from pathlib import Path
from typing import Annotated

from pydantic import Field

from hardware.ports import Wiring
from supervisor.firing.attendance import DEFAULT, Periods
from supervisor.furnace.description import (
    Correction,
    Crucible,
    FurnaceDescription,
    NotFitted,
    Response,
    Tariff,
    Wall,
)
from supervisor.furnace.pins import LookingPinFields, NotFittedFields, PinFields, check_not_fitted, check_pins
from supervisor.furnace.reckoning import loss_w
from supervisor.refusal import InputRefused, refusal
from supervisor.toml_input import Fields, Line, between, checked, read_text

SHIPPED = ("bench", "workshop")
"""Furnace files that come with the program. Both are invented."""

BELOW_LIMITER_K = 50.0
"""The limiter stands at least this far above anything a profile may ask for, so that it trips on faults alone."""

LIQUID_KG_M3 = 2358.7
"""Aluminium at 720 °C. Source: Assael et al., J. Phys. Chem. Ref. Data 35 (2006) 285."""


class SupplyFields(Fields):
    """The circuit that feeds the element."""

    voltage_v: Annotated[float, between(12, 480, "V")]
    circuit_a: Annotated[float, between(1, 125, "A")]


class ElementFields(Fields):
    """The element. Above 1.3 it is no heating alloy: plain steel draws several times its hot current when cold."""

    cold_ohm: Annotated[float, between(0.1, 1000, "ohm")]
    hot_ratio: Annotated[float, between(1, 1.3)]


class WallFields(Fields):
    """The lining as one wall, the lid folded in."""

    thickness_mm: Annotated[float, between(10, 500, "mm")]
    inside_m2: Annotated[float, between(0.01, 10, "m²")]
    outside_m2: Annotated[float, between(0.01, 20, "m²")]
    conductivity_w_m_k: Annotated[float, between(0.01, 20, "W/m/K")]
    conductivity_per_k: Annotated[float, between(-0.01, 0.01, "W/m/K per K")]
    density_kg_m3: Annotated[float, between(50, 4000, "kg/m³")]
    specific_heat_j_kg_k: Annotated[float, between(400, 2500, "J/kg/K")]


class CrucibleFields(Fields):
    """The pot and its working fill of aluminium."""

    mass_kg: Annotated[float, between(0.05, 50, "kg")]
    capacity_kg: Annotated[float, between(0.05, 50, "kg")]
    bore_mm: Annotated[float, between(20, 500, "mm")]
    depth_mm: Annotated[float, between(20, 800, "mm")]


class ResponseFields(Fields):
    """How the reading answers power."""

    slope_c_per_s: Annotated[float, between(0.01, 20, "°C/s")]
    dead_time_s: Annotated[float, between(0.5, 300, "s")]
    fastest_rise_c_per_s: Annotated[float, between(0.01, 20, "°C/s")]
    fastest_fall_c_per_s: Annotated[float, between(0.01, 50, "°C/s")]


class LimiterFields(Fields):
    """The independent over-temperature limiter, as its dial is set."""

    setting_c: Annotated[float, between(100, 1300, "°C")]


class RelayFields(Fields):
    """The solid-state relay."""

    window_s: Annotated[float, between(2, 10, "s")]


class MeterFields(Fields):
    """The energy meter's pulse output."""

    pulses_per_kwh: Annotated[int, between(100, 10_000, "pulses per kWh")]


class TariffFields(Fields):
    """What energy costs where the furnace stands, and whatever else of a melt has a price."""

    per_kwh: Annotated[float, between(0.001, 100, "a kWh")]
    currency: Annotated[str, Field(pattern=r"^\S{1,8}$", description="1 to 8 signs, as in EUR")]
    per_melt: Annotated[float, between(0, 10_000, "a melt")] = 0.0
    per_hour: Annotated[float, between(0, 10_000, "an hour")] = 0.0
    scrap_per_kg: Annotated[float, between(0, 10_000, "a kg")] = 0.0
    bought_per_kg: Annotated[float, between(0, 10_000, "a kg")] = 0.0


class CorrectionFields(Fields):
    """The dated correction of the thermocouple. One that is further off is changed, not corrected."""

    k: Annotated[float, between(-10, 10, "K")]
    at_c: Annotated[float, between(300, 1000, "°C")]
    on: Annotated[str, Field(pattern=r"^20\d\d-[01]\d-[0-3]\d$", description='a date, as "2026-11-27"')]
    by: Line
    why: Line


class AttendanceFields(Fields):
    """How long one sign that somebody is there is good for. A furnace may be watched closer than usual, never less."""

    heating_min: Annotated[float, between(5, DEFAULT.heating_s / 60, "min")] = DEFAULT.heating_s / 60
    hot_min: Annotated[float, between(3, DEFAULT.hot_s / 60, "min")] = DEFAULT.hot_s / 60
    hands_min: Annotated[float, between(2, DEFAULT.hands_s / 60, "min")] = DEFAULT.hands_s / 60
    hold_after_min: Annotated[float, between(2.5, DEFAULT.hold_after_s / 60, "min")] = DEFAULT.hold_after_s / 60
    end_after_min: Annotated[float, between(5, DEFAULT.end_after_s / 60, "min")] = DEFAULT.end_after_s / 60
    phone_answers: Annotated[int, between(0, DEFAULT.phone_answers)] = DEFAULT.phone_answers


class FurnaceFields(Fields):
    """A whole furnace file."""

    title: Line
    letter: Annotated[str, Field(pattern="^[A-Z]$", description="one capital letter from A to Z")]
    invented: Annotated[bool, Field(description="true or false")] = False
    another_regulator_heats: Annotated[bool, Field(description="true or false")] = False
    top_c: Annotated[float, between(50, 1250, "°C")]
    supply: SupplyFields
    element: ElementFields
    wall: WallFields
    crucible: CrucibleFields
    response: ResponseFields
    limiter: LimiterFields
    relay: RelayFields
    energy_meter: MeterFields | None = None
    tariff: TariffFields | None = None
    sensor_correction: CorrectionFields | None = None
    attendance: AttendanceFields = AttendanceFields()
    pins: PinFields
    not_fitted: NotFittedFields | None = None


class LookedAtFields(FurnaceFields):
    """The file of a furnace that another regulator heats: whatever is wired of it only looks."""

    pins: LookingPinFields  # type: ignore[assignment]  # the same names, and none of the outputs


def _fields_of(text: str, source: str) -> FurnaceFields:
    looked_at = False
    with suppress(ValueError, RecursionError):  # what is wrong with the file is said by the check
        looked_at = tomllib.loads(text.removeprefix("\ufeff")).get("another_regulator_heats") is True
    return checked(LookedAtFields if looked_at else FurnaceFields, text, source)


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:  # no name that a file could have
        return False


def read_furnace(name_or_path: str) -> FurnaceDescription:
    """Read a shipped furnace by its name, or any furnace file by its path.

    Raises:
        InputRefused: the file cannot be read, or says something that cannot be or that must not be heated.
    """
    path = Path(name_or_path)
    if name_or_path in SHIPPED:
        path = Path(__file__).with_name("files") / f"{name_or_path}.toml"
    elif path.suffix != ".toml" and not _is_there(path):
        raise InputRefused(f"furnace is {name_or_path!r}; allowed: {', '.join(SHIPPED)}, or the path of a furnace file")
    text = read_text(path)
    source = path.name if name_or_path in SHIPPED else str(path)
    fields = _fields_of(text, source)
    check_pins(fields.pins, metered=fields.energy_meter is not None, source=source)
    unsigned = fields.invented or fields.another_regulator_heats  # nothing here heats on the strength of it
    check_not_fitted(fields.pins, fields.not_fitted, invented=unsigned, source=source)
    furnace = _description(path.stem, fields, sha256(text.encode()).hexdigest())
    _check_electricity(furnace, source)
    _check_body(furnace, source)
    _check_temperatures(furnace, source)
    return furnace


def read_heated_furnace(name_or_path: str) -> FurnaceDescription:
    """As `read_furnace`, for what only means something where this program heats.

    Raises:
        InputRefused: as there, or another regulator heats it.
    """
    furnace = read_furnace(name_or_path)
    if furnace.looks_only:
        raise InputRefused(f"{furnace.name}: another regulator heats it; allowed: a furnace that this program heats")
    return furnace


def _description(name: str, fields: FurnaceFields, digest: str) -> FurnaceDescription:
    wall, pins = fields.wall, fields.pins
    return FurnaceDescription(
        name=name,
        title=fields.title,
        letter=fields.letter,
        invented=fields.invented,
        supply_v=fields.supply.voltage_v,
        circuit_a=fields.supply.circuit_a,
        element_cold_ohm=fields.element.cold_ohm,
        element_hot_ratio=fields.element.hot_ratio,
        wall=Wall(thickness_m=wall.thickness_mm / 1000.0, **wall.model_dump(exclude={"thickness_mm"})),
        crucible=Crucible(**fields.crucible.model_dump()),
        response=Response(**fields.response.model_dump()),
        top_c=fields.top_c,
        limiter_c=fields.limiter.setting_c,
        relay_window_s=fields.relay.window_s,
        pulses_per_kwh=fields.energy_meter.pulses_per_kwh if fields.energy_meter else None,
        wiring=Wiring(**pins.model_dump(exclude={"sensor_chip_selects"}), sensors=tuple(pins.sensor_chip_selects)),
        digest=digest,
        not_fitted=NotFitted(fields.not_fitted.said_by, tuple(fields.not_fitted.lines)) if fields.not_fitted else None,
        tariff=Tariff(**fields.tariff.model_dump()) if fields.tariff else None,
        correction=Correction(**fields.sensor_correction.model_dump()) if fields.sensor_correction else None,
        attendance=_periods(fields.attendance),
        looks_only=fields.another_regulator_heats,
    )


def _periods(fields: AttendanceFields) -> Periods:
    """Minutes of the file as seconds."""
    minutes = fields.model_dump(exclude={"phone_answers"})
    return Periods(
        **{f"{name[:-4]}_s": 60.0 * value for name, value in minutes.items()}, phone_answers=fields.phone_answers
    )


def _check_electricity(furnace: FurnaceDescription, source: str) -> None:
    least_ohm = furnace.supply_v / furnace.circuit_a
    if furnace.element_cold_ohm < least_ohm:
        circuit = f"{furnace.circuit_a:g} A circuit at {furnace.supply_v:g} V"
        raise refusal(
            source, "element.cold_ohm", furnace.element_cold_ohm, f"at least {least_ohm:.1f} ohm on a {circuit}"
        )


def _check_body(furnace: FurnaceDescription, source: str) -> None:
    wall, crucible = furnace.wall, furnace.crucible
    if wall.outside_m2 < wall.inside_m2:
        raise refusal(source, "wall.outside_m2", wall.outside_m2, f"at least the inside area, {wall.inside_m2:g} m²")
    least_per_k = -wall.conductivity_w_m_k / furnace.top_c
    if wall.conductivity_per_k <= least_per_k:
        allowed = f"above {least_per_k:.3g} W/m/K per K, or the brick would not conduct at {furnace.top_c:g} °C"
        raise refusal(source, "wall.conductivity_per_k", wall.conductivity_per_k, allowed)
    holds_kg = LIQUID_KG_M3 * pi / 4.0 * (crucible.bore_mm / 1000.0) ** 2 * crucible.depth_mm / 1000.0
    if crucible.capacity_kg > holds_kg:
        allowed = f"up to {holds_kg:.2f} kg, which fill it to the brim by bore_mm and depth_mm"
        raise refusal(source, "crucible.capacity_kg", crucible.capacity_kg, allowed)


def _check_temperatures(furnace: FurnaceDescription, source: str) -> None:
    highest_c = furnace.limiter_c - BELOW_LIMITER_K
    if furnace.top_c > highest_c:
        allowed = f"up to {highest_c:g} °C, {BELOW_LIMITER_K:g} K below limiter.setting_c"
        raise refusal(source, "top_c", furnace.top_c, allowed)
    if loss_w(furnace, furnace.top_c) >= furnace.full_power_w:
        allowed = f"a temperature at which the wall loses less than the element gives, {furnace.full_power_w:.0f} W"
        raise refusal(source, "top_c", furnace.top_c, allowed)
