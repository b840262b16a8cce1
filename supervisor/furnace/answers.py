"""The furnace file that ten answers make: sizes filled in from what is known of such furnaces.

What is filled in is typical, and says so in the file; a maker's data sheet or a measurement replaces it.
"""

from collections.abc import Mapping, Sequence
from math import floor, pi

from supervisor.furnace.asked import BRICKS, QUESTIONS, SOURCE, WIRES, Brick, number, numbers, wrong
from supervisor.furnace.file import LIQUID_KG_M3
from supervisor.furnace.pins import OPTIONAL_LINES
from supervisor.furnace.shape import FORMS, Chamber, Form, inside_m2, outside_m2
from supervisor.refusal import InputRefused, refusal

WORKING_FILL = 0.8
"""Of the brim: room for tongs, skim and pour (common practice, no source)."""
SLOPE, RISE, FALL, DEAD_TIME_S = 0.033, 0.033, 0.053, 15.0
"""Of the reading, °C/s for each W/(m² W s½/m²K) of power over what the hot face takes up: within 15 % of both simulated
furnaces that ship, and no more is known until a step test."""


PINS = {
    "relay": 27,
    "enable": 22,
    "permit": 17,
    "lamp": 23,
    "sounder": 24,
    "emergency_stop": 5,
    "limiter": 6,
    "key": 26,
    "chain": 16,
    "permit_relay_1": 20,
    "mirror": 13,
    "reset_button": 18,
}
OPTIONAL_PINS = {
    "permit_relay_2": 21,
    "lid": 19,
    "load_current": 12,
    "mains": 15,
    "tray_probe": 4,
    "energy_pulse": 25,
}
"""The wiring of docs/wiring.md."""


def furnace_file(answers: Mapping[str, str]) -> str:
    """The furnace file of ten answers, as TOML text. `read_furnace` still judges it.

    Raises:
        InputRefused: an answer is missing or cannot be understood; it names the answer and what is allowed.
    """
    for name in answers:
        if name not in QUESTIONS:
            raise refusal(SOURCE, name, answers[name], f"only {', '.join(QUESTIONS)}")
    for name in QUESTIONS:
        if not answers.get(name, "").strip():
            raise InputRefused(f"{SOURCE}: {name} is missing; allowed: as in {QUESTIONS[name].example!r}")
    letter, _, title = answers["name"].strip().partition(" ")
    if not title:
        raise wrong("name", answers, "a capital letter, a space, and what you call it")
    volts, amps = numbers("supply", answers, 2)
    cold_ohm, hot_ratio, element = _element(answers)
    chamber, thickness_m, brick = _inside(answers)
    return "\n".join(
        [
            _HEAD,
            f"title = {_quoted(title)}",
            f"letter = {_quoted(letter)}",
            "invented = false",
            f"top_c = {_plain(numbers('top', answers, 1)[0])}",
            "",
            "[supply]",
            f"voltage_v = {_plain(volts)}",
            f"circuit_a = {_plain(amps)}",
            "",
            *element,
            *_wall(chamber, thickness_m, brick),
            *_crucible(answers),
            *_response(volts**2 / (cold_ohm * hot_ratio), chamber, brick),
            "[limiter]",
            "# As its dial is set: its own sensor, its own relay, reset by hand.",
            f"setting_c = {_plain(numbers('limiter', answers, 1)[0])}",
            "",
            "[relay]",
            "window_s = 5",
            "",
            *_lines(answers),
        ]
    )


_HEAD = """# Made by `meltkeeper furnace new` from ten answers. What says 'typical' was filled in: put in what you
# measured, or what your maker's data sheet says. docs/furnace-file.md explains every field.
#
# Mains wiring is done or checked by a licensed person, to the local code. This file makes none of it right.
"""


def _element(answers: Mapping[str, str]) -> tuple[float, float, list[str]]:
    """Its cold and hot resistance, and its table."""
    ohm_text, _, wire = answers["element"].strip().partition(" ")
    if wire.strip().lower() not in WIRES:
        raise wrong("element", answers, f"ohms, a space, and {' or '.join(WIRES)}; plain steel is no element")
    cold_ohm = number("element", ohm_text, answers)
    if not cold_ohm > 0.0:
        raise wrong("element", answers, "more than 0 ohm")
    alloy, hot_ratio = WIRES[wire.strip().lower()]
    table = [
        "[element]",
        f"cold_ohm = {_plain(cold_ohm)}",
        f"hot_ratio = {hot_ratio:g}  # typical of {alloy}",
        "",
    ]
    return cold_ohm, hot_ratio, table


def _inside(answers: Mapping[str, str]) -> tuple[Chamber, float, Brick]:
    """The chamber, the thickness of its wall in m, and its brick."""
    shape, *sizes = answers["chamber"].split()
    form: Form | None = next((each for each in FORMS if each == shape), None)
    if form is None or len(sizes) != 2:
        raise wrong("chamber", answers, "round, square or octagon, across and depth inside in mm")
    across_mm, depth_mm = (number("chamber", size, answers) for size in sizes)
    if not (20.0 <= across_mm <= 2000.0 and 20.0 <= depth_mm <= 2000.0):
        raise wrong("chamber", answers, "20 to 2000 mm across, and as deep")
    thickness_text, _, name = answers["wall"].strip().partition(" ")
    thickness_mm = number("wall", thickness_text, answers)
    brick = BRICKS.get(name.strip())
    if brick is None or not 10.0 <= thickness_mm <= 500.0:
        raise wrong("wall", answers, f"10 to 500 mm, a space, and one of {', '.join(BRICKS)}")
    if min(across_mm, depth_mm) <= thickness_mm / 5.0:
        raise wrong("chamber", answers, "inside sizes of more than a fifth of the wall's thickness")
    return Chamber(form, across_mm / 1000.0, depth_mm / 1000.0), thickness_mm / 1000.0, brick


def _wall(chamber: Chamber, thickness_m: float, brick: Brick) -> list[str]:
    across, depth = _plain(1000 * chamber.across_m), _plain(1000 * chamber.depth_m)
    return [
        "[wall]",
        f"# {chamber.form.capitalize()}, {across} mm across and {depth} mm deep inside.",
        "# The outside area is the one that conducts, edges and corners reckoned with (shape factors of Holman, Heat",
        "# Transfer, example 3-2), not the shell's.",
        f"thickness_mm = {_plain(1000.0 * thickness_m)}",
        f"inside_m2 = {inside_m2(chamber):.3f}",
        f"outside_m2 = {outside_m2(chamber, thickness_m):.3f}",
        f"# Typical of {brick.words}.",
        f"conductivity_w_m_k = {brick.conductivity_w_m_k:g}",
        f"conductivity_per_k = {brick.conductivity_per_k:g}",
        f"density_kg_m3 = {brick.density_kg_m3:g}",
        f"specific_heat_j_kg_k = {brick.specific_heat_j_kg_k:g}",
        "",
    ]


def _crucible(answers: Mapping[str, str]) -> list[str]:
    mass_kg, bore_mm, depth_mm = numbers("pot", answers, 3)
    brim_kg = LIQUID_KG_M3 * pi / 4.0 * (bore_mm / 1000.0) ** 2 * depth_mm / 1000.0
    return [
        "[crucible]",
        f"mass_kg = {_plain(mass_kg)}",
        f"capacity_kg = {floor(WORKING_FILL * brim_kg * 20.0) / 20.0:g}  # {WORKING_FILL:.0%} of the brim",
        f"bore_mm = {_plain(bore_mm)}",
        f"depth_mm = {_plain(depth_mm)}",
        "",
    ]


def _response(power_w: float, chamber: Chamber, brick: Brick) -> list[str]:
    """How the reading answers power: by power over what the hot face takes up."""
    conducts = brick.conductivity_w_m_k + 740.0 * brick.conductivity_per_k
    takes = inside_m2(chamber) * (conducts * brick.density_kg_m3 * brick.specific_heat_j_kg_k) ** 0.5
    per_s = power_w / takes
    return [
        "[response]",
        "# Typical, reckoned from power, hot face and brick: `meltkeeper furnace learn` and a step test say better.",
        f"slope_c_per_s = {_within(SLOPE * per_s, 0.01, 20.0):.2f}",
        f"dead_time_s = {DEAD_TIME_S:g}",
        f"fastest_rise_c_per_s = {_within(RISE * per_s, 0.01, 20.0):.2f}",
        f"fastest_fall_c_per_s = {_within(FALL * per_s, 0.01, 50.0):.2f}",
        "",
    ]


def _lines(answers: Mapping[str, str]) -> list[str]:
    """Meter, pins, and what is signed for as not fitted."""
    words = [word for word in answers["fitted"].replace(",", " ").split() if word != "nothing"]
    pulses = None
    fitted = set()
    for word in words:
        name, _, value = word.partition("=")
        if name == "meter":
            pulses, name = number("fitted", value, answers), "energy_pulse"
        elif value or name not in OPTIONAL_LINES or name == "energy_pulse":
            allowed = ", ".join(line for line in OPTIONAL_LINES if line != "energy_pulse")
            raise wrong("fitted", answers, f"{allowed}, meter=PULSES_PER_KWH, or nothing")
        fitted.add(name)
    if pulses is not None and pulses != floor(pulses):
        raise wrong("fitted", answers, "a whole number of pulses per kWh, as printed on the meter")
    pins = {**PINS, **{line: pin for line, pin in OPTIONAL_PINS.items() if line in fitted}}
    missing = [line for line in OPTIONAL_LINES if line not in fitted]
    return [
        *([] if pulses is None else ["[energy_meter]", f"pulses_per_kwh = {pulses:.0f}", ""]),
        "[pins]",
        "# BCM numbers, as in docs/wiring.md.",
        *(f"{line} = {pin}" for line, pin in pins.items()),
        f"sensor_chip_selects = {'[0, 1]' if 'second_sensor' in fitted else '[0]'}",
        "",
        *(
            ["[not_fitted]", f"said_by = {_quoted(answers['said_by'].strip())}", f"lines = {_list(missing)}"]
            * bool(missing)
        ),
        "",
    ]


def _within(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


def _plain(value: float) -> str:
    return f"{value:.6g}"


def _quoted(text: str) -> str:
    """A TOML string. What no file may hold is refused when it is read."""
    kept = "".join(letter for letter in text if letter.isprintable()).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{kept}"'


def _list(words: Sequence[str]) -> str:
    return f"[{', '.join(_quoted(word) for word in words)}]"
