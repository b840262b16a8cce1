"""Why an ingot is poor: what in its record departs from the usual, by how far, and by what was seen at the cutter.

Nothing here is a finding. Each cause is a reason that the trade knows, with the line of the record that speaks for it;
it is called likely only when that line is far out and the fault is of its kind. What nobody wrote down speaks for
nothing, and is named.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from supervisor.metal.evidence import Evidence, Usual, missing
from supervisor.metal.sludge import CAREFUL_PCT, CAST_SI_PCT, REDISSOLVES_C, factor_pct

MEMORY = "from memory"
PRACTICE = "common practice, no source"
HYDROGEN = (
    "Talbot and Anyalebechi, Materials Science and Technology 4 (1988) 1, abstract: 0.88 to 1.60 cm³/100 g from 700 to"
    " 800 °C"
)
CHIPS_SOURCE = (
    "Materials Science Forum 794-796 (2014) 1083, abstract: about 90 % of turnings come back; the rest from memory"
)
SLUDGE_SOURCE = "sum by a supplier's rule, ceilings from memory"

LIKELY, POSSIBLE, LEAST = 0.55, 0.25, 0.10
"""Scores from which a cause is called likely, possible, and is told at all (our choice)."""

CAP_C = 760.0
"""Nothing is gained above it: gas, coarse grain, lost magnesium (our choice, as for the pouring temperatures)."""


class Cause(NamedTuple):
    """One cause. score: 0 to 1, how far the record is out, times how well that explains what was seen."""

    id: str
    title: str
    score: float
    evidence: str
    source: str

    @property
    def surely(self) -> str:
        """How sure, in a word."""
        return "likely" if self.score >= LIKELY else "possible" if self.score >= POSSIBLE else "a weak hint"


class Rule(NamedTuple):
    """One cause that the trade knows: what it does, and how far out the record is for it, 0 to 1."""

    id: str
    title: str
    does: Mapping[str, float]  # symptom to how well this explains it; others hardly
    far: Callable[[Evidence], tuple[float, str]]
    source: str


ANY, HARDLY = 0.6, 0.15
"""How well a cause explains an ingot of which nobody said what is wrong, and a fault that it is not known for."""


def rank(found: Evidence, most: int = 6) -> Sequence[Cause]:
    """The causes that the record speaks for, the best explained first."""
    causes = []
    for rule in RULES:
        strength, sentence = rule.far(found)
        score = min(1.0, max(0.0, strength)) * _fit(rule, found.symptoms)
        if score >= LEAST:
            causes.append(Cause(rule.id, rule.title, round(score, 3), sentence, rule.source))
    return tuple(sorted(causes, key=lambda cause: -cause.score)[:most])


def _fit(rule: Rule, seen: Sequence[str]) -> float:
    return max((rule.does.get(symptom, HARDLY) for symptom in seen), default=ANY)


def verdict(causes: Sequence[Cause], found: Evidence) -> str:
    """The one sentence: as sure as the record lets it be."""
    if not causes:
        return "Nothing in the record stands out. " + missing(found)
    first = causes[0]
    if len(causes) > 1 and causes[1].score > 0.8 * first.score:
        return (
            f"Two things stand out, and the record cannot part them: {_low(first.title)}, and {_low(causes[1].title)}."
        )
    if first.score >= LIKELY:
        return f"Likely: {_low(first.title)}."
    if first.score >= POSSIBLE:
        return f"Possible: {_low(first.title)}; the record is not sure."
    return f"Only a weak hint: {_low(first.title)}. {missing(found)}".rstrip()


def _low(title: str) -> str:
    return title[:1].lower() + title[1:]


def _above(value: float | None, usual: Usual | None, least: float, ratio: float) -> float:
    """How far a value is above what is usual, 0 to 1: at `ratio` times the usual it is far out."""
    if value is None or usual is None:
        return 0.0
    over = value - usual.middle
    noise = max(least, 2.0 * usual.departure)
    span = max((ratio - 1.0) * usual.middle, 2.0 * noise)
    return min(1.0, max(0.0, (over - noise) / max(span - noise, 1e-9)))


def _held_long(e: Evidence) -> tuple[float, str]:
    far = _above(e.liquid_min, e.usual_liquid_min, 8.0, 2.0)
    if not far or e.liquid_min is None or e.usual_liquid_min is None:
        return 0.0, ""
    damp = ", on a damp day" if e.air == "damp" else ""
    more = 0.1 if e.air == "damp" else 0.0
    return 0.85 * far + more, f"{e.liquid_min:.0f} min liquid{damp}; usual here {e.usual_liquid_min.middle:.0f}."


def _overheated(e: Evidence) -> tuple[float, str]:
    if e.metal_most_c is None:
        return 0.0, ""
    far = (e.metal_most_c - CAP_C - 8.0) / 35.0
    by = {"dip": "by the dip", "estimate": "by the estimate", "reading": "by the chamber's reading"}.get(e.metal_by, "")
    return 0.95 * min(
        1.0, far
    ), f"The metal was up to {e.metal_most_c:.0f} °C {by}; nothing is gained above {CAP_C:.0f}."


def _poured_cold(e: Evidence) -> tuple[float, str]:
    if e.poured_c is None or e.pour_low_c is None:
        return 0.0, ""
    far = (e.pour_low_c - 5.0 - e.poured_c) / 25.0
    return 0.95 * min(
        1.0, far
    ), f"Poured at about {e.poured_c:.0f} °C; this metal is poured from {e.pour_low_c:.0f} on."


def _damp_air(e: Evidence) -> tuple[float, str]:
    long_min = _above(e.liquid_min, e.usual_liquid_min, 8.0, 2.0)
    return (0.45 + 0.2 * long_min if e.air == "damp" else 0.0), "The day was damp, by what was said at the plan."


def _undried(e: Evidence) -> tuple[float, str]:
    if e.undried:
        return 0.95, e.undried[0]
    if e.dry_hours is not None and e.dry_hours > 8.0:
        return 0.3 * (
            e.dry_hours - 8.0
        ) / 4.0, f"Dried {e.dry_hours:.0f} h before it went in: in date, but cold by then."
    return 0.0, ""


def _mould_damp(e: Evidence) -> tuple[float, str]:
    return (0.9, e.mould_undried[0]) if e.mould_undried else (0.0, "")


def _mould_cold(e: Evidence) -> tuple[float, str]:
    if e.mould_hours is None or e.usual_mould_hours is None:
        return 0.0, ""
    far = (e.mould_hours - e.usual_mould_hours - 1.5) / 4.0
    usual = f"; usual here {e.usual_mould_hours:.0f} h"
    return 0.9 * min(1.0, far), f"The mould had left the heat {e.mould_hours:.0f} h before the pour{usual}."


def _cooled(e: Evidence) -> tuple[float, str]:
    if e.iron_over_metal is None or e.usual_iron is None:
        return 0.0, ""
    ratio = e.iron_over_metal / e.usual_iron
    far = (1.0 / ratio - 1.3) / 1.2
    of = f"Its mould weighs {e.iron_over_metal:.1f} times the ingot, usual here {e.usual_iron:.1f}"
    return 0.8 * min(1.0, far), f"{of}: it took the heat away slowly."


def _skimmed_little(e: Evidence) -> tuple[float, str]:
    if e.skims is None or e.usual_skims is None:
        return 0.0, ""
    far = min(1.0, max(0.0, e.usual_skims - e.skims)) if e.skims < e.usual_skims else 0.0
    times = "not skimmed" if e.skims == 0 else f"skimmed {e.skims} times"
    return 0.85 * far, f"By the notes it was {times}; usual here {e.usual_skims:.0f}."


def _much_dross(e: Evidence) -> tuple[float, str]:
    far = _above(e.dross_share, e.usual_dross, 0.012, 2.5)
    if not far or e.dross_share is None or e.usual_dross is None:
        return 0.0, ""
    return (
        0.75 * far,
        f"Dross was {e.dross_share:.1%} of the charge; usual here for such scrap {e.usual_dross.middle:.1%}.",
    )


def _chips(e: Evidence) -> tuple[float, str]:
    far = (e.chips_share - max(0.05, e.usual_chips_share)) / 0.22
    return 0.9 * min(1.0, far), f"{e.chips_share:.0%} of the charge were chips: much surface, much oxide."


def _low_alloy(e: Evidence) -> tuple[float, str]:
    if not e.likely or e.castings:
        return 0.0, ""
    strength = sum(e.likely.get(element, 0.0) * times for element, times in (("Cu", 1.0), ("Mg", 0.8), ("Si", 0.5)))
    far = (1.45 - strength) / 0.75
    aged = "and it was aged" if e.aged else "and never aged"
    sentence = f"Low in copper, magnesium and silicon, near {e.near or 'no listed alloy'}, {aged}."
    return (0.35 if e.aged else 0.9) * min(1.0, max(0.0, far)), sentence


def _iron(e: Evidence) -> tuple[float, str]:
    iron = e.likely.get("Fe", 0.0)
    ceiling = 0.75 if e.likely.get("Si", 0.0) > CAST_SI_PCT else 1.0
    return 0.9 * min(
        1.0, (iron - ceiling) / 0.5
    ), f"Iron {iron:.2f} %: needles that make castings brittle above {ceiling:g}."


def _sludge(e: Evidence) -> tuple[float, str]:
    factor = factor_pct(e.likely)
    if e.likely.get("Si", 0.0) <= CAST_SI_PCT or e.cool_min < 10.0:
        return 0.0, ""
    stood = f"stood {e.cool_min:.0f} min liquid below {REDISSOLVES_C:.0f} °C"
    return 0.9 * min(1.0, (factor - CAREFUL_PCT + 0.2) / 0.6), f"Fe + 2 Mn + 3 Cr is {factor:.1f} %, and it {stood}."


def _tramps(e: Evidence) -> tuple[float, str]:
    names = {"Pb": "lead", "Bi": "bismuth", "Sn": "tin"}
    limits = {"Pb": 0.02, "Bi": 0.02, "Sn": 0.08}
    over = {element: e.likely.get(element, 0.0) / limits[element] for element in names}
    worst = max(over, key=lambda element: over[element])
    far = (over[worst] - 0.8) / 3.0
    sentence = (
        f"{e.likely.get(worst, 0.0):.2f} % {names[worst]}, likely: it melts between the grains and stays for ever."
    )
    return 0.95 * min(1.0, far), sentence


def _contaminated(e: Evidence) -> tuple[float, str]:
    return (0.85, e.contaminated) if e.contaminated else (0.0, "")


def _wrong_mix(e: Evidence) -> tuple[float, str]:
    if e.found_out:
        return 0.85, e.found_out[0]
    if e.near_then and e.near and e.near != e.near_then:
        return 0.8, f"Planned as near {e.near_then}; by what is known of its lots now it is near {e.near}."
    if e.unknown_share > 0.05:
        return min(0.7, 0.3 + e.unknown_share), f"{e.unknown_share:.0%} of the charge is metal that nobody knows."
    return 0.0, ""


def _hung_up(e: Evidence) -> tuple[float, str]:
    return (0.8, e.roof) if e.roof else (0.0, "")


def _sensor(e: Evidence) -> tuple[float, str]:
    if e.sensor_off_k is None:
        return 0.0, ""
    beyond = abs(e.sensor_off_k) - max(6.0, 1.6 * (e.sensor_sd_k or 3.0))
    way = (
        "too low: the metal was hotter than it said"
        if e.sensor_off_k < 0.0
        else "too high: the metal was colder than it said"
    )
    return 0.9 * min(1.0, beyond / 15.0), f"The thermocouple read about {abs(e.sensor_off_k):.0f} K {way}."


_MELTED = "Liquid for long"
RULES: tuple[Rule, ...] = (
    Rule("undried", "Something went in damp", {"pores": 1.0, "skins": 0.5}, _undried, PRACTICE),
    Rule("held-long", f"{_MELTED}: gas and oxide", {"pores": 1.0, "skins": 0.7, "coarse": 0.7}, _held_long, HYDROGEN),
    Rule("overheated", "Too hot", {"pores": 0.95, "coarse": 1.0, "skins": 0.6, "cracks": 0.4}, _overheated, HYDROGEN),
    Rule("damp-air", "Damp air", {"pores": 0.9, "skins": 0.3}, _damp_air, MEMORY),
    Rule("poured-cold", "Poured too cold", {"laps": 1.0, "skins": 0.6, "coarse": 0.2}, _poured_cold, MEMORY),
    Rule("mould-damp", "The mould was not proved dry", {"pores": 1.0, "laps": 0.6}, _mould_damp, PRACTICE),
    Rule("mould-cold", "The mould was cold", {"laps": 0.95, "cracks": 0.6, "pores": 0.4}, _mould_cold, PRACTICE),
    Rule("cooled-slowly", "It cooled slowly", {"gums": 0.7, "coarse": 0.95, "pores": 0.4}, _cooled, MEMORY),
    Rule("skimmed-little", "Skimmed too little", {"skins": 1.0, "hard": 0.7}, _skimmed_little, PRACTICE),
    Rule("dross", "Much dross", {"skins": 0.95, "hard": 0.7}, _much_dross, MEMORY),
    Rule("chips", "Many chips in the charge", {"skins": 0.9, "hard": 0.95, "pores": 0.6}, _chips, CHIPS_SOURCE),
    Rule("low-alloy", "A soft alloy, as cast", {"gums": 1.0}, _low_alloy, f"{PRACTICE}; natural ageing from memory"),
    Rule("iron", "Too much iron", {"cracks": 0.9, "hard": 0.9}, _iron, MEMORY),
    Rule("sludge", "Sludge", {"hard": 1.0, "cracks": 0.4}, _sludge, SLUDGE_SOURCE),
    Rule("tramp", "Lead, bismuth or tin", {"cracks": 1.0}, _tramps, MEMORY),
    Rule("contaminated", "A contaminated lot", {"cracks": 0.9, "hard": 0.6, "gums": 0.5}, _contaminated, MEMORY),
    Rule(
        "wrong-mix",
        "Not the alloy that it was taken for",
        {"gums": 0.8, "cracks": 0.8, "hard": 0.8, "coarse": 0.5},
        _wrong_mix,
        PRACTICE,
    ),
    Rule("hung-up", "It hung up", {"skins": 0.95, "pores": 0.7, "gums": 0.4}, _hung_up, PRACTICE),
    Rule(
        "sensor",
        "The thermocouple read wrong",
        {"pores": 0.9, "laps": 0.9, "coarse": 0.9, "skins": 0.5},
        _sensor,
        "this furnace's own melts",
    ),
)
"""Every cause, the order without meaning. What each does to an ingot: from memory, where no source is named."""
