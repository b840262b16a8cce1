"""`meltkeeper size`: element, circuit and wall on paper; and a coil that is there."""

from pathlib import Path

import click

from supervisor.cli.printing import print_json
from supervisor.cli.size_options import json_option, texts
from supervisor.cli.size_sums import join, melt, wall, wire
from supervisor.cli.size_words import cautions_lines, design_lines, having_lines
from supervisor.refusal import InputRefused
from supervisor.sizing.alloys import FACTORS, WORDS
from supervisor.sizing.answer import of_design, of_having
from supervisor.sizing.asked import GAUGES, given, wanted
from supervisor.sizing.chamber import SEAMS, heats
from supervisor.sizing.circuits import rules
from supervisor.sizing.design import candidates
from supervisor.sizing.having import having

PLACES = ", ".join(rules())


@click.group()
def command() -> None:
    """Size an element, its circuit and its wall, on paper. Nothing is switched; a licensed person decides on wiring.

    Numbers take a unit and a decimal point or comma: '114 mm', '4,5 in', '1600 F', '120 V'. docs/sizing.md explains.

    Exit status: 0 done, 2 refused input.
    """


for each in (wire, wall, join, melt):
    command.add_command(each)

circuit_options = texts(
    ("volts", "Supply voltage, nominal."),
    ("breaker", "Rating of the circuit's breaker."),
    ("place", f"Whose rule for continuous loads holds: {PLACES}."),
    ("rule", "A stricter rule of that list, to go by instead."),
    ("allowed", "Current for hours, when the licensed person says less than the rule."),
)


@command.command("element", short_help="Which element for this circuit and chamber?")
@circuit_options
@texts(
    ("shape", "Chamber: round, square or octagon."),
    ("across", "Chamber inside, across; an octagon across flats."),
    ("depth", "Chamber inside, floor to lid."),
)
@click.option("--wall", multiple=True, metavar="LAYER", help="Hot side first, as '114 mm: 23'; repeat it.")
@click.option("--lid", multiple=True, metavar="LAYER", help="The lid's layers, where they are others; repeat it.")
@texts(
    ("target", "Highest chamber temperature [800 C]."),
    ("room", "Temperature around it [20 C]."),
    ("metal", "Aluminium in a melt."),
    ("pot", "The empty crucible [0.8 of the metal]."),
    ("pour", "Pouring temperature [720 C]."),
    ("ramp", "An even rate to look at [300 K/h]."),
    ("power", "Power wanted [as much as the circuit carries]."),
    ("load", "Surface load to aim at, W/cm2 [usual for the target]."),
    ("seen", "Share of the coil that radiates [0.5]."),
    ("groove", "Width of the widest groove [16 mm]."),
    ("rounds", "Rounds of groove [what fits best]."),
    ("elements", "How many equal elements [1]."),
    ("join", "How several are joined: parallel or series [parallel]."),
    ("gauges", f"List of wires: {', '.join(GAUGES)} [metric]."),
    ("wire", "Only this wire: '1.6 mm', 'AWG 16'."),
)
@click.option("--alloy", multiple=True, help=f"Only these alloys: {', '.join(WORDS)}; repeat it.")
@click.option("--picture", type=click.Path(dir_okay=False, path_type=Path), help="Write a drawing to scale, SVG.")
@json_option
def element(
    wall: tuple[str, ...],
    lid: tuple[str, ...],
    alloy: tuple[str, ...],
    picture: Path | None,
    as_json: bool,
    **typed: str,
) -> None:
    """Size an element: from circuit, chamber and target to wire, coil, grooves, heat loss and times.

    Exit status: 0 done, 2 refused input.
    """
    from supervisor.sizing.picture import svg

    asked = wanted(typed, wall, lid, alloy)
    ramp_c_per_h = given(typed, "ramp")
    lost = asked.place.loss()
    found = candidates(asked, SEAMS * lost.whole_w)
    drawing = svg(asked.place, found[0])
    answer = of_design(asked, found, heats(asked.place, lost, found[0].watts, ramp_c_per_h), ramp_c_per_h)
    if picture is not None:
        _write(picture, drawing)
    if as_json:
        print_json({**answer, "picture_svg": drawing})
        return
    click.echo("\n".join([*design_lines(answer), *cautions_lines()]))


@command.command("coil", short_help="What does this coil give?")
@texts(
    ("alloy", f"Its alloy: {', '.join(WORDS)}."),
    ("factors", f"Another maker's table of hot over cold: {', '.join(FACTORS)}."),
    ("wire", "Its size: '1.4 mm', 'AWG 16'."),
    ("length", "Length of the wire, without tails."),
    ("cold", "Its resistance, measured cold at its own ends with the supply locked off."),
    ("turns", "Its turns, with --outside in place of a length."),
    ("outside", "Outside diameter of the coil."),
    ("per-length", "Ohms a length as sold, in place of the alloy's resistivity."),
    ("resistivity", "Resistivity, in place of the alloy's."),
    ("ratio", "Hot over cold resistance, in place of the alloy's table."),
    ("stretched", "Length of the groove that it fills."),
    ("rounds", "Rounds of that groove."),
    ("groove", "Width of the groove."),
    ("target", "Chamber temperature at which it works [800 C]."),
    ("emissivity", "Of the oxidised wire, where no alloy is given [0.7]."),
    ("seen", "Share of the coil that radiates [0.5]."),
)
@circuit_options
@json_option
def coil(as_json: bool, **typed: str) -> None:
    """Say what a coil that is there gives: ohms, power, current, surface load, and what stands against it.

    Plain steel, and any wire whose hot over cold resistance is above 1.3, is refused.

    Exit status: 0 done, 2 refused input.
    """
    answer = of_having(having(typed))
    if as_json:
        print_json(answer)
        return
    click.echo("\n".join([*having_lines(answer), *cautions_lines()]))


def _write(file: Path, text: str) -> None:
    try:
        file.write_text(text.replace('fill="currentColor"', 'fill="#15181b" color="#15181b"', 1), encoding="utf-8")
    except OSError as error:
        raise InputRefused(f"--picture is {file}: it cannot be written: {error.strerror}") from error
