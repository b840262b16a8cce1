"""What the furnace has and what it lacks, as the link tells it once to whoever asks: it does not change while it runs.

What each part adds, what is lost without it, every watch with its title, and the faults that nothing can notice here.
"""

from collections.abc import Callable
from typing import Any, NamedTuple

from supervisor.alarms.texts import TEXTS
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.parts import PARTS as CHANGED
from supervisor.furnace.proofs import of as proofs
from supervisor.watches import WATCHES
from supervisor.watches.rows import FAMILIES


class Part(NamedTuple):
    """One thing that may be fitted. row: what the fault table calls it."""

    name: str
    fitted: Callable[[FurnaceDescription], bool]
    adds: str
    without: str
    needed: bool = False  # a real furnace does not start without it
    row: str = ""


PARTS = {
    "limiter": Part(
        "Limiter, with its contact read",
        lambda furnace: furnace.wiring.limiter is not None,
        "A device of its own that opens the contactor when it gets too hot, whatever this program does; its contact"
        " tells us that it did.",
        "A real furnace does not start.",
        needed=True,
    ),
    "mirror": Part(
        "Mirror contact of the safety contactor",
        lambda furnace: furnace.wiring.mirror is not None,
        "Proves that the contactor has opened: the only proof of 'heat is off' that needs no waiting.",
        "A real furnace does not start.",
        needed=True,
    ),
    "permit": Part(
        "Second permit relay, read back",
        lambda furnace: furnace.wiring.permit_relay_2 is not None,
        "Each relay of the heat permit is seen to let go by itself at every start.",
        "One welded relay is seen only through the other.",
    ),
    "lid": Part(
        "Lid switch",
        lambda furnace: furnace.wiring.lid is not None,
        "Heat goes off in the moment in which the lid opens; every opening also proves that the relay lets go.",
        "No boost, and no hour until which one may be away. Before hands go in, heat is stopped and the contactor is"
        " proved open; heat comes back by the button alone.",
    ),
    "meter": Part(
        "Energy meter with pulses",
        lambda furnace: furnace.pulses_per_kwh is not None,
        "Counts what really flows: power that nobody ordered, no power where it was ordered, low mains, an ageing"
        " element; the model learns four times as well.",
        "The start's relay proof lasts 90 s instead of 5. A relay that sticks while full power is wanted is not seen,"
        " nor one that conducts in one direction only. 'Heat is off' is proved by the mirror alone.",
        row="meter",
    ),
    "current": Part(
        "Current switch in the load's wire",
        lambda furnace: furnace.wiring.load_current is not None,
        "Says within seconds that current flows unasked, or does not flow when asked; that it does not flow takes up to"
        " a minute beside a meter, which must agree.",
        "Power unasked is noticed by the meter within seconds, missing power within a minute or so; without both, by"
        " the reading, in a minute or some more.",
        row="current",
    ),
    "second-sensor": Part(
        "Second thermocouple",
        lambda furnace: len(furnace.wiring.sensors) > 1,
        "Two readings that part say that one of them is wrong. It never controls.",
        "A sensor that drifts by less than 1 K a minute, or reads wrong from the start, is not seen: the energy"
        " allowance and your dips are what is left.",
        row="second-sensor",
    ),
    "mains": Part(
        "Mains presence",
        lambda furnace: furnace.wiring.mains is not None,
        "Tells a mains failure from an open chain or element.",
        "The cause is less certain: 'no power, or an open element'.",
        row="mains-presence",
    ),
    "tray": Part(
        "Probe in the drip tray",
        lambda furnace: furnace.wiring.tray_probe is not None,
        "Metal under the furnace conducts: heat ends and people are told to keep away, within two seconds.",
        "Escaping metal is not noticed: look at tray and pot before each charge.",
        row="tray-probe",
    ),
}

NEEDS = {
    "lid": ("lid",),
    "lid-left-open": ("lid",),
    "lid-not-cooling": ("lid",),
    "power-when-off": ("meter",),
    "power-without-command": ("meter",),
    "power-at-rest": ("meter", "current"),
    "no-power": ("meter",),
    "meter-disagrees": ("meter",),
    "mains-low": ("meter",),
    "element-shorted": ("meter",),
    "current-when-off": ("current",),
    "no-current": ("current",),
    "sensors-disagree": ("second-sensor",),
    "tray-wet": ("tray",),
}
"""Watches that have nothing to look at unless one of these is fitted."""


_OPTIONAL = {
    "lid-switch": "lid",
    "meter": "meter",
    "current-switch": "current",
    "mains-presence": "mains",
    "tray-probe": "tray",
}
"""Parts that a furnace may do without, and what they are called where it says what is fitted."""


def equipment(furnace: FurnaceDescription) -> dict[str, Any]:
    """Everything of the furnace's equipment that stays the same while a supervisor runs; docs/link.md lists it."""
    has = {name for name, part in PARTS.items() if part.fitted(furnace)}
    return {
        "parts": [
            {
                "id": name,
                "name": part.name,
                "fitted": name in has,
                "needed": part.needed,
                "adds": part.adds,
                "without": part.without,
            }
            for name, part in PARTS.items()
        ],
        "watches": [
            {
                "id": watch.id,
                "title": TEXTS[watch.id].title,
                "fitted": watch.id not in NEEDS or not has.isdisjoint(NEEDS[watch.id]),
                "states": sorted(state.value for state in watch.states),
                "speaks_to_people": TEXTS[watch.id].priority > 0,
            }
            for watch in WATCHES
        ],
        "unseen": unseen(furnace),
        "changed": [
            {"name": name, "title": part.title}
            for name, part in CHANGED.items()
            if name not in _OPTIONAL or _OPTIONAL[name] in has
        ],
        "proofs": [
            {
                "name": name,
                "title": kind.title,
                "opens": kind.opens,
                "how": kind.how,
                "shows_not": kind.shows_not,
                "about": kind.about(furnace),
                "due_days": kind.due_days,
                "stated": kind.stated,
                "licensed": kind.licensed,
                "alone": kind.alone,
            }
            for name, kind in proofs(furnace).items()
        ],
        "said_by": None if furnace.not_fitted is None else furnace.not_fitted.said_by,
    }


def unseen(furnace: FurnaceDescription) -> list[dict[str, Any]]:
    """Faults that no watch can be counted on to notice here, and what stands in for one.

    seen_once_learned: once the model has learned this furnace. seen_with: parts that would notice it.
    """
    fitted = [part.row for part in PARTS.values() if part.row and part.fitted(furnace)]
    found = []
    for family, rows in FAMILIES.items():
        for row in rows.values():
            if row.detectable(fitted, learned=False) or (row.part is not None and row.part not in fitted):
                continue
            by = [
                part.name for part in PARTS.values() if part.row in row.within_s and part.row and part.row not in fitted
            ]
            learned = row.detectable(fitted)
            found.append(
                {
                    "family": family,
                    "title": row.title,
                    "why": row.why_not,
                    "instead": row.instead,
                    "seen_once_learned": learned,
                    "seen_with": by,
                }
            )
    return found
