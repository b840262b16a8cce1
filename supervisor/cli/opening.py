"""Which hardware a furnace's file stands for: the pins of this Pi, or a simulated furnace at its socket."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from hardware.clock import monotonic_s, sleep_s
from hardware.machine import NotThisMachine, refuse_machine
from hardware.pi import PiFurnace, open_pi
from hardware.ports import BoardHealth, OutputFault, only_looking
from hardware.simulated.client import ConnectedFurnace, FurnaceGone
from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.directory import DataDirectory
from supervisor.refusal import InputRefused

FURNACE_WITHIN_S = 5.0
ANOTHER_LOG = "This furnace was last watched with another log, or a later copy; what it did then is unknown."


_WHICH = (
    click.option(
        "--furnace", default="workshop", show_default=True, help="Name of a shipped furnace, or a furnace file."
    ),
    click.option(
        "--data",
        type=click.Path(path_type=Path),
        show_default="~/.local/share/meltkeeper/NAME",
        help="Data directory; it belongs to this furnace alone.",
    ),
    click.option(
        "--furnace-socket",
        type=click.Path(path_type=Path),
        help="Socket of a simulated furnace: see `meltkeeper furnace simulate`. Without it: the pins of this Pi.",
    ),
)


def which_furnace(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that name a furnace, its data directory, and the socket of a simulated one."""
    for option in reversed(_WHICH):
        command = option(command)
    return command


def as_watched(kept: DataDirectory, furnace: ConnectedFurnace) -> DataDirectory:
    """The directory, its past unknown where the simulated furnace was last watched with another log."""
    if furnace.watched_with in (None, kept.identity.state):
        return kept
    return replace(kept, past=kept.past or ANOTHER_LOG)


def open_simulated(furnace: FurnaceDescription, socket: Path, *, looking: bool = False) -> ConnectedFurnace:
    """The simulated furnace at a socket, which may be starting at the same moment. looking: without its outputs.

    Raises:
        InputRefused: nobody answers, or it cannot be used.
    """
    wiring = only_looking(furnace.wiring) if looking else furnace.wiring
    until_s = monotonic_s() + FURNACE_WITHIN_S
    while True:
        try:
            return ConnectedFurnace(socket, wiring)
        except (FurnaceGone, ValueError) as error:
            if not isinstance(error.__cause__, FileNotFoundError | ConnectionRefusedError) or monotonic_s() >= until_s:
                raise InputRefused(f"The simulated furnace cannot be used: {error}.") from error
        sleep_s(0.05)


def refuse_real(furnace: FurnaceDescription) -> None:
    """Refuse to drive a furnace for real before anything is claimed: the file first, then this computer.

    Raises:
        InputRefused: the file describes no real furnace, or this computer cannot drive one as it is.
    """
    if furnace.invented:
        raise InputRefused(
            f"{furnace.name} is an invented furnace, and there is none like it: name the file of your own (--furnace),"
            " or run it simulated (`meltkeeper run --simulated`)."
        )
    try:
        refuse_machine(furnace.wiring.sensors)
    except NotThisMachine as error:
        raise InputRefused(str(error)) from error


def open_real(
    furnace: FurnaceDescription, board: Callable[[], BoardHealth], *, working: Path, looking: bool = False
) -> PiFurnace:
    """The furnace on the pins of this Pi. working: a directory that may be written. looking: without its outputs.

    Raises:
        InputRefused: pins or bus cannot be had.
    """
    try:
        return open_pi(only_looking(furnace.wiring) if looking else furnace.wiring, board, working=working)
    except (NotThisMachine, OutputFault, OSError) as error:
        raise InputRefused(str(error)) from error
