"""`meltkeeper check`: bring a furnace up step by step, and prove what has to be proved again."""

import getpass
import json
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import click

from supervisor.cli import check_show
from supervisor.cli.check_linked import Linked
from supervisor.cli.check_person import Helped, Starter, Terminal
from supervisor.cli.check_rig import Person
from supervisor.cli.check_site import Site
from supervisor.cli.opening import refuse_real, which_furnace
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.furnace.proofs import of
from supervisor.furnace.stages import Reached
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.logbook.place import default_directory
from supervisor.refusal import InputRefused, refusal


@click.command()
@click.argument("proof", required=False)
@which_furnace
@click.option("--who", default=getpass.getuser, show_default="your login", help="Who stands at the furnace.")
@click.option("--said", help="What was seen, measured or read, for one proof that is stated.")
@click.option("--show", is_flag=True, help="Show every pin with its level now, and nothing else.")
@click.option("--list", "only_list", is_flag=True, help="Say how far the furnace is unlocked, and nothing else.")
@click.option("--json", "as_json", is_flag=True, help="With --show or --list: as JSON.")
@click.option("--again", is_flag=True, help="Go through the proofs that hold, too.")
@click.option("--helped", is_flag=True, help="The simulated furnace moves by itself what is asked for.")
@click.option("--hold-in", is_flag=True, hidden=True, help="Hold the contactor in, to be killed or halted.")
def command(
    proof: str | None,
    furnace: str,
    data: Path | None,
    furnace_socket: Path | None,
    who: str,
    said: str | None,
    show: bool,
    only_list: bool,
    as_json: bool,
    again: bool,
    helped: bool,
    hold_in: bool,
) -> None:
    """Bring a furnace up: show its pins, try each input, prove what must be proved before heat. PROOF: that one alone.

    No step orders heat, opens a box or has a hand in the chamber with the supply on. Some steps let the contactor in:
    the element counts as live then. What an input can witness, nobody can tick; what somebody states stays 'stated'.
    Everything is written down with who and when; broken off, it goes on where it was. Mains work is for a licensed
    person, to the local code.

    While a supervisor runs, the inputs are tried through it; some steps need the furnace for themselves, and ask for
    the supervisor to be stopped.

    Exit status: 0 done, 1 a proof failed, 2 refused, 5 something was not proved.
    """
    description = read_furnace(furnace)
    where = data or default_directory(description.name)
    if proof is not None and proof not in of(description):
        raise refusal("check", "PROOF", proof, ", ".join(of(description)))
    if helped and furnace_socket is None:
        raise InputRefused("--helped is for a simulated furnace: name its socket with --furnace-socket.")
    link = _running(where)
    if link is None and furnace_socket is None:
        refuse_real(description)
    site = Site(description, where, furnace, furnace_socket)
    if hold_in:
        site.hold_in(Starter())
        return
    if show:
        _show(description, link, site, as_json=as_json)
        return
    with _person(description, furnace_socket if helped else None, said) as person:
        if link is not None:
            linked = Linked(description, link, person, who)
            _list(description, linked.reached, linked.today_ms, as_json=as_json) if only_list else linked.go(
                proof, again=again
            )
            return
        with site.writing() as record:
            if only_list:
                _list(description, record.reached, record.unlocking.today_ms, as_json=as_json)
            else:
                site.go(record, person, who, proof, again=again)


def _running(where: Path) -> Link | None:
    """The supervisor that has this furnace now, if one runs."""
    link = Link(where / SOCKET_NAME)
    try:
        link.snapshot()
    except LinkSilent:
        return None
    return link


@contextmanager
def _person(furnace: FurnaceDescription, socket: Path | None, said: str | None) -> Iterator[Person]:
    if socket is None:
        yield Terminal(said)
        return
    with closing(Helped(socket, furnace.limiter_c)) as helped:
        yield helped


def _show(furnace: FurnaceDescription, link: Link | None, site: Site, *, as_json: bool) -> None:
    if link is not None:
        shown = link.snapshot()
        levels, hot = shown["inputs"], shown["hot_junction"]
        sensors = [f"no reading: {hot['fault']}" if hot["fault"] else f"{hot['c']:.1f} °C"]
    else:
        with closing(site.looking()) as hardware:
            hardware.sample()
            sample = hardware.sample()
        levels, sensors = check_show.levels_of(sample), check_show.sensors_of(sample)
    if as_json:
        found = {"furnace": furnace.name, "lines": check_show.lines(furnace, levels), "thermocouples": sensors}
        click.echo(json.dumps(found, ensure_ascii=False, indent=1))
    else:
        check_show.print_lines(furnace, levels, sensors)


def _list(furnace: FurnaceDescription, now: Reached, today_ms: int, *, as_json: bool) -> None:
    if as_json:
        click.echo(json.dumps(check_show.as_object(furnace, now, today_ms), ensure_ascii=False, indent=1))
    else:
        check_show.print_stage(furnace, now)
