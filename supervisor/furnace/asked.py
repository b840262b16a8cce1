"""The ten questions about a furnace, as `furnace new` puts them, and what an answer may hold."""

from collections.abc import Mapping
from typing import NamedTuple

from supervisor.refusal import InputRefused, refusal
from supervisor.sizing.bricks import material
from supervisor.sizing.tables import between

SOURCE = "furnace new"


class Brick(NamedTuple):
    """Typical data-sheet values of a brick class."""

    words: str
    conductivity_w_m_k: float  # at 0 °C, by extending the sheet's line
    conductivity_per_k: float
    density_kg_m3: float
    specific_heat_j_kg_k: float


def _brick(name: str) -> Brick:
    """Its line through 400 and 800 °C in the table of refractories, and its specific heat between."""
    of = material(name)
    low, high = of.conducts(400.0), of.conducts(800.0)
    rises = (high - low) / 400.0
    return Brick(of.words, low - 400.0 * rises, rises, of.density_kg_m3, between(of.specific_heat_j_kg_k, 440.0))


BRICKS = {name: _brick(name) for name in ("23", "26", "28", "dense")}
"""Two makers of the same class differ by 15 to 20 %."""
WIRES = {"fecral": ("FeCrAl", 1.04), "nichrome": ("NiCr 80/20", 1.06)}
"""Hot over cold resistance at some 900 °C, from makers' tables; NiCr differs with how it was cooled."""


class Question(NamedTuple):
    """One question: what is asked, how an answer looks, and a picture."""

    asks: str
    example: str
    picture: str


QUESTIONS: Mapping[str, Question] = {
    "name": Question(
        "Its letter, and what you call it", "B Furnace by the door", "  [B]-087  heat numbers begin with it"
    ),
    "supply": Question(
        "Supply voltage, and the circuit's rating as your electrician allows it for hours (V A)",
        "230 16",
        "  L ──[breaker 16 A]──[relay]──/\\/\\/\\──┐\n  N ──────────────────────────────────┘ 230 V",
    ),
    "element": Question(
        "The element's resistance, measured cold at its own ends with the supply locked off, and its wire"
        f" ({', '.join(WIRES)})",
        "21.2 fecral",
        "   /\\/\\/\\/\\/\\   21.2 ohm cold",
    ),
    "chamber": Question(
        "Chamber: round, square or octagon; across (an octagon across flats) and depth inside (mm)",
        "round 190 230",
        "  ┌──lid──┐\n  │←190→│ ↕ 230\n  └───────┘",
    ),
    "wall": Question(
        f"Thickness of the lining (mm), and its brick ({', '.join(BRICKS)})",
        "114 23",
        "  ▒▒▒▒▒▒▒│ hot\n  ←114→",
    ),
    "pot": Question(
        "Crucible: weight empty (kg), bore and depth inside (mm)",
        "1.9 95 170",
        "  \\ ←95→ /\n   \\    / ↕ 170\n    └──┘  1.9 kg",
    ),
    "top": Question(
        "Highest temperature that any firing may ask for (°C)", "850", "  850 ┬ top\n      │ profiles stay below"
    ),
    "limiter": Question(
        "Setting of the independent limiter, from its dial (°C)",
        "900",
        "  900 ┬ limiter cuts\n  850 ┴ top, 50 K below at least",
    ),
    "fitted": Question(
        "What else is wired, with a space between: permit_relay_2 lid load_current mains tray_probe second_sensor"
        " meter=PULSES_PER_KWH; or: nothing",
        "permit_relay_2 lid meter=1000",
        "  [pin] ←─ opto ←─ contact",
    ),
    "said_by": Question("Who says that nothing else is fitted, and when", "Ada, 27 November", "  ✎ signed"),
}
"""In the order in which they are put."""


def numbers(name: str, answers: Mapping[str, str], count: int) -> list[float]:
    """The numbers of an answer.

    Raises:
        InputRefused: they are not so many, or no numbers.
    """
    parts = answers[name].split()
    if len(parts) != count:
        raise wrong(name, answers, f"{count} number{'s' * (count > 1)}, as in {QUESTIONS[name].example!r}")
    return [number(name, part, answers) for part in parts]


def number(name: str, text: str, answers: Mapping[str, str]) -> float:
    """One number of an answer.

    Raises:
        InputRefused: it is none.
    """
    try:
        value = float(text)
    except ValueError:
        raise wrong(name, answers, f"numbers with a decimal point, as in {QUESTIONS[name].example!r}") from None
    if not abs(value) < 1e6:
        raise wrong(name, answers, f"numbers that can be, as in {QUESTIONS[name].example!r}")
    return value


def wrong(name: str, answers: Mapping[str, str], allowed: str) -> InputRefused:
    """What is raised for an answer that cannot be used."""
    return refusal(SOURCE, name, answers[name].strip(), allowed)
