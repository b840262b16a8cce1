"""`meltkeeper rehearse`: a profile on the simulated furnace, faster than time. Switches nothing."""

import dataclasses
import json
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path

import click
from rich.console import Console
from rich.progress import Progress

from supervisor.refusal import InputRefused

PLANTS = {"bench": "hardware.simulated.plant:Bench", "workshop": "hardware.simulated.plant:Workshop"}
A_WATCH_ENDED_IT = 3


@click.command()
@click.argument("profile", type=click.Path(path_type=Path))
@click.option("--furnace", default="workshop", show_default=True, metavar="NAME|FILE", help="Furnace to rehearse on.")
@click.option("--plant", "plant_name", metavar="MODULE:CLASS", help="Physics to use instead of the furnace's own.")
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Same seed, same rows.")
@click.option("--charge-kg", type=float, help="Charge this mass instead of the profile's.")
@click.option("--fault", "faults", multiple=True, metavar="NAME@MINUTE", help="Break something; may be repeated.")
@click.option("--absent", "absences", multiple=True, metavar="FROM-TO", help="Minutes when nobody is there.")
@click.option("--answer-after", "answer_after_s", type=click.FloatRange(0, 3600), default=5.0, show_default=True,
              metavar="SECONDS", help="How long the stand-in takes to answer the lamp.")  # fmt: skip
@click.option("--plot", type=click.Path(dir_okay=False, path_type=Path), help="Write the strip to this SVG file.")
@click.option("--data", type=click.Path(file_okay=False, path_type=Path), help="Keep the log in this directory.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object; names are in docs/commands.md.")
def command(
    profile: Path,
    furnace: str,
    plant_name: str | None,
    seed: int,
    charge_kg: float | None,
    faults: tuple[str, ...],
    absences: tuple[str, ...],
    answer_after_s: float,
    plot: Path | None,
    data: Path | None,
    as_json: bool,
) -> None:
    """Run PROFILE on a simulated furnace and report what the supervisor did. Nothing is switched.

    A stand-in presses the button when lamp and sounder ask, skims, pours and gives its word; --absent takes it away.

    Exit status: 0 finished, 2 cannot run, 3 a watch ended it.
    """
    from supervisor.firing.profile_file import read_profile
    from supervisor.furnace.file import read_furnace
    from supervisor.metal.alloys import charge
    from supervisor.rehearsal.asked import absence, fault_at, plant_named
    from supervisor.rehearsal.rehearse import Wish, rehearse
    from supervisor.rehearsal.report import as_object, in_words

    described = read_furnace(furnace)
    read = read_profile(profile, described)
    if charge_kg is not None:
        if read.charge is None:
            raise InputRefused(f"--charge-kg is {charge_kg}; allowed: only for a profile with a [charge].")
        if not 0.0 < charge_kg <= described.crucible.capacity_kg:
            most_kg = described.crucible.capacity_kg
            raise InputRefused(f"--charge-kg is {charge_kg}; allowed: above 0, at most {most_kg:g} kg in this pot.")
        read = dataclasses.replace(read, charge=charge(charge_kg, read.charge.alloy, read.charge.form))
    wish = Wish(
        read,
        described,
        plant_named(plant_name or PLANTS.get(described.name, PLANTS["workshop"])),
        seed=seed,
        answer_after_s=answer_after_s,
        absent=tuple(absence(text) for text in absences),
        faults=tuple(fault_at(text) for text in faults),
    )
    with ExitStack() as stack:
        directory = data or Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="meltkeeper-")))
        show = not as_json and sys.stderr.isatty()
        progress = stack.enter_context(Progress(console=Console(stderr=True), transient=True, disable=not show))
        task = progress.add_task("Rehearsing", total=None)

        def tell(seconds: float, reading_c: float | None) -> None:
            at = "no reading" if reading_c is None else f"{reading_c:.0f} °C"
            progress.update(task, description=f"Rehearsing: {seconds / 60:.0f} min, {at}")

        outcome = rehearse(wish, directory, tell)
        if plot is not None:
            from supervisor.rehearsal.picture import draw

            draw(plot, directory, outcome)
    if as_json:
        click.echo(json.dumps(as_object(outcome), ensure_ascii=False))
    else:
        click.echo("\n".join(in_words(outcome)))
    if outcome.state != "complete":
        sys.exit(A_WATCH_ENDED_IT)
