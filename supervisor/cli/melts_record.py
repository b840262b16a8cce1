"""`meltkeeper melts`: the record of a melt's metal, written as it happens or afterwards; and its closing."""

from pathlib import Path

import click

from supervisor.book import closing, firings, ingots, melts, pot
from supervisor.book.telling import told
from supervisor.cli.data import data_option
from supervisor.cli.opened_book import print_json, reading, writing
from supervisor.metal.masses import kg_of, kg_or_none_of
from supervisor.refusal import InputRefused

json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print JSON with the names that docs/logbook.md lists."
)

DRAINED = {"drained": "drained", "heel": "heel", "stays": "charge stays"}


@click.command("open")
@data_option
@json_option
def list_open(data: Path, as_json: bool) -> None:
    """List what the record of each melt still lacks: masses, pot, walks, closing. It never keeps you from a start.

    Exit status: 0 done, 2 there is no such data directory.
    """
    with reading(data) as book:
        left = [each for each in closing.statuses(book, closing.fired(data)) if each.open]
        records = [told(book, each) for each in left]
    if as_json:
        print_json({"data": str(data), "melts": records})
        return
    for record in records:
        click.echo(f"{record['heat_number']}: " + " ".join(each["sentence"] for each in record["open"]))
    if not records:
        click.echo("Nothing is open.")


@click.command("count")
@click.argument("heat_number")
@click.argument("kg", nargs=-1)
@click.option("--number", type=click.IntRange(1, melts.MOST_INGOTS), help="How many, to be weighed later.")
@click.option("--maker", help="Who cast them; whoever types this when not given.")
@click.option("--note", default="", help="Anything of all of them.")
@data_option
def count(heat_number: str, kg: tuple[str, ...], number: int | None, maker: str | None, note: str, data: Path) -> None:
    """Write down the ingots of a melt in the order in which they were poured, with their masses or only their number.

    Not while you pour: somebody else counts, or it is entered after.

    Exit status: 0 done, 2 refused: more than went in.
    """
    if bool(kg) == bool(number):
        raise InputRefused("Give the masses of the ingots, or --number; one of the two.")
    masses: list[float | None] = [kg_of(each) for each in kg]
    masses += [None] * (number or 0)
    with writing(data) as book:
        click.echo(ingots.count(book, melts.melt(book, heat_number), masses, maker or book.who, note))


@click.command("dross")
@click.argument("heat_number")
@click.argument("kg")
@click.option("--splash", default="0", help="kg picked up around the moulds.")
@data_option
def dross(heat_number: str, kg: str, splash: str, data: Path) -> None:
    """Weigh the dross of a melt, cold and dry; 0 says that there was none. Wet dross gives ammonia and burning gas.

    Exit status: 0 done, 2 refused: more than is left of the melt.
    """
    with writing(data) as book:
        found = melts.melt(book, heat_number)
        click.echo(melts.dross(book, found, kg_or_none_of(kg), splash_kg=kg_or_none_of(splash)))


@click.command("pot")
@click.argument("heat_number")
@click.argument("what", type=click.Choice([*DRAINED, "back"]))
@click.argument("kg", required=False)
@data_option
def say_of_pot(heat_number: str, what: str, kg: str | None, data: Path) -> None:
    """Say what is in the pot after a melt: drained; a heel of KG; the charge stays, unmelted; or it went back.

    Look into it, cold. A heel that freezes in a pot can crack it at the next heat.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        found = melts.melt(book, heat_number)
        if what == "back":
            click.echo(pot.put_back(book, found))
        else:
            click.echo(pot.say(book, found, DRAINED[what], None if kg is None else kg_of(kg)))


@click.command("walk")
@click.argument("heat_number")
@click.argument("seen")
@click.option("--smoulder", is_flag=True, help="Something smouldered.")
@data_option
def walk(heat_number: str, seen: str, smoulder: bool, data: Path) -> None:
    """Write down a walk of the fire watch and what was seen: at 30 and 60 minutes after the pour, and later.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        click.echo(melts.walked(book, melts.melt(book, heat_number), seen, smoulder=smoulder))


@click.command("remark")
@click.argument("heat_number")
@click.argument("text")
@click.option("--skim", is_flag=True, help="It is a skim.")
@data_option
def remark(heat_number: str, text: str, skim: bool, data: Path) -> None:
    """Write anything into the record of a melt.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        found = melts.melt(book, heat_number)
        click.echo(melts.skim(book, found, text) if skim else melts.remark(book, found, text))


@click.command("close")
@click.argument("heat_number")
@click.option("--again", "reason", help="Open a closed record again, with this reason.")
@data_option
def close(heat_number: str, reason: str | None, data: Path) -> None:
    """Close the record of a melt, when nothing of it is open any more: the balance, with its gap by name, is kept.

    Exit status: 0 done, 2 refused: something is still open, and all of it is named.
    """
    with writing(data) as book:
        if reason is None:
            click.echo(closing.close(book, data, heat_number))
        else:
            click.echo(closing.open_again(book, heat_number, reason))


@click.command("prove")
@click.argument("firing", metavar="NUMBER")
@click.argument("names", nargs=-1)
@click.option(
    "--for", "why", type=click.Choice(firings.WHY), default="dry", show_default=True, help="What they lay in it for."
)
@data_option
def prove(firing: str, names: tuple[str, ...], why: str, data: Path) -> None:
    """Give lots, ingots and moulds that lay in a firing without metal their proof, from the record of that firing.

    NAMES lay in the chamber in firing NUMBER; how hot it was there and for how long is read from the log.

    Exit status: 0 done, 2 refused input.
    """
    of = firings.record(data, firing)
    with writing(data) as book:
        for name in names:
            firings.lay_in(book, of, *firings.laid(book, name), why)
        if not of.is_over:
            click.echo(
                f"Noted. What firing {of.firing.id} proves is told when it is over: meltkeeper melts prove {firing}"
            )
            return
        click.echo("\n".join(firings.prove(book, of)))


COMMANDS = (list_open, count, dross, say_of_pot, walk, remark, close, prove)
