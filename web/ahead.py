"""What is promised and what comes, as rows of the page: be back, gate, melting, pour, the next sign, the end."""

from collections.abc import Callable
from typing import Any, NamedTuple

from web import words


class Row(NamedTuple):
    """One thing that comes: its hour (ms UTC, on the furnace's own clock), what, and what goes with it."""

    in_s: float
    what: str
    more: str


def rows(s: dict[str, Any], metal: dict[str, Any] | None, sign_hour: Callable[[float], str]) -> list[Row]:
    """What comes in a firing that goes on, the next first. Sentences in °C; the page turns them."""
    found = [*_back(s), *_gate(s), *_metal(s, metal), *_sign(s, sign_hour)]
    firing = s["firing"]
    if s["furnace"].get("looks_only"):
        return sorted(found)  # whoever heats knows when it ends
    found.append(
        Row(
            firing["longest_s"] - firing["elapsed_s"],
            "The firing ends, whatever else",
            f"its longest time, {words.duration(firing['longest_s'])}",
        )
    )
    return sorted(found)


def _back(s: dict[str, Any]) -> list[Row]:
    back = s["be_back"]
    if back["in_s"] is None or back["within_min"] is not None:
        return []
    why = {"gate": "the earliest that the gate may ask, less five minutes", "sign": "the next sign is due then"}
    return [Row(back["in_s"], "Be back at the furnace", why[back["limit"]])]


def _gate(s: dict[str, Any]) -> list[Row]:
    gate, found = s["gate"], []
    if gate["in_s"] is not None:
        more = f"without one it waits at {gate['limit_c']:.0f} °C; nothing melts"
        found.append(Row(gate["in_s"], "The gate asks for a press", more))
    if gate["state"] == "open" and gate["open_until_s"] is not None:
        left_s = gate["open_until_s"] - s["monotonic_s"]
        if s["may_be_liquid"]:
            found.append(Row(left_s, "Press at the furnace before this", "each 15 min until the pot is drained"))
        else:
            found.append(Row(left_s, "The gate shuts again", "a press opens it for 15 min at a time"))
    return found


def _metal(s: dict[str, Any], metal: dict[str, Any] | None) -> list[Row]:
    if metal is None or metal["pour_in_s"] is None or metal["minutes"] is None:
        return []
    minutes, found = metal["minutes"], []
    first = "; a press at the gate comes first" if s["gate"]["state"] in ("shut", "asked") else ""
    starts_s = _starts_s(s, metal)
    if starts_s is not None:
        found.append(Row(starts_s, "Melting starts", f"about, give or take {minutes['give_min']} min{first}"))
    more = f"{minutes['words']}, give or take {minutes['give_min']}{first}; heat off and proved before anybody looks"
    found.append(Row(metal["pour_in_s"], "Pour likely from here", more))
    return found


def _starts_s(s: dict[str, Any], metal: dict[str, Any]) -> float | None:
    """When the likely metal comes to its solidus, s from now; None: it is past it, or has none that is known."""
    solidus_c = (s["charge"] or {}).get("solidus_c")
    if solidus_c is None or metal["phase"] != "solid":
        return None
    before_s, before_c = 0.0, metal["c"]
    for at_s, c in metal["ahead"]:
        if c >= solidus_c > before_c:
            return float(before_s + (at_s - before_s) * (solidus_c - before_c) / (c - before_c))
        before_s, before_c = at_s, c
    return None


def _sign(s: dict[str, Any], sign_hour: Callable[[float], str]) -> list[Row]:
    a = s["attendance"]
    if a["due_s"] is None or a["due_s"] < s["monotonic_s"] or s["be_back"]["limit"] == "sign":
        return []
    by = "only a press at the furnace counts" if a["only_presses"] else "a tap, or a press at the furnace"
    hold = "" if a["hold_s"] is None else f"; without one it is held at {sign_hour(a['hold_s'] - s['monotonic_s'])}"
    return [Row(a["due_s"] - s["monotonic_s"], "The next sign is due", by + hold)]
