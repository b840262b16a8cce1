"""`meltkeeper charge today`: three charges that could be poured with what is dry now."""

from pathlib import Path
from typing import Any

import click

from hardware.clock import utc_ms
from supervisor.book.mixing import shop
from supervisor.cli.charge_furnace import AtHand, Chosen, at_hand, chosen_profile, cost_of, forecast_of, usual_profile
from supervisor.cli.data import data_option
from supervisor.cli.numbers import NumberIn
from supervisor.cli.opened_book import print_json, reading
from supervisor.metal.answer import answer
from supervisor.metal.best_words import mass_words
from supervisor.metal.cost import as_object as in_plain
from supervisor.metal.programme import solve_all
from supervisor.metal.today import Proposal, as_object, today, too_long


@click.command("today")
@click.option("--hours", type=NumberIn(0, 24), help="Free hours, to the pour and the first walk round.")
@click.option("--profile", help="own/NAME, example/NAME, or a file; the first one with metal when not given.")
@click.option("--furnace", default="workshop", show_default=True, help="Name of a shipped furnace, or a furnace file.")
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print JSON; docs/plan.md lists the names.")
def pour_today(hours: float | None, profile: str | None, furnace: str, data: Path, as_json: bool) -> None:
    """Say what could be poured today: up to three charges from lots that are proved dry, for moulds that are.

    Each with its kind of metal, mass, minutes, energy, cost and why it. When there is none, it says what is missing.

    Exit status: 0 done, 2 refused input.
    """
    here = at_hand(furnace, data)
    chosen = usual_profile(data, here) if profile is None else chosen_profile(profile, data, here)
    with reading(data) as book:
        there = shop(book, here.furnace.pot, None if chosen is None else chosen.heating)
    found = today(there, solve_all, utc_ms())
    fit, late = _fitting(found.proposals, here, chosen, data, hours)
    missing = " ".join(each for each in (found.missing, *late) if each)
    if as_json:
        rows = [
            as_object(each, forecast) | {"cost": in_plain(cost_of(each.plan, forecast, here))} for each, forecast in fit
        ]
        print_json({"data": str(data), "proposals": rows, "missing": missing})
        return
    for number, (each, forecast) in enumerate(fit, start=1):
        energy = "" if forecast is None else f" About {forecast['kwh']:.1f} kWh."
        found_cost = cost_of(each.plan, forecast, here)
        click.echo(f"{number}. {answer(each.plan, forecast)}{energy}{f' {found_cost.words}' if found_cost else ''}")
        click.echo(f"   {', '.join(f'{mass_words(kg)} of {name}' for name, kg in each.masses)}. {each.reason}")
    if missing:
        click.echo(missing)


def _fitting(
    proposals: tuple[Proposal, ...], here: AtHand, chosen: Chosen | None, data: Path, hours: float | None
) -> tuple[list[tuple[Proposal, dict[str, Any] | None]], list[str]]:
    """Those that fit into the free hours with their forecasts, and why the others do not."""
    fit: list[tuple[Proposal, dict[str, Any] | None]] = []
    late = []
    for each in proposals:
        found = forecast_of(here, chosen, each.plan, data)
        forecast = None if found is None else found.as_object()
        if why := too_long(forecast, hours):
            late.append(f"{answer(each.plan, forecast)[:-1]}: {why}")
        else:
            fit.append((each, forecast))
    return fit, late
