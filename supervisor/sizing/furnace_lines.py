"""What a sizing gives to a furnace file: lines of TOML, and the answers of `furnace new` that follow from it."""

from supervisor.furnace.shape import inside_m2, outside_m2
from supervisor.sizing.chamber import Place
from supervisor.sizing.design import Candidate, Wanted
from supervisor.sizing.tables import between


def furnace_file(wanted: Wanted, best: Candidate) -> str:
    """The lines of a furnace file that follow from the sizing, as TOML: supply, element, wall."""
    place, lines = wanted.place, []
    lines += ["[supply]", f"voltage_v = {wanted.circuit.volts:.6g}", f"circuit_a = {wanted.circuit.allowed_a:.6g}", ""]
    lines += [
        "[element]",
        f"# {best.length_m:.2f} m of {best.wire.name} {best.alloy.words}, as sized: put in what you measure.",
        f"cold_ohm = {best.cold_ohm:.4g}",
        f"hot_ratio = {max(1.0, best.factor):.4g}",
        "",
    ]
    conducts, rises, density, warm = folded(place)
    lines += [
        "[wall]",
        f"# {', '.join(f'{layer.mm:g} mm {layer.material.words}' for layer in place.layers)}; as one layer.",
        f"thickness_mm = {1000.0 * place.thickness_m:.6g}",
        f"inside_m2 = {inside_m2(place.chamber):.3f}",
        f"outside_m2 = {outside_m2(place.chamber, place.thickness_m):.3f}",
        f"conductivity_w_m_k = {conducts:.3g}",
        f"conductivity_per_k = {rises:.2g}",
        f"density_kg_m3 = {density:.4g}",
        f"specific_heat_j_kg_k = {warm:.4g}",
    ]
    return "\n".join(lines) + "\n"


def folded(place: Place) -> tuple[float, float, float, float]:
    """The layers as one: conductivity at 0 °C and its rise, density, specific heat.

    The resistances in series at the mean temperature and at the room's; heat stored, weighed by volume at 440 °C.
    """
    room_c, mean_c = place.outside.room_c, (place.target_c + place.outside.room_c) / 2.0
    whole = sum(layer.mm for layer in place.layers)

    def conducts(at_c: float) -> float:
        return whole / sum(layer.mm / layer.material.conducts(at_c) for layer in place.layers)

    rises = max(0.0, (conducts(mean_c) - conducts(room_c)) / (mean_c - room_c))
    density = sum(layer.mm * layer.material.density_kg_m3 for layer in place.layers) / whole
    stores = sum(
        layer.mm * layer.material.density_kg_m3 * _at_440(layer.material.specific_heat_j_kg_k) for layer in place.layers
    )
    return conducts(mean_c) - rises * mean_c, rises, density, stores / whole / density


def answers(wanted: Wanted, best: Candidate) -> dict[str, str]:
    """The answers of `furnace new` that sizing knows."""
    place = wanted.place
    found = {
        "supply": f"{wanted.circuit.volts:.6g} {wanted.circuit.allowed_a:.6g}",
        "element": f"{best.cold_ohm:.4g} {'nichrome' if best.alloy.is_nickel else 'fecral'}",
        "chamber": f"{place.chamber.form} {1000 * place.chamber.across_m:.6g} {1000 * place.chamber.depth_m:.6g}",
    }
    name = place.layers[0].material.name
    if len(place.layers) == 1 and name in ("23", "26", "28", "dense"):
        found["wall"] = f"{place.layers[0].mm:.6g} {name}"
    return found


def _at_440(points: tuple[tuple[float, float], ...]) -> float:
    return between(points, 440.0)
