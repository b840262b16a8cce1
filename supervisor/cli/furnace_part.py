"""`meltkeeper furnace part`: what each part has been through, and what a new one takes back."""

import getpass
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click

from hardware.board import read_board
from supervisor.cli.check_record import Record, writing
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.furnace.parts import PARTS, TAKES_BACK, Part, asked_by, proved_again
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.logbook.commissioning import Worn, worn
from supervisor.logbook.directory import open_directory
from supervisor.logbook.place import default_directory
from supervisor.logbook.reading import open_log
from supervisor.refusal import InputRefused, refusal


@click.command("part")
@click.argument("part", required=False)
@click.option(
    "--furnace", default="workshop", show_default=True, metavar="NAME|FILE", help="Furnace that the part is of."
)
@click.option(
    "--data",
    type=click.Path(file_okay=False, path_type=Path),
    show_default="~/.local/share/meltkeeper/NAME",
    help="Its data directory.",
)
@click.option("--changed", metavar="NOTE", help="PART was fitted new or mended: what was done, and why.")
@click.option("--who", default=getpass.getuser, show_default="your login", help="Who did it.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON; names are in docs/logbook.md.")
def command(part: str | None, furnace: str, data: Path | None, changed: str | None, who: str, as_json: bool) -> None:
    """List the parts with their hours, melts and peak; or say that PART was changed.

    A changed part takes back the proofs that it stands for, and where the furnace is another one now, what was learned
    of it: heat falls back to the stage in which both are made again. It switches nothing, and nothing is lost.

    Mains work is done or checked by a licensed person, to the local code: supply isolated, locked off, proved dead.

    Exit status: 0 done, 2 refused, 4 the supervisor does not answer in time.
    """
    described = read_furnace(furnace)
    where = data or default_directory(described.name)
    if part is not None and part not in TAKES_BACK:
        raise refusal("furnace part", "PART", part, ", ".join(TAKES_BACK))
    if changed is None:
        _list(described, where, part, as_json=as_json)
        return
    if part is None:
        raise InputRefused("furnace part: PART is missing; allowed: the part that was changed, as `furnace part` lists")
    said = _change(described, where, part, changed.strip(), who)
    known = TAKES_BACK[part]
    if as_json:
        click.echo(
            json.dumps(
                {"part": part, "note": changed, "who": who, "sentence": said, "proofs": proved_again(described, part)}
            )
        )
        return
    if known.caution:
        click.echo(f"Caution: {known.caution}")
    click.echo(said)


def _change(furnace: FurnaceDescription, where: Path, part: str, note: str, who: str) -> str:
    """By way of the supervisor while one runs, else by the same scribe."""
    if not note:
        raise InputRefused("furnace part: --changed is empty; allowed: what was done, and why")
    link = Link(where / SOCKET_NAME)
    try:
        link.snapshot()
    except LinkSilent:
        with open_log(where) as log:
            kind = log.kind()
        backend = "simulated" if kind == "simulated" else "pi"
        trusted = kind == "simulated" or bool(read_board().clock_trusted)
        with (
            open_directory(where, backend=backend, furnace=furnace.name) as kept,
            writing(kept, furnace, clock_trusted=trusted) as record,
        ):
            record.change(part, note, who)
            _refuse_trouble(record)
        return asked_by(furnace, part)
    answer = link.send({"command": "part", "part": part, "note": note, "who": who, "where": "command line"})
    if answer.accepted is None:
        raise click.ClickException(answer.sentence)
    if not answer.accepted:
        raise InputRefused(answer.sentence)
    return answer.sentence


def _refuse_trouble(record: Record) -> None:
    if record.trouble is not None:
        raise click.ClickException(f"It was not written down. {record.trouble}")


def _list(furnace: FurnaceDescription, where: Path, part: str | None, *, as_json: bool) -> None:
    with open_log(where) as log:
        found = [each for each in worn(log) if part in (None, each.part)]
    if as_json:
        click.echo(json.dumps([_as_object(each, PARTS[each.part]) for each in found], ensure_ascii=False, indent=1))
        return
    click.echo(f"{furnace.title}")
    for each in found:
        peak = "" if each.peak_c is None else f", peak {each.peak_c:.0f} °C"
        since = "from the first day" if each.since_utc_ms is None else f"since {_day(each.since_utc_ms)}"
        click.echo(f"{each.part}: {PARTS[each.part].title}")
        click.echo(f"  {since}: {each.firings} firings, {each.melts} melts, {each.hours:.1f} h{peak}")
        if each.note:
            click.echo(f"  {each.note} ({each.who})")
        if part is not None:
            click.echo(f"  If it is changed: {asked_by(furnace, part)}")


def _as_object(each: Worn, part: Part) -> dict[str, Any]:
    return {**each._asdict(), "title": part.title, "proofs": list(part.proofs), "learned_anew": part.learned}


def _day(at_utc_ms: int) -> str:
    return datetime.fromtimestamp(at_utc_ms / 1000, UTC).astimezone().strftime("%d %b %Y")
