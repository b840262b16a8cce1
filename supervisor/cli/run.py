"""`meltkeeper run`: everything that a person needs at once: furnace (simulated), supervisor, pages and messenger."""

import signal
import socket
from pathlib import Path

import click

from hardware.clock import sleep_s, utc_ms
from supervisor.cli.numbers import NumberIn
from supervisor.cli.run_family import EVERYWHERE, LOOKS_EVERY_S, Family
from supervisor.example import mark
from supervisor.furnace.enabled import PAGE_PORT, enabled_furnace
from supervisor.furnace.file import read_furnace
from supervisor.logbook.place import default_directory
from supervisor.refusal import InputRefused


@click.command()
@click.option("--simulated", is_flag=True, help="The simulated furnace, also when --furnace names one.")
@click.option("--times-real", type=NumberIn(1, 60), default=30.0, show_default=True, help="Pace while nobody is asked.")
@click.option("--furnace", help="Name of a shipped furnace, or a furnace file.  [default: workshop]")
@click.option("--plant", help="Physics of the simulated furnace, as MODULE:CLASS.")
@click.option(
    "--data",
    type=click.Path(path_type=Path),
    show_default="~/.local/share/meltkeeper/NAME",
    help="Data directory; it belongs to this furnace alone.",
)
@click.option("--host", default=EVERYWHERE, show_default=True, help="Address to listen at; 0.0.0.0 is every one.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=PAGE_PORT,
    show_default=True,
    help="Port of the page; 0 takes a free one.",
)
@click.option(
    "--from-stage",
    type=click.Choice(["0", "3"]),
    default="3",
    show_default=True,
    help="0: heat is unlocked by proofs, to practise them as on a real furnace. 3: unlocked from the first day.",
)
@click.option("--example", is_flag=True, help="Show an invented workshop: its melts are made behind the page.")
def command(
    simulated: bool,
    times_real: float,
    furnace: str | None,
    plant: str | None,
    data: Path | None,
    host: str,
    port: int,
    from_stage: str,
    example: bool,
) -> None:
    """Run a furnace with its page until Ctrl-C. Without --furnace it is the simulated workshop furnace.

    Nothing real is switched. Ctrl-C stops heating first, then ends everything. The contacts of alerts.toml in the data
    directory are told of alarms, and before everything ends because the supervisor cannot be kept up.

    Exit status: 0 ended as asked, 1 a part failed and everything was ended, 2 cannot run.
    """
    if furnace is not None and not simulated:
        raise InputRefused(
            "A real furnace is watched by units that outlive a terminal: systemd/install sets them up, and `meltkeeper"
            " daemon` runs the supervisor alone. Add --simulated to run this furnace simulated."
        )
    real = enabled_furnace()
    if real is not None and port == PAGE_PORT:
        raise InputRefused(
            f"--port is {port}; allowed: another one. This machine watches {real}, whose page is there, and a simulated"
            " furnace must not be taken for it."
        )
    if example and (furnace or plant):
        raise InputRefused("--example is furnace A of the invented workshop; allowed: without --furnace and --plant")
    name = read_furnace(furnace or "workshop").name
    where = (data or default_directory("example" if example else name)).absolute()
    to_fill = example and _begin_example(where)
    where.mkdir(parents=True, exist_ok=True)
    port = _free_port(host, port)
    family = Family(where, furnace or "workshop", plant, times_real, host, port, stage=from_stage)
    asked: list[int] = []
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda which, _: asked.append(which))
    try:
        if to_fill:
            family.fill(asked)
        family.begin(asked)
        while not asked and family.look_after():
            sleep_s(LOOKS_EVERY_S)
        if not asked:
            family.tell(asked)
    finally:
        family.end()
    if family.failed:
        raise click.ClickException("A part of it failed; everything was ended.")


def _begin_example(data: Path) -> bool:
    """Whether the example is to be made here: it is once; a directory that holds anything else is refused."""
    if mark.read(data) is not None:
        return False
    mark.begin(data, utc_ms())
    return True


def _free_port(host: str, port: int) -> int:
    """The port itself, or for 0 one that nobody uses.

    Raises:
        InputRefused: somebody uses it.
    """
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise InputRefused(
                f"--host {host} --port {port} cannot be used: {error.strerror}. Name another."
            ) from error
        taken: int = probe.getsockname()[1]
        return taken
