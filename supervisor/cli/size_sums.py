"""`meltkeeper size wire`, `wall`, `join` and `melt`: single sums of sizing, for whoever checks them by a book."""

from collections.abc import Mapping
from functools import partial
from math import sqrt
from typing import Any

import click

from supervisor.cli.printing import print_json
from supervisor.cli.size_options import json_option, texts
from supervisor.cli.size_walls import wall
from supervisor.metal.enthalpy import enthalpy_j_kg
from supervisor.refusal import InputRefused
from supervisor.sizing import elements, fields
from supervisor.sizing import quantities as q
from supervisor.sizing.alloys import Alloy, alloy, checked_factor
from supervisor.sizing.circuits import DEFERS
from supervisor.sizing.fields import Field
from supervisor.sizing.gauges import gauge

__all__ = ["join", "melt", "wall", "wire"]

FIELDS: Mapping[str, Field] = {
    "power": Field(q.POWER, 1.0, 1e6),
    "volts": Field(q.VOLTAGE, 1.0, 1000.0),
    "cold": Field(q.RESISTANCE, 0.001, 10_000.0),
    "ratio": Field(q.NUMBER, 0.01, 100.0),
    "resistivity": Field(q.RESISTIVITY, 0.01, 10.0),
    "load": Field(q.SURFACE_LOAD, 0.01, 100.0),
    "element": Field(q.TEMPERATURE, 20.0, 2000.0),
    "charge": Field(q.TEMPERATURE, -50.0, 2000.0),
    "emissivity": Field(q.NUMBER, 0.01, 1.0, 0.7),
    "seen": Field(q.NUMBER, 0.05, 1.0, elements.IN_A_GROOVE),
    "strip": Field(q.LENGTH, 0.01, 10.0),
    "length": Field(q.LENGTH, 10.0, 1e6),
    "ohm": Field(q.RESISTANCE, 0.001, 100_000.0),
    "metal": Field(q.MASS, 0.001, 10_000.0),
    "start": Field(q.TEMPERATURE, -50.0, 600.0, 20.0),
    "to": Field(q.TEMPERATURE, 20.0, 1200.0),
    "heat": Field(q.SPECIFIC_HEAT, 100.0, 10_000.0),
    "fusion": Field(q.LATENT, 1.0, 2000.0),
    "minutes": Field(q.TIME, 0.01, 100_000.0),
}
STAR, SINGLE = "star", "single"

read, must = partial(fields.read, fields=FIELDS), partial(fields.must, fields=FIELDS)


@click.command("wire", short_help="One wire or strip from power and surface load.")
@texts(
    ("power", "Power; of all three phases with --phases star."),
    ("volts", "Supply voltage; between phases with --phases star."),
)
@click.option(
    "--phases", type=click.Choice([SINGLE, STAR]), default=SINGLE, show_default=True, help="How it is supplied."
)
@texts(
    ("cold", "Cold resistance, in place of a voltage."),
    ("alloy", "Alloy: its resistivity."),
    ("resistivity", "Resistivity, in place of an alloy's."),
    ("ratio", "Hot over cold resistance [1]."),
    ("load", "Surface load."),
    ("element", "Element temperature: the load follows from what it radiates."),
    ("charge", "Temperature of what it radiates into."),
    ("emissivity", "Of the element [0.7]."),
    ("seen", "Radiating factor [0.5]."),
    ("strip", "Thickness of a strip, in place of a round wire."),
    ("length", "A length of wire: what ohms a metre it asks for."),
    ("stock", "A wire that is to be had: its ohms a metre, length and load."),
)
@json_option
def wire(phases: str, stock: str, as_json: bool, **typed: str) -> None:
    """Reckon a wire or strip from power, resistance and surface load; one sum, no furnace.

    Exit status: 0 done, 2 refused input.
    """
    watts, volts, cold = must(typed, "power"), read(typed, "volts"), read(typed, "cold")
    of = alloy(typed["alloy"]) if typed["alloy"].strip() else None
    resistivity = read(typed, "resistivity") or (of.resistivity_ohm_mm2_m if of else None)
    factor = checked_factor(read(typed, "ratio") or 1.0, "ratio of hot to cold resistance")
    if (volts is None) == (cold is None):
        raise InputRefused("volts and cold: allowed: one of them, the supply's voltage or the cold resistance")
    phase_w = watts / 3.0 if phases == STAR else watts
    if volts is not None:
        hot_ohm = (volts / sqrt(3.0) if phases == STAR else volts) ** 2 / phase_w
    else:
        hot_ohm = (cold or 0.0) * factor
    found: dict[str, Any] = {"phase_w": phase_w, "hot_ohm": hot_ohm, "cold_ohm": hot_ohm / factor}
    load = _load(typed)
    if load is not None:
        found |= _sized(typed, phase_w, load, hot_ohm, factor, resistivity)
    length_mm = read(typed, "length")
    if length_mm is not None:
        found["ohm_per_m"] = hot_ohm / factor / length_mm * 1000.0
    if stock.strip():
        found["stock"] = _stock(stock, of, resistivity, phase_w, hot_ohm / factor)
    _show({**found, "defers": DEFERS}, as_json)


def _load(typed: Mapping[str, str]) -> float | None:
    """The surface load, given or radiated."""
    load, hot_c = read(typed, "load"), read(typed, "element")
    if load is not None or hot_c is None:
        return load
    charge_c = must(typed, "charge")
    if not charge_c < hot_c:
        raise InputRefused(f"charge is {charge_c:g} °C; allowed: below the element's {hot_c:g} °C")
    return elements.allowed_load_w_cm2(hot_c, charge_c, must(typed, "emissivity"), must(typed, "seen"))


def _sized(
    typed: Mapping[str, str], phase_w: float, load: float, hot_ohm: float, factor: float, resistivity: float | None
) -> dict[str, Any]:
    if resistivity is None:
        raise InputRefused("resistivity is missing; allowed: an alloy, or a resistivity as 1.45 ohm mm2/m")
    thick_mm, charge_c = read(typed, "strip"), read(typed, "charge")
    if thick_mm is None:
        sized = elements.wire(phase_w, load, hot_ohm, factor, resistivity)
    else:
        sized = elements.strip(phase_w, load, hot_ohm, factor, resistivity, thick_mm)
    found: dict[str, Any] = {"surface_load_w_cm2": load, "width_mm": sized.width_mm, "length_m": sized.length_m}
    if charge_c is not None:
        found["element_c"] = elements.element_c(load, charge_c, must(typed, "emissivity"), must(typed, "seen"))
    return found


def _stock(typed: str, of: Alloy | None, resistivity: float | None, watts: float, cold_ohm: float) -> dict[str, Any]:
    if resistivity is None:
        raise InputRefused("resistivity is missing; allowed: an alloy, or a resistivity as 1.45 ohm mm2/m")
    chosen = gauge(typed, "stock")
    ohm_per_m = resistivity / chosen.area_mm2
    length_m = cold_ohm / ohm_per_m
    return {
        "wire": chosen.name,
        "wire_mm": chosen.mm,
        "wire_area_mm2": chosen.area_mm2,
        "wire_surface_cm2_per_m": chosen.surface_cm2_per_m,
        "ohm_per_m": ohm_per_m,
        "length_m": length_m,
        "surface_load_w_cm2": elements.load_w_cm2(watts, chosen.mm, length_m),
        "kg": None if of is None else length_m * chosen.area_mm2 * of.density_g_cm3 / 1000.0,
    }


@click.command("join", short_help="Equal elements in series and parallel.")
@texts(
    ("volts", "Supply voltage."),
    ("ohm", "Resistance of each."),
)
@click.option("--series", type=int, default=1, show_default=True, help="Elements one after the other in each branch.")
@click.option("--parallel", type=int, default=1, show_default=True, help="Branches side by side.")
@json_option
def join(volts: str, ohm: str, series: int, parallel: int, as_json: bool) -> None:
    """Say what equal elements take together, and each.

    Exit status: 0 done, 2 refused input.
    """
    typed = {"volts": volts, "ohm": ohm}
    found = elements.joined(must(typed, "volts"), must(typed, "ohm"), series, parallel)
    _show({**found._asdict(), "defers": DEFERS}, as_json)


@click.command("melt", short_help="Heat in molten aluminium.")
@texts(
    ("metal", "Mass of aluminium."),
    ("start", "Its temperature before [20 C]."),
    ("to", "Its temperature after."),
    ("power", "Power that was drawn: with minutes, what share went into the metal."),
    ("minutes", "For how long."),
    ("heat", "Specific heat, in place of the table's."),
    ("fusion", "Heat of fusion, in place of the table's."),
)
@json_option
def melt(as_json: bool, **typed: str) -> None:
    """Reckon the heat in molten aluminium, and what share of a run's energy that was.

    Exit status: 0 done, 2 refused input.
    """
    kg, start_c, to_c = must(typed, "metal"), must(typed, "start"), must(typed, "to")
    if not start_c < to_c:
        raise InputRefused(f"to is {to_c:g} °C; allowed: above the start, {start_c:g} °C")
    own, fusion = read(typed, "heat"), read(typed, "fusion")
    if (own is None) != (fusion is None):
        raise InputRefused("heat and fusion: allowed: both or none, as the table's heat holds both")
    if own is not None and fusion is not None:
        j_kg = own * (to_c - start_c) + 1000.0 * fusion
    else:
        j_kg = enthalpy_j_kg(to_c) - enthalpy_j_kg(start_c)
    found: dict[str, Any] = {"kj_per_kg": j_kg / 1000.0, "kwh": kg * j_kg / 3.6e6}
    watts, minutes = read(typed, "power"), read(typed, "minutes")
    if watts is not None and minutes is not None:
        found["share"] = kg * j_kg / (watts * minutes * 60.0)
    elif watts is not None:
        found["minutes_at_full_share"] = kg * j_kg / watts / 60.0
    _show(found, as_json)


def _show(found: Mapping[str, Any], as_json: bool) -> None:
    if as_json:
        print_json(found)
        return
    for name, value in found.items():
        if isinstance(value, Mapping):
            _show(value, as_json=False)
        elif value is not None:
            click.echo(f"{name:<22} {value:.5g}" if isinstance(value, float) else f"{name:<22} {value}")
