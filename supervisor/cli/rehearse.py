"""`meltkeeper rehearse`: a profile on the simulated furnace, faster than time. Switches nothing."""

import dataclasses
import json
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Literal, cast

import click
from rich.console import Console
from rich.progress import Progress

from supervisor.cli.numbers import NUMBER, NumberIn
from supervisor.refusal import InputRefused

if TYPE_CHECKING:
    from supervisor.firing.profile import Profile
    from supervisor.furnace.description import FurnaceDescription
    from supervisor.rehearsal.rehearse import Wish
    from supervisor.rehearsal.teach import Tell

PLANTS = {"bench": "hardware.simulated.plant:Bench", "workshop": "hardware.simulated.plant:Workshop"}
A_WATCH_ENDED_IT = 3
MOST_LEARNED = 12


@click.command()
@click.argument("profile", type=click.Path(path_type=Path))
@click.option("--furnace", default="workshop", show_default=True, metavar="NAME|FILE", help="Furnace to rehearse on.")
@click.option("--plant", "plant_name", metavar="MODULE:CLASS", help="Physics to use instead of the furnace's own.")
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Same seed, same rows.")
@click.option("--charge-kg", type=NUMBER, help="Charge this mass instead of the profile's.")
@click.option("--fault", "faults", multiple=True, metavar="NAME@MINUTE", help="Break something; may be repeated.")
@click.option("--absent", "absences", multiple=True, metavar="FROM-TO", help="Minutes when nobody is there.")
@click.option("--answer-after", "answer_after_s", type=NumberIn(0, 3600), default=5.0, show_default=True,
              metavar="SECONDS", help="How long the stand-in takes to answer the lamp.")  # fmt: skip
@click.option("--controller", type=click.Choice(["model", "plain"]), default="model", show_default=True,
              help="Plain regulates the reading and uses nothing that was learned: for comparison.")  # fmt: skip
@click.option("--meter", type=click.Choice(["on", "off"]), default="on", show_default=True,
              help="Off: as if no energy meter were fitted.")  # fmt: skip
@click.option("--learn", "learn_from", type=click.IntRange(0, MOST_LEARNED), default=0, show_default=True, metavar="N",
              help="Rehearse it N times first and learn the furnace from that. With --plant all of them have the seed "
                   "of the last, where another may be another furnace.")  # fmt: skip
@click.option("--price", type=NumberIn(0, 100, min_open=True), metavar="PER_KWH",
              help="What a kWh costs.  [default: the furnace file's tariff]")  # fmt: skip
@click.option("--plot", type=click.Path(dir_okay=False, path_type=Path), help="Write the strip to this SVG file.")
@click.option("--data", type=click.Path(file_okay=False, path_type=Path),
              help="Data directory: what was learned there is used. The log is kept there too, unless it is a real "
                   "furnace's.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object; names are in docs/profiles.md.")
def command(
    profile: Path,
    furnace: str,
    plant_name: str | None,
    seed: int,
    charge_kg: float | None,
    faults: tuple[str, ...],
    absences: tuple[str, ...],
    answer_after_s: float,
    controller: str,
    meter: str,
    learn_from: int,
    price: float | None,
    plot: Path | None,
    data: Path | None,
    as_json: bool,
) -> None:
    """Run PROFILE on a simulated furnace and report what the supervisor did. Nothing is switched.

    The forecast comes first: minutes, energy, cost, and when the gate asks. Then a stand-in charges the pot, presses
    the button when lamp and sounder ask, skims, pours and gives its word; --absent takes it away. In the report
    "simulated" is the truth of the simulated metal, which no supervisor sees.

    Exit status: 0 finished, 2 cannot run, 3 a watch ended it.
    """
    from supervisor.firing.profile_file import read_profile
    from supervisor.furnace.file import read_heated_furnace
    from supervisor.rehearsal.asked import absence, fault_at, plant_named
    from supervisor.rehearsal.rehearse import Wish, rehearse
    from supervisor.rehearsal.report import as_object, in_words

    described = _described(read_heated_furnace(furnace), meter=meter == "on", price=price)
    wish = Wish(
        _charged(read_profile(profile, described), charge_kg, described),
        described,
        plant_named(plant_name or PLANTS.get(described.name, PLANTS["workshop"])),
        seed=seed,
        plant_seed=None if plant_name is None else seed,
        answer_after_s=answer_after_s,
        absent=tuple(absence(text) for text in absences),
        faults=tuple(fault_at(text) for text in faults),
        controller=cast(Literal["model", "plain"], controller),
    )
    with ExitStack() as stack:
        directory, wish = _place(stack, data, wish)
        show = not as_json and sys.stderr.isatty()
        progress = stack.enter_context(Progress(console=Console(stderr=True), transient=True, disable=not show))
        task = progress.add_task("Rehearsing", total=None)

        def tell(seconds: float, reading_c: float | None, what: str = "Rehearsing") -> None:
            at = "no reading" if reading_c is None else f"{reading_c:.0f} °C"
            progress.update(task, description=f"{what}: {seconds / 60:.0f} min, {at}")

        if learn_from:

            def tell_taught(number: int, seconds: float, reading_c: float | None) -> None:
                tell(seconds, reading_c, f"Learning from rehearsal {number} of {learn_from}")

            wish, learned = _learn(wish, directory, learn_from, tell_taught)
            if not as_json:
                click.echo("\n".join(learned))
        if not as_json:
            click.echo("\n".join(_forecast(wish)))
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


def _described(furnace: "FurnaceDescription", *, meter: bool, price: float | None) -> "FurnaceDescription":
    from supervisor.furnace.description import Tariff

    if not meter:
        furnace = dataclasses.replace(furnace, pulses_per_kwh=None)
    if price is not None:
        currency = "" if furnace.tariff is None else furnace.tariff.currency
        furnace = dataclasses.replace(furnace, tariff=Tariff(price, currency))
    return furnace


def _charged(read: "Profile", charge_kg: float | None, furnace: "FurnaceDescription") -> "Profile":
    from supervisor.metal.alloys import charge

    if charge_kg is None:
        return read
    if read.charge is None:
        raise InputRefused(f"--charge-kg is {charge_kg}; allowed: only for a profile with a [charge].")
    if not 0.0 < charge_kg <= furnace.crucible.capacity_kg:
        most_kg = furnace.crucible.capacity_kg
        raise InputRefused(f"--charge-kg is {charge_kg}; allowed: above 0, at most {most_kg:g} kg in this pot.")
    return dataclasses.replace(read, charge=charge(charge_kg, read.charge.alloy, read.charge.form))


def _place(stack: ExitStack, data: Path | None, wish: "Wish") -> tuple[Path, "Wish"]:
    """Where the log goes, and the wish with what was learned in the data directory. A real furnace's is only read."""
    from supervisor.logbook import database
    from supervisor.logbook.learning import models
    from supervisor.logbook.reading import open_log

    elsewhere = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="meltkeeper-")))
    if data is None or not (data / database.FILE_NAME).is_file():
        return data or elsewhere, wish
    with open_log(data) as log:
        known, is_real = models(log, wish.furnace), log.kind() == "real"
    wish = dataclasses.replace(wish, knowing=known.adopted, commissioning=known.commissioning)
    return elsewhere if is_real else data, wish


def _learn(wish: "Wish", directory: Path, count: int, tell: "Tell") -> tuple["Wish", list[str]]:
    from supervisor.logbook.lesson import NothingNew
    from supervisor.rehearsal.teach import teach

    taught = teach(wish, directory, count, meter=wish.furnace.pulses_per_kwh is not None, tell=tell)
    known = taught.known
    wish = dataclasses.replace(wish, knowing=known.adopted, commissioning=known.commissioning)
    if isinstance(taught.lesson, NothingNew):
        why = "; ".join(f"firing {number}: {words}" for number, words in taught.lesson.left_out)
        return wish, [f"Nothing could be learned. {why}".rstrip()]
    found = taught.lesson.model.residual_k
    phases = ", ".join(f"{phase} {spread.rms:.1f} K" for phase, spread in found.items())
    lines = [f"Learned from {len(taught.lesson.firings)} rehearsals; reading against model (rms): {phases}."]
    return wish, lines + [f"Not used: {objection}" for objection in taught.lesson.objections]


def _forecast(wish: "Wish") -> list[str]:
    from supervisor.firing.governor import highest_c
    from supervisor.firing.profile import top_hold_c
    from supervisor.model.forecast import forecast
    from supervisor.model.learned import usable_for_boost
    from supervisor.rehearsal.report import forecast_words

    furnace, profile = wish.furnace, wish.profile
    model = None if wish.controller == "plain" else wish.knowing
    cap_c = None
    if model is not None and profile.charge is not None and usable_for_boost(model, furnace) is None:
        target_c = top_hold_c(profile)
        highest = highest_c(target_c, min(profile.top_c, furnace.top_c), furnace.limiter_c)
        cap_c = highest if highest > target_c else None
    said = forecast(furnace, model, profile, cap_c=cap_c, tariff=furnace.tariff)
    return forecast_words(said, cap_c=cap_c)
