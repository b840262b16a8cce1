"""`meltkeeper web`: the pages of one furnace, for phones on the local network."""

import contextlib
import ipaddress
import json
import socket
import sys
from pathlib import Path

import click

from hardware.clock import monotonic_s, sleep_s, utc_ms
from supervisor.cli.melts import data_option
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.link.cold import is_cold
from supervisor.logbook.backups import way_back
from supervisor.logbook.database import UNREADABLE
from supervisor.logbook.directory import IDENTITY_FILE
from supervisor.refusal import InputRefused
from web import qr
from web.app import create_app
from web.book import Book
from web.config import Network, WebConfig
from web.pairing import address_with, code_waits, new_code, shown
from web.roles import Role
from web.serve import listen, serve

EXAMPLES = Path(__file__).resolve().parents[2] / "docs" / "examples"
"""Profile files that ship with the program."""

SIMULATED = "simulated"
SUPERVISOR_WITHIN_S = 10.0  # it may be starting at the same moment


@click.command()
@data_option
@click.option("--host", default="0.0.0.0", show_default=True, help="Address to listen at; 0.0.0.0 is every one.")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8080, show_default=True, help="Port; 0 takes a free one."
)
@click.option(
    "--bench",
    "--furnace-socket",
    "bench",
    type=click.Path(path_type=Path),
    help="Socket of the simulated furnace: its levers are then on the page. A real furnace has none.",
)
@click.option("--code/--no-code", default=True, help="Make and print a pairing code.")
@click.option(
    "--allow",
    multiple=True,
    callback=lambda context, option, typed: tuple(_network(each) for each in typed),
    metavar="NETWORK",
    help="A network beside the local ones whose phones may come, like 100.64.0.0/10 of a private overlay. Repeatable.",
)
@click.option(
    "--https-name",
    default="",
    metavar="NAME",
    help="Name under which a proxy on this machine serves these pages by HTTPS (NAME:PORT where it is not 443).",
)
def command(
    data: Path, host: str, port: int, bench: Path | None, code: bool, allow: tuple[Network, ...], https_name: str
) -> None:
    """Serve the pages of one furnace until Ctrl-C: to look, to ask, to stop. Prints the address and a pairing code.

    Whoever reaches the pages from the local network sees the furnace, stops and lowers; for all else a phone must be
    paired, to look or to run. They travel unencrypted: for a network that you trust, never for the internet.

    Exit status: 0 done, 2 cannot listen, or a real furnace without a paired phone is not shown to the network.
    """
    data.mkdir(parents=True, exist_ok=True)
    kept = Book(data / "book.db", lambda: is_cold(data, utc_ms()))
    simulated = is_simulated(data)
    damage = _damage(kept, data)
    if damage:
        click.echo(f"{damage} Until then no phone is paired: the pages show the furnace, and stop it.", err=True)
    if not (simulated or _is_loopback(host) or damage or kept.phones() or code_waits(kept, utc_ms())):
        raise InputRefused(
            f"host is {host}; allowed while no phone is paired: 127.0.0.1. Run `meltkeeper pair` here first, then this"
            " again within five minutes."
        )
    if bench and not simulated:
        raise InputRefused(f"bench is {bench}; allowed: for a simulated furnace alone.")
    try:
        listener = listen(host, port)
    except OSError as error:
        raise InputRefused(f"The pages cannot listen at {host}:{port}: {error.strerror or error}.") from error
    port = listener.getsockname()[1]
    address = f"http://{shown_host(host)}:{port}/"
    if not damage:
        kept.served_at(address, utc_ms())
    app = create_app(WebConfig(data, port, monotonic_s, utc_ms, examples(), bench, names(), allow, https_name.lower()))
    click.echo(f"Page: {address}")
    if code and not damage and (simulated or _is_loopback(host)):
        click.echo(pairing_lines(new_code(kept, utc_ms()), address, picture=sys.stdout.isatty()))
    serve(app, listener, behind_proxy=bool(https_name))


def _damage(book: Book, data: Path) -> str:
    """Why the book cannot be read, and what to do about it, in sentences; empty: it can."""
    try:
        book.phones()
    except UNREADABLE as error:
        return f"{book.path} cannot be read ({error}). {way_back(data)}".rstrip()
    return ""


def examples() -> tuple[Path, ...]:
    """The shipped profile files."""
    return tuple(sorted(EXAMPLES.glob("*.toml")))


def pairing_lines(code: str, address: str | None, role: Role = "run", *, picture: bool = False) -> str:
    """What the console says of a new code. address: where the pages are served; None: they never were.

    picture: the address and the code for a phone's camera, too.
    """
    said = f"Pairing code: {shown(code)} (one phone, to {role}, five minutes; a new one: meltkeeper pair)"
    if address is None:
        return f"{said}\nPair at the address that `meltkeeper web` prints."
    where = address_with(address, code)
    return f"{said}\nPair at: {where}{chr(10) + qr.as_text(where) if picture else ''}"


def shown_host(host: str) -> str:
    """An address that a phone can use for what was listened at."""
    if host not in {"0.0.0.0", "::", ""}:
        return f"[{host}]" if ":" in host else host
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # sends nothing: asks only which of our addresses leads out
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"


def names() -> frozenset[str]:
    """Host names that the pages answer to."""
    own = socket.gethostname().lower().split(".")[0]
    return frozenset({"localhost", own, f"{own}.local"})


def is_simulated(data: Path) -> bool:
    """Whether the directory is a simulated furnace's; in doubt it is a real one's."""
    until_s = monotonic_s() + SUPERVISOR_WITHIN_S
    while True:
        with contextlib.suppress(LinkSilent):
            return bool(Link(data / SOCKET_NAME).snapshot()["furnace"]["backend"] == SIMULATED)
        with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
            return bool(json.loads((data / IDENTITY_FILE).read_text(encoding="utf-8"))["kind"] == SIMULATED)
        if monotonic_s() > until_s:
            return False
        sleep_s(0.1)


def _network(typed: str) -> Network:
    try:
        return ipaddress.ip_network(typed)
    except ValueError as error:
        raise click.BadParameter(f"{typed!r} is no network ({error}); allowed: like 100.64.0.0/10") from error


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
