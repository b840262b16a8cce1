"""`meltkeeper charge`: plan a melt, confirm it, hand it to the supervisor; and sums without a furnace."""

import getpass
from pathlib import Path
from typing import Any

import click

from hardware.clock import utc_ms
from supervisor.book.charging import Confirmed, as_message, confirm, confirmed
from supervisor.book.moulds import KeptMould, add_mould, mould_named, moulds
from supervisor.book.plans import Entry, KeptPlan, keep, plan_named, plans
from supervisor.book.tree import named
from supervisor.book.writing import Book
from supervisor.cli.charge_best import best_mix
from supervisor.cli.charge_furnace import AtHand, at_hand, chosen_profile, cost_of, forecast_of, used_numbers
from supervisor.cli.charge_sums import bar, density, mixture
from supervisor.cli.charge_today import pour_today
from supervisor.cli.charge_words import lines
from supervisor.cli.data import data_option
from supervisor.cli.numbers import NUMBER
from supervisor.cli.opened_book import print_json, reading, writing
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.metal.cost import as_object as as_object_of_cost
from supervisor.metal.masses import kg_of
from supervisor.metal.plan import Plan, as_object
from supervisor.refusal import InputRefused

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON; docs/plan.md lists the names.")
furnace_option = click.option(
    "--furnace", default="workshop", show_default=True, help="Name of a shipped furnace, or a furnace file."
)
AIR = ("dry", "damp")


@click.group()
def command() -> None:
    """Plan a melt: what comes out, whether it fits, what stands against it. Nothing here adds heat.

    Exit status: 0 done, 2 refused input.
    """


for each in (best_mix, pour_today, mixture, bar, density):
    command.add_command(each)


@command.command("plan")
@click.argument("code", required=False)
@click.option("--lot", "named_kg", multiple=True, metavar="NAME=KG", help="A lot or ingot and its mass; repeat it.")
@click.option("--mould", "mould_codes", multiple=True, metavar="M-1", help="A mould, in pouring order; repeat it.")
@click.option("--profile", help="own/NAME, example/NAME, or a file in the data directory's profiles.")
@click.option("--air", type=click.Choice(AIR), help="Whether air, floor and tools are dry today.")
@click.option("--yes", "confirms", multiple=True, metavar="CONDITION", help="A caution, read and so; repeat it.")
@click.option("--name", help="What you call the plan.")
@furnace_option
@data_option
@json_option
def plan_melt(
    code: str | None,
    named_kg: tuple[str, ...],
    mould_codes: tuple[str, ...],
    profile: str | None,
    air: str | None,
    confirms: tuple[str, ...],
    name: str | None,
    furnace: str,
    data: Path,
    as_json: bool,
) -> None:
    """Make a plan, or change plan CODE: what is given replaces what it said. Shows what follows from it.

    A mass is given for each lot: --lot L-28=1.90 --lot A-092/2=0.15. Cautions are confirmed by their name, when they
    are so: --yes looked.

    Exit status: 0 done, 2 refused input.
    """
    here = at_hand(furnace, data)
    if profile is not None:
        profile = chosen_profile(profile, data, here).key
    with writing(data) as book:
        before = None if code is None else plan_named(book, code)
        entries = [_entry(book, each) for each in named_kg] if named_kg or before is None else list(before.entries)
        chosen = [mould_named(book, each).id for each in mould_codes]
        if before is not None and not chosen:
            chosen = list(before.moulds)
        said = ({} if air is None else {"air": air}) | dict.fromkeys(confirms, "yes")
        kept = keep(
            book,
            entries,
            code=code,
            name=name if name is not None else "" if before is None else before.name,
            profile=profile if profile is not None else "" if before is None else before.profile,
            mould_ids=chosen,
            answers=said,
            carried=None if named_kg else before,  # other metal: look again
        )
        planned, shown = _reckoned(book, kept, here, data)
    _show(kept, planned, shown, here, as_json)


@command.command("show")
@click.argument("code")
@furnace_option
@data_option
@json_option
def show_plan(code: str, furnace: str, data: Path, as_json: bool) -> None:
    """Show plan CODE as things stand now.

    Exit status: 0 done, 2 refused input.
    """
    here = at_hand(furnace, data)
    with reading(data) as book:
        kept = plan_named(book, code)
        planned, shown = _reckoned(book, kept, here, data)
    _show(kept, planned, shown, here, as_json)


@command.command("list")
@data_option
@json_option
def list_plans(data: Path, as_json: bool) -> None:
    """List the plans that did not go to the furnace yet, the newest first.

    Exit status: 0 done, 2 there is no such data directory.
    """
    with reading(data) as book:
        found = plans(book)
    rows = [{"code": p.code, "version": p.version, "name": p.name, "kg": sum(e.kg for e in p.entries)} for p in found]
    if as_json:
        print_json({"data": str(data), "plans": rows})
    elif not rows:
        click.echo("No plan waits. Make one: meltkeeper charge plan --lot L-1=1.90")
    else:
        click.echo("\n".join(f"{row['code']}  {row['kg']:.2f} kg  {row['name']}".rstrip() for row in rows))


@command.command("confirm")
@click.argument("code")
@furnace_option
@data_option
@json_option
def confirm_plan(code: str, furnace: str, data: Path, as_json: bool) -> None:
    """Confirm plan CODE: its heat number is given, its masses leave the lots, and the supervisor gets it prepared.

    Refused while anything stands against it. Nothing heats: the start is another step, with a press at the furnace.

    Exit status: 0 done, 2 refused input.
    """
    here = at_hand(furnace, data)
    with writing(data) as book:
        kept = plan_named(book, code)
        heating = chosen_profile(kept.profile, data, here).heating if kept.profile else None
        done = confirm(book, kept, here.furnace, heating, used_numbers(data))
    _prepare(done, data, here, as_json)


@command.command("prepare")
@click.argument("heat_number")
@furnace_option
@data_option
@json_option
def prepare_again(heat_number: str, furnace: str, data: Path, as_json: bool) -> None:
    """Prepare a charge that was confirmed earlier and not started since.

    Exit status: 0 done, 2 refused input.
    """
    here = at_hand(furnace, data)
    with reading(data) as book:
        done = confirmed(book, heat_number, utc_ms())
    _prepare(done, data, here, as_json)


@command.command("moulds")
@data_option
@json_option
def list_moulds(data: Path, as_json: bool) -> None:
    """List the moulds.

    Exit status: 0 done, 2 there is no such data directory.
    """
    with reading(data) as book:
        found = moulds(book)
    if as_json:
        print_json({"data": str(data), "moulds": [each._asdict() for each in found]})
        return
    click.echo("\n".join(_mould_line(each) for each in found) or "No mould yet: meltkeeper charge mould NAME VOLUME_ML")


@command.command("mould")
@click.argument("name")
@click.argument("volume_ml", type=NUMBER)
@click.option("--mass-kg", type=NUMBER, help="The empty mould, kg: a light one gets very hot.")
@click.option("--material", default="", help="Cast iron, steel, sand.")
@data_option
def new_mould(name: str, volume_ml: float, mass_kg: float | None, material: str, data: Path) -> None:
    """Write a mould down: NAME and its volume to the brim, ml. Measure it with dry sand; water asks for a drying.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        click.echo(_mould_line(add_mould(book, name, volume_ml, mass_kg=mass_kg, material=material)))


def _mould_line(found: KeptMould) -> str:
    weighs = "" if found.mass_kg is None else f", weighs {found.mass_kg:g} kg"
    return f"{found.code}  {found.name}: {found.volume_ml:g} ml{weighs}"


def _entry(book: Book, typed: str) -> Entry:
    name, sign, mass = typed.rpartition("=")
    if not sign:
        raise InputRefused(f"--lot is {typed!r}; allowed: NAME=KG, as L-28=1.90; a mass has no default")
    holder = named(book, name, ("lot", "ingot"))
    return Entry((holder.kind, holder.id), kg_of(mass))


def _reckoned(book: Book, kept: KeptPlan, here: AtHand, data: Path) -> tuple[Plan, dict[str, Any]]:
    from supervisor.book.plans import reckoned

    chosen = chosen_profile(kept.profile, data, here) if kept.profile else None
    planned = reckoned(book, kept, here.furnace.pot, None if chosen is None else chosen.heating, utc_ms())
    found = forecast_of(here, chosen, planned, data)
    shown = {
        "plan": kept.code,
        "version": kept.version,
        "name": kept.name,
        "profile": kept.profile,
        "answers": dict(kept.answers),
        "estimated": "from limits and lots, not measured",
        **as_object(planned),
        "forecast": None if found is None else found.as_object(),
    }
    shown["cost"] = as_object_of_cost(cost_of(planned, shown["forecast"], here))
    return planned, shown


def _show(kept: KeptPlan, planned: Plan, shown: dict[str, Any], here: AtHand, as_json: bool) -> None:
    if as_json:
        print_json(shown)
    else:
        click.echo("\n".join(lines(kept, planned, shown["forecast"], here)))


def _prepare(done: Confirmed, data: Path, here: AtHand, as_json: bool) -> None:
    """Hand a confirmed charge to the supervisor, where one answers."""
    toml = chosen_profile(done.profile, data, here).text
    message = {**as_message(done, toml, utc_ms()), "who": getpass.getuser(), "where": "command line"}
    try:
        answer = Link(data / SOCKET_NAME).send(message)
        told = {True: "accepted", False: "refused", None: "unknown"}[answer.accepted]
        sentence = answer.sentence
    except LinkSilent as error:
        told, sentence = "nobody", f"{error} When it runs: meltkeeper charge prepare {done.heat_number}"
    if as_json:
        print_json({"heat_number": done.heat_number, "plan": done.plan, "prepare": told, "sentence": sentence})
        return
    click.echo(f"{done.plan} is the charge {done.heat_number}: {done.charge.mass_kg:.3f} kg. {sentence}")
