"""What a person asks, field by field as typed, read into what is reckoned with. Command and page share it."""

from collections.abc import Mapping, Sequence
from functools import partial

from supervisor.furnace.shape import FORMS, Chamber
from supervisor.refusal import InputRefused
from supervisor.sizing import quantities as q
from supervisor.sizing.alloys import alloy, table
from supervisor.sizing.bricks import WORDS, material, of_conductivity
from supervisor.sizing.chamber import POT_OF_METAL, Place, checked
from supervisor.sizing.circuits import Circuit, circuit
from supervisor.sizing.design import Wanted
from supervisor.sizing.elements import IN_A_GROOVE
from supervisor.sizing.fields import Field, Typed, must, read
from supervisor.sizing.films import Outside
from supervisor.sizing.gauges import Gauge, american, gauge, metric
from supervisor.sizing.walls import Layer

FIELDS: Mapping[str, Field] = {
    "volts": Field(q.VOLTAGE, 12.0, 480.0),
    "breaker": Field(q.CURRENT, 1.0, 125.0),
    "allowed": Field(q.CURRENT, 0.1, 125.0),
    "across": Field(q.LENGTH, 20.0, 2000.0),
    "depth": Field(q.LENGTH, 20.0, 2000.0),
    "target": Field(q.TEMPERATURE, 100.0, 1200.0, 800.0),
    "room": Field(q.TEMPERATURE, -30.0, 60.0, 20.0),
    "metal": Field(q.MASS, 0.01, 200.0),
    "pot": Field(q.MASS, 0.05, 200.0),
    "pour": Field(q.TEMPERATURE, 100.0, 1200.0),
    "ramp": Field(q.RATE, 1.0, 5000.0, 300.0),
    "power": Field(q.POWER, 10.0, 60_000.0),
    "load": Field(q.SURFACE_LOAD, 0.1, 20.0),
    "seen": Field(q.NUMBER, 0.1, 1.0, IN_A_GROOVE),
    "groove": Field(q.LENGTH, 2.0, 60.0, 16.0),
    "rounds": Field(q.NUMBER, 1.0, 60.0),
    "elements": Field(q.NUMBER, 1.0, 12.0, 1.0),
}
"""The fields of a furnace and its element."""

POUR_C = 720.0
LEAST_LAYER_MM, MOST_LAYER_MM = 1.0, 6000.0
GAUGES = ("metric", "awg", "both")


maybe, given = partial(read, fields=FIELDS), partial(must, fields=FIELDS)


def whole(typed: Typed, name: str) -> int | None:
    """A whole number, its usual value, or None.

    Raises:
        InputRefused: it is none.
    """
    found = maybe(typed, name)
    if found is not None and found != int(found):
        raise InputRefused(f"{name} is {typed[name].strip()!r}; allowed: a whole number")
    return None if found is None else int(found)


def supply(typed: Typed) -> Circuit:
    """The circuit.

    Raises:
        InputRefused: something is missing, or the rule is looser than the place's.
    """
    if not typed.get("place", "").strip():
        raise InputRefused("place is missing; allowed: the place whose rule holds, as us, uk-plug, eu-fixed, elsewhere")
    return circuit(
        given(typed, "volts"),
        given(typed, "breaker"),
        typed["place"].strip(),
        by_rule=typed.get("rule", "").strip() or None,
        lower_a=maybe(typed, "allowed"),
    )


def layer(typed: str, field: str = "wall") -> Layer:
    """One layer: 'LENGTH: MATERIAL', or 'LENGTH: CONDUCTIVITY', or that with ': DENSITY: SPECIFIC HEAT'.

    Raises:
        InputRefused: it is none.
    """
    parts = [part.strip() for part in typed.split(":")]
    if len(parts) not in (2, 4):
        raise InputRefused(
            f"{field} is {typed.strip()[:60]!r}; allowed: thickness, a colon, and one of {', '.join(WORDS)} or a"
            " conductivity, as '114 mm: 23' or '8 in: 0.68 Btu/h/ft/F'"
        )
    mm = q.read(parts[0], q.LENGTH, field, LEAST_LAYER_MM, MOST_LAYER_MM)
    if parts[1] in WORDS:
        return Layer(material(parts[1]), mm)
    if not parts[1][:1].isdigit() and parts[1][:1] not in (".", ","):
        return Layer(material(parts[1]), mm)  # refused, with the list
    w_m_k = q.read(parts[1], q.CONDUCTIVITY, f"{field}'s conductivity", 0.01, 500.0)
    if len(parts) == 2:
        return Layer(of_conductivity(w_m_k), mm)
    density = q.read(parts[2], q.DENSITY, f"{field}'s density", 10.0, 25_000.0)
    return Layer(
        of_conductivity(w_m_k, density, q.read(parts[3], q.SPECIFIC_HEAT, f"{field}'s heat", 50.0, 10_000.0)), mm
    )


def layers(typed: Sequence[str], field: str = "wall") -> tuple[Layer, ...]:
    """The layers of a wall, hot side first.

    Raises:
        InputRefused: none, or more than six, or one that cannot be.
    """
    found = tuple(layer(each, field) for each in typed if each.strip())
    if not 1 <= len(found) <= 6:
        raise InputRefused(f"{field} has {len(found)} layers; allowed: 1 to 6, hot side first, as '114 mm: 23'")
    return found


def chamber(typed: Typed) -> Chamber:
    """The inside.

    Raises:
        InputRefused: no such form, or a size that cannot be.
    """
    wanted = typed.get("shape", "").strip()
    form = next((each for each in FORMS if each == wanted), None)
    if form is None:
        raise InputRefused(f"shape is {wanted[:20]!r}; allowed: {', '.join(FORMS)}")
    return Chamber(form, given(typed, "across") / 1000.0, given(typed, "depth") / 1000.0)


def place(typed: Typed, wall: Sequence[str], lid: Sequence[str]) -> Place:
    """The furnace on paper.

    Raises:
        InputRefused: a field is missing, or cannot be.
    """
    target_c, metal_kg = given(typed, "target"), maybe(typed, "metal") or 0.0
    pot_kg = maybe(typed, "pot")
    found = Place(
        chamber(typed),
        layers(wall),
        layers(lid, "lid") if any(each.strip() for each in lid) else None,
        target_c,
        Outside(room_c=given(typed, "room")),
        metal_kg,
        POT_OF_METAL * metal_kg if pot_kg is None else pot_kg,
        maybe(typed, "pour") or min(POUR_C, target_c),
    )
    for each in (*found.layers, *(found.lid or ())):
        if not each.material.density_kg_m3:
            raise InputRefused(
                f"wall has a layer of {each.material.words} alone; allowed: its density and specific heat too, as"
                " '114 mm: 0.16: 490 kg/m3: 980 J/kg/K', or a material of the list"
            )
    return checked(found)


def wanted(typed: Typed, wall: Sequence[str], lid: Sequence[str], alloys: Sequence[str]) -> Wanted:
    """Everything that an element is sized by.

    Raises:
        InputRefused: a field is missing, or cannot be.
    """
    join = typed.get("join", "").strip() or "parallel"
    if join not in ("parallel", "series"):
        raise InputRefused(f"join is {join[:20]!r}; allowed: parallel, series")
    return Wanted(
        supply(typed),
        place(typed, wall, lid),
        maybe(typed, "power"),
        tuple(dict.fromkeys(alloy(each) for each in alloys if each.strip())) or tuple(table().values()),
        gauges(typed),
        given(typed, "groove"),
        whole(typed, "rounds"),
        maybe(typed, "load"),
        given(typed, "seen"),
        whole(typed, "elements") or 1,
        join == "series",
    )


def gauges(typed: Typed) -> tuple[Gauge, ...]:
    """The list of wires to choose from; one that is named is all of it.

    Raises:
        InputRefused: no such list.
    """
    if typed.get("wire", "").strip():
        return (gauge(typed["wire"]),)
    name = typed.get("gauges", "").strip() or "metric"
    if name not in GAUGES:
        raise InputRefused(f"gauges is {name[:20]!r}; allowed: {', '.join(GAUGES)}")
    return (*(metric() if name != "awg" else []), *(american() if name != "metric" else []))
