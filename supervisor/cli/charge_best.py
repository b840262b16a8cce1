"""`meltkeeper charge best`: the mix of lots that comes nearest to a wish."""

from pathlib import Path

import click

from hardware.clock import utc_ms
from supervisor.book.mixing import on_hand
from supervisor.book.moulds import moulds
from supervisor.book.plans import Entry, keep
from supervisor.book.tree import named
from supervisor.book.writing import Book
from supervisor.cli.charge_furnace import at_hand
from supervisor.cli.data import data_option
from supervisor.cli.opened_book import print_json, reading, writing
from supervisor.metal.best import Best, best
from supervisor.metal.best_words import as_object, headline, sentences
from supervisor.metal.masses import kg_of
from supervisor.metal.programme import solve_all
from supervisor.metal.wish import own_limits, wish
from supervisor.refusal import InputRefused


@click.command("best")
@click.option("--to", "alloy_name", default="", metavar="ALLOY", help="An alloy of the table: its limits are wished.")
@click.option("--limit", "limits", multiple=True, metavar="Si=6..8", help="A limit of your own, wt%; repeat it.")
@click.option("--kg", "mass", required=True, help="Of the whole charge, with what is in the pot.")
@click.option("--dry", "dry_alone", is_flag=True, help="Only of lots that are proved dry now.")
@click.option("--ingots", "with_ingots", is_flag=True, help="Ingots may be melted again, too.")
@click.option("--keep", "keeps", is_flag=True, help="Take it into a new plan, if it can be met.")
@click.option("--furnace", default="workshop", show_default=True, help="Name of a shipped furnace, or a furnace file.")
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print JSON; docs/plan.md lists the names.")
def best_mix(
    alloy_name: str,
    limits: tuple[str, ...],
    mass: str,
    dry_alone: bool,
    with_ingots: bool,
    keeps: bool,
    furnace: str,
    data: Path,
    as_json: bool,
) -> None:
    """Say how much of which lot makes what you wish; or what is lacking, and by how much.

    Limits are to hold over the whole band; where they hold only as likely, it says so. What is under quarantine,
    closed, oily or of unknown metal is left out and named. Pure magnesium and zinc are never in the mix.

    Exit status: 0 done, 2 refused input.
    """
    asked = wish(alloy_name, own_limits(limits))
    pot = at_hand(furnace, data).furnace.pot
    charge_kg = kg_of(mass, most_kg=pot.capacity_kg, most_is="the working fill of the pot")
    with reading(data) as book:
        there = on_hand(book, with_ingots=with_ingots)
    found = best(
        there.items, asked, charge_kg, solve_all, in_the_pot=there.in_the_pot, dry_alone=dry_alone, now_ms=utc_ms()
    )
    code = _kept(data, found) if keeps else None
    if as_json:
        print_json(as_object(found) | {"plan": code})
        return
    click.echo("\n  ".join([headline(found), *sentences(found)]))
    if code is not None:
        click.echo(f"Kept as {code}.")


def _kept(data: Path, found: Best) -> str:
    if found.lacks:
        raise InputRefused(f"Nothing is kept. {headline(found)}")
    with writing(data) as book:
        entries = [_entry(book, name, kg) for name, kg in found.masses]
        return keep(book, entries, mould_ids=[each.id for each in moulds(book)]).code


def _entry(book: Book, name: str, kg: float) -> Entry:
    holder = named(book, name, ("lot", "ingot"))
    return Entry((holder.kind, holder.id), kg)
