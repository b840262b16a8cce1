"""`meltkeeper care`: is the sensor true, how old is the element, what wears, what broke; drying a lining."""

from pathlib import Path

import click

from hardware.clock import utc_ms
from supervisor.care import keeping, stating
from supervisor.care.accuracy import CLASSES
from supervisor.care.drying import MATERIALS, next_stretch, schedule
from supervisor.care.faults import DEAD, SYMPTOMS, suspects
from supervisor.care.summary import care
from supervisor.cli.care_correct import command as correct
from supervisor.cli.care_words import as_object, fault_lines, lines
from supervisor.cli.data import data_option
from supervisor.cli.numbers import NUMBER
from supervisor.cli.opened_book import print_json, reading, writing
from supervisor.furnace.file import read_furnace
from supervisor.logbook.database import FILE_NAME
from supervisor.logbook.reading import open_log
from supervisor.refusal import InputRefused, refusal

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON; docs/care.md lists the names.")


@click.group()
def command() -> None:
    """Keep the furnace honest: sensor, element, relay, contactor, pot; what was measured, what broke, drying.

    It reads the record and writes what you measured into the book. It switches nothing. Whatever brings hands near
    element or terminals: plug out or isolated, locked off, proved dead, by a licensed person.

    Exit status: 0 done, 2 refused input.
    """


command.add_command(correct)


@command.command()
@data_option
@json_option
def show(data: Path, as_json: bool) -> None:
    """Say what is known of sensor, element, relay, contactor and pot.

    Exit status: 0 done, 2 there is no log.
    """
    with open_log(data) as log, reading(data) as book:
        found = care(log, book, utc_ms())
    if as_json:
        print_json(as_object(found))
        return
    click.echo("\n".join(lines(found)))


@command.command()
@data_option
@click.option("--furnace", default="workshop", show_default=True, metavar="NAME|FILE", help="Furnace of the log.")
@json_option
def reckon(data: Path, furnace: str, as_json: bool) -> None:
    """Reckon what each firing says of sensor and element, where that was not done yet. A second for each.

    Exit status: 0 done, 2 cannot be done.
    """
    described = read_furnace(furnace)
    with open_log(data) as log, writing(data) as book:
        count = keeping.reckon_missing(log, book, described)
    print_json({"reckoned": count}) if as_json else click.echo(f"{count} firings reckoned.")


@command.command("sensor")
@data_option
@click.option("--ice", type=NUMBER, metavar="C", help="What it reads in crushed ice and water, stirred, °C.")
@click.option("--boiling", type=NUMBER, metavar="C", help="What it reads in boiling water, °C.")
@click.option("--altitude", type=NUMBER, metavar="M", help="Where the water boils, m above the sea.")
@click.option("--pressure", type=NUMBER, metavar="HPA", help="Instead of it: air pressure there, hPa.")
@click.option("--class", "kind", type=click.Choice(list(CLASSES)), help="Class of the wire, by its certificate.")
@click.option("--extension/--no-extension", default=True, show_default=True, help="It has an extension lead.")
@click.option("--second-probe", type=NUMBER, metavar="K", help="How far the probe of your dips may be off, K.")
@json_option
def sensor_command(
    data: Path,
    ice: float | None,
    boiling: float | None,
    altitude: float | None,
    pressure: float | None,
    kind: str | None,
    extension: bool,
    second_probe: float | None,
    as_json: bool,
) -> None:
    """Enter what was measured of the thermocouple, its tip in ice or boiling water.

    Cold, plug out or isolated, locked off, proved dead, by a licensed person, who says so. Dry it before it goes back.

    Exit status: 0 done, 2 refused input.
    """
    said: list[str] = []
    with writing(data) as book:
        if ice is not None:
            said.append(stating.fixed(book, "ice check", ice))
        if boiling is not None:
            said.append(stating.fixed(book, "boiling check", boiling, altitude_m=altitude, pressure_hpa=pressure))
        if kind is not None:
            keeping.enter(book, "sensor class", detail={"class": kind, "extension": extension})
            said.append(f"Kept: wire of {kind}, {'with' if extension else 'without'} extension lead.")
        if second_probe is not None:
            keeping.enter(book, "second probe", value=second_probe)
            said.append(f"Kept: the probe of the dips may be {second_probe:g} K off.")
    if not said:
        raise InputRefused("care sensor: nothing was measured; allowed: --ice, --boiling, --class, --second-probe")
    print_json({"said": said}) if as_json else click.echo("\n".join(said))


@command.command()
@click.argument("volts", type=NUMBER)
@data_option
@click.option("--firing", type=int, help="Firing that it was read in.  [default: the newest]")
@click.option("--minute", type=NUMBER, help="Minute of that firing.  [default: now, or its middle]")
@click.option("--note", default="", help="On which meter.")
@json_option
def volts(volts: float, data: Path, firing: int | None, minute: float | None, note: str, as_json: bool) -> None:
    """Enter the mains voltage that a meter showed while the element heated, best at full power.

    It is read on a plug-in meter or on the energy meter's own display: nothing is opened for it. With it the element's
    resistance is known with mains taken out; without it age and low mains look the same.

    Exit status: 0 done, 2 refused input.
    """
    with open_log(data) as log, writing(data) as book:
        said = stating.voltage(log, book, volts, utc_ms(), firing=firing, minute=minute, note=note)
    print_json({"said": said}) if as_json else click.echo(said)


@command.command()
@click.argument("value", type=NUMBER)
@data_option
@click.option("--by", required=True, help="Who isolated, locked off, proved dead and measured.")
@json_option
def ohms(value: float, data: Path, by: str, as_json: bool) -> None:
    """Enter the ohms of the dead element, measured at its own ends with one lead taken off.

    Plug out or isolated, locked off, proved dead, by a licensed person: --by says whom.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        said = stating.dead_ohms(book, value, by)
    print_json({"said": said}) if as_json else click.echo(said)


@command.command()
@click.argument("kind", type=click.Choice(stating.POTS))
@data_option
@click.option("--cracked/--whole", required=True, help="What was seen, cold and empty, and heard when it was tapped.")
@click.option("--note", default="", help="Where, and how.")
@json_option
def pot(kind: str, data: Path, cracked: bool, note: str, as_json: bool) -> None:
    """Enter how the crucible looked. Hands go near the element.

    Cold, drained, plug out or isolated, locked off, proved dead, by a licensed person, who says so.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        said = stating.looked(book, kind, cracked=cracked, note=note)
    print_json({"said": said}) if as_json else click.echo(said)


@command.command()
@click.argument("symptom", required=False)
@data_option
@json_option
def faults(symptom: str | None, data: Path, as_json: bool) -> None:
    """Find the part that broke: what the record shows, or SYMPTOM, then tests on the dead circuit, likeliest first.

    Exit status: 0 done, 2 unknown symptom, or there is no log.
    """
    if symptom is not None and symptom not in SYMPTOMS:
        raise refusal("care faults", "SYMPTOM", symptom, ", ".join(SYMPTOMS))
    with open_log(data) as log, reading(data) as book:
        found = suspects({}, (symptom,)) if symptom else list(care(log, book, utc_ms()).suspects)
    if as_json:
        print_json({
            "dead": DEAD,
            "suspects": [
                {"symptom": each.name, "title": each.symptom.title, "evidence": each.evidence,
                 "tests": [test._asdict() for test in each.symptom.tests]} for each in found
            ],
        })  # fmt: skip
        return
    click.echo("\n".join(fault_lines(found)))


@command.command("dry-out")
@data_option
@click.option("--furnace", default="workshop", show_default=True, metavar="NAME|FILE", help="Furnace that is dried.")
@click.option("--material", "materials", multiple=True, type=click.Choice(list(MATERIALS)), required=True,
              help="What is in the lining; may be repeated: the slowest that fits all of it.")  # fmt: skip
@click.option("--thickness", default=13.0, show_default=True, help="Of the thickest piece that is dried, mm.")
@click.option("--hours", default=8.0, show_default=True, help="So long you can stay, 2 to 10.")
@click.option("--write", type=click.Path(dir_okay=False, path_type=Path), help="Write the profile of the stretch here.")
@json_option
def dry_out(
    data: Path,
    furnace: str,
    materials: tuple[str, ...],
    thickness: float,
    hours: float,
    write: Path | None,
    as_json: bool,
) -> None:
    """Plan the next stretch of a dry-out, from what the record says is dry. It heats nothing.

    A stretch is attended from start to end, by the button at the furnace alone, and is over before the night. Its holds
    end when the power that they need says so. The maker's sheet wins over every schedule here.

    Exit status: 0 done, 2 refused input.
    """
    described = read_furnace(furnace)
    of = schedule(materials, thickness, described.top_c)
    firings = []
    if (data / FILE_NAME).is_file():  # before the first firing there is none
        with open_log(data) as log:
            firings = keeping.dried(log)
    stretch = next_stretch(of, firings, hours, f"Dry-out, stretch {len(firings) + 1}")
    if write is not None and stretch is not None:
        try:
            write.write_text(stretch.toml, encoding="utf-8")
        except OSError as error:
            raise refusal(
                "care dry-out", "--write", str(write), f"a file that can be written ({error.strerror})"
            ) from error
    if as_json:
        print_json({
            "dry": stretch is None,
            "steps": [step._asdict() for step in of.steps],
            "limit_c_per_h": of.limit_c_per_h,
            "sources": list(of.sources),
            "before": [MATERIALS[name].before for name in materials],
            "first_heat": [MATERIALS[name].first for name in materials if MATERIALS[name].first],
            "holds": [[hold._asdict() for hold in firing] for firing in firings],
            "stretch": None if stretch is None else {"words": stretch.words, "toml": stretch.toml},
        })  # fmt: skip
        return
    for name in dict.fromkeys(materials):
        click.echo(f"{MATERIALS[name].title}. {MATERIALS[name].before} {MATERIALS[name].first}".rstrip())
    for line in of.sources:
        click.echo(f"Source: {line}")
    if stretch is None:
        click.echo("The record says that it is dry: the need of power did not fall from one hold to the next.")
        return
    click.echo(stretch.words)
    click.echo(f"Written to {write}." if write else stretch.toml)


@command.command("near-miss")
@click.argument("text")
@data_option
@json_option
def near_miss(text: str, data: Path, as_json: bool) -> None:
    """Write down what nearly went wrong: what, where, what stopped it, what is changed. Nobody is blamed by it.

    Exit status: 0 done, 2 refused input.
    """
    with writing(data) as book:
        number = stating.near_miss(book, text)
    print_json({"id": number}) if as_json else click.echo(f"Kept as number {number}.")
