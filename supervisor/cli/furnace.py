"""`meltkeeper furnace`: what concerns the furnace itself. `simulate` runs a simulated one as a process of its own."""

import importlib
import signal
from pathlib import Path
from typing import Any

import click

from hardware.ports import Plant
from hardware.simulated.furnace import Furnace
from hardware.simulated.process import simulate as run_simulation
from supervisor.cli.furnace_learn import command as learn
from supervisor.cli.furnace_new import command as new
from supervisor.cli.furnace_part import command as part
from supervisor.cli.numbers import NumberIn
from supervisor.furnace.file import read_furnace
from supervisor.refusal import InputRefused, refusal

OTHER_REGULATOR_C = 740.0
"""Where a furnace is only looked at, a simulated other regulator heats it to so much; the bench switches it off."""

PLANTS = {"bench": "hardware.simulated.plant:Bench", "workshop": "hardware.simulated.plant:Workshop"}
"""The plant that goes with each shipped furnace."""


@click.group()
def command() -> None:
    """Describe the furnace, its parts and what was learned of it; and a simulated one on its own."""


command.add_command(new)
command.add_command(part)
command.add_command(learn)


@command.command()
@click.option("--socket", "socket_path", type=click.Path(path_type=Path), required=True, help="Socket to listen on.")
@click.option("--furnace", help="Name of a shipped furnace, or a furnace file. [default: the one that the plant names]")
@click.option("--plant", help="Physics, as MODULE:CLASS. [default: the one of the furnace]")
@click.option("--seed", type=int, default=1, show_default=True, help="Draws what differs from furnace to furnace.")
@click.option("--times-real", type=NumberIn(1, 60), default=1.0, show_default=True, help="Pace while unasked.")
@click.option(
    "--record", type=click.Path(path_type=Path), help="File that gets every edge of every line, with its time."
)
def simulate(
    socket_path: Path, furnace: str | None, plant: str | None, seed: int, times_real: float, record: Path | None
) -> None:
    """Run a simulated furnace behind a socket, until SIGTERM or Ctrl-C.

    It goes on without a supervisor as a real furnace would: outputs keep their level, the heat permit runs out, metal
    cools. Nothing real is switched.

    Exit status: 0 ended as asked, 2 cannot run.
    """
    asked: list[int] = []
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda which, _: asked.append(which))
    simulated = simulated_furnace(furnace, plant, seed)
    try:
        run_simulation(simulated, socket_path, times_real=times_real, record=record, stopped=lambda: bool(asked))
    except OSError as error:
        raise InputRefused(f"--socket {socket_path} cannot be used: {error}") from error


def simulated_furnace(furnace: str | None, plant: str | None, seed: int) -> Furnace:
    """Make a simulated furnace of a furnace's name or file and a plant's MODULE:CLASS; either may be left out.

    Raises:
        InputRefused: there is none of that name, or none fits.
    """
    if plant is None:
        plant = PLANTS.get(furnace or "workshop")
        if plant is None:
            raise refusal(
                "furnace simulate", "--furnace", furnace, f"{', '.join(PLANTS)}; or say with --plant what it is"
            )
    physics = _plant(plant, seed)
    description = read_furnace(furnace or physics.furnace_file)
    simulated = Furnace(
        physics,
        description.wiring,
        seed=seed,
        limiter_c=description.limiter_c,
        pulses_per_kwh=description.pulses_per_kwh or 1000,
    )
    if description.looks_only:
        simulated.other_regulator_c = min(OTHER_REGULATOR_C, description.top_c)
    return simulated


def _plant(name: str, seed: int) -> Plant:
    module, _, kind = name.partition(":")
    try:
        made: Any = getattr(importlib.import_module(module), kind)
        plant: Plant = made(seed=seed)
    except (ImportError, AttributeError, TypeError, ValueError) as error:
        raise InputRefused(
            f"--plant {name} cannot be made ({error}); allowed: MODULE:CLASS, made as CLASS(seed=int)"
        ) from error
    return plant
