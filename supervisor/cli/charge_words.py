"""A plan in words, the answer first."""

from typing import Any

from supervisor.book.plans import KeptPlan
from supervisor.cli.charge_furnace import AtHand, cost_of
from supervisor.metal.answer import answer, composition_lines
from supervisor.metal.plan import Plan


def lines(kept: KeptPlan, planned: Plan, forecast: dict[str, Any] | None, here: AtHand) -> list[str]:
    """Everything that a person asks of a plan."""
    name = f" ({kept.name})" if kept.name else ""
    head = f"{kept.code}, version {kept.version}{name}, for {here.description.title}"
    out = [head, "", answer(planned, forecast), ""]
    out += ["What goes in"]
    for item in planned.items:
        out.append(f"  {item.kg:6.3f} kg  {item.name}, {item.words}: {item.alloy}, {item.certainty}")
    pot = planned.fit.pot
    out += [f"  {planned.mix.charged_kg:6.3f} kg  of {pot.capacity_kg:g}, the pot's working fill", ""]
    out += ["Order"]
    out += [f"  {number}. {', '.join(step.items)}: {step.words}" for number, step in enumerate(planned.fit.order, 1)]
    out += [f"  The heap fills the pot {planned.fit.stages} times: in stages."] if planned.fit.stages > 1 else []
    out += [f"  May hang up: {why}." for why in planned.fit.may_hang]
    out += ["", "Conditions"]
    for each in planned.conditions:
        mark = "ok" if each.met else "--"
        ask = f" [--yes {each.id}]" if each.asks and not each.met and each.id != "air" else ""
        waits = " (before the pour)" if each.blocks == "pour" and not each.met else ""
        out.append(f"  {mark} {each.name}{waits}: {each.reason}{ask}")
        if not each.met and each.mends:
            out.append(f"       {each.mends}{'' if each.mends[-1] in '.?' else '.'}")
    out += ["", "What comes of it, estimated, not tested"]
    out += [f"  {line}" for line in composition_lines(planned)]
    found = cost_of(planned, forecast, here)
    return [*out, "", f"Cost {found.words}"] if found is not None else out
