"""Schedules for drying a lining and for first heats, by material, and the stretch that comes next.

Products differ, and so do the schedules in print: the maker's sheet wins. What is offered here is the slowest that fits
everything that is in the lining, in stretches of a day that somebody attends.
"""

from collections.abc import Iterable, Sequence
from math import ceil
from typing import NamedTuple

from supervisor.firing.drying import DriedAt, is_dry
from supervisor.refusal import refusal

ROOM_C = 20.0
SLOWER = 0.9
"""Ramps are a tenth slower than the schedule's: the reading lags, and what catches up stays within the limit too."""
LONGEST_H = 10.0
AGAIN_C_PER_H, AGAIN_H = 100.0, 0.5
"""On the way back to where the record says it is dry, and there for at least so long (our choice)."""


class Step(NamedTuple):
    """Up to at_c at no more than rate, and held there at least so long."""

    at_c: float
    rate_c_per_h: float
    hours: float = 0.0
    hours_per_25_mm: float = 0.0


class Material(NamedTuple):
    """One thing that a lining is made of, and how slowly it wants to be dried."""

    title: str
    steps: tuple[Step, ...]
    source: str
    before: str  # heat
    first: str = ""  # what its first heat is for


_DRY_OUT_SHEET = (
    "a refractory supplier's dry-out sheet, as excerpted: 56 °C/h to 150-205 °C, 1 h per 25 mm; 56 °C/h to 540 °C, 1 h"
    " per 25 mm; 111 °C/h to service"
)
MATERIALS = {
    "castable": Material(
        "Dense castable, conventional cement",
        (Step(205, 56, 0, 1), Step(540, 56, 0, 1), Step(800, 111, 1)),
        _DRY_OUT_SHEET,
        "Cured damp for 24 h, then dried in air.",
    ),
    "light-castable": Material(
        "Light, insulating castable",
        (Step(205, 56, 0, 1), Step(540, 56, 0, 1), Step(800, 111, 1)),
        f"{_DRY_OUT_SHEET}; the sheet treats it as conventional",
        "Cured damp for 24 h, then dried in air.",
    ),
    "low-cement-castable": Material(
        "Low-cement castable",
        (Step(205, 28, 0, 1), Step(540, 28, 0, 1), Step(800, 56, 1)),
        "the same sheet: 28 °C/h between the holds, 56 °C/h after",
        "Cured damp for 24 h, then dried in air.",
    ),
    "air-setting-cement": Material(
        "Air-setting cement, sodium silicate",
        (Step(60, 25, 1), Step(95, 25, 3), Step(120, 25, 1), Step(260, 40, 2)),
        "a cement label, as quoted on a question site: air dry 1 h, slowly to 260 °C within 30 days; 1 h each near 60,"
        " 95 and 120 °C in thick joints: common practice, no source",
        "Dried in air for 24 h; within 30 days heated slowly to 260 °C, or it foams.",
    ),
    "phosphate-mortar": Material(
        "High-alumina or phosphate mortar",
        (Step(120, 50, 2), Step(600, 100, 1)),
        "common practice, no source",
        "Dried in air for 24 h. Phosphate needs more than 350 °C to set.",
    ),
    "firebrick": Material(
        "Insulating firebrick, fired, that stood in the damp",
        (Step(120, 100, 2), Step(340, 150, 1)),
        "common practice, no source; it holds free moisture only",
        "Nothing. It is fired already.",
    ),
    "crucible": Material(
        "Clay-graphite or silicon-carbide crucible, new or stored damp",
        (Step(100, 50, 1), Step(200, 100, 1), Step(260, 100, 2)),
        "makers' notes, as excerpted: 75-100 °C slowly, 150-200 °C for 1 h (graphite); 260 °C for 2 h, cool slowly"
        " (general article on crucibles)",
        "Empty. Looked at for cracks; never wedged.",
        "Then, by its maker: clay-graphite slowly to dark red, silicon carbide quickly to red heat, empty. Do not"
        " linger between 315 and 650 °C where graphite oxidises.",
    ),
    "element": Material(
        "New iron-chromium-aluminium element",
        (),
        "from memory: in clean air to about 1050 °C for several hours, where the furnace may go there; else it oxidises"
        " slowly in service",
        "Wound and shaped while new: afterwards it is brittle.",
        "To the furnace's top, empty, lid ajar for air, and held for an hour: it grows its oxide.",
    ),
}
"""What can be dried or heated first, by name. The sheets themselves were seen as excerpts only."""


class Schedule(NamedTuple):
    """The slowest of several, as steps; each with where it comes from."""

    steps: tuple[Step, ...]
    limit_c_per_h: float  # the fastest ramp in it
    sources: tuple[str, ...]


def schedule(materials: Sequence[str], thickness_mm: float, top_c: float) -> Schedule:
    """Join schedules: at every temperature the slowest ramp, at every hold the longest.

    thickness_mm: of the thickest piece that is dried. top_c: nothing goes higher.

    Raises:
        InputRefused: an unknown material, nothing to dry, or a thickness that cannot be.
    """
    if not 1.0 <= thickness_mm <= 500.0:
        raise refusal("dry-out", "thickness", thickness_mm, "1 to 500 mm")
    unknown = [name for name in materials if name not in MATERIALS]
    if unknown or not materials:
        raise refusal("dry-out", "material", ", ".join(unknown) or "nothing", ", ".join(MATERIALS))
    of = [MATERIALS[name] for name in dict.fromkeys(materials)]
    levels = sorted({step.at_c for each in of for step in each.steps if step.at_c <= top_c})
    if not levels:
        raise refusal("dry-out", "material", ", ".join(materials), "something that is dried below the furnace's top")
    limit = max(_rate(of, at_c) for at_c in levels)
    steps = tuple(Step(at_c, SLOWER * _rate(of, at_c), _hours(of, at_c, thickness_mm)) for at_c in levels)
    return Schedule(steps, limit, tuple(f"{each.title}: {each.source}." for each in of))


def _rate(of: Iterable[Material], at_c: float) -> float:
    """The slowest ramp that any of them asks for up to at_c; beyond its last step a material asks for nothing."""
    return min(
        next(step.rate_c_per_h for step in each.steps if step.at_c >= at_c)
        for each in of
        if each.steps and each.steps[-1].at_c >= at_c
    )


def _hours(of: Iterable[Material], at_c: float, thickness_mm: float) -> float:
    asked = [
        step.hours + step.hours_per_25_mm * thickness_mm / 25.0
        for each in of
        for step in each.steps
        if step.at_c == at_c
    ]
    return max(0.25, *asked)


class Stretch(NamedTuple):
    """What is fired next: a profile file, in words what it is, and what it goes on from."""

    toml: str
    words: str
    from_c: float | None  # the hottest hold that the record says is dry; None: it is the first


def next_stretch(of: Schedule, firings: Sequence[Sequence[DriedAt]], hours: float, title: str) -> Stretch | None:
    """The stretch after those on record; None: the record says that the lining is dry.

    firings: the holds of each dry-out since the lining was last changed, oldest first. hours: how long somebody can
    stay. From cold it goes up to the hottest hold that was dry, holds there once more to see that the need of power
    repeats, and goes on from there as far as the time allows.

    Raises:
        InputRefused: hours is less than the next hold takes, or more than a stretch may.
    """
    if not 2.0 <= hours <= LONGEST_H:
        allowed = f"2 to {LONGEST_H:g} h: somebody attends it throughout, and none goes on by night"
        raise refusal("dry-out", "hours", hours, allowed)
    top_c = of.steps[-1].at_c
    if any(firing and firing[-1].at_c >= top_c and is_dry(firing) for firing in firings):
        return None
    dried = [hold.at_c for firing in firings for hold in firing]
    reached = [step.at_c for step in of.steps[:-1] if dried and step.at_c <= max(dried)]
    plan: list[Step] = []
    if reached:
        again_c = reached[-1]
        plan.append(Step(again_c, min(AGAIN_C_PER_H, SLOWER * of.limit_c_per_h), AGAIN_H))
    spent_h = sum((step.at_c - ROOM_C) / step.rate_c_per_h + step.hours for step in plan)
    for step in of.steps:
        at_c = plan[-1].at_c if plan else ROOM_C
        if step.at_c <= at_c:
            continue
        spent_h += (step.at_c - at_c) / step.rate_c_per_h + step.hours
        if spent_h > hours:
            break
        plan.append(step)
    if len(plan) <= bool(reached):
        raise refusal("dry-out", "hours", hours, f"at least {ceil(4.0 * spent_h) / 4.0:g} h for the next stretch")
    from_c = reached[-1] if reached else None
    return Stretch(_toml(title, hours, of, plan), _words(plan[-1].at_c, from_c), from_c)


def _words(to_c: float, dry_c: float | None) -> str:
    start = "From cold" if dry_c is None else f"From cold, past {dry_c:g} °C, where the record says it is dry,"
    return f"{start} to {to_c:g} °C. It ends by itself when the power says dry, or when its time is over."


def _toml(title: str, hours: float, of: Schedule, plan: Sequence[Step]) -> str:
    sources = "\n".join(f"# {line}" for line in of.sources)
    head = (
        "# One stretch of a dry-out, for a furnace without metal. Stay from its start to its end: steam must get out,\n"
        "# keep a vent open, never hurry. The maker's sheet wins over this file. Cool with the lid shut.\n#\n"
        f"{sources}\n\n"
        f'name = "{title}"\ntop_c = {plan[-1].at_c + 20:g}\nlongest_h = {hours:g}\n'
        f"drying_limit_c_per_h = {of.limit_c_per_h:g}\n"
    )
    return head + "".join(_segments(step) for step in plan)


def _segments(step: Step) -> str:
    ramp = f"\n[[segment]]\nramp_to_c = {step.at_c:g}\nrate_c_per_h = {step.rate_c_per_h:g}\n"
    return f'{ramp}\n[[segment]]\nhold_min = {60.0 * step.hours:.0f}\nwait_within_c = 5\nuntil = "dry"\n'
