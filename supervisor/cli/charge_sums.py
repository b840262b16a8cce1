"""`meltkeeper charge mix`, `bar` and `density`: sums of the trade, without furnace or book."""

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from supervisor.cli.numbers import NUMBER
from supervisor.cli.opened_book import print_json
from supervisor.metal.alloys import alloy
from supervisor.metal.composition import Composition, checked_percentages, of_alloy, of_percentages
from supervisor.metal.density import looks_like, weighed_in_water
from supervisor.metal.limits import misses, nearest
from supervisor.metal.liquidus import liquidus, pour
from supervisor.metal.mix import Mix, Part, addition_kg, mix
from supervisor.metal.shrinkage import mould_for_bar
from supervisor.metal.sludge import factor_pct
from supervisor.refusal import InputRefused

ATOMIC_MASS = {
    "Al": 26.982, "Si": 28.085, "Fe": 55.845, "Cu": 63.546, "Mn": 54.938, "Mg": 24.305, "Cr": 51.996, "Ni": 58.693,
    "Zn": 65.38, "Ti": 47.867, "Sn": 118.71, "Pb": 207.2, "Bi": 208.98,
}  # fmt: skip
"""g/mol: abridged standard atomic weights, IUPAC 2021."""

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON; docs/plan.md lists the names.")


@click.command("mix")
@click.argument("file", type=click.Path(path_type=Path, allow_dash=True))
@click.option("--to", "wish", metavar="ELEMENT=PCT", help="Also: how much of that element, added pure, gets there.")
@click.option("--recovery", type=NUMBER, default=1.0, show_default=True, help="Share of it that comes through.")
@json_option
def mixture(file: Path, wish: str | None, recovery: float, as_json: bool) -> None:
    """Reckon the mix of FILE (- for standard input): JSON with `lots` and, if any, `pick_up_g`.

    Each lot has kg, form (or `none`: nothing is lost) and an alloy, or its composition in wt% as `comp`.

    Exit status: 0 done, 2 refused input.
    """
    given = _read(file)
    parts = [_part(number, each) for number, each in enumerate(_lots(given), start=1)]
    found = mix(parts, _grams(given.get("pick_up_g") or {}))
    record = _as_json(found)
    record["limits"] = {
        name: [miss._asdict() | {"words": miss.words} for miss in misses(found.composition, alloy(name))]
        for name in _against(given)
    }
    if wish is not None:
        element, pct = _wish(wish)
        record["addition_g"] = 1000.0 * addition_kg(found, element, pct, 100.0, _share(recovery))
    if as_json:
        print_json(record)
        return
    click.echo(f"{found.melt_kg:.3f} kg of {found.charged_kg:.3f}: loss {found.loss_pct:.2f} %.")
    for element, pct in sorted(record["composition_pct"].items(), key=lambda each: -each[1]):
        click.echo(f"  {element:<3}{pct:9.4f} %")
    click.echo(record["liquidus_why"] or f"Liquidus {record['liquidus_c']:.0f} ± 5 °C.")
    if wish is not None:
        click.echo(f"{wish.partition('=')[0]} to add: {record['addition_g']:.2f} g.")


@click.command("bar")
@click.option("--diameter-mm", type=NUMBER, required=True, help="Of the finished bar.")
@click.option("--length-mm", type=NUMBER, required=True, help="Of the finished bar.")
@click.option("--loss", type=NUMBER, default=0.02, show_default=True, help="Melt loss, as a share of the charge.")
@json_option
def bar(diameter_mm: float, length_mm: float, loss: float, as_json: bool) -> None:
    """Say how large a mould, and how much metal, a round bar needs that is turned from the ingot.

    Exit status: 0 done, 2 refused input.
    """
    found = mould_for_bar(diameter_mm, length_mm, loss)
    if as_json:
        print_json(found._asdict())
        return
    size = f"{found.mould_diameter_mm:.1f} mm wide, {found.mould_depth_mm:.1f} mm deep, {found.mould_ml:.0f} ml"
    click.echo(f"Mould {size}. Ingot {found.ingot_kg:.2f} kg, charge {found.charge_kg:.2f} kg.")


@click.command("density")
@click.argument("dry_g", type=NUMBER)
@click.argument("in_water_g", type=NUMBER)
@json_option
def density(dry_g: float, in_water_g: float, as_json: bool) -> None:
    """Say what a piece is like that weighs DRY_G dry and IN_WATER_G hanging in water. Dry it again afterwards.

    Exit status: 0 done, 2 refused input.
    """
    found = weighed_in_water(dry_g, in_water_g)
    if as_json:
        print_json({"density_g_cm3": found, "looks_like": looks_like(found)})
        return
    click.echo(f"{found:.2f} g/cm³: {looks_like(found)}. It is wet now: dry it before it goes near the furnace.")


def _read(file: Path) -> Mapping[str, Any]:
    try:
        text = sys.stdin.read() if str(file) == "-" else file.read_text(encoding="utf-8")
        found = json.loads(text)
    except (OSError, ValueError) as error:
        raise InputRefused(f"{file} cannot be read: {error}") from error
    if not isinstance(found, dict):
        raise InputRefused(f"{file} is no object; allowed: an object with lots")
    return found


def _lots(given: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    found = given.get("lots")
    if not isinstance(found, list) or not all(isinstance(each, dict) for each in found):
        raise InputRefused("lots is missing; allowed: a list of objects with kg, form and alloy or comp")
    return found


def _part(number: int, given: Mapping[str, Any]) -> Part:
    name = str(given.get("name") or f"lot {number}")
    kg = given.get("kg")
    if isinstance(kg, bool) or not isinstance(kg, int | float):
        raise InputRefused(f"{name}: kg is {kg!r}; allowed: a number above 0 kg, with a point")
    return Part(name, float(kg), str(given.get("form", "none")), _composition(name, given))


def _composition(name: str, given: Mapping[str, Any]) -> Composition:
    whole = given.get("comp")
    if whole is None:
        certainty = str(given.get("certainty", "marked"))
        measured = given.get("measured") or {}
        if not isinstance(measured, dict):
            raise InputRefused(f"{name}: measured is no object; allowed: wt% by element")
        return of_alloy(str(given.get("alloy", "unknown")), certainty, measured)
    if not isinstance(whole, dict):
        raise InputRefused(f"{name}: comp is no object; allowed: wt% by element")
    return of_percentages(whole)


def _grams(given: Any) -> dict[str, float]:
    if not isinstance(given, dict) or not all(isinstance(grams, int | float) for grams in given.values()):
        raise InputRefused("pick_up_g is no object of numbers; allowed: grams by element")
    return {str(element): float(grams) for element, grams in given.items()}


def _against(given: Mapping[str, Any]) -> list[str]:
    found = given.get("against") or []
    if not isinstance(found, list | dict) or not all(isinstance(each, str) for each in found):
        raise InputRefused("against is no list; allowed: names of alloys")
    return list(found)


def _wish(typed: str) -> tuple[str, float]:
    element, _, pct = typed.partition("=")
    try:
        ((found, wanted),) = checked_percentages({element.strip(): float(pct.replace(",", "."))}, "--to").items()
    except (ValueError, IndexError) as error:
        raise InputRefused(f"--to is {typed!r}; allowed: ELEMENT=PCT, as Mg=0.35") from error
    return found, wanted


def _share(value: float) -> float:
    if not 0.0 < value <= 1.0:
        raise InputRefused(f"--recovery is {value:g}; allowed: above 0, up to 1")
    return value


def _as_json(found: Mix) -> dict[str, Any]:
    likely, liquid = found.composition.likely, liquidus(found.composition)
    near = nearest(found.composition)
    moles = {element: pct / ATOMIC_MASS[element] for element, pct in likely.items() if element in ATOMIC_MASS}
    return {
        "charged_kg": found.charged_kg,
        "picked_up_kg": found.picked_up_kg,
        "melt_kg": found.melt_kg,
        "melt_loss_pct": found.loss_pct,
        "dirt_kg": found.dirt_kg,
        "retained_g": {element: 1000.0 * kg for element, kg in found.retained_kg.items()},
        "composition_pct": dict(likely),
        "low_pct": dict(found.composition.low),
        "high_pct": dict(found.composition.high),
        "composition_at_pct": {element: 100.0 * part / sum(moles.values()) for element, part in moles.items()},
        "sludge_factor_pct": factor_pct(likely),
        "near": None if near is None else near.alloy.name,
        "liquidus_c": liquid.c,
        "liquidus_why": liquid.why,
        "pour_low_c": pour(liquid.c).low_c,
        "pour_high_c": pour(liquid.c).high_c,
    }
